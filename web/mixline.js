// Batches of two-part material that stand, as the list of now tells them.
import { h } from './dom.js';
import { at, shopNow } from './clock.js';
import { countdown } from './now.js';
import { gate } from './gates.js';

// How a batch stands: a shape, a word, a moment to count to.
export function mixState(mix, shop) {
  const ready = at(mix.ready_at), useBy = at(mix.use_by_at), now = shopNow();
  if (mix.over || (useBy !== null && useBy <= now)) return { shape: 'missed', cls: '', word: 'over: do not use it', to: null };
  if (ready === null && mix.induction_min !== null) return { shape: 'inspect', cls: '', word: 'not known when it is ready', to: null };
  if (ready !== null && ready > now) return { shape: 'waiting', cls: '', word: 'wait', to: ready, prefix: 'ready in ' };
  return { shape: useBy !== null && useBy - now <= shop.shop.lead_closing_min * 60e3 ? 'closing' : 'open', cls: 'may', word: 'ready', to: useBy, suffix: ' left' };
}

export const countedTo = (state) => state.to !== null && [', ', countdown(state.to, state.suffix, state.prefix)];
export const onAssumedAir = (mix) => mix.basis === 'assumed' && h('b', { class: 'flag' }, 'on assumed air');

function mixLine(shop, mix) {
  const state = mixState(mix, shop);
  return h('li', {}, gate(state.shape, state.cls), h('span', {}, h('a', { href: '#mix' }, mix.material.name), ': ', h('b', { class: state.cls }, state.word), countedTo(state), onAssumedAir(mix)));
}

export const mixList = (shop) => shop.mixes.length > 0 && h('ul', { class: 'mixes', 'aria-label': 'Mixes' }, shop.mixes.map((mix) => mixLine(shop, mix)));
