// One piece on the line: the iron, its films, the bakes over it, the rail with its gates under it, and at most three bold words.
import { s } from './sketch.js';
import { at, when } from './clock.js';
import { depthAt, isStalled, profile, railStage, shownSpans } from './film.js';
import { act, doWord, finishColour, STALLS, stateWord } from './words.js';
import { box, clampTo, line, put, Words, xy } from './scale.js';

export const LANE = 46, TURNED_LANE = 44;
export const IRON = 7, FILM_TOP = 10.5, RAIL = 37.5;
const FILM_MOST = 20, FILMS_MOST = 5;

// ---- films ----

const EDGES = {
  wet: { step: 9, draw: (g, base, a, b) => `M${xy(g, a, base(a))}Q${xy(g, (a + b) / 2, base((a + b) / 2) + 6)} ${xy(g, b, base(b))}` },
  tacky: { step: 7, draw: (g, base, a, b) => { const mid = (a + b) / 2, c = base(mid); return `M${xy(g, mid, c)}L${xy(g, mid, c + 4.5)}`; } },
  stalled: { step: 12, draw: (g, base, a, b) => { const mid = (a + b) / 2, c = base(a); return `M${xy(g, a, c)}L${xy(g, a, c + 4.5)}L${xy(g, mid, c + 4.5)}L${xy(g, mid, c)}`; } },
};

function edgePath(g, kind, base, from, to) {
  const edge = EDGES[kind];
  if (!edge) return '';
  const a0 = clampTo(g, g.along(from)), a1 = clampTo(g, to === null ? g.length : g.along(to));
  let d = '';
  for (let a = a0; a + edge.step * 0.5 < a1; a += edge.step) d += edge.draw(g, base, a, Math.min(a + edge.step, a1));
  return d;
}

// Where to look at the films: on both sides of every step, and often enough along the ramps, which the scale bends.
function samples(g, films) {
  const list = [-2, g.length + 2];
  const add = (a) => { if (a > -2 && a < g.length + 2) list.push(a - 0.05, a + 0.05); };
  for (const { shape: { points } } of films) {
    points.forEach((p, i) => {
      const a = g.along(p.t), next = points[i + 1];
      add(a);
      if (!next || next.depth === p.depth || next.t === p.t) return;
      const end = clampTo(g, g.along(next.t));
      for (let b = clampTo(g, a) + 20; b < end; b += 20) list.push(b);
    });
  }
  return list.sort((p, q) => p - q);
}

function stackOf(g, coats, stalledFrom) {
  const films = coats.slice(-FILMS_MOST).map((coat) => ({ coat, shape: profile(coat, g.now, stalledFrom), colour: finishColour(coat), start: at(coat.first_at) }));
  const total = (t, n) => { let sum = 0; for (let i = 0; i < n; i += 1) sum += depthAt(films[i].shape.points, t); return sum; };
  const list = samples(g, films);
  const most = Math.max(0, ...list.map((a) => total(g.moment(a), films.length)));
  const squeeze = most > FILM_MOST ? FILM_MOST / most : 1;
  films.forEach((film, n) => {
    film.top = (a) => FILM_TOP + total(g.moment(a), n) * squeeze;
    film.bottom = (a) => FILM_TOP + total(g.moment(a), n + 1) * squeeze;
  });
  return { films, list };
}

const closed = (g, film, list) => `${line(g, [...list.map((a) => [a, film.top(a)]), ...list.map((a) => [a, film.bottom(a)]).reverse()])}Z`;

// What looks the same in a lane is one path: a lane has a few elements, however many coats, and a frame of a drag stays short.
class Strokes {
  constructor() { this.byClass = new Map(); }
  add(cls, d) { if (d) this.byClass.set(cls, (this.byClass.get(cls) || '') + d); }
  paths() { return [...this.byClass].map(([cls, d]) => s('path', { class: cls, d })); }
}
const circle = (g, a, c, r) => { const [x, y] = put(g, a, c).map((n) => Math.round(n * 10) / 10); return `M${x - r} ${y}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0Z`; };
const PALE = new Set(['clear', 'white', 'amber']); // films on which a dark hatch is seen

