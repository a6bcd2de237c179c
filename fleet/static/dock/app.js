// The form of the dock: which screen is shown, and when the queue is sent. Screens are functions of
// the world below; each change of it draws the screen anew.
import { actsOn } from "./acts.js";
import { allScreen } from "./all_screen.js";
import { beginScreen } from "./begin_screen.js";
import { boatScreen } from "./boat_screen.js";
import { goBy } from "./clock.js";
import { h, show } from "./dom.js";
import { leaveOutSecondTaps, screenShown } from "./double_taps.js";
import { criteriaOf, keepPhotos, keptKit, kitOf } from "./kit.js";
import { valueOf } from "./meaning.js";
import { choose, place } from "./place.js";
import { sendAll } from "./sender.js";
import { keptPage } from "./page_kept.js";
import { sentScreen } from "./sent_screen.js";
import { signScreen } from "./sign_screen.js";
import { onSignal, signal } from "./signal.js";
import { meaningOf, shortly, spotScreen } from "./spot_screen.js";
import { startScreen } from "./start_screen.js";
import { answerOf, BOAT, SIGN, stepsOf } from "./steps.js";
import * as store from "./store.js";
import { BROKE, NOTHING_KEPT } from "./words.js";

const TRY_AGAIN = 15000; // Milliseconds between two tries to send what waits.

const SHOWN_FOR = 14 * 86400000; // Milliseconds that an inspection is shown after it was sent.

const world = {
  place, kit: null, criteria: null, words: null, rows: [], entry: null, who: null, base: "",
  asking: false, waiting: true, said: "", needsSignal: "", unfolded: new Set(),
  get signal() {
    return signal();
  },
  value: (stay) => valueOf(world.entry, stay, world.criteria),
  whoKey: () => `who/${place.fleet}/${world.kit.person.name}`,
  overtaken: (entry) => {
    const now = world.kit?.boats.find((boat) => boat.id === entry.boat.id);
    return Boolean(now) && now.record !== entry.draft.record;
  },
  drawn: (id) => drawnVerdict(id),
  firstStep: (id) => stepsOf(world.entry).find((step) => step.stay?.id === id)?.key || "all",
  cautions: (step) => {
    const heavy = step.group === "upper" && Object.keys(world.entry.condemned || {}).length;
    return heavy ? h("p", { class: "caution" }, world.words.cautions.aloft) : null;
  },
};
let shown = null;

/** The verdict a stay is drawn with: nothing until something has been said of it. */
function drawnVerdict(id) {
  const stay = world.entry.boat.stays.find((each) => each.id === id);
  const said = stepsOf(world.entry).some((step) => step.stay === stay && answerOf(world.entry, step));
  const old = stay.parts.some((part) => part.condemned_on);
  return said || old ? world.value(stay) : "";
}

world.acts = {
  ...actsOn(world, { draw, send, go }),
  base: (base) => useBase(base),
};

function go(hash) {
  if (location.hash === hash || (hash === "#" && !location.hash)) return route();
  location.hash = hash;
}

function route() {
  return open().then(() => draw());
}

/** Read what the address names, and remember how far the work has come. */
async function open() {
  const [kind, id, at] = location.hash.slice(1).split("/");
  world.asking = false;
  if (kind !== "draft" || !atHand(id)) await read(kind, id);
  if (kind !== "draft" || world.entry?.state !== "open" || world.entry.at === at) return;
  const known = ["all", ...stepsOf(world.entry).map((step) => step.key)];
  if (known.includes(at)) await reached(at);
}

/** A draft just written is not read again: between two stays that would be most of the wait. */
const atHand = (id) =>
  world.entry?.id === id && world.entry.state === "open" && world.rows.some((each) => each.id === id);

async function read(kind, id) {
  world.rows = await store.kept(place.fleet);
  world.entry = kind === "draft" || kind === "sent" ? (await store.keptOne(id)) || null : null;
}

/** Remember how far the work has come, unless the phone is full or another window is at it. */
async function reached(at) {
  try {
    await store.unlessFull(async () => {
      world.entry = await store.keep({ ...world.entry, at });
    });
  } catch (fault) {
    if (!(fault instanceof store.ChangedElsewhere)) throw fault;
    world.entry = (await store.keptOne(fault.message)) || null;
  }
}

function screen() {
  const [kind, id, at] = location.hash.slice(1).split("/");
  if (!world.words) return startScreen(world);
  const boat = kind === "boat" && world.kit?.boats.find((each) => each.id === Number(id));
  if (boat) return beginScreen(world, boat);
  if (!world.entry) return startScreen(world);
  if (world.entry.state !== "open") return sentScreen(world, world.entry);
  const step = stepsOf(world.entry).find((each) => each.key === at);
  if (at === SIGN) return signScreen(world);
  if (at === BOAT) return boatScreen(world);
  return step ? spotScreen(world, step) : allScreen(world);
}

