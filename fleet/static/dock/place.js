// Where this page is: the fleet, its addresses, its bases; what the server wrote into the page.

const page = document.getElementById("content").dataset;

export const place = {
  fleet: page.fleet,
  kit: page.kit,
  send: page.send,
  photos: page.photos,
  worker: page.worker,
  signIn: page.signIn,
  bases: [...document.querySelectorAll("#bases option")].map((each) => ({
    id: Number(each.value),
    name: each.textContent,
  })),
  // Without HTTPS (or localhost) a browser gives a page no worker and no way to open without signal.
  secure: window.isSecureContext && "serviceWorker" in navigator,
  base: () => chosen,
};

let chosen = "";

/** Choose the base whose boats are shown; it is remembered by who calls. */
export function choose(base) {
  const known = place.bases.some((each) => String(each.id) === String(base));
  chosen = String(known ? base : (place.bases[0]?.id ?? ""));
  return chosen;
}
