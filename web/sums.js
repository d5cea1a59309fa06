// What the sums of a place and those of a bake share: their rows, their style, and airflow as the shop measures it.
import { h } from './dom.js';
import { amountToMl, amountUnit, isUs, temp, tempGap } from './units.js';

const M3H_PER_CFM = 1.69901082; // a cubic foot a minute

const sheets = new Map();
export function sheet(name) {
  if (!sheets.has(name)) sheets.set(name, Object.assign(document.createElement('link'), { rel: 'stylesheet', href: `/assets/${name}.css` }));
  if (!sheets.get(name).isConnected) document.head.append(sheets.get(name));
}

export const row = (name, value, more = '') => [h('dt', {}, name), h('dd', {}, h('b', {}, value), more && h('span', {}, ` ${more}`))];

export const flowUnit = () => (isUs() ? 'cfm' : 'm³/h');
export const flowToM3h = (n) => (isUs() ? n * M3H_PER_CFM : n);
export const flowFrom = (m3h) => (isUs() ? m3h / M3H_PER_CFM : m3h);
// To a tenth, on the cautious side: what is wanted up, what counts down.
const tenths = (round, slack) => (m3h) => (m3h === null ? 'not known' : `${Number((round(flowFrom(m3h) * 10 + slack) / 10).toFixed(1))} ${flowUnit()}`);
export const flowWanted = tenths(Math.ceil, -1e-9);
export const flowCounted = tenths(Math.floor, 1e-9);
export const liquid = (ml) => `${Number((ml / amountToMl(1)).toPrecision(2))} ${amountUnit()}`;

// A sentence of the shop, whose figures are metric, as the page measures.
export function inUnits(text) {
  return text.replace(/(\d+(?:\.\d+)?) C(?= (?:above|below|colder|hotter|warmer)\b)/g, (all, n) => tempGap(Number(n))).replace(/(-?\d+(?:\.\d+)?) C\b/g, (all, n) => temp(Number(n)))
    .replace(/(\d+(?:\.\d+)?) ml\b/g, (all, n) => (isUs() ? liquid(Number(n)) : all)).replace(/(\d+(?:\.\d+)?) m3\/h/g, (all, n) => flowWanted(Number(n)));
}
