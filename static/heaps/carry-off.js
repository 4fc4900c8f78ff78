/* What waits here as a text that a coordinator can bring in. Each letter is sealed with its person's key, so that nobody
   can change it on the way, or write one in another's name; the key itself stays on the phone. */
import { WIRE, newUid } from "./entry.js";
import { putSetting, setAside, setting, waiting } from "./outbox.js";
import { say } from "./words.js";

const A_LETTER = 50;

/* All of it, as a file. `words` says what an entry is. */
export async function carried(words) {
  const going = (await waiting()).filter((one) => !one.withdrawn);
  const letters = [];
  for (const person of new Set(going.map((one) => one.person))) {
    const theirs = going.filter((one) => one.person === person).map((one) => one.entry);
    for (let first = 0; first < theirs.length; first += A_LETTER) {
      letters.push(await sealedLetter(person, theirs.slice(first, first + A_LETTER)));
    }
  }
  return plain({ heaps: 1, about: say("file says"), in_words: going.map(words), letters, set_aside: await setAside() });
}

async function sealedLetter(person, entries) {
  let device = await setting("device");
  if (!device) await putSetting("device", (device = newUid()));
  const text = JSON.stringify({ wire: WIRE, device, person: person || null, sent_at: new Date().toISOString(), entries });
  const key = person && await setting(`key ${person}`);
  return { text, seal: key && crypto.subtle ? await seal(key, text) : null };
}

/* HMAC-SHA-256 (RFC 2104), as members/hand_over.py reads it. */
async function seal(key, text) {
  const bytes = (one) => new TextEncoder().encode(one);
  const secret = await crypto.subtle.importKey("raw", bytes(key), { name: "HMAC", hash: "SHA-256" }, false, ["sign"]);
  const made = new Uint8Array(await crypto.subtle.sign("HMAC", secret, bytes(text)));
  return Array.from(made, (one) => one.toString(16).padStart(2, "0")).join("");
}

/* Anything at all as text, also what a broken record holds. */
export function plain(one) {
  const seen = new Set();
  return JSON.stringify(one, (_name, value) => {
    if (typeof value === "bigint") return String(value);
    if (!(value instanceof Object)) return value;
    if (seen.has(value)) return null;
    seen.add(value);
    return value;
  }, 1);
}
