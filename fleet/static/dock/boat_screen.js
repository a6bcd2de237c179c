// The boat beside its stays: mast plates, tangs, spreaders, furler, hanks, and whether anything
// happened to it.
import { button, h } from "./dom.js";
import { sightAt } from "./draft.js";
import { signsOfPlace } from "./kit.js";
import { boatFindings } from "./meaning.js";
import { faultsOf } from "./faults_shown.js";
import { signCard } from "./sign_cards.js";
import { BOAT, stepBefore } from "./steps.js";
import { progressBar } from "./progress.js";

const PLACES = ["spreader", "tang", "mast_wall", "furler_foil", "hanks", "bulkhead", "whole_rig"];
const NAMES = {
  spreader: "Spreaders",
  tang: "Tangs",
  mast_wall: "Mast wall and mast plates",
  furler_foil: "Furler and foil",
  hanks: "Hanks and lashings",
  bulkhead: "Behind the chainplates",
  whole_rig: "Something happened to the boat",
};

export function boatScreen(world) {
  const { entry, acts } = world;
  const back = stepBefore(entry, BOAT);
  const found = boatFindings(entry, world.criteria);
  const href = back && !entry.draft.turn_round ? acts.href(back.key) : acts.href("all");
  return h(
    "div",
    { class: "step boat-step" },
    progressBar(entry, null, world.value, h("a", { href }, "‹ Back"), h("a", { href: acts.href("all") }, "All stays")),
    h("h1", {}, "The mast and the boat"),
    h("p", { class: "why" }, "What holds the stays, and what no stay shows. Open what you looked at and found something on."),
    faultsOf(entry, BOAT),
    topsLeft(entry),
    PLACES.map((place) => placeFold(place, world)),
    h("div", { class: "meaning", role: "status" }, found.map(({ reason, sign }) =>
      h("div", { class: `means ${sign.outcome}` }, h("p", {}, reason)))),
    h("div", { class: "bar" },
      button(found.length ? "Next: sign" : "Nothing here · sign", () => acts.answer((now) => ({ ...now, boatSeen: true }), { key: BOAT }), { main: true, key: "next" })),
  );
}

/** The stays whose tops were skipped: what holds them up there is looked at all the same. */
function topsLeft(entry) {
  const labels = entry.boat.stays
    .filter((stay) => stay.parts.some((part) => entry.condemned?.[part.id] && part.kind === "wire"))
    .map((stay) => stay.label.toLowerCase());
  if (!labels.length) return null;
  const words = `Condemned further down, top not looked at: ${labels.join("; ")}. `;
  return h("p", { class: "caution" }, words, "The tang, pin and mast wall up there still are when someone goes aloft.");
}

function placeFold(place, world) {
  const cards = signsOfPlace(world.criteria, place).map((sign) => {
    const at = { sign: sign.code, part: null, place };
    return { sign, part: null, at, sight: sightAt(world.entry.draft, at) };
  });
  const name = NAMES[place];
  const open = cards.some((card) => card.sight) || world.unfolded.has(name);
  const toggled = ({ target }) => world.unfolded[target.open ? "add" : "delete"](name);
  return h("details", { class: "fold", open, ontoggle: toggled },
    h("summary", {}, name),
    h("ul", { class: "cards" }, cards.map((card) => signCard(card, world.acts))));
}
