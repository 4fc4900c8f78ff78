/* The page of what this phone keeps: all that waits, whosever it is; a way to carry it off; what nobody can read. */
import { carried, plain } from "./carry-off.js";
import { at, button, el } from "./element.js";
import { SAID, sentence } from "./entry.js";
import { FURTHER } from "./further.js";
import { loadGround, namesFor, ownGround, ruled } from "./ground.js";
import { bell, change, mark, putSetting, setAside, setting, waiting } from "./outbox.js";
import { isAnothers } from "./records.js";
import { clock, showStatus } from "./status.js";
import { claim, link, send, sendAtGoodMoments } from "./sync.js";
import { watchWorker } from "./worker.js";
import { say } from "./words.js";

const CLOCK_MS = 600000;
const KIND = { type: "application/json" };
const fileName = () => `kept-on-this-phone-${new Date().toISOString().slice(0, 16).replace(/\D/g, "-")}.json`;
let ground = ownGround();

async function begin() {
  Object.assign(SAID, FURTHER);
  ruled({});
  ground = await loadGround(ground);
  at("as-of").textContent = clock(ground.as_of);
  bell.addEventListener("change", show);
  await show();
  watchWorker(() => true);
  sendAtGoodMoments();
}

async function show() {
  try {
    const [all, aside, person] = await Promise.all([waiting(), setAside(), setting("person")]);
    const here = all.filter((one) => !one.withdrawn);
    at("entries").replaceChildren(...here.map((one) => row(one, person)));
    if (!here.length) at("entries").append(el("li", {}, say("none wait")));
    at("carry").hidden = !here.length && !aside.length;
    at("set-aside").hidden = !aside.length;
    at("unread").replaceChildren(...aside.map(broken));
    await showStatus();
    await showPhone();
  } catch {
    at("state").textContent = say("no store");
  }
}

const inFull = ({ entry }) => `${sentence(entry, namesFor(ground))}, ${clock(entry.occurred_at)}`;

function row(one, person) {
  const left = !one.person && one[person];
  return el("li", { className: "stack tight" }, el("p", {}, el("b", {}, inFull(one))),
    el("p", {}, el("span", { className: "tag" }, stateWord(one, person, left)), one.refused ? ` ${one.refused}` : ""),
    ...(left ? [el("p", {}, button(say("mine after all"), () => claimLate(one, person)))] : []));
}

function stateWord(one, person, left) {
  if (one.refused) return say("needs you");
  if (left) return say("nobody's yet");
  return say(isAnothers(one, person) ? "another's" : "waiting");
}

/* Whoever said "not mine" may have been too quick. */
async function claimLate({ uid }, person) {
  await mark([uid], { person });
  await send(true);
}

/* A record of another version of this page, or one that was damaged: it can be read as it is, and carried off. */
function broken(one) {
  const ask = el("p", { className: "row", hidden: true }, say("throw this"),
    button(say("throw away"), () => change((store) => store("waiting").delete(one.uid))),
    button(say("leave it"), () => { ask.hidden = true; }));
  return el("li", { className: "stack tight" }, el("pre", { tabIndex: 0 }, plain(one)),
    button(say("not needed"), () => { ask.hidden = false; }), ask);
}

async function showPhone() {
  const promised = await navigator.storage?.persisted?.();
  at("promise").textContent = say(promised ? "promised" : "not promised");
  at("ask-promise").hidden = Boolean(promised) || !navigator.storage?.persist;
  const [device, saved] = await Promise.all([setting("device"), setting("carried_at")]);
  at("number").textContent = device ? say("number", { number: device.slice(0, 8) }) : "";
  at("clock").hidden = Math.abs(link.ahead) < CLOCK_MS;
  at("saved").hidden = !saved;
  if (saved) at("saved").textContent = say("saved", { when: clock(saved) });
}

/* To a file; where a phone offers it, to any program that takes one. */
async function save(act) {
  const text = await carried(inFull);
  try {
    await act(text);
    await putSetting("carried_at", Date.now());
    await showPhone();
  } catch {
    showText(text);
  }
}

function download(text) {
  const made = el("a", { href: URL.createObjectURL(new Blob([text], KIND)), download: fileName() });
  document.body.append(made);
  made.click();
  made.remove();
}

async function copy(text) {
  await navigator.clipboard.writeText(text);
  at("copy").textContent = say("copied");
}

/* Where nothing else goes, it can be marked and copied by hand. */
function showText(text) {
  at("text").value = text;
  at("as-text").open = true;
  at("text").select();
}

at("download").addEventListener("click", () => save(download));
at("copy").addEventListener("click", () => save(copy));
at("as-text").addEventListener("toggle", async () => { if (at("as-text").open) at("text").value = await carried(inFull); });
at("ask-promise").addEventListener("click", () => navigator.storage.persist().then(showPhone));
at("send-now").addEventListener("click", () => send(true));
at("yours-yes").addEventListener("click", () => claim(true));
at("yours-no").addEventListener("click", () => claim(false));
begin();
