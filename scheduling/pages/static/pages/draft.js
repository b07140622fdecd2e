// The pour being booked lies in this browser until it is booked; what was booked, or is old, goes.
const DRAFT = "pourplan.booking";
const DAYS_KEPT = 7;

const dropDraft = () => {
  try {
    localStorage.removeItem(DRAFT);
  } catch {
    // There was none.
  }
};

const draft = () => {
  try {
    const kept = JSON.parse(localStorage.getItem(DRAFT) || "null");
    const booked = document.cookie.split("; ").find((one) => one.startsWith("booked="))?.slice(7);
    if (!kept || kept.key === booked || Date.now() - kept.at > DAYS_KEPT * 86_400_000) {
      dropDraft();
      return null;
    }
    return kept;
  } catch {
    return null;
  }
};

draft();
