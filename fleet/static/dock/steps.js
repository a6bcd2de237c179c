// The order of work: the stays bow round clockwise, each from the bottom up, and what of it one
// level can see. A stay condemned lower down skips what is above: it need not be looked at to decide.

export const GROUPS = ["lower", "run", "upper"];
export const GROUP_WORDS = { lower: "lower end", run: "wire", upper: "upper end" };
export const BOAT = "boat";
export const SIGN = "sign";

const same = (one, other) => one[0] === other[0] && one[1] === other[1];
export const has = (pairs, pair) => pairs.some((each) => same(each, pair));

const groupOf = (spot) => (spot === "run" || spot === "upper" ? spot : "lower");

/** The [part id, spot] pairs of a stay within reach, by group; groups out of reach are left out. */
export function reachOf(entry, stay) {
  const ids = stay.parts.map((part) => part.id);
  const pairs = entry.boat.levels[entry.draft.level].filter(([id]) => ids.includes(id));
  const groups = {};
  for (const group of entry.draft.turn_round ? ["lower"] : GROUPS) {
    const own = pairs.filter(([, spot]) => groupOf(spot) === group);
    if (own.length) groups[group] = own;
  }
  return groups;
}

/** Every step: {key, stay, group, pairs}, then the boat itself, then the signature. */
export function stepsOf(entry) {
  const steps = entry.boat.stays.flatMap((stay) =>
    Object.entries(reachOf(entry, stay)).map(([group, pairs]) => ({
      key: `${stay.id}-${group}`,
      stay,
      group,
      pairs,
    })),
  );
  return [...steps, { key: BOAT, pairs: [] }, { key: SIGN, pairs: [] }];
}

/** Where a step is, in words: "Forestay, lower end". */
export function stepWords(entry, key) {
  const step = stepsOf(entry).find((each) => each.key === key);
  if (step?.stay) return `${step.stay.label}, ${GROUP_WORDS[step.group]}`;
  return key === BOAT ? "The mast and the boat" : "The inspection";
}

/** What has been said of one spot: "found", "seen", "not_seen", or "" when nothing yet. */
export function answerAt(draft, [part, spot]) {
  if (draft.sights.some((each) => each.part === part && each.place === spot)) return "found";
  if (draft.not_seen.some((each) => each.part === part && each.place === spot)) return "not_seen";
  return has(draft.seen, [part, spot]) ? "seen" : "";
}

/** What has been said of a step: "found", "not_seen", "seen", "skipped", or "" until all of it is said. */
export function answerOf(entry, step) {
  if (step.key === BOAT) return entry.boatSeen ? "seen" : "";
  const said = step.pairs.map((pair) => answerAt(entry.draft, pair));
  if (said.includes("")) return isSkipped(entry, step) ? "skipped" : "";
  if (said.includes("found")) return "found";
  return said.includes("not_seen") ? "not_seen" : "seen";
}

/** Whether something was found at one of its spots. */
export const foundAt = (draft, step) => step.pairs.some((pair) => answerAt(draft, pair) === "found");

/** Whether something further down this stay condemns its wire (`entry.condemned`: part -> spot). */
export function isSkipped(entry, step) {
  const wire = step.stay?.parts.find((part) => part.kind === "wire");
  const at = wire && entry.condemned?.[wire.id];
  return Boolean(at) && GROUPS.indexOf(step.group) > GROUPS.indexOf(at);
}

/** The next step nobody has answered yet, after this one and then from the start; at last the signature. */
export function nextStep(entry, key) {
  const steps = stepsOf(entry);
  const at = steps.findIndex((step) => step.key === key);
  const open = (step) => step.key !== SIGN && !answerOf(entry, step);
  const rest = [...steps.slice(at + 1), ...steps.slice(0, at + 1)];
  return rest.find(open) || steps.at(-1);
}

/** The step before this one that was not skipped; null at the first. */
export function stepBefore(entry, key) {
  const steps = stepsOf(entry);
  const at = steps.findIndex((step) => step.key === key);
  return steps.slice(0, Math.max(at, 0)).findLast((step) => !isSkipped(entry, step)) || null;
}

/** How far the work has come, stay by stay: {stay, steps, answers, done}. */
export function progressOf(entry) {
  const steps = stepsOf(entry).filter((step) => step.stay);
  const stays = [...new Set(steps.map((step) => step.stay))];
  return stays.map((stay) => {
    const own = steps.filter((step) => step.stay === stay);
    const answers = own.map((step) => answerOf(entry, step));
    return { stay, steps: own, answers, done: answers.every(Boolean) };
  });
}
