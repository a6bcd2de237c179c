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

const get = (name, key) => within([name], "readonly", (t) => t.objectStore(name).get(key));
const all = (name) => within([name], "readonly", (t) => t.objectStore(name).getAll());

export const kit = (key) => get("kits", key);
export const keepKit = (key, value) =>
  within(["kits"], "readwrite", (t) => t.objectStore("kits").put(value, key));

export const said = (key) => get("said", key);
export const keepSaid = (key, value) =>
  within(["said"], "readwrite", (t) => t.objectStore("said").put(value, key));

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
  await within(["kept"], "readwrite", (transaction) => {
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
  within(["photos"], "readwrite", (t) => t.objectStore("photos").put(row));
export const dropPhoto = (id) =>
  within(["photos"], "readwrite", (t) => t.objectStore("photos").delete(id));

/** Call `act(id)` when another tab has changed an inspection. */
export function onChange(act) {
  changes?.addEventListener("message", ({ data }) => act(data));
}
