// The page kept by its worker for when there is no signal; and said, where the browser keeps none.
import { place } from "./place.js";
import { NO_HTTPS, NO_WORKER } from "./words.js";

/** Have the page kept. Sets `world.needsSignal` to why it is not, at once or when that turns out. */
export async function keptPage(world, draw) {
  world.needsSignal = place.secure ? "" : NO_HTTPS;
  if (!place.secure) return;
  const unkept = () => {
    world.needsSignal = NO_WORKER;
  };
  try {
    const registration = await navigator.serviceWorker.register(place.worker, { scope: "./" });
    onFailure(registration.installing, () => {
      if (registration.active) return; // An older one still keeps the page.
      unkept();
      if (!world.entry) draw();
    });
  } catch (fault) {
    if (!navigator.serviceWorker.controller) unkept();
  }
  onUpdate();
}

/** A worker whose files could not all be had, or kept, is thrown away by the browser. */
function onFailure(worker, act) {
  if (worker?.state === "redundant") act();
  worker?.addEventListener("statechange", () => worker.state === "redundant" && act());
}

/**
 * The form was renewed on the server and its new worker has taken over. Who is at work on a draft goes
 * on with the form at hand; between two boats the page loads the new one by itself.
 */
function onUpdate() {
  if (!navigator.serviceWorker.controller) return; // The first worker renews nothing.
  let renewed = false;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    renewed = true;
  });
  addEventListener("hashchange", () => renewed && ["", "#"].includes(location.hash) && location.reload());
}
