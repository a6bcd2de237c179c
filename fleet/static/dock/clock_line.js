// Said wherever a day is about to be put on record while the phone's clock is off.
import { offWords } from "./clock.js";
import { h } from "./dom.js";
import { dayOf } from "./draft.js";
import { day } from "./numbers.js";

export function clockLine(kit) {
  const off = offWords();
  if (!off || !kit) return null;
  const words = `This phone's clock is ${off} the server's. By the server's it is ${day(dayOf(kit))}.`;
  return h("p", { class: "caution" }, words);
}
