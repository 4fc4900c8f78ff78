/* The line that always says what waits here and what went when. */
import { at, el } from "./element.js";
import { setAside, setting, waiting } from "./outbox.js";
import { isAnothers, things } from "./records.js";
import { link } from "./sync.js";
import { lang, say } from "./words.js";

export function clock(moment) {
  const [when, now] = [new Date(moment), new Date()];
  const time = { hour: "2-digit", minute: "2-digit" };
  if (when.toDateString() === now.toDateString()) return when.toLocaleTimeString(lang, time);
  const year = when.getFullYear() === now.getFullYear() ? undefined : "numeric";
  return when.toLocaleString(lang, { weekday: "short", day: "numeric", month: "short", year, ...time });
}

export async function showStatus() {
  const all = things((await waiting()).filter((one) => !one.withdrawn));
  const [lastSent, person, aside] = await Promise.all([setting("last_sent"), setting("person"), setAside()]);
  const going = all.filter((one) => !one.refused);
  const refused = all.length - going.length + aside.length;
  const count = going.length;
  const others = going.filter((one) => isAnothers(one, person)).length;
  const parts = [];
  if (refused) parts.push(el("a", { href: "#recorded" }, say("need", { n: refused })));
  if (count && link.signedOut) {
    parts.push(el("a", { href: at("state").dataset.signIn }, say("sign in", { n: count })), say("till then"));
  } else if (count) parts.push(say("all wait", { n: count }));
  if (others) parts.push(say("others wait", { n: others }));
  if (!count && !refused) parts.push(say(lastSent ? "all sent" : "none wait"));
  if (lastSent) parts.push(count || refused ? say("last sent", { when: clock(lastSent) }) : clock(lastSent));
  if (count && link.trouble) parts.push(link.trouble);
  at("state").replaceChildren(...parts.flatMap((part) => [part, " "]));
  at("send-now").hidden = link.signedOut || !going.some((one) => !person || one.person === person);
  at("yours").hidden = !link.unclaimed.length;
  at("yours-count").textContent = link.unclaimed.length;
}
