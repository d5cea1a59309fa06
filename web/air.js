// What the air of a place did: over a day or over years, with what mattered in it. Fetched when it is looked at.
import { h, s, tag, replace } from './dom.js';
import { at, local, longDay, rfc3339, shopNow, span as spanWords, when } from './clock.js';
import { get } from './api.js';
import { humidity, temp } from './units.js';
import { drawCoats, drawPanels, loadLibrary, markWords } from './airdraw.js';

const MIN = 60e3, HOUR = 3600e3, DAY = 24 * HOUR, YEAR = 365.25 * DAY;
const SPANS = [['24 h', DAY], ['48 h', 2 * DAY], ['7 days', 7 * DAY], ['30 days', 30 * DAY], ['1 year', YEAR], ['all', null]];
const SHORTEST = 30 * MIN, LONGEST = 80 * YEAR, BEGINNING = Date.UTC(2000, 0, 1); // no reading is older
const AHEAD_MOST = 12 * HOUR; // of the time to come, for the stages that are likely in it
const TABLE_ROWS = 48, FETCH_AFTER = 140, FRESH_AFTER = 60e3;

let leave = () => {}; // ends the plot that is shown
let last = null; // {place, from, to, span}: where it was looked at last, so that turning a phone does not lose it

// ---- words ----

// "7 to 15.5 °C"; one figure where both are the same, null where none is known.
function range(list, say) {
  const known = list.filter((one) => one !== null);
  if (!known.length) return null;
  const [low, high] = [Math.min(...known), Math.max(...known)].map(say);
  return low === high ? low : `${low.replace(/ \D+$/, '')} to ${high}`;
}

// Sums of bins are no finer than this.
function about(ms) {
  if (ms < 90 * MIN) return `${Math.max(5, Math.round(ms / MIN / 5) * 5)} min`;
  return ms < 2 * DAY ? `${Math.round(ms / HOUR)} h` : `${Math.round(ms / DAY)} days`;
}

// Over years the year belongs to it.
const stamp = (ms) => (Math.abs(ms - shopNow()) < 300 * DAY ? when(ms) : `${longDay(ms).replace(/^\S+ /, '')} ${local(ms).year}`);

function visible(doc, view) {
  const from = view.from / 1e3 - doc.bin_s, to = view.to / 1e3;
  return doc.bins.at.flatMap((second, i) => (second > from && second < to ? [i] : []));
}

const pick = (doc, name, indices) => indices.map((i) => doc.bins[name][i]);

function clipped(stretches, view) {
  return stretches.map((one) => [Math.max(view.from, at(one.from_at)), Math.min(view.to, at(one.to_at))]).filter(([from, to]) => to > from);
}

// One sentence that says what the picture shows.
function summary(doc, view) {
  const seen = visible(doc, view);
  const temps = range([...pick(doc, 'temp_low_c', seen), ...pick(doc, 'temp_high_c', seen)], temp);
  if (!temps && !range(pick(doc, 'rh_pct', seen), humidity)) return `No reading from ${stamp(view.from)} to ${stamp(Math.min(view.to, shopNow()))}.`;
  const rh = range([...pick(doc, 'rh_low_pct', seen), ...pick(doc, 'rh_high_pct', seen)], humidity), dew = range(pick(doc, 'dew_point_c', seen), temp);
  const total = (stretches) => stretches.reduce((ms, [from, to]) => ms + to - from, 0);
  const gaps = clipped(doc.gaps, view), lost = total(gaps), heated = total(clipped(doc.heated, { from: view.from, to: Math.min(view.to, shopNow()) }));
  return `From ${stamp(view.from)} to ${stamp(Math.min(view.to, shopNow()))}: ${[temps, rh, dew && `dew point ${dew}`].filter(Boolean).join(', ')}.${gaps.length ? ` No reading for about ${about(lost)}${gaps.length > 1 ? ` in ${gaps.length} gaps` : ''}: there the shop counts on assumed air.` : ''}${heated ? ` Heated for about ${about(heated)}.` : ''}`;
}

