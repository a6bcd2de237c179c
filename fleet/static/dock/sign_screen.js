// The end of an inspection: what it will say, what was not seen, and the signature.
import { button, h } from "./dom.js";
import { clockLine } from "./clock_line.js";
import { dayOf, stated } from "./draft.js";
import { faultsOf } from "./faults_shown.js";
import { offWords } from "./clock.js";
import { faultsAt } from "./faults.js";
import { day } from "./numbers.js";
import { means, verdictWord } from "./means.js";
import { boatFindings, verdictsOn } from "./meaning.js";
import { RANK } from "./readings.js";
import { worst } from "./verdicts.js";
import { answerOf, GROUP_WORDS, SIGN, stepBefore, stepsOf, stepWords } from "./steps.js";
import { levelWords } from "./start_screen.js";
import { progressBar } from "./progress.js";
import { count, OVERTAKEN } from "./words.js";

const TOLD = [
  ["replace", "to replace, not to be loaded"],
  ["make_good", "to make good before sailing"],
  ["refer", "for a rigger to look at"],
  ["watch", "to watch"],
  ["not_assessed", "not assessed"],
  ["not_seen", "not seen"],
  ["keep", "to keep"],
];

export function signScreen(world) {
  const { entry, acts, criteria } = world;
  const judged = entry.boat.stays
    .map((stay) => ({ stay, verdicts: verdictsOn(entry, stay, criteria, true) }))
    .filter(({ verdicts }) => verdicts.length);
  const back = entry.draft.turn_round ? null : stepBefore(entry, SIGN);
  return h(
    "div",
    { class: "sign-off" },
    progressBar(entry, null, world.value, h("a", { href: acts.href(back?.key || "all") }, "‹ Back"), h("a", { href: acts.href("all") }, "All stays")),
    h("h1", {}, entry.boat.name, h("span", { class: "plain" }, ` · ${levelWords(entry)}`)),
    faultsOf(entry, SIGN),
    faultsElsewhere(world),
    entry.why && !entry.faults?.length && h("p", { class: "caution", role: "alert" }, entry.why),
    world.overtaken(entry) && h("p", { class: "caution" }, OVERTAKEN),
    h("p", { class: "lead" }, leadWords(judged)),
    notReached(world),
    loud(judged, world),
    boatFindings(entry, criteria).map(({ reason, sign }) => h("div", { class: `means ${sign.outcome}` }, h("p", {}, reason))),
    unseenWords(world),
    signature(world),
  );
}

const valueOfAll = (verdicts) => worst(verdicts.map(({ verdict }) => verdict.value));

/** "12 stays: 1 to replace, not to be loaded; 11 to keep." */
function leadWords(judged) {
  const values = judged.map(({ verdicts }) => valueOfAll(verdicts));
  const told = TOLD.map(([value, words]) => [values.filter((each) => each === value).length, words])
    .filter(([number]) => number)
    .map(([number, words]) => `${number} ${words}`);
  return `${count(values.length, "stay")}: ${told.join("; ")}.`;
}

/** Faults the server found at other steps, with the way there. */
function faultsElsewhere({ entry, acts }) {
  const others = (entry.faults || []).filter((each) => each.step !== SIGN);
  if (!others.length) return null;
  return h("div", { class: "caution" },
    h("p", {}, "The server sent this back. Put right, unless that is done:"),
    h("ul", { class: "plain-list" }, others.map(({ step, sentence }) =>
      h("li", {}, h("a", { href: acts.href(step) }, stepWords(entry, step)), ` ${sentence}`))));
}

function notReached(world) {
  const { entry, acts } = world;
  const open = stepsOf(entry).filter((step) => step.stay && !answerOf(entry, step));
  if (!open.length) return null;
  return h("div", { class: "caution" },
    h("p", {}, "Not looked at yet. Signed now, these go on record as not seen:"),
    h("ul", { class: "plain-list" }, open.map((step) =>
      h("li", {}, h("a", { href: acts.href(step.key) }, `${step.stay.label}, ${GROUP_WORDS[step.group]}`)))));
}

function loud(judged, world) {
  const { words } = world;
  const found = judged
    .map(({ stay, verdicts }) => ({ stay, verdicts: verdicts.filter(({ verdict }) => RANK[verdict.value] > RANK.not_seen) }))
    .filter(({ verdicts }) => verdicts.length)
    .sort((one, other) => RANK[valueOfAll(other.verdicts)] - RANK[valueOfAll(one.verdicts)]);
  return found.map(({ stay, verdicts }) =>
    h("section", { class: "of-stay" },
      h("h2", {}, stay.label, " ", verdictWord(valueOfAll(verdicts), words)),
      means(verdicts, (part) => part.kind, words)));
}

function unseenWords({ entry }) {
  const named = entry.draft.not_seen.map(({ part, place, reason }) => {
    const stay = entry.boat.stays.find((each) => each.parts.some((p) => p.id === part));
    return { stay: stay.label, place: place === "whole" ? "fitting" : GROUP_WORDS[place], reason };
  });
  if (!named.length) return null;
  return h("details", { class: "fold" },
    h("summary", {}, `Not seen: ${count(named.length, "spot")}`),
    h("ul", { class: "plain-list" }, named.map(({ stay, place, reason }) => h("li", {}, `${stay}, ${place}: ${reason}.`))));
}

/** The day of the look, to be changed: by the phone's clock it may be another's. */
function theDay({ entry, acts, kit }) {
  const { on } = entry.draft;
  const open = faultsAt(entry, SIGN).length > 0 || Boolean(offWords());
  const changed = ({ target }) => target.value && acts.change((now) => stated(now, { on: target.value }));
  return h("details", { class: "note-fold", open },
    h("summary", {}, `Looked at on ${day(on)}: change the day`),
    h("label", { for: "on" }, "Date"),
    h("input", { type: "date", id: "on", "data-key": "on", value: on, max: kit ? dayOf(kit) : null, onchange: changed }));
}

function signature(world) {
  const { entry, acts, words } = world;
  const { draft } = entry;
  const as = `${words.competences[draft.competence]}, by ${words.methods[draft.method]}`;
  const crew = draft.competence === "crew";
  const type = (name) => ({ target }) => acts.change((now) => stated(now, { [name]: target.value }), { typing: true });
  return h(
    "div",
    { class: "signature" },
    h("label", { for: "note" }, "Anything to add"),
    h("textarea", { id: "note", rows: 2, "data-key": "note", value: draft.note, oninput: type("note") }),
    h("label", { for: "signer" }, "Signed by"),
    h("input", { id: "signer", "data-key": "signer", value: draft.person, maxlength: 120, oninput: type("person") }),
    clockLine(world.kit),
    theDay(world),
    h("p", { class: "hint" }, `As ${as}. I looked at what this record says was seen. `, crew && words.cautions.survey),
    h("div", { class: "bar" },
      button(world.signal === "there" ? "Sign and send" : "Sign: it is sent when there is signal", () => acts.sign(), { main: true, key: "next" })),
  );
}
