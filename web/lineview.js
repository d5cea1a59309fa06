// What stands round the drying line: the cells with the names, the switches, the key, the table; and the hand that moves it.
import { h, s, tag, replace } from './dom.js';
import { at, left, longDay, shopNow } from './clock.js';
import { AXIS, dewGap, drawLine, LANE, lanesOf, lineTable, lineView, RIBBON, setLineView, TURNED_AXIS, TURNED_LANE, TURNED_RIBBON } from './line.js';
import { airText, humidity, temp } from './units.js';
import { gate } from './gates.js';
import { act, CONDITIONS, gateOf, stateWord, STALLS } from './words.js';

const HOUR = 3600e3;
let chosen = null;

// ---- what a lane says of itself ----

function topOf(coats) { return coats.filter((coat) => coat.status === 'on').pop() || null; }

function laneState({ coats, row }) {
  const coat = topOf(coats);
  if (!coat) return { gate: 'reached', cls: '', text: 'no coat yet', short: 'bare' };
  const condition = CONDITIONS[coat.condition] || coat.condition;
  if (coat.stall && coat.stall !== 'none') return { gate: 'stalled', cls: '', text: `${condition}. Stalled, ${STALLS[coat.stall] || coat.stall}`, short: { 'too-cold': 'cold', 'too-damp': 'damp' }[coat.stall] || 'air?' };
  if (coat.inspect) return { gate: 'inspect', cls: '', text: `${condition}. Look at it`, short: 'look' };
  if (!row) return { gate: coat.condition === 'hard' ? 'reached' : 'waiting', cls: '', text: `${condition}. Nothing due`, short: condition };
  if (row.list === 'not_yet') return { gate: 'handsoff', cls: '', text: `${condition}. Hands off`, short: 'off' };
  const cls = row.list !== 'now' || row.do === 'strip' ? '' : row.state === 'prepare' && row.do !== 'test' ? 'prep' : 'may';
  const end = row.list === 'now' && row.until ? left(at(row.until.earliest_at) - shopNow()) : null;
  const word = stateWord(row.state, row.do, row.stage);
  const short = { open: 'go', closing: 'go', prepare: row.do, missed: 'strip', shut: 'shut', reached: 'ready', waiting: 'wait' }[row.state] || row.state;
  const act = `${word[0].toUpperCase()}${word.slice(1)}`, until = end ? `, ${end.replace(/ \d\d s$/, '')}` : '';
  return { gate: gateOf(row.state, row.do, row), cls, text: `${condition}. ${act}${until}`, cell: fitting(`${condition}. ${act}${until}`, `${act}${until}`, act), short: row.do === 'test' ? 'test' : short };
}

// The cell of a lane holds about so many letters: the stage word yields first, then the time; nothing is ever cut.
const CELL_LETTERS = 25;
function fitting(...texts) { return texts.find((text) => text.length <= CELL_LETTERS) || texts[texts.length - 1]; }

function cell(lane) {
  const state = laneState(lane);
  return h('a', { class: lane.piece.name.length > 20 ? 'cell long' : 'cell', title: lane.piece.name, href: `#piece?id=${lane.piece.id}`, 'data-focus': `cell${lane.piece.id}` }, gate(state.gate, state.cls), h('span', {}, h('b', {}, lane.piece.name), h('span', { class: `is ${state.cls}` }, state.cell || state.text)));
}

function airCell(place) {
  const { air } = place;
  const read = !air ? 'no reading yet' : air.basis === 'assumed' ? 'assumed: no fresh reading' : dewGap(air);
  return h('a', { class: 'aircell', href: `#air?place=${place.id}`, 'data-focus': `air${place.id}` }, h('b', {}, `${place.name} air`), air && h('strong', {}, `${temp(air.temp_c)}, ${humidity(air.rh_pct)}`), h('span', {}, read));
}

// ---- the key ----

const KEY_GATES = [['open', 'go: may be done'], ['closing', 'go, and closes soon'], ['waiting', 'wait'], ['shut', 'shut for a while'], ['scuff', 'scuff first'], ['wipe', 'wipe first'], ['finger', 'finger test'], ['missed', 'missed: strip'],
  ['used', 'used by the next coat'], ['reached', 'reached'], ['inspect', 'look at it'], ['stalled', 'stalled'], ['handsoff', 'hands off']];
