/* A light phone: the product's own modules with no form around them. What is here only calls them. */
import { record } from "/static/heaps/entry.js";
import { handIn } from "/static/heaps/hand-over.js";
import { nobodyIsHere } from "/static/heaps/keys.js";
import { change, journal, keep, setting, waiting } from "/static/heaps/outbox.js";
import { undo } from "/static/heaps/recorded.js";
import { showStatus } from "/static/heaps/status.js";
import { claim, link, send } from "/static/heaps/sync.js";

const locks = navigator.locks;
const PATIENCE_MS = 60000;
let going = [];

/* What the phone holds, and what its line of state says. Without words on the page a sentence is its own key. */
async function seen() {
  await showStatus();
  return {
    waiting: await waiting(),
    journal: (await journal()).map((one) => one.uid),
    says: document.getElementById("state").textContent.trim(),
    trouble: link.trouble,
    unclaimed: link.unclaimed.length,
    signedOut: link.signedOut,
  };
}

/* Begins and does not wait: what goes on is asked with `busy`, or waited for with `idle`. */
function begin(what, ...given) {
  const one = { send, undo, claim, handIn }[what](...given).catch((fault) => String(fault));
  going.push(one);
  one.then(() => { going = going.filter((other) => other !== one); });
}

globalThis.light = {
  seen,
  setting,

  /* As keeping.js does it: the person first, then the record, then the disk. */
  async keep(said) {
    const kept = record({ ...said, when: said.when ? new Date(said.when) : null }, await setting("person"));
    await keep([kept], null);
    return kept;
  },

  begin,
  busy: () => going.length,

  /* Waits until nothing goes on in this tab, and tells what the phone holds then. */
  async idle() {
    let late = 0;
    const never = new Promise((_done, fail) => { late = setTimeout(() => fail(new Error("It never ends.")), PATIENCE_MS); });
    while (going.length) await Promise.race([never, ...going]);
    clearTimeout(late);
    return seen();
  },

  async record(uid) {
    return [...await waiting(), ...await journal()].find((one) => one.uid === uid) || null;
  },
  nobodyIsHere,

  /* Every record that waits as it lies in the store, also one that the modules cannot read. */
  stored: () => new Promise((done, fail) => {
    const asked = indexedDB.open("heaps");
    asked.onerror = () => fail(asked.error);
    asked.onsuccess = ({ target: { result: base } }) => {
      base.transaction("waiting").objectStore("waiting").getAll().onsuccess = (found) => {
        base.close();
        done(found.target.result);
      };
    };
  }),

  withoutLocks(without) {
    Object.defineProperty(navigator, "locks", { value: without ? undefined : locks, configurable: true });
  },

  /* A record as a fault of the disk, or another version of the page, may leave it. */
  spoil(uid, how) {
    return change((at) => {
      at("waiting").get(uid).onsuccess = ({ target: { result: one } }) => {
        if (!one) return;
        if (how === "no entry") delete one.entry;
        if (how === "words for an entry") one.entry = "of tomorrow";
        if (how === "no details") one.entry.details = null;
        if (how === "another kind") one.entry.kind = "of tomorrow";
        if (how === "later wire") one.entry.wire = 99;
        if (how === "another number") one.entry.uid = "not a number";
        if (how === "number not a number") one.entry.details = { ...one.entry.details, half_containers: NaN };
        at("waiting").put(one);
      };
    });
  },

  forget: () => change((at) => ["waiting", "journal", "settings"].forEach((name) => at(name).clear())),
};
