// What an inspection means so far: the verdict on each part, from the draft and the kit. The place
// where the server does the same is inspections/judgement/judging.py; its verdict is the one that counts.
import { amount, day } from "./numbers.js";
import { SPOTS, againBy, sentence } from "./readings.js";
import { NOT_LOOKED_AT } from "./draft.js";
import { judge, worst } from "./verdicts.js";
import { has } from "./steps.js";

const COMPREHENSIVE = ["aloft", "mast_down"];

/**
 * The verdict on one part; null where this level cannot see it and nothing was found on it.
 * `over`: the inspection ends here, so what nobody has answered was not seen.
 */
export function verdictOn(entry, part, criteria, over = false) {
  const { draft } = entry;
  const within = SPOTS[part.kind].filter((spot) => reached(entry, part, spot));
  const findings = findingsOn(draft, part);
  if (part.condemned_on) return inSight(draft, part) || findings.length ? stillUp(part) : null;
  if (!within.length && !findings.length) return null;
  const unseen = draft.not_seen.filter((each) => each.part === part.id);
  const seen = within.filter((spot) => has(draft.seen, [part.id, spot]));
  const previous = part.last ? part.last.findings : [];
  const missed = unseen.some((each) => each.reason === NOT_LOOKED_AT)
    ? part.missed
    : missedNow(entry, part, within, seen, findings, over ? within : unseen.map((u) => u.place));
  return judge(part, seen, findings, previous, criteria, draft.on, missed);
}

/** A condemned part is not asked about again; only a chainplate still in the deck is out of sight. */
const inSight = (draft, part) => part.kind !== "chainplate" || draft.level === "mast_down";

function reached(entry, part, spot) {
  const { draft } = entry;
  if (draft.turn_round && (spot === "run" || spot === "upper")) return false;
  return has(entry.boat.levels[draft.level], [part.id, spot]);
}

function findingsOn(draft, part) {
  return draft.sights
    .filter((each) => each.part === part.id && SPOTS[part.kind].includes(each.place))
    .map(({ sign, place, measure, cleaned }) => ({ sign, spot: place, measure, cleaned, on: null }));
}

/** How often running each spot went unseen, this look included; a sight ends the count. */
function missedNow(entry, part, within, seen, findings, unseen) {
  const sighted = [...seen, ...findings.map((each) => each.spot)];
  const counted = COMPREHENSIVE.includes(entry.draft.level) ? within : [];
  const now = { ...part.missed };
  for (const spot of SPOTS[part.kind]) {
    if (sighted.includes(spot)) delete now[spot];
    else if (counted.includes(spot) && unseen.includes(spot)) now[spot] = (now[spot] || 0) + 1;
    else if (!unseen.includes(spot)) delete now[spot]; // Not answered yet: nothing to hold against it.
  }
  return now;
}

function stillUp(part) {
  const since = day(part.condemned_on);
  const words = `Condemned on ${since} and still up: not to be loaded. A later look does not clear it.`;
  return { value: "replace", reasons: [words], spot: "", again_by: null, holds: true, old: true };
}

/** The verdicts on the parts of one stay, worst first: {part, verdict}. */
export function verdictsOn(entry, stay, criteria, over = false) {
  const judged = stay.parts.map((part) => ({ part, verdict: verdictOn(entry, part, criteria, over) }));
  return judged.filter((each) => each.verdict);
}

/** The worst verdict value on a stay, or "" where nothing can be said yet. */
export function valueOf(entry, stay, criteria, over = false) {
  const values = verdictsOn(entry, stay, criteria, over).map((each) => each.verdict.value);
  return values.length ? worst(values) : "";
}

/** Which parts this look condemns: part id -> the lowest spot that does. Kept with the entry. */
export function condemnedIn(entry, criteria) {
  const condemned = {};
  for (const part of entry.boat.stays.flatMap((stay) => stay.parts)) {
    const verdict = verdictOn(entry, part, criteria);
    if (verdict?.value === "replace" && verdict.spot) condemned[part.id] = verdict.spot;
  }
  return condemned;
}

const EVENT = "Earlier results are void: the boat is held until its rig is inspected.";

/** What was found at places of the boat that are no part: {sight, sign, reason}. */
export function boatFindings(entry, criteria) {
  return entry.draft.sights
    .filter((each) => each.part === null)
    .map((sight) => ({ sight, sign: criteria.sign(sight.sign), reason: told(entry, sight, criteria) }));
}

function told(entry, sight, criteria) {
  const sign = criteria.sign(sight.sign);
  const count = sight.measure === null ? "" : `, ${amount(sight.measure, sign.measure?.unit || "")}`;
  const due = againBy(sign.outcome, sign, entry.draft.on);
  const what = `${sight.side ? `${sight.side}: ` : ""}${sign.label}${count}`;
  return sentence(what, sign.outcome, due, sign) + (sign.voids ? ` ${EVENT}` : "");
}
