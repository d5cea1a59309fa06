// The hand at the drying line: drags, fingers, wheel and keys; what stands where it was touched; the key of the first day; good hours to spray. Comes
// after the line is drawn.
import { h, tag, replace } from './dom.js';
import { at, shopNow } from './clock.js';
import { get } from './api.js';
import { AXIS } from './line.js';
import { holdMoment, HOUR, lineView, MOVES, setLineView } from './scale.js';
import { takeMarks } from './lane.js';
import { takeGates } from './ribbon.js';
import * as marks from './lanemarks.js';
import * as teller from './linetell.js';

// ---- the key, which is open on the first day of use ----

const KEY_SEEN = 'coat-key-seen', FIRST_DAY_MS = 24 * HOUR;
function isFirstDay() {
  try {
    const seen = Number(localStorage.getItem(KEY_SEEN));
    if (!seen) localStorage.setItem(KEY_SEEN, String(Date.now()));
    return !seen || Date.now() - seen < FIRST_DAY_MS;
  } catch { return true; } // nothing is kept in a private window
}
function endFirstDay() { try { localStorage.setItem(KEY_SEEN, '1'); } catch { /* told again next time */ } }

function firstDay(el) {
  if (!isFirstDay()) return;
  replace(el, h('b', {}, 'How to read it'), teller.shortKey(), tag('Understood', { small: true, onclick: () => { endFirstDay(); replace(el); } }));
}

// ---- good hours to spray, asked of the shop now and then ----

const SPRAYED = new Set(['spray', 'aerosol']), ASK_MS = 10 * 60e3, PLACES_ASKED = 4;
let sprayed = { key: '', at: 0, hours: null };

const lastSprayed = (shop) => shop.coats.filter((coat) => SPRAYED.has(coat.application)).sort((p, q) => at(q.last_at) - at(p.last_at))[0]?.material || null;

async function askSpray(shop, places, then) {
  const material = lastSprayed(shop), key = material ? `${material.id}:${places.map((place) => `${place.id} ${place.air?.at}`)}` : '';
  if (!material || sprayed.key === key || (performance.now() - sprayed.at < ASK_MS && sprayed.at > 0)) return;
  sprayed = { key, at: performance.now(), hours: sprayed.hours };
  const hours = new Map();
  for (const place of places.filter((one) => one.air && one.kind !== 'oven').slice(0, PLACES_ASKED)) {
    try {
      const { stretches } = await get(`/check?material=${material.id}&place=${place.id}`);
      hours.set(place.id, (stretches || []).filter((one) => one.good).map((one) => ({ from: at(one.from_at), to: at(one.to_at), what: material.name })));
    } catch { /* the line is there without them */ }
  }
  sprayed.hours = hours;
  then();
}

// ---- the hand ----

const TAP_PX = 5;
// How the line takes a hand: a drag holds the moment under the finger, two fingers widen it, a tap asks, a wheel with ctrl zooms and one sideways moves.
function hands(svg, turned, { drawn, soon, settle, ask }) {
  const fingers = new Map();
  let held = null, moved = false;
  const rect = () => svg.getBoundingClientRect();
  const spot = (event) => { const box = rect(); return turned ? { a: event.clientY - box.top, c: event.clientX - box.left } : { a: event.clientX - box.left, c: event.clientY - box.top }; };
  const gap = () => { const [p, q] = [...fingers.values()]; return Math.max(20, Math.hypot(p.x - q.x, p.y - q.y)); };
  const middle = () => { const box = rect(), all = [...fingers.values()]; return all.reduce((sum, p) => sum + (turned ? p.y - box.top : p.x - box.left), 0) / all.length; };
  const grip = () => { held = fingers.size ? { ms: drawn().g.moment(middle()), a: middle(), gap: fingers.size === 2 ? gap() : 0, zoom: lineView().zoom } : null; };
  svg.addEventListener('pointerdown', (event) => {
    if (event.button) return;
    if (!fingers.size) moved = false;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    grip();
  });
  svg.addEventListener('pointermove', (event) => {
    if (!fingers.has(event.pointerId) || !held) return;
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
    if (!moved && fingers.size < 2 && Math.abs(middle() - held.a) < TAP_PX) return;
    if (!moved) { moved = true; svg.setPointerCapture?.(event.pointerId); }
    holdMoment(held.ms, middle(), drawn().g, held.gap ? (held.zoom * gap()) / held.gap : lineView().zoom);
    soon();
  });
  const end = (event) => {
    if (!fingers.delete(event.pointerId)) return;
    if (event.type === 'pointerup' && !moved && !fingers.size) ask(spot(event));
    if (moved && !fingers.size) settle();
    grip();
  };
  svg.addEventListener('pointerup', end);
  svg.addEventListener('pointercancel', end);
  svg.addEventListener('wheel', (event) => {
    const { a } = spot(event), { g } = drawn();
    const sideways = event.shiftKey ? event.deltaY || event.deltaX : event.deltaX;
    if (event.ctrlKey) holdMoment(g.moment(a), a, g, lineView().zoom * Math.exp(-event.deltaY / 300));
    else if (Math.abs(sideways) > Math.abs(event.shiftKey ? 0 : event.deltaY)) holdMoment(g.moment(a), a - sideways, g);
    else return; // the page's own
    event.preventDefault();
    soon();
    settle();
  }, { passive: false });
}

