// May it go on now, and if not, when: the question in few taps, and the shop's answer in words, shapes and hours.
import { h, tag, replace } from './dom.js';
import { choices, field, fromField, toField } from './fields.js';
import { at, rfc3339, shopNow, when } from './clock.js';
import { get } from './api.js';
import { airText, humidity, temp, tempGap } from './units.js';
import { gate, picture } from './gates.js';
import { cautionList, cautionsOf } from './plate.js';
import { STAGE_WORDS } from './stagewords.js';
import { areasOf, few, likelyPlace, materialChoices, numbered, outcome, pieceChoices, use } from './log.js';

const MIN = 60e3, HOUR = 3600e3;
const AHEAD_H = 72; // as far as the shop looks
const FRESH_MS = 5 * MIN; // of real time; an older answer is asked for again
const SUBJECTS = ['material', 'place', 'piece', 'area', 'at'];

const startsUpper = (text) => text[0].toUpperCase() + text.slice(1);
const nameIn = (list, id, none) => list.find((one) => one.id === Number(id))?.name || none;

export function checkView(el, params, context) {
  const asked = params.material && params.place && !params.change;
  return asked ? answerView(el, params, context) : questionView(el, params, context);
}

// What is asked, as the page's address has it; a moment that has passed meanwhile is now.
function queryOf(params, extra = {}) {
  const query = new URLSearchParams(extra);
  for (const name of SUBJECTS) if (params[name] && !(name === 'at' && at(params.at) <= shopNow() + MIN)) query.set(name, params[name]);
  return query;
}

// ---- the question ----

function questionView(el, params, context) {
  const live = use(context.shop.places);
  if (!live.length) { replace(el, h('h1', {}, 'May I spray now?'), h('p', {}, 'No place yet: without its air nothing can be said. '), tag('Add a place', { filled: true, href: '#place' })); return {}; }
  const later = params.at && at(params.at) > shopNow();
  const state = { material: params.material || null, place: params.place || null, piece: params.piece ? `p${params.piece}` : '', area: params.area || '', when: later ? 'later' : 'now', whenOther: later ? toField(at(params.at)) : '', allMaterials: false, allPieces: false };
  const says = outcome();
  const draw = () => replace(el, questionForm(state, context, draw, says));
  draw();
  return { update: () => { if (!el.contains(document.activeElement) || document.activeElement.type === 'radio') draw(); } };
}

function momentAsked(state) { return state.when === 'now' ? null : fromField(state.whenOther); }

function questionForm(state, context, draw, says) {
  const { shop } = context;
  const set = (name) => (value) => { state[name] = value; draw(); };
  const [materials, moreMaterials] = few(materialChoices(shop), state, 'allMaterials', state.material, draw, 'Other material');
  const [pieces, morePieces] = few(pieceChoices(shop).filter((item) => item.value[0] === 'p'), state, 'allPieces', state.piece, draw, 'Other piece');
  const areas = areasOf(shop, state.piece);
  const place = likelyPlace(shop, state);
  return h('form', { class: 'check', novalidate: true, onsubmit: (event) => { event.preventDefault(); ask(state, place, context, says); } },
    h('h1', {}, 'May I spray now?', h('small', {}, ' or brush, or dip')),
    h('div', { class: 'two' },
      h('div', {}, numbered(1, 'Material'), choices('material', 'Material', materials, state.material, set('material'), moreMaterials)),
      h('div', {}, h('h2', {}, 'Where'), choices('place', 'Where', use(shop.places).map((one) => ({ value: String(one.id), text: one.name, note: airText(one.air) })), String(place.id), set('place')))),
    h('div', { class: 'two' },
      h('div', {}, h('h2', {}, 'On which piece', h('small', {}, 'if you know it')), choices('piece', 'On which piece', [{ value: '', text: 'no piece', note: 'the air alone' }, ...pieces], state.piece, set('piece'), morePieces),
        areas.length > 0 && [h('h2', {}, 'Area'), choices('area', 'Area', [{ value: '', text: 'all of it' }, ...areas.map((name) => ({ value: name, text: name }))], areas.includes(state.area) ? state.area : '', set('area'))]),
      h('div', {}, h('h2', {}, 'When'), choices('when', 'When', [{ value: 'now', text: 'now' }, { value: 'later', text: 'later' }], state.when, set('when')), state.when === 'later' && laterField(state, draw))),
    says, askTag(shop, state, place));
}

