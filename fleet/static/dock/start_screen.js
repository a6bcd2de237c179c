// Where one begins: what is kept here, and the boats of the base.
import { button, h } from "./dom.js";
import { day } from "./numbers.js";
import { progressOf } from "./steps.js";
import { count, KIT_UNKEPT, OVERTAKEN_SHORT, STATES } from "./words.js";

export function startScreen(world) {
  const { kit, rows } = world;
  return h(
    "div",
    {},
    h("h1", {}, "Which boat?"),
    rows.length > 0 && keptHere(world),
    baseChoice(world),
    kit ? boats(world) : h("p", { class: "empty" }, noKit(world)),
    kit?.unkept && h("p", { class: "caution" }, KIT_UNKEPT),
    h("p", { class: "note" }, kit && `Boats as they were ${when(kit.made)}. `, world.needsSignal),
  );
}

function noKit({ waiting }) {
  if (waiting) return "Asking for the boats of this base.";
  return "No boats of this base are kept on this phone yet. Open this page once where there is signal.";
}

function when(iso) {
  const made = new Date(iso);
  const clock = made.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const today = made.toDateString() === new Date().toDateString();
  return today ? `at ${clock} today` : `on ${day(iso.slice(0, 10))}, ${clock}`;
}

/** Everything kept here, with what became of it. */
function keptHere(world) {
  const open = world.rows.filter((each) => each.state === "open");
  const signed = world.rows.filter((each) => each.state !== "open");
  return h(
    "section",
    { class: "queue" },
    open.length > 0 && [h("h2", {}, "Go on with"), h("ul", { class: "kept" }, open.map((each) => openRow(each, world)))],
    signed.length > 0 && [
      h("h2", {}, "Signed on this phone"),
      h("ul", { class: "kept" }, signed.map((each) => signedRow(each, world))),
      signed.some((each) => each.state === "waiting") &&
        button("Send now", () => world.acts.send(), { key: "send-now" }),
    ],
  );
}

function openRow(entry, world) {
  const stays = progressOf(entry);
  const done = stays.filter((each) => each.done).length;
  return h("li", {},
    h("a", { class: "row", href: `#draft/${entry.id}/${entry.at}` },
      h("strong", {}, entry.boat.name),
      h("span", {}, `${levelWords(entry)} · ${done} of ${count(stays.length, "stay")}`),
      (entry.why || world.overtaken(entry)) && h("span", { class: "alert" }, entry.why || OVERTAKEN_SHORT)));
}

export function levelWords(entry) {
  const { level, turn_round: turnRound, on } = entry.draft;
  const words = { deck: "deck check", aloft: "aloft", mast_down: "mast-down, opened" }[level];
  return `${turnRound ? "turn-round check" : words}, ${day(on)}`;
}

export function signedRow(entry) {
  return h("li", { class: `state-${entry.state}` },
    h("a", { class: "row", href: `#sent/${entry.id}` },
      h("strong", {}, entry.boat.name),
      h("span", {}, levelWords(entry)),
      h("span", { class: "state" }, STATES[entry.state]),
      entry.why && h("span", { class: entry.state === "person" ? "alert" : "hint" }, entry.why)));
}

function baseChoice({ place, base, acts }) {
  if (place.bases.length < 2) return null;
  const options = place.bases.map(({ id, name }) => h("option", { value: id, selected: String(id) === base }, name));
  return h("p", { class: "base" },
    h("label", { for: "base" }, "Base"),
    h("select", { id: "base", "data-key": "base", onchange: ({ target }) => acts.base(target.value) }, options));
}

const MANY = 12;

function boats({ kit }) {
  if (!kit.boats.length) return h("p", { class: "empty" }, "No boat stands at this base.");
  return [h("h2", {}, "Boats"), kit.boats.length > MANY && finder(), h("ul", { class: "kept boats" }, kit.boats.map(boatRow))];
}

/** A field that leaves only the boats whose name has what is typed. */
function finder() {
  const narrow = ({ target }) => {
    const wanted = target.value.trim().toLowerCase();
    for (const row of document.querySelectorAll(".boats > li")) {
      row.hidden = !row.querySelector("strong").textContent.toLowerCase().includes(wanted);
    }
  };
  return h("p", { class: "base" },
    h("label", { for: "find" }, "Find a boat"),
    h("input", { id: "find", type: "search", autocomplete: "off", "data-key": "find", oninput: narrow }));
}

function boatRow(boat) {
  return h("li", {},
      h("a", { class: "row", href: `#boat/${boat.id}` },
        h("strong", {}, boat.name),
        h("span", {}, [boat.rig, boat.design, lastLook(boat)].filter(Boolean).join(" · ")),
        boat.held.length > 0 && h("span", { class: "held" }, "Held")));
}

/** The day of the latest look at any part of a boat. */
function lastLook(boat) {
  const days = boat.stays.flatMap((stay) => stay.parts.map((part) => part.last?.on)).filter(Boolean);
  return days.length ? `looked at ${day(days.sort().at(-1))}` : "no look on record";
}
