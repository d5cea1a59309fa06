// The record of a piece: all that was done to it and the air it had, to keep or to hand on with the machine. Prints on a sheet or two.
import { h, tag, replace } from './dom.js';
import { at, fullDate, hhmm, span } from './clock.js';
import { airText, amount, film, humidity, mass, temp, wall } from './units.js';
import { bakeSaid } from './bakewords.js';
import { STAGE_WORDS } from './stagewords.js';
import { stoodText } from './still.js';
import { addPaperStyle } from './tag.js';
import { figure } from './photos.js';
import { get } from './api.js';

const day = (text) => (text ? `${fullDate(at(text))} ${hhmm(at(text))}` : 'not known');
const list = (items) => items.filter(Boolean).join(', ');

export function recordView(el, params, context) {
  const id = Number(params.piece);
  let shown = null;
  const draw = async () => {
    const { revision } = context.shop;
    if (shown === revision) return;
    shown = revision;
    try {
      const [record] = await Promise.all([get(`/pieces/${id}/record`), addPaperStyle()]);
      replace(el, recordParts(record));
    } catch (error) {
      shown = null;
      replace(el, h('h1', {}, 'The record'), h('p', {}, `It could not be read: ${error.message}`), tag('Back', { href: '#' }));
    }
  };
  replace(el, h('h1', {}, 'The record'), h('p', { class: 'quiet' }, 'Reading …'));
  draw();
  return { update: draw };
}

function recordParts(record) {
  const { piece } = record;
  const inUse = !piece.removed_at;
  return [h('div', { class: 'viewhead' }, h('h1', {}, `The record of ${piece.name}`), h('div', { class: 'after' }, tag('Back', { href: inUse ? `#piece?id=${piece.id}` : '#finished' }), tag('Print', { filled: true, 'data-focus': 'print', onclick: () => print() }))),
    h('div', { class: 'recordsheet' }, aboutPiece(record), coatsPart(record), lists(record), photosPart(record), cautionsPart(record))];
}

function aboutPiece({ piece, as_of_at: now }) {
  const finish = piece.old_finish === 'not tested' ? 'not tested, so it counts as lead' : piece.old_finish;
  const rows = [['Old finish', finish], ['Weight', piece.mass_kg !== null && mass(piece.mass_kg)], ['Wall', piece.wall_mm !== null && wall(piece.wall_mm)], ['Areas', piece.areas.join(', ')], ['About it', piece.note],
    ['Taken in', day(piece.added_at)], ['Finished', piece.removed_at && day(piece.removed_at)], ['This record as of', day(now)]];
  return h('dl', { class: 'about' }, rows.filter(([, text]) => text).map(([name, text]) => h('div', {}, h('dt', {}, name), h('dd', {}, text))));
}

// ---- the coats ----

function putOn(one) {
  return list([one.role, one.area, one.application, one.film, one.passes > 1 && `${one.passes} passes`, one.dry_um !== null ? `${film(one.dry_um)} dry` : one.wet_um !== null && `${film(one.wet_um)} wet`,
    one.amount_ml !== null && amount(one.amount_ml), one.thinned_pct > 0 && `thinned ${one.thinned_pct} %${one.thinner ? ` with ${one.thinner}` : ''}`, one.tin && `tin ${one.tin.name}${one.tin.batch ? `, batch ${one.tin.batch}` : ''}${one.tin.past_keep_by ? ', past its keep-by' : ''}`]);
}

const from = (low, high, unit) => (unit(low) === unit(high) ? unit(low) : `${unit(low)} to ${unit(high)}`);
function spread(range, unit) { return range.mean === null ? null : `${from(range.low, range.high, unit)}, mean ${unit(range.mean)}`; }

function airHad(coat, air, now) {
  if (coat.status === 'struck') return null;
  const until = air.cured ? `until cured through, ${day(air.to_at)}` : coat.status === 'stripped' ? 'until it was stripped' : air.to_at < now ? `until ${day(air.to_at)}` : 'so far';
  const read = [spread(air.temp_c, temp), spread(air.rh_pct, humidity)].filter(Boolean);
  const told = air.measured_h + air.assumed_h > 0; // a coat that was stripped has no stages left that would tell it
  const hours = told ? `${span(air.measured_h * 3600e3)} measured, ${air.assumed_h > 0 ? `${span(air.assumed_h * 3600e3)} assumed, ` : ''}` : '';
  return h('div', {}, read.length ? `${read.join('; ')}; ` : 'Nothing was read; ', `${hours}${until}`, coat.stood_still.length > 0 && h('div', {}, `stood still: ${stoodText(coat, day)}`));
}

function statusText(coat, air) {
  if (coat.status === 'struck') return `struck out ${day(coat.ended_at)}: ${coat.struck_why}`;
  if (coat.status === 'stripped') return `stripped ${day(coat.ended_at)}`;
  if (coat.status === 'covered') return `covered by ${coat.covered_by}, ${day(coat.ended_at)}`;
  return air.cured ? 'on it, cured through' : 'on it, not cured through yet';
}

function bakeText(bake) {
  const times = bake.started_at ? ` ${day(bake.started_at)} to ${bake.ended_at ? day(bake.ended_at) : 'now'}` : '';
  return `${bakeSaid(bake, 'record')} (bake ${bake.id})${bake.peak_c ? `, up to ${temp(bake.peak_c)}` : ''},${times}${bake.ended_at && bake.baked === false ? ', not shown to be baked through' : ''}${bake.reviewed === false ? ', entered afterwards, without a review' : ''}`;
}

