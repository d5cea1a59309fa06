// Batches of two-part materials: mixed now, ready when, use by when, and what is over.
import { h, tag, replace } from './dom.js';
import { choices, field, fromField, noMoment, toField, whichOf } from './fields.js';
import { at, rfc3339, shopNow, span, when } from './clock.js';
import { airText, temp } from './units.js';
import { get } from './api.js';
import { gate } from './gates.js';
import { countedTo, mixState, onAssumedAir } from './mixline.js';
import { mind } from './check.js';
import { isSending, likelyPlace, outcome, send, use } from './log.js';

const MIN = 60e3;
const OVER_SHOWN = 5;

export function mixView(el, params, context) {
  const state = { material: params.material || null, place: params.place || null, when: 'now', whenOther: '', season: '', twoPart: null, over: [], failed: '', open: new Set() };
  const says = outcome();
  const draw = () => replace(el, parts(state, context, draw, says));
  const load = async () => {
    try {
      const [materials, mixes] = await Promise.all([get('/materials'), get('/mixes?all=1')]);
      state.twoPart = materials.items.filter((one) => !one.removed && (one.induction_min !== null || one.pot_life_min !== null));
      state.over = mixes.items.filter((one) => one.over).sort((p, q) => at(q.mixed_at) - at(p.mixed_at)).slice(0, OVER_SHOWN);
      state.failed = '';
    } catch (error) { state.failed = `The materials could not be read: ${error.message}`; }
    if (!isSending(el) && !el.contains(document.activeElement?.closest('input:not([type=radio])'))) draw();
  };
  draw();
  load();
  return { update: load };
}

function parts(state, context, draw, says) {
  const { shop } = context;
  const standing = shop.mixes;
  const codes = [...new Set(standing.flatMap((mix) => mix.cautions))];
  return [h('h1', {}, 'Mixes'),
    standing.length > 0 && h('section', { class: 'group', 'aria-label': 'Standing' }, h('h2', {}, 'Standing now'), h('ul', { class: 'shaped' }, standing.map((mix) => standingRow(mix, shop)))),
    h('section', { class: 'group', 'aria-label': 'Mix a batch' }, h('h2', {}, 'Mix a batch'), mixForm(state, context, draw, says)),
    state.over.length > 0 && h('section', { class: 'group', 'aria-label': 'Over' }, h('h2', {}, 'Over'), h('ul', { class: 'shaped' }, state.over.map(overRow))),
    codes.length > 0 && mind(codes, shop.cautions, shop.deferral, state.open)];
}

// ---- a batch ----

const placeName = (mix, shop) => shop.places.find((place) => place.id === mix.place)?.name || 'place not told';

function mixMoments(mix) {
  const ready = at(mix.ready_at), useBy = at(mix.use_by_at);
  const first = ready === null ? '' : ready > shopNow() ? `Ready about ${when(ready)}. ` : `Ready since ${when(ready)}: stir again, then use it. `;
  return `${first}${useBy === null ? 'No pot life is printed.' : `Use by ${when(useBy)}.`}`;
}

function standingRow(mix, shop) {
  const state = mixState(mix, shop);
  const ready = state.shape === 'open' || state.shape === 'closing';
  return h('li', {}, gate(state.shape, state.cls), h('div', {}, h('b', { class: 'name' }, mix.material.name), ' ', h('span', {}, `mixed ${when(at(mix.mixed_at))}, ${placeName(mix, shop)}`), onAssumedAir(mix),
    h('div', {}, h('b', { class: state.cls }, state.word), countedTo(state)), h('div', { class: 'reason' }, mixMoments(mix))),
  ready && tag('Log coat', { filled: true, href: `#log?material=${mix.material.id}`, 'aria-label': `${mix.material.name}: log coat` }));
}

function overRow(mix) {
  const useBy = at(mix.use_by_at);
  return h('li', {}, gate('missed'), h('div', {}, h('b', {}, mix.material.name), ` mixed ${when(at(mix.mixed_at))}`, h('div', { class: 'reason' }, `${useBy === null ? 'A day old' : `Over since ${when(useBy)}`}: do not use it any more.`)));
}

