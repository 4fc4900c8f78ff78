/* Builds entries as the wire wants them, and says in words what an entry is. */
import { say, valueWord } from "./words.js";

export const WIRE = 1;

/* Plain http has no randomUUID: there the name of a thing in memory ends with a new one (W3C File API, blob URLs). */
export const newUid = () => crypto.randomUUID?.() ?? URL.createObjectURL(new Blob()).slice(-36);

export function record({ uid, kind, site, bay, when, details, words, donor }, person) {
  const entry = {
    wire: WIRE, uid, kind, site, bay: bay || null,
    occurred_at: (when || new Date()).toISOString(), by_hand: Boolean(when), details, words: words || "", donor: donor || null,
  };
  return { uid, entry, person: person || null, kept_at: Date.now() };
}

export function halves(count) {
  const whole = Math.floor(count / 2);
  return `${whole || (count % 2 ? "" : "0")}${count % 2 ? "½" : ""}`;
}

export const bags = (half, key = "bags") => say(key, { n: half / 2, bags: halves(half) });
export const hours = (minutes) => say("hours", { n: Math.round(minutes / 0.6) / 100 });
export const people = (n) => say("people", { n });
export const loadWord = (d, names, material) =>
  say("load", { count: halves(d.half_containers), container: names.container(d), material });

export const SAID = {
  dropoff: (d, names) => loadWord(d, names, names.feedstock(d.feedstock)),
  reading: (d) => [
    d.temp_tenths_c != null && say(d.place ? "warm at" : "warm", { n: d.temp_tenths_c / 10, place: valueWord("place", d.place) }),
    d.squeeze && say("squeezed", { what: valueWord("squeeze", d.squeeze) }),
    d.fill_per_cent != null && say("fill", { n: d.fill_per_cent }),
    d.signs?.length && say("signs", { what: d.signs.map((one) => valueWord("sign", one)).join(", ") }),
  ].filter(Boolean).join(", "),
  water: (d) => say("water", { n: d.volume_ml / 1000 }),
  turn: (d, names) => say("turned", {
    what: d.sources.map((one) => say(one.per_cent === 100 ? "all of" : "share of", { n: one.per_cent, bay: names.bay(one.bay) }))
      .reduce((one, other) => say("and", { one, other })),
  }),
  close: () => say("close"),
  reopen: () => say("reopen"),
  verdict: (d) => say(d.ready === "ready" ? "ready" : "not yet ready", { test: valueWord("test", d.test) }),
  harvest: (d) => say("harvest", { bags: bags(d.half_bags), sieved: valueWord("sieved", d.sieved) }),
  tip_out: () => say("tip out"),
  collection: (d) => say("fetched", { bags: bags(d.half_bags) }),
  hours: (d) => `${hours(d.minutes)}, ${people(d.people)}`,
  note: () => say("note"),
};

/* In a word, what another page or another version of this one recorded, and what nobody can make out. */
function inWords(kind, details, names) {
  try {
    return SAID[kind](details, names);
  } catch {
    return valueWord("kind", kind);
  }
}

/* The entry in plain words: `2 × bucket of grass, Bay 2`. */
export function sentence(entry, names) {
  const { kind, details, bay, words } = entry;
  if (kind === "correction") {
    return details.says === "withdraw" ? say("undoing") : say("instead", { what: sentence({ ...details, words: "" }, names) });
  }
  let what = inWords(kind, details, names);
  const inPlace = [details?.sources].flat().every((one) => one?.bay === bay);
  if (bay && !inPlace) what = say(kind === "dropoff" || kind === "turn" ? "into" : "at", { what, bay: names.bay(bay) });
  return words ? say("with words", { what, words }) : what;
}
