/* What was begun lies in a pile for a day, the latest on top: nothing is written over that nobody has looked at. */
import { DAY_MS } from "./outbox.js";

/* Each form has its own, and each person: nobody sees what somebody else began. */
const DRAFT = document.getElementById("entry")?.dataset.draft || "draft";
export const draftsOf = (person) => (person ? [`${DRAFT} ${person}`, DRAFT] : [DRAFT]);

/* Takes one thing out, and lays on top what it is by now. */
export function begun(at, draft, ...now) {
  at("settings").get("person").onsuccess = ({ target: { result: person } }) => {
    draftsOf(person).forEach((key, place) => {
      at("settings").get(key).onsuccess = ({ target: { result } }) => {
        const others = ofToday(result).filter((one) => one.draft !== draft);
        at("settings").put(place ? others : [...now, ...others], key);
      };
    });
  };
}

export const ofToday = (drafts) => [drafts].flat(2).filter((one) => one?.at > Date.now() - DAY_MS);
