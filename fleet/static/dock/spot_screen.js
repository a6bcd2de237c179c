// One step: one end or the length of one stay, its signs, what they mean, and four things to say:
// nothing found, found, could not see it, not sure.
import { button, h } from "./dom.js";
import { clean, NOT_LOOKED_AT, notSeen, seen, sightAt, unsaid } from "./draft.js";
import { before, smallPhoto } from "./kit.js";
import { means, verdictWord } from "./means.js";
import { verdictOn } from "./meaning.js";
import { day } from "./numbers.js";
import { faultsOf } from "./faults_shown.js";
import { cardGroups } from "./card_groups.js";
import { signCard, wasWords } from "./sign_cards.js";
import { answerOf, foundAt, GROUP_WORDS, has, nextStep, reachOf, stepBefore } from "./steps.js";
import { worst } from "./verdicts.js";
import { progressBar } from "./progress.js";
import { rig } from "./rig.js";
import { count, HOW, listed, REASONS, WHY } from "./words.js";

const PART_WORDS = { wire: "wire", turnbuckle: "turnbuckle", chainplate: "chainplate" };

export function spotScreen(world, step) {
  const { entry, acts } = world;
  return h(
    "div",
    { class: "two step" },
    h("div", {}, asked(world, step)),
    rig(entry.boat, { value: (id) => world.drawn(id), href: (id) => acts.href(world.firstStep(id)), now: step.stay.id }),
  );
}

function asked(world, step) {
  const { entry, acts } = world;
  const groups = cardGroups(step, world.criteria, entry.draft);
  return [
    progressBar(entry, step, world.value, backLink(entry, step), h("a", { href: acts.href("all") }, "All stays")),
    h("h1", {}, `${step.stay.label}: `, h("span", {}, GROUP_WORDS[step.group])),
    h("p", { class: "why" }, `${WHY[step.group]} ${toolWords(groups)} ${HOW[step.group]}`),
    faultsOf(entry, step.key),
    saidBefore(world, step),
    stillCondemned(step),
    lastTime(step, world),
    world.cautions(step),
    withMeaning(groups, world, step),
    world.asking ? reasons(world, step) : bar(world, step),
  ];
}

/** The groups of signs, and what was found means right under the last in which something was. */
function withMeaning(groups, world, step) {
  const drawn = groups.map((group) => cardGroup(group, world));
  const last = groups.findLastIndex(({ cards }) => cards.some((card) => card.sight));
  const meaning = h("div", { class: "meaning", role: "status" }, meaningOf(world, step));
  return drawn.toSpliced(last + 1 || drawn.length, 0, meaning);
}

/** What was said of this step before, and a tap to take it back: a thumb slips. */
function saidBefore({ entry, acts }, step) {
  const answer = answerOf(entry, step);
  if (answer !== "seen" && answer !== "not_seen") return null;
  const reasons = entry.draft.not_seen.filter((each) => has(step.pairs, [each.part, each.place]));
  const why = [...new Set(reasons.map((each) => each.reason))].join(", ");
  const words = answer === "seen" ? "You said: seen, nothing found." : `You said: not seen, ${why}.`;
  const back = () => acts.change((now) => unsaid(now, step.pairs));
  return h("div", { class: "said-before" }, h("p", {}, words), button("Take it back", back, { key: "take-back" }));
}

function backLink(entry, step) {
  if (entry.draft.turn_round) return h("a", { href: `#draft/${entry.id}/all` }, "‹ Back to the list");
  const back = stepBefore(entry, step.key);
  return h("a", { href: back ? `#draft/${entry.id}/${back.key}` : "#" }, back ? "‹ Back" : "‹ Boats");
}

function toolWords(groups) {
  const [first] = groups;
  const tools = [...new Set((first?.cards || []).flatMap(({ sign }) => sign.tools))];
  const words = listed(tools.slice(0, 4));
  return words ? `${words.charAt(0).toUpperCase()}${words.slice(1)}.` : "";
}

