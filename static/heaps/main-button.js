/* What the main button says: all that a tap on it keeps. */
import { halves } from "./entry.js";
import { say } from "./words.js";

export function loadWords(count, { material, container, bay }) {
  if (!material) return say("choose");
  if (material.acceptance === "never") return say("not in");
  const load = say(isNaN(count) ? "some load" : "load", {
    count: halves(Math.round(count * 2)), container: container?.name || say("a load"), material: material.short.toLowerCase(),
  });
  return say(bay ? "keep into" : "keep load", { load, bay: bay?.name });
}

export const keepWords = ({ button: what, where }, bay) => say(where && bay ? "keep at" : "keep", { what, bay: bay?.name });
