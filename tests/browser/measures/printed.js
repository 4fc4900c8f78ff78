/* What a sheet of paper would hold: every word that is seen, and whatever can only be used on a screen. */
() => {
  const all = shown.texts();
  return {
    words: all.map(({ node }) => node.data),
    controls: shown.targets().map(({ one }) => one)
      .filter((one) => one.matches("button, input:not([readonly]), select, textarea, .button, nav *")).map(shown.name),
  };
}
