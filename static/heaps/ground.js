/* What this phone knows of the ground: sites, bays, containers, and what is brought most. */
import { putSetting, setting } from "./outbox.js";
import { at } from "./element.js";
import { holds, mended } from "./records.js";
import { say } from "./words.js";

const FRESH_MS = 5000;
const JUST_NOW_MS = 60000;

const COLUMNS = "key short also acceptance reason instead density group moisture nitrogen ratio".split(" ");
const listed = JSON.parse(at("feedstocks").textContent);
export const feedstocks = new Map();

/* The list as it holds at a site: its rules are stricter, and sent only where they are. */
export function ruled({ rules }) {
  for (const row of listed) {
    const one = Object.fromEntries(COLUMNS.map((name, place) => [name, row[place]]));
    if (rules?.[one.key]) [one.acceptance, one.reason] = rules[one.key];
    feedstocks.set(one.key, one);
  }
}

/* The page's own list: there at once, and perhaps old. */
export const ownGround = () => JSON.parse(at("now").textContent);

/* A newer list kept since, if there is one. */
export async function loadGround(own) {
  const newer = await setting("now").catch(() => null);
  return newer?.sites && newer.as_of > own.as_of ? newer : own;
}

/* Asks the server anew, unless this is its own answer of just now and bays are there; nothing when it does not answer. */
export async function freshGround({ as_of: asOf, sites }) {
  if (sites.some((one) => one.bays.length) && Math.abs(Date.now() - Date.parse(asOf)) < JUST_NOW_MS) return null;
  try {
    const answer = await fetch("/drop-off/now/", { signal: AbortSignal.timeout?.(FRESH_MS), redirect: "error" });
    const ground = answer.ok ? await answer.json() : null;
    if (!ground?.sites) return null;
    await putSetting("now", ground);
    return ground;
  } catch {
    return null;
  }
}

/* Bays as closed and opened by entries of this phone that the list does not know of and that are not undone. */
export function overlaid(ground, records) {
  const undone = mended(records, "withdraw");
  const said = records
    .filter((one) => holds(one) && !undone.has(one.uid) && !(one.sent_at < Date.parse(ground.as_of)))
    .map(({ entry }) => entry)
    .filter(({ kind }) => kind === "close" || kind === "reopen")
    .sort((one, other) => one.occurred_at.localeCompare(other.occurred_at));
  if (!said.length) return ground;
  const fresh = JSON.parse(JSON.stringify(ground));
  for (const site of fresh.sites) {
    for (const { kind, bay } of said) {
      const found = site.bays.find((one) => one.uid === bay);
      if (found) found.closed = kind === "close";
      if (found && kind === "reopen") site.fed = bay;
    }
    if (site.bays.find((one) => one.uid === site.fed)?.closed) {
      site.fed = site.bays.find((one) => !one.closed && one.kind !== "leaf")?.uid;
    }
  }
  return fresh;
}

export function namesFor(ground) {
  const names = new Map(ground.sites.flatMap((site) => [...site.bays, ...site.containers].map((one) => [one.uid, one.name])));
  return {
    bay: (uid) => names.get(uid) || say("a bay"),
    container: (details) => names.get(details.container) || say("litres", { n: details.container_ml / 1000 }),
    feedstock: (key) => feedstocks.get(key)?.short.toLowerCase() || key,
  };
}

export function bayWord(bay, site) {
  if (bay.closed) return say("closed");
  if (bay.uid === site.fed) return say("fed");
  return bay.stage;
}
