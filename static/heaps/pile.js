/* What was begun lies in a pile for a day, the latest on top: nothing is written over that nobody has looked at. */
import { at } from "./element.js";
import { DAY_MS, seen } from "./outbox.js";

/* Each form has its own, and each person: nobody sees what somebody else began. */
const DRAFT = at("entry")?.dataset.draft || "draft";
export const draftsOf = (person) => (person ? [`${DRAFT} ${person}`, DRAFT] : [DRAFT]);

/* Takes one thing out, and lays on top what it is by now. */
export function begun(store, draft, ...now) {
  seen(store, "settings", "person", (person) => draftsOf(person).forEach((key, place) =>
    seen(store, "settings", key, (drafts) => {
      const others = ofToday(drafts).filter((one) => one.draft !== draft);
      store("settings").put(place ? others : [...now, ...others], key);
    })));
}

export const ofToday = (drafts) => [drafts].flat(2).filter((one) => one?.at > Date.now() - DAY_MS);
