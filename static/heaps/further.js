/* Says in plain words what the page for something else recorded. */
import { bags, hours, loadWord, people } from "./entry.js";
import { say, valueWord } from "./words.js";

const loads = (d, names) => loadWord(d, names, names.feedstock(d.feedstock));

export const FURTHER = {
  refused_load: (d, names) => say("turned away", {
    what: d.half_containers ? loads(d, names) : names.feedstock(d.feedstock), why: valueWord("why", d.why),
  }),
  cover: (d) => say(`cover ${d.way}`),
  stocktake: (d, names) => (d.feedstock ? say("in store", { what: loads(d, names) }) : bags(d.half_containers, "bags in store")),
  spread: (d) => [
    say("mulched", { n: d.tenths_m2 / 10 }), d.depth_mm && say("deep", { n: d.depth_mm / 10 }), d.half_bags && bags(d.half_bags),
  ].filter(Boolean).join(", "),
  soak: (d, names) => say(`soak ${d.way}`, { load: loadWord(d, names, valueWord("weed", d.weed)) }),
  weighing: (d, names) => say("weighed", {
    load: say("some load", { container: names.container(d), material: names.feedstock(d.feedstock) }), kg: (d.full_g - d.empty_g) / 1000,
  }),
  session: (d) => say("session", {
    what: valueWord("sort", d.sort), people: [people(d.people), d.minutes && hours(d.minutes)].filter(Boolean).join(", "),
  }),
  incident: (d) => say("wrong", { what: valueWord("what", d.what) }),
};
