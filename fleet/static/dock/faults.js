// What the server found wrong with an inspection, each fault brought to the step it is about, so that
// it can be put right there and sent again under the same id.
import { partOf } from "./kit.js";
import { BOAT, has, SIGN, stepsOf } from "./steps.js";

/** The server's faults ({where, sentence}) with the step of each: [{sentence, step}]. */
export function placed(entry, faults) {
  return faults.map(({ where, sentence }) => ({ sentence, step: stepOf(entry, where) }));
}

/** The step that a path into the draft is about; the signature where it is about all of it. */
function stepOf(entry, where) {
  const [list, number] = where.split(".");
  const said = ["sights", "not_seen"].includes(list) && entry.draft[list][Number(number)];
  return said ? stepAt(entry, said) : SIGN;
}

function stepAt(entry, { part, place }) {
  if (part === null) return BOAT;
  const steps = stepsOf(entry);
  const { stay } = partOf(entry.boat, part);
  const own = steps.find((step) => has(step.pairs, [part, place])) || steps.find((step) => step.stay === stay);
  return own?.key || SIGN;
}

/** The fault of a photo that was refused, at the step of the finding it shows. */
export function ofPhoto(entry, id, sentence) {
  const sight = entry.draft.sights.find((each) => each.photos.includes(id));
  return [{ sentence, step: stepAt(entry, sight) }];
}

export const faultsAt = (entry, key) => (entry.faults || []).filter((each) => each.step === key);
