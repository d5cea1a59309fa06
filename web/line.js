// The drying line: pieces hung one under another (turned on a narrow screen: side by side), time along a fixed now.
import { hide, LEAVE, putOn, s } from './sketch.js';
import { at, face, hourText, isTwelve, localHours, shopNow, weekday } from './clock.js';
import { isStalled } from './film.js';
import { isLateTape } from './words.js';
import { box, clampTo, HOUR, line, makeScale, put } from './scale.js';
import { drawLane, LANE, LATTICE, marks, TURNED_LANE } from './lane.js';
import { assumedHours, drawRibbon, TURNED_RIBBON } from './ribbon.js';

export const AXIS = 34, turnedAxis = () => (isTwelve() ? 72 : 46);
const FADE = 0.42;

// ---- axis, nights, plumb line ----

function drawNights(g, across, hours) {
  const nights = [];
  for (const { ms, hour } of hours) {
    if (hour >= 6 && hour < 21) continue;
    const last = nights[nights.length - 1];
    if (last && last.to >= ms) last.to = ms + HOUR; else nights.push({ from: ms, to: ms + HOUR });
  }
  return s('g', { class: 'nights' }, nights.map(({ from, to }) => box(g, clampTo(g, g.along(from)), clampTo(g, g.along(to)), 0, across, { class: 'night' })));
}

const drawMidnights = (g, across, hours) => hours.filter(({ hour }) => hour === 0).map(({ ms }) => s('path', { class: 'midnight', d: line(g, [[g.along(ms), 0], [g.along(ms), across]]) }));

const RANKS = [[24, 0], [12, 1], [6, 2], [3, 3], [2, 4], [1, 5]];
const rankOf = ({ hour }) => RANKS.find(([every]) => hour % every === 0)[1];
function axisMarks(g, hours) {
  const need = g.turned ? 20 : isTwelve() ? 46 : 30, clock = g.turned ? 22 : 46;
  const taken = [[g.nowAt - clock, g.nowAt + clock]];
  return [...hours].sort((p, q) => rankOf(p) - rankOf(q)).map((mark) => {
    const a = g.along(mark.ms), half = need / 2 + (mark.hour === 0 ? 6 : 0);
    const free = a > 10 && a < g.length - 10 && taken.every(([t0, t1]) => a + half < t0 || a - half > t1);
    if (free) taken.push([a - half, a + half]);
    return { a, text: free ? (mark.hour === 0 ? weekday(mark.ms) : isTwelve() ? hourText(mark.hour) : String(mark.hour)) : '', bold: mark.hour === 0 };
  });
}

function drawAxis(g, size, hours) {
  const group = s('g', { class: 'axis' }, box(g, -2, g.length + 2, 0, size, { class: 'axisground' }));
  let last = -9, ticks = ''; // not each far hour can have its tick
  for (const mark of axisMarks(g, hours).sort((p, q) => p.a - q.a)) {
    if (!mark.text && mark.a - last < 5) continue;
    last = mark.a;
    ticks += line(g, [[mark.a, size - (mark.text ? 8 : 4)], [mark.a, size]]);
    if (mark.text) group.append(g.turned ? s('text', { x: size - 12, y: mark.a + 5, 'text-anchor': 'end', class: mark.bold ? 'bold' : '' }, mark.text) : s('text', { x: mark.a, y: size - 13, 'text-anchor': 'middle', class: mark.bold ? 'bold' : '' }, mark.text));
  }
  group.append(s('path', { class: 'tick', d: ticks }), s('path', { class: 'axisline', d: line(g, [[0, size], [g.length, size]]) }));
  return group;
}

function drawClock(g, size) {
  if (g.nowAt < -20 || g.nowAt > g.length + 20) return null;
  const [x, y, w, t] = g.turned ? [0, g.nowAt - 13, size, 26] : [g.nowAt - 42, 0, 84, size - 1];
  return s('g', { class: 'nowclock' }, s('rect', { x, y, width: w, height: t }), s('text', { x: x + w / 2, y: y + t / 2 + (g.turned ? 5.5 : 7), 'text-anchor': 'middle', class: g.turned ? 'narrow' : '', 'data-clock': 'hm' }, face(g.now)));
}