// While coats of a material cured here, up to now: [[from, to], …] in seconds.
function curedIn(doc, shop, material) {
  return doc.coats.filter((coat) => shop.coats.find((one) => one.id === coat.coat)?.material.id === material.id).map((coat) => [at(coat.from_at) / 1e3, Math.min(shopNow(), at(coat.to_at)) / 1e3]);
}

// How long the air was out of a material's limits while its coats hung here, as far as it was measured. A bin counts by its mean.
function outOf(doc, view, shop, limit) {
  const { bins } = doc, stays = curedIn(doc, shop, limit.material);
  const known = visible(doc, view).filter((i) => (bins.temp_c[i] !== null || bins.rh_pct[i] !== null) && stays.some(([from, to]) => bins.at[i] + doc.bin_s > from && bins.at[i] < to));
  // A bin stands for the time up to the next one, unless nobody measured in between.
  const lasts = (i, k) => { const next = known[k + 1], from = bins.at[i]; return next === undefined || doc.gaps.some((gap) => at(gap.from_at) / 1e3 < bins.at[next] && at(gap.to_at) / 1e3 > from + doc.bin_s) ? doc.bin_s : bins.at[next] - from; };
  const kinds = [['colder', limit.min_temp_c, (value, limited) => value < limited, 'temp_c', 'temp_low_c'], ['warmer', limit.max_temp_c, (value, limited) => value > limited, 'temp_c', 'temp_high_c'], ['damper', limit.max_rh_pct, (value, limited) => value > limited, 'rh_pct', 'rh_high_pct']];
  const said = kinds.flatMap(([word, limited, beyond, mean, furthest]) => {
    if (limited === null) return [];
    const ms = known.reduce((sum, i, k) => sum + (bins[mean][i] !== null && beyond(bins[mean][i], limited) ? lasts(i, k) * 1e3 : 0), 0);
    if (ms > 0) return [`${word} for about ${about(ms)}`];
    return known.some((i) => bins[furthest][i] !== null && beyond(bins[furthest][i], limited)) ? [`${word} at times`] : [];
  });
  if (!known.length) return 'no reading while it hung here';
  return said.length ? `it was ${said.join(', ')}` : 'the air kept to it';
}

function limitWords(limit) {
  const { min_temp_c: low, max_temp_c: high, max_rh_pct: damp } = limit;
  const temps = low !== null && high !== null ? `${temp(low)} to ${temp(high)}` : low !== null ? `not below ${temp(low)}` : high !== null ? `not above ${temp(high)}` : null;
  return [temps, damp !== null && `at most ${humidity(damp)}`].filter(Boolean).join(', ');
}

function limitList(doc, view, shop) {
  const lines = doc.limits.filter((one) => limitWords(one)).map((one) => h('li', {}, h('b', {}, `${one.material.name}: `), `${limitWords(one)}; ${outOf(doc, view, shop, one)}`));
  return lines.length ? [h('h2', {}, 'What the coats here want of the air'), h('ul', { class: 'airlimits' }, lines)] : [];
}

// ---- the table: the same figures, a group of bins a row ----

function tableRows(doc, view) {
  const seen = visible(doc, view).filter((i) => doc.bins.at[i] * 1e3 <= shopNow());
  const known = seen.map((i) => doc.bins.temp_c[i] !== null || doc.bins.rh_pct[i] !== null);
  const used = seen.slice(Math.max(0, known.indexOf(true)), known.lastIndexOf(true) + 1);
  const size = Math.max(1, Math.ceil(used.length / TABLE_ROWS)), rows = [];
  for (let i = 0; i < used.length; i += size) {
    const group = used.slice(i, i + size), low = pick(doc, 'temp_low_c', group), high = pick(doc, 'temp_high_c', group);
    const temps = range([...low, ...high], temp), rh = range([...pick(doc, 'rh_low_pct', group), ...pick(doc, 'rh_high_pct', group)], humidity);
    const empty = !temps && !rh, last = rows[rows.length - 1];
    if (!(empty && last && last.empty)) rows.push({ empty, cells: [stamp(doc.bins.at[group[0]] * 1e3), temps || '', rh || '', range(pick(doc, 'dew_point_c', group), temp) || ''] });
  }
  return { rows, groupMs: size * doc.bin_s * 1e3 };
}

