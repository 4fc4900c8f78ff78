/* The page for something else starts here. Its panels share one choice of materials and one of sizes. */
import { at, pick } from "./element.js";
import { SAID } from "./entry.js";
import { form, page, panel, sized, tell } from "./form.js";
import { FURTHER } from "./further.js";
import { begin, choose } from "./opening.js";
import { readPanel } from "./panels.js";
import { say } from "./words.js";

const choosing = () => page.panel === "choose";
const nowhere = () => at("bays").querySelector('[value=""]');

page.laid = () => {
  for (const slot of panel().querySelectorAll("[data-slot]")) slot.append(at(slot.dataset.slot));
  for (const id of ["keep", "more", "back"]) at(id).hidden = choosing();
};

page.told = (material) => {
  if (panel().dataset.free && !nowhere()) at("bays").prepend(pick("radio", "bay", "", say("no bay")));
  const what = panel().querySelector('[name="what"]:checked')?.value;
  for (const one of form.querySelectorAll("[data-caution]")) one.hidden = one.dataset.caution !== what;
  const reasons = [...panel().querySelectorAll('[name="why"]')];
  if (material?.acceptance === "never" && reasons.length && !reasons.some((one) => one.checked)) reasons[0].checked = true;
};

/* The details as the wire wants them for this kind, or the first problem. */
page.read = () => {
  if (choosing()) return { problem: say("what first"), control: at("kinds").querySelector("button") };
  const { kind } = panel().dataset;
  const read = readPanel(panel());
  if (read.problem) return read;
  const { details } = read;
  if (page.panel === "bags") details.container_ml = details.bag_ml;
  if (kind !== "spread" || !details.half_bags) delete details.bag_ml;
  if (kind !== "weighing") delete details.container;
  if (kind === "weighing" && details.full_g <= details.empty_g) {
    return { problem: say("weights"), control: form.elements.full_g };
  }
  return panel().contains(at("size")) && (kind === "weighing" || details.half_containers != null) ? sized(read) : read;
};

/* An accident is at no bay until somebody says so. */
function unplaced() {
  if (panel().dataset.free) nowhere().checked = true;
  at("more").open = Boolean(panel().dataset.words);
  tell();
}

/* What was turned away may be named, too (`#refused=bones`). */
page.asked = (asked, isPlace) => {
  unplaced();
  if (asked && !isPlace && panel().contains(at("materials"))) choose(decodeURIComponent(asked));
};

Object.assign(SAID, FURTHER);
at("kinds").addEventListener("click", unplaced);
at("back").addEventListener("click", () => at("title").focus());
at("site").addEventListener("change", unplaced);
/* A caution must not hide behind the main button. */
form.addEventListener("change", ({ target }) => {
  if (target.name === "what") form.querySelector("[data-caution]:not([hidden])")?.scrollIntoView({ block: "nearest" });
});
begin();
