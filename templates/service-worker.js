/* Keeps pages for times without a network. It answers GETs only, and sends nothing by itself. */
const known = KNOWN_TO_THE_SERVER;
const KEPT = `heaps-${known.version}`;
const SLOW_MS = 3000;
const files = new Set(known.files);
const heapPage = new RegExp(`^${known.board}([0-9a-f-]{36}/((signs|heat|ready)/)?)?$`);
const guidePages = new Set(known.guide);
const keptWhenSeen = (path) => heapPage.test(path) || path === known.tub || guidePages.has(path);

self.addEventListener("install", (event) => {
  routeByName(event);
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll([...known.files, ...known.shells.map((one) => new Request(one, { cache: "reload" }))])));
});

/* Where a browser knows how, the recording pages and their files come without waking the worker: a cold start is shorter.
   Elsewhere "fetch" below does the same. Nothing there is fetched anew: another page is another version of the worker. */
function routeByName(event) {
  if (!event.addRoutes) return;
  const source = { cacheName: KEPT };
  const pages = known.shells.map((pathname) => ({ condition: { urlPattern: { pathname }, requestMode: "navigate" }, source }));
  event.waitUntil(event.addRoutes([...pages, { condition: { urlPattern: { pathname: "/static/*" } }, source }]).catch(() => null));
}

self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys().then((names) =>
    Promise.all(names.filter((name) => name.startsWith("heaps-") && name !== KEPT).map((name) => caches.delete(name)))));
  keepGuide().catch(() => null); // nothing waits for it: until a worker is active, the browser holds every page back
});

/* The guide is kept before anybody opens it, as nobody's page. Without it the rest works all the same: what did not
   come at the start comes when a page is opened. */
async function keepGuide() {
  const kept = await caches.open(KEPT);
  for (const path of known.guide) {
    if (await kept.match(path, { ignoreVary: true })) continue;
    const answer = await fetch(path, { credentials: "omit" }).catch(() => null);
    if (!answer) return;
    if (answer.ok && !answer.redirected) await kept.put(path, answer);
  }
}

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if ([known.sign_in, known.sign_out, known.welcome].includes(url.pathname)) event.waitUntil(forgetSeenPages());
  if (request.method !== "GET") return;
  if (request.mode === "navigate") event.waitUntil(keepGuide().catch(() => null));
  if (known.shells.includes(url.pathname) && request.mode === "navigate") event.respondWith(shellFirst(event, url.pathname));
  else if (files.has(url.pathname)) event.respondWith(fileFirst(request));
  else if (request.mode === "navigate" && keptWhenSeen(url.pathname)) event.respondWith(networkFirst(event, url.pathname));
  else if (request.mode === "navigate") event.respondWith(reach(request).catch(offlinePage));
});

async function fileFirst(request) {
  const kept = await caches.open(KEPT);
  return (await kept.match(request, { ignoreVary: true })) || fetch(request);
}

/* A recording page comes from the phone at once, and is fetched anew behind it. */
async function shellFirst(event, path) {
  const kept = await caches.open(KEPT);
  const page = await kept.match(path, { ignoreVary: true });
  const fresh = freshShell(kept, event.request, path);
  event.waitUntil(fresh.catch(() => null));
  return page || fresh.catch(offlinePage);
}

/* A page made by a newer version needs files that are not kept here: it waits for its own worker. */
async function freshShell(kept, request, path) {
  const answer = await fetch(request);
  if (!answer.ok || answer.redirected) return answer;
  const text = await answer.clone().text();
  const needed = text.match(/\/static\/[^"]+/g) || [];
  if (needed.every((one) => files.has(one))) await kept.put(path, answer.clone());
  return answer;
}

/* Board, heaps, tub and guide: the newest within 3 seconds, else as they were last seen. An answer to a question is not kept. */
async function networkFirst(event, path) {
  const kept = await caches.open(KEPT);
  const fetched = reach(event.request).then(async (answer) => {
    if (answer.ok && !answer.redirected && !new URL(event.request.url).search) await kept.put(path, answer.clone());
    return answer;
  });
  event.waitUntil(fetched.then(keepGuide).catch(() => null));
  const seen = await kept.match(path, { ignoreVary: true });
  if (!seen) return fetched.catch(offlinePage);
  const slow = new Promise((done) => setTimeout(done, SLOW_MS, seen));
  return Promise.race([fetched.catch(() => seen), slow]);
}

/* An answer of the server. A proxy that has none to pass on is as good as no network. */
async function reach(request) {
  const answer = await fetch(request);
  if ([502, 503, 504].includes(answer.status)) throw new Error("The server rests.");
  return answer;
}

/* Whoever signs out, or comes to sign in, leaves no page of theirs behind. */
async function forgetSeenPages() {
  const kept = await caches.open(KEPT);
  const seen = (await kept.keys()).filter((request) => keptWhenSeen(new URL(request.url).pathname));
  await Promise.all(seen.map((request) => kept.delete(request)));
  await keepGuide();
}

function offlinePage() {
  const policy = "default-src 'none'; style-src 'self'; img-src 'self'; manifest-src 'self'";
  const headers = { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": policy };
  return new Response(known.offline_page, { status: 503, headers });
}