function drawTable(el, doc, view, name) {
  const { rows, groupMs } = tableRows(doc, view);
  replace(el, h('div', { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': 'Table of the air' }, h('table', { class: 'airtable' }, h('caption', {}, `Air of ${name}, lowest to highest in each ${spanWords(groupMs)}`), h('thead', {}, h('tr', {}, ['From', 'Temperature', 'Humidity', 'Dew point'].map((text) => h('th', { scope: 'col' }, text)))),
    h('tbody', {}, rows.map((row) => h('tr', {}, h('th', { scope: 'row' }, row.cells[0]), row.empty ? h('td', { colspan: 3 }, 'no reading') : row.cells.slice(1).map((text) => h('td', {}, text)))), !rows.length && h('tr', {}, h('td', { colspan: 4 }, 'No reading in this span.'))))));
}

function coatList(doc, view, shop) {
  const name = (id) => shop.pieces.find((piece) => piece.id === id)?.name || `piece ${id}`;
  const material = (id) => shop.coats.find((coat) => coat.id === id)?.material.name;
  const lines = doc.coats.filter((coat) => at(coat.to_at) > view.from && at(coat.from_at) < view.to).map((coat) => {
    const marks = [...coat.stages].sort((p, q) => at(p.at) - at(q.at)).filter((mark) => at(mark.at) >= view.from && at(mark.at) <= view.to).map(markWords);
    return h('li', {}, h('a', { href: `#piece?id=${coat.piece}` }, name(coat.piece)), `, ${material(coat.coat) || 'a coat'} (${coat.coat}): ${marks.join(', ') || 'no stage in this span'}`);
  });
  return lines.length ? h('ul', { class: 'plainlist' }, lines) : h('p', {}, 'No coat hung here in this span.');
}

// ---- what is under the finger ----

function says(doc, view, second) {
  if (second === null) return '';
  const ms = second * 1e3;
  if (ms > shopNow()) return `${when(ms)}: yet to come`;
  if (clipped(doc.gaps, { from: ms, to: ms + 1 }).length) return `${when(ms)}: no reading, air assumed`;
  let best = null;
  doc.bins.at.forEach((from, i) => { if (doc.bins.temp_c[i] === null && doc.bins.rh_pct[i] === null) return; const away = Math.abs(from + doc.bin_s / 2 - second); if (best === null || away < best.away) best = { away, i }; });
  if (!best) return `${when(ms)}: no reading`;
  const value = (name) => doc.bins[name][best.i], spread = range([value('temp_low_c'), value('temp_high_c')], temp);
  return [`${stamp(doc.bins.at[best.i] * 1e3)}: ${temp(value('temp_c'))}${spread && spread.includes(' to ') ? ` (${spread})` : ''}`, humidity(value('rh_pct')), value('dew_point_c') !== null && `dew point ${temp(value('dew_point_c'))}`].filter(Boolean).join(', ');
}

// ---- hands: drag, wheel, two fingers, keys ----

