// What stands round the drying line: the cells with the names, the switches, the key, the table. The hand that moves it comes after.
import { h, tag, replace } from './dom.js';
import { at, left, longDay, shopNow } from './clock.js';
import { AXIS, drawLine, lanesOf, turnedAxis } from './line.js';
import { lineView, MOVES } from './scale.js';
import { LANE, TURNED_LANE } from './lane.js';
import { TURNED_RIBBON } from './ribbon.js';
import { airText, humidity, temp, tempGap } from './units.js';
import { gate } from './gates.js';
import { act, CONDITIONS, gateOf, OVEN_LANES, stateWord, STALLS } from './words.js';

let chosen = null;
const loadTeller = () => import('./linetell.js'), loadHand = () => import('./linehand.js');

// ---- what a lane says of itself ----

function topOf(coats) { return coats.filter((coat) => coat.status === 'on').pop() || null; }

const SHORT_STALLS = { 'too-cold': 'cold', 'too-damp': 'damp' };
const SHORT_STATES = { open: 'go', closing: 'go', missed: 'strip', reached: 'ready', waiting: 'wait' };

function bakeState(bake, condition) {
  if (!bake) return null;
  const cool = at(bake.cool_at);
  const inside = OVEN_LANES[bake.state];
  if (inside) return { gate: 'handsoff', cls: 'prep', text: `${condition}. ${inside[0]}`, short: inside[1] };
  if (cool !== null && cool > shopNow()) return { gate: 'handsoff', cls: 'prep', text: 'Hot from the oven', short: 'hot' };
  return null;
}

function laneState({ coats, row }) {
  const coat = topOf(coats);
  if (!coat) return { gate: 'reached', cls: '', text: 'no coat yet', short: 'bare' };
  const condition = coat.bake && coat.bake.baked ? 'baked' : CONDITIONS[coat.condition] || coat.condition;
  const baking = bakeState(coat.bake, condition);
  if (baking) return baking;
  if (coat.stall && coat.stall !== 'none') return { gate: 'stalled', cls: '', text: `${condition}. Stalled, ${STALLS[coat.stall] || coat.stall}`, short: SHORT_STALLS[coat.stall] || 'air?' };
  if (coat.inspect) return { gate: 'inspect', cls: '', text: `${condition}. Look at it`, short: 'look' };
  if (!row) return { gate: coat.condition === 'hard' ? 'reached' : 'waiting', cls: '', text: `${condition}. Nothing due`, short: condition };
  if (row.list === 'not_yet') return { gate: 'handsoff', cls: '', text: `${condition}. Hands off`, short: 'off' };
  return rowState(row, condition);
}

function rowState(row, condition) {
  const cls = row.list !== 'now' || row.do === 'strip' ? '' : row.state === 'prepare' && row.do !== 'test' ? 'prep' : 'may';
  const end = row.list === 'now' && row.until ? left(at(row.until.earliest_at) - shopNow()) : null;
  const word = stateWord(row.state, row.do, row.stage);
  const said = `${word[0].toUpperCase()}${word.slice(1)}`, until = end ? `, ${end.replace(/ \d\d s$/, '')}` : '';
  const short = row.do === 'test' ? 'test' : row.state === 'prepare' ? row.do : row.do === 'strip' && row.stage === 'leaf' ? 'late' : SHORT_STATES[row.state] || row.state;
  return { gate: gateOf(row.state, row.do, row), cls, text: `${condition}. ${said}${until}`, cell: fitting(`${condition}. ${said}${until}`, `${said}${until}`, said), short };
}

// The cell of a lane holds about so many letters: the stage word yields first, then the time; nothing is ever cut.
const CELL_LETTERS = 25;
function fitting(...texts) { return texts.find((text) => text.length <= CELL_LETTERS) || texts[texts.length - 1]; }

function cell(lane) {
  const state = laneState(lane);
  return h('a', { class: lane.piece.name.length > 20 ? 'cell long' : 'cell', title: lane.piece.name, href: `#piece?id=${lane.piece.id}` }, gate(state.gate, state.cls), h('span', {}, h('b', {}, lane.piece.name), h('span', { class: `is ${state.cls}` }, state.cell || state.text)));
}

