/* Builds entries as the wire wants them, and says in words what an entry is. */
export const WIRE = 1;

export function newUid() {
  if (crypto.randomUUID) return crypto.randomUUID();
  /* Plain http has no randomUUID: version 4 by hand (RFC 9562). */
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 15) | 64;
  bytes[8] = (bytes[8] & 63) | 128;
  const hex = [...bytes].map((one) => one.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

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

const SQUEEZE = {
  dust: "dry as dust", crumbles: "crumbles", holds: "holds together", drops: "a few drops", runs: "water runs out",
};

const bags = (d) => `${halves(d.half_bags)} ${d.half_bags > 2 ? "bags" : "bag"}`;

export const SAID = {
  dropoff: (d, names) => `${halves(d.half_containers)} × ${names.container(d)} of ${names.feedstock(d.feedstock)}`,
  reading: (d) => [
    d.temp_tenths_c != null && `${d.temp_tenths_c / 10} °C${d.place ? ` at the ${d.place}` : ""}`,
    d.squeeze && `squeeze test: ${SQUEEZE[d.squeeze]}`,
    d.fill_per_cent != null && `${d.fill_per_cent} % full`,
    d.signs?.length && `seen: ${d.signs.join(", ")}`,
  ].filter(Boolean).join(", "),
  water: (d) => `${d.volume_ml / 1000} litres of water`,
  turn: (d, names) => `Turned ${d.sources.map((one) =>
    `${one.per_cent === 100 ? "all" : `${one.per_cent} %`} of ${names.bay(one.bay)}`).join(" and ")}`,
  close: () => "Closed: nothing more goes in",
  reopen: () => "Opened for feeding again",
  verdict: (d) => `${d.ready === "ready" ? "Ready" : "Not ready yet"}, by ${d.test}`,
  harvest: (d) => `Harvested ${bags(d)}, ${d.sieved}`,
  tip_out: () => "Emptied without a harvest",
  collection: (d) => `${bags(d)} fetched`,
  hours: (d) => `${Math.round(d.minutes / 0.6) / 100} ${d.minutes === 60 ? "hour" : "hours"}, ${d.people} ${d.people === 1 ? "person" : "people"}`,
  note: () => "A note",
};

/* The entry in plain words: `2 × bucket of grass, Bay 2`. */
export function sentence(entry, names) {
  const { kind, details, bay, words } = entry;
  if (kind === "correction") {
    if (details.says === "withdraw") return "Undone";
    return `Corrected to: ${sentence({ ...details, words: "" }, names)}`;
  }
  const where = bay ? `${kind === "dropoff" || kind === "turn" ? " into" : ","} ${names.bay(bay)}` : "";
  /* What another version of this page, or the further one, recorded. */
  const said = SAID[kind]?.(details, names) || (kind === "session" ? "talk" : kind.replace("_", " "));
  return `${said}${where}${words ? `: “${words}”` : ""}`;
}
