/* The recording page starts here. Beside what every page records it tells what a load does, and lays browns on top. */
import { at } from "./element.js";
import { SAID, newUid, sentence } from "./entry.js";
import { foresee, foreseeTurn } from "./foresight.js";
import { form, page, said } from "./form.js";
import { feedstocks, namesFor } from "./ground.js";
import { begin } from "./opening.js";
import { say } from "./words.js";

const { on_top: onTop, close_after: closeAfter } = form.elements;
const top = () => ({ ...page.site.brown, half_containers: 2 });

page.told = (material, bay) => {
  const green = page.panel === "dropoff" && material?.group === "green" && material.acceptance !== "never";
  const now = page.correcting ? {} : said();
  const isLoad = now.kind === "dropoff";
  const effectOf = (loads) => foresee(loads.map((one) => one.details), bay, page);
  const full = isLoad && effectOf([now]) === say("now full", { bay: bay?.name });
  const offered = !full && green && feedstocks.has(page.site.brown?.feedstock) && bay && bay.kind !== "leaf" && !page.correcting;
  at("top").hidden = !offered;
  onTop.checked &&= offered;
  if (offered) {
    const brown = SAID.dropoff(top(), namesFor(page.ground));
    at("top-load").textContent = say("on top", { load: brown });
    if (onTop.checked) at("keep").textContent = say("keep both", { keep: at("keep").textContent, load: brown });
  }
  at("effect").textContent = isLoad ? effectOf([now, ...page.beside(now)]) : "";
  if (now.kind !== "turn") return;
  at("keep").textContent = say("keep", { what: sentence({ ...now, words: "" }, namesFor(page.ground)) });
  at("effect").textContent = foreseeTurn(now.details, bay, page);
};

/* What is kept together with an entry, after it. */
page.beside = (entry) => {
  const one = { ...entry, uid: newUid(), words: "", donor: null };
  if (entry.kind === "dropoff" && onTop.checked) return [{ ...one, details: top() }];
  return entry.kind === "turn" && closeAfter.checked ? [{ ...one, kind: "close", details: {} }] : [];
};

begin();