/** What of this stay was condemned before: it is not asked about, so it is said first. */
function stillCondemned(step) {
  if (step.group !== "lower") return null;
  const old = step.stay.parts.filter((part) => part.condemned_on);
  return old.map((part) => h("p", { class: "caution" },
    `The ${PART_WORDS[part.kind]} was condemned on ${day(part.condemned_on)} and is still up: not to be `,
    "loaded. It is not asked about again."));
}

/** The last look at these parts, and what was found here before, with its photo. */
function lastTime(step, world) {
  const ids = [...new Set(step.pairs.map(([id]) => id))];
  const parts = ids.map((id) => step.stay.parts.find((part) => part.id === id));
  const found = step.pairs.flatMap(([id, spot]) => before(parts.find((p) => p.id === id), spot));
  const lead = parts.find((part) => part.kind === "wire" && part.last) || parts[0];
  return h(
    "div",
    { class: "last" },
    h("p", {}, lead.last ? lastWords(lead, world.words) : "No look at it is on record."),
    found.length > 0 && h("ul", {}, found.slice(0, 4).map((each) => earlier(each, world))),
  );
}

function lastWords({ kind, last }, words) {
  const whose = kind === "wire" ? "Last time" : `The ${PART_WORDS[kind]} last time`;
  const by = `${words.levels[last.level]}, ${last.person}`;
  const again = last.again_by ? `, again by ${day(last.again_by)}` : "";
  return `${whose}, ${day(last.on)} (${by}): ${words.verdicts[last.verdict]}${again}.`;
}

function earlier(finding, world) {
  const sign = world.criteria.sign(finding.sign);
  const source = finding.photo && smallPhoto(finding.photo);
  const alt = `${sign.label}, photo of ${day(finding.on)}`;
  return h("li", {},
    source && h("img", { src: source, alt, class: "thumb", width: 160, height: 120 }),
    h("span", {}, `${sign.label}: ${wasWords(sign, finding)}`));
}

function cardGroup({ name, cards, open }, world) {
  const list = h("ul", { class: "cards" }, cards.map((card) => signCard(card, world.acts)));
  if (open) return h("section", {}, h("h2", {}, name), list);
  const kept = world.unfolded.has(name);
  const toggled = ({ target }) => world.unfolded[target.open ? "add" : "delete"](name);
  const words = h("span", {}, name, h("small", {}, ` ${count(cards.length, "sign")}`));
  return h("details", { class: "fold", open: kept, ontoggle: toggled }, h("summary", {}, words), list);
}

/** The verdicts on what was found on this stay, as if the rest of this step were seen. */
export function meaningOf(world, step) {
  return means(judgedSoFar(world, step), (part) => PART_WORDS[part.kind], world.words);
}

/** The worst of them in a word, for where the thumb is. */
export function shortly(world, step) {
  const judged = judgedSoFar(world, step);
  if (!judged.length) return [];
  const value = worst(judged.map(({ verdict }) => verdict.value));
  const held = judged.some(({ verdict }) => verdict.holds);
  return [verdictWord(value, world.words), held ? " · boat held" : ""];
}

function judgedSoFar(world, step) {
  const { entry, criteria } = world;
  const looked = seenHere(entry, step);
  return step.stay.parts
    .map((part) => ({ part, verdict: verdictOn(looked, part, criteria), found: foundOn(entry, part) }))
    .filter(({ verdict, found }) => verdict && found)
    .map(({ part, verdict, found }) => ({ part, found, verdict: soFar(verdict, step.stay) }));
}

/** A verdict while the look goes on: what is still to be looked at is not called unseen yet. */
function soFar(verdict, stay) {
  const reasons = verdict.reasons.filter((each) => !each.startsWith("Not seen: "));
  return { ...verdict, reasons, pair: pairOf(stay) };
}

/** This step looked at: all of it seen but what was said not to be. */
const seenHere = (entry, step) => seen(entry, step.pairs.filter((pair) => !isUnseen(entry, pair)));

