// The drying line: pieces hung one under another (turned on a narrow screen: side by side), time along a fixed now.
// All geometry is made in (along, across) and only put down as x and y at the end, so both ways round are the same drawing.
import { h, s, replace } from './dom.js';
import { at, hhmm, localHours, longDay, shopNow, weekday, when } from './clock.js';
import { depthAt, profile, railSpans, railStage } from './film.js';
import { act, finishColour, isLateTape, STALLS, stateWord, CONDITIONS, STAGE_WORDS } from './words.js';
import { dewPoint, tempGap } from './units.js';

const HOUR = 3600e3;
export const LANE = 46, AXIS = 34, RIBBON = 88;
export const TURNED_LANE = 44, TURNED_AXIS = 46, TURNED_RIBBON = 40;
const IRON = 5, FILM_TOP = 8, RAIL = 37, FILM_MOST = 23;
const FADE = 0.42;

let view = { even: false, zoom: 1, shiftMs: 0 };
export const lineView = () => view;
export function setLineView(change) { view = { ...view, ...change }; }

// ---- along the time ----

function makeScale(length, turned, now) {
  const centre = now + view.shiftMs;
  const ac = Math.round(length * (turned ? 0.4 : 0.43));
  const cHours = 3.4 / view.zoom;
  const k = length * 0.16;
  const perHour = (length / 72) * view.zoom;
  const along = (ms) => { const t = (ms - centre) / HOUR; return ac + (view.even ? t * perHour : k * Math.asinh(t / cHours)); };
  const moment = (a) => centre + HOUR * (view.even ? (a - ac) / perHour : cHours * Math.sinh((a - ac) / k));
  return { length, turned, now, along, moment, nowAt: along(now), from: moment(0), to: moment(length) };
}

const put = (g, a, c) => (g.turned ? [c, a] : [a, c]);
const xy = (g, a, c) => put(g, a, c).map((n) => n.toFixed(1)).join(' ');
const line = (g, points) => `M${points.map(([a, c]) => xy(g, a, c)).join('L')}`;
const clampTo = (g, a) => Math.max(-2, Math.min(g.length + 2, a));

function box(g, a0, a1, c0, c1, props) {
  const [x0, y0] = put(g, a0, c0);
  const [x1, y1] = put(g, a1, c1);
  return s('rect', { x: Math.min(x0, x1), y: Math.min(y0, y1), width: Math.abs(x1 - x0), height: Math.abs(y1 - y0), ...props });
}

const titled = (el, text) => { if (text) el.prepend(s('title', {}, text)); return el; };

// ---- words that never overlap ----

const ruler = document.createElement('canvas').getContext('2d');
let fonts = null;
function textWidth(text, bold) {
  if (!fonts) { const family = getComputedStyle(document.body).fontFamily; fonts = { plain: `14px ${family}`, bold: `700 14.5px ${family}` }; }
  ruler.font = bold ? fonts.bold : fonts.plain;
  return ruler.measureText(text).width + 4;
}

class Words {
  constructor(g, across) { this.g = g; this.across = across; this.taken = []; this.bold = 0; this.group = s('g', { class: 'words' }); }
  // Puts a word at `a` or a little after it, within [.., most]; drops it where there is no room.
  add(text, a, { bold = false, cls = '', most = this.g.length - 2 } = {}) {
    if (bold && this.bold >= 3) return false;
    const size = this.g.turned ? 18 : textWidth(text, bold);
    let from = Math.max(2, a);
    for (const [t0, t1] of this.taken) if (from < t1 + 6 && from + size > t0 - 6) from = t1 + 8;
    if (from + size > most && a <= most) from = most - size;
    if (from > a + 60 || from < Math.min(a, most) - 70) return false;
    if (this.taken.some(([t0, t1]) => from < t1 + 4 && from + size > t0 - 4)) return false;
    this.taken.push([from, from + size]);
    this.taken.sort((p, q) => p[0] - q[0]);
    if (bold) this.bold += 1;
    const [x, y] = this.g.turned ? [this.across + 13, from + 14] : [from, this.across + 4.5];
    this.group.append(s('text', { x, y, class: `word ${bold ? 'bold' : ''} ${cls}` }, text));
    return true;
  }
}

