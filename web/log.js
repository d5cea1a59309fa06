// Logging a coat, in few taps: piece, material, film, when; everything else stands filled in. And the small forms it needs.
import { h, tag, replace } from './dom.js';
import { choices, field, fromField, noMoment, number, readNumber, refusal, select, toField, whichOf } from './fields.js';
import { at, fullDate, hhmm, rfc3339, shopNow, when } from './clock.js';
import { airText, amountToMl, amountUnit, massToKg, massUnit, roomToM3, roomUnit, tempFromC, tempToC, tempUnit, wallToMm, wallUnit } from './units.js';
import { filmPicture } from './gates.js';
import { assumedHours } from './ribbon.js';
import { stateWord } from './words.js';
import { keepRefusal } from './writes.js';
import { draftOf, drafted, dropDraft, keepDraft, takeDraftUp } from './draft.js';
import { OLD_FINISHES, PLACE_KINDS, RISKS } from './choices.js';

const MIN = 60e3;
const fewOf = () => (matchMedia('(min-width: 900px)').matches ? 7 : 3); // choices before "other"
export const use = (list) => list.filter((one) => !one.removed_at);
export const numberOf = (form, name) => readNumber(form.elements[name]?.value ?? '');

// The line under a form: what is wrong, or that it waits for the shop. On a long form it stands far from what was touched: whatever it says comes into sight.
let outcomes = 0;
export function outcome() {
  const says = h('p', { class: 'outcome', role: 'alert', id: `says${(outcomes += 1)}` });
  new MutationObserver(() => says.scrollIntoView({ block: 'nearest' })).observe(says, { childList: true });
  return says;
}

// The control that the shop's name of a field means: amount_ml is what "amount" holds.
const controlOf = (form, field) => { const name = field.split('.').pop(); return name && [...(form?.elements || [])].find((one) => one.name && [name, name.replace(/_[a-z0-9]+$/, '')].includes(one.name) && one.type !== 'radio'); };

// What is wrong belongs to its field, until that is changed or sent again.
const ties = new WeakMap();
export function tie(control, says) {
  untie(control);
  const before = control.getAttribute('aria-describedby');
  ties.set(control, before);
  control.setAttribute('aria-invalid', 'true');
  control.setAttribute('aria-describedby', [before, says.id].filter(Boolean).join(' '));
  control.addEventListener('input', () => { if (ties.has(control)) says.textContent = ''; untie(control); }, { once: true });
}

function untie(control) {
  if (!ties.has(control)) return;
  control.removeAttribute('aria-invalid');
  if (ties.get(control)) control.setAttribute('aria-describedby', ties.get(control)); else control.removeAttribute('aria-describedby');
  ties.delete(control);
}

/* Sends a form's write and says how it goes. What was typed stays where it is until the shop has it, and so does the keyboard where it is refused. */
export async function send(button, says, writing) {
  const held = document.activeElement === button;
  for (const one of button.form?.elements || []) untie(one);
  let refused = false;
  button.disabled = true;
  says.dataset.sending = '';
  dropDraft(button.form);
  const slow = setTimeout(() => { says.textContent = 'Not written yet. What you typed is kept, and is sent again until the shop has it.'; }, 2500);
  try {
    says.textContent = '';
    return await writing;
  } catch (error) {
    if (!says.isConnected && error.one) keepRefusal(error); else says.textContent = refusal(error);
    refused = true;
    const control = controlOf(button.form, error.field || '');
    if (control) tie(control, says);
    takeDraftUp(button.form);
    return null;
  } finally {
    clearTimeout(slow);
    button.disabled = false;
    delete says.dataset.sending;
    if (held && refused && document.activeElement === document.body) button.focus({ preventScroll: true });
  }
}

// Nothing is drawn anew under a write that is under way: its button would stand there again, to be pressed once more.
export const isSending = (el) => el.querySelector('[data-sending]') !== null;

// ---- recent first ----

function recentOrder(items, shop, idOf) {
  const last = new Map();
  for (const coat of shop.coats) last.set(idOf(coat), Math.max(last.get(idOf(coat)) || 0, at(coat.last_at)));
  return [...items].sort((p, q) => (last.get(q.id) || 0) - (last.get(p.id) || 0));
}