function laterField(state, draw) {
  if (!state.whenOther) state.whenOther = toField(shopNow() + HOUR);
  return field('At', h('input', { type: 'datetime-local', value: state.whenOther, min: toField(shopNow()), max: toField(shopNow() + AHEAD_H * HOUR), onchange: (event) => { state.whenOther = event.target.value; draw(); } }), 'within three days');
}

function askTag(shop, state, place) {
  const material = nameIn(shop.materials, state.material, 'which material?');
  const piece = state.piece ? `, ${nameIn(shop.pieces, state.piece.slice(1), '')}` : '';
  const moment = momentAsked(state);
  const text = `${material} in ${place.name}${piece}, ${state.when === 'now' ? 'now' : moment ? when(moment) : 'when?'}`;
  return h('div', { class: 'bigrow' }, tag('Back', { href: '#' }), h('button', { type: 'submit', class: 'tag filled big', disabled: !state.material, 'data-focus': 'ask' }, h('span', { class: 'line1' }, h('span', { class: 'n', 'aria-hidden': 'true' }, 2), 'Ask'), h('span', { class: 'sentence' }, text)));
}

function ask(state, place, context, says) {
  const moment = momentAsked(state);
  if (state.when === 'later' && moment === null) { says.textContent = 'That time cannot be read.'; return; }
  if (moment !== null && moment < shopNow() - 10 * MIN) { says.textContent = `${when(moment)} is over: the shop looks ahead.`; return; }
  if (moment !== null && moment > shopNow() + AHEAD_H * HOUR) { says.textContent = 'The shop looks three days ahead, not further.'; return; }
  const areas = areasOf(context.shop, state.piece);
  const params = { material: state.material, place: String(place.id), piece: state.piece.slice(1), area: areas.includes(state.area) ? state.area : '', at: moment === null ? '' : rfc3339(moment) };
  context.go(`check?${queryOf(params)}`);
}

// ---- the answer ----

function answerView(el, params, context) {
  const open = new Set(); // what was unfolded stays so when the answer is asked for again
  let askedAt = 0, askedWall = 0, revision = null;
  const load = async () => {
    askedAt = performance.now();
    askedWall = Date.now(); // goes on while a device sleeps
    revision = context.shop.revision;
    try { replace(el, answerParts(await get(`/check?${queryOf(params)}`), params, context, open)); }
    catch (error) { replace(el, h('h1', {}, 'May I spray now?'), h('p', { class: 'outcome', role: 'alert' }, `No answer: ${error.message}`), tag('Again', { onclick: load }), tag('Change', { href: `#check?${queryOf(params, { change: 1 })}` })); }
  };
  replace(el, h('h1', {}, 'May I spray now?'), h('p', { class: 'quiet' }, 'Asking the shop …'));
  load();
  return { update: () => { if (context.shop.revision !== revision) load(); }, creep: () => { if (Math.max(performance.now() - askedAt, Date.now() - askedWall) > FRESH_MS) load(); } };
}

const VERDICTS = { yes: { shape: 'open', cls: 'may', word: 'Yes' }, no: { shape: 'shut', cls: '', word: 'No' }, unknown: { shape: 'inspect', cls: '', word: 'Not known' } };
const isLater = (answer) => at(answer.at) > shopNow() + MIN;

function verdictWords(answer) {
  const moment = isLater(answer) ? `${when(at(answer.at))}` : 'now';
  if (answer.verdict === 'yes') return `Yes, ${moment}`;
  return answer.verdict === 'no' ? `No, not ${moment}` : 'Not known: read the air first';
}

