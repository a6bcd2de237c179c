// The kit: the boats of a base with their stays, parts, earlier findings and the fleet's criteria.
// Asked for whenever there is signal, kept for when there is none.
import { Criteria } from "./verdicts.js";
import { fitsConstruction, fitsTerminals, terminalsAt } from "./readings.js";
import { aheadBy } from "./clock.js";
import { ask } from "./signal.js";
import * as store from "./store.js";

const MOST_PHOTOS = 200;
const FORM = 1; // The form of the kit these scripts can read.

/** The kit of a base: fresh where there is signal, else as kept here; null where there is neither. */
export async function kitOf(place, base) {
  const key = `${place.fleet}/${base}`;
  const fresh = await asked(`${place.kit}?base=${encodeURIComponent(base)}`);
  if (!fresh) return (await store.kit(key)) || null;
  const kept = await store.unlessFull(() => store.keepKit(key, fresh));
  return { ...fresh, unkept: !kept };
}

/** The kit as kept, without asking: what a page shows before the answer is there. */
export async function keptKit(place, base) {
  return (await store.kit(`${place.fleet}/${base}`)) || null;
}

async function asked(address) {
  const { answer } = await ask(address, { headers: { Accept: "application/json" } });
  if (!answer?.ok) return null;
  const kit = await answer.json();
  return kit.kit === FORM ? { ...kit, ahead: aheadBy(answer) } : null;
}

/** Have the earlier photos of these boats fetched through the worker, which keeps them. */
export async function keepPhotos(kit) {
  if (!navigator.serviceWorker?.controller) return;
  const parts = kit.boats.flatMap((boat) => boat.stays).flatMap((stay) => stay.parts);
  const ids = parts.flatMap((part) => part.last?.findings || []).map((each) => each.photo);
  for (const id of ids.filter(Boolean).slice(-MOST_PHOTOS)) {
    const { answer } = await ask(smallPhoto(id));
    if (!answer) return;
  }
}

/** Where the small picture of a photo on record is, seen from the page of the dock. */
export const smallPhoto = (id) => `../photos/${id}/small/`;

export const criteriaOf = (kit) => new Criteria(kit.criteria);

/** The part of a boat by its id, with the stay it belongs to; nulls where there is none. */
export function partOf(boat, id) {
  for (const stay of boat.stays) {
    const part = stay.parts.find((each) => each.id === id);
    if (part) return { stay, part };
  }
  return { stay: null, part: null };
}

/** The signs to look for at one spot of a part, in the order of the book. */
export function signsAt(criteria, part, spot) {
  const fitted = terminalsAt(part, spot);
  return criteria.signs.filter(
    (sign) =>
      sign.kinds.includes(part.kind) &&
      fitsConstruction(sign, part.construction) &&
      fitsTerminals(sign, fitted) &&
      (!sign.spots.length || sign.spots.includes(spot)),
  );
}

/** The signs to look for at a place of the boat that is no part. */
export function signsOfPlace(criteria, place) {
  return criteria.signs.filter((sign) => sign.places.includes(place) && sign.code !== "not_sure");
}

/** What was found at one spot of a part at earlier looks, the latest first. */
export function before(part, spot) {
  const found = part.last ? part.last.findings : [];
  return found.filter((each) => each.spot === spot).reverse();
}
