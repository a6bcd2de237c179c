// Before the first stay: who looks, how, at what level; and what to mind.
import { clockLine } from "./clock_line.js";
import { choice, h } from "./dom.js";
import { dayOf } from "./draft.js";
import { rig } from "./rig.js";
import { LEVEL_WORDS } from "./words.js";
import { levelWords } from "./start_screen.js";

export function beginScreen(world, boat) {
  const { rows, words } = world;
  const open = rows.filter((each) => each.state === "open" && each.boat.id === boat.id);
  return h(
    "div",
    { class: "begin" },
    h("p", { class: "ways" }, h("a", { href: "#" }, "‹ Boats")),
    h("h1", {}, boat.name, h("span", { class: "plain" }, ` · ${boat.rig}, ${boat.stays.length} stays`)),
    boat.held.map((reason) => h("p", {}, h("span", { class: "held" }, "Held"), ` ${reason}`)),
    clockLine(world.kit),
    open.map((each) => h("p", { class: "caution" },
      "Begun and not signed: ", h("a", { href: `#draft/${each.id}/${each.at}` }, levelWords(each)), ".")),
    h("div", { class: "two" },
      h("div", {}, whoFold(world), levels(world, boat)),
      rig(boat, { value: (id) => drawnVerdict(boat, id), href: () => "#boat/" + boat.id })),
    h("div", { class: "cautions" },
      h("p", {}, h("strong", {}, "Mind. "), words.cautions.injury),
      h("p", {}, `${words.cautions.aloft} ${words.cautions.gloves}`),
      h("p", {}, words.cautions.standing)),
  );
}

const drawnVerdict = (boat, id) =>
  boat.drawing.views.flatMap((view) => view.lines).find((line) => line.stay === id)?.verdict || "";

/** Who looks and how, in a line; it opens to be changed, and by itself where nobody is named. */
function whoFold(world) {
  const { who: person, words, unfolded } = world;
  const line = [person.name || "Nobody named yet", words.competences[person.competence], `by ${words.methods[person.method]}`];
  const toggled = ({ target }) => unfolded[target.open ? "add" : "delete"]("who");
  const open = unfolded.has("who") || person.missing || !person.name;
  return h("details", { class: "fold who-fold", open, ontoggle: toggled },
    h("summary", {}, h("span", {}, h("small", {}, "Who looks, and signs"), line.join(", "))), who(world));
}

function who(world) {
  const { who: person, words, acts, kit } = world;
  const set = (facts) => acts.who({ ...person, ...facts });
  const crew = person.competence === "crew";
  return h(
    "div",
    { class: "who" },
    h("label", { for: "person" }, "Name"),
    h("input", {
      id: "person", "data-key": "person", value: person.name, autocomplete: "name", maxlength: 120,
      "aria-invalid": person.missing ? "true" : null,
      "aria-describedby": person.missing ? "person-missing" : null,
      oninput: ({ target }) => acts.who({ ...person, name: target.value, missing: false }, { typing: true }),
    }),
    person.missing && h("p", { class: "errorlist", id: "person-missing", role: "alert" },
      "Say who looks: that person signs what was seen."),
    choice("As", "competence", Object.entries(words.competences), person.competence, (value) => set({ competence: value })),
    crew && h("p", { class: "hint" }, words.cautions.survey),
    choice("With", "method", Object.entries(words.methods), person.method, (value) => set({ method: value })),
    h("details", { class: "note-fold", open: Boolean(person.on) },
      h("summary", {}, "It was on another day"),
      h("label", { for: "on" }, "Date"),
      h("input", { type: "date", id: "on", value: person.on || dayOf(kit), max: dayOf(kit),
        onchange: ({ target }) => target.value && set({ on: target.value }) })),
  );
}

function levels(world, boat) {
  const { words, acts } = world;
  const ways = [
    ["deck", true, ...LEVEL_WORDS.turn_round],
    ...Object.entries(words.levels).map(([level, label]) => [level, false, label, words.levels_see[level]]),
  ];
  return h(
    "div",
    { class: "levels" },
    h("h2", {}, "What is looked at"),
    ways.map(([level, turnRound, label, sees]) =>
      h("button", {
        type: "button", class: "level", "data-key": `level-${level}-${turnRound}`,
        onclick: () => acts.begin(boat, level, turnRound),
      }, h("strong", {}, label.charAt(0).toUpperCase() + label.slice(1)), h("span", {}, sees))),
  );
}
