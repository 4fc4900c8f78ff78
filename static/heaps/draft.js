/* What is typed is kept within a second, so that a reload loses nothing. */
import { at } from "./element.js";
import { form, layOut, page, panel, show, stand, tell } from "./form.js";
import { chosenBay } from "./offers.js";
import { setting, within } from "./outbox.js";
import { rawOf, setRaw } from "./panels.js";
import { begun, draftsOf, ofToday } from "./pile.js";

const WAIT_MS = 500;
let timer = 0;

/* Typing on and on does not put it off. */
export function draftSoon(wait = WAIT_MS) {
  timer ||= setTimeout(() => draftNow(), wait);
}

/* On top of what was begun before: that stays, also where nobody could look at it yet. A store that does not open is
   asked again. What stands in the form is read before the wait: whoever keeps or forgets it after that comes later. */
export async function draftNow(now = draft()) {
  if (!timer || !page.touched) return;
  stopDraft();
  await within("readwrite", (at) => begun(at, now.draft, now)).catch(() => draftSoon(WAIT_MS * 4));
}

export function forgetDraft(mine = page.draft) {
  stopDraft();
  return within("readwrite", (at) => begun(at, mine));
}

export function stopDraft() {
  clearTimeout(timer);
  timer = 0;
}

function draft() {
  const { words, when, on_top: top } = form.elements;
  return {
    at: Date.now(), panel: page.panel, site: page.site.uid, bay: chosenBay(), raw: rawOf(panel()),
    words: words.value, when: when.value, correcting: page.correcting, draft: page.draft, top: top?.checked,
  };
}

/* What was begun last comes back into the form, one's own before what nobody in particular began, unless somebody types. */
export const takeUp = () => layIn().catch(() => null); // what is kept may be broken

async function layIn() {
  const [kept] = ofToday(await Promise.all(draftsOf(await setting("person")).map(setting)));
  if (!kept || page.touched) return;
  stand(page.ground, kept.site);
  for (const mark of ["correcting", "draft"]) page[mark] = kept[mark];
  layOut(kept.bay, kept.raw.find(([name]) => name === "feedstock")?.[1]);
  show(kept.panel);
  setRaw(panel(), kept.raw);
  for (const name of ["words", "when"]) form.elements[name].value = kept[name];
  if (form.elements.on_top) form.elements.on_top.checked = kept.top;
  at("more").open = kept.words || kept.when;
  tell();
  page.touched = true;
  at(page.correcting ? "correcting" : "draft-back").hidden = false;
}
