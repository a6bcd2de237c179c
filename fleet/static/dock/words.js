// Sentences of the form that are about looking, and belong to no sign.

export const WHY = {
  lower: "Bottom first: water collects here, and most go here first.",
  run: "A wire can go between its ends with both ends good.",
  upper: "The bottom passed, so look aloft: the same signs apply up there.",
};

export const HOW = {
  lower: "Wipe the mouth of the terminal, look all round.",
  run: "Run a rag along it, gloves on; look up the lay.",
  upper: "Wipe it, look all round, and at the tang, pin and mast wall that hold it.",
};

export const REASONS = {
  lower: ["tape or boot not taken off", "stowed gear in the way", "no time before the boat went"],
  run: ["inside the furler foil", "covered by sail or sleeve", "too far to see from here"],
  upper: ["nobody went aloft here", "inside the furler foil or mast", "covered by tape or boot"],
};

export const LEVEL_WORDS = {
  turn_round: ["Turn-round check", "lower ends, exceptions only: two minutes between guests"],
};

export const STATES = {
  open: "being made",
  waiting: "waiting for signal",
  sending: "being sent",
  sent: "sent",
  person: "needs a person",
};

export const NO_HTTPS =
  "This address has no HTTPS, so the browser keeps no page for later: this form needs signal. " +
  "What you enter is kept on this phone all the same.";

export const NO_WORKER =
  "This browser would not keep the page, so this form needs signal. What you enter is kept on this " +
  "phone all the same.";

export const CHANGED_ELSEWHERE =
  "This inspection was changed in another window. What was entered there is shown.";

export const GONE_ELSEWHERE = "This inspection was deleted in another window.";

export const NO_ROOM =
  "This phone has no room left, so the last tap was not kept; all before it is. Send what waits, or " +
  "make room on the phone (photos, apps), and tap again.";

export const KIT_UNKEPT =
  "This phone has no room left to keep these boats: without signal they are not there. Make room on " +
  "the phone (photos, apps), and open this page again.";

export const BROKE =
  "Something went wrong here, and the last tap may not have been kept. Load this page again: what was " +
  "kept is kept.";

export const NOTHING_KEPT =
  "This browser keeps nothing for this page (a private window?), so the form that works without signal " +
  "cannot start. A boat opens the one that needs signal.";

export const NO_NUMBER = "Not a number, so it is not kept: digits alone, such as 0.2 or 3.";

export const OVERTAKEN =
  "Something was put on record for this boat since this inspection was begun. It is sent all the " +
  "same; where the two do not go together, a person decides.";

export const OVERTAKEN_SHORT = "something was put on record for this boat since";

/** "1 stay", "3 stays". */
export const count = (number, word) => `${number} ${word}${number === 1 ? "" : "s"}`;

/** A list as a sentence has it: "light, loupe and rag". */
export function listed(words) {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} and ${words.at(-1)}`;
}
