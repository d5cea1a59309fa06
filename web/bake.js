// Bakes: the review before one on one screen that prints (cautions and ventilation, then the sums, then what is asked), and how far one is.
import { h, tag, replace } from './dom.js';
import { choices, field, number, select } from './fields.js';
import { at, rfc3339, shopNow, span, when } from './clock.js';
import { get } from './api.js';
import { temp, tempToC, tempUnit, wallToMm, wallUnit } from './units.js';
import { picture } from './gates.js';
import { cautionList, cautionsOf } from './plate.js';
import { flowCounted, flowWanted, inUnits, liquid, row, sheet } from './sums.js';
import { numberOf, outcome, send, use } from './log.js';
import { bakeSaid } from './bakewords.js';

const MIN = 60e3;
const BACK_MS = 20e3;           // how often a running one is asked for again

const minutes = (min) => (min === null ? 'not known' : span(min * MIN));
const moment = (text) => (text ? when(at(text)) : 'not known');
const nameIn = (list, id) => list.find((one) => one.id === id)?.name || `${id}`;

function loadText(shop, bake) {
  return bake.parts.map((part) => `${nameIn(shop.pieces, part.piece)} (coat ${part.coat}, ${part.material})`).join(', ');
}

const head = (shop, bake) => [h('h1', {}, `Bake ${bake.id}: ${bakeSaid(bake)}`), h('p', { class: 'lead' }, `${loadText(shop, bake)}, in ${nameIn(shop.places, bake.place)}`, !bake.reviewed && h('b', {}, '. Without a review')), bake.note && h('p', {}, bake.note)];

function stepText(step) {
  const ramp = step.ramp_min > 0 ? `in ${minutes(step.ramp_min)} to ` : '';
  return `${ramp}${temp(step.target_c)}, held ${minutes(step.hold_min)}`;
}

const programme = (bake) => row('Programme', bake.steps.map(stepText).join('; then '), 'each hold from when the part is there');
// What to do in short, so that the whole of a review fits one sheet; the reasons under it.
const cautions = (bake) => h('section', { class: 'group minds', 'aria-label': 'Cautions' }, h('h2', {}, 'Before anything else'),
  h('ul', { class: 'shorts' }, cautionsOf(bake.cautions, bake.caution_texts).map((one) => h('li', {}, picture(one.code), h('b', {}, one.act)))), h('p', { class: 'deferral' }, bake.deferral),
  h('details', {}, h('summary', {}, 'The whole of each caution, and its source'), cautionList(cautionsOf(bake.cautions, bake.caution_texts))));

// ---- the review ----

function vapourRows(vapour) {
  const sum = vapour.known ? liquid(vapour.retained_ml) : 'not known';
  const held = vapour.known ? `of solvent still in the film, ${vapour.retained_pct} % of ${liquid(vapour.solvent_ml)}: ${vapour.lel_pct_still_air} % of what can explode, in the oven's still air` : vapour.without_amount ? 'a coat of the load has no amount' : '';
  const has = `${flowCounted(vapour.has_m3h)} counted${vapour.airflow_measured ? '' : ', as what was not measured counts half'}`;
  return [row('Vapour', sum, held), h('dt', {}, 'A quarter of that limit'), h('dd', { class: vapour.quarter_of_lel === 'exceeds' ? 'over' : vapour.known ? '' : 'unknown' }, h('b', {}, vapour.quarter_of_lel)),
    row('Exhaust wanted', vapour.known ? flowWanted(vapour.needs_m3h) : 'not known', has), row('Purge before heat', minutes(vapour.purge_min), vapour.purge_min === null ? '' : 'of exhaust at least')];
}

const lagRows = (shop, bake) => bake.parts.filter((part) => part.lag_min.slow > 0).map((part) => row(nameIn(shop.pieces, part.piece), `${minutes(part.lag_min.quick)} to ${minutes(part.lag_min.slow)}`, 'is how far it lags its oven'));

