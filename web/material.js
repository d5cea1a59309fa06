// A material from its label, asked in the order in which labels print things; and the list of what the shop has.
import { h, tag, replace } from './dom.js';
import { field, number, select } from './fields.js';
import { tempToC, tempUnit, filmToUm, filmUnit, isUs } from './units.js';
import { APPLICATIONS, CLASSES, HAZARDS, ROLES } from './choices.js';
import { answerField, numberOf, outcome, send, tie } from './log.js';
import { get } from './api.js';
import { drafted } from './draft.js';

const DRY = [['touch', 'Dry to touch'], ['tack-free', 'Tack-free'], ['handle', 'Dry to handle'], ['cure', 'Cured through']];

const BAKE_ROWS = [1, 2, 3];
const MIN_PER_H = 60;

function hoursField(name, label) { return field(label, number(name, { min: 0, max: 10000 })); }

// A time as labels print them: "30 minutes", "8 hours".
function timeField(name, label) {
  const unit = select(`${name}-unit`, [['h', 'hours'], ['min', 'minutes']]);
  unit.setAttribute('aria-label', `${label}: hours or minutes`);
  const box = field(label, number(name, { min: 0, max: 10000 }));
  box.append(unit);
  return box;
}

function hoursOf(form, name) {
  const told = numberOf(form, name);
  return told !== null && form.elements[`${name}-unit`].value === 'min' ? told / MIN_PER_H : told;
}

function windowFields(stage, title) {
  return h('fieldset', { class: 'window' }, h('legend', {}, title), h('p', { class: 'hint' }, 'Fill in what the label prints; leave the rest empty.'),
    h('div', { class: 'pair' }, hoursField(`${stage}-within`, 'Within, hours'), hoursField(`${stage}-after`, 'Or after, hours')),
    h('div', { class: 'pair' }, hoursField(`${stage}-before`, 'Before, hours'), field('After that', select(`${stage}-then`, [['scuff', 'scuff first'], ['wipe', 'wipe with solvent first'], ['strip', 'too late: strip']]))));
}

const boundary = (then, temp, hours, printed) => ({ then, rows: [{ temp_c: temp, hours }], label_h: printed });

// "within 1 h or after 48 h, then scuff after 96 h" as spans: go, wait, go, scuff.
export function windowOf({ within, after, before, then }, temp) {
  const list = [];
  if (within !== null && (after !== null || before === null)) list.push(boundary(after === null ? then : 'wait', temp, within, within));
  if (after !== null) list.push(boundary('go', temp, after, after));
  if (before !== null) list.push(boundary(then, temp, before, before));
  if (!list.length) return null;
  return { first: within !== null || after === null ? 'go' : 'wait', boundaries: list };
}

function stagesOf(form, temp) {
  const stages = [];
  for (const [stage] of DRY) {
    const hours = hoursOf(form, stage);
    if (hours !== null) stages.push({ stage, first: 'wait', boundaries: [boundary('go', temp, hours, hours)] });
  }
  const read = (name) => numberOf(form, `recoat-${name}`);
  const found = windowOf({ within: read('within'), after: read('after'), before: read('before'), then: form.elements['recoat-then'].value }, temp);
  if (found) stages.push({ stage: 'recoat', ...found });
  return stages;
}

function bakeOf(form) {
  const rows = BAKE_ROWS.map((n) => ({ temp: numberOf(form, `bake-temp-${n}`), min: numberOf(form, `bake-min-${n}`) })).filter((row) => row.temp !== null && row.min !== null);
  return rows.map((row) => ({ temp_c: tempToC(row.temp), hours: row.min / MIN_PER_H }));
}

// What the label calls too much; either may stay empty.
function bakeLimitsOf(form) {
  const hot = numberOf(form, 'too-hot'), long = numberOf(form, 'too-long'), there = numberOf(form, 'too-long-at');
  if (hot === null && long === null && there === null) return null;
  return { too_hot_c: hot === null ? null : tempToC(hot), too_long: long === null && there === null ? null : { temp_c: there === null ? null : tempToC(there), hours: long === null ? null : long / MIN_PER_H } };
}

function compositionOf(form) {
  const solvent = form.elements.evaporates.value.trim(), share = numberOf(form, 'evaporates-share');
  return solvent || share !== null ? { solvent: solvent || null, solvent_pct: share } : null;
}

