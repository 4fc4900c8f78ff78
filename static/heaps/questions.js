/* What is asked once before an entry is kept. Nothing here ever blocks. */
import { say } from "./words.js";

const MANY = 20;
const SOON_MS = 600000;
const YEAR_MS = 366 * 86400000;

/* The first unanswered question, or nothing. `other` is a different bay that could be meant. */
export function question(entry, { site, material, answered }) {
  return all(entry, site, material).find((one) => !answered.has(one.key)) || null;
}

function all({ kind, bay, details, occurred_at: at }, site, material) {
  const asked = [];
  const into = site.bays.find((one) => one.uid === bay);
  if (kind === "dropoff" && into?.closed) {
    const open = site.bays.find((one) => one.uid === site.fed);
    asked.push({
      key: `closed ${bay}`, yes: say("it went", { bay: into.name }), other: open,
      text: say(open ? "closed but" : "is closed", { bay: into.name, other: open?.name }),
    });
  }
  if (kind === "dropoff" && material?.acceptance === "treat first") {
    asked.push({ key: `treated ${material.key}`, yes: say("treated"), no: say("no"), text: say("treated?", material) });
  }
  if (kind === "dropoff" && details.half_containers > MANY * 2) {
    const n = details.half_containers / 2;
    asked.push({ key: `many ${n}`, yes: say("really", { n }), no: say("change"), text: say("really?", { n }) });
  }
  const far = new Date(at) > Date.now() + SOON_MS ? "ahead" : new Date(at) < Date.now() - YEAR_MS && "old";
  if (far) asked.push({ key: `${far} ${at}`, yes: say("keep so"), no: say("change date"), text: say(`${far}?`) });
  return asked;
}
