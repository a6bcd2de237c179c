// Said wherever a day is about to be put on record while the phone's clock is off.
import { now, offWords } from "./clock.js";
import { h } from "./dom.js";
import { day, dayAt } from "./numbers.js";

export function clockLine() {
  const off = offWords();
  if (!off) return null;
  const words = `This phone's clock is ${off} the server's. By the server's it is ${day(dayAt(now()))}.`;
  return h("p", { class: "caution" }, words);
}