const dewGap = (air) => (air.dew_point_c !== null && air.temp_c !== null ? `${tempGap(air.temp_c - air.dew_point_c)} over dew point` : '');

function airCell(place) {
  const { air } = place;
  const read = !air ? 'no reading yet' : air.basis === 'assumed' ? 'assumed: no fresh reading' : dewGap(air);
  return h('a', { class: 'aircell', href: `#air?place=${place.id}` }, h('b', {}, `${place.name} air`), air && h('strong', {}, airText(air)), h('span', {}, read));
}

// ---- the key and the table ----

// A part under the line that is made when it is opened.
function unfolding(label, focus, cls, fill) {
  const inside = h('div', { class: cls === 'astable' ? 'scroll' : '', tabindex: cls === 'astable' ? 0 : null, role: cls === 'astable' ? 'region' : null, 'aria-label': cls === 'astable' ? label : null });
  const el = h('details', { class: cls }, h('summary', { 'data-focus': focus }, label), inside);
  const update = () => { if (el.open) loadTeller().then((parts) => replace(inside, fill(parts)), () => {}); };
  el.addEventListener('toggle', update);
  return { el, update };
}

// ---- switches ----

function controls(move) {
  const small = (label, name, focus) => h('button', { type: 'button', class: 'switch', 'data-focus': focus, 'aria-label': name, onclick: () => move(focus) }, label);
  return h('div', { class: 'controls', role: 'group', 'aria-label': 'Move the line' }, small('‹', 'earlier', 'earlier'), small('now', 'back to now', 'now'), small('›', 'later', 'later'), small('−', 'more hours', 'wider'), small('+', 'fewer hours', 'nearer'),
    h('button', { type: 'button', class: 'switch', 'aria-pressed': String(lineView().even), onclick: (event) => { move('even'); event.currentTarget.setAttribute('aria-pressed', String(lineView().even)); } }, 'even hours'));
}

const HOW = 'The drying line. Arrows along it move the time, arrows across it go from piece to piece, with Shift from mark to mark; plus and minus widen the hours, Home goes back to now. The same stands in a table under it.';

// ---- both ways round ----

const livePlaces = (shop) => shop.places.filter((place) => !place.removed_at);
const drawn = () => { const svg = document.createElementNS('http://www.w3.org/2000/svg', 'svg'); svg.setAttribute('class', 'line'); svg.setAttribute('aria-hidden', 'true'); return h('div', { class: 'draw', tabindex: 0, role: 'application', 'aria-label': HOW, 'data-focus': 'line' }, svg); };

export function lineSection(el, context, turned, lead = null) {
  const draw = drawn(), svg = draw.firstChild;
  const cells = h('div', { class: turned ? 'heads' : 'cells' }), foot = h('div', { class: 'lanefoot' }), first = h('div', { class: 'firstday' }), card = h('div', { class: 'reading', role: 'status', hidden: true });
  const scroller = turned ? h('div', { class: 'turned', tabindex: 0, role: 'group', 'aria-label': 'Pieces side by side' }, cells, draw) : h('div', { class: 'lanes' }, cells, draw);
  const state = { svg, draw, turned, cells, foot, card, scroller, context, lanes: [], places: [], spray: null, drawn: null, reading: null, asks: null };
  const key = unfolding('Key', 'key', 'key', ({ keyList }) => keyList()), table = unfolding('The line as a table', 'astable', 'astable', ({ lineTable }) => lineTable(state.lanes, shopNow()));
  state.paint = (sight) => { state.drawn = drawLine(svg, { ...(turned ? turnedOptions(state) : wideOptions(state)), sight }); state.stick?.(sight !== null); state.reading?.show(); };
  state.redraw = () => state.paint(null);
  state.move = (name) => { MOVES[name](); state.redraw(); };
  state.choose = (id) => { if (turned && id !== chosen) { chosen = id; state.all(); } };
  state.all = () => { state.lanes = lanesOf(context.shop, shopNow()); state.places = livePlaces(context.shop); (turned ? headsAndFoot : cellsOf)(state); state.redraw(); table.update(); state.asks?.(); };
  const bar = h('div', { class: 'linebar' }, !turned && h('b', { class: 'corner', 'data-clock': 'day' }, longDay(shopNow())), lead, controls(state.move), key.el, table.el);
  replace(el, ...(turned ? [scroller, card, foot, bar, first] : [bar, first, scroller, card]));
  let width = el.clientWidth;
  new ResizeObserver(() => { if (el.clientWidth !== width) { width = el.clientWidth; state.all(); } }).observe(el);
  state.all();
  loadHand().then(({ takeHand }) => takeHand(state, first), () => {}); // without it the switches still move the line
  return state.all;
}

