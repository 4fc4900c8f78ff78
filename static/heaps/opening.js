/* How a page that records opens, and what happens on a tap and on a key. */
import { at, button } from "./element.js";
import { draftSoon, forgetDraft, takeUp } from "./draft.js";
import { complain, fillFrom, form, layOut, page, show, stand, tell } from "./form.js";
import { freshGround, loadGround, namesFor, overlaid, ownGround } from "./ground.js";
import { correct, keepEntry, startAfresh } from "./keeping.js";
import { chooseContainer, showFound } from "./offers.js";
import { bell, everyRecord, setting } from "./outbox.js";
import { stepOn } from "./panels.js";
import { showRecorded } from "./recorded.js";
import { clock, showStatus } from "./status.js";
import { claim, send, sendAtGoodMoments } from "./sync.js";
import { watchWorker } from "./worker.js";
import { say } from "./words.js";

/* The form stands at once, from the page itself; what the phone's store knows follows, unless a thumb was quicker. */
export async function begin() {
  if (lay(ownGround(), [], {})) startWith(...location.hash.slice(1).split("="));
  /* What the phone remembers may be broken. */
  await start(loadGround(page.ground)).catch(() => page.touched || lay(ownGround(), [], {}));
  showKinds();
  watchWorker(() => !page.touched);
  bell.addEventListener("change", refresh);
  await refresh();
  sendAtGoodMoments().then(takeUp); // by now it is known who is here
  const fresh = await freshGround(page.ground);
  if (fresh) await start(fresh);
}

/* Another page may name the panel, and the bay (`#water=<uid>`) or the site (`#stock=<uid>`). */
function startWith(name, asked) {
  if (!form.querySelector(`[data-panel="${CSS.escape(name)}"]`)) return;
  const here = (one) => one.uid === asked;
  const site = page.ground.sites.find((one) => here(one) || one.bays.some(here));
  history.replaceState(null, "", location.pathname);
  if (site) {
    stand(page.ground, site.uid);
    layOut(here(site) ? null : asked);
  }
  switchTo(name);
  page.asked?.(asked, site);
}

async function start(ground) {
  const [known, kept, last] = await Promise.all([ground, everyRecord().catch(() => []), setting("last").catch(() => null)]);
  page.ground = known;
  at("as-of").textContent = clock(known.as_of);
  /* Nothing closes under a thumb: for a form of which a part was opened, what came since waits for the next entry. */
  if (!page.touched && !form.querySelector("details[open]")) lay(known, kept, last || {});
  await takeUp();
}

function lay(ground, kept, last) {
  page.last = form.dataset.draft ? { site: last.site } : last;
  stand(overlaid(ground, kept), last.site);
  at("missing").hidden = isSecureContext;
  if (page.site) startAfresh();
  else complain(say("no ground"));
  return page.site;
}

function showKinds() {
  at("kinds").append(...[...form.querySelectorAll("[data-button]:not([data-quiet])")].map((one) =>
    button(one.dataset.button, () => switchTo(one.dataset.panel))));
}

async function refresh() {
  try {
    page.records = await everyRecord();
    if (page.site) tell();
    await Promise.all([showStatus(), showRecorded(page.records, namesFor(page.ground), correctIt)]);
  } catch {
    at("state").textContent = say("no store");
  }
}

const correctIt = (one) => correct(one, fillFrom);

function touched() {
  page.touched = true;
  at("kept").hidden = true;
  at("not-kept").hidden = true;
  for (const one of form.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
  tell();
  draftSoon();
}

export function choose(feedstock) {
  layOut(form.elements.bay?.value, feedstock);
  at("all-materials").open = false;
  at("find").value = "";
  touched();
  form.querySelector("#materials input:checked")?.focus();
}

function switchTo(name) {
  show(name);
  touched();
  at("title").focus();
}

form.addEventListener("input", ({ target }) => {
  if (target.id === "find") return showFound(target.value, choose);
  if (target.name === "feedstock") chooseContainer(page.site.usual[target.value]);
  if (target.id === "site") {
    stand(page.ground, target.value);
    layOut();
  }
  if (target.name === "bay") at("where").open = false;
  touched();
});
form.addEventListener("click", ({ target }) => {
  if (!target.closest(".bottom")) at("kept").hidden = true; // and what is said of the next load stands there again
  const pressed = target.closest("[data-by], [data-half], [data-fresh]");
  if (!pressed) return;
  if ("fresh" in pressed.dataset) { forgetDraft().then(takeUp); startAfresh(); } else stepOn(pressed);
});
form.addEventListener("submit", (event) => { event.preventDefault(); keepEntry(); });
at("all-materials").addEventListener("toggle", () => showFound(at("find").value, choose));
at("send-now").addEventListener("click", () => send(true));
at("yours-yes").addEventListener("click", () => claim(true));
at("yours-no").addEventListener("click", () => claim(false));
