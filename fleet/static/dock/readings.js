// One finding, read by its own sign: the four rules of a sign. The server's twin of this is
// inspections/verdicts/reading.py; a test holds the two equal, sentence by sentence.
import { amount, day, daysBetween, later, short } from "./numbers.js";

export const VALUES = ["keep", "not_seen", "not_assessed", "watch", "refer", "make_good", "replace"];
export const RANK = Object.fromEntries(VALUES.map((value, rank) => [value, rank]));
export const SPOTS = { wire: ["lower", "run", "upper"], turnbuckle: ["whole"], chainplate: ["whole"] };
export const SPOT_WORDS = { lower: "lower end", run: "wire", upper: "upper end", whole: "part" };

const REFER_DAYS = 14;
const ROUNDING = 1e-9;
const WIRES_ACROSS = { "1x19": 5, compacted: 5, "7x7": 9, "7x19": 15 };
const VALUE_WORDS = {
  keep: "Keep, noted",
  not_seen: "Not seen",
  not_assessed: "Not assessed",
  watch: "Watch",
  refer: "A rigger to look",
  make_good: "Make good before sailing",
  replace: "Replace: not to be loaded",
};
const HOLD_WORDS = {
  "": "",
  offshore: "Held from going offshore. ",
  sailing: "Held: the boat does not sail. ",
};
const REFERENCES = {
  "": "limit",
  wire: "diameter of the single wire",
  pin: "diameter of the pin",
  thread: "diameter of the thread",
};

export const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);

export function hasLimit(sign) {
  return sign.rule !== "measured" || sign.measure.limit !== null;
}

export function fitsConstruction(sign, construction) {
  const asked = sign.constructions.length > 0 && construction;
  return !asked || sign.constructions.includes(construction);
}

export function fitsTerminals(sign, fitted) {
  const open = fitted.length === 0 || fitted.some((each) => each === "" || each === "other");
  return !sign.terminals.length || open || fitted.some((each) => sign.terminals.includes(each));
}

export function terminalsAt(part, spot) {
  const ends = { lower: [part.lower_terminal], upper: [part.upper_terminal] };
  return ends[spot] || [part.lower_terminal, part.upper_terminal];
}

/** The diameter in mm that a limit refers to: "wire" (a single wire), "pin" or "thread"; or null. */
export function referenceMm(part, of) {
  if (of === "pin") return part.pin_mm ?? null;
  if (of === "thread") return part.thread_mm || (part.pin_mm ?? null);
  const across = WIRES_ACROSS[part.construction];
  return of === "wire" && part.diameter_mm && across ? part.diameter_mm / across : null;
}

/** The limit in the unit of the measure, or null when it or its reference is not known. */
export function limitOn(part, measure) {
  if (measure.limit === null || !measure.of) return measure.limit;
  const reference = referenceMm(part, measure.of);
  return reference === null ? null : measure.limit * reference;
}

/** One finding on a part: value, spot, code, brief, sentence, again_by, hold. */
export function read(part, finding, previous, criteria, on) {
  const sign = criteria.sign(finding.sign);
  if (!sign.kinds.length) {
    throw new Error(`Sign '${sign.code}' belongs to the boat, not to a part of a stay.`);
  }
  const when = finding.on || on;
  const [value, why] = weigh(part, sign, finding, earlier(finding, previous, when), criteria, when);
  const brief = `${capital(SPOT_WORDS[finding.spot])}: ${lowered(sign.label)}`;
  const due = againBy(value, sign, on);
  return {
    value,
    spot: finding.spot,
    code: sign.code,
    brief,
    sentence: sentence(`${brief}${why}`, value, due, sign),
    again_by: due,
    hold: RANK[value] >= RANK.make_good ? "sailing" : sign.hold,
  };
}

export function againBy(value, sign, on) {
  if (value !== "watch" && value !== "refer") return null;
  const own = value === "watch" || sign.outcome === "refer";
  return later(on, (own ? sign.again_days : null) || REFER_DAYS);
}

