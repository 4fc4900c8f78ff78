/* What does not fit at this width: the page, words that are cut or lie over others, targets too small for a thumb. */
({ least, sentences }) => {
  const { style, up, texts, targets, unscrolled, name, short, visible } = shown;
  const found = [];
  const wide = document.documentElement.clientWidth;
  const say = (what, one, more = "") => found.push(`${what}: ${typeof one === "string" ? one : name(one)}${more}`);
  const round = (size) => Math.round(size * 10) / 10;

  if (document.documentElement.scrollWidth > wide) say("moves sideways", `${document.documentElement.scrollWidth} of ${wide}`);

  /* Words inside the page, inside the box they are printed on, and not under other words. */
  const printedOn = (one) => [...up(one)].find((at) => {
    const { display, backgroundColor, borderTopWidth, borderLeftWidth } = style(at);
    if (display === "inline" || at === document.body || at instanceof SVGElement) return at instanceof SVGSVGElement;
    return !/, 0\)$|transparent/.test(backgroundColor) || (parseFloat(borderTopWidth) && parseFloat(borderLeftWidth));
  });
  const scrolls = (one) => [...up(one)].some((at) => /auto|scroll/.test(style(at).overflowY));
  const sticks = (one) => [...up(one)].some((at) => /sticky|fixed/.test(style(at).position));
  const all = texts();
  for (const { node, one, lies } of all) {
    const box = printedOn(one)?.getBoundingClientRect();
    for (const { left, right, top, bottom } of lies) {
      if (left < -0.5 || right > wide + 0.5) say("beside the page", short(node.data), ` ${round(left)}–${round(right)}`);
      else if (box && (left < box.left - 1.5 || right > box.right + 1.5)) say("beside its box", short(node.data));
      else if (box && !scrolls(one) && (top < box.top - 3 || bottom > box.bottom + 3)) say("above or below its box", short(node.data));
      else continue;
      break;
    }
  }
  const flat = all.filter(({ one }) => !sticks(one))
    .flatMap(({ node, one, lies }) => lies.map((lie) => ({ node, at: unscrolled(lie, one) }))).filter(({ at }) => at)
    .sort((a, b) => a.at.top - b.at.top);
  flat.forEach(({ node, at }, place) => {
    for (const next of flat.slice(place + 1)) {
      if (next.at.top > at.bottom) break;
      const low = Math.min(at.bottom, next.at.bottom) - Math.max(at.top, next.at.top);
      const across = Math.min(at.right, next.at.right) - Math.max(at.left, next.at.left);
      if (next.node !== node && across > 2 && low > 0.4 * Math.min(at.height, next.at.height)) {
        say("over other words", `${short(node.data)} / ${short(next.node.data)}`);
      }
    }
  });

  /* What an element hides of itself, or shows only when it is moved sideways. Fields scroll by their nature. */
  for (const one of document.body.querySelectorAll("*:not(input, select, textarea, svg, svg *)")) {
    const { overflowX, overflowY } = style(one);
    if (overflowX === "visible" && overflowY === "visible") continue;
    if (!one.textContent.trim() || !visible(one)) continue;
    if (one.scrollWidth > one.clientWidth + 1) say("cut at its side", one);
    if (/hidden|clip/.test(overflowY) && one.scrollHeight > one.clientHeight + 1) say("cut at its foot", one);
  }

  /* WCAG 2.5.8 excepts a link within a sentence. We do so only where `sentences` allows it. */
  const inSentence = (one) => one.matches("a") && style(one).display === "inline"
    && [...one.parentElement.childNodes].some((near) => near.nodeType === 3 && /\p{L}/u.test(near.data));
  const felt = targets().filter(({ one }) => !(sentences && inSentence(one)));
  for (const { one, surface } of felt) {
    const { width, height } = surface.getBoundingClientRect();
    if (round(width) < least || round(height) < least) say("too small", surface, ` ${round(width)} × ${round(height)}`);
  }
  const apart = felt.filter(({ one }) => !sticks(one))
    .map(({ surface }) => ({ surface, at: unscrolled(surface.getBoundingClientRect(), surface) })).filter(({ at }) => at);
  apart.forEach(({ surface, at }, place) => {
    for (const next of apart.slice(place + 1)) {
      if (surface.contains(next.surface) || next.surface.contains(surface)) continue;
      const low = Math.min(at.bottom, next.at.bottom) - Math.max(at.top, next.at.top);
      const across = Math.min(at.right, next.at.right) - Math.max(at.left, next.at.left);
      if (low > 1 && across > 1) say("one target over another", `${name(surface)} / ${name(next.surface)}`);
    }
  });
  return { found, texts: all.length, targets: felt.length };
}
