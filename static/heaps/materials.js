/* What may go in: finding a material by its plain name, and the word said at the gate. */
import { el } from "./element.js";
import { say } from "./words.js";

const GENTLE_KG = 16;
const HEAVY_KG = 25;

const plain = (text) => text.toLowerCase().normalize("NFD").replace(/[^a-z0-9 ]+/g, " ");

/* Every typed word begins a word of the name; names that begin with the first one come first. */
export function find(typed, materials) {
  const wanted = plain(typed).split(" ").filter(Boolean);
  const matches = [...materials].map((one) => ({ one, words: plain(`${one.short} ${one.also}`).split(" ") }))
    .filter(({ words }) => wanted.every((start) => words.some((word) => word.startsWith(start))));
  const rank = ({ words }) => (wanted.length && words[0].startsWith(wanted[0]) ? 0 : 1);
  return matches.sort((a, b) => rank(a) - rank(b) || a.one.short.localeCompare(b.one.short)).map(({ one }) => one);
}

/* The word is always in sight; why, at once where something is to be done first, else on a tap. */
export function verdict(material) {
  const said = el("summary", {}, el("b", {}, say(`accepted ${material.acceptance}`)));
  const shown = el("details", {}, said, el("p", {}, `${material.reason} ${material.instead}`.trim()));
  shown.open = ["treat first", "never"].includes(material.acceptance);
  return shown;
}

/* Heavy to lift? HSE INDG143 looks closer at more than 16 kg (women) or 25 kg (men) held close to the body. */
export function lifting(material, containerMl) {
  const kg = Math.round((containerMl * material.density) / 1e6);
  if (kg < GENTLE_KG) return "";
  return say(kg < HEAVY_KG ? "heavy" : "very heavy", { kg });
}
