// Draws the air: two panels over one another, temperature with its dew point and humidity, on the library; the coats above them as SVG.
import { s } from './dom.js';
import { at, dayMonth, local, face, weekday, zoneName, hhmm, when } from './clock.js';
import { temp, tempUnit, isUs } from './units.js';
import { STAGE_WORDS } from './stagewords.js';

const SCRIPT = '/assets/vendor/uplot/uPlot.iife.min.js', STYLES = ['/assets/vendor/uplot/uPlot.min.css', '/assets/air.css'];
const AXIS_LEFT = 50, RIGHT = 10, NEAR_LIMIT = 5; // px; px; degrees within which a limit is drawn into the picture

// ---- the library, fetched once, when a plot is first opened ----

const arrival = (el) => new Promise((resolve, reject) => { el.onload = resolve; el.onerror = () => { el.remove(); reject(new Error('a file of the plot could not be fetched')); }; document.head.append(el); });
let loading = null;
export function loadLibrary() {
  loading ||= Promise.all([arrival(Object.assign(document.createElement('script'), { src: SCRIPT })), ...STYLES.map((href) => arrival(Object.assign(document.createElement('link'), { rel: 'stylesheet', href })))]).catch((error) => { loading = null; throw error; });
  return loading;
}

// ---- from the document to columns ----

const toUnit = (c) => (c === null ? null : isUs() ? c * 1.8 + 32 : c);
const COLUMNS = ['temp_high_c', 'temp_low_c', 'temp_c', 'dew_point_c', 'rh_high_pct', 'rh_low_pct', 'rh_pct'];

/* Bins without a reading are left out, so that readings further apart than a bin are joined; where the shop says that nobody measured, a row of nulls
 * breaks the line. */
export function columnsOf(doc) {
  const { bins } = doc, half = doc.bin_s / 2;
  const x = [], columns = COLUMNS.map(() => []);
  const gaps = doc.gaps.map((gap) => [at(gap.from_at) / 1e3, at(gap.to_at) / 1e3]);
  let next = 0, last = null;
  bins.at.forEach((from, i) => {
    if (bins.temp_c[i] === null && bins.rh_pct[i] === null) return;
    while (next < gaps.length && gaps[next][0] < (last ?? -Infinity)) next += 1; // it ended before, or within, that bin
    if (last !== null && next < gaps.length && gaps[next][0] < from + doc.bin_s && gaps[next][1] <= from + doc.bin_s) { x.push((last + half + from + half) / 2); columns.forEach((column) => column.push(null)); next += 1; }
    x.push(from + half);
    COLUMNS.forEach((name, k) => columns[k].push(name.endsWith('_c') ? toUnit(bins[name][i]) : bins[name][i]));
    last = from;
  });
  return { x, temp: columns.slice(0, 4), rh: columns.slice(4) };
}

// ---- colours ----

