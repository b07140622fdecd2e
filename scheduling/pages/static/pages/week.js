// Dragging a pour to another day, crew or hour. It only fills in and sends the form that the page has for it,
// so the server answers as it answers the form: with the week, or with what stands in the way.
"use strict";
(() => {
  const form = document.getElementById("drop");
  const board = document.querySelector(".board");
  if (!form || !board) return;

  const START_PX = 6; // less is a click
  const ALONG_PX = 18; // less along the clock keeps the time
  const STEP_MIN = 15;
  const EDGE_PX = 70; // so near the window's edge it scrolls
  const clockHours = Number(board.dataset.hours);
  let drag = null;

  const minutes = (said) => Number(said.slice(0, 2)) * 60 + Number(said.slice(3, 5));
  const clock = (min) => `${String(Math.floor(min / 60)).padStart(2, "0")}:${String(min % 60).padStart(2, "0")}`;
  const spoken = (said) =>
    new Date(2000, 0, 1, Number(said.slice(0, 2)), Number(said.slice(3, 5)))
      .toLocaleTimeString(document.documentElement.lang, { hour: "numeric", minute: "2-digit" });

  function timeAt(x) {
    const start = drag.card.dataset.start;
    const strip = drag.card.querySelector(".strip");
    const along = x - drag.x;
    // By its name it is taken to another day or crew; only by its strip does it change its hour.
    if (!strip || !drag.byStrip || Math.abs(along) < ALONG_PX) return start;
    const clockFace = strip.getBoundingClientRect();
    if (x < clockFace.left || x > clockFace.right) return start;
    const moved = (along / clockFace.width) * clockHours * 60;
    const min = Math.round((minutes(start) + moved) / STEP_MIN) * STEP_MIN;
    return clock(Math.min(24 * 60 - STEP_MIN, Math.max(0, min)));
  }

  function placeAt(x, y) {
    const under = document.elementFromPoint(x, y);
    const day = under && under.closest("[data-day]");
    if (!day) return null;
    const row = under.closest("[data-crew]") || drag.row;
    return { day, row, time: timeAt(x) };
  }

  function begin() {
    drag.began = true;
    drag.ghost = document.createElement("div");
    drag.ghost.className = "ghost";
    document.body.append(drag.ghost);
    drag.card.classList.add("dragged");
    document.documentElement.classList.add("dragging");
    scrollAlong();
  }

  function scrollAlong() {
    if (!drag || !drag.began) return;
    if (drag.at.y < EDGE_PX) window.scrollBy(0, -9);
    if (drag.at.y > window.innerHeight - EDGE_PX) window.scrollBy(0, 9);
    show();
    requestAnimationFrame(scrollAlong);
  }

  function show() {
    const place = placeAt(drag.at.x, drag.at.y);
    document.querySelectorAll(".over").forEach((one) => one.classList.remove("over"));
    drag.ghost.style.transform = `translate(${drag.at.x + 14}px, ${drag.at.y + 12}px)`;
    if (!place) {
      drag.ghost.textContent = "Not on a day: let go and it stays";
      return;
    }
    place.day.classList.add("over");
    if (place.day.contains(place.row)) place.row.classList.add("over");
    drag.ghost.textContent = `${place.day.dataset.said}, ${spoken(place.time)}, ${place.row.dataset.said}`;
  }

  function end() {
    const was = drag;
    drag = null;
    if (!was) return;
    if (was.ghost) was.ghost.remove();
    was.card.classList.remove("dragged");
    document.documentElement.classList.remove("dragging");
    document.querySelectorAll(".over").forEach((one) => one.classList.remove("over"));
  }

  function send(card, place) {
    const fields = form.elements;
    fields.version.value = card.dataset.version;
    fields.day.value = place.day.dataset.day;
    fields.crew.value = place.row.dataset.crew;
    fields.time.value = place.time;
    form.action = form.action.replace(/\/move\/\d+\//, `/move/${card.dataset.pour}/`);
    form.submit();
  }

  board.addEventListener("pointerdown", (event) => {
    const card = event.target.closest("[data-pour]");
    const grip = event.target.closest(".grip");
    // A finger drags by the grip alone, so that the rest of the page still scrolls under it.
    if (!card || event.button !== 0 || (event.pointerType !== "mouse" && !grip)) return;
    const at = { x: event.clientX, y: event.clientY };
    const byStrip = Boolean(event.target.closest(".strip"));
    drag = { card, byStrip, row: card.closest("[data-crew]"), ...at, at, pointer: event.pointerId };
  });

  window.addEventListener("pointermove", (event) => {
    if (!drag || event.pointerId !== drag.pointer) return;
    drag.at = { x: event.clientX, y: event.clientY };
    if (!drag.began && Math.hypot(drag.at.x - drag.x, drag.at.y - drag.y) > START_PX) begin();
  });

  window.addEventListener("pointerup", (event) => {
    if (!drag || event.pointerId !== drag.pointer) return;
    const { began, card, row } = drag;
    const place = began ? placeAt(event.clientX, event.clientY) : null;
    end();
    if (!began) return;
    // What follows is the click of letting go, which must not open the link that was dragged by.
    const stop = (click) => { click.preventDefault(); click.stopPropagation(); };
    window.addEventListener("click", stop, { capture: true, once: true });
    setTimeout(() => window.removeEventListener("click", stop, { capture: true }), 0);
    const stays = place && place.row.dataset.crew === row.dataset.crew && place.time === card.dataset.start
      && place.day === card.closest("[data-day]");
    if (place && !stays) send(card, place);
  });

  window.addEventListener("pointercancel", end);
  window.addEventListener("blur", end);
  window.addEventListener("keydown", (event) => { if (event.key === "Escape") end(); });
  // A link would start the browser's own drag, and that would end ours.
  board.addEventListener("dragstart", (event) => event.preventDefault());
  // The page kept for the back button must not remember a drop.
  window.addEventListener("pageshow", () => form.reset());
})();
