/* Lays out what one site offers: its bays in order, its containers, what is brought there most. */
import { at, button, el, pick } from "./element.js";
import { bayWord, feedstocks } from "./ground.js";
import { find } from "./materials.js";
import { say } from "./words.js";

const chosen = (id) => at(id).querySelector("input:checked")?.value;

export function showSites(ground, site) {
  showOptions("site", ground.sites, site.uid);
  if (at("donor")) showOptions("donor", site.donors, at("donor").value);
}

/* A list kept by an earlier version of this page names no donors. */
function showOptions(id, list = [], value) {
  at(id).replaceChildren(...list.map((one) => el("option", { value: one.uid, selected: one.uid === value }, one.name)));
}

export function showBays(site, bay) {
  at("bays").replaceChildren(...site.bays.map((one) =>
    pick("radio", "bay", one.uid, one.name, bayWord(one, site), one.uid === bay)));
  const ticked = chosenSources();
  at("sources")?.replaceChildren(...site.bays.map((one) => {
    const made = pick("checkbox", "source", one.uid, one.name, one.stage, ticked.includes(one.uid));
    made.firstChild.dataset.skip = "";
    return made;
  }));
}

export function showContainers(site, container) {
  const other = pick("radio", "container", "", say("other size"), "", container === "" || !site.containers.length);
  at("containers").replaceChildren(...site.containers.map((one) =>
    pick("radio", "container", one.uid, one.name, "", one.uid === container)), other);
  if (chosen("containers") == null) at("containers").querySelector("input").checked = true;
}

/* The five brought most, before the way to all; one chosen from the long list takes the last place. */
export function showMaterials(site, feedstock) {
  const first = site.first.filter((key) => feedstocks.has(key));
  if (feedstock && feedstocks.has(feedstock) && !first.includes(feedstock)) first.splice(4, 1, feedstock);
  at("materials").replaceChildren(...first.map((key) =>
    pick("radio", "feedstock", key, feedstocks.get(key).short, "", key === feedstock)));
}

export function showFound(typed, choose) {
  const list = find(typed, feedstocks.values()).map((one) => button(one.short, () => choose(one.key)));
  at("found").replaceChildren(...list);
  if (!list.length) at("found").append(el("p", {}, say("none found")));
}

/* What the choices on the screen come to. */
export const chosenBay = () => chosen("bays") || null;
export const chosenFeedstock = () => chosen("materials");
export const chosenSources = () => [...document.querySelectorAll("#sources input:checked")].map((one) => one.value);

export function chosenContainer(site) {
  const uid = chosen("containers");
  return site.containers.find((one) => one.uid === uid) || null;
}

export const chooseBay = (uid) => tick("bays", uid);
export const chooseContainer = (uid) => uid && tick("containers", uid);

function tick(id, value) {
  const found = [...at(id).querySelectorAll("input")].find((one) => one.value === value);
  if (found) found.checked = true;
}