export function sentence(what, value, due, sign) {
  const until = due ? ` by ${day(due)}` : "";
  const stop = RANK[value] >= RANK.make_good ? "" : HOLD_WORDS[sign.hold];
  const action = sign.action && value !== "replace" ? ` ${sign.action}` : "";
  return `${what}. ${stop}${VALUE_WORDS[value]}${until}.${action} (${sign.source})`;
}

function lowered(label) {
  const named = label.length < 2 || label[1] === "-";
  return named ? label : label.charAt(0).toLowerCase() + label.slice(1);
}

function weigh(part, sign, finding, before, criteria, when) {
  if (!sign.kinds.includes(part.kind)) {
    return ["refer", ` (a sign of a ${sign.kinds[0]}, recorded at a ${part.kind})`];
  }
  const known = part.construction;
  if (!hasLimit(sign)) {
    return ["refer", `: no limit is set for ${known || sign.where}, so it is not assessed`];
  }
  if (!fitsConstruction(sign, known) && !criteria.assesses(part.kind, known)) {
    return ["refer", `: there are no criteria for ${known}, so it is not assessed`];
  }
  const [value, why] = RULES[sign.rule](part, sign, finding, before, when);
  return [value, why + againstRecord(part, sign, finding.spot)];
}

function againstRecord(part, sign, spot) {
  if (!fitsConstruction(sign, part.construction)) {
    return ` (recorded as ${part.construction}: correct the record)`;
  }
  const fitted = terminalsAt(part, spot);
  if (fitsTerminals(sign, fitted)) return "";
  return ` (terminal recorded as ${fitted.join(" and ")}: correct the record)`;
}

function measured(part, sign, finding) {
  const measure = sign.measure;
  if (finding.measure === null) return [sign.unknown, ", not measured: judged on the safe side"];
  const found = `, ${amount(finding.measure, measure.unit)}`;
  const limit = limitOn(part, measure);
  if (limit === null) {
    return [sign.unknown, `${found}; the ${REFERENCES[measure.of]} is not on record: judged safe`];
  }
  const share = measure.of ? `: ${short(measure.limit)} x ${REFERENCES[measure.of]}` : "";
  const value = reached(measure, finding.measure, limit) ? sign.outcome : sign.milder;
  return [value, `${found} (limit ${amount(limit, measure.unit)}${share})`];
}

function reached(measure, value, limit) {
  const beyond = measure.worse === "more" ? value - limit : limit - value;
  return measure.at_limit ? beyond >= -ROUNDING : beyond > ROUNDING;
}

function remedied(_part, sign, finding, before, when) {
  if (finding.cleaned === false) return [sign.outcome, ", does not come away"];
  const back = sign.returns ? before.filter((each) => dealtWith(each, sign, when)) : [];
  if (back.length) return [sign.outcome, `, has come back${firstNoted(back)}`];
  if (finding.cleaned) return [sign.milder, ", came away when cleaned"];
  return [sign.unknown, sign.unknown === "keep" ? "" : ", not said whether it comes away"];
}

function dealtWith(before, sign, when) {
  if (before.cleaned !== null || !before.on) return true;
  return daysBetween(before.on, when) > (sign.again_days || REFER_DAYS);
}

function growing(_part, sign, finding, before) {
  const unit = sign.measure ? sign.measure.unit : "";
  const now = finding.measure === null ? "" : `, ${amount(finding.measure, unit)}`;
  if (!before.length) return [sign.milder, `${now}, first time`];
  const counted = before.map((each) => each.measure).filter((each) => each !== null);
  if (finding.measure === null || !counted.length) {
    return [sign.unknown, `${now}, seen before and not counted each time: growth cannot be told`];
  }
  const fewest = Math.min(...counted);
  const value = finding.measure > fewest ? sign.outcome : sign.milder;
  return [value, `${now} after ${amount(fewest, unit)}${firstNoted(before)}`];
}

const RULES = {
  plain: (_part, sign) => [sign.outcome, ""],
  measured,
  remedy: remedied,
  growth: growing,
};

function firstNoted(before) {
  const days = before.map((each) => each.on).filter(Boolean).sort();
  return days.length ? ` (first noted ${day(days[0])})` : "";
}

function earlier(finding, previous, when) {
  return previous.filter(
    (each) =>
      each.sign === finding.sign && each.spot === finding.spot && (!each.on || each.on < when),
  );
}