// Whether the newest coat of each piece of a rack went on in one go.
function togetherLast(shop, rack) {
  const newest = rack.pieces.map((id) => Math.max(0, ...shop.coats.filter((coat) => coat.piece === id && coat.status !== 'struck').map((coat) => at(coat.last_at))));
  return newest[0] > 0 && newest.every((ms) => ms === newest[0]);
}

export function pieceChoices(shop) {
  const rows = new Map();
  for (const name of ['now', 'not_yet', 'held', 'next']) for (const row of shop.lists[name]) if (!rows.has(row.piece) && row.stage !== 'unmask') rows.set(row.piece, { ...row, list: name });
  const note = (row) => (!row ? '' : row.list === 'not_yet' ? 'hands off' : stateWord(row.state, row.do, row.stage));
  const asks = (piece) => (rows.get(piece.id)?.list === 'now' ? 0 : 1);
  const pieces = recentOrder(use(shop.pieces), shop, (coat) => coat.piece).sort((p, q) => asks(p) - asks(q));
  const items = pieces.map((piece) => ({ value: `p${piece.id}`, text: piece.name, note: note(rows.get(piece.id)) }));
  const order = pieces.map((piece) => piece.id);
  // A rack stands before the first of its pieces where the last coat went on all of them at once, else behind the last.
  for (const rack of use(shop.racks || [])) {
    const item = { value: `r${rack.id}`, text: rack.name, note: `rack of ${rack.pieces.length}` };
    const at0 = rack.pieces.map((id) => order.indexOf(id)).filter((i) => i >= 0);
    if (!at0.length) continue;
    const i = togetherLast(shop, rack) ? Math.min(...at0) : Math.max(...at0) + 1;
    items.splice(i, 0, item);
    order.splice(i, 0, null);
  }
  return items;
}

export function materialChoices(shop) {
  return recentOrder(shop.materials.filter((one) => !one.removed), shop, (coat) => coat.material.id).map((one) => ({ value: String(one.id), text: one.name, note: one.builtin ? one.role : `${one.role}, your label` }));
}

// ---- the form ----

export function logView(el, params, context) {
  const state = { piece: params.rack ? `r${params.rack}` : params.piece ? `p${params.piece}` : null, material: params.material || null, film: 'normal', when: 'now', whenOther: '', season: '', amount: '', thinned: '', thinner: null, place: params.place || null, area: params.area || '', tin: null, air: null, allPieces: false, allMaterials: false, ...draftOf('log'), sending: false };
  const says = outcome();
  const draw = () => replace(el, form(state, context, draw, says));
  draw();
  return { update: () => { if (!el.contains(document.activeElement) || document.activeElement.type === 'radio') draw(); } };
}

export function few(items, state, flag, chosen, draw, label) {
  const at = items.findIndex((item) => item.value === chosen), most = fewOf();
  const shown = state[flag] ? items : items.filter((item, i) => i < (at < most ? most : most - 1) || i === at);
  const more = !state[flag] && items.length > shown.length && h('button', { type: 'button', class: 'choice', 'data-focus': flag, onclick: () => { state[flag] = true; draw(); } }, h('span', {}, h('b', {}, label)));
  return [shown, more];
}

export function numbered(n, title, link) { return h('div', { class: 'stephead' }, h('h2', { class: 'step' }, h('span', { class: 'n', 'aria-hidden': 'true' }, n), title), link); }

export function piecesOf(shop, value) {
  if (!value) return [];
  if (value[0] === 'r') return shop.racks.find((rack) => rack.id === Number(value.slice(1)))?.pieces || [];
  return [Number(value.slice(1))];
}

export function areasOf(shop, value) {
  const ids = piecesOf(shop, value);
  return ids.length === 1 ? shop.pieces.find((piece) => piece.id === ids[0])?.areas || [] : [];
}

export function placeOf(shop, state) {
  if (state.place) return shop.places.find((place) => place.id === Number(state.place)) || null;
  const piece = shop.pieces.find((one) => one.id === piecesOf(shop, state.piece)[0]);
  const live = use(shop.places);
  return (piece && live.find((place) => place.id === piece.place)) || (live.length === 1 ? live[0] : null);
}