function drawFilm(g, film, list, gaps, strokes) {
  const from = g.along(film.start);
  if (from > g.length) return;
  const within = list.filter((a) => a >= from);
  strokes.add(`body ${film.colour} n${film.n}`, closed(g, film, within));
  strokes.add(film.colour === 'black' ? 'rim seam' : 'rim', line(g, within.map((a) => [a, film.bottom(a)])));
  const uncovered = film.coat.ended_at ? at(film.coat.ended_at) : null;
  for (const gap of gaps) { // assumed air, over the hours that this film was the one outside
    const a0 = Math.max(from, clampTo(g, g.along(gap.from))), a1 = clampTo(g, g.along(Math.min(gap.to, uncovered ?? gap.to)));
    if (a1 - a0 > 1) strokes.add(PALE.has(film.colour) ? 'assumed dark' : 'assumed', closed(g, film, [a0, ...list.filter((a) => a > a0 && a < a1), a1]));
  }
  for (const part of film.shape.parts) drawEdge(g, film, part, uncovered, strokes);
  if (film.coat.status === 'on') for (const ring of film.shape.rings) { const a = g.along(ring.t); if (a > 4 && a < g.length - 4) strokes.add('ring', circle(g, a, film.bottom(a), 3.2)); }
}

function drawEdge(g, film, part, uncovered, strokes) {
  const to = uncovered === null ? part.to : Math.min(part.to ?? uncovered, uncovered);
  if (to !== null && to <= part.from) return;
  strokes.add(part.name === 'wet' ? `edge wet ${film.colour}` : `edge ${part.name}`, edgePath(g, part.name, film.bottom, part.from, to));
  if (part.name !== 'wet') return;
  const a0 = Math.max(0, g.along(part.from) + 6), a1 = Math.min(g.length, (to === null ? g.length : g.along(to)) - 4);
  if (a1 - a0 >= 8) strokes.add('gloss', line(g, [[a0, film.top(a0) + 3.5], [a1, film.top(a1) + 3.5]]));
}

// Bodies first, then what is drawn on them, the rings on top.
const LAYERS = ['body', 'assumed', 'rim', 'edge', 'gloss', 'ring'];
function drawFilms(g, films, list, gaps) {
  const strokes = new Strokes();
  films.forEach((film, n) => drawFilm(g, Object.assign(film, { n }), list, gaps, strokes));
  const layer = (el) => LAYERS.indexOf(el.props.class.split(' ')[0]);
  return strokes.paths().sort((p, q) => layer(p) - layer(q));
}

// ---- the rail and its gates ----

function zigzag(g, a0, a1, step, height) {
  const points = [];
  for (let a = a0, n = 0; a <= a1; a += step, n += 1) points.push([a, RAIL + (n % 2 ? -height : height)]);
  return points.length > 1 ? line(g, points) : '';
}
function wave(g, a0, a1) {
  let d = `M${xy(g, a0, RAIL)}`;
  for (let a = a0, n = 0; a + 24 <= a1; a += 24, n += 1) d += `Q${xy(g, a + 12, RAIL + (n % 2 ? 9 : -9))} ${xy(g, a + 24, RAIL)}`;
  return d;
}
// Two rails; between them the lattice is a pattern.
export const LATTICE = { across: RAIL - 4, step: 9, high: 8 };
const lattice = (g, a0, a1) => `${line(g, [[a0, RAIL - 4], [a1, RAIL - 4], [a1, RAIL + 4], [a0, RAIL + 4]])}Z`;
const straight = (g, a0, a1) => line(g, [[a0, RAIL], [a1, RAIL]]);
const post = (g, a) => line(g, [[a, RAIL - 6], [a, RAIL + 6]]);
const leaf = (g, a) => `${line(g, [[a, RAIL - 5], [a + 8, RAIL - 3], [a + 8, RAIL + 3], [a, RAIL + 5]])}Z`;
const block = (g, a0, a1, half) => `${line(g, [[a0, RAIL - half], [a1, RAIL - half], [a1, RAIL + half], [a0, RAIL + half]])}Z`;

