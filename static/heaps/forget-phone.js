/* Takes off this phone what it remembers. What waits on it goes only when its person says so twice. */
import { at } from "./element.js";
import { change, setAside, waiting } from "./outbox.js";
import { things } from "./records.js";
import { say } from "./words.js";

const FORGOTTEN = "forgotten";
let here = [];

const unsent = () => here.filter((one) => !one.withdrawn);

async function ask() {
  const [waits, aside] = await Promise.all([waiting(), setAside()]);
  here = [...waits, ...aside];
  const n = things(waits.filter((one) => !one.withdrawn)).length + aside.length;
  at("forget-waiting").hidden = !n;
  at("forget-count").textContent = say("unsent", { n });
  at("forget-lost").textContent = say("throw", { n });
  at("forget-really").hidden = true;
  at("forget-what").hidden = false;
  at("forget-what").focus();
}

function askAgain() {
  if (!unsent().length) return forget();
  at("forget-really").hidden = false;
  return at("forget-really").focus();
}

/* Only what was counted is thrown away: what another window keeps meanwhile stays. */
async function forget() {
  await change((store) => {
    store("journal").clear();
    store("settings").clear();
    for (const { uid } of here) store("waiting").delete(uid);
  });
  await forgetSeenPages();
  at("waits-here")?.remove();
  for (const id of ["forget-phone", "hand-over"]) if (at(id)) at(id).hidden = true;
  at("forget-said").textContent = say("forgotten");
  at("forget-said").hidden = false;
  signOut();
}

/* Whoever is signed in is signed out with it; the next page says that the phone has forgotten. */
function signOut() {
  const form = document.querySelector('form[action="/sign-out/"]');
  if (!form) return;
  sessionStorage.setItem(FORGOTTEN, "1");
  form.requestSubmit();
}

function sayIfForgotten() {
  if (!sessionStorage.getItem(FORGOTTEN)) return;
  sessionStorage.removeItem(FORGOTTEN);
  at("forget-said").textContent = say("forgotten");
  at("forget-said").hidden = false;
}

/* The recording pages and their files stay: they are the same for everybody, and open without a network. */
async function forgetSeenPages() {
  if (!globalThis.caches) return;
  for (const name of await caches.keys()) {
    const kept = await caches.open(name);
    for (const request of await kept.keys()) {
      const { pathname } = new URL(request.url);
      if (!pathname.startsWith("/static/") && !pathname.startsWith("/drop-off/")) await kept.delete(request);
    }
  }
}

at("forget-phone").hidden = false;
sayIfForgotten();
at("forget").addEventListener("click", ask);
at("forget-yes").addEventListener("click", askAgain);
at("forget-throw").addEventListener("click", forget);
at("forget-no").addEventListener("click", () => { at("forget-what").hidden = true; });