function lastMoment(state) {
  if (state.when === 'now') return shopNow();
  if (state.when === '20') return shopNow() - 20 * MIN;
  return state.whenOther ? fromField(state.whenOther, state.season) : null;
}

// Where nobody chose: where the piece hangs, the only place there is, or where the last coat went on.
export function likelyPlace(shop, state) {
  const last = [...shop.coats].sort((p, q) => at(q.last_at) - at(p.last_at)).map((coat) => coat.place);
  return placeOf(shop, state) || last.map((id) => use(shop.places).find((place) => place.id === id)).find(Boolean) || use(shop.places)[0] || null;
}

const WHEN_WORDS = { now: 'now', 20: '20 min ago' };

// Of another year with it: a slip there would go unseen.
const withYear = (ms) => (toField(ms).slice(0, 4) === toField(shopNow()).slice(0, 4) ? when(ms) : `${fullDate(ms)} ${hhmm(ms)}`);

function sentence(shop, state) {
  const piece = pieceChoices(shop).find((item) => item.value === state.piece);
  const material = materialChoices(shop).find((item) => item.value === state.material);
  const moment = WHEN_WORDS[state.when] || (lastMoment(state) === null ? 'when?' : withYear(lastMoment(state)));
  return { ready: Boolean(piece && material && (state.when !== 'other' || state.whenOther)), text: `${piece ? `${piece.text}:` : 'which piece?'} ${material ? `${material.text},` : 'which material?'} ${state.film}, ${moment}` };
}

function form(state, context, draw, says) {
  const { shop } = context;
  if (!use(shop.pieces).length) return [h('h1', {}, 'Log a coat'), h('p', {}, 'There is no piece yet. Add the first one, and come back here.'), pieceForm(context, (piece) => { state.piece = `p${piece.id}`; context.whenSeen(() => context.shop.pieces.some((one) => one.id === piece.id), draw); })];
  const set = (name) => (value) => { state[name] = value; draw(); };
  const [pieces, morePieces] = few(pieceChoices(shop), state, 'allPieces', state.piece, draw, 'Other piece');
  const [materials, moreMaterials] = few(materialChoices(shop), state, 'allMaterials', state.material, draw, 'Other material');
  const place = placeOf(shop, state);
  const live = use(shop.places);
  const areas = areasOf(shop, state.piece);
  const tins = tinsOf(shop, state);
  return keepDraft('log', h('form', { class: 'log', novalidate: true, onsubmit: (event) => { event.preventDefault(); submit(state, context, says, event.target, draw); } },
    h('h1', { class: 'unseen' }, 'Log a coat'),
    h('div', { class: 'two' },
      h('div', {}, numbered(1, 'Piece', h('a', { class: 'link', href: '#newpiece' }, 'new piece')), choices('piece', 'Piece', pieces, state.piece, set('piece'), morePieces)),
      h('div', {}, numbered(2, 'Material', h('a', { class: 'link', href: '#material' }, 'new, from its label')), choices('material', 'Material', materials, state.material, set('material'), moreMaterials))),
    h('div', { class: 'two' },
      h('div', {}, h('h2', {}, 'Coat'), choices('film', 'How heavy', ['light', 'normal', 'heavy'].map((name) => ({ value: name, text: name, picture: filmPicture(name) })), state.film, set('film'))),
      h('div', {}, h('h2', {}, 'When', h('small', {}, 'last pass')), choices('when', 'When', [{ value: 'now', text: 'now' }, { value: '20', text: '20 min ago' }, { value: 'other', text: 'other' }], state.when, set('when')), state.when === 'other' && otherTime(state, draw))),
    h('div', { class: 'two' },
      h('div', {}, areas.length > 0 && [h('h2', {}, 'Area'), choices('area', 'Area', [{ value: '', text: 'all of it' }, ...areas.map((name) => ({ value: name, text: name }))], areas.includes(state.area) ? state.area : '', set('area'))],
        live.length > 1 && [h('h2', {}, 'Where'), choices('place', 'Where', live.map((one) => ({ value: String(one.id), text: one.name })), place ? String(place.id) : '', set('place'))],
        !live.length && h('p', {}, 'No place yet: its air is not known. ', h('a', { href: '#place' }, 'Add a place')), place && airLine(place, state, draw), h('p', { class: 'asklog narrow' }, askTag(state, place))),
      h('div', {}, tins.length > 0 && [h('h2', {}, 'Tin'), choices('tin', 'Tin', [...tins.map(tinChoice), { value: '', text: 'not told' }], tinOf(shop, state), set('tin'))],
        field(`Amount, ${amountUnit()}`, number('amount', { min: 0, value: state.amount, oninput: (event) => { state.amount = event.target.value; } }), 'may stay empty'), thinnedFields(shop, state))),
    says, logTag(shop, state, askTag(state, place))), () => state);
}

