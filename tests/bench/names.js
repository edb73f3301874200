() => {
  const amiss = [];
  const named = (e) => (e.getAttribute('aria-label') || e.textContent || e.title || '').trim()
    || [...(e.labels ?? [])].some((l) => l.textContent.trim())
    || (e.getAttribute('aria-labelledby') || '').split(' ').some((i) => document.getElementById(i));
  for (const e of document.querySelectorAll('button, a, input, select, textarea, [role]')) {
    if (!e.checkVisibility() || e.getAttribute('role') === 'status' || e.getAttribute('role') === 'alert') continue;
    if (!named(e)) amiss.push(e.outerHTML.slice(0, 90));
  }
  for (const e of document.querySelectorAll('img')) if (!e.alt) amiss.push(e.outerHTML.slice(0, 90));
  for (const e of document.querySelectorAll('svg')) {
    if (!e.closest('[aria-hidden=true]') && !e.getAttribute('aria-label')) amiss.push('svg ' + e.outerHTML.slice(0, 60));
  }
  const ids = [...document.querySelectorAll('[id]')].map((e) => e.id);
  for (const id of new Set(ids)) if (ids.filter((i) => i === id).length > 1) amiss.push('twice: ' + id);
  let last = 0;
  for (const h of document.querySelectorAll('h1, h2, h3, h4')) {
    if (!h.checkVisibility()) continue;
    const level = Number(h.tagName[1]);
    if (level > last + 1) amiss.push(`heading ${h.tagName} after H${last}: ${h.textContent}`);
    last = level;
  }
  if (!document.documentElement.lang) amiss.push('no language');
  return amiss;
}