// Questions that are open stand above, each by itself: here they are counted.
function refusals(bake) {
  const list = bake.review.refusals, open = bake.review.questions.filter((one) => one.answer === 'unanswered');
  if (!list.length) return h('p', { class: 'clear' }, 'Nothing that was asked speaks against it. That is no word that it is safe.');
  const rest = list.filter((one) => !(one.kind === 'item' && one.text.startsWith('Not answered')));
  return [h('h2', {}, 'It does not begin while this stands'), h('ul', { class: 'refusals' },
    open.length > 0 && h('li', { class: 'safety' }, h('b', {}, `${open.length} ${open.length === 1 ? 'question is' : 'questions are'} open, `), `${open.filter((one) => one.safety).length} of them of safety.`),
    rest.map((one) => h('li', { class: one.safety ? 'safety' : '' }, h('b', {}, one.safety ? 'Safety. ' : 'Finish. '), inUnits(one.text))))];
}

// What is answered here and not yet known to the shop stands as it was tapped.
function questionField(one, held, answer) {
  const chosen = held.get(one.about) || one.answer;
  const good = chosen === one.must;
  const mark = chosen === 'unanswered' ? 'not answered' : good ? 'as it must be' : `it must be ${one.must}`;
  return h('fieldset', { class: `answer asked ${chosen === 'unanswered' ? 'open' : good ? 'good' : 'bad'}` }, h('legend', {}, one.question, h('small', {}, ` ${one.safety ? 'Safety' : 'Finish'}, ${mark}${one.answered_at ? ` (${moment(one.answered_at)})` : ''}`)),
    ['yes', 'no'].map((value) => h('label', { class: 'choice' }, h('input', { type: 'radio', name: one.about, value, checked: chosen === value, 'data-focus': `${one.about}:${value}`, onchange: () => answer(one.about, value) }), h('span', {}, h('b', {}, value)))),
    chosen !== 'unanswered' && !good && h('p', { class: 'why' }, one.why, h('small', {}, ` (${one.source})`)));
}

function thingBox(one, held, answer) {
  const on = (held.get(one.about) || one.answer) === 'yes';
  return h('label', { class: 'choice thing' }, h('input', { type: 'checkbox', name: one.about, checked: on, 'data-focus': `thing:${one.about}`, onchange: (event) => answer(one.about, event.target.checked ? 'yes' : 'no') }),
    h('span', {}, h('b', {}, one.thing), h('small', {}, `from ${temp(one.temp_c)}: ${one.what}`)));
}

function reviewOf(shop, bake, held, act) {
  const { review } = bake;
  const says = outcome();
  const start = tag('Begin the bake', { filled: review.may_start, disabled: !review.may_start, 'data-focus': 'start', onclick: (event) => act(event.currentTarget, says, 'start', `Bake ${bake.id} begun`) });
  return [head(shop, bake), cautions(bake),
    h('section', { class: 'group', 'aria-label': 'Sums' }, h('h2', {}, 'The sums'), h('dl', { class: 'sums' }, vapourRows(review.vapour), programme(bake), limits(shop, bake), lagRows(shop, bake)), h('p', { class: 'says' }, bake.no_design)),
    h('section', { class: 'group asks', 'aria-label': 'Questions' }, h('h2', {}, 'With the piece and the oven in front of you'), review.questions.map((one) => questionField(one, held, act.answer))),
    h('section', { class: 'group things', 'aria-label': 'What heat ruins' }, h('h2', {}, 'What is on the piece?'), h('p', {}, 'Heat ruins these. What is ticked comes off first.'), h('div', { class: 'thinglist' }, review.things.map((one) => thingBox(one, held, act.answer)))),
    h('section', { class: 'group', 'aria-label': 'What speaks against it', 'aria-live': 'polite' }, refusals(bake)),
    says, h('div', { class: 'bigrow' }, start, tag('Print', { onclick: () => print() }), tag('Give it up', { 'data-focus': 'giveup', onclick: (event) => act(event.currentTarget, says, 'stop', `Review of bake ${bake.id} given up`) }))];
}