// ---- what stands where it was touched ----

const NEAR_PX = 9;
function makeReading(state) {
  const { card } = state;
  const asked = { lane: null, place: null, t: 0 };
  const close = () => { asked.lane = asked.place = null; show(); };
  const tolerance = () => { const { g } = state.drawn, a = g.along(asked.t); return Math.abs(g.moment(a + NEAR_PX) - g.moment(a - NEAR_PX)) / 2; };
  function words() {
    const now = shopNow(), lane = state.lanes.find((one) => one.piece.id === asked.lane), place = state.places.find((one) => one.id === asked.place);
    return lane ? teller.tellLane(lane, asked.t, tolerance(), now) : place ? teller.tellAir(place, asked.t, state.spray?.get(place.id), now) : null;
  }
  function show() {
    const told = asked.lane !== null || asked.place !== null ? words() : null;
    card.hidden = !told;
    state.svg.querySelector('.hairline')?.remove();
    if (!told) return;
    const key = JSON.stringify(told);
    if (card.dataset.told !== key) { card.dataset.told = key; replace(card, teller.readingCard(told, shopNow(), close)); }
    if (!state.turned) pointAt(state, asked, card);
  }
  return { show, close, asked, ask(change) { Object.assign(asked, change); show(); } };
}

const idOf = (group, name) => (group.dataset[name] === undefined ? null : Number(group.dataset[name]));
const hit = (drawn, c) => { const box = drawn.boxes.find((one) => c >= one.from && c < one.to); return box ? { lane: idOf(box.el, 'piece'), place: idOf(box.el, 'place') } : null; };

// ---- keys: the line takes the same moves from them ----

const ALONG = { wide: { ArrowLeft: -1, ArrowRight: 1 }, turned: { ArrowUp: -1, ArrowDown: 1 } };
const ACROSS = { wide: { ArrowUp: -1, ArrowDown: 1 }, turned: { ArrowLeft: -1, ArrowRight: 1 } };
const KEYS = { '+': 'nearer', '=': 'nearer', '-': 'wider', Home: 'now', 0: 'now', e: 'even' };

function keys(el, state, turned) {
  const way = turned ? 'turned' : 'wide';
  const current = () => state.lanes.find((lane) => lane.piece.id === state.reading.asked.lane) || null;
  const inSight = (t) => { const { g } = state.drawn; if (t < g.from || t > g.to) setLineView({ shiftMs: t - shopNow() }); state.redraw(); };
  function toMark(step) {
    const lane = current() || state.lanes[0], from = current() ? state.reading.asked.t : shopNow();
    if (!lane) return;
    const stops = teller.stopsOf(lane, shopNow()), t = step > 0 ? stops.find((stop) => stop > from + 1000) : stops.filter((stop) => stop < from - 1000).pop();
    if (t === undefined) return;
    inSight(t);
    state.reading.ask({ lane: lane.piece.id, place: null, t });
  }
  function toLane(step) {
    const i = state.lanes.indexOf(current()), lane = state.lanes[Math.min(state.lanes.length - 1, Math.max(0, i + step))];
    if (lane) { state.choose(lane.piece.id); state.reading.ask({ lane: lane.piece.id, place: null, t: i < 0 ? shopNow() : state.reading.asked.t }); }
  }
  el.addEventListener('keydown', (event) => {
    if (event.target !== el || event.ctrlKey || event.altKey || event.metaKey) return;
    const along = ALONG[way][event.key], across = ACROSS[way][event.key];
    if (along) { if (event.shiftKey) toMark(along); else { MOVES[along < 0 ? 'earlier' : 'later'](); state.redraw(); } } else if (across) toLane(across);
    else if (KEYS[event.key]) state.move(KEYS[event.key]);
    else if (event.key === 'Escape') state.reading.close();
    else return;
    event.preventDefault();
  });
}

