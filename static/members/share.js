/* Sends or copies the link, or the text where the field says so, where the browser can; everywhere else it can be marked and copied by hand. */
const link = document.getElementById("link");
const share = document.getElementById("share");
const copy = document.getElementById("copy");
const copied = document.getElementById("copied");

link.addEventListener("focus", () => link.select());
if (navigator.share) {
  share.hidden = false;
  share.addEventListener("click", () => navigator.share({ [link.dataset.as || "url"]: link.value }).catch(() => null));
}
if (navigator.clipboard) {
  copy.hidden = false;
  copy.addEventListener("click", async () => {
    await navigator.clipboard.writeText(link.value);
    copied.hidden = false;
  });
}
