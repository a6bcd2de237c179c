// The rig as lines, one view from port and one from aft, each stay a link. Verdict by line first.
import { h, s } from "./dom.js";

/** The drawing of a boat; `value(stay id)` is the verdict to draw, `href(stay id)` where a tap leads. */
export function rig(boat, { value, href, now = null }) {
  const { width, height, views } = boat.drawing;
  return h(
    "div",
    { class: "rigs" },
    views.map((view) => drawn(boat, view, `0 0 ${width} ${height}`, { value, href, now })),
  );
}

function drawn(boat, view, viewBox, given) {
  return s(
    "svg",
    { class: "rig", viewBox, role: "group", "aria-label": `Rig seen ${view.caption}` },
    s("rect", { class: "water", x: 0, y: 496, width: 300, height: 64 }),
    s("path", { class: "hull", d: view.hull }),
    view.spars.map((spar) => s("path", { class: "spar", d: spar })),
    view.lines.map((line) => stayLine(boat, line, given)),
    s("text", { class: "quiet", x: 6, y: 16 }, view.caption),
  );
}

function stayLine(boat, line, { value, href, now }) {
  const stay = boat.stays.find((each) => each.id === line.stay);
  const verdict = value(line.stay);
  const words = verdict ? verdict.replace("_", " ") : "not looked at yet";
  const shape = [
    s("path", { class: "touch", d: line.path }),
    s("path", { class: `line ${verdict || "open"}${now === line.stay ? " now" : ""}`, d: line.path }),
    verdict === "replace" && line.crosses.map((cross) => s("path", { class: "cross", d: stroke(cross) })),
  ];
  return s("a", { href: href(line.stay), "aria-label": `${stay.label}: ${words}` }, shape);
}

const stroke = ([x1, y1, x2, y2]) => `M${x1} ${y1} L${x2} ${y2}`;
