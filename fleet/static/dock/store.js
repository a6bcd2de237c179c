// What the phone keeps: kits, inspections as they are made, photos. In IndexedDB, written through
// to the disk at every tap, so that a closed tab or a dead battery loses nothing.

const NAME = "stayward-dock";
const VERSION = 1;
const changes = "BroadcastChannel" in self ? new BroadcastChannel(NAME) : null;

let opening = null;

function database() {
  opening ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("kits");
      request.result.createObjectStore("kept", { keyPath: "id" });
      request.result.createObjectStore("photos", { keyPath: "id" });
      request.result.createObjectStore("said");
    };
    request.onsuccess = () => {
      // Signing out takes it off the phone; an open page does not stand in the way.
      request.result.onversionchange = () => {
        request.result.close();
        opening = null;
      };
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
  });
  return opening;
}

/** Do something in one transaction; resolves with what `act` asked for once it is on the disk. */
async function within(names, mode, act) {
  const transaction = (await database()).transaction(names, mode, { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error || new Error("Nothing was written."));
  });
  const answer = act(transaction);
  await done;
  return answer instanceof IDBRequest ? answer.result : answer;
}

const isFull = (fault) => fault.name === "QuotaExceededError";

/** Write; where the phone is full, make room by what the server has too, and write once more. */
async function write(names, act) {
  try {
    return await within(names, "readwrite", act);
  } catch (fault) {
    if (!isFull(fault) || !(await roomMade())) throw fault;
    return within(names, "readwrite", act);
  }
}

/** Let the small pictures of earlier photos go: they are fetched again when there is signal. */
async function roomMade() {
  if (!("caches" in self)) return false;
  const names = (await caches.keys()).filter((name) => /^dock .* photos$/.test(name));
  return (await Promise.all(names.map((name) => caches.delete(name)))).some(Boolean);
}

/** Do what may be left undone where the phone is full; true where it was done. */
export async function unlessFull(act) {
  try {
    await act();
    return true;
  } catch (fault) {
    if (!isFull(fault)) throw fault;
    return false;
  }
}

const get = (name, key) => within([name], "readonly", (t) => t.objectStore(name).get(key));
const all = (name) => within([name], "readonly", (t) => t.objectStore(name).getAll());

export const kit = (key) => get("kits", key);
export const keepKit = (key, value) =>
  write(["kits"], (t) => t.objectStore("kits").put(value, key));

export const said = (key) => get("said", key);
/** What spares typing another time; a full phone does without it. */
export const keepSaid = (key, value) =>
  unlessFull(() => write(["said"], (t) => t.objectStore("said").put(value, key)));

/** The inspections kept here for one fleet, the one changed last first. */
export async function kept(fleet) {
  const rows = (await all("kept")).filter((each) => each.fleet === fleet);
  return rows.sort((one, other) => (one.changed < other.changed ? 1 : -1));
}

export const keptOne = (id) => get("kept", id);

/** An inspection that another tab has changed since it was read here. */
export class ChangedElsewhere extends Error {}

/** Write an inspection as changed from the revision it was read at; returns it as kept. */
export async function keep(entry) {
  const next = { ...entry, rev: entry.rev + 1, changed: new Date().toISOString() };
  let overtaken = false;
  await write(["kept"], (transaction) => {
    const rows = transaction.objectStore("kept");
    const reading = rows.get(entry.id);
    reading.onsuccess = () => {
      const before = reading.result;
      overtaken = before ? before.rev !== entry.rev : entry.rev > 0;
      if (!overtaken) rows.put(next);
    };
  });
  if (overtaken) throw new ChangedElsewhere(entry.id);
  changes?.postMessage(entry.id);
  return next;
}

/** Forget an inspection and its photos. */
export async function forget(id) {
  await within(["kept", "photos"], "readwrite", (transaction) => {
    transaction.objectStore("kept").delete(id);
    each(transaction.objectStore("photos"), (row, cursor) => row.entry === id && cursor.delete());
  });
  changes?.postMessage(id);
}

function each(rows, act) {
  rows.openCursor().onsuccess = ({ target: { result: cursor } }) => {
    if (!cursor) return;
    act(cursor.value, cursor);
    cursor.continue();
  };
}

export const photo = (id) => get("photos", id);
export const keepPhoto = (row) =>
  write(["photos"], (t) => t.objectStore("photos").put(row));
export const dropPhoto = (id) =>
  within(["photos"], "readwrite", (t) => t.objectStore("photos").delete(id));

/** Call `act(id)` when another tab has changed an inspection. */
export function onChange(act) {
  changes?.addEventListener("message", ({ data }) => act(data));
}