function hands(el, act) {
  const fingers = new Map();
  let start = null;
  const gap = () => { const [p, q] = [...fingers.values()]; return Math.max(20, Math.abs(p - q)); };
  const begin = () => { start = { x: [...fingers.values()].reduce((sum, x) => sum + x, 0) / Math.max(1, fingers.size), gap: fingers.size === 2 ? gap() : 0, ...act.view() }; };
  el.addEventListener('pointerdown', (event) => { if (event.button) return; fingers.set(event.pointerId, event.clientX); begin(); act.point(event.clientX); });
  el.addEventListener('pointermove', (event) => {
    if (event.pointerType !== 'mouse' && !fingers.has(event.pointerId)) return;
    act.point(event.clientX);
    if (!fingers.has(event.pointerId)) return;
    fingers.set(event.pointerId, event.clientX);
    const x = [...fingers.values()].reduce((sum, one) => sum + one, 0) / fingers.size;
    if (Math.abs(x - start.x) > 4 || start.gap) { if (!el.hasPointerCapture(event.pointerId)) el.setPointerCapture(event.pointerId); act.drag(start, x, start.gap ? start.gap / gap() : 1); }
  });
  const end = (event) => { fingers.delete(event.pointerId); begin(); };
  for (const name of ['pointerup', 'pointercancel', 'pointerleave']) el.addEventListener(name, end);
  el.addEventListener('wheel', (event) => { event.preventDefault(); if (Math.abs(event.deltaX) > Math.abs(event.deltaY) || event.shiftKey) act.pan((event.deltaX || event.deltaY) / 600); else act.zoom(event.deltaY > 0 ? 1.25 : 0.8, event.clientX); }, { passive: false });
  const keys = { ArrowLeft: () => act.pan(-0.25), ArrowRight: () => act.pan(0.25), '+': () => act.zoom(0.7), '=': () => act.zoom(0.7), '-': () => act.zoom(1.4), Home: act.all, End: act.now };
  el.addEventListener('keydown', (event) => { if (keys[event.key] && !event.ctrlKey && !event.metaKey && !event.altKey) { event.preventDefault(); keys[event.key](); } });
}

// ---- the view ----

const swatch = (d, cls) => s('svg', { class: `swatch ${cls}`, viewBox: '0 0 34 14', 'aria-hidden': 'true' }, s('path', { d }));
const KEY = [['M1 7H33', 'line', 'mean'], ['M1 2H33V12H1Z', 'band', 'lowest to highest'], ['M1 7H33', 'dew', 'dew point'], ['M1 7H33', 'limit', 'limit of a material'], ['M2 13L12 1M11 13L21 1M20 13L30 1', 'hatch', 'no reading: air assumed'], ['M1 2H33V12H1Z', 'heat', 'heated'], ['M17 1l6 6l-6 6l-6 -6Z', 'done', 'stage reached'], ['M17 1l6 6l-6 6l-6 -6Z', 'likely', 'stage likely']];

// Of several sensors one counts for each quantity: which.
function sensorWords(sensors) {
  const name = (one) => (one.kind === 'by-hand' ? 'readings by hand' : one.name);
  const [temperature, moisture] = ['temperature', 'humidity'].map((quantity) => sensors.find((one) => one.counts.includes(quantity)));
  if (!temperature && !moisture) return '';
  if (temperature === moisture) return `; ${name(temperature)} ${temperature.kind === 'by-hand' ? 'count' : 'counts'}`;
  return `; ${[temperature && `temperature: ${name(temperature)}`, moisture && `humidity: ${name(moisture)}`].filter(Boolean).join(', ')}`;
}

function present(place, sensors) {
  const { air } = place;
  if (!air) return [h('b', {}, 'no reading yet')];
  if (air.basis === 'measured' && air.rh_basis === 'assumed') return [h('b', {}, temp(air.temp_c)), `, humidity ${humidity(air.rh_pct)} `, h('b', {}, 'assumed: nothing tells it'), `; read ${when(at(air.at))}`, sensorWords(sensors)];
  return [h('b', {}, `${temp(air.temp_c)}, ${humidity(air.rh_pct)}`), `, dew point ${temp(air.dew_point_c)}; `, air.basis === 'assumed' ? h('b', {}, `assumed since ${when(at(air.assumed_from_at))}`) : `read ${when(at(air.at))}`, sensorWords(sensors)];
}