// Before it goes on: the same piece, material and place in the question, so that nothing is chosen twice.
function askTag(state, place) {
  const query = new URLSearchParams();
  if (state.material) query.set('material', state.material);
  if (place) query.set('place', place.id);
  if (state.piece && state.piece[0] === 'p') query.set('piece', state.piece.slice(1));
  return tag('May I spray now?', { href: `#check?${query}`, 'data-focus': 'ask' });
}

// What its label says stands filled in.
function thinnedFields(shop, state) {
  const printed = shop.materials.find((one) => String(one.id) === state.material)?.thinner || '';
  return h('div', { class: 'pair' }, field('Thinned, %', number('thinned', { min: 0, max: 90, value: state.thinned, oninput: (event) => { state.thinned = event.target.value; } }), 'of it by volume; may stay empty'),
    field('With', h('input', { name: 'thinner', maxlength: 63, autocomplete: 'off', value: state.thinner ?? printed, oninput: (event) => { state.thinner = event.target.value; } }), printed ? `its label: ${printed}` : 'for example: mineral spirits'));
}

// ---- the tin it comes from ----

const tinsOf = (shop, state) => shop.tins.filter((tin) => String(tin.material.id) === state.material);

function tinChoice(tin) {
  return { value: String(tin.id), text: tin.name, note: tin.past_keep_by ? 'past its keep-by' : tin.opened_at ? `opened ${fullDate(at(tin.opened_at))}` : 'not opened yet' };
}

// The one chosen, else the one that this material was last put on from.
function tinOf(shop, state) {
  const tins = tinsOf(shop, state), has = (id) => tins.some((tin) => String(tin.id) === String(id));
  if (state.tin !== null && (state.tin === '' || has(state.tin))) return state.tin;
  const last = shop.coats.filter((coat) => coat.tin && has(coat.tin.id)).sort((p, q) => at(q.last_at) - at(p.last_at))[0];
  return last ? String(last.tin.id) : '';
}

function logTag(shop, state, ask) {
  const { ready, text } = sentence(shop, state);
  return h('div', { class: 'bigrow' }, tag('Back', { href: '#' }), h('div', { class: 'asklog roomy' }, ask), h('button', { type: 'submit', class: 'tag filled big', disabled: !ready || state.sending, 'data-focus': 'logit' }, h('span', { class: 'line1' }, h('span', { class: 'n', 'aria-hidden': 'true' }, 3), 'Log it'), h('span', { class: 'sentence' }, text)));
}

function otherTime(state, draw) {
  if (!state.whenOther) state.whenOther = toField(shopNow());
  return [field('Last pass at', h('input', { type: 'datetime-local', value: state.whenOther, max: toField(shopNow()), onchange: (event) => { state.whenOther = event.target.value; draw(); } })), whichOf(state.whenOther, state.season, (value) => { state.season = value; draw(); })];
}

// A coat that went on when nobody had read the air has not the air of now.
function notReadThen(place, moment) {
  const guessed = assumedHours(place, shopNow()).some(({ from, to }) => moment >= from && moment < to);
  return guessed && h('small', {}, ` At ${when(moment)} nobody had read it: it counts as colder and damper, unless you change it to what it was.`);
}