const isUnseen = (entry, [id, spot]) =>
  entry.draft.not_seen.some((each) => each.part === id && each.place === spot);
const foundOn = (entry, part) => entry.draft.sights.some((each) => each.part === part.id);

function pairOf(stay) {
  const other = { port: "starboard", starboard: "port" }[stay.side];
  return other ? `${stay.name.replace("_", " ")} ${other}` : "";
}

/** What one says of this step, at the bottom where the thumb is. */
function bar(world, step) {
  const { entry, acts, criteria } = world;
  const found = foundAt(entry.draft, step);
  const finish = (now) => (foundAt(now.draft, step) ? seenHere(now, step) : clean(now, step.pairs));
  const onward = acts.nextOf(finish(entry), step);
  const main = found ? `Next: ${onward}` : `Nothing found · ${onward}`;
  const rest = found ? [] : wholeStay(world, step);
  const unsure = { sign: "not_sure", part: unsurePair(step)[0], place: unsurePair(step)[1] };
  const open = !sightAt(entry.draft, unsure) && criteria.byCode.has("not_sure");
  return h(
    "div",
    { class: "bar" },
    found && h("p", { class: "shortly" }, shortly(world, step)),
    button(main, () => acts.answer(finish, step), { main: true, key: "next" }),
    rest,
    h("div", { class: "pair" },
      found
        ? button("Nothing here after all", () => acts.change((now) => clean(now, step.pairs)))
        : button("Could not see it", () => acts.ask(true), { key: "unseen" }),
      open && button("Not sure: a rigger to look", () => acts.toggle(unsure), { key: "unsure" })),
  );
}

const unsurePair = (step) =>
  step.pairs.find(([id]) => step.stay.parts.find((p) => p.id === id).kind === "wire") || step.pairs[0];

/** All of a stay in one tap, once each of it has been looked at. */
function wholeStay(world, step) {
  const { entry, acts } = world;
  const groups = Object.entries(reachOf(entry, step.stay));
  if (groups.length < 2 || groups[0][0] !== step.group) return [];
  const again = step.stay.parts.every((part) => !part.last || part.last.verdict === "keep");
  const known = step.stay.parts.some((part) => part.last);
  const words = `All of it seen, clean${again && known ? " as last time" : ""}`;
  const pairs = groups.flatMap(([, own]) => own);
  return [button(words, () => acts.answer((now) => clean(now, pairs), step), { key: "whole" })];
}

/** Why it could not be seen: a tap, or words of one's own. */
function reasons(world, step) {
  const { entry, acts } = world;
  const say = (reason) => acts.answer((now) => notSeen(now, step.pairs, reason), step);
  const all = Object.values(reachOf(entry, step.stay)).flat();
  const own = h("input", { type: "text", id: "reason", maxlength: 200, "data-key": "reason" });
  return h(
    "div",
    { class: "bar asking", role: "group", "aria-label": "Why it could not be seen" },
    h("p", {}, h("strong", {}, "Why could it not be seen?"), ` ${world.words.cautions.not_seen}`),
    REASONS[step.group].map((reason) => button(reason, () => say(reason))),
    button("This whole stay was not looked at", () =>
      acts.answer((now) => notSeen(now, all, NOT_LOOKED_AT), step)),
    h("label", { for: "reason" }, "Another reason"),
    h("div", { class: "pair" },
      own,
      button("Not seen", () => own.value.trim() && say(own.value.trim()))),
    button("Back to the signs", () => acts.ask(false), { key: "back-to-signs" }),
  );
}

/** What comes after: "wire", "upper end", or the name of the next stay. */
export function onwardWords(entry, step, key) {
  const next = nextStep(entry, key);
  if (!next.stay) return next.key === "sign" ? "sign" : "the boat";
  return next.stay === step.stay ? GROUP_WORDS[next.group] : next.stay.label.toLowerCase();
}
