// Books on the phone: keeps what is typed until it is booked (draft.js), asks for its plan only when something
// changed, and says what cannot be read once a field was left.
const form = document.querySelector(".booking");
const unheard = document.getElementById("unheard");
const usual = JSON.parse(form.dataset.usual || "{}");
const touched = new Set();
const left = new Set();
let wrong = new Map();
let lastAsked = null;

const key = () => form.elements.key.value;
const fields = () => [...form.elements].filter((field) => field.name && field.type !== "hidden" && field.type !== "submit");
const named = (name) => fields().find((field) => field.name === name);
const isTick = (field) => field.type === "checkbox";
const typedNow = () => {
  const data = new FormData(form);
  for (const name of ["csrfmiddlewaretoken", "key", "shown"]) data.delete(name);
  return new URLSearchParams(data).toString();
};
const askAgain = () => form.dispatchEvent(new Event("change", { bubbles: true }));

// --- the draft ---

const keep = () => {
  const values = fields().map((field) => [field.name, isTick(field) ? field.checked : field.value]);
  try {
    localStorage.setItem(DRAFT, JSON.stringify({ key: key(), at: Date.now(), sections: form.elements.sections.value, values }));
  } catch {
    // A browser that keeps nothing still books.
  }
};

const bringBack = (kept) => {
  form.elements.key.value = kept.key;
  for (const [name, value] of kept.values) {
    const field = named(name);
    if (!field) continue;
    if (isTick(field)) field.checked = value;
    else if (field.tagName !== "SELECT" || [...field.options].some((option) => option.value === value)) field.value = value;
    touched.add(name);
  }
  askAgain();
};

const offerDraft = () => {
  const kept = draft();
  if (!kept || form.dataset.fresh !== "yes") return;
  const asked = new URLSearchParams(location.search);
  const isLinked = [...asked.keys()].some((name) => name !== "sections");
  if (!isLinked && kept.sections !== form.elements.sections.value) {
    location.replace(`${location.pathname}?sections=${kept.sections}`);
    return;
  }
  const notice = document.getElementById("draft");
  const back = document.getElementById("draft-back");
  notice.hidden = false;
  const when = new Date(kept.at).toLocaleString("en-US", { weekday: "long", hour: "numeric", minute: "2-digit" });
  document.getElementById("draft-words").textContent = isLinked
    ? `A pour typed ${when} was not booked.`
    : `What was typed ${when} and not booked is back.`;
  back.hidden = !isLinked;
  back.addEventListener("click", () => {
    notice.hidden = true;
    if (kept.sections === form.elements.sections.value) bringBack(kept);
    else location.assign(location.pathname);
  });
  document.getElementById("draft-away").addEventListener("click", () => {
    dropDraft();
    location.assign(location.pathname);
  });
  if (!isLinked) bringBack(kept);
};

// --- what a job usually takes ---

const fillUsual = () => {
  const known = usual[form.elements.job.value];
  for (const [name, value] of Object.entries(known || {})) {
    const field = named(name);
    if (field && !touched.has(name) && [...(field.options || [{ value }])].some((option) => option.value === value)) {
      field.value = value;
    }
  }
};

// --- what cannot be read ---

const showWrong = () => {
  for (const field of fields()) {
    const words = left.has(field.name) ? wrong.get(field.name) : undefined;
    let list = document.getElementById(`${field.id}_unread`);
    if (!words) {
      if (list) {
        list.remove();
        field.removeAttribute("aria-invalid");
      }
      continue;
    }
    if (!list) {
      list = document.createElement("ul");
      list.id = `${field.id}_unread`;
      list.className = "errorlist";
      list.append(document.createElement("li"));
      field.closest(".field").append(list);
      field.setAttribute("aria-describedby", [field.getAttribute("aria-describedby"), list.id].filter(Boolean).join(" "));
    }
    field.setAttribute("aria-invalid", "true");
    list.firstChild.textContent = words;
  }
};

// What the server marked is old once the field is changed.
const forget = (field) => {
  const list = field.closest(".field")?.querySelector(".errorlist:not([id$=_unread])");
  if (!list) return;
  list.remove();
  field.removeAttribute("aria-invalid");
};

// --- buttons that fill in ---

const fillIn = (pairs) => {
  for (const [name, value] of pairs) {
    if (name === "settled") {
      const said = document.createElement("input");
      Object.assign(said, { type: "hidden", name, value });
      form.append(said);
      continue;
    }
    const field = named(name);
    field.value = value;
    touched.add(name);
    forget(field);
  }
  keep();
  askAgain();
};

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[name=fill], button[name=use_start]");
  if (!button) return;
  event.preventDefault();
  const [day, time] = button.value.split("T");
  const pairs = button.name === "fill" ? [...new URLSearchParams(button.value)] : [["day", day], ["time", time], ["settled", `time ${time}`]];
  fillIn(pairs);
  const first = named(pairs[0][0]);
  (first || document.getElementById("sentence")).focus({ preventScroll: Boolean(!first) });
});

form.addEventListener("input", (event) => {
  touched.add(event.target.name);
  forget(event.target);
  if (event.target.name === "job") fillUsual();
  keep();
});
form.addEventListener("focusout", (event) => {
  left.add(event.target.name);
  showWrong();
});

// --- the plan beside the form ---

const say = (words) => {
  unheard.hidden = !words;
  unheard.textContent = words;
};

document.addEventListener("htmx:beforeRequest", (event) => {
  if (event.detail.elt !== form) return;
  const typed = typedNow();
  if (typed === lastAsked) event.preventDefault();
  lastAsked = typed;
});

document.addEventListener("htmx:beforeSwap", (event) => {
  const answered = new URL(event.detail.xhr.responseURL);
  const isOurs = answered.pathname.startsWith(location.pathname);
  const isPlan = isOurs && event.detail.xhr.status === 200;
  event.detail.shouldSwap = isPlan;
  if (isPlan) {
    say("");
    return;
  }
  lastAsked = null;
  if (isOurs) {
    say("Something broke on our side: the plan is as of before. What you typed is kept.");
    return;
  }
  say("You were signed out. What you typed is kept: sign in again, and it stands here as it was.");
  const link = document.createElement("a");
  link.href = `/sign-in/?next=${location.pathname}`;
  link.textContent = "Sign in";
  unheard.append(" ", link);
});

// What was unfolded stays so while the plan changes under it.
let unfolded = [];
document.addEventListener("htmx:beforeSwap", () => {
  unfolded = [...document.querySelectorAll("#plan details[open]")].map((one) => one.id);
});

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target.id !== "plan") return;
  for (const id of unfolded) document.getElementById(id)?.setAttribute("open", "");
  document.getElementById("whole")?.remove();
  wrong = new Map([...document.querySelectorAll("#unread li")].map((one) => [one.dataset.field, one.textContent]));
  showWrong();
});

for (const trouble of ["htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(trouble, () => {
    lastAsked = null;
    say("No connection just now: the plan is as of before. What you typed is kept.");
  });
}

// A second press of the same button waits for the answer to the first.
let isSent = false;
form.addEventListener("submit", (event) => {
  if (isSent) event.preventDefault();
  isSent = true;
});
window.addEventListener("pageshow", () => {
  isSent = false;
});

offerDraft();
// The first thing to say, or to say otherwise, is at hand.
(form.querySelector("[aria-invalid=true]") || (form.dataset.fresh === "yes" && form.elements.job))?.focus?.();
if (document.getElementById("sentence") && form.dataset.fresh !== "yes") keep();
