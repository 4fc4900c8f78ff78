/* What is said here stands in the page, in the reader's language (heaps/phone_words.py). Gaps like {bay} are filled in. */
export const { lang } = document.documentElement;
const told = JSON.parse(document.getElementById("words")?.textContent || "{}");

/* Of several forms the one for the number in the gap {n}. */
export function say(key, gaps = {}) {
  const { [key]: said = key, forms } = told;
  const number = Math.ceil(gaps.n);
  const text = Array.isArray(said) ? said[forms[number < 100 ? number : 100 + (number % 100)]] : said;
  return text.replace(/\{(\w+)\}/g, (gap, name) => gaps[name]?.toLocaleString(lang));
}

/* A value of the ledger inside a sentence; one of tomorrow reads as it is. */
export const valueWord = (field, value) => told[`${field} ${value}`] || value;