function airLine(place, state, draw) {
  const air = place.air;
  if (!state.air && air) {
    return h('p', { class: 'airline' }, h('b', {}, `Air ${airText(air)}`), ` ${air.basis === 'assumed' ? 'assumed: no fresh reading' : `${place.name}, read ${when(at(air.at))}`} `,
      h('button', { type: 'button', class: 'link', onclick: () => { state.air = { temp: air.temp_c === null ? '' : tempFromC(air.temp_c), rh: air.rh_pct ?? '' }; draw(); } }, 'change'), notReadThen(place, lastMoment(state)));
  }
  if (!state.air) state.air = { temp: '', rh: '' };
  const keep = (name) => (event) => { state.air[name] = event.target.value; };
  return h('div', {}, !air && h('p', { class: 'hint' }, `The air of ${place.name} is not known. Read a thermometer and hygrometer if you have them: without a reading the coat counts as stalled.`),
    h('div', { class: 'pair' }, field(`Temperature, ${tempUnit()}`, number('temp', { value: state.air.temp, oninput: keep('temp') })), field('Humidity, %', number('rh', { min: 0, max: 100, value: state.air.rh, oninput: keep('rh') }))));
}

const isTold = (text) => readNumber(text) !== null;
const hasAir = ({ air }) => air && isTold(air.temp) && isTold(air.rh);

function bodyOf(shop, state, place) {
  const body = { pieces: piecesOf(shop, state.piece), material: Number(state.material), film: state.film, last_at: rfc3339(lastMoment(state)) };
  if (place) body.place = place.id;
  if (state.area && areasOf(shop, state.piece).includes(state.area)) body.area = state.area;
  if (tinOf(shop, state)) body.tin = Number(tinOf(shop, state));
  const amount = readNumber(state.amount), thinned = readNumber(state.thinned);
  if (amount !== null) body.amount_ml = amountToMl(amount);
  if (thinned !== null) body.thinned_pct = thinned;
  if (thinned !== null && state.thinner?.trim()) body.thinner = state.thinner.trim(); // else the shop takes what the label says
  if (hasAir(state)) body.air = { temp_c: tempToC(readNumber(state.air.temp)), rh_pct: readNumber(state.air.rh) };
  return body;
}

async function submit(state, context, says, formEl, draw) {
  const { shop } = context;
  if (state.sending) return;
  const half = state.air && isTold(state.air.temp) !== isTold(state.air.rh), fault = [...formEl.elements].find((one) => one.validity.customError);
  if (fault) { fault.reportValidity(); return; }
  if (half) { says.textContent = 'Air needs both a temperature and a humidity; or leave both empty.'; return; }
  if (lastMoment(state) === null) { says.textContent = noMoment(state.whenOther); return; }
  const words = sentence(shop, state).text;
  state.sending = true; // also of a form that is drawn anew meanwhile
  const answer = await send(formEl.querySelector('[type=submit]'), says, context.write('POST', '/coats', bodyOf(shop, state, placeOf(shop, state)), words));
  state.sending = false;
  if (!answer) { if (!formEl.isConnected && says.isConnected) draw(); return; }
  context.offerUndo((answer.items || []).map((coat) => coat.id), words);
  context.go(answer.vapour?.length ? `vapour?place=${answer.vapour[0].place}&after=logged` : ''); // an amount was told: what it puts into the air
}

// ---- the small forms ----

export function pieceForm(context, done) {
  const { shop } = context;
  const live = use(shop.places);
  const says = outcome();
  return drafted('new piece', h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target;
    const body = { name: form.elements.name.value.trim(), old_finish: form.elements.old.value };
    if (form.elements.place?.value) body.place = Number(form.elements.place.value);
    const mass = numberOf(form, 'mass'), wall = numberOf(form, 'wall');
    if (mass !== null) body.mass_kg = massToKg(mass);
    if (wall !== null) body.wall_mm = wallToMm(wall);
    const areas = form.elements.areas.value.split(',').map((text) => text.trim()).filter(Boolean);
    if (areas.length) body.areas = areas;
    const piece = await send(form.querySelector('[type=submit]'), says, context.write('POST', '/pieces', body, `new piece: ${body.name}`));
    if (piece) done(piece);
  } }, field('Name of the piece', h('input', { name: 'name', required: true, maxlength: 63, autocomplete: 'off' }), 'for example: mill body'),
  live.length ? field('Hangs in', select('place', live.map((place) => [place.id, place.name]))) : h('p', {}, 'It hangs nowhere yet. ', h('a', { href: '#place' }, 'Add a place'), ' so that its air is known.'),
  field('Old finish under it', select('old', OLD_FINISHES.map((word) => [word, word === 'not tested' ? 'not tested (counts as lead)' : word])), 'only a test says it is clear of lead'),
  h('details', {}, h('summary', {}, 'More: weight, wall, areas'), h('div', { class: 'pair' }, field(`Weight, ${massUnit()}`, number('mass', { min: 0 })), field(`Wall, ${wallUnit()}`, number('wall', { min: 0 }))), field('Areas', h('input', { name: 'areas', autocomplete: 'off' }), 'front, back, rim: with commas between')),
  says, h('button', { type: 'submit', class: 'tag filled' }, 'Add the piece')));
}

