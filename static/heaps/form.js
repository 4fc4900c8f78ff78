/* The one form: which panel shows, what it says just now, and the entry it makes. */
import { at } from "./element.js";
import { feedstocks, ruled } from "./ground.js";
import { keepWords, loadWords } from "./main-button.js";
import { lifting, verdict } from "./materials.js";
import {
  chosenBay, chosenContainer, chosenFeedstock, chosenSources, showBays, showContainers, showMaterials, showSites,
} from "./offers.js";
import { controls, numberIn, rawFrom, readPanel, setRaw, showHalves } from "./panels.js";
import { say } from "./words.js";

export const page = { ground: null, site: null, panel: "", uid: "", correcting: null, touched: false, last: {} };
export const form = at("entry");
const panels = () => form.querySelectorAll("[data-panel]");
export const panel = () => form.querySelector(`[data-panel="${page.panel}"]`);

/* The ground as it is known now, and the same site on it as before, or the first. */
export function stand(ground, site = page.site?.uid) {
  page.ground = ground;
  page.site = ground.sites.find((one) => one.uid === site) || ground.sites[0];
  ruled(page.site || {});
  for (const id of ["says", "open"]) at(id).textContent = page.site?.[id] || "";
}

export function layOut(bay, material) {
  const { site, last, ground } = page;
  showSites(ground, site);
  showBays(site, bay || site.fed || site.bays[0]?.uid);
  showContainers(site, last.container ?? site.usual[material ?? last.feedstock]);
  showMaterials(site, material ?? last.feedstock);
  for (const bag of form.querySelectorAll('[name="bag_ml"]')) bag.value = ground.bag_ml;
}

export function show(name) {
  page.panel = name;
  for (const one of panels()) one.hidden = one.dataset.panel !== name;
  const { where, title } = panel().dataset;
  at("title").textContent = title;
  at("where").hidden = !where;
  at("where-label").textContent = `${where || ""} `;
  at("more").open = name === "note";
  showHalves(panel());
  page.laid?.();
  tell();
}

/* Everything the page says about what is chosen just now. */
export function tell() {
  const bay = page.site.bays.find((one) => one.uid === chosenBay());
  const material = feedstocks.get(chosenFeedstock());
  const container = chosenContainer(page.site);
  const [load, never] = [page.panel === "dropoff", material?.acceptance === "never"];
  at("where-bay").textContent = bay?.closed ? say("closed bay", { bay: bay.name }) : bay?.name || "";
  at("where-site").textContent = page.ground.sites[1] ? page.site.name : "";
  at("verdict").hidden = !material || !panel().dataset.gate;
  at("verdict").classList.toggle("alarm", never);
  at("away")?.setAttribute("href", `/drop-off/more/#refused=${material?.key}`);
  if (material && page.judged !== material) at("verdict").replaceChildren(verdict(page.judged = material));
  at("other-size").hidden = container;
  at("lift").textContent = material ? lifting(material, containerMl(container)) : "";
  const count = panel().querySelector(`[name="half_containers"]`)?.value || "";
  at("keep").textContent = load ? loadWords(numberIn(count), { material, container, bay }) : keepWords(panel().dataset, bay);
  page.told?.(material, bay);
}

function containerMl(container) {
  return container ? container.filled_ml : Math.round((numberIn(at("other-size").querySelector("input").value) || 0) * 1000);
}

/* What the form says, as an entry without person: or the first problem. */
export function said() {
  const read = page.read ? page.read() : page.panel === "dropoff" ? saidLoad() : page.panel === "turn" ? saidTurn() : readPanel(panel());
  if (read.problem) return read;
  const { kind, where } = panel().dataset;
  const bay = where ? chosenBay() : null;
  if (where && !bay && !panel().dataset.free) return { problem: say("no bays"), control: at("site") };
  const { when: typed } = form.elements;
  if (typed.validity.badInput) return { problem: say("half a date"), control: typed };
  const when = typed.value ? new Date(typed.value) : null;
  const words = form.elements.words.value.trim();
  if (kind === "note" && !words) return { problem: say("no words"), control: form.elements.words };
  return { uid: page.uid, kind, site: page.site.uid, bay, when, details: read.details, words, donor: kind === "dropoff" && at("donor").value };
}

function saidLoad() {
  const material = feedstocks.get(chosenFeedstock());
  if (material?.acceptance === "never") {
    return { problem: say("never", { material: material.short, instead: material.instead }), control: at("materials").querySelector("input:checked") };
  }
  return sized(readPanel(panel()));
}

/* With what one container holds, chosen or typed. */
export function sized(read) {
  if (read.problem) return read;
  const container = chosenContainer(page.site);
  const litres = at("other-size").querySelector("input");
  read.details.container_ml = containerMl(container);
  if (!(read.details.container_ml >= 100 && read.details.container_ml <= 5000000)) {
    return { problem: say("litres?"), control: litres };
  }
  return read;
}

function saidTurn() {
  const read = readPanel(panel());
  if (read.problem) return read;
  const perCent = read.details.per_cent ?? 100;
  return { details: { sources: chosenSources().map((bay) => ({ bay, per_cent: perCent })) } };
}

/* Fills the form with an entry, so that it can be corrected. */
export function fillFrom(entry) {
  stand(page.ground, entry.site);
  layOut(entry.bay, entry.details.feedstock);
  show(panelFor(entry));
  const { details } = entry;
  const flat = entry.kind === "turn" ? { per_cent: details.sources[0].per_cent } : details;
  const raw = rawFrom(panel(), flat);
  if (details.container_ml) {
    raw.push(["container", details.container || ""], ["litres", details.container_ml / 1000], ["donor", entry.donor]);
  }
  if (entry.kind === "turn") for (const { bay } of details.sources) raw.push(["source", bay]);
  setRaw(panel(), raw);
  form.elements.words.value = entry.words || "";
  tell();
}

/* Of several panels for one kind, the first whose own field is there. */
const panelFor = ({ kind, details }) =>
  [...panels()].find(({ dataset: one }) => one.kind === kind && (!one.of || one.of in details)).dataset.panel;

export function emptied() {
  for (const control of controls(form)) {
    if (control.type === "radio" || control.type === "checkbox") control.checked = control.defaultChecked;
    else if (control.type !== "hidden") control.value = control.defaultValue || "";
  }
}

export function complain(text, control) {
  at("not-kept").textContent = text;
  at("not-kept").hidden = false;
  control?.closest("details")?.setAttribute("open", "");
  control?.setAttribute("aria-invalid", "true");
  control?.focus();
}
