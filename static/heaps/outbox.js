/* What this phone keeps: entries that wait, a nameless journal of those sent, and settings. */
import { say } from "./words.js";

const NAME = "heaps";
const OPEN_MS = 3000;
const AGAIN_MS = 1000;
const JOURNAL_DAYS = 35;
export const DAY_MS = 86400000;
/* Each form has its own. */
export const DRAFT = document.getElementById("entry")?.dataset.draft || "draft";
const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("heaps") : null;

export const bell = new EventTarget();
let store = null;

if (channel) channel.onmessage = () => bell.dispatchEvent(new Event("change"));

/* Told after every change, in this tab and in the others. */
function ring() {
  bell.dispatchEvent(new Event("change"));
  if (channel) channel.postMessage("change");
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
async function within(mode, work, again = true) {
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

export const waiting = () => within("readonly", (at) => at("waiting").getAll());
export const journal = () => within("readonly", (at) => at("journal").getAll());
export const setting = (key) => within("readonly", (at) => at("settings").get(key));
export const putSetting = (key, value) => within("readwrite", (at) => at("settings").put(value, key));

/* Keeps new entries and, with them, forgets the draft and remembers what to offer next time. */
export function keep(records, last) {
  return change((at) => {
    for (const record of records) {
      at("waiting").get(record.uid).onsuccess = (found) => {
        if (!found.target.result) at("waiting").put(record);
      };
    }
    at("settings").delete(DRAFT);
    if (last) at("settings").put(last, "last");
  });
}

/* Changes some marks of waiting entries: refused, withdrawn, person, who said no. Never the entry itself. */
export function mark(uids, marks) {
  return change((at) => {
    for (const uid of uids) {
      at("waiting").get(uid).onsuccess = (found) => {
        const record = found.target.result;
        if (record) at("waiting").put({ ...record, ...marks });
      };
    }
  });
}

/* Receipts for entries that were sent: the first three states end the wait, a refusal is marked. */
export function settle(receipts, records, now) {
  const sent = new Map(records.map((record) => [record.uid, record]));
  return change((at) => {
    let settled = 0;
    for (const { uid, state, reason } of receipts) {
      const record = sent.get(uid);
      if (!record) continue;
      if (["accepted", "known", "parked"].includes(state)) {
        at("journal").put({ ...record, entry: { ...record.entry, words: "", donor: null }, sent_at: now, state, reason });
        at("waiting").delete(uid);
        settled += 1;
      } else if (state === "refused") {
        at("waiting").put({ ...record, refused: reason || say("no reason") });
        settled += 1;
      }
    }
    if (settled) at("settings").put(now, "last_sent");
    return settled;
  });
}

/* A restored server may have lost what it had: everything sent is offered again, as whose it was. */
export function offerAgain(epoch) {
  return change((at) => {
    at("journal").getAll().onsuccess = (found) => {
      for (const { uid, person, entry, sent_at } of found.target.result) {
        at("waiting").get(uid).onsuccess = (there) => {
          if (!there.target.result) at("waiting").put({ uid, entry, person, kept_at: sent_at });
        };
      }
    };
    at("settings").put(epoch, "epoch");
  });
}

/* What was sent, or withdrawn here after a refusal, is forgotten after 35 days. What waits never is. */
export function prune(now) {
  const before = now - JOURNAL_DAYS * DAY_MS;
  return within("readwrite", (at) => {
    at("journal").getAll().onsuccess = (found) => {
      for (const one of found.target.result) if (one.sent_at < before) at("journal").delete(one.uid);
    };
    at("waiting").getAll().onsuccess = (found) => {
      for (const one of found.target.result) if (one.withdrawn < before) at("waiting").delete(one.uid);
    };
  });
}
