/* What is asked once before an entry is kept. Nothing here ever blocks. */
const MANY = 20;
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
      key: `closed ${bay}`, yes: `It went into ${into.name}`, other: open,
      text: `${into.name} is closed: nothing more goes in.${open ? ` ${open.name} is being fed.` : ""}`,
    });
  }
  if (kind === "dropoff" && material?.acceptance === "treat first") {
    asked.push({ key: `treated ${material.key}`, yes: "Yes, it was", no: "No", text: `Was it treated? ${material.instead}` });
  }
  if (kind === "dropoff" && details.half_containers > MANY * 2) {
    const count = details.half_containers / 2;
    asked.push({ key: `many ${count}`, yes: `Yes, ${count}`, no: "No, change it", text: `Really ${count} of them?` });
  }
  if (new Date(at) > Date.now() + 600000) {
    asked.push({ key: `ahead ${at}`, yes: "Keep it so", no: "Change it", text: "This date lies ahead." });
  }
  if (new Date(at) < Date.now() - YEAR_MS) {
    asked.push({ key: `old ${at}`, yes: "Keep it so", no: "Change it", text: "This date is more than a year back." });
  }
  return asked;
}
