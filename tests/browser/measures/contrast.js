/* WCAG's contrast of all that is written against what is painted behind it, and of the edge of each field and button. */
({ least, leastEdge }) => {
  const { style, up, texts, targets, name, short } = shown;
  const rgba = (text) => {
    const [r, g, b, a = 1] = (text.match(/[\d.]+/g) || [0, 0, 0, 0]).map(Number);
    return text === "transparent" ? [0, 0, 0, 0] : [r, g, b, a];
  };
  const over = ([r, g, b, a], under) => [r, g, b].map((one, place) => one * a + under[place] * (1 - a));
  const light = (colour) => {
    const [r, g, b] = colour.map((one) => one / 255).map((one) => (one <= 0.04045 ? one / 12.92 : ((one + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (one, other) => {
    const [a, b] = [light(one), light(other)].sort((x, y) => y - x);
    return Math.round(((a + 0.05) / (b + 0.05)) * 10) / 10;
  };
  const behind = (one) => [...up(one)].reverse().reduce((under, at) => over(rgba(style(at).backgroundColor), under), [255, 255, 255]);
  const faded = (one) => [...up(one)].reduce((left, at) => left * Number(style(at).opacity), 1);

  /* In a drawing: the shape painted last under the middle of the words. A pattern has no one colour. */
  const drawnBehind = (one, at) => {
    const [x, y] = [at.left + at.width / 2, at.top + at.height / 2];
    const shapes = [...one.ownerSVGElement.querySelectorAll("rect, circle, path, polygon")]
      .filter((shape) => shape.compareDocumentPosition(one) & Node.DOCUMENT_POSITION_FOLLOWING && style(shape).fill !== "none")
      .filter((shape) => { const r = shape.getBoundingClientRect(); return r.left < x && x < r.right && r.top < y && y < r.bottom; });
    if (!shapes.length) return behind(one.ownerSVGElement.parentElement);
    const { fill } = style(shapes.at(-1));
    return fill.startsWith("url") ? null : rgba(fill).slice(0, 3);
  };

  const found = [];
  const judge = (what, ink, ground, one, bar = least) => {
    const stands = ground ? ratio(over([...ink.slice(0, 3), (ink[3] ?? 1) * faded(one)], ground), ground) : 0;
    if (stands < bar) found.push(`${what} ${stands}:1: ${name(one)}`);
  };
  const all = texts();
  for (const { one, lies } of all) {
    if (one.closest("svg")) judge("drawn words", rgba(style(one).fill), drawnBehind(one, lies[0]), one);
    else judge("words", rgba(style(one).color), behind(one), one);
    for (const [side, made] of ["::before", "::after"].map((side) => [side, getComputedStyle(one, side)])) {
      if (/[^\s"'.:,+−]/.test(made.content) && !/^(none|normal)$/.test(made.content)) judge(side, rgba(made.color), behind(one), one);
    }
  }
  for (const { one } of targets()) {
    if (one.matches("[type=checkbox], [type=radio]") || one.matches("a:not(.button), summary:not(.button), .link")) continue;
    if (one.matches("input, select, textarea")) {
      judge("in the field", rgba(style(one).color), behind(one), one);
      if (one.placeholder) judge("hint", rgba(getComputedStyle(one, "::placeholder").color), behind(one), one);
    }
    const [inside, outside, edge] = [behind(one), behind(one.parentElement), style(one)];
    const line = parseFloat(edge.borderTopWidth) && edge.borderTopStyle !== "none" ? rgba(edge.borderTopColor) : [...inside, 1];
    if (ratio(inside, outside) < leastEdge) judge("edge", line, outside, one, leastEdge);
  }
  return { found, texts: all.length };
}
