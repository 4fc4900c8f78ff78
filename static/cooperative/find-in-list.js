/* Hides what does not hold the typed words, in the list that follows: nothing of a name goes into an address or a log. */
const box = document.getElementById("find-in-list");
const [input, told] = box.querySelectorAll("input, [role=status]");
const rows = [...document.querySelectorAll("[data-found-by]")].map((row) => ({ row, text: plain(row.dataset.foundBy) }));

function plain(text) {
  return text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
}

function find(typed) {
  const words = plain(typed).split(/\s+/).filter(Boolean);
  for (const { row, text } of rows) row.hidden = !words.every((word) => text.includes(word));
  const shown = rows.filter(({ row }) => !row.hidden).length;
  if (!words.length) told.textContent = "";
  else told.textContent = shown ? `${shown} / ${rows.length}` : told.dataset.none;
}

box.hidden = rows.length < Number(box.dataset.from);
input.addEventListener("input", () => find(input.value));
if (input.value) find(input.value); // a browser that goes back to a page brings back what was typed
