// All stays of a boat at a glance: what has been said of each, and a way to any of them. On a
// turn-round check it is the form itself: exceptions only.
import { button, h } from "./dom.js";
import { clean } from "./draft.js";
import { verdictWord } from "./means.js";
import { rig } from "./rig.js";
import { answerAt, BOAT, GROUP_WORDS, nextStep, progressOf, SIGN, stepsOf } from "./steps.js";
import { levelWords } from "./start_screen.js";
import { progressBar } from "./progress.js";
import { count } from "./words.js";

const ANSWERS = { seen: "clean", found: "found", not_seen: "not seen", skipped: "skipped", "": "to do" };

export function allScreen(world) {
  const { entry, acts } = world;
  const stays = progressOf(entry);
  const turnRound = entry.draft.turn_round;
  return h(
    "div",
    { class: "all" },
    progressBar(entry, null, world.value, h("a", { href: "#" }, "‹ Leave it for now")),
    h("h1", {}, entry.boat.name, h("span", { class: "plain" }, ` · ${levelWords(entry)}`)),
    turnRound && h("p", { class: "why" }, "Look at the lower end of every stay, from the bow round clockwise. Tap one only where something is to be said."),
    h("div", { class: "two" },
      h("ol", { class: "kept stays" }, entry.boat.stays.map((stay) => stayRow(world, stay, stays))),
      rig(entry.boat, { value: (id) => world.drawn(id), href: (id) => acts.href(world.firstStep(id)) })),
    deletion(world),
    h("div", { class: "bar" }, turnRound ? turnRoundBar(world) : goOn(world)),
  );
}

function stayRow(world, stay, stays) {
  const { acts, words } = world;
  const own = stays.find((each) => each.stay === stay);
  const value = world.drawn(stay.id);
  const facts = own
    ? own.steps.map((step, place) => `${GROUP_WORDS[step.group]} ${ANSWERS[own.answers[place]]}`).join(" · ")
    : unreachable(stay);
  const inside = [
    h("strong", {}, stay.label),
    h("span", {}, facts),
    value && h("span", { class: "state" }, verdictWord(value, words)),
  ];
  return h("li", {}, own
    ? h("a", { class: "row", href: acts.href(own.steps[0].key) }, inside)
    : h("div", { class: "row" }, inside));
}

function unreachable(stay) {
  return stay.parts.some((part) => part.condemned_on) ? "condemned before, and still up" : "nothing here that this level sees";
}

/** The rest of a turn-round check in one tap, once every lower end has been looked at. */
function turnRoundBar(world) {
  const { entry, acts } = world;
  const open = stepsOf(entry).flatMap((step) => step.pairs).filter((pair) => !answerAt(entry.draft, pair));
  const stays = progressOf(entry);
  const left = stays.filter((each) => !each.done).length;
  const words = left === stays.length
    ? "Every lower end seen, nothing found"
    : `The other ${count(left, "stay")} seen, nothing found`;
  return [
    open.length > 0
      ? button(words, () => acts.jump((now) => clean(now, open), SIGN), { main: true, key: "next" })
      : button("Next: sign", () => acts.go(SIGN), { main: true, key: "next" }),
    button("Something on the mast or the boat", () => acts.go(BOAT)),
  ];
}

function goOn(world) {
  const { entry, acts } = world;
  const next = nextStep(entry, SIGN);
  const words = next.stay ? `Go on: ${next.stay.label}, ${GROUP_WORDS[next.group]}` : next.key === SIGN ? "Go on: sign" : "Go on: the mast and the boat";
  return [
    button(words, () => acts.go(next.key), { main: true, key: "next" }),
    next.key !== SIGN && button("End here and sign", () => acts.go(SIGN)),
  ];
}

/** A draft is deleted after a question only. */
function deletion(world) {
  const { entry, acts, asking } = world;
  if (!asking) return h("p", { class: "quietly" }, button("Delete this draft", () => acts.ask(true), { key: "delete" }));
  return h("div", { class: "caution", role: "alertdialog", "aria-label": "Delete this draft" },
    h("p", {}, `Delete this inspection of ${entry.boat.name}? What was entered is gone, and its photos.`),
    h("div", { class: "pair" },
      button("Keep it", () => acts.ask(false), { key: "delete", main: true }),
      button("Delete it", () => acts.forget(entry.id))));
}
