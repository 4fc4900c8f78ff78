/* Letters to the server, and what its answers mean. */
import { WIRE, newUid } from "./entry.js";
import { putSetting, setting } from "./outbox.js";
import { say } from "./words.js";

const ANSWER_MS = 10000;

export async function letter(person, batch, count) {
  let device = await setting("device");
  if (!device) await putSetting("device", (device = newUid()));
  const entries = batch.map((one) => one.entry);
  return { wire: WIRE, device, person, sent_at: new Date().toISOString(), waiting: count, entries };
}

export async function call(method, csrf, body) {
  const stop = new AbortController();
  const late = setTimeout(() => stop.abort(), ANSWER_MS);
  const headers = body && { "Content-Type": "application/json", "X-CSRFToken": csrf };
  try {
    const answer = await fetch("/sync/", {
      method, headers, body: body && JSON.stringify(body),
      signal: stop.signal, redirect: "manual", cache: "no-store",
    });
    const ahead = Date.now() - Date.parse(answer.headers.get("Date")) || 0;
    const said = /^application.json/.test(answer.headers.get("Content-Type")) ? await answer.json() : null;
    return { status: answer.status, said, wait: Number(answer.headers.get("Retry-After")) || 0, ahead };
  } finally {
    clearTimeout(late);
  }
}

/* What an answer that is none means: some other page than ours, a server at rest, or one that would not. */
export function why({ status, said }) {
  if (said?.reason) return said.reason;
  if (status < 400 && !said) return say("portal");
  return say(status === 429 || status >= 500 ? "busy" : "not taken");
}
