// What is marked on the lanes that have it: bakes over the iron, moves to another place, and what is only planned, in outlines; and good spray hours on
// the air.
import { s } from './sketch.js';
import { at, when } from './clock.js';
import { FILM_TOP, IRON, RAIL } from './lane.js';
import { box, clampTo, HOUR, line, put, textWidth } from './scale.js';
import { assumedHours } from './ribbon.js';
import { temp } from './units.js';
import { BAKE_STATES, bakeSaid } from './bakewords.js';

const BAKE_TOP = 1.5, PLANNED_DEPTH = 6;

const BAKE_LEAST = 12; // as wide as a bake is drawn at least, however far off

/* A plateau over the iron, its shoulders the heating and the cooling. `open`: it is still in the oven. */
function plateau(g, from, to, coolAt, cls) {
  const a0 = g.along(from), a1 = Math.max(a0 + BAKE_LEAST, g.along(to)), rise = Math.min(9, (a1 - a0) / 4);
  const end = coolAt === null ? a1 + rise : Math.max(a1 + rise, g.along(coolAt));
  if (end < -2 || a0 > g.length + 2) return null;
  const points = [[a0, IRON], [a0 + rise, BAKE_TOP], [a1, BAKE_TOP], ...(cls.includes('interrupted') ? [[a1 - 3, IRON - 3], [a1 + 2, IRON - 2], [a1, IRON]] : [[end, IRON]])];
  let comb = '';
  for (let a = a0 + rise + 3; a < a1 - 1; a += 6) comb += line(g, [[a, BAKE_TOP + 1.5], [a, IRON]]);
  return s('g', { class: `oven ${cls}` }, s('path', { class: 'heat', d: line(g, points) }), comb && s('path', { class: 'comb', d: comb }));
}

const isRunning = (bake) => Boolean(BAKE_STATES[bake.state]?.lane);

function drawBake(g, bake) {
  const from = at(bake.started_at), to = at(bake.ended_at) ?? g.now;
  return plateau(g, from, Math.max(from, to), at(bake.cool_at), isRunning(bake) ? 'running' : bake.state);
}

export function bakeWord(bake, now) {
  const peak = bake.peak_c === null || bake.peak_c === undefined ? '' : ` ${temp(bake.peak_c)}`;
  const cool = at(bake.cool_at);
  if (isRunning(bake)) return `${bakeSaid(bake, 'lane')}${peak}`;
  if (bake.state === 'interrupted' || !bake.baked) return `bake broken off${peak}`;
  if (cool !== null && cool > now) return `hot until about ${when(cool, now)}`;
  return `baked${peak}`;
}

export function bakeWords(g, bake, words) {
  const cool = at(bake.cool_at), hot = !isRunning(bake) && cool !== null && cool > g.now;
  const a = g.along(at(bake.started_at));
  words.add(bakeWord(bake, g.now), isRunning(bake) || hot ? g.nowAt + 10 : Math.max(4, a), { bold: true, cls: 'prep' });
}

// The moment that a baked piece is cool enough for a hand: a lozenge on the rail.
export function drawCool(g, bake, strokes) {
  const cool = at(bake.cool_at);
  if (cool === null) return;
  const [x, y] = put(g, g.along(cool), RAIL);
  strokes.add(cool <= g.now ? 'cool' : 'cool coming', `M${x} ${y - 6}L${x + 6} ${y}L${x} ${y + 6}L${x - 6} ${y}Z`);
}

// Hung elsewhere: a hook over the iron that points on.
function drawMove(g, move) {
  const a = g.along(move.at);
  if (a < 2 || a > g.length - 2) return null;
  return s('path', { class: 'move', d: `${line(g, [[a, FILM_TOP + 3], [a, 2], [a + 9, 2]])}${line(g, [[a + 6, -0.5], [a + 9.5, 2], [a + 6, 4.5]])}` });
}

// Moves of a piece from one place to another that fell on its coats, and the hours of assumed air where it hung then.
export function movesOf(piece, coats, places) {
  const first = coats.length ? at(coats[0].first_at) : Infinity;
  const all = (piece.moves || []).map((move) => ({ at: at(move.at), place: move.place }));
  return all.filter((move, i) => move.at > first && (i === 0 || all[i - 1].place !== move.place)).map((move) => ({ at: move.at, place: move.place, to: places.get(move.place)?.name || 'elsewhere' }));
}

export function gapsWhere(piece, moves, first, places, now) {
  if (!moves.length) return assumedHours(places.get(piece.place), now);
  const before = (piece.moves || []).filter((move) => at(move.at) < moves[0].at).pop();
  const stays = [{ at: -Infinity, place: before ? before.place : first }, ...moves];
  return stays.flatMap((stay, i) => {
    const end = stays[i + 1]?.at ?? Infinity;
    return assumedHours(places.get(stay.place), now).map((gap) => ({ from: Math.max(gap.from, stay.at), to: Math.min(gap.to, end) })).filter((gap) => gap.to > gap.from);
  });
}

// ---- what is only planned: outlines ----

function drawPlanned(g, step, films) {
  const from = at(step.from_at), to = at(step.to_at) ?? from + HOUR;
  if (step.kind === 'bake') return plateau(g, from, to, null, 'planned');
  const a0 = g.along(from), a1 = Math.max(a0 + 14, g.along(to));
  if (a1 < -2 || a0 > g.length) return null;
  const base = (a) => (films.length ? films[films.length - 1].bottom(a) : FILM_TOP) + 1.5;
  const [b0, b1] = [clampTo(g, a0), clampTo(g, a1)], slant = Math.min(8, (b1 - b0) / 3);
  return s('path', { class: 'planned', d: `${line(g, [[b0, base(b0)], [b0, base(b0) + PLANNED_DEPTH], [b1 - slant, base(b1) + PLANNED_DEPTH], [b1, base(b1)]])}Z` });
}

export const plainWords = (g, lane, words) => {
  for (const step of lane.planned) words.add(step.kind === 'bake' ? 'bake planned' : 'planned', g.along(at(step.from_at)) + 2);
  for (const move of lane.moves) { const a = g.along(move.at); if (a > 2 && a < g.length) words.add(`to ${move.to}`, a + 4); }
};

export const drawMarks = (g, lane, bakes, films) => [lane.planned.map((step) => drawPlanned(g, step, films)), bakes.map((coat) => drawBake(g, coat.bake)), lane.moves.map((move) => drawMove(g, move))];

// ---- good hours to spray, on the ribbon of the air ----

const GATE_TOP = 3, GATE_END = 15;
export function sprayGates(g, group, spray) {
  let free = 0;
  for (const hours of spray) {
    const a0 = clampTo(g, g.along(Math.max(hours.from, g.now))), a1 = clampTo(g, g.along(hours.to));
    if (a1 - a0 < 3) continue;
    group.append(box(g, a0, a1, GATE_TOP, GATE_END, { class: 'open-ground spray' }), s('path', { class: 'post', d: `${line(g, [[a0, GATE_TOP], [a0, GATE_END]])}${line(g, [[a1, GATE_TOP], [a1, GATE_END]])}` }));
    if (g.turned) continue;
    const text = hours.from <= g.now ? `spray until ${when(hours.to, g.now)}` : `spray ${when(hours.from, g.now)} to ${when(hours.to, g.now)}`;
    const x = Math.min(a0 + 6, g.length - textWidth(text, true));
    if (x < free) continue;
    free = x + textWidth(text, true) + 8;
    group.append(s('text', { x, y: GATE_END - 1, class: 'word bold may' }, text));
  }
}
