/* On every other page: what waits on this phone, laid over the bay it is about, and how old the page is. */
import { nobodyIsHere } from "./keys.js";
import { setAside, waiting } from "./outbox.js";
import { things } from "./records.js";
import { say } from "./words.js";
import { watchWorker } from "./worker.js";

const OLD_MS = 600000;

function line(text, classes, href) {
  const made = document.createElement("p");
  made.className = classes;
  const inside = href ? Object.assign(document.createElement("a"), { href }) : made;
  inside.textContent = text;
  if (href) made.append(inside);
  return made;
}

/* Which bays an entry is about: its own, and those it turned. */
const baysOf = ({ bay, details: { sources } }) => new Set([bay, ...(Array.isArray(sources) ? sources : []).map((one) => one?.bay)]);

async function layOver() {
  const all = things((await waiting()).filter((one) => !one.withdrawn));
  const here = all.filter((one) => !one.refused);
  for (const place of document.querySelectorAll("[data-bay]")) {
    const n = here.filter(({ entry }) => baysOf(entry).has(place.dataset.bay)).length;
    if (n) place.prepend(line(say("here", { n }), "tag"));
  }
  const n = all.length + (await setAside()).length;
  if (!n) return;
  const note = line(say("all here", { n }), "note", "/drop-off/");
  note.id = "waits-here";
  document.querySelector("main").prepend(note);
}

function sayAge() {
  const made = document.querySelector("main time[datetime]");
  if (!made || Date.now() - Date.parse(made.dateTime) < OLD_MS) return;
  document.querySelector("main").prepend(line(say("age", { when: made.textContent }), "note"));
}

/* Whoever comes or goes: what is recorded before the next answer of the server is nobody's yet, and asked about. */
if (/^\/(sign-in|sign-out|words|join|come-in)\//.test(location.pathname)) nobodyIsHere().catch(() => null);
sayAge();
layOver().catch(() => null);
watchWorker(() => false);
