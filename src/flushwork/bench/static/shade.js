// @ts-check
// The page's light or dark, as chosen on the job's page.
document.documentElement.dataset.shade = localStorage.getItem('shade') ?? '';