function drawPlumb(g, c0, c1) {
  const bob = g.turned ? `M${c1 - 22} ${g.nowAt}L${c1 - 16} ${g.nowAt - 6}H${c1 - 4}V${g.nowAt + 6}H${c1 - 16}Z` : `M${g.nowAt} ${c1}L${g.nowAt - 6} ${c1 - 7}V${c1 - 18}H${g.nowAt + 6}V${c1 - 7}Z`;
  return s('g', { class: 'plumb' }, s('path', { class: 'wire', d: line(g, [[g.nowAt, c0], [g.nowAt, c1 - 4]]) }), s('path', { class: 'bob', d: bob }));
}

// Films, their edges and the seams between them fade from now to the end of the line; each has its gradient, since a mask over all would be
// painted anew with every pixel that a hand moves the line.
const FADING = ['oxide', 'black', 'green', 'brown', 'amber', 'gold', 'clear', 'grey', 'white', 'blue', 'iron', 'edge', 'seam', 'heat', 'air'];
function drawDefs(g) {
  const [x2, y2] = put(g, g.length, 0), from = Math.max(0, Math.min(0.98, g.nowAt / g.length));
  const stop = (name, offset, value) => s('stop', { class: `f-${name}`, offset, 'stop-opacity': value });
  const hatch = (id) => s('pattern', { id, width: 7, height: 7, patternUnits: 'userSpaceOnUse', patternTransform: 'rotate(45)' }, s('path', { class: id, d: 'M0 0V7' }));
  const { across, step, high } = LATTICE, [x, y] = put(g, 0, across), [width, height] = put(g, step, high);
  const cross = s('pattern', { id: 'latticecross', x, y, width, height, patternUnits: 'userSpaceOnUse' }, s('path', { class: 'rail cross1', d: `M0 0L${width} ${height}M0 ${height}L${width} 0` }));
  return s('defs', {}, cross, FADING.map((name) => s('linearGradient', { id: `fade-${name}`, gradientUnits: 'userSpaceOnUse', x1: 0, y1: 0, x2, y2 }, stop(name, from, 1), stop(name, 1, FADE))), hatch('hatchdark'), hatch('hatchpale'), hatch('hatchair'));
}

// ---- what hangs on it ----

const ORDER = ['now', 'next', 'not_yet', 'held'];
const SPEAKS = ['now', 'not_yet', 'held', 'next']; // whose word stands at the lane where a piece is in several lists
const FIRST_STAGES = ['leaf', 'recoat'];
const mayBeTape = (row) => row.stage === 'unmask'; // the shop knows no tape: it speaks last

function speaker(rows) {
  const rank = (row) => (isLateTape(row) ? 200 : mayBeTape(row) ? 100 : 0) + SPEAKS.indexOf(row.list) * 2 + (FIRST_STAGES.includes(row.stage) ? 0 : 1);
  return [...rows].sort((p, q) => rank(p) - rank(q))[0] || null;
}

// Since when a piece stands still; the shop looks back a day for it.
function stalledFrom(rows, coats, now) {
  const row = rows.find((one) => one.list === 'held' && one.stalled && one.stalled !== 'none');
  if (!coats.some(isStalled)) return now;
  return row?.since_at ? at(row.since_at) : now - 24 * HOUR;
}

