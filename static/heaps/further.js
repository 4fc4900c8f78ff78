/* Says in plain words what the page for something else recorded. */
import { halves } from "./entry.js";

const count = (number, one, more) => `${number} ${number === 1 ? one : more}`;
const loads = (d, names) => `${halves(d.half_containers)} × ${names.container(d)}`;
const hours = (minutes) => count(Math.round(minutes / 0.6) / 100, "hour", "hours");

export const FURTHER = {
  refused_load: (d, names) =>
    `Turned away: ${d.half_containers ? `${loads(d, names)} of ` : ""}${names.feedstock(d.feedstock)} (${d.why})`,
  cover: (d) => (d.way === "on" ? "Covered" : "Cover taken off"),
  stocktake: (d, names) => (d.feedstock
    ? `In store: ${loads(d, names)} of ${names.feedstock(d.feedstock)}` : `In store: ${halves(d.half_containers)} bags of compost`),
  spread: (d) => [
    `Mulched ${count(d.tenths_m2 / 10, "square metre", "square metres")}`,
    d.depth_mm && `${d.depth_mm / 10} cm deep`, d.half_bags && `${halves(d.half_bags)} bags`,
  ].filter(Boolean).join(", "),
  soak: (d, names) => `${loads(d, names)} of ${d.weed === "other" ? "weeds" : d.weed} ${d.way === "in" ? "into" : "out of"} the tub`,
  weighing: (d, names) => `Weighed: ${names.container(d)} of ${names.feedstock(d.feedstock)}, ${(d.full_g - d.empty_g) / 1000} kg`,
  session: (d) => `${{ other: "Get-together" }[d.sort] || d.sort}: ${count(d.people, "person", "people")}${d.minutes ? `, ${hours(d.minutes)}` : ""}`,
  incident: (d) => `Went wrong: ${d.what === "other" ? "something else" : d.what}`,
};