// ---- a running one ----

const range = (part) => { const { quick, slow } = part.temp_c; if (slow === null) return 'not known'; const [low, high] = [Math.min(quick, slow), Math.max(quick, slow)]; return high - low < 0.5 ? temp(low) : `${temp(low)} to ${temp(high)}`; };

function partRows(shop, part) {
  const name = nameIn(shop.pieces, part.piece), share = Math.min(100, Math.floor(part.progress * 100));
  const excess = { 'too-hot': 'It may be too hot for its finish.', 'too-long': 'It may have been in the heat too long.' }[part.excess];
  return [row(name, range(part), part.probed ? 'by its probe' : 'by how it follows its oven'), h('dt', {}, `${name}, baked`), h('dd', {}, h('b', {}, `${share} %`), ' by the least that it can have had ', h('progress', { max: 1, value: String(Math.min(1, part.progress)), 'aria-label': `${name}, baked` }), excess && h('b', { class: 'over' }, ` ${excess}`))];
}

// From where on a part has had too much, by its label or by common practice.
function limitRows(shop, part) {
  const name = nameIn(shop.pieces, part.piece), printed = part.too_long_row;
  const long = printed ? `${minutes(printed.hours * 60)} at ${temp(printed.temp_c)}` : `${part.too_long} times what its rows ask`;
  return [row(`${name}, too hot`, `from ${temp(part.too_hot_c)}`, inUnits(part.too_hot_source)), row(`${name}, too long`, `from ${long}`, inUnits(part.too_long_source))];
}

const limits = (shop, bake) => bake.parts.filter((part) => part.material).flatMap((part) => limitRows(shop, part).flat());

function ovenRow(bake) {
  const { oven } = bake;
  const how = { 'not-read': 'as it was told: nobody reads it', 'by-hand': `by hand, ${moment(oven.read_at)}`, read: `read ${moment(oven.read_at)}` }[oven.reading];
  const lost = bake.unknown_min > 0 ? `; not known for ${minutes(bake.unknown_min)}` : '';
  return row('Oven', oven.temp_c === null ? 'not known' : temp(oven.temp_c), `${how}${lost}`);
}

function whenRows(bake) {
  const ended = bake.ended_at !== null;
  return [row('Begun', moment(bake.started_at)), ended && row('Ended', moment(bake.ended_at), bake.baked ? '' : 'not shown to be baked through'),
    !ended && row('Heat off', bake.state === 'done' ? 'now' : moment(bake.turn_down_at), 'when the last part is done by the least that it can have had'),
    !ended && bake.too_long_at && row('Too long from', moment(bake.too_long_at)), !ended && bake.too_hot_at && row('Too hot from', moment(bake.too_hot_at)),
    row('To touch', bake.cool_at ? `not before ${moment(bake.cool_at)}` : 'not known', ended ? 'by the slowest that it can cool' : 'if it comes out when it is done')];
}

function ovenForm(shop, bake, context) {
  const says = outcome();
  return h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const value = numberOf(event.target, 'oven');
    const doc = await send(event.target.querySelector('[type=submit]'), says, context.write('POST', `/places/${bake.place}/readings`, { temp_c: tempToC(value), at: rfc3339(shopNow()) }, `${nameIn(shop.places, bake.place)} read`));
    if (doc) context.say('Written down: what the oven says.');
  } }, field(`What the oven's thermometer says, ${tempUnit()}`, number('oven', { required: true }), 'each half hour at least: what lies further apart counts for the least that it can have been'), says, h('button', { type: 'submit', class: 'tag' }, 'Write it down'));
}

