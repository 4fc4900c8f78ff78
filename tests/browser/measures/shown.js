/* What is on the page just now, measured in CSS pixels: words, and whatever a thumb or a key can reach.
   Each of these files is one expression; `shown` is laid on the page once and used by the others. */
globalThis.shown ??= (() => {
  const styles = new Map();
  const style = (one) => styles.get(one) || styles.set(one, getComputedStyle(one)).get(one);

  const up = function* up(one) {
    for (let at = one; at; at = at.parentElement) yield at;
  };

  /* For a screen reader only: clipped to nothing, or laid beside the page until it is reached by a key. */
  const unseen = (one) => [...up(one)].some((at) =>
    style(at).clipPath === "inset(50%)" || (at.matches(".skip") && at !== document.activeElement));

  const visible = (one) => one.checkVisibility({ visibilityProperty: true }) && !unseen(one);

  /* The part of a rectangle that the boxes around it do not scroll away. */
  const unscrolled = (rect, one) => {
    const left = { left: rect.left, right: rect.right, top: rect.top, bottom: rect.bottom };
    for (const at of up(one)) {
      if (!/auto|scroll/.test(style(at).overflowY) || at === document.body || at === document.documentElement) continue;
      const frame = at.getBoundingClientRect();
      Object.assign(left, { top: Math.max(left.top, frame.top), bottom: Math.min(left.bottom, frame.bottom) });
    }
    const [width, height] = [left.right - left.left, left.bottom - left.top];
    return width > 0 && height > 0 ? { ...left, width, height } : null;
  };

  const rects = (node) => {
    const range = document.createRange();
    range.selectNodeContents(node);
    return [...range.getClientRects()].filter((one) => one.width > 0.5 && one.height > 0.5);
  };

  /* Every piece of text that can be seen, with where it lies. What is written in a field is the field's own. */
  const texts = () => {
    styles.clear();
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const found = [];
    while (walker.nextNode()) {
      const node = walker.currentNode;
      const one = node.parentElement;
      if (!node.data.trim() || one.closest("script, noscript, style, option, textarea, title, desc") || !visible(one)) continue;
      const lies = rects(node);
      if (lies.length) found.push({ node, one, lies });
    }
    return found;
  };

  const REACHED = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex], [contenteditable]";

  /* The surface that takes the tap: a field takes it anywhere on the label around it. */
  const surface = (one) => (one.matches("input, select, textarea") && one.closest("label")) || one;

  const targets = () => {
    styles.clear();
    return [...document.querySelectorAll(REACHED)]
      .filter((one) => one.tabIndex >= 0 && visible(one))
      .map((one) => ({ one, surface: surface(one) }));
  };

  const short = (text) => text.trim().replace(/\s+/g, " ").slice(0, 50);
  const name = (one) => `${one.tagName.toLowerCase()}${one.id ? `#${one.id}` : ""} “${short(one.textContent || one.name || one.value || "")}”`;

  return { style, styles, up, visible, unseen, rects, texts, targets, surface, unscrolled, name, short };
})();