// ---- mixing one ----

function momentOf(state) {
  if (state.when === 'now') return shopNow();
  return state.when === '20' ? shopNow() - 20 * MIN : fromField(state.whenOther, state.season);
}

// As the label prints it, at its own temperature; what it comes to in this air is told once it is mixed.
function labelText(material) {
  const times = [material.induction_min !== null && `stands ${span(material.induction_min * MIN)} first`, material.pot_life_min !== null && `pot life ${span(material.pot_life_min * MIN)}`].filter(Boolean);
  return times.join(', ');
}

function mixForm(state, context, draw, says) {
  const { shop } = context;
  if (!state.twoPart) return h('p', {}, state.failed || 'Asking the shop …');
  if (!state.twoPart.length) return h('p', {}, 'No material here has an induction time or a pot life. ', h('a', { href: '#material' }, 'Enter one from its label'));
  if (!state.material && state.twoPart.length === 1) state.material = String(state.twoPart[0].id);
  const live = use(shop.places), place = likelyPlace(shop, { ...state, piece: null });
  const set = (name) => (value) => { state[name] = value; draw(); };
  return h('form', { novalidate: true, onsubmit: (event) => { event.preventDefault(); mixNow(event.target, state, place, context, says); } },
    choices('material', 'Material', state.twoPart.map((one) => ({ value: String(one.id), text: one.name, note: labelText(one) })), state.material, set('material')),
    h('div', { class: 'two' },
      h('div', {}, h('h2', {}, 'Where it stands'), live.length ? choices('place', 'Where it stands', live.map((one) => ({ value: String(one.id), text: one.name, note: airText(one.air) })), place ? String(place.id) : '', set('place')) : h('p', {}, 'No place yet: when it is ready will not be known. ', h('a', { href: '#place' }, 'Add a place'))),
      h('div', {}, h('h2', {}, 'Mixed when'), choices('when', 'Mixed when', [{ value: 'now', text: 'now' }, { value: '20', text: '20 min ago' }, { value: 'other', text: 'other' }], state.when, set('when')), state.when === 'other' && otherTime(state, draw))),
    h('p', { class: 'hint' }, `Times under a name are the label's, at ${temp(21)}. Colder, it stands longer; warmer, it is over sooner: what it comes to in this air is told once it is mixed.`),
    says, h('div', { class: 'bigrow' }, tag('Back', { href: '#' }), mixTag(state, place)));
}

function otherTime(state, draw) {
  if (!state.whenOther) state.whenOther = toField(shopNow());
  return [field('Mixed at', h('input', { type: 'datetime-local', value: state.whenOther, max: toField(shopNow()), onchange: (event) => { state.whenOther = event.target.value; draw(); } })), whichOf(state.whenOther, state.season, (value) => { state.season = value; draw(); })];
}

function mixTag(state, place) {
  const material = state.twoPart.find((one) => String(one.id) === state.material);
  const words = `${material ? material.name : 'which material?'}${place ? ` in ${place.name}` : ''}, ${{ now: 'now', 20: '20 min ago' }[state.when] || (momentOf(state) === null ? 'when?' : when(momentOf(state)))}`;
  return h('button', { type: 'submit', class: 'tag filled big', disabled: !material, 'data-focus': 'mixit' }, h('span', { class: 'line1' }, 'Mixed'), h('span', { class: 'sentence' }, words));
}

async function mixNow(form, state, place, context, says) {
  const moment = momentOf(state);
  if (moment === null) { says.textContent = noMoment(state.whenOther); return; }
  const name = state.twoPart.find((one) => String(one.id) === state.material).name;
  const mix = await send(form.querySelector('[type=submit]'), says, context.write('POST', '/mixes', { material: Number(state.material), place: place ? place.id : null, at: rfc3339(moment) }, `${name} mixed`));
  if (mix) context.say(`${name} mixed, written down. ${mixMoments(mix)}`);
}
