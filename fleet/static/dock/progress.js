// How far the work has come: a mark for each stay, and the same in words.
import { h } from "./dom.js";
import { progressOf } from "./steps.js";

/** Marks and words; `before` and `after` are the ways back and on, to the left and right of them. */
export function progressBar(entry, step, value, before, after) {
  const stays = progressOf(entry);
  const at = stays.findIndex(({ stay }) => stay === step?.stay);
  const marks = stays.map(({ stay, done, answers }, place) => {
    const verdict = answers.some(Boolean) ? value(stay) : "";
    const loud = ["watch", "refer", "make_good", "replace"].includes(verdict) ? "loud" : "";
    const unseen = done && verdict === "not_seen" ? "unseen" : "";
    return h("span", { class: ["stay-mark", done && "done", place === at && "now", loud, unseen].filter(Boolean).join(" ") });
  });
  const words = at < 0 ? `${stays.filter(({ done }) => done).length} of ${stays.length} stays` : `Stay ${at + 1} of ${stays.length}`;
  return h("div", { class: "progress" },
    h("div", { class: "marks", "aria-hidden": "true" }, marks),
    h("div", { class: "ways" }, before, h("p", {}, words), after || h("span", {})));
}
