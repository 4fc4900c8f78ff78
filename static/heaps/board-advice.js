/* Lines about what to add that nobody had reckoned yet: fetched once the board is shown, which waits for none of it. */
const places = [...document.querySelectorAll("[data-to-reckon]")].filter((place) => place.dataset.toReckon);

async function fillIn() {
  const answer = await fetch("/heaps/what-to-add/", { credentials: "same-origin" });
  const lines = answer.ok ? await answer.json() : {};
  for (const place of places) {
    const line = lines[place.dataset.toReckon];
    if (line) fill(place, line);
  }
}

/* The rough number of containers goes where the line has the right one. */
function fill(place, line) {
  place.textContent = line;
  for (const rough of document.querySelectorAll(`[data-rough="${place.dataset.toReckon}"]`)) {
    const { plain } = rough.dataset;
    rough.textContent = rough.closest(".waits") ? `${plain} ${line}` : plain;
  }
}

if (places.length) fillIn().catch(() => null);