const EDGES = [['wet', 'M2 5Q6 13 10 5Q14 13 18 5Q22 13 26 5Q30 13 34 5', 'scalloped edge: wet'], ['tacky', 'M2 5H34M5 5V10M12 5V10M19 5V10M26 5V10M33 5V10', 'threads: tacky'], ['dry', 'M2 6H34', 'plain edge, half as deep: dry'], ['stalled', 'M2 4V10H8V4H14V10H20V4H26V10H32V4', 'square teeth: stalled'],
  ['ramp', 'M2 3H10L26 11H34M18 7a3 3 0 1 0 0.1 0', 'ramp: from earliest to latest, ring at the likely moment'], ['hatch', 'M2 12L10 2M10 12L18 2M18 12L26 2M26 12L34 2', 'hatched: air nobody measured, assumed']];

function key() {
  return h('details', { class: 'key' }, h('summary', { 'data-focus': 'key' }, 'Key'), h('ul', {}, KEY_GATES.map(([name, text]) => h('li', {}, gate(name), text)), EDGES.map(([, d, text]) => h('li', {}, s('svg', { class: 'gate', viewBox: '0 0 36 14', 'aria-hidden': 'true' }, s('path', { d })), text)), h('li', {}, 'The line on top is the iron; each coat is a film laid on it. Hours near now are drawn wide.')));
}

// ---- switches and hands ----

function controls(draw) {
  const set = (change) => () => { setLineView(change()); draw(); };
  const view = lineView();
  const step = () => (view.even ? 12 : 6) / view.zoom * HOUR;
  const small = (label, name, onclick, extra = {}) => h('button', { type: 'button', class: 'switch', 'data-focus': `line-${name}`, 'aria-label': name, onclick, ...extra }, label);
  return h('div', { class: 'controls', role: 'group', 'aria-label': 'Move the line' }, small('‹', 'earlier', set(() => ({ shiftMs: lineView().shiftMs - step() }))), small('now', 'back to now', set(() => ({ shiftMs: 0, zoom: 1 }))), small('›', 'later', set(() => ({ shiftMs: lineView().shiftMs + step() }))),
    small('−', 'more hours', set(() => ({ zoom: Math.max(0.3, lineView().zoom / 1.4) }))), small('+', 'fewer hours', set(() => ({ zoom: Math.min(6, lineView().zoom * 1.4) }))),
    h('button', { type: 'button', class: 'switch', 'data-focus': 'even', 'aria-pressed': String(view.even), onclick: set(() => ({ even: !lineView().even })) }, 'even hours'));
}

function hands(svg, turned, draw) {
  const fingers = new Map();
  let start = null;
  const along = (event) => (turned ? event.clientY : event.clientX);
  const gap = () => { const [p, q] = [...fingers.values()]; return Math.hypot(p.x - q.x, p.y - q.y); };
  svg.addEventListener('pointerdown', (event) => {
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    start = { along: along(event), ...lineView(), gap: fingers.size === 2 ? gap() : 0 };
  });
  svg.addEventListener('pointermove', (event) => {
    if (!fingers.has(event.pointerId) || !start) return;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (fingers.size === 2 && start.gap) setLineView({ zoom: Math.min(6, Math.max(0.3, (start.zoom * gap()) / start.gap)) });
    else if (Math.abs(along(event) - start.along) > 4) setLineView({ shiftMs: start.shiftMs - ((along(event) - start.along) / 40 / start.zoom) * HOUR });
    else return;
    svg.setPointerCapture?.(event.pointerId);
    draw();
  });
  const end = (event) => { fingers.delete(event.pointerId); start = null; };
  svg.addEventListener('pointerup', end);
  svg.addEventListener('pointercancel', end);
}

// ---- both ways round ----

const livePlaces = (shop) => shop.places.filter((place) => !place.removed_at);

function makeSvg(label) { return s('svg', { class: 'line', role: 'img', 'aria-label': label }); }

