// The faults that the server found at one step, as the form shows them there.
import { h } from "./dom.js";
import { faultsAt } from "./faults.js";

export function faultsOf(entry, key) {
  const faults = faultsAt(entry, key);
  if (!faults.length) return null;
  return h("div", { class: "caution", role: "alert" }, faults.map(({ sentence }) => h("p", {}, sentence)));
}
