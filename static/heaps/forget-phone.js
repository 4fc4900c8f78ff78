/* Takes off this phone what it remembers. What waits on it goes only when its person says so twice. */
import { at } from "./element.js";
import { change, waiting } from "./outbox.js";
import { say } from "./words.js";

let here = [];

const unsent = () => here.filter((one) => !one.withdrawn);

async function ask() {
  here = await waiting();
  const { length: n } = unsent();
  at("forget-waiting").hidden = !n;
  at("forget-count").textContent = say("unsent", { n });
  at("forget-lost").textContent = say("throw", { n });
  at("forget-file").href = URL.createObjectURL(new Blob([JSON.stringify(unsent(), null, 1)], { type: "application/json" }));
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
  document.querySelector('form[action="/sign-out/"]')?.requestSubmit();
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
at("forget").addEventListener("click", ask);
at("forget-yes").addEventListener("click", askAgain);
at("forget-throw").addEventListener("click", forget);
at("forget-no").addEventListener("click", () => { at("forget-what").hidden = true; });
