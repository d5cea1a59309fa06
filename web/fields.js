// The fields of forms: labelled controls, large choices, and moments and days in the shop's zone as fields have them.
import { fill, h } from './dom.js';
import { local, offset, shopNow, when } from './clock.js';
import { inUnits } from './sums.js';
import { amountToMl, amountUnit, filmToUm, filmUnit, massToKg, massUnit, roomToM3, roomUnit, tempFromC, tempUnit, wallToMm, wallUnit } from './units.js';

const QUARTER = 900e3, HOUR = 3600e3, DAY = 24 * HOUR;

// A browser counts letters, the shop what they take to keep: those of other scripts, and pictures, take more.
function lengthFault(text, most) {
  const taken = (letters) => new TextEncoder().encode(letters.join('')).length;
  const letters = [...text.trim()], kept = [...letters];
  while (taken(kept) > most) kept.pop();
  const over = letters.length - kept.length;
  return over ? `too long: leave out ${over} ${over === 1 ? 'letter' : 'letters'}` : '';
}

let fieldCount = 0;
// A labelled control. `control` is an element; `hint` stands under the label.
export function field(label, control, hint = '') {
  const id = `f${(fieldCount += 1)}`;
  control.id = id;
  if (hint) control.setAttribute('aria-describedby', `${id}h`);
  if (control.maxLength > 0) control.addEventListener('input', () => control.setCustomValidity(lengthFault(control.value, control.maxLength)));
  return h('div', { class: 'field' }, h('label', { for: id }, label), hint && h('small', { id: `${id}h` }, hint), control);
}

// ---- numbers as people write them ----

// With a point or a comma. A browser's own field for numbers takes one of them, as its language has it, and drops the other: 17,5 would become 175.
const NUMBER = /^[-+]?(\d+[.,]?\d*|[.,]\d+)$/, TWO_WAYS = /^[-+]?[1-9]\d{0,2},\d{3}$/;

// What stands there, null where nothing does, NaN where it is no number.
export function readNumber(text) {
  const plain = String(text).trim().replace('\u2212', '-');
  if (plain === '') return null;
  return NUMBER.test(plain) && !TWO_WAYS.test(plain) ? Number(plain.replace(',', '.')) : NaN;
}

function numberFault(text, { min, max, step }) {
  const plain = text.trim(), told = readNumber(plain);
  if (told === null) return '';
  if (TWO_WAYS.test(plain)) return `"${plain}" can be read in two ways: write ${plain.replace(',', '')} or ${readNumber(plain.replace(',', '.'))}`;
  if (Number.isNaN(told)) return `"${plain}" is no number: write it like 17.5 or 17,5`;
  if (told < min || told > max) return max === undefined ? `${min} or more` : `from ${min} to ${max}`;
  return step && told % step ? 'a whole number' : '';
}

// What is wrong with it stands at the field as with any other; behind a fold the browser could not show it.
export function number(name, { value = '', oninput, min, max, step, ...rest } = {}) {
  const el = h('input', { inputmode: 'decimal', autocomplete: 'off', name, value, ...rest });
  const judge = () => el.setCustomValidity(numberFault(el.value, { min, max, step }));
  judge();
  el.addEventListener('input', (event) => { judge(); oninput?.(event); });
  el.addEventListener('invalid', () => el.closest('details')?.setAttribute('open', ''));
  return el;
}

export function select(name, options, chosen) {
  const el = h('select', { name }, options.map(([value, text]) => h('option', { value }, text)));
  el.value = chosen ?? options[0]?.[0] ?? '';
  return el;
}

// A row of large choices (one of them chosen). items: [{value, text, note, picture}]
export function choices(name, label, items, chosen, onchoose, more = null) {
  const group = h('div', { class: 'choices', role: 'radiogroup', 'aria-label': label });
  for (const item of items) {
    const input = h('input', { type: 'radio', name, value: item.value, checked: String(item.value) === String(chosen), 'data-focus': `${name}:${item.value}` });
    input.addEventListener('change', () => onchoose(item.value));
    group.append(h('label', { class: 'choice' }, input, h('span', {}, item.picture, h('b', {}, item.text), item.note && h('small', {}, item.note))));
  }
  return fill(group, [more]);
}

// ---- a number or a moment that the shop refused, as the form has it ----