// Pieces in the order of what asks first, each with its coats, its row of the lists, and what else is drawn in its lane. `shop.planned` is
// optional: steps as {piece, kind: 'coat' | 'bake', words, from_at, to_at}.
export function lanesOf(shop, now) {
  const rows = ORDER.flatMap((name) => shop.lists[name].map((row) => ({ ...row, list: name })));
  const said = new Map();
  rows.forEach((row, i) => { if (!isLateTape(row) && !(mayBeTape(row) && row.list === 'now') && !said.has(row.piece)) said.set(row.piece, i); });
  const places = new Map(shop.places.map((place) => [place.id, place])), coatsOf = new Map();
  for (const coat of shop.coats) { if (!coatsOf.has(coat.piece)) coatsOf.set(coat.piece, []); coatsOf.get(coat.piece).push(coat); }
  const weight = (piece) => said.get(piece.id) ?? (coatsOf.has(piece.id) ? 1000 : 2000);
  return shop.pieces.filter((piece) => !piece.removed_at).sort((p, q) => weight(p) - weight(q)).map((piece) => {
    const coats = (coatsOf.get(piece.id) || []).sort((p, q) => at(p.first_at) - at(q.first_at)), mine = rows.filter((row) => row.piece === piece.id);
    const moves = marks?.movesOf(piece, coats, places) || [];
    return { piece, coats, row: speaker(mine), rows: mine, moves, gaps: marks ? marks.gapsWhere(piece, moves, coats[0]?.place, places, now) : assumedHours(places.get(piece.place), now), planned: (shop.planned || []).filter((step) => step.piece === piece.id), stalledFrom: stalledFrom(mine, coats, now) };
  });
}

// ---- the whole drawing ----

/* Draws into `svg`. options: {lanes, places, spray: hours by place, chosen (piece id), chosenWidth (turned only), turned, length, ribbon (its width),
 * sight: from where to where it can be seen, across; what lies outside stays as it was}. Returns {g, starts, ends, size}, in pixels across. */
export function drawLine(svg, { lanes, places, spray, chosen, chosenWidth, turned, length, ribbon, sight = null }) {
  const g = makeScale(length, turned, shopNow());
  const axis = turned ? turnedAxis() : AXIS, hours = localHours(g.from, g.to);
  const shift = (c) => (turned ? `translate(${c} 0)` : `translate(0 ${c})`);
  const old = svg.querySelector('.lines')?.children, lines = [], boxes = [];
  let c = axis;
  const hang = (width, draw) => {
    const was = sight && old?.[boxes.length], hidden = was && (c > sight.to || c + width < sight.from);
    if (hidden) hide(was); // until the hand rests and all is drawn
    lines.push(hidden ? LEAVE : draw(shift(c), width));
    boxes.push({ from: c, to: c + width, el: null });
    c += width;
  };
  const ribbons = () => places.forEach((place) => hang(turned ? TURNED_RIBBON : ribbon, (transform, width) => s('g', { transform, 'data-place': place.id }, drawRibbon(g, place, width, spray?.get(place.id)), turned ? null : s('path', { class: 'axisline', d: line(g, [[0, 0], [g.length, 0]]) }))));
  if (turned) ribbons();
  for (const lane of lanes) {
    const mine = lane.piece.id === chosen;
    hang(turned ? (mine ? chosenWidth : TURNED_LANE) : LANE, (transform, width) => s('g', { transform, 'data-piece': lane.piece.id }, drawLane(g, lane, width, !turned || mine)));
  }
  if (!turned) ribbons();
  const [w, t] = turned ? [c, length] : [length, c];
  for (const [name, value] of [['viewBox', `0 0 ${w} ${t}`], ['width', w], ['height', t]]) if (svg.getAttribute(name) !== String(value)) svg.setAttribute(name, value);
  putOn(svg, [drawDefs(g), s('g', { transform: shift(axis) }, drawNights(g, c - axis, hours), drawMidnights(g, c - axis, hours)), s('g', { class: 'lines' }, lines), drawPlumb(g, axis, c), s('g', { class: 'rule' }, drawAxis(g, axis, hours), drawClock(g, axis))]);
  const { children } = svg.querySelector('.lines');
  boxes.forEach((one, i) => { one.el = children[i]; });
  return { g, size: c, axis, boxes };
}