function subject(answer, shop) {
  const piece = answer.piece ? `, on ${nameIn(shop.pieces, answer.piece, 'it')}` : '';
  return `${answer.material.name} in ${nameIn(shop.places, answer.place, 'this place')}${piece}`;
}

function answerParts(answer, params, context, open) {
  const { shop } = context;
  const verdict = VERDICTS[answer.verdict];
  return [h('h1', {}, 'May I spray now?'),
    h('section', { class: 'verdict', 'aria-label': 'Answer' }, gate(verdict.shape, verdict.cls),
      h('div', { role: 'status' }, h('strong', { class: verdict.cls }, verdictWords(answer)), h('p', {}, subject(answer, shop), ' ', h('a', { class: 'link', href: `#check?${queryOf(params, { change: 1 })}` }, 'change')))),
    answer.reasons.length > 0 && h('ul', { class: 'refusals' }, answer.reasons.map((one) => h('li', {}, refusalText(one)))),
    h('p', { class: 'nextgood' }, nextGood(answer, shop)),
    h('div', { class: 'two' },
      h('div', {}, facts(answer, shop), landings(answer)),
      h('div', {}, windows(answer, shop), stretches(answer, open))),
    answer.remarks.length > 0 && h('ul', { class: 'remarks' }, answer.remarks.map((text) => h('li', {}, text))),
    mind(answer.cautions, answer.caution_texts, answer.deferral, open),
    actions(answer, params, shop)];
}

function actions(answer, params, shop) {
  const back = tag('Back', { href: '#' });
  const line = (first, second) => [h('span', { class: 'line1' }, first), h('span', { class: 'sentence' }, second)];
  if (answer.verdict === 'unknown') return h('div', { class: 'bigrow' }, back, tag(line('Enter the air', nameIn(shop.places, answer.place, '')), { href: `#air?place=${answer.place}`, class: 'tag filled big' }));
  if (answer.verdict === 'no' || isLater(answer)) return h('div', { class: 'bigrow' }, back, tag(line('Ask again', 'another time, place or material'), { href: `#check?${queryOf(params, { change: 1 })}`, class: 'tag big' }));
  const query = queryOf({ ...params, at: '' });
  return h('div', { class: 'bigrow' }, back, tag(line('Log it', subject(answer, shop)), { href: `#log?${query}`, class: 'tag filled big' }));
}

// ---- reasons ----

const FAULTS = {
  'too-cold': { what: 'too cold', unit: temp, limit: 'at least' }, 'too-hot': { what: 'too hot', unit: temp, limit: 'at most' }, 'too-damp': { what: 'too damp', unit: humidity, limit: 'at most' },
  'surface-cold': { what: 'the piece is still cold', unit: temp, limit: 'at least' }, dew: { what: 'too near the dew point', unit: tempGap, limit: 'at least', gap: ' above it' }, 'surface-dew': { what: 'the piece is still cold', unit: tempGap, limit: 'at least', gap: ' above the dew point' },
};

function faultText(one) {
  const fault = FAULTS[one.reason];
  if (!fault || one.value === null) return one.text;
  const below = fault.gap && one.value < 0;
  const gap = below ? ' below the dew point' : fault.gap || '';
  return `${fault.what}: ${fault.unit(below ? -one.value : one.value)}${gap}, ${fault.limit} ${fault.unit(one.limit)}${below ? ' above it' : ''}`;
}

const NO_AIR = /^unknown: |; read the air first$/g; // the answer above it says so

function refusalText(one) {
  const breaks = one.breaks_at ? `, from about ${when(at(one.breaks_at))}` : '';
  const until = one.until_at ? ` until about ${when(at(one.until_at))}` : '';
  return startsUpper(`${faultText(one).replace(NO_AIR, '')}${breaks}${until}`);
}

// ---- when ----

const hasHours = (shop) => shop.shop.work_from !== shop.shop.work_to;
const hoursText = (shop) => (hasHours(shop) ? `${shop.shop.work_from} to ${shop.shop.work_to}` : '');
const fromTo = (one) => `${when(at(one.from_at))} to ${when(at(one.to_at))}`;

