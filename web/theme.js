// Light or dark: as the device says until somebody chooses.
const KEY = 'coat-theme';
const device = matchMedia('(prefers-color-scheme: dark)');
let chosen = null;

export const currentTheme = () => chosen || (device.matches ? 'dark' : 'light');

function apply() { if (chosen) document.documentElement.dataset.theme = chosen; }

export function startTheme() {
  try { chosen = localStorage.getItem(KEY); } catch { /* private window */ }
  if (chosen !== 'light' && chosen !== 'dark') chosen = null;
  apply();
}

export function toggleTheme() {
  chosen = currentTheme() === 'dark' ? 'light' : 'dark';
  try { localStorage.setItem(KEY, chosen); } catch { /* kept until the page is left */ }
  apply();
}
