// The time by the server's clock. A phone's own may be days off: an inspection dated by it would be
// refused, or go on record for a day on which nobody looked.

const SLACK = 60000; // Milliseconds: nearer than that nobody asks.
const TOLD = 3600000; // From an hour on it is said.

let ahead = 0;

/** How far ahead of the server's this phone's clock is, in milliseconds, by an answer just had. */
export function aheadBy(answer) {
  const there = Date.parse(answer.headers.get("Date") || "");
  const apart = Date.now() - there;
  return Math.abs(apart) > SLACK ? apart : 0; // Also where the answer says no time.
}

/** Go by this difference from now on; a kept kit remembers it for when there is no signal. */
export function goBy(milliseconds) {
  ahead = milliseconds || 0;
}

export const now = () => new Date(Date.now() - ahead);

/** "7 days ahead of", "3 hours behind"; nothing where the clock is about right. */
export function offWords() {
  if (Math.abs(ahead) < TOLD) return "";
  const hours = Math.round(Math.abs(ahead) / TOLD);
  const [number, unit] = hours < 48 ? [hours, "hour"] : [Math.round(hours / 24), "day"];
  return `${number} ${unit}${number === 1 ? "" : "s"} ${ahead > 0 ? "ahead of" : "behind"}`;
}