function whatHappened({ coat, sandings }) {
  const tests = coat.tests.map((test) => ({ ms: at(test.at), text: `${STAGE_WORDS[test.stage] || test.stage}: test ${test.passed ? 'passed' : 'not passed'} ${day(test.at)}` }));
  const sanded = sandings.map((one) => ({ ms: at(one.at), text: `sanded ${day(one.at)}` }));
  const bake = coat.bake ? [{ ms: at(coat.bake.started_at) || Infinity, text: bakeText(coat.bake) }] : [];
  return [...tests, ...sanded, ...bake].sort((p, q) => p.ms - q.ms).map((one) => h('li', {}, one.text));
}

// Entries that were corrected: what stood there before. The one that strikes says again what it strikes.
function earlier(coat, entries) {
  return entries.slice(0, coat.status === 'struck' ? -2 : -1).map((entry) => h('li', { class: 'was' }, `entry ${entry.entry}, ${day(entry.entered_at)}, corrected later: ${entry.material.name}, ${putOn(entry)}, ${day(entry.last_at)}`));
}

function coatRow(one, now) {
  const { coat, entries, air_had: air } = one;
  const struck = coat.status === 'struck';
  const name = h(struck ? 's' : 'b', {}, coat.material.name);
  const times = coat.first_at === coat.last_at ? day(coat.last_at) : `${day(coat.first_at)} to ${hhmm(at(coat.last_at))}`;
  return h('tr', { class: coat.status }, h('th', { scope: 'row' }, coat.id), h('td', {}, name, h('div', {}, putOn(coat)), coat.note && h('div', {}, coat.note)),
    h('td', { 'data-is': 'Put on' }, times, h('div', {}, coat.air ? `${airText(coat.air)}, ${coat.air.basis}` : 'no air known')), h('td', { 'data-is': 'Air it had' }, airHad(coat, air, now)),
    h('td', { 'data-is': 'What became of it' }, h('b', {}, statusText(coat, air)), coat.inspect && h('div', {}, coat.inspect_why), h('ul', {}, whatHappened(one), earlier(coat, entries))));
}

function coatsPart({ coats, as_of_at: now }) {
  if (!coats.length) return h('section', {}, h('h2', {}, 'Coats'), h('p', {}, 'None was put on it.'));
  const heads = ['No.', 'Coat', 'Put on', 'Air it had', 'What became of it'];
  return h('section', {}, h('h2', {}, 'Coats'), h('table', { class: 'coats' }, h('thead', {}, h('tr', {}, heads.map((text) => h('th', { scope: 'col' }, text)))), h('tbody', {}, coats.map((one) => coatRow(one, now)))));
}

// ---- where it hung, what was taken off ----

function part(title, items) { return items.length > 0 && h('section', {}, h('h2', {}, title), h('ul', { class: 'told' }, items.map((text) => h('li', {}, text)))); }

function lists(record) {
  const moves = record.moves.map((move) => `${move.place_name}, since ${day(move.at)}`);
  const strips = record.strippings.map((one) => `${one.area || 'all of it'}, ${one.down_to ? `down to coat ${one.down_to}` : 'down to the iron'}, ${day(one.at)}`);
  return h('div', { class: 'columns' }, part('Where it hung', moves), part('Stripped', strips), part('Notes', record.notes.map((note) => `${day(note.at)}: ${note.text}`)));
}

const ON_PAPER = 8;
function photosPart({ photos, piece }) {
  if (!photos.length) return null;
  return h('section', {}, h('h2', {}, 'Photos'), h('div', { class: 'photos' }, photos.map((photo) => figure(photo, piece.name))), photos.length > ON_PAPER && h('p', { class: 'onlyprint' }, `${photos.length - ON_PAPER} more on the page.`));
}

// ---- what to mind ----

function cautionsPart(record) {
  const codes = [...new Set([...record.cautions, ...record.coats.flatMap(({ coat }) => coat.cautions)])];
  return h('section', { class: 'mindit' }, h('h2', {}, 'What to mind with it'), h('ul', {}, codes.map((code) => h('li', {}, h('b', {}, record.caution_texts[code].act), ' ', record.caution_texts[code].text))), h('p', { class: 'paperdeferral' }, record.deferral));
}

// ---- pieces that left the line ----

export function finishedView(el) {
  const draw = async () => {
    try {
      const gone = (await get('/pieces?all=1')).items.filter((piece) => piece.removed_at).sort((p, q) => at(q.removed_at) - at(p.removed_at));
      replace(el, h('h1', {}, 'Finished pieces'), h('p', { class: 'lead' }, 'They left the line; their records stay.'),
        gone.length ? h('ul', { class: 'plainlist' }, gone.map((piece) => h('li', {}, h('a', { href: `#record?piece=${piece.id}` }, piece.name), ` finished ${fullDate(at(piece.removed_at))}`))) : h('p', {}, 'None yet.'));
    } catch (error) { replace(el, h('h1', {}, 'Finished pieces'), h('p', {}, `The list could not be read: ${error.message}`)); }
  };
  replace(el, h('h1', {}, 'Finished pieces'), h('p', { class: 'quiet' }, 'Reading …'));
  draw();
  return {};
}
