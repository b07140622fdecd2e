// Keeps what somebody is doing while the page renews itself, and says when it no longer can.
const stale = document.getElementById("stale");
const settled = document.getElementById("settled");
const title = document.title;

const now = () => document.getElementById("now");

// A form somebody has begun to fill in.
const begun = () =>
  [...now().querySelectorAll("form")].find((form) =>
    [...form.elements].some((field) => field.type !== "hidden" && "defaultValue" in field && field.value !== field.defaultValue),
  );

const tellLate = () => {
  const late = Number(now().dataset.late);
  document.title = late ? `(${late}) ${title}` : title;
};

const tellStale = () => {
  document.getElementById("stale-since").textContent = now().dataset.asOf;
  stale.hidden = false;
};

document.addEventListener("htmx:beforeSwap", (event) => {
  const answer = new DOMParser().parseFromString(event.detail.serverResponse, "text/html");
  // An answer without it is somebody else's page: signed out, or an error.
  if (!answer.getElementById("now")) {
    event.detail.shouldSwap = false;
    tellStale();
    return;
  }
  stale.hidden = true;
  const form = begun();
  const kept = !form || answer.getElementById(form.closest("details").id);
  settled.hidden = Boolean(kept);
  event.detail.shouldSwap = Boolean(kept);
});

for (const trouble of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
  document.addEventListener(trouble, tellStale);
}
document.addEventListener("htmx:afterSettle", tellLate);
document.addEventListener("DOMContentLoaded", tellLate);