// ---- films ----

function edgePath(g, kind, base, from, to) {
  const step = { wet: 9, tacky: 7, stalled: 12 }[kind];
  const a0 = clampTo(g, g.along(from)), a1 = clampTo(g, to === null ? g.length : g.along(to));
  let d = '';
  for (let a = a0; step && a + step * 0.5 < a1; a += step) {
    const b = Math.min(a + step, a1), mid = (a + b) / 2;
    if (kind === 'wet') d += `M${xy(g, a, base(a))}Q${xy(g, mid, base(mid) + 6)} ${xy(g, b, base(b))}`;
    if (kind === 'tacky') d += `M${xy(g, mid, base(mid))}L${xy(g, mid, base(mid) + 4.5)}`;
    if (kind === 'stalled') d += `M${xy(g, a, base(a))}L${xy(g, a, base(a) + 4.5)}L${xy(g, mid, base(mid) + 4.5)}L${xy(g, mid, base(mid))}`;
  }
  return d;
}

// Where to look at the films: every few pixels, and on both sides of every step.
function samples(g, films) {
  const list = [];
  for (let a = -2; a < g.length + 2; a += 8) list.push(a);
  list.push(g.length + 2);
  for (const film of films) for (const p of film.shape.points) { const a = g.along(p.t); if (a > -2 && a < g.length + 2) list.push(a - 0.05, a + 0.05); }
  return list.sort((p, q) => p - q);
}

function stackOf(g, coats) {
  const films = coats.slice(-5).map((coat) => ({ coat, shape: profile(coat, g.now), colour: finishColour(coat), start: at(coat.first_at) }));
  const total = (a, n) => films.slice(0, n).reduce((sum, film) => sum + depthAt(film.shape.points, g.moment(a)), 0);
  let most = 0;
  for (let a = 0; a <= g.length; a += 16) most = Math.max(most, total(a, films.length));
  const squeeze = most > FILM_MOST ? FILM_MOST / most : 1;
  films.forEach((film, n) => {
    film.top = (a) => FILM_TOP + total(a, n) * squeeze;
    film.bottom = (a) => FILM_TOP + total(a, n + 1) * squeeze;
  });
  return films;
}

function drawFilm(g, film, list, gaps) {
  const from = g.along(film.start);
  const within = list.filter((a) => a >= from);
  if (!within.length) return null;
  const down = within.map((a) => [a, film.top(a)]), up = within.map((a) => [a, film.bottom(a)]);
  const group = s('g', { class: `film ${film.colour}` });
  group.append(s('path', { class: 'body', d: `${line(g, [...down, ...up.reverse()])}Z` }));
  const uncovered = film.coat.ended_at ? at(film.coat.ended_at) : null;
  group.append(s('path', { class: 'edge', d: line(g, up) }));
  for (const gap of gaps) { // assumed air, over the hours that this film was the one outside
    const a0 = Math.max(from, clampTo(g, g.along(gap.from))), a1 = clampTo(g, g.along(Math.min(gap.to, uncovered ?? gap.to)));
    const part = list.filter((a) => a >= a0 && a <= a1);
    if (part.length > 1) group.append(s('path', { class: 'assumed', d: `${line(g, [...part.map((a) => [a, film.top(a)]), ...part.map((a) => [a, film.bottom(a)]).reverse()])}Z` }));
  }
  for (const part of film.shape.parts) {
    const to = uncovered === null ? part.to : Math.min(part.to ?? uncovered, uncovered);
    if (to !== null && to <= part.from) continue;
    const d = edgePath(g, part.name, film.bottom, part.from, to);
    if (d) group.append(s('path', { class: `edge ${part.name}`, d }));
    const shine = part.name === 'wet' ? gloss(g, film, part.from, to) : null;
    if (shine) group.append(shine);
  }
  if (film.coat.status === 'on') for (const ring of film.shape.rings) group.append(drawRing(g, film, ring));
  return titled(group, `${film.coat.material.name}, put on ${when(film.start, g.now)}, ${CONDITIONS[film.coat.condition] || film.coat.condition}`);
}

