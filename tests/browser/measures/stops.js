/* What a keyboard should reach, in the page's own order: of buttons that exclude each other, only one. */
() => {
  const seen = new Set();
  const found = shown.targets().map(({ one }) => one).filter((one) => {
    if (one.disabled) return false;
    if (one.type !== "radio") return true;
    const group = [...document.getElementsByName(one.name)].filter((other) => other.type === "radio" && other.form === one.form);
    const chosen = group.find((other) => other.checked && !other.disabled);
    if (chosen) return one === chosen;
    const key = `${one.form?.id} ${one.name}`;
    return !seen.has(key) && seen.add(key);
  });
  shown.order = new Map(found.map((one, place) => [one, place]));
  return { names: found.map(shown.name), jumps: found.filter((one) => one.tabIndex > 0).map(shown.name) };
}