function lost(bake, act, says) {
  if (bake.interrupted_since_at)
    return h('section', { class: 'group lost' }, h('p', {}, h('b', {}, `The service did not run from ${moment(bake.interrupted_since_at)} on.`), ' What the oven did meanwhile is not known, and counts for nothing. Go and look at it.'), tag('It goes on, from the beginning of its programme', { 'data-focus': 'resume', onclick: (event) => act(event.currentTarget, says, 'resume', `Bake ${bake.id} goes on`) }));
  return bake.unread_since_at && h('p', { class: 'lost' }, h('b', {}, `The oven was not read since ${moment(bake.unread_since_at)}.`), ' Nothing counts until it is: look at it.');
}

function runningOf(shop, bake, context, act) {
  const says = outcome(), on = bake.ended_at === null && bake.started_at !== null;
  return [head(shop, bake), lost(bake, act, says),
    h('dl', { class: 'sums running' }, bake.started_at && [on && ovenRow(bake), bake.parts.flatMap((part) => partRows(shop, part).flat()), whenRows(bake)], programme(bake), on && limits(shop, bake)), h('p', { class: 'says' }, bake.no_design),
    says, on && h('div', { class: 'bigrow' }, tag('The heat is off', { filled: bake.state === 'done', 'data-focus': 'stop', onclick: (event) => act(event.currentTarget, says, 'stop', `Bake ${bake.id} ended`) })),
    on && bake.oven.reading !== 'read' && h('details', {}, h('summary', {}, 'Read the oven'), ovenForm(shop, bake, context)), cautions(bake)];
}

// ---- one bake ----

function oneBake(el, id, context) {
  const held = new Map();
  let asked = 0, revision = context.shop.revision, askedAt = 0, shown = null;
  const draw = (bake) => { shown = bake; replace(el, bake.state === 'review' ? reviewOf(context.shop, bake, held, act) : runningOf(context.shop, bake, context, act)); };
  async function ask() {
    const mine = (asked += 1);
    askedAt = performance.now();
    try { const bake = await get(`/bakes/${id}`); if (mine === asked) draw(bake); } catch (error) { if (!shown) replace(el, h('h1', {}, 'Bake'), h('p', { class: 'outcome', role: 'status' }, `It could not be fetched: ${error.message || error}`)); }
  }
  async function act(button, says, verb, words) {
    const bake = await send(button, says, context.write('POST', `/bakes/${id}/${verb}`, { at: rfc3339(shopNow()) }, words));
    if (bake) { asked += 1; draw(bake); context.say(words); }
  }
  act.answer = async (about, answer) => {
    held.set(about, answer);
    draw(shown);
    try {
      const bake = await context.write('POST', `/bakes/${id}/answers`, { answers: [{ about, answer }] }, `an answer of bake ${id}`);
      if (held.get(about) === answer) held.delete(about);
      asked += 1;
      draw(bake);
    } catch (error) { held.delete(about); context.say(error.detail || String(error.message || error)); draw(shown); }
  };
  ask();
  const busy = () => el.querySelector('form :focus') !== null;
  return { update() { if (context.shop.revision !== revision && !busy()) { revision = context.shop.revision; ask(); } }, creep() { if (!busy() && performance.now() - askedAt > BACK_MS / 2) ask(); } };
}

// ---- a new review ----

const ovensOf = (shop) => use(shop.places).filter((place) => place.kind === 'oven');
const bakeable = (shop) => shop.coats.filter((coat) => coat.status === 'on' && coat.stages.some((stage) => stage.stage === 'bake'));

