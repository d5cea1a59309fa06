// The caution plate: on top of every view, always; and what defers, at the bottom.
import { h, replace } from './dom.js';
import { picture } from './gates.js';

const SHOWN = 4;
// What is always true, for a page that has not reached the shop yet.
const ALWAYS = [['ventilation', 'Fresh air: fan on, door open', 'Solvent vapour is harmful to breathe and burns. Move it out of the room while you work and until the coat has dried.'],
  ['flame', 'No flame, no sparks', 'Vapour travels along the floor to a flame. Put out pilot lights and heaters, and do not smoke.'],
  ['rags', 'Oily rags under water, lid on', 'Rags with drying oil heat themselves and can start a fire hours later.'],
  ['label-first', 'Label and safety sheet first', 'The product label, its safety data sheet and local rules come before this page.']];
const DEFERRAL = 'Times are estimates. The product label, the safety data sheet, local codes and licensed practice decide.';

function entries(shop) {
  if (!shop || !shop.shop_cautions || !shop.shop_cautions.length) return ALWAYS.map(([code, act, text]) => ({ code, act, text, source: '' }));
  return cautionsOf(shop.shop_cautions, shop.cautions);
}

// The cautions of codes, each with its text where the document has it.
export const cautionsOf = (codes, texts) => (codes || []).map((code) => ({ code, ...(texts?.[code] || { act: code, text: '', source: '' }) }));

export function cautionList(list) {
  return h('ul', { class: 'cautions' }, list.map((one) => h('li', {}, picture(one.code), h('div', {}, h('b', {}, one.act), ' ', one.text, one.source && h('small', {}, ` (${one.source})`)))));
}

let shown = '';
export function renderPlate(plate, footer, shop) {
  const list = entries(shop);
  const key = JSON.stringify(list);
  if (key !== shown) {
    shown = key;
    const open = plate.querySelector('details')?.open;
    const acts = h('ul', { class: 'acts' }, list.slice(0, SHOWN).map((one, i) => h('li', { class: i ? '' : 'first' }, picture(one.code), h('span', {}, one.act))));
    const all = h('details', { open }, h('summary', { 'data-focus': 'all' }, h('span', {}, `all ${list.length}`)), h('div', { class: 'reasons', tabindex: 0, role: 'region', 'aria-label': 'All cautions' }, cautionList(list)));
    replace(plate, acts, all);
  }
  footer.textContent = (shop && shop.deferral) || DEFERRAL;
}
