/* The list of what this phone recorded: each entry's state, and the ways to mend it. */
import { at, button, el } from "./element.js";
import { newUid, record, sentence } from "./entry.js";
import { DAY_MS, keep, mark, setAside, setting } from "./outbox.js";
import { isAnothers, mended } from "./records.js";
import { send } from "./sync.js";
import { clock } from "./status.js";
import { say } from "./words.js";

const ROWS = 60;

/* Of all records what waits, and what was sent within the last day. What needs its person stands first, then the newest. */
export async function showRecorded(records, names, correct) {
  const person = await setting("person");
  const all = records.filter((one) => !(one.sent_at < Date.now() - DAY_MS))
    .sort((one, other) => !one.refused - !other.refused || began(other) - began(one));
  const [undone, corrected] = [mended(all, "withdraw"), mended(all, "instead")];
  const rows = all.filter(({ entry, refused }) => entry.details.says !== "withdraw" || refused).slice(0, ROWS)
    .map((one) => row(one, {
      names, correct, person, undone: undone.has(one.entry.details.corrects ?? one.uid), corrected: corrected.has(one.uid),
    }));
  if ((await setAside()).length) rows.unshift(el("li", {}, el("a", { href: "/drop-off/kept/" }, say("set aside"))));
  at("entries").replaceChildren(...rows);
  if (!rows.length) at("entries").append(el("li", {}, say("nothing")));
}

const began = ({ entry }) => Date.parse(entry.occurred_at);

function row(one, seen) {
  const { entry } = one;
  const buttons = waysToMend(one, seen);
  return el("li", { className: "stack tight" },
    el("p", {}, el("b", {}, sentence(entry, seen.names)), ` ${clock(entry.occurred_at)}`),
    el("p", {}, el("span", { className: "tag" }, stateOf(one, seen)), one.withdrawn ? "" : ` ${one.refused || one.reason || ""}`),
    ...(buttons.length ? [el("p", { className: "row" }, ...buttons)] : []));
}

function stateOf(one, { person, undone, corrected }) {
  if (one.withdrawn) return say("taken back");
  if (one.refused) return say("needs you");
  if (undone) return say("undone");
  if (corrected) return say("corrected");
  if (one.state) return say("sent");
  if (isAnothers(one, person)) return say("another's");
  return say("waiting");
}

/* An entry once kept is never changed: it is undone or corrected by another. One refused never left. */
function waysToMend(one, { correct, undone }) {
  const { uid, entry } = one;
  if (one.withdrawn) return [button(say("bring back"), () => mark([uid], { withdrawn: 0 }))];
  const young = (one.kept_at || one.sent_at) > Date.now() - DAY_MS;
  const fix = document.querySelector(`[data-kind="${CSS.escape(entry.kind)}"]`) ? [button(say("correct"), () => correct(one))] : [];
  const again = () => mark([uid], { refused: null }).then(() => send(true));
  if (one.refused) {
    return [button(say("again"), again), ...fix, button(say("take back"), () => mark([uid], { withdrawn: Date.now() }))];
  }
  if (undone || !young || entry.kind === "correction") return [];
  return [button(say("undo"), () => undo(one)), ...fix];
}

/* All or none of them. */
export async function undo(...these) {
  const person = await setting("person");
  await keep(these.map(({ uid, entry, person: whose }) => record({
    uid: newUid(), kind: "correction", site: entry.site, bay: entry.bay, details: { corrects: uid, says: "withdraw" },
  }, whose || person)));
  await send(true);
}
