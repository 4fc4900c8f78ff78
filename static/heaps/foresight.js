/* Before it is kept: what a load does to its heap, with all that this phone recorded and the server did not know. */
import { brings, effect, heaped, sum } from "./effect.js";
import { SAID } from "./entry.js";
import { fits } from "./fit.js";
import { feedstocks, namesFor } from "./ground.js";
import { holds } from "./records.js";
import { say } from "./words.js";

/* After these a heap is another one, and its sums are the server's to tell. */
const ANOTHER_HEAP = ["opening", "turn", "harvest", "tip_out"];

/* In words; nothing where all is well, or where nobody can tell. */
export function foresee(...asked) {
  try {
    return reckoned(...asked);
  } catch {
    return ""; // an entry that nobody can make out
  }
}

function reckoned(loads, bay, { ground, site, records = [] }) {
  const since = bay?.sums && changes(bay, records, Date.parse(ground.as_of));
  if (!since) return "";
  const remedies = { brown: known(site.brown) && mixOf(site.brown), green: known(site.green) && mixOf(site.green) };
  const heap = sum(bay.sums, ...since.map(([times, details]) => mixOf(details).map((kg) => times * kg)));
  const room = bay.room == null ? null : since.reduce((left, [times, details]) => left - times * litres(details), bay.room);
  const [does, amount] = effect(heap, sum(...loads.map(mixOf)), loads.map(litres).reduce((one, other) => one + other), room, remedies);
  if (!does) return "";
  const usual = does === "brown" ? site.green : site.brown;
  const what = does === "dry" ? say("water", { n: amount })
    : amount ? SAID.dropoff({ ...usual, half_containers: amount * 2 }, namesFor(ground)) : say(does === "brown" ? "greens" : "browns");
  return say(`now ${does}`, { bay: bay.name, what });
}

/* Whether a turn fits. What was tipped since is less than the range; after a turn since nobody can tell, nor by a list
   that an earlier version of the page kept. */
export function foreseeTurn({ sources }, into, { ground, site, records = [] }) {
  if (!into.lies || records.some((one) => ANOTHER_HEAP.includes(one.entry.kind) && !(one.sent_at < Date.parse(ground.as_of)))) return "";
  const lying = site.bays.map((bay) => {
    const turned = (sources.find((one) => one.bay === bay.uid)?.per_cent ?? 0) / 100;
    return [bay.lies, turned, bay === into ? 1 - turned : 0];
  });
  return say(`turn ${fits(lying, into.holds)}`, { bay: into.name });
}

/* The page's list may be older than what the server says is usual, or newer than what waits here. */
const known = (details) => feedstocks.has(details?.feedstock);

const tippedMl = ({ half_containers: halves = 2, container_ml: ml }) => Math.floor((halves * ml) / 2);
const mixOf = (details) => (details.feedstock
  ? brings(feedstocks.get(details.feedstock), tippedMl(details), details.weighed_g) : [details.volume_ml / 1000, 0, 0, 0]);
const litres = (details) => (details.feedstock ? heaped(feedstocks.get(details.feedstock), tippedMl(details)) : 0);

/* Loads and water that lie in the bay and not in the server's sums, each once; minus once where it is the other way round. */
function changes(bay, records, asOf) {
  const told = (one) => one?.sent_at < asOf;
  const mends = new Map(records.filter(holds).map((one) => [one.entry.details.corrects, one]));
  const found = [];
  for (const one of records) {
    const { kind, bay: where, details } = one.entry.kind === "correction" ? one.entry.details : one.entry;
    const mend = mends.get(one.uid);
    const times = (holds(one) && !mend) - (told(one) && !told(mend));
    if (!times || ![where, ...(details?.sources || []).map((source) => source.bay)].includes(bay.uid)) continue;
    if (ANOTHER_HEAP.includes(kind)) return null;
    if (kind === "dropoff" && !known(details)) return null;
    if (kind === "dropoff" || kind === "water") found.push([times, details]);
  }
  return found;
}
