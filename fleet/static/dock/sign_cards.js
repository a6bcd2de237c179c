// Signs to choose by sight: the drawn picture, what it is, where to look and what with, its limit;
// and, once one is found, how much of it, whether it came away, a photo.
import { button, choice, h, picture } from "./dom.js";
import { amount, day, rounded, short } from "./numbers.js";
import { limitOn } from "./readings.js";
import { thumbnail } from "./photos.js";
import { listed, NO_NUMBER } from "./words.js";

const CLEANED = [["yes", "It came away"], ["no", "It stayed"], ["", "Not tried"]];
const SIDES = [["port", "Port"], ["starboard", "Starboard"], ["", "Centre or both"]];

/** One sign at one place. `part` null for a place of the boat; `was`: the earlier findings of it. */
export function signCard({ sign, part, at, sight, was = [] }, acts) {
  const key = `${at.part}-${at.place}-${sign.code}`;
  const facts = { "aria-pressed": sight ? "true" : "false", class: "sign-card", type: "button" };
  return h(
    "li",
    { class: sight ? "found" : null, id: `card-${key}` },
    h(
      "button",
      { ...facts, "data-key": key, onclick: () => acts.toggle(at) },
      picture(sign),
      h("span", { class: "what" },
        h("strong", {}, sign.label),
        h("span", { class: "look" }, sign.look),
        h("span", { class: "with" }, [withWhat(sign), limitWords(sign, part)].filter(Boolean).join(" · ")),
        was.length > 0 && h("span", { class: "was" }, `Last time: ${wasWords(sign, was[0])}`)),
    ),
    sight && details({ sign, part, at, sight, key }, acts),
  );
}

const withWhat = (sign) => {
  const words = listed(sign.tools);
  return words.charAt(0).toUpperCase() + words.slice(1);
};

/** The limit on this very part, in the unit one measures: "limit 0.16 mm". */
export function limitWords(sign, part) {
  if (sign.rule !== "measured") return "";
  if (sign.measure.limit === null) return "no limit set: a rigger judges it";
  const limit = part ? limitOn(part, sign.measure) : sign.measure.limit;
  if (limit === null) return `limit ${sign.limit_words}`;
  return `${sign.measure.worse === "less" ? "least" : "limit"} ${amount(limit, sign.measure.unit)}`;
}

/** An earlier finding in a few words: "3 spots, came away when cleaned, 3 Jun 2026". */
export function wasWords(sign, before) {
  const measured = before.measure === null ? "" : amount(before.measure, sign.measure?.unit || "");
  const cleaned = { true: "came away when cleaned", false: "did not come away" }[before.cleaned];
  return [measured, cleaned, day(before.on)].filter(Boolean).join(", ");
}

function details({ sign, part, at, sight, key }, acts) {
  const describe = (facts) => acts.describe(at, facts);
  return h(
    "div",
    { class: "details" },
    sign.measure && measure(sign, part, sight, key, acts, at),
    sign.rule === "remedy" && choice("When cleaned", `cleaned-${key}`, CLEANED, cleanedValue(sight),
      (value) => describe({ cleaned: { yes: true, no: false }[value] ?? null })),
    at.part === null && at.place !== "whole_rig" && choice("Which side", `side-${key}`, SIDES, sight.side,
      (value) => describe({ side: value })),
    photos(sign, sight, key, acts, at),
    note(sight, key, acts, at),
  );
}

const cleanedValue = (sight) => ({ true: "yes", false: "no" })[sight.cleaned] ?? "";

/** The step of the - and + buttons: fine where the limit is small, whole where things are counted. */
function stepOf(sign, part) {
  if (sign.measure.unit !== "mm") return 1;
  const limit = part ? limitOn(part, sign.measure) : sign.measure.limit;
  if (!limit || limit >= 3) return 1;
  return limit >= 1 ? 0.5 : limit >= 0.5 ? 0.1 : 0.05;
}

function measure(sign, part, sight, key, acts, at) {
  const step = stepOf(sign, part);
  const set = (value) => acts.describe(at, { measure: value === null ? null : Math.max(0, value) });
  const by = (sense) => set(rounded((sight.measure ?? 0) + sense * step, 4));
  const words = `${sign.measure.label}, ${sign.measure.unit}`;
  const given = sight.measure === null ? "" : short(sight.measure);
  const kind = { type: "text", inputmode: "decimal", id: `m-${key}`, "data-key": `m-${key}` };
  return h(
    "div",
    { class: "measure" },
    h("label", { for: `m-${key}` }, words.charAt(0).toUpperCase() + words.slice(1)),
    h("span", { class: "stepper" },
      button("−", () => by(-1), { key: `less-${key}`, "aria-label": `Less ${sign.measure.label}` }),
      h("input", { ...kind, value: given, autocomplete: "off", "aria-describedby": `h-${key}`, oninput: (e) => typed(e.target, at, acts) }),
      button("+", () => by(1), { key: `more-${key}`, "aria-label": `More ${sign.measure.label}` })),
    h("span", { class: "hint", id: `h-${key}`, role: "status" },
      h("span", { class: "limit" }, limitWords(sign, part) || "Counted, so that the next look can compare."),
      h("span", { class: "errorlist", hidden: true }, NO_NUMBER)),
  );
}

/** A number with point or comma; what is none is marked, said to be none, and changes nothing. */
function typed(input, at, acts) {
  const words = input.value.trim().replace(",", ".");
  const good = /^\d*\.?\d*$/.test(words) && words !== ".";
  input.setAttribute("aria-invalid", String(!good));
  const [limit, fault] = input.closest(".measure").querySelector(".hint").children;
  [limit.hidden, fault.hidden] = [!good, good];
  if (good) acts.describe(at, { measure: words === "" ? null : Number(words) }, { typing: true });
}

function photos(sign, sight, key, acts, at) {
  const kind = { type: "file", accept: "image/*", capture: "environment", class: "file" };
  const chosen = ({ target }) => target.files.length && acts.photograph(at, target.files[0]);
  return h(
    "div",
    { class: "photos" },
    h("label", { class: "button quiet" },
      h("input", { ...kind, id: `p-${key}`, "data-key": `p-${key}`, onchange: chosen }),
      sight.photos.length ? "Another photo" : "Take a photo"),
    sight.photos.map((id, number) =>
      h("span", { class: "taken" },
        thumbnail(id, `Photo ${number + 1} of ${sign.label}`),
        button("Remove", () => acts.unphotograph(at, id), { "aria-label": `Remove photo ${number + 1}` }))),
  );
}

function note(sight, key, acts, at) {
  const kind = { type: "text", id: `n-${key}`, "data-key": `n-${key}`, maxlength: 300 };
  const oninput = ({ target }) => acts.describe(at, { note: target.value }, { typing: true });
  return h(
    "details",
    { class: "note-fold", open: Boolean(sight.note) },
    h("summary", {}, "Add a note"),
    h("label", { for: `n-${key}` }, "Note"),
    h("input", { ...kind, value: sight.note, oninput }),
  );
}