function nextGood(answer, shop) {
  const good = answer.stretches.find((one) => one.good);
  const works = answer.stretches.find((one) => one.good && one.works_from_at);
  if (!answer.stretches.length) return 'Without a reading the hours to come are not known either.';
  if (!good) return [h('b', {}, 'No good hour'), ` to begin within ${AHEAD_H} h.`];
  if (answer.verdict === 'yes') return at(good.to_at) - at(answer.at) >= AHEAD_H * HOUR - MIN ? 'Any hour of the next three days would do as well.' : ['Begin by ', h('b', {}, when(at(good.to_at))), '.'];
  const within = !hasHours(shop) ? '' : works ? `; in your hours from ${when(at(works.works_from_at))}` : '; within three days none in your hours';
  return ['Next good hours to begin: ', h('b', {}, fromTo(good)), `${within}.`];
}

function stretchRow(one, guard) {
  const works = one.works_from_at && one.works_from_at !== one.from_at ? `; in your hours from ${when(at(one.works_from_at))}` : '';
  const why = one.good ? `the air holds until it is ${STAGE_WORDS[guard] || guard}${works}` : refusalText({ ...one, until_at: null });
  return h('li', {}, gate(one.good ? 'open' : 'shut', one.good ? 'may' : ''), h('div', {}, h('b', {}, fromTo(one)), ' ', h('span', { class: one.good ? 'may' : '' }, one.good ? 'good' : 'no'), h('div', { class: 'reason' }, one.good ? startsUpper(why) : why)));
}

function stretches(answer, open) {
  if (!answer.stretches.length) return null;
  const isOpen = open.has('hours') || (answer.verdict === 'no' && !open.has('hours shut'));
  const remember = (event) => { const now = event.target.open; open[now ? 'add' : 'delete']('hours'); open[now ? 'delete' : 'add']('hours shut'); };
  return h('details', { class: 'hours', open: isOpen, ontoggle: remember }, h('summary', {}, `Hours to begin, ${AHEAD_H} h ahead`), h('ol', {}, answer.stretches.map((one) => stretchRow(one, answer.guard))));
}

// ---- what to mind: each act in sight, the reasons under them ----

export function mind(codes, texts, deferral, open) {
  const list = cautionsOf(codes, texts);
  const remember = (event) => open[event.target.open ? 'add' : 'delete']('mind');
  return h('section', { class: 'group', 'aria-label': 'What to mind' }, h('h2', {}, 'What to mind'), h('ul', { class: 'mind' }, list.map((one) => h('li', {}, picture(one.code), h('b', {}, one.act)))), h('p', { class: 'deferral' }, deferral),
    h('details', { open: open.has('mind'), ontoggle: remember }, h('summary', {}, 'The reasons, and where they come from'), cautionList(list)));
}

// ---- the air and the piece ----

const fact = (value, words, note = '') => h('div', {}, h('dt', {}, words), h('dd', {}, h('b', {}, value), note && h('small', {}, note)));

function overDew(tempC, dewC) {
  const gap = tempC - dewC;
  return `${tempGap(Math.abs(gap))} ${gap < 0 ? 'below' : 'above'} it`;
}

function surfaceFact({ surface, at: asked }) {
  const clear = surface.clear_at && at(surface.clear_at) > at(asked) + MIN ? `; clear of it from about ${when(at(surface.clear_at))}` : '';
  const dew = surface.dew_point_c === null ? '' : `${overDew(surface.temp_c, surface.dew_point_c).replace(' it', ' the dew point')}${clear}`;
  return fact(`about ${temp(surface.temp_c)}`, 'surface of the piece', `${dew}${surface.wall_assumed ? '. Its wall was never measured' : ''}`);
}

