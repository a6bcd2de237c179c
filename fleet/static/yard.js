// Moves boats on the board of the yard: taken to another week, or by the arrow keys. Every move
// goes to the server, whose answer is what the page then shows. Without this script the form in
// each boat does the same.

"use strict";
const WAIT = 450; // ms after the last arrow key: three weeks on is one move, not three

const board = document.getElementById("board");
const words = document.getElementById("said");
const undo = document.getElementById("undo");
const token = () => /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1] || "";

let lifted = null; // the boat's place in the list while it is carried
let underWay = null; // { boat, week, timer } that arrow keys have moved and the server has not heard of
let busy = false;
let back = null; // what puts the last move back

const say = (text, refused = false) => {
  words.textContent = text;
  words.classList.toggle("no", refused);
};
const placeOf = (boat) => document.getElementById(`boat-${boat}`);
const weekOf = (place) => place.closest(".week");
const formOf = (place) => place.querySelector("form.to-week");
const choiceOf = (place, week) => [...formOf(place).elements.week.options].find((each) => each.value === week);
const focusOn = (boat) => placeOf(boat)?.querySelector(".hull").focus();

/** Puts the boat alongside in that week, before the server has said anything. */
function showIn(place, week) {
  const section = place.closest(".base");
  const at = section.querySelector(`.week[data-week="${week}"] .alongside`);
  if (!at || at === place.parentElement) return;
  place.querySelector("details").open = false;
  at.append(place);
}

/** Sends a form and shows what came of it: the parts of the page that changed, and a sentence. */
async function send(action, fields, boat) {
  busy = true;
  undo.hidden = true;
  try {
    const answer = await fetch(action, {
      method: "POST",
      headers: { Accept: "application/json", "X-CSRFToken": token() },
      body: new URLSearchParams(fields),
    });
    if (!answer.ok || answer.redirected) { location.reload(); return; }
    show(await answer.json(), boat);
  } catch (fault) {
    say("The server did not answer: nothing is moved. Try again when there is a connection.", true);
    setTimeout(() => location.reload(), 4000);
  } finally {
    busy = false;
  }
}

function show(now, boat) {
  if (Object.keys(now.parts).length < 3) { location.reload(); return; } // the board is another by now
  for (const [id, html] of Object.entries(now.parts)) document.getElementById(id).outerHTML = html;
  say(now.said, now.refused);
  back = Object.keys(now.back).length ? { action: now.action, fields: { ...now.back, boat } } : null;
  undo.hidden = !back;
  if (boat) focusOn(boat);
}

const moveTo = (place, week) => {
  const form = formOf(place);
  return send(form.action, { boat: form.dataset.boat, week }, form.dataset.boat);
};

// -- arrow keys

function step(event) {
  const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
  const hull = event.target.closest(".hull");
  if (!by || !hull || event.altKey || event.ctrlKey || event.metaKey) return;
  const place = hull.closest("[data-boat]");
  if (!place || !formOf(place)) return;
  event.preventDefault();
  if (busy) return;
  const boat = place.dataset.boat;
  const weeks = [...place.closest(".base").querySelectorAll(".week")];
  const now = weeks.indexOf(weekOf(place));
  const next = now < 0 ? weeks[by > 0 ? 0 : weeks.length - 1] : weeks[now + by];
  if (!next) { say(by > 0 ? "That is the last week of this base." : "That is the first week of this base."); return; }
  const week = next.dataset.week;
  const choice = choiceOf(place, week);
  if (!choice) { say("It stays longer than the base is open from then on."); return; }
  showIn(place, week);
  focusOn(boat);
  say(`${place.dataset.name}: ${choice.textContent.trim()}`);
  clearTimeout(underWay?.timer);
  underWay = { boat, week, timer: setTimeout(goUnderWay, WAIT) };
}

function goUnderWay() {
  const { boat, week } = underWay;
  underWay = null;
  moveTo(placeOf(boat), week);
}

// -- carried by the mouse

function lift(event) {
  const place = event.target.closest?.("[data-boat]");
  if (!place || busy) return;
  lifted = place;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", place.dataset.name);
  const section = place.closest(".base");
  for (const week of section.querySelectorAll(".week")) {
    const against = choiceOf(place, week.dataset.week)?.dataset.against;
    if (against) week.dataset.against = against;
  }
  section.classList.add("lifted");
}

const over = (event) => {
  const week = event.target.closest?.(".week");
  return lifted && week && week.closest(".base") === lifted.closest(".base") ? week : null;
};

function carry(event) {
  const week = over(event);
  for (const each of board.querySelectorAll(".week.under")) if (each !== week) each.classList.remove("under");
  if (!week) return;
  event.preventDefault();
  week.classList.add("under");
}

function drop(event) {
  const week = over(event);
  if (!week) return;
  event.preventDefault();
  const place = lifted;
  putDown();
  if (week === weekOf(place)) return;
  showIn(place, week.dataset.week);
  moveTo(place, week.dataset.week);
}

function putDown() {
  lifted = null;
  for (const each of board.querySelectorAll(".lifted, .under")) each.classList.remove("lifted", "under");
  for (const each of board.querySelectorAll("[data-against]")) if (each.matches(".week")) delete each.dataset.against;
}

// -- the forms in a boat, and undoing

function submit(event) {
  const form = event.target.closest("form.to-week, form.let-go");
  if (!form) return;
  event.preventDefault();
  if (!busy) send(form.action, Object.fromEntries(new FormData(form)), form.dataset.boat);
}

/** Opens what is said of a boat towards the side where there is room. */
function open(event) {
  const details = event.target;
  if (!details.matches?.(".visit")) return;
  details.classList.toggle("to-left", details.open && details.getBoundingClientRect().left > innerWidth / 2);
  if (details.open) for (const each of board.querySelectorAll(".visit[open]")) if (each !== details) each.open = false;
}

if (board && words) {
  board.addEventListener("keydown", step);
  board.addEventListener("dragstart", lift);
  board.addEventListener("dragover", carry);
  board.addEventListener("drop", drop);
  board.addEventListener("dragend", putDown);
  board.addEventListener("submit", submit);
  board.addEventListener("toggle", open, true);
  undo.addEventListener("click", () => back && send(back.action, back.fields, back.fields.boat));
}
