// Solvent in the air of a place, by the shop's sums: what there is, against what it is held, what is not told; and gun wash and wiping down.
import { h, tag, replace } from './dom.js';
import { choices, field, number } from './fields.js';
import { at, rfc3339, shopNow, when } from './clock.js';
import { get } from './api.js';
import { amount, amountToMl, amountUnit, roomFromM3, roomToM3, roomUnit } from './units.js';
import { cautionList, cautionsOf } from './plate.js';
import { flowFrom, flowToM3h, flowUnit, row, sheet } from './sums.js';
import { answerField, numberOf, outcome, send, use } from './log.js';

const MIN = 60e3;
const BLENDS = ['lacquer thinner', 'paint thinner', 'enamel reducer', 'denatured alcohol']; // words of labels for mixtures

// ---- figures, rounded to the cautious side: up ----

const up = (value, digits) => Number((Math.ceil(value * 10 ** digits - 1e-9) / 10 ** digits).toFixed(digits)).toString();
const share = (pct) => (pct === null ? 'not known' : `${up(pct, pct < 10 ? 1 : 0)} %`);
function room(m3) {
  if (m3 === null) return 'not known';
  const value = roomFromM3(m3);
  return `${up(value, value < 100 ? (value < 1 ? 3 : 1) : 0)} ${roomUnit()}`;
}
const figure = (value, digits) => Number(value.toFixed(digits));

// ---- the sums ----

function finding(one) {
  if (one.is !== 'exceeds') return one.is;
  return one.until_at ? `exceeds; from ${when(at(one.until_at))} on not shown to` : 'exceeds, and no end of it is in sight by these sums';
}

const verdict = (name, one) => [h('dt', {}, name), h('dd', { class: one.is === 'exceeds' ? 'over' : one.is === 'not known' ? 'unknown' : '' }, h('b', {}, finding(one)))];

function basisText(doc) {
  const coats = `${doc.counted} ${doc.counted === 1 ? 'coat' : 'coats'} with an amount`;
  const without = doc.without_amount ? `, ${doc.without_amount} without` : '';
  const open = doc.released ? `, open solvent ${doc.released === 1 ? 'once' : `${doc.released} times`}` : '';
  return `From the last 14 days: ${coats}${without}${open}.`;
}

function categoryText(doc) {
  const found = /^category-(\d)$/.exec(doc.category || '');
  return found ? ` Flammable liquid, category ${found[1]}.` : '';
}

// Where no amount was told at all, the sums come to nothing, and nothing is what they must not be taken for.
const isBlind = (doc) => doc.without_amount > 0 && !doc.counted && !doc.released;

function rows(doc) {
  return h('dl', { class: 'sums' },
    verdict('A quarter of the lower explosive limit', doc.quarter_of_lel), verdict('A tenth of it', doc.tenth_of_lel), verdict('The exposure limit: your health', doc.exposure_limit),
    isBlind(doc) ? row('By these sums', 'not known', 'how much fresh air it takes, neither against fire nor for health: no amount was told') : figures(doc));
}

function figures(doc) {
  return [row('Now, by these sums', share(doc.lel_pct), `of the lower explosive limit, ${share(doc.limit_pct)} of the exposure limit`),
    row('The most from now on', share(doc.peak_lel_pct), `of the lower explosive limit${doc.peak_at ? `, about ${when(at(doc.peak_at))}` : ''}`),
    row('All of the last day in still air', share(doc.lel_pct_still_air), `of the lower explosive limit, ${room(doc.vapour_m3)} of vapour`),
    row('Fresh air against fire', room(doc.dilution_air_m3), 'perfectly mixed, for a quarter of that limit'),
    row('Fresh air for health', room(doc.limit_air_m3), 'for the exposure limit; that usually wants far more air than fire does')];
}

function sumsOf(doc) {
  return [h('p', {}, basisText(doc)),
    doc.oven && h('p', { class: 'says' }, 'This counts as an oven. No wet coat into it while it is or may be heated; open and purge it first.'),
    rows(doc), h('p', { class: 'says' }, doc.no_design),
    doc.ignition_text && h('p', {}, `The liquid ${doc.ignition_text}.${categoryText(doc)}`),
    doc.wants.length > 0 && h('section', {}, h('h2', {}, 'Not told'), h('ul', { class: 'plainlist' }, doc.wants.map((want) => h('li', {}, want.text)))),
    doc.moved && h('p', { class: 'hint' }, doc.moved),
    h('details', {}, h('summary', {}, 'Cautions for here and now'), cautionList(cautionsOf(doc.cautions, doc.caution_texts)))];
}

// ---- what is told here ----

function solventList() {
  const list = h('datalist', { id: 'solvents' }, BLENDS.map((name) => h('option', { value: name })));
  get('/solvents').then(({ items }) => list.append(...items.filter((one) => !one.gas).map((one) => h('option', { value: one.name }))), () => {}); // typing still does
  return list;
}