function newReview(el, params, context) {
  const { shop } = context;
  const ovens = ovensOf(shop), coats = bakeable(shop), says = outcome(), state = { air: 'unknown', hot: 'cold' };
  if (!ovens.length || !coats.length) {
    replace(el, h('h1', {}, 'A bake'), h('p', {}, coats.length ? 'There is no oven yet: add a place of the kind oven, with its volume and its exhaust.' : 'No coat on the line is one that is baked.'), h('div', { class: 'bigrow' }, !ovens.length && tag('Add an oven', { filled: true, href: '#place' }), tag('Back', { href: '#bake' })));
    return {};
  }
  const boxes = coats.map((coat) => h('label', { class: 'choice' }, h('input', { type: 'checkbox', name: 'coat', value: coat.id, checked: coat.id === Number(params.coat) || coats.length === 1 }), h('span', {}, h('b', {}, nameIn(shop.pieces, coat.piece)), h('small', {}, `coat ${coat.id}, ${coat.material.name}`))));
  const form = h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const wall = numberOf(form, 'wall'), target = numberOf(form, 'target'), hold = numberOf(form, 'hold');
    const parts = [...form.querySelectorAll('[name=coat]:checked')].map((box) => ({ coat: Number(box.value), metal: form.elements.metal.value, wall_mm: wall === null ? null : wallToMm(wall) }));
    if (!parts.length) { says.textContent = 'Which coats go in? Tick one at least.'; return; }
    const steps = target === null ? [] : [{ target_c: tempToC(target), hold_min: hold, ramp_min: state.hot === 'hot' ? 0 : null }];
    const bake = await send(form.querySelector('[type=submit]'), says, context.write('POST', '/bakes', { place: Number(form.elements.place.value), oven_air: state.air, parts, steps }, 'the review of a bake'));
    if (bake) context.go(`bake?id=${bake.id}`);
  } }, h('fieldset', { class: 'answer' }, h('legend', {}, 'What goes in'), boxes), field('Oven', select('place', ovens.map((oven) => [oven.id, oven.name]))),
  h('div', { class: 'pair' }, field(`How hot, ${tempUnit()}`, number('target', { min: 0 }), 'empty: the coolest row of the material'), field('How long, min', number('hold', { min: 0 }), 'from when the part is there; empty: what its rows ask')),
  h('div', { class: 'pair' }, field(`Wall of the casting, ${wallUnit()}`, number('wall', { min: 0 }), 'empty: as the piece has it'), field('Metal', select('metal', ['iron', 'steel', 'aluminium', 'brass'].map((one) => [one, one])))),
  h('h2', {}, 'Air in the oven'), choices('air', 'Air in the oven', [{ value: 'unknown', text: 'not known' }, { value: 'fan', text: 'a fan moves it' }, { value: 'still', text: 'no fan' }], state.air, (value) => { state.air = value; }),
  h('h2', {}, 'The oven'), choices('hot', 'The oven', [{ value: 'cold', text: 'starts cold' }, { value: 'hot', text: 'is hot already' }], state.hot, (value) => { state.hot = value; }),
  says, h('button', { type: 'submit', class: 'tag filled' }, 'Review it'));
  replace(el, h('h1', {}, 'A bake: what, where, how hot'), h('p', {}, 'Nothing begins here. The review comes next, and shows what speaks against it.'), form);
  return {};
}

// ---- the list ----

function listOf(el, context) {
  const list = h('div', { 'aria-live': 'polite' });
  replace(el, h('h1', {}, 'Bakes'), list, h('div', { class: 'bigrow' }, tag('Review a bake', { filled: true, href: '#bake?new=1' }), tag('Back', { href: '#' })));
  const ask = () => get('/bakes?all=1').then(({ items }) => replace(list, items.length ? h('ul', { class: 'plainlist' }, items.map((bake) => h('li', {}, h('a', { href: `#bake?id=${bake.id}` }, `Bake ${bake.id}, ${loadText(context.shop, bake)}`), `: ${bakeSaid(bake)}${bake.reviewed ? '' : ', without a review'}`))) : h('p', {}, 'None yet. A bake begins with a review of piece, oven and air.')),
    (error) => { list.textContent = `They could not be fetched: ${error.message || error}`; });
  let revision = context.shop.revision;
  ask();
  return { update() { if (context.shop.revision !== revision) { revision = context.shop.revision; ask(); } } };
}

export function bakeView(el, params, context) {
  for (const name of ['vapour', 'bake']) sheet(name); // the sums look alike
  if (params.id) return oneBake(el, Number(params.id), context);
  return params.new || params.coat ? newReview(el, params, context) : listOf(el, context);
}
