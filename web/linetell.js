// What the marks of the line mean: at one moment of one lane, as a table of all of them, and as a key. Comes when it is asked for.
import { h, s } from './dom.js';
import { at, hhmm, longDay, when } from './clock.js';
import { isStalled, profile, railStage, shownSpans } from './film.js';
import { bakeWord } from './lanemarks.js';
import { assumedHours } from './ribbon.js';
import { dewPoint, humidity, temp } from './units.js';
import { gate } from './gates.js';
import { doWord, STALLS } from './words.js';
import { STAGE_WORDS } from './stagewords.js';

// ---- marks ----

const GATE_OF = { go: 'open', wait: 'waiting', shut: 'shut', scuff: 'scuff', wipe: 'wipe', strip: 'missed', test: 'finger' };
const PART_OF = { wet: 'wet', tacky: 'tacky', dry: 'dry', hard: 'cured through', baked: 'hard from the oven', stalled: 'stands still', stood: 'stood still' };

const between = (ramp, now) => `, between ${when(ramp.from, now)} and ${when(ramp.to, now)}`;
function filmMarks(lane, coat, now) {
  const ended = coat.ended_at ? at(coat.ended_at) : null;
  return profile(coat, now, lane.stalledFrom).parts.map((part) => {
    const why = part.name === 'stalled' ? `: ${STALLS[part.why] || part.why}` : '', name = part.name === 'stalled' && part.to !== null && part.to <= now ? 'stood' : part.name;
    return { kind: 'film', sign: part.name === 'stalled' ? 'stalled' : null, from: part.from, to: ended === null ? part.to : Math.min(part.to ?? ended, ended), text: `${coat.material.name}: ${PART_OF[name]}${why}${part.ramp ? ` from about ${when(part.from, now)}${between(part.ramp, now)}` : ''}` };
  }).filter((mark) => mark.to === null || mark.to > mark.from);
}

function gateMarks(coat, stage, now) {
  return shownSpans(coat, stage).map((span) => {
    const coming = span.from > now && span.fromBand && !span.fromBand.passed;
    const from = coming ? ` from about ${when(span.from, now)}, ${span.fromBand.sure ? `not before ${when(span.fromBand.latest, now)}` : 'no latest moment is known'}` : '';
    const to = span.to === null ? '' : `${['wait', 'shut'].includes(span.kind) ? ' until about' : ' until'} ${when(span.to, now)}`;
    return { kind: 'gate', sign: GATE_OF[span.kind] || 'waiting', from: span.from, to: span.to, text: `${STAGE_WORDS[stage.stage] || stage.stage}: ${doWord(stage.stage, span.kind)}${from}${to}` };
  });
}

function bakeMarks(coat, now) {
  const { bake } = coat;
  if (!bake) return [];
  const from = at(bake.started_at), ended = at(bake.ended_at), cool = at(bake.cool_at);
  const list = [{ kind: 'bake', sign: null, from, to: ended ?? now + 1, text: `oven: ${bakeWord(bake, Infinity)}` }];
  if (ended !== null && cool !== null && cool > ended) list.push({ kind: 'bake', sign: 'handsoff', from: ended, to: cool, text: `hot from the oven, hands off until about ${when(cool, now)}` });
  return list;
}

// Every mark of a lane, in the order of time: {kind, sign, from, to (null: no end; as `from`: a moment), text}.
export function marksOf(lane, now) {
  const list = lane.coats.flatMap((coat) => {
    const stage = railStage(coat, lane.row);
    return [{ kind: 'on', sign: null, from: at(coat.first_at), to: at(coat.first_at), text: `${coat.material.name} put on` }, ...filmMarks(lane, coat, now), ...(stage ? gateMarks(coat, stage, now) : []), ...bakeMarks(coat, now)];
  });
  for (const move of lane.moves) list.push({ kind: 'move', sign: null, from: move.at, to: move.at, text: `hung in the ${move.to}` });
  for (const gap of lane.gaps) list.push({ kind: 'assumed', sign: null, from: gap.from, to: gap.to, text: 'no reading: the air is assumed' });
  for (const step of lane.planned) list.push({ kind: 'planned', sign: null, from: at(step.from_at), to: at(step.to_at), text: `planned: ${step.words}` });
  return list.sort((p, q) => p.from - q.from);
}

// What stands at a moment of a lane; `tolMs` is how near to a moment's own mark is near enough.
export function tellLane(lane, t, tolMs, now) {
  const there = marksOf(lane, now).filter((mark) => (mark.from === mark.to ? Math.abs(mark.from - t) <= tolMs : mark.from <= t && (mark.to === null || t < mark.to)));
  const films = there.filter((mark) => mark.kind === 'film');
  const shown = there.filter((mark) => mark.kind !== 'film' || mark === films[films.length - 1]);
  const held = lane.coats.find(isStalled) && !shown.some((mark) => mark.sign === 'stalled') && t > now;
  if (held) shown.push({ kind: 'stall', sign: 'stalled', text: 'it stands still until the air is better' });
  return { name: lane.piece.name, href: `#piece?id=${lane.piece.id}`, at: t, marks: shown.length ? shown : [{ sign: null, text: lane.coats.length ? 'bare: before its first coat' : 'no coat yet' }] };
}

function nearest(items, t) {
  let best = null;
  for (const item of items) if (!best || Math.abs(at(item.at) - t) < Math.abs(at(best.at) - t)) best = item;
  return best;
}

