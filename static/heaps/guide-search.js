/* Can I put ... in? The same as heaps/guide/search.py, which is the authority; tests/vectors/guide_search.json holds both to it. */
const LEAST_BEGIN = 3;
const LEAST_SLIP = 4;
const EXACT = 3;
const BEGINS = 2;
const SLIP = 1;
const MOST_FOUND = 12;

/* From the page's index a function: what is typed gives the keys that were found, best first, and whether all words were. */
export function finder({ fillers, weak, endings, entries }) {
  const left = new Set(fillers);
  const faint = new Set(weak);
  const all = entries.map(([key, strictness, phrases]) => ({ key, strictness, phrases: phrases.map((one) => one.split(" ")) }));
  const known = new Set(all.flatMap((one) => one.phrases.flat()));

  function stem(word) {
    const fits = endings.find(([ending, , least]) => word.endsWith(ending) && word.length >= least);
    return fits ? word.slice(0, word.length - fits[0].length) + fits[1] : word;
  }

  function asked(typed) {
    const spoken = plainWords(typed).filter((word) => !left.has(word));
    const naming = spoken.filter((word) => !faint.has(word));
    const joined = [];
    for (const word of (naming.length ? naming : spoken).map(stem)) {
      const last = joined.at(-1);
      const both = last === undefined ? "" : last + word;
      if (known.has(both) && !(known.has(last) && known.has(word))) joined[joined.length - 1] = both;
      else joined.push(word);
    }
    return [...new Set(joined)];
  }

  function meanings(word) {
    const as = (words, rank) => new Map(words.map((one) => [one, rank]));
    if (known.has(word)) return as([word], EXACT);
    const begun = [...known].filter((one) => word.length >= LEAST_BEGIN && one.startsWith(word));
    if (begun.length) return as(begun, BEGINS);
    return as([...known].filter((one) => word.length >= LEAST_SLIP && oneSlip(word, one)), SLIP);
  }

  return (typed) => {
    const words = asked(typed);
    const meant = words.map(meanings);
    const ranked = all.map((one) => [rankOf(one, meant), one.key]).filter(([[held]]) => held);
    const most = Math.max(0, ...ranked.map(([[held]]) => held));
    const best = ranked.filter(([[held]]) => held === most).sort(([a], [b]) => compare(b, a));
    return { keys: best.slice(0, MOST_FOUND).map(([, key]) => key), whole: most > 0 && most === words.length };
  };
}

const plainWords = (text) =>
  text.normalize("NFD").replace(/\p{M}/gu, "").replace(/[’']/g, "").toLowerCase().match(/[a-z0-9]+/g) || [];

function rankOf({ phrases, strictness }, meant) {
  const words = phrases.flat();
  const best = meant.map((one) => Math.max(0, ...words.map((word) => one.get(word) || 0)));
  const share = Math.max(...phrases.map((phrase) =>
    meant.filter((one) => phrase.some((word) => one.has(word))).length / phrase.length));
  return [best.filter(Boolean).length, best.reduce((sum, one) => sum + one, 0), share, strictness];
}

function compare(a, b) {
  const at = a.findIndex((one, number) => one !== b[number]);
  return at < 0 ? 0 : a[at] - b[at];
}

export function oneSlip(one, other) {
  if (Math.abs(one.length - other.length) > 1) return false;
  let start = 0;
  while (start < Math.min(one.length, other.length) && one[start] === other[start]) start += 1;
  const rest = one.slice(start);
  const others = other.slice(start);
  const swapped = rest.length > 1 && rest[1] + rest[0] === others.slice(0, 2) && rest.slice(2) === others.slice(2);
  return rest.slice(1) === others.slice(1) || rest === others.slice(1) || rest.slice(1) === others || swapped;
}