// The tinted ground of an open gate. One that is still to open grows from its earliest to its latest moment, with a ring at the likely one.
function openGate(g, a0, a1, span, strokes) {
  const sure = span.fromBand && !span.fromBand.passed && span.fromBand.latest > span.from ? span.fromBand : null;
  strokes.add('post', post(g, a0) + (span.to === null ? '' : post(g, a1)));
  strokes.add('leaf', leaf(g, a0));
  if (!sure) { strokes.add('open-ground', block(g, a0, a1, 6)); return; }
  const early = Math.min(a0, clampTo(g, g.along(Math.max(g.now, sure.earliest)))), late = Math.min(a1, clampTo(g, g.along(sure.latest)));
  strokes.add('open-ground unsure', `${line(g, [[early, RAIL], [late, RAIL - 6], [a1, RAIL - 6], [a1, RAIL + 6], [late, RAIL + 6]])}Z`);
  if (late - early > 24) strokes.add('ring', circle(g, a0, RAIL, 3.2));
}

const RAIL_MARKS = {
  wait: (g, a0, a1, span, strokes) => strokes.add('rail dots', straight(g, a0, a1)),
  shut: (g, a0, a1, span, strokes) => strokes.add('rail lattice', lattice(g, a0, a1)),
  go: openGate,
  test: (g, a0, a1, span, strokes) => strokes.add('finger-gate', block(g, a0, a1, 6)),
  scuff: (g, a0, a1, span, strokes) => { strokes.add('post brass', post(g, a0)); strokes.add('rail zig', zigzag(g, a0, a1, 4.5, 3.6)); },
  wipe: (g, a0, a1, span, strokes) => { strokes.add('post brass', post(g, a0)); strokes.add('rail zig', wave(g, a0, a1)); },
  strip: (g, a0, a1, span, strokes) => { strokes.add('rail cross', `${line(g, [[a0 - 5, RAIL - 5], [a0 + 5, RAIL + 5]])}${line(g, [[a0 + 5, RAIL - 5], [a0 - 5, RAIL + 5]])}`); strokes.add('rail broken', line(g, [[a0 + 9, RAIL], [a1, RAIL]])); },
};
const LEAST_PX = 2; // hours so far off that their gate is no wider are not drawn

function drawRail(g, coat, stage, strokes) {
  const spans = shownSpans(coat, stage);
  for (const span of spans) {
    const a0 = clampTo(g, g.along(span.from)), a1 = clampTo(g, span.to === null ? g.length : g.along(span.to));
    if (a1 - a0 < LEAST_PX) continue;
    if (span.kind === 'strip' && stage.stage === 'leaf') strokes.add('rail sparse', straight(g, a0, a1)); else (RAIL_MARKS[span.kind] || RAIL_MARKS.wait)(g, a0, a1, span, strokes);
  }
  const ended = coat.ended_at ? g.along(at(coat.ended_at)) : -1;
  if (ended > 0 && ended < g.length) strokes.add('peg', block(g, ended - 4, ended + 4, 4));
  return coat.ended_at ? [] : spans;
}

// ---- words ----

const CLASSES = { go: 'may', test: 'may', scuff: 'prep', wipe: 'prep' };
const GO = { recoat: 'go', unmask: 'pull the tape', leaf: 'takes leaf', seal: 'seal the leaf', tape: 'takes tape', bake: 'may be baked', sand: 'may be sanded' };
const goWord = (stage) => GO[stage.stage] || stateWord('reached', 'go', stage.stage);
const spanWord = (span, stage) => (span.kind === 'strip' && stage.stage !== 'leaf' ? 'missed: strip and start again' : span.kind === 'go' ? goWord(stage) : doWord(stage.stage, span.kind));

// On the turned line there is room for a word or two only.
function shortWord(span, stage, now) {
  const word = span.kind === 'strip' ? (stage.stage === 'leaf' ? 'too late' : 'strip') : doWord(stage.stage, span.kind);
  if (span.kind === 'go' && span.to !== null && span.from <= now) return `go to ${when(span.to, now)}`;
  return span.kind === 'go' && span.from > now ? `go ${when(span.from, now)}` : word;
}

