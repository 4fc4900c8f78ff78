/* One tap at a heap keeps what was seen or done, through the same store and the same sending as the recording page. */
import { newUid, record } from "./entry.js";
import { keep, setting } from "./outbox.js";
import { send, sendAtGoodMoments } from "./sync.js";
import { say } from "./words.js";

const place = document.querySelector("[data-keeps-at]");

function button(text, press) {
  const made = Object.assign(document.createElement("button"), { type: "button", className: "button small", textContent: text });
  made.addEventListener("click", press);
  return made;
}

/* What is kept of one tap. At one moment the order of kinds decides: a turn before what was seen of it. */
async function recordsOf(kinds) {
  const { site, keepsAt: bay } = place.dataset;
  const person = await setting("person");
  return kinds.map(({ kind, details }) => record({ uid: newUid(), kind, site, bay, details }, person));
}

async function undo(records) {
  await keep(records.map(({ uid, entry, person }) => record({
    uid: newUid(), kind: "correction", site: entry.site, bay: entry.bay, details: { corrects: uid, says: "withdraw" },
  }, person)));
  await send(true);
}

function tell(pressed, ...parts) {
  const said = pressed.closest("[data-said-here]").querySelector("[role=status]");
  said.replaceChildren(...parts);
}

async function tapped(pressed) {
  pressed.disabled = true;
  try {
    const records = await recordsOf(JSON.parse(pressed.dataset.keep));
    await keep(records);
    const back = button(say("undo"), async () => {
      await undo(records);
      tell(pressed, say("undone now"));
      pressed.disabled = false;
    });
    tell(pressed, `${say("kept")} ${pressed.textContent.replace("✓", "").trim()}. ${say("again then")} `, back);
    await send(true);
  } catch (fault) {
    pressed.disabled = false;
    tell(pressed, say(fault.name === "QuotaExceededError" ? "full" : "failed"));
  }
}

/* By the first tap the phone knows who is here. */
sendAtGoodMoments();
place?.addEventListener("click", ({ target }) => {
  const pressed = target.closest("[data-keep]");
  if (pressed && !pressed.disabled) tapped(pressed);
});