export function lineSection(el, context, turned) {
  const parts = { svg: makeSvg('The drying line. The same stands in a table under it.'), cells: h('div', { class: turned ? 'heads' : 'cells' }), bar: h('div', { class: 'linebar' }), table: h('div', { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': 'The line as a table' }), foot: h('div', { class: 'lanefoot' }) };
  const scroller = turned ? h('div', { class: 'turned', tabindex: 0, role: 'group', 'aria-label': 'Pieces side by side' }, parts.cells, parts.svg) : h('div', { class: 'lanes' }, parts.cells, h('div', { class: 'draw' }, parts.svg));
  const draw = () => (turned ? drawTurned : drawWide)(context.shop, parts, scroller, draw);
  hands(parts.svg, turned, draw);
  replace(el, scroller, turned && parts.foot, parts.bar, key(), h('details', { class: 'astable' }, h('summary', { 'data-focus': 'astable' }, 'The line as a table'), parts.table));
  new ResizeObserver(() => draw()).observe(el);
  draw();
  return draw;
}

function drawWide(shop, parts, scroller, draw) {
  const lanes = lanesOf(shop, shopNow());
  const places = livePlaces(shop);
  replace(parts.bar, controls(draw));
  replace(parts.cells, h('div', { class: 'corner' }, longDay(shopNow())), lanes.map(cell), places.map(airCell));
  parts.cells.style.gridTemplateRows = `${AXIS}px repeat(${lanes.length}, ${LANE}px) repeat(${places.length}, ${RIBBON}px)`;
  const length = Math.max(240, scroller.clientWidth - parts.cells.offsetWidth);
  drawLine(parts.svg, { lanes, places, chosen: null, turned: false, length });
  replace(parts.table, lineTable(lanes, shopNow()));
}

const THUMBS = 84; // what hangs at the bottom of a phone

function drawTurned(shop, parts, scroller, draw) {
  const lanes = lanesOf(shop, shopNow());
  if (!lanes.some((lane) => lane.piece.id === chosen)) chosen = lanes[0]?.piece.id ?? null;
  const lane = lanes.find((one) => one.piece.id === chosen);
  const width = document.documentElement.clientWidth;
  const places = width < 360 || !lane ? [] : livePlaces(shop).filter((place) => place.id === lane.piece.place);
  const lead = TURNED_AXIS + places.length * TURNED_RIBBON;
  const chosenWidth = Math.max(132, Math.min(220, width - lead - 3 * TURNED_LANE - 2));
  replace(parts.cells, h('div', { class: 'headair' }, places.length ? 'air' : ''), lanes.map((one) => head(one, draw)));
  parts.cells.style.gridTemplateColumns = `${lead}px ${lanes.map((one) => `${one === lane ? chosenWidth : TURNED_LANE}px`).join(' ')}`;
  replace(parts.foot, lane && footOf(lane));
  replace(parts.bar, controls(draw));
  const length = Math.max(260, innerHeight - parts.svg.getBoundingClientRect().top - scrollY - parts.foot.offsetHeight - THUMBS);
  drawLine(parts.svg, { lanes, places, chosen, chosenWidth, turned: true, length });
  replace(parts.table, lineTable(lanes, shopNow()));
}

function head(lane, draw) {
  const state = laneState(lane);
  const mine = lane.piece.id === chosen;
  return h('button', { type: 'button', class: 'head', 'aria-pressed': String(mine), 'data-focus': `head${lane.piece.id}`, 'aria-label': `${lane.piece.name} ${state.short}: ${state.text}`, onclick: () => { chosen = lane.piece.id; draw(); } }, h('span', { class: 'hname' }, lane.piece.name), ' ', gate(state.gate, state.cls), h('span', { class: 'short' }, state.short));
}

function footOf(lane) {
  const state = laneState(lane);
  const { row } = lane;
  const log = row && row.list === 'now' && ['recoat', 'leaf', 'seal'].includes(row.stage) && row.state !== 'prepare';
  return [h('div', {}, h('b', { class: 'name' }, lane.piece.name), h('span', { class: `is ${state.cls}` }, gate(state.gate, state.cls), state.text), row && h('span', { class: 'reason' }, act(row.stage, row.do))),
    log ? tag('Log coat', { filled: true, href: `#log?piece=${lane.piece.id}` }) : tag('Open', { href: `#piece?id=${lane.piece.id}` })];
}