function gloss(g, film, from, to) {
  const a0 = Math.max(0, g.along(from) + 6), a1 = Math.min(g.length, (to === null ? g.length : g.along(to)) - 4);
  if (a1 - a0 < 8) return null;
  const cut = (a) => film.top(a) + 3.5;
  return s('path', { class: 'gloss', d: line(g, [[a0, cut(a0)], [a1, cut(a1)]]) });
}

function drawRing(g, film, ring) {
  const a = g.along(ring.t);
  if (a < 4 || a > g.length - 4) return '';
  const [cx, cy] = put(g, a, film.bottom(a));
  return s('circle', { class: 'ring', cx, cy, r: 3.2 });
}

// ---- the rail and its gates ----

const wave = (g, a0, a1, step, height) => { const pts = []; for (let a = a0, n = 0; a <= a1; a += step, n += 1) pts.push([a, RAIL + (n % 2 ? -height : height)]); return line(g, pts); };

const RAIL_MARKS = {
  wait: (g, a0, a1) => [s('path', { class: 'rail dots', d: line(g, [[a0, RAIL], [a1, RAIL]]) })],
  shut: (g, a0, a1) => {
    const d = [line(g, [[a0, RAIL - 4], [a1, RAIL - 4]]), line(g, [[a0, RAIL + 4], [a1, RAIL + 4]])];
    for (let a = a0; a + 9 <= a1; a += 9) d.push(line(g, [[a, RAIL - 4], [a + 9, RAIL + 4]]), line(g, [[a, RAIL + 4], [a + 9, RAIL - 4]]));
    return [s('path', { class: 'rail lattice', d: d.join('') })];
  },
  go: (g, a0, a1, span) => [box(g, a0, a1, RAIL - 6, RAIL + 6, { class: 'open-ground' }), post(g, a0), leaf(g, a0), span.to === null ? null : post(g, a1)],
  test: (g, a0, a1) => [box(g, a0, a1, RAIL - 6, RAIL + 6, { class: 'finger-gate' })],
  scuff: (g, a0, a1) => [post(g, a0, 'brass'), s('path', { class: 'rail zig', d: wave(g, a0, a1, 4.5, 3.6) })],
  wipe: (g, a0, a1) => [post(g, a0, 'brass'), s('path', { class: 'rail zig', d: smooth(g, a0, a1) })],
  strip: (g, a0, a1) => [s('path', { class: 'rail cross', d: `${line(g, [[a0 - 5, RAIL - 5], [a0 + 5, RAIL + 5]])}${line(g, [[a0 + 5, RAIL - 5], [a0 - 5, RAIL + 5]])}` }), s('path', { class: 'rail broken', d: line(g, [[a0 + 9, RAIL], [a1, RAIL]]) })],
};
const late = (g, a0, a1) => [s('path', { class: 'rail sparse', d: line(g, [[a0, RAIL], [a1, RAIL]]) })];

function post(g, a, cls = '') { return s('path', { class: `post ${cls}`, d: line(g, [[a, RAIL - 6], [a, RAIL + 6]]) }); }
function leaf(g, a) { return s('path', { class: 'leaf', d: `${line(g, [[a, RAIL - 5], [a + 8, RAIL - 3], [a + 8, RAIL + 3], [a, RAIL + 5]])}Z` }); }
function smooth(g, a0, a1) {
  let d = `M${xy(g, a0, RAIL)}`;
  for (let a = a0, n = 0; a + 24 <= a1; a += 24, n += 1) d += `Q${xy(g, a + 12, RAIL + (n % 2 ? 9 : -9))} ${xy(g, a + 24, RAIL)}`;
  return d;
}

