/* The guide's search without a network: what is typed is looked up in the page itself. */
import { finder } from "./guide-search.js";

const at = (id) => document.getElementById(id);
const find = finder(JSON.parse(at("guide-index").textContent));
const field = at("q");

const copies = (keys, list, name) =>
  keys.map((key) => list.querySelector(`[data-${name}="${key}"]`)).filter(Boolean).map((one) => one.cloneNode(true));

function answer() {
  const { keys, whole } = find(field.value);
  const things = copies(keys, at("all-things"), "thing");
  const said = !keys.length ? "none" : !whole ? "part" : things.length ? "whole" : "place";
  at("found-things").replaceChildren(...things);
  at("found-places").replaceChildren(...copies(keys, at("all-places"), "place"));
  for (const one of document.querySelectorAll("[data-say]")) one.hidden = one.dataset.say !== said;
  at("found").hidden = !field.value.trim();
}

/* A page that the phone kept knows nothing of the words in the address. */
function fromAddress() {
  field.value = new URLSearchParams(location.search).get("q") || field.value;
  if (field.value.trim()) answer();
}

field.addEventListener("input", answer);
at("ask").addEventListener("submit", (event) => {
  event.preventDefault();
  history.replaceState(null, "", field.value.trim() ? `?q=${encodeURIComponent(field.value.trim())}` : location.pathname);
  answer();
  at("found").scrollIntoView();
  field.blur();
});
fromAddress();
