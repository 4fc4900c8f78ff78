/* Takes the worker of an earlier release off a phone, with the pages it kept. What people recorded is not touched. */
self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => event.waitUntil(takeOff()));

async function takeOff() {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith("heaps-")).map((name) => caches.delete(name)));
  await self.registration.unregister();
}
