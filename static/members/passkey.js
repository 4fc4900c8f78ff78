/* Buttons that ask for the phone's lock. The question is fetched before the tap: Safari wants the call right in it. */
import { answer, question } from "./passkey-bytes.js";

const FRESH_MS = 240000; // the server forgets a question after five minutes

/* Why this browser cannot, in a word that names one of the page's lines; or nothing. */
function hindrance() {
  const { userAgent } = navigator;
  const inside = /; wv\)/.test(userAgent) || (/iPhone|iPad/.test(userAgent) && !/Safari\//.test(userAgent));
  if (inside) return "inside";
  if (!window.PublicKeyCredential || !navigator.credentials) return "old";
  return /^[\d.]+$|:/.test(location.hostname) ? "number" : "";
}

function begin(place) {
  const form = place.querySelector("form");
  const button = form.querySelector("button");
  const ready = { at: 0, asked: null };

  const say = (word) => place.querySelectorAll("[data-when]").forEach((line) => { line.hidden = line.dataset.when !== word; });

  async function fetchQuestion() {
    if (Date.now() - ready.at < FRESH_MS) return;
    const headers = { "X-CSRFToken": form.elements.csrfmiddlewaretoken.value };
    const got = await fetch(place.dataset.question, { method: "POST", headers, redirect: "error" });
    if (!got.ok) throw new Error(got.status);
    Object.assign(ready, { asked: question(await got.json()), at: Date.now() });
    button.disabled = false;
  }

  const prepare = () => fetchQuestion().catch(() => { if (!ready.asked) say("offline"); });

  async function ask() {
    const made = place.dataset.passkey === "make" ? "create" : "get";
    form.elements.answer.value = answer(await navigator.credentials[made]({ publicKey: ready.asked }));
    form.submit();
  }

  button.addEventListener("click", () => {
    say("");
    ask().catch((why) => { say(why.name === "InvalidStateError" ? "known" : "stopped"); prepare(); });
  });
  const hinders = hindrance();
  say(hinders);
  if (hinders) return;
  for (const hidden of [form, place.closest("[data-passkey-offer]")]) if (hidden) hidden.hidden = false;
  prepare();
  setInterval(prepare, FRESH_MS);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) prepare(); });
  addEventListener("pageshow", ({ persisted }) => { if (persisted) { ready.at = 0; prepare(); } });
}

document.querySelectorAll("[data-passkey]").forEach(begin);