function cellsOf({ lanes, places, cells }) {
  const ribbon = ribbonOf(places);
  replace(cells, h('div', {}), lanes.map(cell), places.map(airCell));
  cells.style.gridTemplateRows = `${AXIS}px repeat(${lanes.length}, ${LANE}px) repeat(${places.length}, ${ribbon}px)`;
}

const ribbonOf = (places) => (places.length > 1 ? 74 : 88);

function wideOptions({ lanes, places, spray, scroller, cells }) {
  return { lanes, places, spray, chosen: null, turned: false, ribbon: ribbonOf(places), length: Math.max(240, scroller.clientWidth - cells.offsetWidth) };
}

const THUMBS = 84; // what hangs at the bottom of a phone

function headsAndFoot(state) {
  const { lanes, cells, foot } = state;
  if (!lanes.some((lane) => lane.piece.id === chosen)) chosen = lanes[0]?.piece.id ?? null;
  const lane = lanes.find((one) => one.piece.id === chosen);
  const width = document.documentElement.clientWidth;
  state.places = width < 360 || !lane ? [] : state.places.filter((place) => place.id === lane.piece.place);
  const lead = turnedAxis() + state.places.length * TURNED_RIBBON;
  state.chosenWidth = Math.max(132, Math.min(220, width - lead - 3 * TURNED_LANE - 2));
  replace(cells, h('div', { class: 'headair' }, state.places.length ? 'air' : ''), lanes.map((one) => head(one, state.choose)));
  cells.style.gridTemplateColumns = `${lead}px ${lanes.map((one) => `${one === lane ? state.chosenWidth : TURNED_LANE}px`).join(' ')}`;
  replace(foot, lane && footOf(lane));
}

function turnedOptions({ lanes, places, spray, svg, foot, chosenWidth }) {
  const top = svg.getBoundingClientRect().top + scrollY;
  return { lanes, places, spray, chosen, chosenWidth, turned: true, length: Math.max(260, innerHeight - top - foot.offsetHeight - THUMBS) };
}

function head(lane, choose) {
  const state = laneState(lane);
  return h('button', { type: 'button', class: 'head', 'aria-pressed': String(lane.piece.id === chosen), 'data-focus': `head${lane.piece.id}`, 'aria-label': `${lane.piece.name} ${state.short}: ${state.text}`, onclick: () => choose(lane.piece.id) }, h('span', { class: 'hname' }, lane.piece.name), ' ', gate(state.gate, state.cls), h('span', { class: 'short' }, state.short));
}

function footOf(lane) {
  const state = laneState(lane);
  const { row } = lane;
  const log = row && row.list === 'now' && ['recoat', 'leaf', 'seal'].includes(row.stage) && !['prepare', 'missed'].includes(row.state);
  return [h('div', {}, h('b', { class: 'name' }, lane.piece.name), h('span', { class: `is ${state.cls}` }, gate(state.gate, state.cls), state.text), row && h('span', { class: 'reason' }, act(row.stage, row.do))),
    log ? tag('Log coat', { filled: true, href: `#log?piece=${lane.piece.id}` }) : tag('Open', { href: `#piece?id=${lane.piece.id}` })];
}