function drawRail(g, coat, stage, group) {
  const ended = coat.ended_at ? at(coat.ended_at) : null;
  const spans = railSpans(coat, stage).map((span) => (ended !== null && (span.to === null || span.to > ended) ? { ...span, to: ended, cut: true } : span)).filter((span) => span.to === null || span.to > span.from);
  for (const span of spans) {
    const a0 = clampTo(g, g.along(span.from)), a1 = clampTo(g, span.to === null ? g.length : g.along(span.to));
    if (a1 - a0 < 1) continue;
    const draw = span.kind === 'strip' && stage.stage === 'leaf' ? late : RAIL_MARKS[span.kind] || RAIL_MARKS.wait;
    const mark = s('g', { class: `gatemark ${span.kind}` }, draw(g, a0, a1, span));
    group.append(titled(mark, `${STAGE_WORDS[stage.stage] || stage.stage}: ${spanTitle(span, g.now)}`));
  }
  if (ended !== null && g.along(ended) > 0) group.append(box(g, g.along(ended) - 4, g.along(ended) + 4, RAIL - 4, RAIL + 4, { class: 'peg' }));
  return ended === null ? spans : [];
}

function spanTitle(span, now) {
  const words = { go: 'go', wait: 'wait', shut: 'shut', scuff: 'scuff first', wipe: 'wipe first', strip: 'too late', test: 'finger test' };
  return `${words[span.kind] || span.kind} from ${when(span.from, now)}${span.to === null ? '' : ` to ${when(span.to, now)}`}`;
}

// On the turned line there is room for a word or two only.
function shortWord(span, stage, now) {
  const word = { go: 'go', wait: 'wait', shut: 'shut', scuff: 'scuff first', wipe: 'wipe first', test: 'finger test', strip: stage.stage === 'leaf' ? 'too late' : 'strip' }[span.kind];
  return span.to !== null && span.kind === 'go' && span.from <= now ? `go to ${when(span.to, now)}` : word;
}

function laneWord(span, stage, now, turned) {
  if (turned) return shortWord(span, stage, now);
  if (span.kind === 'strip') return stage.stage === 'leaf' ? 'too late to rely on' : 'missed: strip and start again';
  const go = stage.stage === 'recoat' ? 'go' : stateWord('reached', 'go', stage.stage);
  const simple = { go, scuff: 'scuff first', wipe: 'wipe first', test: 'finger test', wait: 'wait', shut: 'shut' }[span.kind];
  if (span.kind === 'wait' && span.from <= now && span.to !== null) return `${act(stage.stage, span.next)} about ${when(span.to, now)}`;
  if (span.from > now || span.to === null || span.kind === 'scuff' || span.kind === 'wipe') return simple;
  const about = ['wait', 'shut'].includes(span.kind);
  return `${simple} until ${about ? 'about ' : ''}${when(span.to, now)}`;
}

function laneWords(g, coat, stage, spans, words, row) {
  const now = g.now;
  const stall = coat.stall && coat.stall !== 'none' ? coat.stall : null;
  const current = spans.find((span) => span.from <= now && (span.to === null || span.to > now));
  const cls = (span) => ({ go: 'may', test: 'may', scuff: 'prep', wipe: 'prep' }[span.kind] || '');
  if (stall) words.add(g.turned ? STALLS[stall] || 'stalled' : `stalled: ${STALLS[stall] || stall}`, g.nowAt + 10, { bold: true });
  else if (row && row.list === 'not_yet' && g.turned) words.add('hands off', g.nowAt + 10, { bold: true });
  else if (row && row.list === 'not_yet') words.add(row.until && row.until.likely_at ? `hands off until about ${when(at(row.until.likely_at), now)}` : 'hands off', g.nowAt + 10, { bold: true });
  else if (current) words.add(laneWord(current, stage, now, g.turned), g.nowAt + 10, { bold: true, cls: cls(current) });
  for (const span of spans) {
    if (span === current || g.along(span.from) > g.length) continue;
    const end = span.to === null ? g.length : g.along(span.to);
    if (span.from > now || ['go', 'scuff', 'wipe', 'test'].includes(span.kind)) {
      if (span.from > now || end > 0) words.add(laneWord({ ...span, to: span.from > now ? span.to : null, from: Math.max(span.from, now + 1) }, stage, now, g.turned), Math.max(4, g.along(span.from) + 11), { bold: span.from > now, cls: cls(span) });
    }
  }
}

