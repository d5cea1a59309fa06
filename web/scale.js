// Time along the line: x = now + k asinh(t / c), so that the hours near now are drawn wide; or even hours. And the few strokes that all of
// the drawing is made of. All geometry is in (along, across) and put down as x and y only at the end: both ways round are the same drawing.
import { s } from './sketch.js';

export const HOUR = 3600e3;
const WIDE_H = 3.4; // c: the hours beside now that are drawn about evenly
const EVEN_H = 72; // hours in sight where they are even
const NEAREST = 8, FARTHEST = 0.15, AWAY_MS = 60 * 24 * HOUR;

let view = { even: false, zoom: 1, shiftMs: 0 };
export const lineView = () => view;
const within = (value, least, most) => Math.min(most, Math.max(least, value));
export function setLineView(change) {
  view = { ...view, ...change };
  view.zoom = within(view.zoom, FARTHEST, NEAREST);
  view.shiftMs = within(view.shiftMs, -AWAY_MS, AWAY_MS);
}

export function makeScale(length, turned, now) {
  const centre = now + view.shiftMs, ac = Math.round(length * (turned ? 0.4 : 0.43));
  const c = WIDE_H / view.zoom, k = length * 0.16, perHour = (length / EVEN_H) * view.zoom;
  const hours = view.even ? (a) => (a - ac) / perHour : (a) => c * Math.sinh((a - ac) / k);
  const along = view.even ? (ms) => ac + ((ms - centre) / HOUR) * perHour : (ms) => ac + k * Math.asinh((ms - centre) / HOUR / c);
  const moment = (a) => centre + HOUR * hours(a);
  return { length, turned, now, along, moment, hours, nowAt: along(now), from: moment(0), to: moment(length) };
}

// Moves or zooms the view so that the moment stands at `a` of a line of this length.
export function holdMoment(ms, a, { length, turned, now }, zoom = view.zoom) {
  setLineView({ zoom });
  setLineView({ shiftMs: ms - HOUR * makeScale(length, turned, now).hours(a) - now });
}

export const put = (g, a, c) => (g.turned ? [c, a] : [a, c]);
const short = (n) => Math.round(n * 10) / 10;
export const xy = (g, a, c) => (g.turned ? `${short(c)} ${short(a)}` : `${short(a)} ${short(c)}`);
export const line = (g, points) => `M${points.map(([a, c]) => xy(g, a, c)).join('L')}`;
export const clampTo = (g, a) => within(a, -2, g.length + 2);

export function box(g, a0, a1, c0, c1, props) {
  const [x0, y0] = put(g, a0, c0), [x1, y1] = put(g, a1, c1);
  return s('rect', { x: short(Math.min(x0, x1)), y: short(Math.min(y0, y1)), width: short(Math.abs(x1 - x0)), height: short(Math.abs(y1 - y0)), ...props });
}

// ---- words that never overlap ----

const widths = new Map();
let ruler = null, fonts = null;
export function textWidth(text, bold) {
  const key = (bold ? '!' : '.') + text;
  if (!widths.has(key)) {
    ruler ||= document.createElement('canvas').getContext('2d');
    if (!fonts) { const family = getComputedStyle(document.body).fontFamily; fonts = { plain: `15px ${family}`, bold: `700 15.5px ${family}` }; }
    if (widths.size > 2000) widths.clear(); // the words hold times
    ruler.font = bold ? fonts.bold : fonts.plain;
    widths.set(key, ruler.measureText(text).width + 4);
  }
  return widths.get(key);
}

const BOLD_MOST = 3;
export class Words {
  constructor(g, across) { this.g = g; this.across = across; this.taken = []; this.bold = 0; this.group = s('g', { class: 'words' }); }
  // Puts a word at `a` or a little after it; drops it where there is no room.
  add(text, a, { bold = false, cls = '' } = {}) {
    if (bold && this.bold >= BOLD_MOST) return false;
    const size = this.g.turned ? 18 : textWidth(text, bold), most = this.g.length - 2;
    let from = Math.max(2, a);
    for (const [t0, t1] of this.taken) if (from < t1 + 6 && from + size > t0 - 6) from = t1 + 8;
    if (from + size > most && a <= most) from = most - size;
    if (from > a + 60 || from < Math.min(a, most) - 70) return false;
    if (this.taken.some(([t0, t1]) => from < t1 + 4 && from + size > t0 - 4)) return false;
    this.taken.push([from, from + size]);
    this.taken.sort((p, q) => p[0] - q[0]);
    if (bold) this.bold += 1;
    const [x, y] = this.g.turned ? [this.across + 13, from + 14] : [from, this.across + 5];
    this.group.append(s('text', { x: short(x), y: short(y), class: `word ${bold ? 'bold' : ''} ${cls}` }, text));
    return true;
  }
}

// ---- moves, by whatever hand ----

const STEP_H = 6, EVEN_STEP_H = 12, NEARER = 1.4;
const stepMs = () => ((lineView().even ? EVEN_STEP_H : STEP_H) / lineView().zoom) * HOUR;
export const MOVES = {
  earlier: () => setLineView({ shiftMs: lineView().shiftMs - stepMs() }), later: () => setLineView({ shiftMs: lineView().shiftMs + stepMs() }), now: () => setLineView({ shiftMs: 0, zoom: 1 }),
  wider: () => setLineView({ zoom: lineView().zoom / NEARER }), nearer: () => setLineView({ zoom: lineView().zoom * NEARER }), even: () => setLineView({ even: !lineView().even }),
};
