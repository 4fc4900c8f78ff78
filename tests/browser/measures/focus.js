/* Where the keyboard is just now: which of the page's targets, what shows it, and whether anything lies over it. */
({ leastRing }) => {
  const { style, up, name } = shown;
  shown.styles.clear();
  const one = document.activeElement;
  if (!one || one === document.body || one === document.documentElement) return null;
  const rgb = (text) => (text.match(/[\d.]+/g) || []).map(Number);
  const light = (colour) => {
    const [r, g, b] = colour.slice(0, 3).map((part) => part / 255).map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
  const solid = (at) => { const colour = rgb(style(at).backgroundColor); return colour.length === 3 || colour[3] === 1 ? colour : null; };
  const around = (at) => [...up(at.parentElement)].map(solid).find(Boolean) || [255, 255, 255];

  /* A picture of a field may carry the ring for it. */
  const ringed = [one, one.nextElementSibling, one.closest("label")].filter(Boolean);
  const rings = ringed.map((at) => {
    const { outlineStyle, outlineWidth, outlineColor, boxShadow } = style(at);
    const ground = around(at);
    const line = outlineStyle !== "none" && parseFloat(outlineWidth) >= 2 ? ratio(rgb(outlineColor), ground) : 0;
    const halo = line && boxShadow !== "none" ? ratio(rgb(boxShadow), ground) : 0;
    return Math.max(line, halo);
  });
  const problems = [];
  if (Math.max(...rings) < leastRing) problems.push("nothing shows where the keyboard is");

  const felt = shown.surface(one);
  const at = one.getBoundingClientRect();
  const inset = 3;
  const spots = [[at.left + inset, at.top + inset], [at.right - inset, at.top + inset], [at.left + at.width / 2, at.top + at.height / 2],
    [at.left + inset, at.bottom - inset], [at.right - inset, at.bottom - inset]];
  const tall = at.height > innerHeight / 2;
  const clear = spots.filter(([x, y]) => {
    const top = document.elementFromPoint(x, y);
    return top && (felt.contains(top) || top.contains(felt) || one.getClientRects().length > 1);
  });
  if (clear.length < (tall ? 1 : spots.length)) problems.push(`${spots.length - clear.length} of ${spots.length} spots are covered or off the screen`);
  const stuck = [...up(one)].some((each) => /sticky|fixed/.test(style(each).position));
  return { problems: problems.map((problem) => `${problem}: ${name(one)}`), place: shown.order.get(one) ?? -1, name: name(one),
    top: at.top + scrollY, bottom: at.bottom + scrollY, stuck };
}