function conditionWords(g, film, words) {
  for (const part of film.shape.parts) {
    const a = g.along(part.from), end = part.to === null ? g.length : g.along(part.to);
    if (end - Math.max(0, a) > 30) words.add(part.name, Math.max(3, a + 4), {});
  }
}

// ---- a lane ----

function drawLane(g, { piece, coats, row, gaps }, width, chosen) {
  const films = stackOf(g, coats);
  const list = samples(g, films);
  const painted = s('g', { mask: 'url(#fade)' });
  painted.append(box(g, 0, g.length, IRON, FILM_TOP, { class: 'iron' }));
  for (const film of films) { const el = drawFilm(g, film, list, gaps); if (el) painted.append(el); }
  const rails = s('g', { class: 'rails' });
  const words = new Words(g, g.turned ? RAIL : RAIL);
  for (const { coat } of films) {
    const stage = railStage(coat, row);
    if (!stage) continue;
    const spans = drawRail(g, coat, stage, rails);
    if (coat.status === 'on' && spans.length && (!g.turned || chosen)) laneWords(g, coat, stage, spans, words, row);
  }
  const top = films[films.length - 1];
  if (top && (!g.turned || chosen)) conditionWords(g, top, words);
  const edge = s('path', { class: 'separator', d: line(g, [[0, width], [g.length, width]]) });
  return titled(s('g', { class: 'lane' }, edge, painted, rails, words.group), `${piece.name}`);
}

// ---- air ----

const HOLD_MS = 2 * HOUR;
// Hours of a place whose air nobody measured: between readings far apart, and from the hold's end to now.
export function assumedHours(place, now) {
  if (!place) return [];
  const gaps = [];
  const items = place.recent || [];
  for (let i = 1; i < items.length; i += 1) {
    const from = at(items[i - 1].at), to = at(items[i].at);
    if (to - from > HOLD_MS) gaps.push({ from, to });
  }
  const since = place.air && place.air.assumed_from_at ? at(place.air.assumed_from_at) : null;
  if (since !== null && since < now) gaps.push({ from: since, to: now });
  return gaps;
}

function fit(values, c0, c1, least) {
  let low = Math.min(...values), high = Math.max(...values);
  if (high - low < least) { const mid = (low + high) / 2; low = mid - least / 2; high = mid + least / 2; }
  return (value) => c1 - ((value - low) / (high - low)) * (c1 - c0);
}

function pieces(points, gaps) { // runs of readings without an assumed gap between
  const runs = [[]];
  points.forEach((p, i) => {
    if (i && gaps.some((gap) => gap.from >= points[i - 1].t && gap.to <= p.t)) runs.push([]);
    runs[runs.length - 1].push(p);
  });
  return runs.filter((run) => run.length > 1);
}

