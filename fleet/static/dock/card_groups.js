// The signs of one step in groups, as one looks: the terminal, the wire, the turnbuckle, pins, bronze.
import { before, signsAt } from "./kit.js";
import { sightAt } from "./draft.js";

const EVERY_KIND = 3;
// What every kind of part can show is asked once, at the fitting that takes it.
const TAKES_PINS = ["turnbuckle", "chainplate", "wire"];

/** [{name, cards, open}]; the first is open, and any in which something is or was found. */
export function cardGroups(step, criteria, draft) {
  const groups = new Map();
  for (const card of cardsOf(step, criteria, draft)) {
    const name = groupName(card, step);
    if (!groups.has(name)) groups.set(name, []);
    groups.get(name).push(card);
  }
  return [...groups].map(([name, cards], place) => ({
    name,
    cards,
    open: place === 0 || cards.some((card) => card.sight || card.was.length),
  }));
}

function cardsOf(step, criteria, draft) {
  const parts = step.pairs.map(([id, spot]) => ({ part: step.stay.parts.find((p) => p.id === id), spot }));
  const order = (part) => ["wire", "turnbuckle", "chainplate"].indexOf(part.kind);
  parts.sort((one, other) => order(one.part) - order(other.part));
  const shared = TAKES_PINS.map((kind) => parts.find(({ part }) => part.kind === kind)).find(Boolean);
  const cards = parts.flatMap(({ part, spot }) =>
    signsAt(criteria, part, spot).map((sign) => card(sign, part, spot, draft)));
  return cards
    .filter(({ sign, part, sight, was }) =>
      sign.kinds.length < EVERY_KIND || part === shared.part || sight || was.length)
    .filter(({ sign, sight }) => sign.code !== "not_sure" || sight)
    .sort((one, other) => rank(one) - rank(other));
}

function card(sign, part, spot, draft) {
  const at = { sign: sign.code, part: part.id, place: spot };
  const was = before(part, spot).filter((each) => each.sign === sign.code);
  return { sign, part, at, sight: sightAt(draft, at), was };
}

/** Not sure first, for it was just said; then ends, lengths, fittings; what all share comes last. */
function rank({ sign, part }) {
  if (sign.code === "not_sure") return 0;
  if (sign.kinds.length === EVERY_KIND) return 5;
  if (part.kind === "turnbuckle") return 3;
  if (part.kind === "chainplate") return 4;
  return sign.spots.length ? 1 : 2;
}

function groupName({ sign, part }, step) {
  if (sign.code === "not_sure") return "A rigger to look";
  if (sign.kinds.length === EVERY_KIND) return sign.where.startsWith("clevis") ? "Pins" : "Bronze or brass";
  if (part.kind === "turnbuckle") return "Turnbuckle (rigging screw), toggle";
  if (part.kind === "chainplate") return "Chainplate";
  if (sign.spots.length) return "Terminal";
  const length = { rod: "Rod", fibre: "Fibre" }[part.construction] || "Wire";
  return step.group === "run" ? length : `${length} near the end`;
}
