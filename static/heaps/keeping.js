/* Keeping: the one way from the form to what this phone keeps, with what is asked and said on the way. */
import { at, button, el } from "./element.js";
import { draftNow, draftSoon, stopDraft, takeUp } from "./draft.js";
import { newUid, record, sentence } from "./entry.js";
import { complain, emptied, form, layOut, page, said, show, stand, tell } from "./form.js";
import { feedstocks, namesFor, overlaid } from "./ground.js";
import { chooseBay } from "./offers.js";
import { keep, marking, setting, waiting } from "./outbox.js";
import { begun } from "./pile.js";
import { question } from "./questions.js";
import { undo } from "./recorded.js";
import { clock, showStatus } from "./status.js";
import { send } from "./sync.js";
import { say } from "./words.js";

let keeping = false;

export async function keepEntry() {
  if (keeping) return;
  const entry = said();
  if (entry.problem) return complain(say("not yet", entry), entry.control);
  const asked = question(record(entry).entry, {
    site: page.site, material: feedstocks.get(entry.details.feedstock), answered: page.answered,
  });
  if (asked) return askFirst(asked);
  keeping = true;
  navigator.storage?.persist?.();
  const records = await put(entry).finally(() => { keeping = false; });
  if (!records) return;
  await showStatus().catch(() => null); // "all sent" is gone from the page before "kept" stands on it
  afterwards(records);
  await send(true);
}

/* On the phone's disk, or nothing: then the form stays as it is. */
async function put(entry) {
  try {
    const refused = (await waiting()).find((one) => one.uid === page.correcting && one.refused);
    const records = await recordsOf(entry, refused);
    stopDraft();
    const last = lastOf(entry);
    await keep(records, (store) => {
      begun(store, page.draft);
      if (last) store("settings").put(last, "last");
      if (refused) marking(store, [page.correcting], { withdrawn: Date.now() });
    });
    return records;
  } catch (fault) {
    draftSoon();
    complain(say(fault.name === "QuotaExceededError" ? "full" : "failed"));
    carryOff(`${sentence(record(entry).entry, namesFor(page.ground))}. ${clock(entry.when || Date.now())}`);
    return null;
  }
}

/* What could not be kept, in words that can be carried off by hand. */
function carryOff(words) {
  const copy = () => navigator.clipboard.writeText(words).then(() => { taking.textContent = say("copied"); }, () => null);
  const taking = button(say("copy"), copy);
  at("not-kept").append(el("b", { className: "words" }, ` ${words} `), taking);
}

/* An entry kept before is never changed: the new values go in as a correction of it. One that was refused never left: a
   new one takes its place. */
async function recordsOf(entry, refused) {
  const person = await setting("person");
  const { kind, bay, when, details, words, uid, site } = entry;
  if (page.correcting && !refused) {
    const instead = { corrects: page.correcting, says: "instead", kind, bay, details, occurred_at: when && when.toISOString() };
    return [record({ uid, kind: "correction", site, bay, details: instead, words }, person)];
  }
  const first = record(entry, person);
  const more = (page.beside?.(entry) || []).map((one) => record(one, person));
  for (const one of more) one.entry.occurred_at = new Date(Date.parse(first.entry.occurred_at) + 1).toISOString();
  return [first, ...more];
}

function lastOf({ kind, details, site }) {
  if (kind !== "dropoff" || page.correcting) return null;
  const { feedstock, container = "", container_ml: ml } = details;
  page.last = { feedstock, container, ml, site };
  return page.last;
}

function afterwards(records) {
  const words = records.map(({ entry }) => sentence({ ...entry, words: "" }, namesFor(page.ground))).join(". ");
  const taken = () => at("kept").replaceChildren(el("p", {}, say("undone now")));
  const before = page.ground;
  const back = async () => {
    await undo(...records);
    stand(before);
    if (!page.touched) layOut();
    tell();
    taken();
  };
  stand(overlaid(page.ground, records));
  const undoing = records[0].entry.kind === "correction" ? [] : [button(say("undo"), back)];
  startAfresh();
  const { bay, details } = records[0].entry;
  const next = details.signs ? [el("a", { className: "button", href: `/heaps/${bay}/signs/` }, say("what now"))] : [];
  if (details.sieved === "sieved") next.push(button(say("sieve"), leftovers));
  at("kept").replaceChildren(el("p", {}, el("b", {}, say("kept")), ` ${words}`), ...next, ...undoing);
  at("kept").hidden = false;
  takeUp();
}

/* What stays on the sieve is a load of its own, into the heap that is fed. */
function leftovers() {
  if (page.touched) startAfresh();
  layOut(null, "screened-oversize");
  tell();
  at("title").focus();
}

export function startAfresh() {
  if (page.uid) emptied();
  Object.assign(page, { uid: newUid(), draft: newUid(), correcting: null, touched: false, answered: new Set() });
  for (const id of ["ask", "not-kept", "draft-back", "correcting", "kept"]) at(id).hidden = true;
  at("where").open = false;
  layOut();
  if (page.last.container === "") form.elements.litres.value = page.last.ml / 1000;
  show(form.querySelector("[data-panel]").dataset.panel);
}

function askFirst({ key, text, yes, no, other }) {
  const done = (act) => () => { at("ask").hidden = true; act?.(); };
  const answers = [button(yes, done(() => { page.answered.add(key); return keepEntry(); }))];
  if (other) answers.unshift(button(say("use", { bay: other.name }), done(() => { chooseBay(other.uid); tell(); return keepEntry(); })));
  if (no) answers.push(button(no, done()));
  at("ask-text").textContent = text;
  at("ask-answers").replaceChildren(...answers);
  at("ask").hidden = false;
  at("ask-text").focus();
}

/* Lays an entry into the form to be corrected. */
export async function correct({ uid, entry }, fillFrom) {
  await draftNow();
  startAfresh();
  page.correcting = uid;
  fillFrom(entry);
  page.touched = true;
  at("correcting").hidden = false;
  at("title").focus();
}
