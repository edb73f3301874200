() => {
  const parts = (text) => text.match(/[\d.]+/g).map(Number);
  const line = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => (v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4))
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ground = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const back = parts(getComputedStyle(at).backgroundColor);
      if (back.length < 4 || back[3] > 0.99) return back;
    }
    return [255, 255, 255];
  };
  const poor = [];
  for (const node of document.querySelectorAll('body *:not(svg *):not(option)')) {
    const own = [...node.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own || !node.checkVisibility() || node.closest('[disabled], [aria-hidden=true]')) continue;
    const style = getComputedStyle(node), [a, b] = [line(parts(style.color)), line(ground(node))];
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const large = parseFloat(style.fontSize) >= 24;
    if (ratio < (large ? 3 : 4.5)) poor.push(`${node.textContent.trim().slice(0, 30)}: ${ratio.toFixed(2)}`);
  }
  return poor;
}