function draw({ typing = false, bottom = false } = {}) {
  if (typing) return drawMeaning();
  const name = location.hash + (world.entry?.state || "");
  const said = world.said && h("p", { class: "caution said", role: "alert" }, world.said);
  world.said = "";
  show(h("div", {}, said, screen()), name !== shown);
  if (name !== shown) screenShown();
  shown = name;
  document.getElementById("content").dataset.shown = location.hash;
  if (bottom) document.querySelector(".bar")?.scrollIntoView({ block: "end" });
  drawHead();
}

/** While somebody types, what it means follows, and the field is left alone. */
function drawMeaning() {
  const step = stepsOf(world.entry).find((each) => each.key === location.hash.split("/")[2]);
  if (!step?.stay) return;
  document.querySelector(".meaning").replaceChildren(...meaningOf(world, step));
  document.querySelector(".shortly")?.replaceChildren(...shortly(world, step).filter(Boolean));
}

function drawHead() {
  const kept = world.rows.filter((each) => each.state !== "sent").length;
  const words = { none: "no signal", "signed out": "signed out", there: "" }[signal()];
  const number = kept ? `${kept} kept here` : "";
  document.getElementById("signal").textContent = [words, number].filter(Boolean).join(" · ");
  const boat = world.entry?.boat.name || "";
  document.getElementById("boat").textContent = boat;
}

const typing = () => ["INPUT", "TEXTAREA"].includes(document.activeElement?.tagName);

/** Send what waits; what is on the screen follows, unless somebody is at work on a draft or typing. */
async function send() {
  let arrived = false;
  await sendAll(place, async (entry) => {
    arrived ||= entry.state === "sent";
    world.rows = await store.kept(place.fleet);
    if (world.entry?.id === entry.id) world.entry = entry;
    if (world.entry?.state !== "open" && !typing()) draw();
    else drawHead();
  });
  if (arrived) await refresh(); // What was just found is what was found last time from now on.
}

async function sendIfAny() {
  const rows = await store.kept(place.fleet);
  if (rows.some((each) => each.state === "waiting" || each.state === "sending")) await send();
}

async function useBase(wanted) {
  const base = choose(wanted);
  world.base = base;
  world.waiting = true;
  await store.keepSaid(`base/${place.fleet}`, base);
  const kit = await keptKit(place, base);
  if (base !== world.base) return; // Another was chosen meanwhile, and asks for its own boats.
  await take(kit);
  await route();
  await refresh();
}

/** Ask for the boats anew; an inspection at hand keeps its boat as it was begun with. */
async function refresh() {
  const { base } = world;
  const kit = await kitOf(place, base);
  if (base !== world.base) return; // A slow answer about another base than the one now named.
  await take(kit);
  world.waiting = false;
  const told = !world.entry || (location.hash.endsWith("/sign") && world.overtaken(world.entry));
  if (told && !typing()) draw();
  else drawHead();
  if (world.kit) await keepPhotos(world.kit);
}

async function take(kit) {
  world.kit = kit;
  if (!kit) return;
  goBy(kit.ahead);
  world.words = kit.words;
  world.criteria = criteriaOf(kit);
  world.who ??= { method: "eye", ...kit.person, on: "", ...(await store.said(world.whoKey())) };
}

async function keptForGood() {
  if (navigator.storage?.persist && !(await navigator.storage.persisted())) {
    await navigator.storage.persist(); // Refused, the drafts are kept all the same, while there is room.
  }
}

/** What was sent weeks ago is on record; the phone need not show it any more. */
async function tidy() {
  const old = new Date(Date.now() - SHOWN_FOR).toISOString();
  const rows = await store.kept(place.fleet);
  for (const { id } of rows.filter((each) => each.state === "sent" && each.changed < old)) {
    await store.forget(id);
  }
}

async function start() {
  leaveOutSecondTaps();
  addEventListener("hashchange", route);
  addEventListener("online", sendIfAny);
  document.addEventListener("visibilitychange", () => document.hidden || sendIfAny());
  onSignal(drawHead);
  store.onChange(async (id) => {
    if (world.entry && world.entry.id !== id) return;
    world.asking = false;
    await read(...location.hash.slice(1).split("/")); // What is at hand here is not what is kept now.
    draw(); // No more: two windows at two steps would tell each other for ever how far it has come.
  });
  await keptPage(world, draw);
  await tidy();
  const asked = new URLSearchParams(location.search).get("base");
  await useBase(asked || (await store.said(`base/${place.fleet}`)));
  await keptForGood();
  await sendIfAny();
  setInterval(sendIfAny, TRY_AGAIN);
}

addEventListener("unhandledrejection", () => {
  world.said = BROKE;
  if (shown !== null) draw();
});

start().catch((fault) => {
  if (shown === null) document.querySelector(".getting-ready").replaceChildren(NOTHING_KEPT);
  throw fault;
});
