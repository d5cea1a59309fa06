// Ovens that are hot: a line each beside the mixes, to the bake itself.
import { h } from './dom.js';
import { gate } from './gates.js';
import { at, shopNow, when } from './clock.js';
import { countdown } from './now.js';
import { BAKE_STATES, bakeSaid } from './bakewords.js';

// Of each bake that is hot its number, its state, and the pieces in it.
export function hotBakes(shop) {
  const bakes = new Map();
  for (const coat of shop.coats) {
    if (!coat.bake || !BAKE_STATES[coat.bake.state]?.now) continue;
    const known = bakes.get(coat.bake.id) || { ...coat.bake, pieces: [] };
    known.pieces.push(shop.pieces.find((one) => one.id === coat.piece)?.name || coat.piece);
    bakes.set(coat.bake.id, known);
  }
  return [...bakes.values()];
}

function nextOf(bake) {
  if (bake.state === 'cooling') return bake.cool_at ? [', not to be touched before ', h('b', {}, when(at(bake.cool_at)))] : ', hands off';
  if (bake.state === 'done' || bake.state === 'interrupted' || !bake.turn_down_at || at(bake.turn_down_at) <= shopNow()) return '';
  return [', heat off ', countdown(at(bake.turn_down_at), '', 'in ')];
}

function bakeLine(bake) {
  const asks = bake.state === 'done' || bake.state === 'interrupted';
  return h('li', {}, gate(asks ? 'open' : 'waiting', asks ? 'may' : ''), h('span', {}, h('a', { href: `#bake?id=${bake.id}` }, `Bake ${bake.id}, ${bake.pieces.join(', ')}`), ': ', h('b', { class: asks ? 'may' : '' }, bakeSaid(bake, 'now')), nextOf(bake)));
}

export const bakeList = (shop) => h('ul', { class: 'mixes', 'aria-label': 'Hot ovens' }, hotBakes(shop).map(bakeLine));
