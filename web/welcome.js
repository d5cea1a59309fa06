// What a shop in which nothing hangs yet is told.
import { h, tag } from './dom.js';

export function welcome(shop) {
  const step = (n, done, text, href, label) => h('li', { class: done ? 'done' : '' }, h('b', {}, done ? `${n}. Done: ${text}` : `${n}. ${text}`), !done && tag(label, { filled: true, href }));
  const live = shop.places.filter((place) => !place.removed_at);
  return h('div', { class: 'welcome' }, h('h2', {}, 'Nothing hangs on the line yet'), h('p', {}, 'Tell the shop three things, and it says from then on what can be done at which piece, and when.'),
    h('ol', {}, step(1, live.length > 0, live.length ? live[0].name : 'A place: where the pieces hang', '#place', 'Add a place'),
      step(2, false, 'A piece: what you are finishing', '#newpiece', 'Add a piece'), step(3, false, 'Its first coat', '#log', 'Log a coat')));
}
