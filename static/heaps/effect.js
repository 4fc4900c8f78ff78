/* What a load does to a heap: as heaps/science/effect.py, which is the authority; tests/vectors/effect.json holds both to it.
   A mix is [wet, dry, carbon, nitrogen] in kilograms. */
const { ceil, floor, max, min } = Math;
const [RICH, AIM, ENOUGH_BROWN, BROWN] = [20, 30, 40, 50];
const [DRY, MOIST, AIM_MOISTURE, WET] = [0.4, 0.5, 0.6, 0.68];
const [PACKING, MOST_AT_ONCE, CAN_L, JUST_MORE] = [1.25, 20, 10, 1e-9];

/* What so much of a material brings, weighed or reckoned in whole grams. */
export function brings({ density, moisture, nitrogen, ratio }, ml, grams = floor((ml * density + 500) / 1000)) {
  const dry = (grams / 1000) * (1 - moisture);
  return [grams / 1000, dry, dry * nitrogen * ratio, dry * nitrogen];
}

export const sum = (...mixes) => mixes.reduce((one, other) => one.map((kg, place) => kg + other[place]));

/* Litres in the heap of millilitres as tipped; what is liquid soaks in. */
export const heaped = ({ group }, ml) => (group === "liquid" ? 0 : ml / 1000 / PACKING);

/* What the load does, and how much to add: containers of the brown or the green, or litres of water. */
export function effect(heap, load, litres, room, { brown, green }) {
  if (room != null && litres >= room) return ["full"];
  const whole = sum(heap, load);
  const does = trouble(whole);
  if (!does) return [trouble(heap) && "helps"];
  const [better, worse] = does === "rich" || does === "dry" ? [load, heap] : [heap, load];
  const measure = does === "rich" || does === "brown" ? carbonToNitrogen : damp;
  if (heap[1] && measure(better) > measure(worse) * (1 + JUST_MORE)) return ["helps"];
  const mixes = [load, whole];
  if (does === "dry") {
    return [does, ceil(min(...mixes.map(([wet, dry]) => (MOIST * wet - wet + dry) / (1 - MOIST))) / CAN_L - JUST_MORE) * CAN_L];
  }
  const unit = does === "brown" ? green : brown;
  const times = unit && does !== "cover" ? min(...mixes.map((mix) => timesOf(does, mix, unit))) : Infinity;
  return [does, times < Infinity ? min(max(1, ceil(times - JUST_MORE)), MOST_AT_ONCE) : null];
}

function trouble(mix) {
  if (!mix[1]) return "";
  const [ratio, moisture] = [carbonToNitrogen(mix), damp(mix)];
  if (ratio < RICH) return "rich";
  if (moisture > WET) return ratio < ENOUGH_BROWN ? "wet" : "cover";
  return moisture < DRY ? "dry" : ratio > BROWN ? "brown" : "";
}

function timesOf(does, mix, unit) {
  const [wet, dry, carbon, nitrogen] = mix;
  const lacking = (goal) => [goal * nitrogen - carbon, unit[2] - goal * unit[3]];
  if (does === "brown") return times(...lacking(ENOUGH_BROWN).map((kg) => -kg));
  const drying = times(wet - dry - AIM_MOISTURE * wet, AIM_MOISTURE * unit[0] - unit[0] + unit[1]);
  return max(times(...lacking(AIM)), damp(mix) > WET ? min(drying, times(...lacking(ENOUGH_BROWN))) : 0);
}

const times = (lacks, gives) => (lacks <= 0 ? 0 : gives > 0 ? lacks / gives : Infinity);
const carbonToNitrogen = ([, , carbon, nitrogen]) => (nitrogen ? carbon / nitrogen : 0);
const damp = ([wet, dry]) => (wet ? (wet - dry) / wet : 0);
