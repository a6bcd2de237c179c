// An inspection as it is made: begun, answered tap by tap, signed. Each change returns a new entry;
// `draft` in it is what is sent, the rest (boat as it was in the kit, place reached) stays here.
import { now } from "./clock.js";
import { newId } from "./ids.js";
import { answerAt, has, stepsOf } from "./steps.js";
import { dayAt, daysBetween } from "./numbers.js";

export const NOT_LOOKED_AT = "not looked at"; // Says that a stay was left out, to the server too.
export const TOP_SKIPPED = "the wire is condemned further down";

/** A new inspection of a boat of this kit. */
export function begin(kit, boat, who, level, turnRound) {
  const draft = {
    id: newId(),
    boat: boat.id,
    record: boat.record,
    level,
    turn_round: turnRound,
    on: who.on,
    person: who.name,
    competence: who.competence,
    method: who.method,
    note: "",
    begun_at: now().toISOString(),
    signed_at: null,
    seen: [],
    sights: [],
    not_seen: [],
    answers: {},
  };
  const entry = {
    id: draft.id,
    fleet: kit.fleet.slug,
    base: kit.base?.id ?? null,
    rev: 0,
    state: "open",
    why: "",
    boat,
    boatSeen: false,
    draft,
  };
  return { ...entry, at: stepsOf(entry)[0].key };
}

/**
 * The day of an inspection: by the clock, where this phone is, or the day at which this fleet's record
 * stands. A day's difference is the time zone; more, and the record stands still.
 */
export function dayOf(kit) {
  const apart = Math.abs(daysBetween(kit.made.slice(0, 10), kit.today));
  return apart <= 1 ? dayAt(now()) : kit.today;
}

const changed = (entry, draft) => ({ ...entry, draft: { ...entry.draft, ...draft } });

/** Everything of these spots was seen, whatever was found there. */
export function seen(entry, pairs) {
  const { draft } = entry;
  const fresh = pairs.filter((pair) => !has(draft.seen, pair));
  const unseen = draft.not_seen.filter((each) => !has(pairs, [each.part, each.place]));
  return changed(entry, { seen: [...draft.seen, ...fresh], not_seen: unseen });
}

/** Seen and nothing found: what was said to be found there before is taken back. */
export function clean(entry, pairs) {
  const sights = entry.draft.sights.filter((each) => !has(pairs, [each.part, each.place]));
  return seen(changed(entry, { sights }), pairs);
}

/** These spots could not be seen, and why. What was found there stays: it was seen. */
export function notSeen(entry, pairs, reason) {
  const { draft } = entry;
  const open = pairs.filter((pair) => answerAt(draft, pair) !== "found");
  const others = draft.not_seen.filter((each) => !has(open, [each.part, each.place]));
  const fresh = open.map(([part, place]) => ({ part, place, reason }));
  const still = draft.seen.filter((pair) => !has(open, pair));
  return changed(entry, { seen: still, not_seen: [...others, ...fresh] });
}

/** What was said of these spots taken back, so that they are still to be looked at. */
export function unsaid(entry, pairs) {
  const { draft } = entry;
  const others = (rows) => rows.filter((each) => !has(pairs, [each.part, each.place]));
  const still = draft.seen.filter((pair) => !has(pairs, pair));
  return changed(entry, { seen: still, not_seen: others(draft.not_seen), sights: others(draft.sights) });
}

const isAt = (sight, at) =>
  sight.sign === at.sign &&
  sight.part === at.part &&
  sight.place === at.place;

export const sightAt = (draft, at) => draft.sights.find((each) => isAt(each, at)) || null;

/** A sign found at a spot ({sign, part, place}), or taken back when it was. */
export function toggled(entry, at) {
  const { draft } = entry;
  if (sightAt(draft, at)) {
    return changed(entry, { sights: draft.sights.filter((each) => !isAt(each, at)) });
  }
  const sight = { ...at, side: "", measure: null, cleaned: null, note: "", photos: [] };
  const unseen = draft.not_seen.filter((e) => e.part !== at.part || e.place !== at.place);
  return changed(entry, { sights: [...draft.sights, sight], not_seen: unseen });
}

/** More about a sign found: measure, cleaned, note, photos. */
export function described(entry, at, facts) {
  const sights = entry.draft.sights.map((each) => (isAt(each, at) ? { ...each, ...facts } : each));
  return changed(entry, { sights });
}

/** Other facts of the draft itself: person, note, day. */
export const stated = changed;

/**
 * The inspection signed and put in the queue. What was skipped because the wire is condemned further
 * down says so; what nobody reached is left out: the server stores it as not seen.
 */
export function signed(entry) {
  const skipped = stepsOf(entry)
    .filter((step) => step.stay)
    .filter((step) => step.pairs.every((pair) => !answerAt(entry.draft, pair)))
    .filter((step) => entry.condemned?.[step.pairs[0][0]])
    .flatMap((step) => step.pairs);
  const told = notSeen(entry, skipped, TOP_SKIPPED);
  const facts = { state: "waiting", why: "", faults: [] };
  return { ...changed(told, { signed_at: now().toISOString() }), ...facts };
}

/** A signed inspection that the server sent back, opened again at a step to be put right. */
export function reopened(entry, at) {
  const unsaid = entry.draft.not_seen.filter((each) => each.reason !== TOP_SKIPPED);
  const again = changed(entry, { signed_at: null, not_seen: unsaid });
  return { ...again, state: "open", at };
}

/** The photos a draft names. */
export const photosOf = (draft) => draft.sights.flatMap((each) => each.photos);
