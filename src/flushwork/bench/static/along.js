// @ts-check
// Weighing along: what the scale shows goes in, how much hardener is to follow comes out.

export async function weighAlong(form, asked) {
  const told = form.querySelector('output'), unit = Number(form.dataset.g);
  const number = (name) => parseFloat(form.elements[name].value) * unit;
  const resin = number('resin'), before = number('before'), after = number('after');
  form.asked = (form.asked ?? 0) + 1;
  const mine = form.asked;
  if (!(resin > 0)) { told.textContent = ''; return; }
  const beside = Number.isFinite(before) ? before - resin : Number(form.dataset.beside);
  if (beside < 0) { told.textContent = 'Before the hardener it cannot show less than with the resin alone.'; return; }
  // what was told is of another weight by now
  told.textContent = '';
  const now = await asked({
    resin_g: resin, beside_g: beside, shown_g: Number.isFinite(after) ? after : null,
  }).catch((error) => error);
  if (mine !== form.asked) return;
  if (now instanceof Error) { told.textContent = `Nothing can be told: ${now.message}`; return; }
  const places = Math.max(0, Math.round(-Math.log10(now.step_g / unit)));
  const g = (value) => `${(value / unit).toFixed(places)} ${form.dataset.unit}`;
  if (!Number.isFinite(after)) {
    told.textContent = now.fine
      ? `Add hardener until it shows ${g(now.target_g)}; stop between ${g(now.low_g)} and ${g(now.high_g)}.`
      : `This is too little for this scale: even its own rounding is more than the ratio bears. Make more, or take a finer scale.`;
  } else if (!now.kind) told.textContent = `The ratio holds (${(now.over * 100).toFixed(1)} % off). Stir.`;
  else {
    told.textContent = `${Math.abs(now.over * 100).toFixed(1)} % too ${now.over > 0 ? 'much' : 'little'} hardener. `
      + `Add ${g(now.add_g)} of ${now.kind}, until it shows ${g(now.then_g)}.`;
  }
}