function documentOf(form) {
  const temp = tempToC(numberOf(form, 'at-temp') ?? (isUs() ? 70 : 21));
  const some = (pairs) => Object.fromEntries(pairs.filter(([, value]) => value !== null));
  const limit = (name) => { const n = numberOf(form, name); return n === null ? null : tempToC(n); };
  const dry = numberOf(form, 'film');
  const document = { name: form.elements.name.value.trim(), class: form.elements.class.value, application: form.elements.application.value, role: form.elements.role.value,
    limits: some([['min_temp_c', limit('min')], ['max_temp_c', limit('max')], ['max_rh_pct', numberOf(form, 'damp')]]), film: some([['dry_um', dry === null ? null : filmToUm(dry)], ['solids_pct', numberOf(form, 'solids')]]),
    stages: stagesOf(form, temp), hazards: Object.fromEntries(HAZARDS.map(([word]) => [word, form.elements[word].value])) };
  const rh = numberOf(form, 'at-rh');
  if (rh !== null) document.ref_rh_pct = rh;
  const bake = bakeOf(form);
  if (bake.length) document.bake = bake;
  const most = bakeLimitsOf(form), thinner = form.elements.thinner.value.trim();
  if (most) document.bake_limits = most;
  if (thinner) document.thinner = thinner;
  const composition = compositionOf(form);
  if (composition) document.composition = composition;
  return { ...document, ...some([['induction_min', numberOf(form, 'induction')], ['pot_life_min', numberOf(form, 'pot')]]) };
}

// What the numbers of the form cannot mean together, with the name of the one to look at; null where they can.
function faultOf(form) {
  const told = (name) => numberOf(form, name);
  const [within, after, before] = ['within', 'after', 'before'].map((name) => told(`recoat-${name}`));
  if (after !== null && within !== null && after <= within) return ['recoat-after', `The next coat may go on within ${within} h, or after more than that: "Or after" is ${after} h.`];
  const opens = after ?? within;
  if (before !== null && opens !== null && before <= opens) return ['recoat-before', `"Before" is ${before} h: it must be more than the ${opens} h over it.`];
  const half = BAKE_ROWS.find((n) => (told(`bake-temp-${n}`) === null) !== (told(`bake-min-${n}`) === null));
  return half ? [`bake-${told(`bake-temp-${half}`) === null ? 'temp' : 'min'}-${half}`, `In the oven, ${half}: tell both, how hot and how long.`] : null;
}