export function plotView(el, params, context) {
  leave();
  const place = () => context.shop.places.find((one) => one.id === Number(params.place));
  const state = { from: 0, to: 0, span: 2 * DAY, follow: true, doc: null, fetched: null, asked: 0, done: 0, askedAt: 0, panels: null, timer: null, gone: false, cursor: null, sensors: [] };
  const parts = { temp: h('div', {}), rh: h('div', {}), coats: s('svg', { class: 'aircoats', 'aria-hidden': 'true' }), says: h('p', { class: 'airsays' }), sum: h('p', { class: 'airsum', 'aria-live': 'polite' }), now: h('p', { class: 'airnow' }), more: h('p', { class: 'hint' }), limits: h('div', {}), list: h('div', {}), spans: h('div', { class: 'controls spans', role: 'group', 'aria-label': 'Span' }),
    table: h('div', {}), trouble: h('p', { class: 'outcome', role: 'status' }) };
  parts.plot = h('div', { class: 'airplot', tabindex: 0, role: 'group', 'aria-label': 'Plot of the air. Arrow keys move it, plus and minus zoom, Home shows all, End goes back to now. The same figures stand in the table below.', 'data-focus': 'airplot' }, parts.coats, h('h2', { class: 'panelname' }, 'Temperature'), parts.temp, h('h2', { class: 'panelname' }, 'Humidity'), parts.rh);
  const tableBox = h('details', { class: 'airdetails' }, h('summary', { 'data-focus': 'airtable' }, 'The figures as a table'), parts.table), listBox = h('details', { class: 'airdetails' }, h('summary', { 'data-focus': 'airlist' }, 'Coats in this span'), parts.list);
  const live = context.shop.places.filter((one) => !one.removed_at);

  const width = () => Math.max(260, parts.plot.clientWidth);
  const nameOf = (id) => context.shop.pieces.find((piece) => piece.id === id)?.name || `piece ${id}`;
  const ahead = (span) => Math.min(span / 12, AHEAD_MOST);

  function drawWords() {
    const { doc } = state;
    replace(parts.now, ...present(place(), state.sensors));
    if (!doc) return;
    parts.sum.textContent = summary(doc, state);
    replace(parts.limits, limitList(doc, state, context.shop));
    if (tableBox.open) drawTable(parts.table, doc, state, place().name);
    if (listBox.open) replace(parts.list, coatList(doc, state, context.shop));
    const left = drawCoats(parts.coats, state, doc, width(), nameOf);
    parts.more.textContent = left > 0 ? `${left} more ${left === 1 ? 'piece' : 'pieces'} hung here: see the coats below.` : '';
    drawSays();
  }

  function drawSays() {
    const text = state.doc ? says(state.doc, state, state.cursor) : '';
    parts.says.textContent = text || 'Touch the plot to read a moment.';
  }

  // A moment under the finger; both panels tell it alike.
  function oncursor(u) {
    if (u.cursor.left === null || u.cursor.left < 0) { if (state.cursor !== null && !state.touched) { state.cursor = null; drawSays(); } return; }
    state.cursor = u.posToVal(u.cursor.left, 'x');
    drawSays();
  }

  function drawAll() {
    state.panels?.destroy();
    parts.temp.replaceChildren();
    parts.rh.replaceChildren();
    const tall = Math.min(340, Math.max(190, innerHeight * 0.3));
    state.panels = drawPanels(parts, state, state.doc, shopNow, { temp: tall, rh: tall * 0.48 }, oncursor);
    drawWords();
  }

  // While it moves, or waits for what it asked, what is read from it may still change.
  const busy = (more = false) => parts.plot.setAttribute('aria-busy', String(more || state.timer !== null || state.done < state.asked));

  async function fetchNow() {
    const number = (state.asked += 1), margin = (state.to - state.from) / 2;
    const from = state.from - margin, to = state.to + margin, bins = Math.min(2000, Math.round(width()));
    state.askedAt = performance.now();
    busy();
    try {
      const [doc, sensors] = await Promise.all([get(`/places/${place().id}/air?from=${rfc3339(from)}&to=${rfc3339(to)}&bins=${bins}`), get(`/sensors?place=${place().id}`)]);
      if (number !== state.asked || state.gone) return;
      Object.assign(state, { doc, sensors: sensors.items, fetched: { from, to, span: state.to - state.from } });
      parts.trouble.textContent = '';
      drawAll();
    } catch (error) {
      if (number === state.asked && !state.gone) parts.trouble.textContent = `The air could not be fetched: ${error.message || error}. The shop may be out of reach; the table and the plot show what was last known.`;
    } finally { state.done = Math.max(state.done, number); busy(); }
  }

  // Within what was fetched, and about as fine, nothing needs to be asked.
  const enough = () => { const { fetched } = state, span = state.to - state.from; return fetched && state.from >= fetched.from && Math.min(state.to, shopNow()) <= fetched.to && span > fetched.span / 1.6 && span < fetched.span * 1.6; };

  function settle() {
    state.panels?.move();
    if (state.doc) drawCoats(parts.coats, state, state.doc, width(), nameOf);
    clearTimeout(state.timer);
    state.timer = setTimeout(() => { state.timer = null; if (enough()) drawWords(); else fetchNow(); busy(); }, FETCH_AFTER);
    busy();
  }

  function look(from, to, span = null) {
    const least = Math.min(LONGEST, Math.max(SHORTEST, to - from)), middle = (from + to) / 2, farthest = shopNow() + 31 * DAY;
    let end = middle + least / 2;
    end = Math.min(farthest, Math.max(BEGINNING + least, end));
    Object.assign(state, { from: end - least, to: end, span, follow: span !== null });
    last = { place: params.place, from: state.from, to: state.to, span };
    drawSpans();
    settle();
  }

  const show = (ms) => look(shopNow() + ahead(ms) - ms, shopNow() + ahead(ms), ms);

  // The first reading there is: the whole record is asked for coarsely, then the bin that it lies in.
  async function firstReading(from, to) {
    const doc = await get(`/places/${place().id}/air?from=${rfc3339(from)}&to=${rfc3339(to)}&bins=2000`);
    const first = doc.bins.temp_c.findIndex((one, i) => one !== null || doc.bins.rh_pct[i] !== null);
    if (first < 0) return null;
    const ms = doc.bins.at[first] * 1e3;
    return doc.bin_s * 1e3 < HOUR ? ms : (await firstReading(ms, ms + doc.bin_s * 1e3)) ?? ms;
  }

  async function showAll() {
    busy(true);
    try {
      const first = await firstReading(BEGINNING, shopNow());
      if (!state.gone) look(Math.min(first ?? shopNow(), shopNow() - DAY), shopNow() + ahead(DAY), 'all');
    } catch (error) { parts.trouble.textContent = `The air could not be fetched: ${error.message || error}.`; busy(); }
  }

  const begin = () => { if (last?.place !== params.place) show(2 * DAY); else if (typeof last.span === 'number') show(last.span); else look(last.from, last.to, last.span); };
  const zoom = (factor, clientX = null) => {
    const box = state.panels?.all[0].over.getBoundingClientRect(), span = (state.to - state.from) * factor;
    const share = clientX === null || !box ? 0.5 : Math.min(1, Math.max(0, (clientX - box.left) / box.width));
    const still = state.from + share * (state.to - state.from);
    look(still - share * span, still + (1 - share) * span);
  };
  const pan = (share) => { const by = share * (state.to - state.from); look(state.from + by, state.to + by); };
  const toNow = () => { const span = state.to - state.from; look(shopNow() + ahead(span) - span, shopNow() + ahead(span), typeof state.span === 'number' ? state.span : null); state.follow = true; };

  function drawSpans() {
    const one = ([label, ms]) => h('button', { type: 'button', class: 'switch', 'data-focus': `span${label}`, 'aria-pressed': String(ms === null ? state.span === 'all' : state.span === ms), onclick: () => (ms === null ? showAll() : show(ms)) }, label);
    const small = (label, name, onclick) => h('button', { type: 'button', class: 'switch', 'data-focus': `air-${name}`, 'aria-label': name, onclick }, label);
    replace(parts.spans, SPANS.map(one), h('span', { class: 'movers' }, small('‹', 'earlier', () => pan(-0.5)), small('now', 'back to now', toNow), small('›', 'later', () => pan(0.5)), small('−', 'more hours', () => zoom(1.5)), small('+', 'fewer hours', () => zoom(1 / 1.5))));
  }

  hands(parts.plot, { view: () => ({ from: state.from, to: state.to }), pan, zoom, all: showAll, now: toNow,
    drag(start, x, factor) {
      const box = state.panels?.all[0].over.getBoundingClientRect();
      if (!box) return;
      const span = (start.to - start.from) * factor, share = (start.x - box.left) / box.width, still = start.from + share * (start.to - start.from), by = ((x - start.x) / box.width) * span;
      look(still - share * span - by, still + (1 - share) * span - by);
    },
    point(clientX) {
      const u = state.panels?.all[0];
      if (!u) return;
      const box = u.over.getBoundingClientRect();
      state.touched = true;
      for (const one of state.panels.all) one.setCursor({ left: Math.min(box.width, Math.max(0, clientX - box.left)), top: 10 }, one === u);
      state.touched = false;
    } });
  for (const box of [tableBox, listBox]) box.addEventListener('toggle', drawWords);

  el.closest('.view').className = 'view plot';
  const places = live.length > 1 && h('nav', { class: 'controls', 'aria-label': 'Places' }, live.map((one) => h('a', { class: 'switch', href: `#air?place=${one.id}`, 'aria-current': one.id === place().id ? 'page' : null }, one.name)));
  replace(el, h('div', { class: 'viewhead' }, h('h1', {}, `Air of ${place().name}`), parts.now, places, tag('Enter air', { href: `#air?place=${place().id}&enter=1` })), parts.spans, parts.says, parts.plot, parts.more, parts.trouble, parts.sum,
    h('ul', { class: 'airkey', 'aria-label': 'Key' }, KEY.map(([d, cls, text]) => h('li', {}, swatch(d, cls), text))), parts.limits, listBox, tableBox);

  let sized = 0;
  const watch = new ResizeObserver(() => { const now = width(); if (state.panels && Math.abs(now - sized) > 1) { sized = now; state.panels.setSize(now); drawCoats(parts.coats, state, state.doc, now, nameOf); } });
  const themed = new MutationObserver(() => { if (state.doc) drawAll(); }), device = matchMedia('(prefers-color-scheme: dark)'), onDevice = () => { if (state.doc) drawAll(); };
  leave = () => { state.gone = true; watch.disconnect(); themed.disconnect(); device.removeEventListener('change', onDevice); removeEventListener('hashchange', leave); clearTimeout(state.timer); state.panels?.destroy(); leave = () => {}; };
  addEventListener('hashchange', leave);
  replace(parts.now, ...present(place(), state.sensors));
  drawSpans();
  loadLibrary().then(() => { if (state.gone) return; watch.observe(parts.plot); themed.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] }); device.addEventListener('change', onDevice); begin(); fetchNow(); clearTimeout(state.timer); state.timer = null; busy(); },
    (error) => { replace(parts.trouble, `${error.message}. `, tag('Again', { onclick: () => plotView(el, params, context) })); });

  const follow = () => { if (!state.doc || !state.follow || document.hidden) return; const span = state.to - state.from; state.to = shopNow() + ahead(typeof state.span === 'number' ? state.span : span); state.from = state.to - span; state.panels?.move(); };
  return {
    update() { if (state.gone || !place()) return; follow(); if (state.doc) fetchNow(); else replace(parts.now, ...present(place(), state.sensors)); },
    creep() { if (state.gone) return; follow(); if (performance.now() - state.askedAt > FRESH_AFTER && state.follow) fetchNow(); else drawWords(); },
  };
}