function facts(answer, shop) {
  const { air } = answer;
  const place = nameIn(shop.places, answer.place, 'this place');
  if (!air) return null;
  const basis = air.basis === 'assumed' ? 'assumed: no fresh reading' : `read ${when(at(air.at))}`;
  return h('section', { class: 'group', 'aria-label': 'The air' }, h('h2', {}, `Air of ${place}`, h('small', {}, `${isLater(answer) ? 'now, ' : ''}${basis}`)), h('dl', { class: 'facts' }, fact(temp(air.temp_c), 'temperature'), fact(humidity(air.rh_pct), 'humidity'),
    air.dew_point_c !== null && fact(temp(air.dew_point_c), 'dew point', answer.surface ? '' : `the air is ${overDew(air.temp_c, air.dew_point_c)}`), answer.surface && surfaceFact(answer)),
  answer.surface && h('p', { class: 'hint' }, `A surface wants at least ${tempGap(3)} above the dew point.`));
}

// ---- what it would land on ----

const LANDING = { go: ['open', 'open'], wait: ['shut', 'not open'], wipe: ['wipe', 'wipe first'], scuff: ['scuff', 'scuff first'], strip: ['missed', 'too late, strip first'], test: ['finger', 'finger test'] };
const COMPAT = { ok: 'goes over that', 'with-care': 'goes over that with care', no: 'does not go over that', 'test-patch': 'test patch first' };

function landingRow(one) {
  const [shape, words] = LANDING[one.do] || ['inspect', 'nothing is known of it'];
  const until = one.until_at ? `${one.do === 'wait' ? ' until about' : ' until'} ${when(at(one.until_at))}` : '';
  const said = one.prepared ? 'scuffed in time' : words;
  const word = one.stage ? `${STAGE_WORDS[one.stage]}: ${said}${until}` : words;
  return h('li', {}, gate(shape, one.do === 'go' ? 'may' : ['wipe', 'scuff'].includes(one.do) ? 'prep' : ''), h('div', {}, h('b', {}, `${one.coat}. ${one.material.name}`), one.area && `, ${one.area}`, one.cured && ', cured through', one.disputed && h('span', { class: 'flag' }, 'read the can'),
    h('div', {}, word), h('div', { class: 'reason' }, `${startsUpper(COMPAT[one.compat.verdict] || one.compat.verdict)}: ${one.compat.reason}`, one.compat.source && h('small', {}, ` (${one.compat.source})`))));
}

function landings(answer) {
  if (!answer.lands_on) return null;
  const { coats } = answer.lands_on;
  return h('section', { class: 'group', 'aria-label': 'Would land on' }, h('h2', {}, 'It would land on'), coats.length ? h('ul', { class: 'shaped' }, coats.map(landingRow)) : h('p', {}, 'No coat in the record.'));
}

// ---- what it would open ----

function hoursWords(one) {
  if (one.missed_hours) return 'none of it in your hours';
  if (one.until_outside_hours) return 'closes outside your hours';
  return one.from_outside_hours ? 'opens outside your hours' : '';
}

function windowRow(one, windowsAt) {
  const from = one.from_at === null ? 'not in this air' : at(one.from_at) <= at(windowsAt) + MIN ? 'at once' : `from about ${when(at(one.from_at))}`;
  const until = one.until_at ? ` until ${when(at(one.until_at))}` : '';
  const outside = hoursWords(one);
  return h('li', {}, gate(one.from_at === null ? 'stalled' : one.do === 'test' ? 'finger' : 'open'), h('div', {}, h('b', {}, one.do === 'test' ? 'finger test the size' : STAGE_WORDS[one.stage]), ` ${from}${until}`, outside && h('div', {}, h('b', {}, startsUpper(outside)), '.'), one.disputed && h('span', { class: 'flag' }, 'read the can')));
}

function windows(answer, shop) {
  if (!answer.windows.length) return null;
  const moment = at(answer.windows_at) <= shopNow() + MIN ? 'now' : when(at(answer.windows_at));
  return h('section', { class: 'group', 'aria-label': 'Windows' }, h('h2', {}, `Put on ${moment}, it would open`), h('ul', { class: 'shaped' }, answer.windows.map((one) => windowRow(one, answer.windows_at))), hasHours(shop) && h('p', { class: 'hint' }, `Your hours: ${hoursText(shop)}.`));
}