function laneWord(span, stage, now, turned) {
  if (turned) return shortWord(span, stage, now);
  const simple = spanWord(span, stage);
  if (span.kind === 'wait' && span.from <= now && span.to !== null) return `${act(stage.stage, span.next)} about ${when(span.to, now)}`;
  if (span.from > now || span.to === null || ['scuff', 'wipe', 'strip'].includes(span.kind)) return simple;
  return `${simple} until ${['wait', 'shut'].includes(span.kind) ? 'about ' : ''}${when(span.to, now)}`;
}

// The one word of now.
function nowWord(g, lane, coat, stage, current) {
  const { row } = lane;
  if (isStalled(coat)) return [g.turned ? STALLS[coat.stall] || 'stalled' : `stalled: ${STALLS[coat.stall] || coat.stall}`, ''];
  const off = row && row.list === 'not_yet', likely = off && row.until ? at(row.until.likely_at) : null;
  if (off) return [g.turned || likely === null ? 'hands off' : `hands off until about ${when(likely, g.now)}`, ''];
  return current ? [laneWord(current, stage, g.now, g.turned), CLASSES[current.kind] || ''] : null;
}

function laneWords(g, lane, coat, stage, spans, words) {
  const { now } = g;
  const current = spans.find((span) => span.from <= now && (span.to === null || span.to > now));
  const word = nowWord(g, lane, coat, stage, current);
  if (word && !(coat.bake && words.bold)) words.add(word[0], g.nowAt + 10, { bold: true, cls: word[1] });
  for (const span of spans) {
    const coming = span.from > now, end = span.to === null ? g.length : g.along(span.to);
    if (span === current || g.along(span.from) > g.length || !(coming || ['go', 'scuff', 'wipe', 'test'].includes(span.kind)) || end <= 0) continue;
    words.add(laneWord(coming ? { ...span, to: null } : { ...span, to: null, from: now + 1 }, stage, now, g.turned && coming), Math.max(4, g.along(span.from) + 11), { bold: coming, cls: CLASSES[span.kind] || '' });
  }
}

function conditionWords(g, film, words) {
  for (const part of film.shape.parts) {
    const a = g.along(part.from), end = part.to === null ? g.length : g.along(part.to);
    const text = g.turned && part.from > g.now ? `${part.name} ${when(part.from, g.now)}` : part.name;
    if (end - Math.max(0, a) > 30) words.add(text, Math.max(3, a + 4));
  }
}

// ---- a lane ----

// What not every piece has, bakes, moves and what is only planned, is drawn by a part that comes after the first drawing.
export let marks = null;
export const takeMarks = (parts) => { marks = parts; };

// What is told of a lane where it is drawn: {piece, coats, row, gaps, moves, planned, stalledFrom}.
export function drawLane(g, lane, width, wordy) {
  const { films, list } = stackOf(g, lane.coats, lane.stalledFrom);
  const bakes = lane.coats.filter((coat) => coat.bake), rails = new Strokes(), words = new Words(g, RAIL);
  if (wordy && marks) for (const coat of bakes) marks.bakeWords(g, coat.bake, words);
  for (const { coat } of films) {
    const stage = railStage(coat, lane.row);
    const spans = stage ? drawRail(g, coat, stage, rails) : [];
    if (coat.bake) marks?.drawCool(g, coat.bake, rails);
    if (coat.status === 'on' && spans.length && wordy) laneWords(g, lane, coat, stage, spans, words);
  }
  if (films.length && wordy) conditionWords(g, films[films.length - 1], words);
  if (wordy) marks?.plainWords(g, lane, words);
  return s('g', { class: 'lane' }, s('path', { class: 'separator', d: line(g, [[0, width], [g.length, width]]) }), box(g, -2, g.length + 2, IRON, FILM_TOP, { class: 'iron' }), drawFilms(g, films, list, lane.gaps),
    marks?.drawMarks(g, lane, bakes, films), rails.paths(), words.group);
}
