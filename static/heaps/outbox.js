/* What this phone keeps: entries that wait, a nameless journal of those sent, and settings. */
import { isSound } from "./records.js";
import { say } from "./words.js";

const NAME = "heaps";
const OPEN_MS = 3000;
const AGAIN_MS = 1000;
const JOURNAL_DAYS = 35;
export const DAY_MS = 86400000;
const channel = globalThis.BroadcastChannel && new BroadcastChannel("heaps");

export const bell = new EventTarget();
let store = null;

if (channel) channel.onmessage = ({ data }) => bell.dispatchEvent(new Event(data));

/* Told after every change, in this tab and in the others. */
function ring() {
  bell.dispatchEvent(new Event("change"));
  channel?.postMessage("change");
}

function open() {
  store ??= new Promise((done, fail) => {
    const late = setTimeout(() => fail(new Error("late")), OPEN_MS);
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("waiting", { keyPath: "uid" });
      asked.result.createObjectStore("journal", { keyPath: "uid" });
      asked.result.createObjectStore("settings");
    };
    asked.onsuccess = () => {
      clearTimeout(late);
      asked.result.onclose = () => { store = null; };
      asked.result.onversionchange = () => { asked.result.close(); store = null; };
      done(asked.result);
    };
    asked.onerror = () => { clearTimeout(late); fail(asked.error); };
  });
  store.catch(() => setTimeout(() => { store = null; }, AGAIN_MS));
  return store;
}

/* One transaction over the whole store. Its answer comes only when all of it is on the phone's disk. */
export async function within(mode, work, again = true) {
  try {
    const base = await open();
    return await new Promise((done, fail) => {
      const act = base.transaction(["waiting", "journal", "settings"], mode, { durability: "strict" });
      let answer = null;
      act.oncomplete = () => done(answer instanceof IDBRequest ? answer.result : answer);
      act.onabort = () => fail(act.error || new Error("aborted"));
      answer = work((name) => act.objectStore(name));
    });
  } catch (fault) {
    /* A phone closes the store of a page in the background: open it once more. */
    if (!again || !["InvalidStateError", "UnknownError"].includes(fault.name)) throw fault;
    store = null;
    return within(mode, work, false);
  }
}

export async function change(work) {
  const answer = await within("readwrite", work);
  ring();
  return answer;
}

const everything = (name) => within("readonly", (at) => at(name).getAll());
export const waiting = async () => (await everything("waiting")).filter(isSound);
export const journal = async () => (await everything("journal")).filter(isSound);
/* All that is kept here, each once, as it stands by now. */
export const everyRecord = async () => [...new Map([...await journal(), ...await waiting()].map((one) => [one.uid, one])).values()];
/* What cannot be read as an entry stays where it is, and stands in nobody's way. */
export const setAside = async () => (await everything("waiting")).filter((one) => !isSound(one));
export const setting = (key) => within("readonly", (at) => at("settings").get(key));
/* What stands there already is not written again: a full phone could not even send what waits. */
export const putSetting = (key, value) => within("readwrite", (at) =>
  seen(at, "settings", key, (there) => there === value || at("settings").put(value, key)));

/* Looks at one thing within a transaction, and acts on it there. */
export function seen(at, name, key, act) {
  at(name).get(key).onsuccess = ({ target: { result } }) => { act(result); };
}

/* What waits is changed only while it is there: what was forgotten meanwhile does not come back. */
const whileItWaits = (at, uid, act) => seen(at, "waiting", uid, (record) => record && act(record));

/* What waits already stays as it is. */
const putNew = (at, record) => seen(at, "waiting", record.uid, (there) => there || at("waiting").put(record));

/* Keeps new entries and, in the same step, whatever goes with them. */
export function keep(records, also) {
  return change((at) => {
    for (const record of records) putNew(at, record);
    also?.(at);
  });
}

/* Changes some marks of waiting entries: refused, withdrawn, person, who said no. Never the entry itself. */
export function marking(at, uids, marks) {
  for (const uid of uids) whileItWaits(at, uid, (record) => at("waiting").put({ ...record, ...marks }));
}

export const mark = (uids, marks) => change((at) => marking(at, uids, marks));

/* Receipts for entries that were sent: the first three states end the wait, a refusal is marked. How many told of one. */
export function settle(receipts, records, now) {
  const sent = new Set(records.map((record) => record.uid));
  const clear = receipts.filter((one) => sent.has(one?.uid) && ["accepted", "known", "parked", "refused"].includes(one.state));
  return change((at) => {
    for (const { uid, state, reason } of clear) {
      whileItWaits(at, uid, (record) => {
        at("settings").put(now, "last_sent");
        if (state === "refused") return at("waiting").put({ ...record, refused: reason || say("no reason") });
        at("journal").put({ ...record, entry: { ...record.entry, words: "", donor: null }, sent_at: now, state, reason });
        return at("waiting").delete(uid);
      });
    }
    return clear.length;
  });
}

/* A restored server may have lost what it had: everything sent is offered again, as whose it was. */
export function offerAgain(epoch) {
  return change((at) => {
    at("journal").getAll().onsuccess = (found) => {
      for (const { uid, person, entry, sent_at } of found.target.result.filter(isSound)) {
        putNew(at, { uid, entry, person, kept_at: sent_at });
      }
    };
    at("settings").put(epoch, "epoch");
  });
}

/* What was sent, or withdrawn here after a refusal, is forgotten after 35 days. What waits never is. */
export function prune(now) {
  const before = now - JOURNAL_DAYS * DAY_MS;
  return within("readwrite", (at) => {
    for (const [name, since] of [["journal", "sent_at"], ["waiting", "withdrawn"]]) {
      at(name).getAll().onsuccess = (found) => {
        for (const one of found.target.result) if (one[since] && one[since] < before) at(name).delete(one.uid);
      };
    }
  });
}
