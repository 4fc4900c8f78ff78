/* Where nobody is signed in: hands in what waits here from people with a key. A coordinator looks at it. */
import { at } from "./element.js";
import { WIRE } from "./entry.js";
import { nobodyIsHere } from "./keys.js";
import { call, letter, why } from "./letters.js";
import { setting, settle, waiting } from "./outbox.js";
import { holds, things } from "./records.js";
import { say } from "./words.js";

const MOST = 50;

/* What can be handed in, each with its person's key. */
export async function handable() {
  const all = (await waiting()).filter((one) => one.person && holds(one));
  const keys = new Map();
  for (const { person } of all) if (!keys.has(person)) keys.set(person, await setting(`key ${person}`));
  return all.map((one) => ({ ...one, key: keys.get(one.person) })).filter((one) => one.key);
}

/* Letter by letter, each for one person; what one may not hand in holds up nobody else. Why some stayed, or nothing. */
export async function handIn() {
  const tried = new Set();
  let size = MOST;
  let stays = "";
  for (;;) {
    const all = (await handable()).filter((one) => !tried.has(one.uid));
    const batch = all.filter((one) => one.person === all[0].person).slice(0, size);
    if (!batch.length) return stays;
    const records = batch.map(({ key, ...record }) => record);
    const answer = await call("POST", "", { ...await letter(batch[0].person, records, all.length), key: batch[0].key });
    const { status, said } = answer;
    if (status === 200 && said?.wire === WIRE && Array.isArray(said.receipts)) {
      await settle(said.receipts, records, Date.now());
    } else if (batch.length > 1 && [400, 413].includes(status)) {
      size = 1;
      continue;
    } else if (![400, 413].includes(status)) {
      stays = why(answer);
      all.filter((one) => one.person === batch[0].person).forEach((one) => tried.add(one.uid));
    }
    batch.forEach((one) => tried.add(one.uid));
  }
}

async function show() {
  const { length: n } = things(await handable());
  at("hand-over").hidden = !n;
  at("hand-over-count").textContent = say("unsent", { n });
  return n;
}

async function handInNow() {
  at("hand-over-now").disabled = true;
  const before = await show();
  const stays = await handIn().catch(() => say("offline"));
  const left = await show();
  const went = before > left && say("handed in", { n: before - left });
  at("hand-over-said").textContent = [went, left && say("not handed in", { n: left, why: stays })].filter(Boolean).join(" ");
  at("hand-over-said").hidden = false;
  at("hand-over-now").disabled = false;
  if (!left) at("waits-here")?.remove();
  await nobodyIsHere();
}

if (at("hand-over")) {
  at("hand-over-now").addEventListener("click", handInNow);
  show().catch(() => null);
}