function drawRibbon(g, place, width) {
  const group = s('g', { class: 'ribbon' });
  const points = (place.recent || []).map((r) => ({ t: at(r.at), temp: r.temp_c, dew: dewPoint(r.temp_c, r.rh_pct), rh: r.rh_pct })).filter((p) => p.t >= g.from && p.t <= g.to);
  const gaps = assumedHours(place, g.now);
  const last = points[points.length - 1];
  if (last && place.air && place.air.basis === 'measured' && last.t < g.now) points.push({ ...last, t: g.now }); // the last reading holds a while
  for (const gap of gaps) group.append(titled(box(g, clampTo(g, g.along(gap.from)), clampTo(g, g.along(gap.to)), 4, width - 4, { class: 'assumed-air' }), 'no reading: this air is assumed'));
  if (!points.length) return group;
  const c1 = width * 0.66;
  const level = fit(points.flatMap((p) => [p.temp, p.dew]), 8, c1, 6);
  const wet = fit(points.map((p) => p.rh), c1 + 6, width - 8, 20);
  for (const run of pieces(points, gaps)) {
    const warm = run.map((p) => [g.along(p.t), level(p.temp)]), dew = run.map((p) => [g.along(p.t), level(p.dew)]);
    group.append(s('path', { class: 'airbody', d: `${line(g, [...warm, ...[...dew].reverse()])}Z` }), s('path', { class: 'temperature', d: line(g, warm) }), s('path', { class: 'dew', d: line(g, dew) }),
      s('path', { class: 'damp', d: line(g, run.map((p) => [g.along(p.t), wet(p.rh)])) }));
  }
  if (!g.turned) ribbonWords(g, group, points, level, wet, gaps);
  return group;
}

function ribbonWords(g, group, points, level, wet, gaps) {
  const last = points[points.length - 1];
  const a = Math.min(g.length - 90, Math.max(g.along(last.t), g.nowAt)) + 12;
  const taken = [];
  for (const [text, c] of [['temperature', level(last.temp) + 4], ['dew point', level(last.dew) + 4], ['humidity', wet(last.rh) + 4]]) {
    const y = Math.max(12, taken.length ? Math.max(c, taken[taken.length - 1] + 16) : c);
    taken.push(y);
    group.append(s('text', { x: a, y, class: 'word' }, text));
  }
  for (const gap of gaps.slice(-1)) { const x = g.along(gap.to) + 6; if (x > 0 && x + textWidth('no reading: air assumed') < g.nowAt) group.append(s('text', { x, y: 14, class: 'word' }, 'no reading: air assumed')); }
}

// ---- axis, nights, plumb line ----

function drawNights(g, across) {
  const nights = localHours(g.from, g.to).filter(({ hour }) => hour >= 21 || hour < 6);
  return s('g', { class: 'nights' }, nights.map(({ ms }) => box(g, clampTo(g, g.along(ms)), clampTo(g, g.along(ms + HOUR)) + 0.4, 0, across, { class: 'night' })));
}

function drawMidnights(g, across) {
  return localHours(g.from, g.to).filter(({ hour }) => hour === 0).map(({ ms }) => s('path', { class: 'midnight', d: line(g, [[g.along(ms), 0], [g.along(ms), across]]) }));
}

function axisMarks(g) {
  const rank = ({ hour }) => (hour === 0 ? 0 : hour === 12 ? 1 : hour % 6 === 0 ? 2 : hour % 3 === 0 ? 3 : hour % 2 === 0 ? 4 : 5);
  const need = g.turned ? 20 : 30;
  const taken = [[g.nowAt - (g.turned ? 22 : 46), g.nowAt + (g.turned ? 22 : 46)]];
  return [...localHours(g.from, g.to)].sort((p, q) => rank(p) - rank(q)).map((mark) => {
    const a = g.along(mark.ms), half = need / 2 + (mark.hour === 0 ? 6 : 0);
    const free = a > 10 && a < g.length - 10 && taken.every(([t0, t1]) => a + half < t0 || a - half > t1);
    if (free) taken.push([a - half, a + half]);
    return { a, text: free ? (mark.hour === 0 ? weekday(mark.ms) : String(mark.hour)) : '', bold: mark.hour === 0 };
  });
}