function releaseForm(place, context, done) {
  const says = outcome(), state = { when: 'now' };
  return h('form', { class: 'plain release', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target, solvent = form.elements.solvent.value.trim(), ml = amountToMl(numberOf(form, 'amount'));
    const body = { solvent, amount_ml: ml, at: rfc3339(state.when === 'now' ? shopNow() : shopNow() - 20 * MIN) };
    const doc = await send(form.querySelector('[type=submit]'), says, context.write('POST', `/places/${place.id}/vapour`, body, `${amount(ml)} of ${solvent} in ${place.name}`));
    if (!doc) return;
    form.reset();
    says.textContent = `Written down: ${amount(doc.release.amount_ml)} of ${doc.release.solvent}.`;
    done(doc);
  } }, field('Solvent', h('input', { name: 'solvent', required: true, maxlength: 255, autocomplete: 'off', list: 'solvents' }), 'toluene, or toluene=60%, acetone=40%, or lacquer thinner'), solventList(),
  field(`Amount, ${amountUnit()}`, number('amount', { required: true, min: 0.01 }), 'all that was used, rags and pan as well'),
  choices('release-when', 'When', [{ value: 'now', text: 'now' }, { value: '20', text: '20 min ago' }], 'now', (value) => { state.when = value; }),
  says, h('button', { type: 'submit', class: 'tag filled' }, 'Write it down'));
}

function roomForm(place, context, done) {
  const says = outcome();
  return h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target, volume = numberOf(form, 'volume'), airflow = numberOf(form, 'airflow');
    const body = { volume_m3: volume === null ? null : roomToM3(volume), airflow_m3h: airflow === null ? null : flowToM3h(airflow), airflow_measured: form.elements.measured.checked, low_exhaust: form.elements.low.value };
    if (await send(form.querySelector('[type=submit]'), says, context.write('PATCH', `/places/${place.id}`, body, `what is known of ${place.name}`))) { says.textContent = 'Kept.'; done(); }
  } }, h('div', { class: 'pair' }, field(`Volume, ${roomUnit()}`, number('volume', { min: 0, value: place.volume_m3 === null ? '' : figure(roomFromM3(place.volume_m3), 2) })),
    field(`Fresh air of its fan, ${flowUnit()}`, number('airflow', { min: 0, value: place.airflow_m3h === null ? '' : figure(flowFrom(place.airflow_m3h), 1) }))),
  h('label', { class: 'choice' }, h('input', { type: 'checkbox', name: 'measured', checked: place.airflow_measured }), h('span', {}, h('b', {}, 'That airflow was measured'), h('small', {}, 'one that was not counts half'))),
  answerField('low', 'The exhaust draws from low down', place.low_exhaust),
  says, h('button', { type: 'submit', class: 'tag' }, 'Keep'));
}

// ---- the view ----

function pickPlace(el, context) {
  const live = use(context.shop.places);
  replace(el, h('h1', {}, 'Solvent in the air'), live.length ? h('ul', { class: 'plainlist' }, live.map((place) => h('li', {}, h('a', { href: `#vapour?place=${place.id}` }, place.name)))) : h('p', {}, 'There is no place yet. ', h('a', { href: '#place' }, 'Add a place')));
  return {};
}

const LEADS = { logged: 'Logged. This is what it puts into the air.', moved: 'Moved. Wet coat hangs in what counts as an oven: this is what may be in it.' };

export function vapourView(el, params, context) {
  sheet('vapour');
  const place = use(context.shop.places).find((one) => one.id === Number(params.place));
  if (!place) return pickPlace(el, context);
  let asked = 0, revision = context.shop.revision;
  const sums = h('div', { 'aria-live': 'polite' }), trouble = h('p', { class: 'outcome', role: 'status' });
  const draw = (doc) => { asked += 1; trouble.textContent = ''; const open = sums.querySelector('details')?.open; replace(sums, sumsOf(doc)); if (open) sums.querySelector('details').open = true; };
  async function ask() {
    const mine = (asked += 1);
    try {
      const doc = await get(`/places/${place.id}/vapour`);
      if (mine === asked) draw(doc);
    } catch (error) { if (mine === asked) trouble.textContent = `The sums could not be fetched: ${error.message || error}. What stands here is what was last known.`; }
  }
  replace(el, h('h1', {}, `Solvent in the air: ${place.name}`), LEADS[params.after] && h('p', { class: 'lead' }, LEADS[params.after]), trouble, sums,
    h('section', { class: 'group' }, h('h2', {}, 'Gun wash, wiping down'), releaseForm(place, context, draw)),
    h('section', { class: 'group' }, h('details', { open: place.kind === 'oven' && place.airflow_m3h === null }, h('summary', {}, 'What is known of the place'), roomForm(place, context, ask))),
    h('div', { class: 'bigrow' }, tag('Back', { href: '#' }), tag('Its air', { href: `#air?place=${place.id}` })));
  ask();
  return { update() { if (context.shop.revision !== revision) { revision = context.shop.revision; ask(); } }, creep: ask };
}
