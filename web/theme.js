// Light or dark: as the device says until somebody chooses. The page runs this as soon as it has come, the sooner the less is painted in the other light.
const KEY = 'coat-theme';
const device = matchMedia('(prefers-color-scheme: dark)');
let chosen = null;

export const currentTheme = () => chosen || (device.matches ? 'dark' : 'light');

function apply() { if (chosen) document.documentElement.dataset.theme = chosen; }

export function toggleTheme() {
  chosen = currentTheme() === 'dark' ? 'light' : 'dark';
  try { localStorage.setItem(KEY, chosen); } catch { /* kept until the page is left */ }
  apply();
}

try { chosen = localStorage.getItem(KEY); } catch { /* private window */ }
if (chosen !== 'light' && chosen !== 'dark') chosen = null;
apply();
