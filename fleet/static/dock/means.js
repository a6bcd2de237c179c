// What the findings mean, said at once: the word, the reasons, what is held.
import { h } from "./dom.js";
import { day } from "./numbers.js";

/** The verdict as a word with its line under it; the line tells it without the colour. */
export function verdictWord(value, words) {
  return h("span", { class: `verdict ${value}` }, words.verdicts[value]);
}

/** What has been found on a stay so far and what it means; nothing where nothing was found. */
export function means(judged, names, words) {
  const loud = judged.filter(({ verdict }) => verdict.value !== "keep" && verdict.value !== "not_seen");
  const told = loud.length ? loud : judged.filter(({ found }) => found);
  return told.map(({ part, verdict }) =>
    h(
      "div",
      { class: `means ${verdict.value}` },
      h("p", {},
        verdictWord(verdict.value, words),
        told.length > 1 && ` ${names(part)}`,
        verdict.again_by && ` · again by ${day(verdict.again_by)}`,
        verdict.holds && h("strong", { class: "holds" }, " · boat held")),
      verdict.reasons.map((reason) => h("p", {}, reason)),
      verdict.value === "replace" && part.kind === "wire" && pairWords(verdict),
    ),
  );
}

function pairWords(verdict) {
  if (verdict.old || !verdict.pair) return null;
  return h("p", {}, `Its pair, ${verdict.pair}, is held until it has been looked at.`);
}
