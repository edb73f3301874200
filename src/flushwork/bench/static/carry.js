// @ts-check
// What was typed, ticked and unfolded in a part of the page outlives the part being drawn anew.

// a field is known by what stands around it: a card's heading, and its own name or words
function nameOf(field) {
  const around = field.closest('[data-pour], [data-no-return], .finding, .setup, .files > li, section');
  const head = around?.querySelector('h3, h4, b')?.textContent ?? around?.dataset.noReturn ?? '';
  const own = field.name || field.closest('label')?.textContent || field.querySelector?.('summary')?.textContent || '';
  return `${head.trim()}\n${own.trim()}`;
}

const fields = (part) => [...part.querySelectorAll('input:not([type=hidden]):not([type=file]):not([type=date]), textarea')];

export function keptOf(part) {
  const kept = { values: new Map(), ticks: new Set(), open: new Set(), focus: null };
  for (const field of fields(part)) {
    if (field.type === 'checkbox') { if (field.checked) kept.ticks.add(nameOf(field)); }
    else if (field.value !== field.defaultValue) kept.values.set(nameOf(field), field.value);
    if (field === document.activeElement) kept.focus = { name: nameOf(field), at: field.type === 'text' ? field.selectionStart : null };
  }
  for (const fold of part.querySelectorAll('details[open]')) kept.open.add(nameOf(fold));
  return kept;
}

export function putBack(part, kept) {
  for (const field of fields(part)) {
    const name = nameOf(field);
    if (kept.ticks.has(name)) field.checked = true;
    if (kept.values.has(name)) {
      field.value = kept.values.get(name);
      field.dispatchEvent(new Event('input', { bubbles: true }));
    }
    if (kept.focus?.name === name) {
      field.focus({ preventScroll: true });
      if (kept.focus.at !== null) field.setSelectionRange?.(kept.focus.at, kept.focus.at);
    }
  }
  for (const fold of part.querySelectorAll('details')) if (kept.open.has(nameOf(fold))) fold.open = true;
}
