// What a tap does. Every change of an inspection is written to the phone before it is shown.
import { begin, dayOf, described, reopened, sightAt, signed, toggled } from "./draft.js";
import { condemnedIn } from "./meaning.js";
import * as photos from "./photos.js";
import { onwardWords } from "./spot_screen.js";
import { nextStep } from "./steps.js";
import * as store from "./store.js";
import { CHANGED_ELSEWHERE, GONE_ELSEWHERE, NO_ROOM } from "./words.js";

/** The acts on a world; `draw` shows it anew, `send` sets the queue going. */
export function actsOn(world, { draw, send, go }) {
  let line = Promise.resolve(); // Taps are done one after the other, in the order they came.
  const inTurn = (act) => {
    const done = line.then(act).catch(told);
    line = done.catch(() => {}); // What went wrong is told by `done`; the next tap is done all the same.
    return done;
  };
  /** A tap that could not be kept leaves the screen where it is, and says why there. */
  const told = async (fault) => {
    if (fault.name === "QuotaExceededError") {
      world.said = NO_ROOM;
    } else if (fault instanceof store.ChangedElsewhere) {
      world.entry = (await store.keptOne(fault.message)) || null;
      world.said = world.entry ? CHANGED_ELSEWHERE : GONE_ELSEWHERE;
    } else throw fault;
    draw();
  };
  const judged = (entry) => ({ ...entry, condemned: condemnedIn(entry, world.criteria) });
  const write = async (entry) => {
    world.entry = await store.keep(judged(entry));
  };
  const change = (made, { typing = false } = {}) =>
    inTurn(async () => {
      await write(made(world.entry));
      draw({ typing });
    });
  const move = (key) => go(`#draft/${world.entry.id}/${key}`);

  return {
    href: (key) => `#draft/${world.entry.id}/${key}`,
    go: move,
    change,
    toggle: (at) =>
      change((entry) => toggled(entry, at)).then(() => {
        const card = document.getElementById(`card-${at.part}-${at.place}-${at.sign}`);
        card?.scrollIntoView({ block: "nearest" });
      }),
    describe: (at, facts, how) => change((entry) => described(entry, at, facts), how),
    ask: (asking) => {
      world.asking = asking;
      draw({ bottom: asking });
    },
    nextOf: (entry, step) => {
      const condemned = condemnedIn(entry, world.criteria);
      if (entry.draft.turn_round) return "the list";
      return onwardWords({ ...entry, condemned }, step, step.key);
    },
    /** Say something of a step, and go on to the next that is open; both are kept at once. */
    answer: (made, step) =>
      inTurn(async () => {
        const now = judged(made(world.entry));
        const at = now.draft.turn_round ? "all" : nextStep(now, step.key).key;
        await write({ ...now, at });
        move(at);
      }),
    jump: (made, key) =>
      inTurn(async () => {
        await write(made(world.entry));
        move(key);
      }),
    photograph: (at, file) => inTurn(() => photograph(world, at, file, write).then(draw)),
    unphotograph: (at, id) =>
      inTurn(async () => {
        const left = sightAt(world.entry.draft, at).photos.filter((each) => each !== id);
        await write(described(world.entry, at, { photos: left }));
        await store.dropPhoto(id);
        draw();
      }),
    begin: (boat, level, turnRound) => inTurn(() => begun(world, boat, level, turnRound, { write, draw, move })),
    who: async (who, { typing = false } = {}) => {
      world.who = who;
      await spoken(world, who);
      if (!typing) draw();
    },
    sign: () =>
      inTurn(async () => {
        if (!world.entry.draft.person.trim()) return document.getElementById("signer").focus();
        await write(signed(world.entry));
        await spoken(world, { ...world.who, name: world.entry.draft.person });
        go(`#sent/${world.entry.id}`);
        send();
      }),
    retry: (entry) => inTurn(() => back(entry, { state: "waiting", why: "" }, send)),
    reopen: (entry, at) =>
      inTurn(async () => {
        await store.keep(reopened(entry, at));
        go(`#draft/${entry.id}/${at}`);
      }),
    forget: (id) =>
      inTurn(async () => {
        await store.forget(id);
        world.entry = null;
        go("#");
      }),
    send,
  };
}

/** The name one signs with is typed once; it is kept for whoever is signed in here. */
const spoken = (world, { name, competence, method }) =>
  store.keepSaid(world.whoKey(), { name, competence, method });

async function begun(world, boat, level, turnRound, { write, draw, move }) {
  if (!world.who.name.trim()) {
    world.who = { ...world.who, missing: true };
    draw();
    return document.getElementById("person").focus();
  }
  const who = { ...world.who, name: world.who.name.trim(), on: world.who.on || dayOf(world.kit) };
  const entry = begin(world.kit, boat, who, level, turnRound);
  await write(entry);
  world.who = { ...world.who, on: "" }; // Another day is for this inspection alone.
  move(turnRound ? "all" : entry.at);
}

async function photograph(world, at, file, write) {
  let id;
  try {
    id = await photos.kept(world.entry.id, file);
  } catch (fault) {
    if (!(fault instanceof photos.NoPicture)) throw fault;
    world.said = fault.message;
    return;
  }
  const before = sightAt(world.entry.draft, at).photos;
  try {
    await write(described(world.entry, at, { photos: [...before, id] }));
  } catch (fault) {
    await store.dropPhoto(id); // No finding names it: it would fill the phone for nothing.
    throw fault;
  }
}

async function back(entry, facts, send) {
  await store.keep({ ...entry, ...facts });
  await send();
}
