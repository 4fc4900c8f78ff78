/* The fields of one kind of entry: reads them as the wire wants them, and fills them again. */
import { halves } from "./entry.js";
import { say } from "./words.js";

const FACTOR = { whole: 1, halves: 2, tenths: 10, litres: 1000, grams: 1000, hours: 60 };
const field = (control) => control.name.split(".").pop();
const isChoice = (control) => control.type === "radio" || control.type === "checkbox";
export const controls = (panel) => [...panel.querySelectorAll("[name]")];

/* "2½", "2,5" and "2.5" are the same number; "1,200" is one for some and another for others, so nobody's. */
const twoWays = (text) => /^[1-9]\d{0,2},\d{3}$/.test(text.trim());
export const numberIn = (text) =>
  (text.trim() === "" || twoWays(text) ? NaN : Number(text.trim().replace("½", ".5").replace(",", ".")));
const numberOut = (value) => (value % 1 === 0.5 && value > 0 ? halves(value * 2) : String(value));

/* The details of a panel, or the first problem: which control, and what to say. */
export function readPanel(panel) {
  const details = {};
  for (const control of controls(panel)) {
    if ("skip" in control.dataset || (isChoice(control) && !control.checked)) continue;
    if (control.type === "checkbox") (details[field(control)] ??= []).push(control.value);
    else if (control.dataset.as) {
      const read = readNumber(control);
      if (read.problem) return { problem: read.problem, control };
      if (read.value != null) details[field(control)] = read.value;
    } else if (control.value) details[field(control)] = control.value;
  }
  for (const group of panel.querySelectorAll("[data-ask]:not(input)")) {
    const first = group.querySelector("input");
    if (group.dataset.ask && first && !group.querySelector("input:checked")) {
      return { problem: group.dataset.ask, control: first };
    }
  }
  return { details };
}

function readNumber(control) {
  const { as, least, most, optional, ask } = control.dataset;
  const label = control.closest("label")?.textContent.trim();
  if (!control.value.trim()) return optional === undefined ? { problem: ask || say("fill in", { label }) } : {};
  const number = numberIn(control.value);
  const value = Math.round(number * FACTOR[as]);
  if (isNaN(number)) return { problem: say("number", { label }) };
  if (number < least || number > most) return { problem: say("range", { label, least, most }) };
  if (as === "halves" && Math.abs(value - number * 2) > 1e-9) return { problem: say("halves", { label }) };
  return { value };
}

/* What stands in the fields just now, typed or chosen, finished or not. */
export const rawOf = (panel) => controls(panel)
  .filter((control) => (isChoice(control) ? control.checked : control.value))
  .map((control) => [control.name, control.value]);

export function setRaw(panel, raw) {
  for (const control of controls(panel)) {
    const values = raw.filter(([name]) => name === control.name).map(([, value]) => value);
    if (isChoice(control)) control.checked = values.includes(control.value);
    else if (control.type !== "hidden") control.value = values[0] ?? "";
  }
  showHalves(panel);
}

/* The fields as they were when an entry was made: the way back from details. */
export function rawFrom(panel, details) {
  const raw = [];
  for (const control of controls(panel)) {
    const value = details[field(control)];
    if (value == null) continue;
    const factor = FACTOR[control.dataset.as];
    for (const one of [value].flat()) raw.push([control.name, factor ? numberOut(one / factor) : String(one)]);
  }
  return raw;
}

/* Large minus and plus, and a half that goes on and off. */
export function stepOn(pressed) {
  const stepper = pressed.closest(".stepper");
  const input = stepper.querySelector("input");
  const { start, least, most } = input.dataset;
  const number = numberIn(input.value);
  let next = Number(start);
  if (!isNaN(number) && "half" in pressed.dataset) next = number % 1 ? Math.floor(number) : number + 0.5;
  else if (!isNaN(number)) next = number + Number(pressed.dataset.by);
  else if ("half" in pressed.dataset) next = 0.5;
  input.value = numberOut(Math.min(Math.max(next, Number(least)), Number(most)));
  showHalves(stepper);
  input.dispatchEvent(new Event("input", { bubbles: true }));
}

export function showHalves(part) {
  for (const half of part.querySelectorAll("[data-half]")) {
    const value = numberIn(half.closest(".stepper").querySelector("input").value);
    half.setAttribute("aria-pressed", value % 1 === 0.5);
  }
}
