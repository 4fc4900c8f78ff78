/* Sends what waits, entry by entry receipted. Anything but a clear receipt leaves an entry waiting. */
import { bell, mark, offerAgain, prune, putSetting, setting, settle, waiting } from "./outbox.js";
import { WIRE } from "./entry.js";
import { call, letter, why } from "./letters.js";
import { holds } from "./records.js";
import { say } from "./words.js";

const MOST = 50;
const PAUSE_MS = 30000;
const LONGEST_PAUSE_MS = 900000;

export const link = { signedOut: false, unclaimed: [], trouble: "", ahead: 0 };
let failures = 0;
let notBefore = 0;
let running = false;
let again = false;

/* `hurry` is a person who pressed a button, or a network that came back: it sits out no pause, and comes through
   also when a sending is just failing, here or in another tab. */
export async function send(hurry = false) {
  if (running) { again ||= hurry; return; }
  if (!hurry && Date.now() < notBefore) return;
  running = true;
  try {
    do {
      again = false;
      await alone(hurry);
    } while (again);
  } finally {
    running = false;
  }
}

/* One tab sends at a time. Without locks all do, which the uids make safe. */
function alone(hurry) {
  if (!navigator.locks) return drain();
  return navigator.locks.request("heaps-sending", { ifAvailable: !hurry }, (lock) => lock && drain());
}

async function drain() {
  try {
    const hello = await greet();
    link.trouble = "";
    if (!link.signedOut) await sendAll(hello);
    if (!link.trouble) { failures = 0; notBefore = 0; }
  } catch (fault) {
    /* An answer says how long to wait; where none came, the network may be back any moment. */
    if (fault.answer) later(why(fault.answer), fault.answer.wait);
    else later(say(fault.name === "AbortError" ? "late" : "offline"), 0, PAUSE_MS);
  }
  await prune(Date.now()).catch(() => null);
  bell.dispatchEvent(new Event("change"));
}

function later(trouble, seconds = 0, most = LONGEST_PAUSE_MS) {
  failures += 1;
  const pause = Math.min(PAUSE_MS * 2 ** (failures - 1), most) * (0.5 + Math.random() / 2);
  notBefore = Date.now() + Math.max(pause, seconds * 1000);
  link.trouble = trouble;
}

async function greet() {
  const answer = await call("GET");
  const { status, said } = answer;
  link.ahead = answer.ahead;
  if (status !== 200 || said?.wire !== WIRE || !said.epoch) throw Object.assign(new Error(status), { answer });
  const known = await setting("epoch");
  if (said.person) await Promise.all([putSetting("person", said.person), putSetting(`key ${said.person}`, said.key)]);
  if (known && known !== said.epoch) await offerAgain(said.epoch);
  else if (!known) await putSetting("epoch", said.epoch);
  link.signedOut = !said.person;
  return said;
}

async function sendAll(hello) {
  const stuck = new Set();
  let size = MOST;
  let renewed = false;
  let told = !("waiting" in hello);
  for (;;) {
    const all = (await waiting()).filter(holds);
    link.unclaimed = all.filter((one) => !one.person && !one[hello.person]).map((one) => one.uid);
    const mine = all.filter((one) => one.person === hello.person && !stuck.has(one.uid));
    const batch = mine.slice(0, size);
    const said = await letter(hello.person, batch, all.length);
    /* With nothing to send, it is still said how much waits here, where the server thinks otherwise. */
    if (!batch.length && (told || hello.waiting === all.length && (!all.length || hello.phone === said.device))) return;
    told = true;
    const answer = await call("POST", hello.csrf, said);
    if (!batch.length) return;
    if (answer.status === 200 && answer.said?.wire === WIRE && Array.isArray(answer.said.receipts)) {
      const settled = await settle(answer.said.receipts, batch, Date.now());
      if (!settled) batch.forEach((one) => stuck.add(one.uid));
    } else if ([400, 413].includes(answer.status)) {
      /* Unreadable as a whole: find the one that is, so that it holds up no other. */
      if (batch.length === 1) stuck.add(batch[0].uid);
      size = 1;
      link.trouble = why(answer);
    } else if (!renewed && [403, 409].includes(answer.status)) {
      renewed = true;
      hello = await greet();
      if (link.signedOut) return;
    } else if (answer.status === 401) {
      link.signedOut = true;
      return;
    } else {
      return later(why(answer), answer.wait);
    }
  }
}

/* The answer to "are these yours?", asked once of each person: whoever says no stands on them as such. */
export async function claim(mine) {
  const person = await setting("person");
  await mark(link.unclaimed, mine ? { person } : { [person]: true });
  link.unclaimed = [];
  if (mine) await send(true);
}

/* Save calls send() itself. The rest of the moments are here. */
export function sendAtGoodMoments() {
  addEventListener("online", () => send(true));
  addEventListener("pageshow", (shown) => shown.persisted && send());
  document.addEventListener("visibilitychange", () => document.hidden || send());
  setInterval(async () => document.hidden || ((link.trouble || (await waiting()).length) && send()), PAUSE_MS);
  return send(true);
}
