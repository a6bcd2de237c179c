// What was signed goes to the server, photos first, each under the id it was given on the phone: sent
// twice it is kept once. Whatever happens on the way, the inspection stays here until the server
// says that it has it.
import { ask } from "./signal.js";
import { photosOf } from "./draft.js";
import { ofPhoto, placed } from "./faults.js";
import * as store from "./store.js";

const LOCK = "stayward-send";
const UPLOAD_SECONDS = 90;

const REFUSED = {
  403: "Whoever is signed in here may not record inspections of this fleet. Sign in as who may.",
  404: "This fleet is not open to who is signed in here. Ask its manager; nothing is lost meanwhile.",
};

let busy = false;

/** Send all that waits. One tab at a time; another that asks meanwhile leaves it to that one. */
export async function sendAll(place, told) {
  if (busy) return;
  busy = true;
  try {
    await locked(place, told);
  } finally {
    busy = false;
  }
}

/** Without HTTPS there are no locks between tabs: then the id alone makes one record of two sends. */
function locked(place, told) {
  if (!navigator.locks) return inTurn(place, told);
  return navigator.locks.request(LOCK, { ifAvailable: true }, (lock) => lock && inTurn(place, told));
}

async function inTurn(place, told) {
  const rows = (await store.kept(place.fleet)).reverse();
  for (const entry of rows.filter((row) => row.state === "waiting" || row.state === "sending")) {
    try {
      if (!(await send(place, entry, told))) return;
    } catch (fault) {
      if (!(fault instanceof store.ChangedElsewhere)) throw fault; // It is read anew next time.
    }
  }
}

/** Send one; false when there is no use in trying the next. */
async function send(place, entry, told) {
  let now = await noted(entry, { state: "sending", unwritten: false });
  await told(now);
  const outcome = (await photosFirst(place, now)) || (await theDraft(place, now));
  if (outcome.entry.state === "sent") await dropPhotos(now); // First: it makes room on a full phone.
  now = await noted(now, outcome.entry);
  // On record, and no room to write that down: kept, it would be sent again and again.
  if (now.state === "sent" && now.unwritten) await store.forget(now.id);
  await told(now);
  return outcome.going;
}

/** The entry with these facts, written down; on a full phone sending goes on, and is noted later. */
async function noted(entry, facts) {
  const next = { ...entry, ...facts };
  let kept = null;
  await store.unlessFull(async () => {
    kept = await store.keep(next);
  });
  return kept || { ...next, unwritten: true };
}

const waits = (why) => ({ going: false, entry: { state: "waiting", why } });
const asksPerson = (facts) => ({ going: true, entry: { state: "person", ...facts } });

async function photosFirst(place, entry) {
  const ids = photosOf(entry.draft);
  for (const [number, id] of ids.entries()) {
    const row = await store.photo(id);
    if (!row || row.sent) continue;
    const form = new FormData();
    form.append("id", id);
    form.append("taken_on", entry.draft.on);
    form.append("file", row.blob, `${id}.jpg`);
    const { answer, why } = await post(place, place.photos, form);
    if (!answer) return waits(why);
    if (!answer.ok) {
      const refused = await refusal(answer, `Photo ${number + 1} of ${ids.length}: `);
      return asksPerson({ ...refused, faults: ofPhoto(entry, id, refused.why) });
    }
    await store.unlessFull(() => store.keepPhoto({ ...row, sent: true }));
  }
  return null;
}

async function theDraft(place, entry) {
  const body = JSON.stringify(entry.draft);
  const { answer, why } = await post(place, place.send, body, { "Content-Type": "application/json" });
  if (!answer) return waits(why);
  if (answer.ok) {
    const result = await answer.json();
    return { going: true, entry: { state: "sent", why: "", url: result.url, result } };
  }
  const refused = await refusal(answer, "");
  return asksPerson({ ...refused, faults: placed(entry, refused.faults) });
}

async function post(place, address, body, headers = {}) {
  if (!token()) {
    const { answer, why } = await ask(`${place.kit}?base=${place.base()}`); // It brings the cookie.
    if (!answer) return { why };
  }
  const asked = { method: "POST", body, headers: { ...headers, "X-CSRFToken": token() } };
  return ask(address, asked, UPLOAD_SECONDS);
}

const token = () => /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1] || "";

/** Why the server did not take it, in its own words where it gave some. */
async function refusal(answer, before) {
  const json = answer.headers.get("Content-Type")?.startsWith("application/json");
  const said = json ? await answer.json() : {};
  const faults = said.faults || [];
  const refused = REFUSED[answer.status] || `The server refused it (${answer.status}).`;
  const words = said.conflict || faults.map((each) => each.sentence).join(" ") || refused;
  return { why: before + words, faults, url: said.url || "", conflict: answer.status === 409 };
}

async function dropPhotos(entry) {
  for (const id of photosOf(entry.draft)) await store.dropPhoto(id);
}