// By how the shop's name of it ends: its unit here, and the shop's number in it.
const of = (unit, toShop) => [unit, (n) => n / toShop(1)], same = (unit) => [() => unit, (n) => n];
const MEASURES = { c: [tempUnit, tempFromC], pct: same('%'), min: same('min'), h: same('h'), ml: of(amountUnit, amountToMl), um: of(filmUnit, filmToUm), m3: of(roomUnit, roomToM3), kg: of(massUnit, massToKg), mm: of(wallUnit, wallToMm) };
const NAMES = { temp_c: 'Temperature', min_temp_c: 'Lowest temperature', max_temp_c: 'Highest temperature', too_hot_c: 'Too hot from', target_c: 'How hot', rh_pct: 'Humidity', ref_rh_pct: 'Humidity of the dry times', max_rh_pct: 'Highest humidity',
  thinned_pct: 'Thinned', solids_pct: 'Solids', solvent_pct: 'Solvents of it', hold_min: 'How long', induction_min: 'Stand after mixing', pot_life_min: 'Pot life', lead_closing_min: 'Warn before', label_h: 'Time', amount_ml: 'Amount', dry_um: 'Dry film', volume_m3: 'Volume', mass_kg: 'Weight', wall_mm: 'Wall' };

// A sentence of the shop as the form says it: its field by name where the sentence begins with it, no names of the shop's own, no bytes, and moments on its clock.
function inWords(said, field) {
  return inUnits(said).replace(/: write how long, as in \S+$/, ': fill in how long').replace(/^it (?=is )/, field ? `${field} ` : 'it ').replace(/^[a-z]/, (letter) => letter.toUpperCase()).replace(/\b[a-z]+(_[a-z]+\d?)+\b/g, (name) => NAMES[name]?.toLowerCase() || name)
    .replace(/is \d+ bytes long: at most \d+ fit/, 'is too long: make it shorter').replace(/\d{4}-\d\d-\d\dT[\d:.]+Z/g, (moment) => when(Date.parse(moment)));
}

export function refusal(error) {
  const name = (error.field || '').split('.').pop();
  if (error.least === undefined || !NAMES[name]) return inWords(error.detail || String(error.message || error), NAMES[name]);
  const [unit, here] = MEASURES[name.split('_').pop()];
  const [value, least, most] = [error.value, error.least, error.most].map((n) => Number(here(n).toPrecision(4)));
  return `${NAMES[name]} is ${value} ${unit()}: it must be from ${least} to ${most}`;
}

// ---- moments and days ----

// Value for <input type="datetime-local"> in the shop's zone, and back.
export function toField(ms) {
  const p = local(ms);
  const two = (n) => String(n).padStart(2, '0');
  return `${String(p.year).padStart(4, '0')}-${two(p.month)}-${two(p.day)}T${two(p.hour)}:${two(p.minute)}`;
}

// The moments at which the wall of the shop shows that: none in the hour that the clocks leave out, two in the one that comes twice.
function momentsOf(text) {
  const wall = Date.parse(`${text.slice(0, 16)}:00Z`);
  if (Number.isNaN(wall)) return [];
  return [...new Set([wall - offset(wall - DAY), wall - offset(wall + DAY)])].filter((ms) => toField(ms) === text.slice(0, 16)).sort((p, q) => p - q);
}

// What is written down is past: of two moments the one that has been, where only one has.
const SEASONS = ['summer', 'winter']; // as the clocks go back, in that order
function pastOf(text) {
  const all = momentsOf(text), past = all.filter((ms) => ms <= shopNow());
  return past.length ? past : all.slice(0, 1);
}

// The moment that was typed, else null; `season` says which where it came twice.
export function fromField(text, season = '') {
  const all = pastOf(text);
  return all.length < 2 ? all[0] ?? null : all[SEASONS.indexOf(season)] ?? null;
}

// Why there is no moment.
export function noMoment(text) {
  if (!text || Number.isNaN(Date.parse(`${text.slice(0, 16)}:00Z`))) return 'That time cannot be read.';
  return momentsOf(text).length ? 'That time came twice, since the clocks went back that night: say which.' : 'That time was left out when the clocks went forward that night: write one before or after.';
}

// The question which of the two is meant; null where there is nothing to ask.
export function whichOf(text, season, onchoose) {
  return pastOf(text).length < 2 ? null : [h('p', { class: 'hint' }, 'It came twice that night, since the clocks went back. Which is it?'), choices('season', 'It came twice that night', [{ value: 'summer', text: 'summer time', note: 'before the clocks went back' }, { value: 'winter', text: 'winter time', note: 'after they went back' }], season, onchoose)];
}

// Value for <input type="date">, and back: the first moment of that day, and the first after it.
export const toDay = (ms) => toField(ms).slice(0, 10);
export function dayBegins(text) {
  const midnight = Date.parse(`${text}T00:00Z`);
  for (let wall = midnight; wall < midnight + 3 * HOUR; wall += QUARTER) { // some clocks skip midnight
    const [first] = momentsOf(new Date(wall).toISOString());
    if (first !== undefined) return first;
  }
  return null;
}
export function dayEnds(text) {
  const next = Date.parse(`${text}T00:00Z`) + DAY;
  return Number.isNaN(next) ? null : dayBegins(new Date(next).toISOString().slice(0, 10));
}