function drawAxis(g, size) {
  const group = s('g', { class: 'axis' });
  let last = -9; // far hours lie so close that not each can have its tick
  for (const mark of axisMarks(g).sort((p, q) => p.a - q.a)) {
    if (!mark.text && mark.a - last < 5) continue;
    last = mark.a;
    group.append(s('path', { class: 'tick', d: line(g, [[mark.a, size - (mark.text ? 8 : 4)], [mark.a, size]]) }));
    if (mark.text) group.append(g.turned ? s('text', { x: size - 12, y: mark.a + 5, 'text-anchor': 'end', class: mark.bold ? 'bold' : '' }, mark.text) : s('text', { x: mark.a, y: size - 13, 'text-anchor': 'middle', class: mark.bold ? 'bold' : '' }, mark.text));
  }
  group.append(s('path', { class: 'axisline', d: line(g, [[0, size], [g.length, size]]) }));
  return group;
}

function drawClock(g, size) {
  if (g.nowAt < -20 || g.nowAt > g.length + 20) return null;
  const [x, y, w, t] = g.turned ? [0, g.nowAt - 13, size, 26] : [g.nowAt - 42, 0, 84, size - 1];
  return s('g', { class: 'nowclock' }, s('rect', { x, y, width: w, height: t }), s('text', { x: x + w / 2, y: y + t / 2 + 7, 'text-anchor': 'middle', class: g.turned ? 'narrow' : '', 'data-clock': 'hm' }, hhmm(g.now)));
}

function drawPlumb(g, c0, c1) {
  const bob = g.turned ? `M${c1 - 22} ${g.nowAt}L${c1 - 16} ${g.nowAt - 6}H${c1 - 4}V${g.nowAt + 6}H${c1 - 16}Z` : `M${g.nowAt} ${c1}L${g.nowAt - 6} ${c1 - 7}V${c1 - 18}H${g.nowAt + 6}V${c1 - 7}Z`;
  return s('g', { class: 'plumb' }, s('path', { class: 'wire', d: line(g, [[g.nowAt, c0], [g.nowAt, c1 - 4]]) }), s('path', { class: 'bob', d: bob }));
}

