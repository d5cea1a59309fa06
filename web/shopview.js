// Settings, places, materials: what changes seldom.
import { h, tag, replace } from './dom.js';
import { field, number, select } from './fields.js';
import { isTwelve, toggleFace } from './clock.js';
import { airText } from './units.js';
import { materialList } from './material.js';
import { numberOf, outcome, send, tie } from './log.js';

function zones(current) {
  const known = typeof Intl.supportedValuesOf === 'function' ? Intl.supportedValuesOf('timeZone') : [];
  return [...new Set([current, 'UTC', Intl.DateTimeFormat().resolvedOptions().timeZone, ...known])].filter(Boolean);
}

function settingsForm(context) {
  const { shop } = context.shop;
  const says = outcome();
  // From a moment until the same one is no time at all: such hours stand empty.
  const time = (name, label, hint) => { const [from, to] = ['from', 'to'].map((end) => shop[name.replace(/[a-z]+$/, end)]); return field(label, h('input', { type: 'time', name, value: from === to ? '' : shop[name] }), hint); };
  return h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target;
    const body = { zone: form.elements.zone.value, units: form.elements.units.value, lead_closing_min: numberOf(form, 'lead') ?? shop.lead_closing_min };
    for (const [hours, words] of [['quiet', 'Quiet'], ['work', 'Working']]) {
      const [from, to] = ['from', 'to'].map((end) => form.elements[`${hours}_${end}`]);
      if (!from.value !== !to.value) { says.textContent = `${words} hours: tell both, from and until, or leave both empty.`; tie(from.value ? to : from, says); return; }
      Object.assign(body, { [from.name]: from.value || '00:00', [to.name]: to.value || '00:00' });
    }
    body.morning = form.elements.morning.value || null;
    if (await send(form.querySelector('[type=submit]'), says, context.write('PATCH', '/shop', body, 'settings of the shop'))) says.textContent = 'Kept.';
  } }, field('Time zone', select('zone', zones(shop.zone).map((name) => [name, name]), shop.zone)), field('Units', select('units', [['metric', 'metric'], ['us', 'US']], shop.units)),
  field('Warn before a window closes, min', number('lead', { min: 0, max: 1440, step: 1, value: shop.lead_closing_min })), h('div', { class: 'pair' }, time('quiet_from', 'Quiet from', 'empty: never'), time('quiet_to', 'Quiet until', 'then only what is about safety is told'), time('work_from', 'Working from', 'empty: at any hour'), time('work_to', 'Working until')),
  field('The day\u2019s list is told at', h('input', { type: 'time', name: 'morning', value: shop.morning || '' }), 'empty: never'),
  says, h('button', { type: 'submit', class: 'tag filled' }, 'Keep'));
}

// What belongs to this screen and not to the shop.
function deviceGroup(context) {
  const other = isTwelve() ? '24-hour clock' : '12-hour clock';
  return h('section', { class: 'group' }, h('h2', {}, 'This screen'), h('p', {}, `Times stand here as on a ${isTwelve() ? '12' : '24'}-hour clock. What the shop sends in words keeps to 24 hours. `), tag(other, { 'data-focus': 'face', onclick: () => { toggleFace(); context.go('shop'); } }));
}

export function shopView(el, params, context) {
  const { shop } = context;
  const live = shop.places.filter((place) => !place.removed_at);
  replace(el, h('h1', {}, 'The shop'),
    h('section', { class: 'group' }, h('h2', {}, 'Places'), live.length ? h('ul', { class: 'plainlist' }, live.map((place) => h('li', {}, h('b', {}, place.name), ` ${place.kind}, ${airText(place.air)} `, h('a', { href: `#air?place=${place.id}` }, 'its air'), ' ', h('a', { href: `#air?place=${place.id}&enter=1` }, 'enter air'), ' ', h('a', { href: `#vapour?place=${place.id}` }, 'solvent in its air')))) : h('p', {}, 'None yet.'), tag('Add a place', { href: '#place' })),
    h('section', { class: 'group' }, h('h2', {}, 'Pieces'), h('ul', { class: 'plainlist' }, shop.pieces.filter((piece) => !piece.removed_at).map((piece) => h('li', {}, h('a', { href: `#piece?id=${piece.id}` }, piece.name)))), tag('Add a piece', { href: '#newpiece' })),
    h('section', { class: 'group' }, h('h2', {}, 'Settings'), settingsForm(context)), deviceGroup(context),
    h('section', { class: 'group' }, h('h2', {}, 'Materials'), materialList(context), tag('From a label', { href: '#material' })),
    h('p', {}, h('small', {}, `version ${shop.version}`)));
  return {};
}
