/* Lets the page open without a network, and takes a new version over when nothing is being typed. */
export async function watchWorker(untouched) {
  if (!("serviceWorker" in navigator)) return;
  const registration = await navigator.serviceWorker.register("/service-worker.js");
  const takeOver = () => registration.waiting && untouched() && registration.waiting.postMessage("take over");
  takeOver();
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", takeOver);
  });
}
