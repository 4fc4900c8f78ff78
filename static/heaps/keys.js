/* Hand-over keys: with its person's key an entry can still be handed in when nobody is signed in any more. */
import { change } from "./outbox.js";

/* Nobody is signed in: what is recorded now is nobody's yet. A key goes with the last entry of its person. */
export function nobodyIsHere() {
  return change((at) => {
    at("settings").put(null, "person");
    at("waiting").getAll().onsuccess = ({ target: { result: waiting } }) => {
      const needed = new Set(waiting.filter((one) => !one.withdrawn).map((one) => `key ${one.person}`));
      at("settings").getAllKeys().onsuccess = ({ target: { result: names } }) => {
        for (const name of names) if (name.startsWith("key ") && !needed.has(name)) at("settings").delete(name);
      };
    };
  });
}