export function materialView(el, params, context) {
  const says = outcome();
  const group = (title, ...kids) => h('section', { class: 'group' }, h('h2', {}, title), kids);
  replace(el, h('h1', {}, 'A material from its label'), h('p', { class: 'lead' }, 'In the order in which labels print things. What the label does not say comes from the class, on the cautious side. A number you type wins.'),
    drafted('material', h('form', { class: 'plain wide', onsubmit: async (event) => {
      event.preventDefault();
      const fault = faultOf(event.target);
      if (fault) { says.textContent = fault[1]; tie(event.target.elements[fault[0]], says); return; }
      const document = documentOf(event.target);
      const lead = numberOf(event.target, 'lead');
      const then = lead === null ? null : { path: '/materials/ID/lead', body: { lead_closing_min: lead }, what: `warning for ${document.name}` };
      const made = await send(event.target.querySelector('[type=submit]'), says, context.write('POST', '/materials', document, `new material: ${document.name}`, then));
      if (made) context.go(`log?material=${made.id}`);
    } },
    group('What it is', field('Name', h('input', { name: 'name', required: true, maxlength: 63, autocomplete: 'off' }), 'for example: black enamel, small tin'), field('Class', select('class', CLASSES.map((word) => [word, word.replaceAll('-', ' ')]))),
      h('div', { class: 'pair' }, field('Put on by', select('application', APPLICATIONS.map((word) => [word, word]))), field('Used as', select('role', ROLES.map((word) => [word, word]), 'enamel')))),
    group('Put it on between', h('div', { class: 'pair' }, field(`Lowest, ${tempUnit()}`, number('min')), field(`Highest, ${tempUnit()}`, number('max'))), field('Highest humidity, %', number('damp', { min: 0, max: 100 }))),
    group('What evaporates from it', field('Solvents', h('input', { name: 'evaporates', maxlength: 255, autocomplete: 'off' }), 'for example: toluene=60%, acetone=40%; from the safety data sheet. Empty counts as the worst of its class'), field('Of it by volume, %', number('evaporates-share', { min: 0, max: 100 })),
      field('Thin it with', h('input', { name: 'thinner', maxlength: 63, autocomplete: 'off' }), 'as the label names it, for example: mineral spirits; counts where a thinned coat names nothing else')),
    group('Film', h('div', { class: 'pair' }, field(`Dry film, ${filmUnit()}`, number('film', { min: 0 })), field('Solids by volume, %', number('solids', { min: 0, max: 100 })))),
    group('Dry times', h('div', { class: 'pair' }, field(`At, ${tempUnit()}`, number('at-temp', { value: isUs() ? 70 : 21 })), field('And humidity, %', number('at-rh', { min: 0, max: 100, value: 50 }))), h('div', { class: 'pair' }, DRY.map(([stage, label]) => timeField(stage, label)))),
    group('Next coat', windowFields('recoat', 'When the next coat may go on'), field('Warn before it closes, min', number('lead', { min: 0, max: 2880, step: 1 }), `empty: as the shop does, ${context.shop.shop.lead_closing_min} min`)),
    group('In the oven', h('p', { class: 'hint' }, 'Only for what is baked. The metal\u2019s temperature, and how long it stays there.'), BAKE_ROWS.map((n) => h('div', { class: 'pair' }, field(`${n}. At, ${tempUnit()}`, number(`bake-temp-${n}`)), field(`${n}. For, min`, number(`bake-min-${n}`, { min: 0 })))),
      field(`Too hot from, ${tempUnit()}`, number('too-hot'), `empty: ${isUs() ? '27 \u00b0F' : '15 \u00b0C'} above the hottest, by common practice`), h('div', { class: 'pair' }, field('Too long from, min', number('too-long', { min: 0 }), 'empty: twice what is asked, by common practice'), field(`At, ${tempUnit()}`, number('too-long-at')))),
    group('Two-part only', h('div', { class: 'pair' }, field('Stand after mixing, min', number('induction', { min: 0 })), field('Pot life, min', number('pot', { min: 0 })))),
    group('Hazards', h('p', { class: 'hint' }, 'From the label or the safety data sheet. Not answered counts as the worst of its class.'), HAZARDS.map(([word, text]) => answerField(word, text))),
    says, h('div', { class: 'bigrow' }, tag('Back', { href: '#' }), h('button', { type: 'submit', class: 'tag filled big' }, 'Keep this material')))));
  return {};
}

// How long before the end of its windows a material asks; read when it is opened.
function leadFold(context, one) {
  const says = outcome(), box = h('div', {}, 'reading …');
  const draw = (lead) => replace(box, h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const told = numberOf(event.target, 'lead');
    if (await send(event.target.querySelector('[type=submit]'), says, context.write('POST', `/materials/${one.id}/lead`, { lead_closing_min: told }, `warning for ${one.name}`))) says.textContent = told === null ? 'As the shop does again.' : 'Kept.';
  } }, field('Warn before it closes, min', number('lead', { min: 0, max: 2880, step: 1, value: lead ?? '' }), `empty: as the shop does, ${context.shop.shop.lead_closing_min} min`), says, h('button', { type: 'submit', class: 'tag', 'aria-label': `Keep for ${one.name}` }, 'Keep')));
  const load = async () => { try { draw((await get(`/materials/${one.id}`)).lead_closing_min); } catch (error) { box.textContent = `It could not be read: ${error.message}`; } };
  return h('details', { ontoggle: (event) => { if (event.target.open) load(); } }, h('summary', { 'aria-label': `When to warn: ${one.name}` }, 'When to warn'), box);
}

export function materialList(context) {
  return h('ul', { class: 'plainlist' }, context.shop.materials.map((one) => h('li', {}, h('b', {}, one.name), ` ${one.role}, ${one.class.replaceAll('-', ' ')}, ${one.application}`, h('small', {}, one.builtin ? ' generic' : ` from its label, version ${one.version}`, one.disputed ? ', sources disagree: read the can' : ''), leadFold(context, one))));
}