export function tellAir(place, t, spray, now) {
  const ahead = t > now, read = nearest(ahead ? place.outlook || [] : place.recent || [], t), marks = [];
  if (assumedHours(place, now).some((gap) => t >= gap.from && t < gap.to)) marks.push({ sign: null, text: 'no reading: the air is assumed' });
  else if (read && read.temp_c !== null) marks.push({ sign: null, text: `${ahead ? 'about ' : ''}${temp(read.temp_c)}, ${humidity(read.rh_pct)}, dew point ${temp(Math.round(dewPoint(read.temp_c, read.rh_pct) * 10) / 10)}` });
  for (const hours of spray || []) if (t >= hours.from && t < hours.to) marks.push({ sign: 'open', text: `good hours to spray ${hours.what}, until ${when(hours.to, now)}` });
  return { name: `${place.name} air`, href: `#air?place=${place.id}`, at: t, marks: marks.length ? marks : [{ sign: null, text: ahead ? 'not told so far ahead' : 'no reading' }] };
}

// The moments at which anything of a lane changes, for going from mark to mark.
export function stopsOf(lane, now) {
  const stops = new Set([now, ...marksOf(lane, now).flatMap((mark) => [mark.from, mark.to]).filter((t) => t !== null)]);
  return [...stops].sort((p, q) => p - q);
}

export function readingCard({ name, href, at: t, marks }, now, onclose) {
  return [h('div', { class: 'readhead' }, h('b', { class: 'name' }, name), h('span', {}, when(t, now)), h('button', { type: 'button', class: 'switch', 'aria-label': 'Close what was told', onclick: onclose }, 'Close')),
    h('ul', {}, marks.map((mark) => h('li', {}, mark.sign ? gate(mark.sign) : h('span', { class: 'nogate' }), h('span', {}, mark.text)))), h('a', { href }, `Open ${name}`)];
}

// ---- the same as a table, for those who cannot see a drawing ----

export function lineTable(lanes, now) {
  const rows = lanes.flatMap((lane) => marksOf(lane, now).map((mark) => h('tr', {}, h('th', { scope: 'row' }, lane.piece.name), h('td', {}, when(mark.from, now)), h('td', {}, mark.from === mark.to ? '' : mark.to === null ? 'open' : when(mark.to, now)), h('td', {}, mark.text))));
  return h('table', {}, h('caption', {}, `The drying line at ${longDay(now)} ${hhmm(now)}`), h('thead', {}, h('tr', {}, ['Piece', 'From', 'To', 'What'].map((text) => h('th', { scope: 'col' }, text)))), h('tbody', {}, rows));
}

// ---- the key ----

const stroke = (d, cls = '') => s('svg', { class: `gate ${cls}`, viewBox: '0 0 36 18', 'aria-hidden': 'true' }, s('path', { d }));
const FILMS = [['M2 4H34V10H2Z', 'solid iron', 'the iron, seen from the side'], ['M2 5Q6 13 10 5Q14 13 18 5Q22 13 26 5Q30 13 34 5', '', 'scalloped film: wet'], ['M2 5H34M5 5V11M12 5V11M19 5V11M26 5V11M33 5V11', '', 'threads: tacky'], ['M2 5H34M2 11H34', '', 'plain film: dry; thin: hard'],
  ['M2 3H10L26 12H34M18 7.500a3 3 0 1 0 0.1 0', '', 'a ramp from earliest to latest, a ring at the likely moment'], ['M2 4V11H8V4H14V11H20V4H26V11H32V4', '', 'square teeth: stands still'], ['M2 14L12 2M10 14L20 2M18 14L28 2M26 14L34 4', '', 'hatched: air that nobody measured'], ['M3 15L9 4H27L33 15M13 5V14M18 5V14M23 5V14', 'prep', 'over the iron: in the oven'],
  ['M6 16V5H24M19 1L25 5L19 9', '', 'hung elsewhere from here on'], ['M3 4V13H28L33 4Z', '', 'outline: only planned']];
const GATES = [['open', 'go', 'may'], ['closing', 'go, and closes soon', 'may'], ['waiting', 'wait'], ['shut', 'shut for a while'], ['scuff', 'scuff first', 'prep'], ['wipe', 'wipe first', 'prep'], ['finger', 'finger test'], ['missed', 'missed: strip'], ['used', 'used by the next coat'], ['reached', 'reached'], ['inspect', 'look at it'], ['stalled', 'stalled'], ['handsoff', 'hands off']];
const film = ([d, cls, text]) => h('li', {}, stroke(d, cls), text);
const sign = ([name, text, cls = '']) => h('li', {}, gate(name, cls), text);

export function keyList() {
  return [h('p', {}, 'Each coat is a film on the iron that grows to the right through time; the rail under it has its gates. Hours near now are drawn wide. Touch the line anywhere and it says what stands there.'), h('ul', {}, FILMS.map(film), GATES.map(sign))];
}
// For the first day.
const SHORT = [[FILMS[1], 'wet'], [FILMS[2], 'tacky'], [FILMS[3], 'dry'], [FILMS[4], 'not sure when'], [FILMS[6], 'air not measured']];
export function shortKey() { return h('ul', {}, SHORT.map(([[d, cls], text]) => film([d, cls, text])), [GATES[0], GATES[3], GATES[4]].map(sign)); }