function drawDefs(g) {
  const far = g.length, [x2, y2] = put(g, 1, 0);
  const stop = (offset, value) => s('stop', { offset, 'stop-color': '#fff', 'stop-opacity': value });
  const nowShare = Math.max(0, Math.min(0.98, g.nowAt / far));
  const hatch = (id, cls) => s('pattern', { id, width: 7, height: 7, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' }, s('path', { class: cls, d: 'M0 0V7' }));
  return s('defs', {}, s('linearGradient', { id: 'fadeaway', x1: 0, y1: 0, x2, y2 }, stop(0, 1), stop(nowShare, 1), stop(1, FADE)),
    s('mask', { id: 'fade', maskUnits: 'userSpaceOnUse', x: 0, y: -20, width: g.turned ? 300 : far, height: g.turned ? far : 100 }, s('rect', { x: 0, y: -20, width: g.turned ? 300 : far, height: g.turned ? far + 20 : 100, fill: 'url(#fadeaway)' })),
    hatch('hatchdark', 'hatchdark'), hatch('hatchpale', 'hatchpale'), hatch('hatchair', 'hatchair'));
}

// ---- the whole drawing ----

const ORDER = ['now', 'next', 'not_yet', 'held'];
const SPEAKS = ['now', 'not_yet', 'held', 'next']; // whose word stands at the lane where a piece is in several lists
const FIRST_STAGES = ['leaf', 'recoat'];

function speaker(rows) {
  const rank = (row) => (isLateTape(row) ? 99 : 0) + SPEAKS.indexOf(row.list) * 2 + (FIRST_STAGES.includes(row.stage) ? 0 : 1);
  return [...rows].sort((p, q) => rank(p) - rank(q))[0] || null;
}

// Pieces in the order of what asks first, each with its coats and its row of the lists.
export function lanesOf(shop, now) {
  const rows = ORDER.flatMap((name) => shop.lists[name].map((row) => ({ ...row, list: name })));
  const rank = (piece) => { const i = rows.findIndex((row) => row.piece === piece.id && !isLateTape(row)); return i < 0 ? 1000 : i; };
  const places = new Map(shop.places.map((place) => [place.id, place]));
  return shop.pieces.filter((piece) => !piece.removed_at).sort((p, q) => rank(p) - rank(q)).map((piece) => {
    const coats = shop.coats.filter((coat) => coat.piece === piece.id).sort((p, q) => at(p.first_at) - at(q.first_at));
    return { piece, coats, row: speaker(rows.filter((row) => row.piece === piece.id)), gaps: assumedHours(places.get(piece.place), now) };
  });
}

/* Draws into `svg`. options: {lanes, places, chosen (piece id), chosenWidth (turned only), turned, length}. Returns {starts, size}, in pixels across. */
export function drawLine(svg, { lanes, places, chosen, chosenWidth, turned, length }) {
  const g = makeScale(length, turned, shopNow());
  const axis = turned ? TURNED_AXIS : AXIS;
  const laneWidth = (lane) => (turned ? (lane.piece.id === chosen ? chosenWidth : TURNED_LANE) : LANE);
  const ribbon = turned ? TURNED_RIBBON : RIBBON;
  const shift = (c) => (turned ? `translate(${c} 0)` : `translate(0 ${c})`);
  const parts = [drawDefs(g)], starts = [];
  let c = axis;
  const ribbons = () => places.forEach((place) => { parts.push(s('g', { transform: shift(c) }, drawRibbon(g, place, ribbon), turned ? null : s('path', { class: 'axisline', d: line(g, [[0, 0], [g.length, 0]]) }))); c += ribbon; });
  if (turned) ribbons();
  for (const lane of lanes) { starts.push(c); parts.push(s('g', { transform: shift(c), 'data-piece': lane.piece.id }, drawLane(g, lane, laneWidth(lane), lane.piece.id === chosen))); c += laneWidth(lane); }
  if (!turned) ribbons();
  const under = s('g', { transform: shift(axis) }, drawNights(g, c - axis), drawMidnights(g, c - axis));
  parts.splice(1, 0, under);
  parts.push(drawPlumb(g, axis, c), drawAxis(g, axis), drawClock(g, axis));
  const [w, t] = turned ? [c, length] : [length, c];
  svg.setAttribute('viewBox', `0 0 ${w} ${t}`);
  svg.setAttribute('width', w);
  svg.setAttribute('height', t);
  replace(svg, parts);
  return { starts, size: c };
}

// The same as a table, for those who cannot see a drawing.
export function lineTable(lanes, now) {
  const rows = lanes.flatMap(({ piece, coats }) => coats.filter((coat) => coat.status === 'on').flatMap((coat) => coat.stages.map((stage) => {
    const span = stage.spans[stage.current] || stage.spans[stage.spans.length - 1];
    const until = span && span.until && span.until.likely_at ? when(at(span.until.likely_at), now) : 'open';
    return h('tr', {}, h('th', { scope: 'row' }, piece.name), h('td', {}, coat.material.name), h('td', {}, STAGE_WORDS[stage.stage] || stage.stage), h('td', {}, stateWord(stage.state, span ? span.do : '', stage.stage)), h('td', {}, until));
  })));
  return h('table', {}, h('caption', {}, `The drying line at ${longDay(now)} ${hhmm(now)}`), h('thead', {}, h('tr', {}, ['Piece', 'Coat', 'Stage', 'State', 'Until about'].map((text) => h('th', { scope: 'col' }, text)))), h('tbody', {}, rows));
}

export function dewGap(air) { return air && air.dew_point_c !== null && air.temp_c !== null ? `${tempGap(air.temp_c - air.dew_point_c)} over dew point` : ''; }
