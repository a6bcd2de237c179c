// Whether there is signal, as far as anybody can tell: what the last request met with.

const SECONDS = 20;
const listeners = new Set();
let state = navigator.onLine === false ? "none" : "there";

/** "there", "none" or "signed out". */
export const signal = () => state;

export function onSignal(act) {
  listeners.add(act);
}

function now(next) {
  if (next === state) return;
  state = next;
  listeners.forEach((act) => act(state));
}

addEventListener("offline", () => now("none"));

/**
 * Ask the server. {answer} where one came; {why} where none did: no signal, signed out, broken.
 * A page of sign-in in place of an answer is told from one: redirects are not followed.
 */
export async function ask(address, given = {}, seconds = SECONDS) {
  const over = AbortSignal.timeout(seconds * 1000);
  let answer;
  try {
    answer = await fetch(address, { redirect: "manual", signal: over, ...given });
  } catch (fault) {
    if (fault instanceof TypeError || fault.name === "TimeoutError") {
      now("none");
      return { why: "No signal: the server does not answer." };
    }
    throw fault;
  }
  return judged(answer);
}

async function judged(answer) {
  if (answer.type === "opaqueredirect" || answer.status === 403) {
    const said = answer.status === 403 ? await words(answer.clone()) : { signed_out: true };
    if (said.signed_out) {
      now("signed out");
      return { why: "Signed out. Sign in again: what is kept here is sent then.", signedOut: true };
    }
    return { answer };
  }
  if (answer.status >= 500) {
    now("there");
    return { why: `The server broke (${answer.status}). It is sent again by itself.` };
  }
  now("there");
  return { answer };
}

async function words(answer) {
  try {
    return await answer.json();
  } catch (fault) {
    if (fault instanceof SyntaxError) return {};
    throw fault;
  }
}
