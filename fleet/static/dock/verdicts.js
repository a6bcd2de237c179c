// The verdict on one part at one inspection: worst wins. The server's twin of this is
// inspections/verdicts/part.py, and the server's verdict is the one that counts: this one says on
// the dock, without signal, what a finding means. Both read the same signs, the kit's criteria.
import { RANK, SPOTS, SPOT_WORDS, capital, hasLimit, read } from "./readings.js";

const HOLDS = ["", "offshore", "sailing"];
const HOLD_REASONS_SHOWN = 3;

export const TOP_NEED_NOT_BE_SEEN =
  "The lower end condemns the wire: its upper end need not be inspected to decide. The tang, pin " +
  "and mast wall up there still are when someone goes aloft.";

/** The criteria of a kit, asked by code and by kind of part. */
export class Criteria {
  constructor({ version, missed_limit: missedLimit, signs }) {
    this.version = version;
    this.missedLimit = missedLimit;
    this.signs = signs;
    this.byCode = new Map(signs.map((sign) => [sign.code, sign]));
  }

  sign(code) {
    const sign = this.byCode.get(code);
    if (!sign) throw new Error(`There is no sign called '${code}' in the criteria.`);
    return sign;
  }

  /** Whether there are criteria enough to call such a part good. */
  assesses(kind, construction) {
    if (kind !== "wire") return this.signs.some((sign) => sign.kinds.includes(kind));
    return this.signs.some(
      (sign) => sign.essential && sign.constructions.includes(construction) && hasLimit(sign),
    );
  }
}

/**
 * The verdict on one part.
 *
 * seen: the spots seen well enough to be called good if nothing is found there. findings,
 * previous: {sign, spot, measure, cleaned, on}, days ISO, null for not measured, not tried.
 * missed: spot -> at how many comprehensive inspections running, this one too, it went unseen.
 */
export function judge(part, seen, findings, previous, criteria, on, missed = {}) {
  const spots = SPOTS[part.kind];
  checkSpots(part, [...seen, ...findings.map((each) => each.spot)]);
  const readings = alike(findings).map((each) => read(part, each, previous, criteria, on));
  readings.sort((one, other) => compared(order(one, spots), order(other, spots)));
  const assessed = criteria.assesses(part.kind, part.construction);
  const base = !assessed ? "not_assessed" : seen.length ? "keep" : "not_seen";
  const condemned = new Set(readings.filter((r) => r.value === "replace").map((r) => r.spot));
  const spot = spots.find((each) => condemned.has(each)) || "";
  const unseen = spot ? [] : missedOften(part, seen, missed, criteria.missedLimit);
  const holds = readings.filter((each) => each.hold).map((each) => [each.hold, each.brief]);
  holds.push(...unseen.map((each) => ["sailing", each]));
  return {
    value: worst([base, ...readings.map((each) => each.value)]),
    reasons: [
      ...readings.map((each) => each.sentence),
      ...onTheWhole(part, seen, readings, assessed, spot),
      ...unseen,
    ],
    spot,
    again_by: spot ? null : earliest(readings),
    holds: holds.length > 0,
    hold_reason: joined(holds.map(([, brief]) => brief)),
    hold_scope: HOLDS[Math.max(0, ...holds.map(([scope]) => HOLDS.indexOf(scope)))],
    spots: Object.fromEntries(spots.map((each) => [each, state(each, seen, readings, assessed)])),
    version: criteria.version,
  };
}

export function worst(values) {
  return values.reduce((one, other) => (RANK[other] > RANK[one] ? other : one));
}

function checkSpots(part, spots) {
  const own = SPOTS[part.kind];
  const foreign = spots.find((each) => !own.includes(each));
  if (foreign !== undefined) {
    throw new Error(`A ${part.kind} has ${own.join(", ")}; it has no '${foreign}'.`);
  }
}

/** The findings without those that say the same twice. */
function alike(findings) {
  const key = ({ sign, spot, measure, cleaned, on }) =>
    JSON.stringify([sign, spot, measure ?? null, cleaned ?? null, on ?? null]);
  const usual = { measure: null, cleaned: null, on: null };
  const kept = new Map(findings.map((each) => [key(each), { ...usual, ...each }]));
  return [...kept.values()];
}

function order(reading, spots) {
  return [-RANK[reading.value], spots.indexOf(reading.spot), reading.code, reading.sentence];
}

function compared(one, other) {
  const at = one.findIndex((each, place) => each !== other[place]);
  return at < 0 ? 0 : one[at] < other[at] ? -1 : 1;
}

function earliest(readings) {
  return readings.map((each) => each.again_by).filter(Boolean).sort()[0] || null;
}

function joined(briefs) {
  const rest = briefs.length - HOLD_REASONS_SHOWN;
  return briefs.slice(0, HOLD_REASONS_SHOWN).join("; ") + (rest > 0 ? `; and ${rest} more` : "");
}

function state(spot, seen, readings, assessed) {
  const here = readings.filter((each) => each.spot === spot).map((each) => each.value);
  if (here.includes("replace")) return "condemned";
  if (here.includes("refer")) return "unresolved";
  if (!seen.includes(spot)) return "not_seen";
  return assessed ? "good" : "unresolved";
}

const named = (spots) => spots.map((each) => SPOT_WORDS[each]).join(", ");

/** What is said of the part besides its findings: no criteria, not seen, nothing found. */
function onTheWhole(part, seen, readings, assessed, spot) {
  const sentences = [];
  const spots = SPOTS[part.kind];
  if (!assessed) {
    const kind = part.construction ? `${part.construction} ${part.kind}` : `a ${part.kind}`;
    const why = part.construction ? "" : " whose construction is not on record";
    sentences.push(`No criteria for ${kind}${why}: not assessed.`);
  } else if (seen.length && !readings.length) {
    sentences.push(`Nothing found (${named(spots.filter((each) => seen.includes(each)))}).`);
  }
  const at = readings.map((each) => each.spot);
  let hidden = spots.filter((each) => !seen.includes(each) && !at.includes(each));
  if (spot === "lower" && hidden.includes("upper")) {
    sentences.push(TOP_NEED_NOT_BE_SEEN);
    hidden = hidden.filter((each) => each !== "upper");
  }
  if (hidden.length) {
    sentences.push(`Not seen: ${named(hidden)}. Not seen is no evidence of health.`);
  }
  return sentences;
}

function missedOften(part, seen, running, limit) {
  return SPOTS[part.kind]
    .filter((each) => !seen.includes(each) && (running[each] || 0) >= limit)
    .map(
      (each) =>
        `${capital(SPOT_WORDS[each])} not seen at ${running[each]} comprehensive inspections ` +
        "running: held until opened.",
    );
}
