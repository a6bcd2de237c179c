// What became of a signed inspection: waiting, being sent, on record, or with a person to decide.
import { button, h } from "./dom.js";
import { verdictWord } from "./means.js";
import { RANK } from "./readings.js";
import { partOf } from "./kit.js";
import { levelWords } from "./start_screen.js";
import { SIGN, stepWords } from "./steps.js";
import { STATES } from "./words.js";

const SAID = {
  waiting: "Signed, and kept on this phone. It is sent by itself when there is signal; leave the app, nothing is lost.",
  sending: "On its way to the server.",
  sent: "On record. What counts is what the server says here.",
};

export function sentScreen(world, entry) {
  const { acts } = world;
  return h(
    "div",
    { class: "sent" },
    h("p", { class: "ways" }, h("a", { href: "#" }, "‹ Boats")),
    h("h1", {}, entry.boat.name, h("span", { class: "plain" }, ` · ${levelWords(entry)}`)),
    h("div", { role: "status" },
      h("p", { class: "lead" }, h("span", { class: `state state-${entry.state}` }, STATES[entry.state]), " "),
      h("p", {}, SAID[entry.state] || ""),
      entry.why && !listsFaults(entry) && h("p", { class: entry.state === "person" ? "caution" : "hint" }, entry.why)),
    entry.state === "sent" && onRecord(world, entry),
    entry.state === "person" && toDecide(world, entry),
    entry.state === "waiting" && waiting(world),
    h("p", { class: "actions" }, h("a", { class: entry.state === "person" ? "button quiet" : "button", href: "#" }, "Next boat")),
    (entry.state === "sent" || entry.conflict) && h("p", { class: "quietly" },
      button("Take it off this phone", () => acts.forget(entry.id))),
  );
}

function waiting({ acts, signal, place }) {
  if (signal === "signed out") return h("p", {}, h("a", { class: "button", href: place.signIn }, "Sign in again"));
  return h("p", {}, button("Send now", () => acts.send(), { key: "send-now" }));
}

/** The server's verdicts, those that ask for something first. */
function onRecord(world, entry) {
  const loud = (entry.result?.verdicts || []).filter((each) => RANK[each.value] > RANK.not_seen);
  loud.sort((one, other) => RANK[other.value] - RANK[one.value]);
  const holds = new Set((entry.result?.holds || []).map((each) => each.reason));
  return h(
    "div",
    {},
    [...holds].map((reason) => h("p", {}, h("span", { class: "held" }, "Held"), ` ${reason}`)),
    loud.length
      ? loud.map((each) => partVerdict(world, entry, each))
      : h("p", {}, "Nothing on it asks for anything."),
    entry.url && h("p", { class: "actions" }, h("a", { class: "button quiet", href: entry.url }, "Open the inspection")),
  );
}

function partVerdict({ words }, entry, { part, value, reasons }) {
  const { stay, part: facts } = partOf(entry.boat, part);
  const name = stay ? stay.label + (facts.kind === "wire" ? "" : `, ${facts.kind}`) : "A part";
  return h("div", { class: `means ${value}` },
    h("p", {}, h("strong", {}, name), " ", verdictWord(value, words)),
    reasons.map((reason) => h("p", {}, reason)));
}

/** A conflict is decided on its own page; a fault is put right here. */
function toDecide({ acts }, entry) {
  if (entry.conflict) {
    return h("div", {},
      h("p", {}, "The server keeps what was sent as it is. Nothing was merged and nothing is lost; a person decides which counts."),
      h("p", { class: "actions" },
        entry.url && h("a", { class: "button", href: entry.url }, "Decide it"),
        button("Ask again", () => acts.retry(entry), { key: "retry" })));
  }
  const faults = entry.faults || [];
  return h("div", {},
    faults.length > 0 && h("p", {}, "Not on record yet. Put right what is said here, and sign again:"),
    h("ul", { class: "kept faults" }, faults.map((fault) =>
      h("li", {}, h("p", { class: "alert" }, `${stepWords(entry, fault.step)}: ${fault.sentence}`)))),
    h("p", { class: "actions" },
      button("Put it right", () => acts.reopen(entry, faults[0]?.step || SIGN), { main: true, key: "reopen" }),
      button("Send it as it is", () => acts.retry(entry), { key: "retry" })));
}

const listsFaults = (entry) => entry.state === "person" && entry.faults?.length > 0;