function palette() {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(['ink', 'ink2', 'mark', 'hair', 'brass', 'ground', 'plate', 'airbody', 'sans', 'bob'].map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
}

// ---- what lies under and over the lines ----

function within(u, fromMs, toMs) {
  const left = Math.max(u.bbox.left, u.valToPos(fromMs / 1e3, 'x', true)), right = Math.min(u.bbox.left + u.bbox.width, u.valToPos(toMs / 1e3, 'x', true));
  return right > left ? { left, width: right - left } : null;
}

function words(u, colours, text, x, y, align = 'left', bold = false) {
  const { ctx } = u, ratio = devicePixelRatio;
  ctx.font = `${bold ? 'bold ' : ''}${14 * ratio}px ${colours.sans}`;
  ctx.textAlign = align;
  ctx.textBaseline = 'middle';
  ctx.lineJoin = 'round';
  ctx.lineWidth = 4 * ratio;
  ctx.strokeStyle = colours.ground;
  ctx.strokeText(text, x, y);
  ctx.fillText(text, x, y);
}

function hatch(u, colours, box) {
  const { ctx } = u, step = 9 * devicePixelRatio, { top, height } = u.bbox;
  ctx.beginPath();
  ctx.rect(box.left, top, box.width, height);
  ctx.clip();
  ctx.beginPath();
  for (let x = box.left - height - ((box.left - height) % step); x < box.left + box.width; x += step) { ctx.moveTo(x, top + height); ctx.lineTo(x + height, top); }
  ctx.strokeStyle = colours.hair;
  ctx.lineWidth = devicePixelRatio;
  ctx.stroke();
}

const kept = (u, draw) => { u.ctx.save(); draw(); u.ctx.restore(); };

function under(u, doc, colours) {
  for (const one of doc.heated) {
    const box = within(u, at(one.from_at), at(one.to_at));
    if (box) kept(u, () => { u.ctx.fillStyle = colours.bob; u.ctx.globalAlpha = 0.16; u.ctx.fillRect(box.left, u.bbox.top, box.width, u.bbox.height); u.ctx.globalAlpha = 1; u.ctx.fillRect(box.left, u.bbox.top, box.width, 4 * devicePixelRatio); });
  }
  for (const one of doc.gaps) { const box = within(u, at(one.from_at), at(one.to_at)); if (box) kept(u, () => hatch(u, colours, box)); }
}

// A word in each stretch that has room for it, at a height where no other stands.
function labels(u, list, text, colours, heights, colour, taken) {
  const ratio = devicePixelRatio, y = heights.map((share) => u.bbox.top + share * u.bbox.height).find((one) => !taken.some((other) => Math.abs(other - one) < 18 * ratio));
  if (y === undefined) return;
  for (const one of list) {
    const box = within(u, at(one.from_at), at(one.to_at));
    if (box && box.width > (text.length * 8 + 12) * ratio) kept(u, () => { u.ctx.fillStyle = colour; words(u, colours, text, box.left + box.width / 2, y, 'center'); });
  }
}

/* A line with its words, in the longest form that has room; where another limit's words stand already the list under the plot has to do. */
function limitLine(u, colours, scale, { value, texts }, below, taken) {
  const { ctx, bbox } = u, ratio = devicePixelRatio, y = Math.round(u.valToPos(value, scale, true));
  if (y < bbox.top || y > bbox.top + bbox.height) return;
  kept(u, () => {
    ctx.strokeStyle = colours.brass;
    ctx.lineWidth = 2 * ratio;
    ctx.setLineDash([10 * ratio, 4 * ratio, 2 * ratio, 4 * ratio]);
    ctx.beginPath(); ctx.moveTo(bbox.left, y); ctx.lineTo(bbox.left + bbox.width, y); ctx.stroke();
    ctx.setLineDash([]);
    ctx.fillStyle = colours.brass;
    ctx.font = `bold ${14 * ratio}px ${colours.sans}`;
    const text = texts.find((one) => ctx.measureText(one).width < bbox.width - 20 * ratio);
    const middle = Math.min(bbox.top + bbox.height - 9 * ratio, Math.max(bbox.top + 9 * ratio, below ? y + 11 * ratio : y - 11 * ratio));
    if (!text || taken.some((other) => Math.abs(other - middle) < 17 * ratio)) return;
    taken.push(middle);
    words(u, colours, text, bbox.left + 6 * ratio, middle, 'left', true);
  });
}

/* Limits with the same figure share a line: [{value, texts: longest first}]. */
export function limitsOf(doc, key, phrase) {
  const byValue = new Map();
  for (const one of doc.limits) if (one[key] !== null) byValue.set(one[key], [...(byValue.get(one[key]) || []), one.material.name]);
  return [...byValue].map(([value, names]) => ({ value, texts: [`${phrase(value)}: ${names.join('; ')}`, names.length > 1 && `${phrase(value)}: ${names[0]} and ${names.length - 1} more`, phrase(value)].filter(Boolean) }));
}

function nowLine(u, colours, nowMs) {
  const x = u.valToPos(nowMs / 1e3, 'x', true), { bbox } = u;
  if (x < bbox.left || x > bbox.left + bbox.width) return;
  kept(u, () => { u.ctx.strokeStyle = colours.brass; u.ctx.lineWidth = 2 * devicePixelRatio; u.ctx.beginPath(); u.ctx.moveTo(x, bbox.top); u.ctx.lineTo(x, bbox.top + bbox.height); u.ctx.stroke(); });
}

// ---- axes ----

const DAY = 86400;
function timeWords(u, splits, axis, space, step) {
  let year = null;
  return splits.map((second) => {
    const ms = second * 1e3, p = local(ms), month = dayMonth(ms);
    const first = year !== p.year;
    year = p.year;
    if (step >= 365 * DAY) return String(p.year);
    if (step >= 28 * DAY) return `${month.replace(/^\d+ /, '')}${first ? `\n${p.year}` : ''}`;
    if (step >= DAY) return month;
    return p.hour === 0 && p.minute === 0 ? `${weekday(ms)}\n${month}` : face(ms);
  });
}

function tempRange(limits) {
  return (u, low, high) => {
    if (low === null || high === null) return [toUnit(5), toUnit(25)];
    for (const value of limits) { if (value > high && value - high < NEAR_LIMIT) high = value; if (value < low && low - value < NEAR_LIMIT) low = value; }
    const pad = Math.max(1, (high - low) * 0.08);
    return [Math.floor(low - pad), Math.ceil(high + pad)];
  };
}

// ---- the panels ----

// A reading that nothing joins to another is a dot, else it would not be seen.
function lonely(u, index) {
  const column = u.data[index], found = [];
  for (let i = 0; i < column.length; i += 1) if (column[i] !== null && (i === 0 || column[i - 1] === null) && (i + 1 === column.length || column[i + 1] === null)) found.push(i);
  return found;
}

function seriesOf(colours, lines) {
  const hidden = { stroke: 'transparent', width: 0, points: { show: false } };
  return [{}, hidden, hidden, ...lines.map((line) => ({ width: 2, points: { show: true, size: 6, fill: line.stroke, filter: (u, index) => lonely(u, index) }, spanGaps: false, ...line }))];
}

function panel(uPlot, el, view, { height, bottom, scale, lines, data, range, axisWords, hooks }, colours) {
  const axis = { stroke: () => colours.ink2, font: `14px ${colours.sans}`, grid: { stroke: () => colours.hair, width: 1 }, ticks: { stroke: () => colours.hair, size: 4 } };
  return new uPlot({
    width: Math.max(260, el.clientWidth), height: height + (bottom ? 44 : 0), padding: [6, RIGHT, bottom ? 0 : 6, 0], legend: { show: false }, tzDate: (second) => uPlot.tzDate(new Date(second * 1e3), zoneName()),
    cursor: { y: false, drag: { x: false, y: false, setScale: false }, sync: { key: 'air' }, points: { size: 8 } },
    scales: { x: { time: true, range: () => [view.from / 1e3, view.to / 1e3] }, [scale]: { range } },
    series: seriesOf(colours, lines).map((one, i) => (i ? { scale, ...one } : one)), bands: [{ series: [1, 2], fill: colours.airbody }],
    axes: [{ ...axis, show: bottom, size: 44, space: 64, values: timeWords }, { ...axis, scale, size: AXIS_LEFT, values: axisWords, space: 34 }], hooks,
  }, data, el);
}

export function drawPanels(parts, view, doc, nowMs, sizes, oncursor) {
  const uPlot = globalThis.uPlot, colours = palette(), columns = columnsOf(doc);
  const low = limitsOf(doc, 'min_temp_c', (c) => `not below ${temp(c)}`), high = limitsOf(doc, 'max_temp_c', (c) => `not above ${temp(c)}`), damp = limitsOf(doc, 'max_rh_pct', (pct) => `not above ${pct} %`);
  const hooks = (over) => ({ drawClear: [(u) => under(u, doc, colours)], drawAxes: [over], draw: [(u) => nowLine(u, colours, nowMs())], setCursor: [oncursor] });
  const overTemp = (u) => {
    const taken = [];
    for (const one of low) limitLine(u, colours, 'temp', { ...one, value: toUnit(one.value) }, true, taken);
    for (const one of high) limitLine(u, colours, 'temp', { ...one, value: toUnit(one.value) }, false, taken);
    labels(u, doc.gaps, 'no reading', colours, [0.5, 0.35, 0.65, 0.8], colours.ink2, taken);
    labels(u, doc.heated, 'heated', colours, [0.09, 0.2, 0.3], colours.brass, taken);
  };
  const degrees = (u, splits) => splits.map((value) => `${value}${tempUnit()[0]}`);
  const temperature = panel(uPlot, parts.temp, view, { height: sizes.temp, bottom: false, scale: 'temp', data: [columns.x, ...columns.temp], range: tempRange([...low, ...high].map((one) => toUnit(one.value))), axisWords: degrees,
    lines: [{ stroke: colours.ink }, { stroke: colours.ink2, dash: [7, 5] }], hooks: hooks(overTemp) }, colours);
  const humid = panel(uPlot, parts.rh, view, { height: sizes.rh, bottom: true, scale: 'rh', data: [columns.x, ...columns.rh], range: () => [0, 100], axisWords: (u, splits) => splits.map((value) => `${value} %`),
    lines: [{ stroke: colours.ink }], hooks: hooks((u) => { const taken = []; damp.sort((p, q) => q.value - p.value).forEach((one, i) => limitLine(u, colours, 'rh', one, i > 0, taken)); }) }, colours);
  const both = [temperature, humid];
  return {
    all: both, columns,
    move() { for (const u of both) u.setScale('x', { min: view.from / 1e3, max: view.to / 1e3 }); },
    setSize(width) { for (const u of both) u.setSize({ width: Math.max(260, width), height: u.height }); },
    redraw() { for (const u of both) u.redraw(false); },
    destroy() { for (const u of both) u.destroy(); },
  };
}

// ---- the coats over it ----

const ROW = 30, LETTER = 7.6, ROWS_MOST = 6;

// One row a piece: [{piece, coats}], those with the newest coats first.
export function rowsOf(doc) {
  const byPiece = new Map();
  for (const coat of doc.coats) byPiece.set(coat.piece, [...(byPiece.get(coat.piece) || []), coat]);
  return [...byPiece].map(([piece, coats]) => ({ piece, coats }));
}

/* Words stand where there is room for them; marks always. */
function coatRow(row, i, view, width, nameOf) {
  const inside = width - AXIS_LEFT - RIGHT, xOf = (ms) => AXIS_LEFT + ((ms - view.from) / (view.to - view.from)) * inside;
  const y = i * ROW + 23, edge = [AXIS_LEFT, AXIS_LEFT + inside], clamp = (x) => Math.min(edge[1], Math.max(edge[0], x));
  const bars = [], marks = [], texts = [];
  for (const coat of row.coats) {
    const [x0, x1] = [clamp(xOf(at(coat.from_at))), clamp(xOf(at(coat.to_at)))];
    if (x1 > x0) bars.push({ x0, x1 });
    for (const mark of coat.stages) { const x = xOf(at(mark.at)); if (x >= edge[0] && x <= edge[1]) marks.push({ x, ...mark }); }
  }
  if (!bars.length) return null;
  const name = nameOf(row.piece), start = Math.min(...bars.map((bar) => bar.x0));
  const taken = [];
  const put = (x, text, cls) => { const w = text.length * LETTER, left = Math.min(x, edge[1] - w); if (left < edge[0] || taken.some(([p, q]) => left < q + 8 && left + w > p - 8)) return; taken.push([left, left + w]); texts.push(s('text', { x: left, y: y - 8, class: cls }, text)); };
  put(start, name, 'piecename');
  for (const mark of [...marks].sort((p, q) => p.x - q.x)) put(mark.x - 5, `${mark.passed ? '' : 'about '}${hhmm(at(mark.at))} ${STAGE_WORDS[mark.stage] || mark.stage}`, 'stageword');
  return s('g', {}, bars.map((bar) => s('path', { class: 'bar', d: `M${bar.x0} ${y}H${bar.x1}M${bar.x0} ${y - 4}v8` })),
    marks.map((mark) => s('path', { class: mark.passed ? 'mark passed' : 'mark', d: `M${mark.x} ${y - 5}l5 5l-5 5l-5 -5Z` })), texts);
}

// Letters of other scripts are wider than was counted.
function keepInside(text, edge) {
  const box = text.getBBox();
  if (box.x + box.width > edge) text.setAttribute('x', edge - box.width);
}

// Returns how many pieces found no room.
export function drawCoats(svg, view, doc, width, nameOf) {
  const rows = rowsOf(doc), drawn = rows.map((row) => row).reduce((list, row) => { if (list.length < ROWS_MOST) { const el = coatRow(row, list.length, view, width, nameOf); if (el) list.push(el); } return list; }, []);
  svg.replaceChildren(...drawn);
  const height = drawn.length * ROW + (drawn.length ? 4 : 0);
  svg.setAttribute('width', width);
  svg.setAttribute('height', height);
  svg.setAttribute('viewBox', `0 0 ${width} ${Math.max(1, height)}`);
  for (const text of svg.querySelectorAll('text')) keepInside(text, width - RIGHT);
  const seen = rows.filter((row) => row.coats.some((coat) => at(coat.to_at) > view.from && at(coat.from_at) < view.to)).length;
  return seen - drawn.length;
}

export const markWords = (mark) => `${STAGE_WORDS[mark.stage] || mark.stage} ${mark.passed ? '' : 'about '}${when(at(mark.at))}`;