export function placeForm(context, done) {
  const says = outcome();
  return drafted('new place', h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target;
    const body = { name: form.elements.name.value.trim(), kind: form.elements.kind.value, risks: Object.fromEntries(RISKS.map(([word]) => [word, form.elements[word].value])) };
    const volume = numberOf(form, 'volume');
    if (volume !== null) body.volume_m3 = roomToM3(volume);
    const place = await send(form.querySelector('[type=submit]'), says, context.write('POST', '/places', body, `new place: ${body.name}`));
    if (place) done(place);
  } }, field('Name of the place', h('input', { name: 'name', required: true, maxlength: 63, autocomplete: 'off' }), 'for example: cellar'), field('What it is', select('kind', PLACE_KINDS.map((word) => [word, word]))),
  field(`Volume, ${roomUnit()}`, number('volume', { min: 0 }), 'may stay empty'),
  h('details', {}, h('summary', {}, 'What makes it risky: unanswered counts as yes'), RISKS.map(([word, text]) => answerField(word, text))),
  says, h('button', { type: 'submit', class: 'tag filled' }, 'Add the place')));
}

export function answerField(name, text, chosen = 'unanswered') {
  return h('fieldset', { class: 'answer' }, h('legend', {}, text), [['yes', 'yes'], ['no', 'no'], ['unanswered', 'not answered']].map(([value, word]) => h('label', { class: 'choice' }, h('input', { type: 'radio', name, value, checked: value === chosen }), h('span', {}, h('b', {}, word)))));
}

export function airForm(context, done, placeId) {
  const { shop } = context;
  const live = use(shop.places);
  const says = outcome();
  const state = { when: 'now', season: '' }, which = h('div');
  const ask = (text) => replace(which, whichOf(text, state.season, (value) => { state.season = value; }));
  const other = h('div', { hidden: true }, field('At', h('input', { type: 'datetime-local', name: 'at', value: toField(shopNow()), onchange: (event) => ask(event.target.value) })), which);
  ask(toField(shopNow()));
  // An oven has a thermometer alone.
  const rh = number('rh', { min: 0, max: 100, required: true }), where = select('place', live.map((place) => [place.id, `${place.name}: ${airText(place.air)}`]), placeId);
  const settle = () => { rh.required = live.find((place) => place.id === Number(where.value))?.kind !== 'oven'; };
  where.addEventListener('change', settle);
  settle();
  return drafted('air', h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target;
    const moment = state.when === 'now' ? shopNow() : state.when === '20' ? shopNow() - 20 * MIN : fromField(form.elements.at.value, state.season);
    if (moment === null) { says.textContent = noMoment(form.elements.at.value); return; }
    const body = { at: rfc3339(moment), temp_c: tempToC(numberOf(form, 'temp')), ...(numberOf(form, 'rh') === null ? {} : { rh_pct: numberOf(form, 'rh') }) };
    const name = live.find((place) => place.id === Number(form.elements.place.value)).name;
    if (await send(form.querySelector('[type=submit]'), says, context.write('POST', `/places/${form.elements.place.value}/readings`, body, `air of ${name}`))) done();
  } }, field('Place', where),
  h('div', { class: 'pair' }, field(`Temperature, ${tempUnit()}`, number('temp', { required: true })), field('Humidity, %', rh)),
  h('h2', {}, 'Read when'), choices('when', 'Read when', [{ value: 'now', text: 'now' }, { value: '20', text: '20 min ago' }, { value: 'other', text: 'other' }], 'now', (value) => { state.when = value; other.hidden = value !== 'other'; }), other,
  says, h('div', { class: 'bigrow' }, tag('Back', { href: '#' }), h('button', { type: 'submit', class: 'tag filled big' }, 'Write it down'))));
}
