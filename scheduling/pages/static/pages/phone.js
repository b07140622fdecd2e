// Presses are kept on the phone first and sent when there is signal, each with its own key, so that however
// often one goes out it is noted once. Without this script the page works as plain forms.
"use strict";

const RETRY_MS = 15000, RENEW_MS = 60000, ANSWER_MS = 25000, DOUBLE_TAP_MS = 3000;
const LONGEST_SIDE_PX = 1600, USED_KEPT = 300;
const TRUCK_STEPS = ["truck_arrived", "truck_started", "truck_empty"];
const told = document.getElementById("told");
const home = location.pathname;
let store = null, sending = false;

// --- what is kept on the phone ---------------------------------------------------------------------

function opened() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open("pourplan-phone", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("presses", { keyPath: "key" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

function within(mode, act) {
  return new Promise((resolve, reject) => {
    const asked = act(store.transaction("presses", mode).objectStore("presses"));
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

const keep = (press) => within("readwrite", (presses) => presses.add(press));
const drop = (key) => within("readwrite", (presses) => presses.delete(key));

async function waiting() {
  const all = await within("readonly", (presses) => presses.getAll());
  return all.filter((press) => press.home === home).sort((one, other) => one.at - other.at);
}

// Keys that went out once: a page shown again without signal still has them on its buttons.
function used() {
  return JSON.parse(localStorage.getItem("pourplan-used") || "[]");
}

function noteUsed(key) {
  localStorage.setItem("pourplan-used", JSON.stringify([...used(), key].slice(-USED_KEPT)));
}

// --- a press ---------------------------------------------------------------------------------------

async function smaller(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST_SIDE_PX / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((resolve) => canvas.toBlob((made) => resolve(made || file), "image/jpeg", 0.8));
  } catch {
    return file;
  }
}

async function pressed(event) {
  const form = event.target.closest("form[data-press]");
  if (!form || !store) return;
  event.preventDefault();
  if (form.dataset.busy) return;
  form.dataset.busy = "1";
  const fields = [...new FormData(form)];
  const at = Date.now();
  let key = form.elements.key.value;
  if (used().includes(key)) {
    if (TRUCK_STEPS.includes(form.dataset.kind)) return mark(key);
    key = crypto.randomUUID ? crypto.randomUUID() : `${key}-${at}`;
  }
  noteUsed(key);
  const sent = [];
  for (const [name, value] of fields) {
    if (name === "key") sent.push([name, key]);
    else sent.push([name, value instanceof File ? await smaller(value) : value]);
  }
  const words = form.querySelector("button").textContent.trim();
  await keep({ key, home, url: form.action, fields: sent, at, words });
  if (navigator.vibrate) navigator.vibrate(60);
  mark(form.elements.key.value);
  nextStep(form);
  form.reset();
  setTimeout(() => again(form), DOUBLE_TAP_MS);
  await show();
  send();
}

// Every button of the page that notes the same thing is done with it.
function mark(key) {
  for (const field of document.querySelectorAll("form[data-press] [name=key]")) {
    if (field.value === key) field.form.querySelector("button").disabled = true;
  }
}

// What may happen twice may be pressed twice, but not by one double tap.
function again(form) {
  delete form.dataset.busy;
  if (!TRUCK_STEPS.concat("undo").includes(form.dataset.kind)) form.querySelector("button").disabled = false;
}

// Without signal the page cannot ask what comes next: of a truck it knows.
function nextStep(form) {
  const step = TRUCK_STEPS[TRUCK_STEPS.indexOf(form.dataset.kind) + 1];
  const slot = document.querySelector(`.big form[data-kind="${form.dataset.kind}"][data-load="${form.dataset.load}"]`);
  const next = document.querySelector(`details form[data-kind="${step}"][data-load="${form.dataset.load}"]`);
  if (!TRUCK_STEPS.includes(form.dataset.kind) || !slot || !next) return;
  const copy = next.cloneNode(true);
  copy.classList.replace("step", "large");
  const asked = form.elements.batched && form.elements.batched.value;
  const wanted = copy.elements.batched;
  if (asked && wanted) wanted.closest("label").remove();
  slot.replaceWith(copy);
}

// --- out of the phone ------------------------------------------------------------------------------

async function post(press) {
  const body = new FormData();
  for (const [name, value] of press.fields) body.append(name, value, ...(value instanceof Blob ? ["photo.jpg"] : []));
  body.append("ago", String(Math.max(0, Math.round((Date.now() - press.at) / 1000))));
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), ANSWER_MS);
  try {
    return await fetch(press.url, {
      method: "POST", body, signal: stop.signal, credentials: "omit", referrerPolicy: "no-referrer",
      headers: { "X-Requested-By": "phone.js" },
    });
  } finally {
    clearTimeout(timer);
  }
}

async function send() {
  if (sending) return;
  sending = true;
  let sent = 0;
  try {
    for (const press of await waiting()) {
      const answer = await post(press);
      if (answer.status >= 500 || [404, 410, 429].includes(answer.status)) {
        if (answer.status < 500) say((await answer.json()).told, "bad");
        break;
      }
      await drop(press.key);
      sent += 1;
      if (!answer.ok) refused(press, await answer.json());
    }
  } catch {
    offline(true);
  } finally {
    sending = false;
  }
  await show();
  if (sent) await renew();
}

function refused(press, answer) {
  const line = say(told.dataset.refused.replace("{why}", `${press.words}. ${answer.told}`), "bad");
  if (!answer.asks_again) return;
  const yes = document.createElement("button");
  yes.type = "button";
  yes.className = "quiet";
  yes.textContent = told.dataset.yes;
  yes.addEventListener("click", async () => {
    const key = `${press.key}-yes`;
    const fields = press.fields.map(([name, value]) => (name === "key" ? [name, key] : [name, value]));
    line.remove();
    await keep({ ...press, key, fields: [...fields, ["confirmed", "on"]], at: Date.now() });
    await show();
    send();
  });
  line.lastElementChild.before(yes);
}

// --- the page --------------------------------------------------------------------------------------

function say(words, look) {
  const line = document.createElement("p");
  line.className = look;
  line.textContent = words;
  line.dataset.said = "1";
  const close = document.createElement("button");
  close.type = "button";
  close.className = "quiet";
  close.textContent = "OK";
  close.addEventListener("click", () => line.remove());
  line.append(close);
  for (const old of told.querySelectorAll("[data-said]")) if (old.firstChild.textContent === words) old.remove();
  told.append(line);
  return line;
}

async function show() {
  const presses = await waiting();
  for (const old of told.querySelectorAll(".waits")) old.remove();
  if (!presses.length) return;
  const head = document.createElement("p");
  head.className = "waits";
  head.id = "waiting";
  head.textContent = `${told.dataset.waiting.replace("{count}", presses.length)}. ${told.dataset.kept}`;
  told.prepend(head);
  for (const press of presses) {
    mark(press.key);
    head.after(waitingRow(press));
  }
}

function waitingRow(press) {
  const row = document.createElement("p");
  row.className = "waits";
  const words = document.createElement("span");
  words.textContent = `${new Date(press.at).toLocaleTimeString([], { hour: "numeric", minute: "2-digit" })} ${press.words}`;
  const back = document.createElement("button");
  back.type = "button";
  back.className = "quiet";
  back.textContent = told.dataset.undo;
  back.addEventListener("click", async () => {
    await drop(press.key);
    localStorage.setItem("pourplan-used", JSON.stringify(used().filter((key) => key !== press.key)));
    for (const field of document.querySelectorAll("form[data-press] [name=key]")) {
      if (field.value === press.key) field.form.querySelector("button").disabled = false;
    }
    await show();
  });
  row.append(words, back);
  return row;
}

function offline(is) {
  const line = document.getElementById("as-of");
  if (line) line.hidden = !is;
}

function isTyping() {
  const field = document.activeElement;
  if (field && field.matches("input, textarea")) return true;
  return [...document.querySelectorAll("textarea, input:not([type=hidden], [type=radio])")].some((one) => one.value !== one.defaultValue)
    || document.querySelector("input[type=radio]:checked") !== null;
}

// The day as it is now in place of the one shown; what is open stays open, and nobody's typing is lost.
async function renew() {
  if (isTyping()) return;
  let answer;
  try {
    answer = await fetch(location.href, { credentials: "omit", referrerPolicy: "no-referrer", cache: "no-store" });
  } catch {
    offline(true);
    return;
  }
  if (answer.status >= 500) return;
  const page = new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("day");
  if (!page) return;
  const open = [...document.querySelectorAll("details[open]")].map((one) => one.id);
  document.getElementById("day").replaceWith(document.adoptNode(page));
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  if (answer.headers.get("X-From-Phone")) offline(true);
  await show();
}

async function begin() {
  try {
    store = await opened();
  } catch {
    return; // the forms still work by themselves
  }
  document.addEventListener("submit", pressed);
  addEventListener("online", send);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) send().then(renew); });
  setInterval(async () => { if ((await waiting()).length) send(); }, RETRY_MS);
  setInterval(() => { if (!document.hidden) renew(); }, RENEW_MS);
  if (!navigator.onLine) offline(true);
  await show();
  send();
}

if ("serviceWorker" in navigator && isSecureContext) navigator.serviceWorker.register("/d/worker.js", { scope: "/d/" });
begin();