// The hair line through the touched lane, and the card beside it, where it hides as little as can be.
function pointAt({ svg, draw, drawn }, asked, card) {
  const box = drawn.boxes.find(({ el }) => (asked.lane !== null ? idOf(el, 'piece') === asked.lane : idOf(el, 'place') === asked.place));
  if (!box) { card.hidden = true; return; }
  const a = drawn.g.along(asked.t), hair = document.createElementNS('http://www.w3.org/2000/svg', 'path');
  hair.setAttribute('class', 'hairline');
  hair.setAttribute('d', `M${a} ${box.from}V${box.to}`);
  svg.append(hair);
  const room = svg.getBoundingClientRect(), host = card.offsetParent.getBoundingClientRect();
  const below = room.top + box.to + card.offsetHeight + 8 < innerHeight;
  card.style.left = `${Math.max(draw.offsetLeft, Math.min(room.left - host.left + a + 8, host.width - card.offsetWidth - 4))}px`;
  card.style.top = `${room.top - host.top + (below ? box.to + 4 : Math.max(box.from - card.offsetHeight - 4, AXIS))}px`;
}

// From where to where the lanes can be seen, across.
function sightOf({ svg, turned, scroller }) {
  const box = svg.getBoundingClientRect();
  return turned ? { from: -box.left - 10, to: scroller.clientWidth - box.left + 10 } : { from: -box.top - 10, to: innerHeight - box.top + 10 };
}

// Frames: at most one drawing each, and while a hand moves it only of what is in sight.
function listen(state) {
  let frame = 0, rest = 0;
  const soon = () => { frame ||= requestAnimationFrame(() => { frame = 0; state.paint(sightOf(state)); }); };
  const settle = () => { clearTimeout(rest); rest = setTimeout(() => { if (state.svg.isConnected) state.redraw(); }, 150); };
  hands(state.svg, state.turned, { drawn: () => state.drawn, soon, settle, ask: ({ a, c }) => { const found = hit(state.drawn, c); if (!found) return; const t = state.drawn.g.moment(a); if (found.lane !== null) state.choose(found.lane); state.reading.ask({ ...found, t }); } });
  keys(state.draw, state, state.turned);
}

// The rule of hours stays in sight under the plate while the lanes are scrolled.
function stuck({ svg, drawn }) {
  const top = document.querySelector('header').getBoundingClientRect().bottom - svg.getBoundingClientRect().top;
  return `translate(0 ${Math.round(Math.max(0, Math.min(top, drawn.size - 2 * AXIS)))})`;
}

let sticking = null; // the line on the page: one that has been left is let go
addEventListener('scroll', () => { if (sticking?.svg.isConnected) sticking.stick(false); }, { passive: true });

function stick(state) {
  let by = '';
  state.stick = (moving) => { if (!moving) by = stuck(state); state.svg.querySelector('.rule').setAttribute('transform', by); }; // a hand that moves the line does not scroll
  sticking = state;
  state.stick(false);
}

export function takeHand(state, first) {
  if (!state.svg.isConnected) return;
  state.reading = makeReading(state);
  listen(state);
  if (!state.turned) stick(state);
  firstDay(first);
  state.spray = sprayed.hours;
  takeMarks(marks);
  takeGates(marks.sprayGates);
  state.all(); // what the parts know of moves is in the lanes
  state.asks = () => askSpray(state.context.shop, state.places, () => { if (state.svg.isConnected) { state.spray = sprayed.hours; state.redraw(); } });
  state.asks();
}
