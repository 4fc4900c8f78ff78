/* Will a turn fit? As heaps/science/fit.py, which is the authority; tests/vectors/fit.json holds both to it. */
import { sum } from "./effect.js";

const LOOSER = [1.09, 1.25];
const OVER_EDGE = 1.1;

/* Into a bay of so many litres: of each heap the least and the most litres, what share is forked, and what stays there. */
export function fits(lying, bayL) {
  const [least, most] = sum(...lying.map(([litres, turned, stays]) =>
    litres.map((one, place) => one * (LOOSER[place] * turned + stays))));
  return most <= bayL ? "yes" : most <= bayL * OVER_EDGE ? "only heaped" : least <= bayL ? "perhaps" : "no";
}
