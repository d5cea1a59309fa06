// The air of a place as a ribbon: its body is the gap from dew point to temperature, humidity is a line of its own; what nobody measured is
// hatched, what is to come fades into its band, and good spray hours stand there as a gate.
import { s } from './sketch.js';
import { at } from './clock.js';
import { box, clampTo, HOUR, line, textWidth } from './scale.js';
import { dewPoint } from './units.js';

export const TURNED_RIBBON = 40;
const HOLD_MS = 2 * HOUR;

// Hours of a place whose air nobody measured: as the shop tells them, else between readings far apart, and from the hold's end to now.
export function assumedHours(place, now) {
  if (!place) return [];
  if (place.assumed) return place.assumed.map((gap) => ({ from: at(gap.from_at), to: Math.min(now, at(gap.to_at) ?? now) })).filter((gap) => gap.to > gap.from);
  const gaps = [], items = place.recent || [];
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

function runs(points, gaps) { // readings without an assumed gap between
  const list = [[]];
  points.forEach((p, i) => {
    if (i && gaps.some((gap) => gap.from < p.t && gap.to > points[i - 1].t)) list.push([]);
    list[list.length - 1].push(p);
  });
  return list.filter((run) => run.length > 1);
}

// Readings as points, made once for a document.
const known = new WeakMap();
function pointsOf(place) {
  if (!known.has(place)) {
    const past = (place.recent || []).filter((r) => r.temp_c !== null && r.rh_pct !== null).map((r) => ({ t: at(r.at), temp: r.temp_c, dew: dewPoint(r.temp_c, r.rh_pct), rh: r.rh_pct }));
    const ahead = (place.outlook || []).map((r) => ({ t: at(r.at), temp: r.temp_c, low: r.temp_low_c, high: r.temp_high_c, dew: dewPoint(r.temp_c, r.rh_pct), rh: r.rh_pct }));
    known.set(place, { past, ahead });
  }
  return known.get(place);
}

const inSight = (g, points) => points.filter((p, i) => (points[i + 1]?.t ?? p.t) >= g.from && (points[i - 1]?.t ?? p.t) <= g.to);

// Good spray hours, drawn by a part that comes after the first drawing, as they do.
let gates = null;
export const takeGates = (draw) => { gates = draw; };

export function drawRibbon(g, place, width, spray) {
  const group = s('g', { class: 'ribbon' });
  const gaps = assumedHours(place, g.now), all = pointsOf(place);
  const past = inSight(g, all.past), last = all.past[all.past.length - 1];
  const ahead = inSight(g, all.ahead.length && last ? [{ ...last, low: last.temp, high: last.temp }, ...all.ahead.filter((p) => p.t > last.t)] : []);
  if (!ahead.length && last && past.length && place.air && place.air.basis === 'measured' && last.t < g.now) past.push({ ...last, t: g.now }); // the last reading holds a while
  for (const gap of gaps) group.append(box(g, clampTo(g, g.along(gap.from)), clampTo(g, g.along(gap.to)), 4, width - 4, { class: 'assumed-air' }));
  const both = [...past, ...ahead];
  if (both.length) {
    const c1 = width * 0.66;
    const level = fit(both.flatMap((p) => [p.temp, p.dew, p.low ?? p.temp, p.high ?? p.temp]), 8, c1, 6), wet = fit(both.map((p) => p.rh), c1 + 6, width - 8, 20);
    for (const run of runs(past, gaps)) group.append(...course(g, run, level, wet));
    if (ahead.length > 1) group.append(s('g', { class: 'ahead' }, s('path', { class: 'airband', d: `${line(g, [...ahead.map((p) => [g.along(p.t), level(p.high)]), ...ahead.map((p) => [g.along(p.t), level(p.low)]).reverse()])}Z` }), course(g, ahead, level, wet)));
    if (!g.turned) ribbonWords(g, group, past[past.length - 1] || ahead[0], level, wet, gaps);
  }
  if (spray) gates?.(g, group, spray);
  return group;
}

function course(g, run, level, wet) {
  const warm = run.map((p) => [g.along(p.t), level(p.temp)]), dew = run.map((p) => [g.along(p.t), level(p.dew)]);
  return [s('path', { class: 'airbody', d: `${line(g, [...warm, ...[...dew].reverse()])}Z` }), s('path', { class: 'temperature', d: line(g, warm) }), s('path', { class: 'dew', d: line(g, dew) }), s('path', { class: 'damp', d: line(g, run.map((p) => [g.along(p.t), wet(p.rh)])) })];
}

function ribbonWords(g, group, last, level, wet, gaps) {
  const a = Math.min(g.length - 90, Math.max(0, g.nowAt)) + 12;
  const taken = [];
  for (const [text, c] of [['temperature', level(last.temp) + 4], ['dew point', level(last.dew) + 4], ['humidity', wet(last.rh) + 4]]) {
    const y = Math.max(28, taken.length ? Math.max(c, taken[taken.length - 1] + 16) : c);
    taken.push(y);
    group.append(s('text', { x: a, y, class: 'word' }, text));
  }
  const words = 'no reading: air assumed';
  for (const gap of gaps.slice(-1)) {
    const x = Math.max(4, g.along(gap.to) - 4 - textWidth(words));
    if (g.along(gap.to) > 60 && x + textWidth(words) < g.nowAt) group.append(s('text', { x, y: 14, class: 'word' }, words));
  }
}
