/* What is typed is kept within a second, so that a reload loses nothing. */
import { at } from "./element.js";
import { form, layOut, page, panel, show, stand, tell } from "./form.js";
import { chosenBay } from "./offers.js";
import { DAY_MS, change, draftsOf, putSetting, setting } from "./outbox.js";
import { rawOf, setRaw } from "./panels.js";

const WAIT_MS = 500;
let timer = 0;

export function draftSoon() {
  clearTimeout(timer);
  const mine = timer = setTimeout(() => keepDraft(mine).catch(() => null), WAIT_MS);
}

/* Which timer asks is handed in: read here, the packed script would read it after the wait. */
async function keepDraft(mine) {
  const [key] = draftsOf(await setting("person"));
  if (mine === timer) await putSetting(key, draft()); // else the entry was kept or forgotten meanwhile
}

export async function forgetDraft() {
  stopDraft();
  const keys = draftsOf(await setting("person"));
  return change((at) => keys.forEach((key) => at("settings").delete(key)));
}

export function stopDraft() {
  clearTimeout(timer);
  timer = 0;
}

function draft() {
  const { words, when, on_top: top } = form.elements;
  return {
    at: Date.now(), panel: page.panel, site: page.site.uid, bay: chosenBay(), raw: rawOf(panel()),
    words: words.value, when: when.value, correcting: page.correcting, top: top?.checked,
  };
}

/* Lays a draft of the last day into the form: one's own, or what nobody in particular began. True when there was one,
   and nobody typed while it was looked for. */
export async function restoreDraft() {
  const all = await Promise.all(draftsOf(await setting("person")).map(setting));
  const kept = all.find((one) => one?.at > Date.now() - DAY_MS);
  if (!kept || page.touched) return false;
  stand(page.ground, kept.site);
  page.correcting = kept.correcting;
  layOut(kept.bay, kept.raw.find(([name]) => name === "feedstock")?.[1]);
  show(kept.panel);
  setRaw(panel(), kept.raw);
  form.elements.words.value = kept.words;
  form.elements.when.value = kept.when;
  if (form.elements.on_top) form.elements.on_top.checked = kept.top;
  at("more").open = Boolean(kept.words || kept.when);
  tell();
  return true;
}
