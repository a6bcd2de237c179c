// Signing out where inspections wait on this phone: a question first. Where nothing waits, what the
// phone kept of the fleet goes with the sign-out.

const NAME = "stayward-dock";

const asked = (request) =>
  new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });

/** How many inspections wait here; null where this phone never kept any. */
async function waiting() {
  const names = (await indexedDB.databases()).map((each) => each.name);
  if (!names.includes(NAME)) return null;
  const database = await asked(indexedDB.open(NAME));
  const rows = await asked(database.transaction("kept").objectStore("kept").getAll());
  database.close();
  return rows.filter((each) => each.state !== "sent").length;
}

async function forgotten() {
  await asked(indexedDB.deleteDatabase(NAME));
  if (!("caches" in self)) return;
  const names = (await caches.keys()).filter((name) => name.startsWith("dock "));
  await Promise.all(names.map((name) => caches.delete(name)));
}

const token = () => /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1];

async function leave(event) {
  event.preventDefault();
  const form = event.target;
  const number = await waiting();
  if (number) {
    form.querySelector(".leaving").hidden = false;
    form.querySelector(".leaving button").focus();
    form.querySelector(".leaving b").textContent = number === 1 ? "An inspection waits" : `${number} inspections wait`;
    return;
  }
  if (number === 0) await forgotten();
  go(form);
}

/** A page kept from before the last sign-in carries an old token; the cookie has the one that counts. */
function go(form) {
  const field = form.querySelector("[name=csrfmiddlewaretoken]");
  if (token()) field.value = token();
  form.submit();
}

for (const form of document.querySelectorAll("form.sign-out")) {
  form.addEventListener("submit", leave);
  form.querySelector(".leaving button").addEventListener("click", () => go(form));
}
