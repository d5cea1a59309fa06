// Starts the page: one document from the shop, one view at a time, a tick each second.
import { h, tag, replace } from './dom.js';
import { face, hhmm, longDay, setZone, shopNow, clockKnown, slept, startFace } from './clock.js';
import { setUnits } from './units.js';
import * as api from './api.js';
import { renderPlate } from './plate.js';
import { askTag, renderNotices, renderNow, tickAll } from './now.js';
import { currentTheme, toggleTheme } from './theme.js';

const $ = (id) => document.getElementById(id);
const wide = matchMedia('(min-width: 900px)');
const UNDO_MS = 60e3, HOLD_MS = 8e3;
let view = null; // what is shown: {name, update?}
let undo = null; // {ids, words, until}
let hold = null; // {send, words, until}: a test at the bench stays in the record, so it is held back while it can be undone
let said = '', saidAt = 0; // one line under the plate, for a while
const SAID_MS = 20e3;
const waits = [];

// What is not seen at first comes after it: the drying line, the forms and what rings. All of them unasked: the network may be gone when they are wanted.
const loadLine = () => import('./lineview.js'), loadViews = () => import('./views.js'), loadForms = () => loadViews().then((views) => views.loadForms());
let forms = null;

// What every view is given.
const context = {
  get shop() { return api.currentShop(); },
  write: (...what) => (forms ? forms.write(...what) : loadForms().then((parts) => parts.write(...what))),
  go(hash) { if (location.hash.slice(1) === hash) show(); else location.hash = hash; },
  whenSeen(ready, then) { if (ready()) then(); else waits.push({ ready, then }); },
  offerUndo(ids, words) { undo = { ids, words, until: performance.now() + UNDO_MS }; renderSaid(); },
  acknowledge: (id) => once(`/notices/${id}/ack`, {}, 'notice noted', ''),
  say,
  isHeld(coat) { return hold !== null && hold.coat === coat; },
  fingerTest(coat, name, passed) {
    const body = { stage: 'leaf', passed, at: new Date(shopNow()).toISOString() }, words = `${name}: ${passed ? 'takes leaf' : 'not yet'}`;
    sendHeld();
    hold = { coat, words, until: performance.now() + HOLD_MS, send: () => context.write('POST', `/coats/${coat}/tests`, body, words) };
    context.redraw();
  },
  redraw() { view?.update?.(); renderSaid(); },
  sand: (coat, name) => once(`/coats/${coat}/sandings`, { at: new Date(shopNow()).toISOString() }, `${name}: scuffed`, `${name}: scuffed, written down.`),
};

function sendHeld() {
  if (!hold) return;
  const { send, words } = hold;
  hold = null;
  tell(send(), `${words}, written down.`);
}

function letGo() {
  const { words } = hold;
  hold = null;
  say(`Undone: ${words}`);
  context.redraw();
}

function say(text) { said = text; saidAt = performance.now(); renderSaid(); }

// A second press while the first still waits for the shop is none.
async function once(path, body, words, done) { if (!forms?.isWaiting(path)) await tell(context.write('POST', path, body, words), done); }

async function tell(writing, done) {
  try { await writing; say(done); } catch (error) { if (error.one) forms.keepRefusal(error); else say(String(error.message || error)); }
}

// ---- one line under the plate: the network, what waits, undo ----

async function takeBack() {
  const { ids, words } = undo;
  undo = null;
  for (const id of ids) await tell(context.write('POST', `/coats/${id}/strike`, { why: 'undone on the page' }, `undo ${words}`), `Undone: ${words}`);
}

function renderSaid() {
  const lines = [];
  const { unrecorded } = context.shop ?? {};
  if (unrecorded) lines.push(h('p', { class: 'net' }, h('b', {}, 'What falls due is not told. '), `It cannot be written down since ${hhmm(Date.parse(unrecorded.since_at))}: ${unrecorded.why}. Look at the times below yourself, and see to it.`));
  if (!api.isOnline()) lines.push(h('p', { class: 'net' }, h('b', {}, 'No connection to the shop.'), clockKnown() ? ` The page keeps counting from what it last knew${slept() ? ', since this device slept by the clock of the device' : ''}, and catches up by itself.` : ' Trying again. Until then the product label decides.'));
  if (forms) lines.push(...forms.writesSaid());
  if (hold) lines.push(h('p', { class: 'undo' }, h('span', {}, h('b', {}, 'Written down in a moment. '), hold.words), tag('Undo', { small: true, onclick: letGo })));
  if (undo && performance.now() < undo.until) lines.push(h('p', { class: 'undo' }, h('span', {}, h('b', {}, 'Written down. '), undo.words), tag('Undo', { small: true, onclick: takeBack })));
  if (said && performance.now() - saidAt < SAID_MS) lines.push(h('p', { class: 'undo' }, h('span', {}, said), h('button', { type: 'button', class: 'link', onclick: () => say('') }, 'OK')));
  const key = lines.map((line) => line.textContent).join('|');
  if ($('said').dataset.key === key) return;
  $('said').dataset.key = key;
  replace($('said'), lines);
}

// ---- views ----

// Once what is drawn by now is seen; a page in the background has no frames and does not wait for one.
const FRAME_MOST_MS = 200;
function afterFrame(work) {
  let done = false;
  const once = () => { if (!done) { done = true; work(); } };
  requestAnimationFrame(() => setTimeout(once));
  setTimeout(once, FRAME_MOST_MS);
}

function homeView(el) {
  const notices = h('div', { class: 'notices' }), now = h('div', { class: 'now' });
  const head = h('div', { class: 'nowhead' }, h('h1', {}, 'Now ', h('span', { 'data-clock': 'hm' }, face(shopNow()))), h('span', { 'data-clock': 'day' }, longDay(shopNow())));
  const line = h('section', { class: 'linebox', 'aria-label': 'Drying line' });
  replace(el, head, notices, now, wide.matches && line);
  const drawList = () => { renderNotices(notices, context.shop, context, 1); renderNow(now, context.shop, context); };
  const drawLine = hangLine(line, false, () => context.shop.pieces.length + context.shop.places.length > 0, () => askTag(context.shop));
  drawList();
  afterFrame(drawLine); // what can be done is seen first, and can be touched
  return { update() { drawList(); drawLine(); }, creep: drawLine };
}

function lineOnly(el) {
  const line = h('section', { class: 'linebox', 'aria-label': 'Drying line' }), drawLine = hangLine(line, !wide.matches, () => true, () => null);
  replace(el, h('h1', { class: 'unseen' }, 'Drying line'), line);
  drawLine();
  return { update: drawLine, creep: drawLine };
}

// Draws the line once it is wanted and its modules have come; then anew each time.
function hangLine(el, turned, isWanted, lead) {
  let redraw = null;
  return async function update() {
    if (redraw) return redraw();
    if (!el.isConnected || !isWanted()) return null;
    const parts = await loadLine().catch(() => null); // the next document tries again
    if (parts && el.isConnected) redraw ||= parts.lineSection(el, context, turned, lead());
    return null;
  };
}

function noticesView(el) {
  const list = h('div', { class: 'notices' });
  const update = () => { renderNotices(list, context.shop, context, 50); if (!context.shop.notices.length) list.append(h('p', {}, 'Nothing to note.')); };
  replace(el, h('h1', {}, 'Notices'), list, tag('Back', { href: '#' }));
  update();
  return { update };
}

function moreView(el) {
  replace(el, h('h1', {}, 'More'), h('ul', { class: 'more' }, LINKS.map(([hash, text]) => h('li', {}, tag(text, { href: `#${hash}` }))), h('li', {}, themeTag())));
  return {};
}

// Each of the others draws in a box of its own, so that one which comes late cannot draw over the next.
function laterView(el, params) {
  const token = {}, { name } = route();
  let inner = null;
  const draw = (make) => { if (view?.el !== el || view.token !== token) return; const box = h('div'); replace(el, box); inner = make(box, params, context); };
  loadViews().then((views) => views.load(name, params, context)).then(draw, () => { replace(el, h('p', {}, 'This part of the page could not be fetched. '), tag('Again', { onclick: show })); });
  return { token, update() { inner?.update?.(); }, creep() { inner?.creep?.(); } };
}

const VIEWS = { '': homeView, line: lineOnly, notices: noticesView, more: moreView };
const LINKS = [['check', 'May I spray now?'], ['mix', 'Mixes'], ['tins', 'Tins'], ['bake', 'Bakes'], ['air', 'Enter air'], ['notices', 'Notices'], ['tell', 'How you are told'], ['material', 'Material from its label'], ['finished', 'Finished pieces'], ['shop', 'The shop']];
const TITLES = { ...Object.fromEntries(LINKS), line: 'Drying line', log: 'Log a coat', air: 'Air', piece: 'A piece', more: 'More', place: 'A place', newpiece: 'A piece', vapour: 'Solvent in the air', hangtag: 'A tag', record: 'The record of a piece' };

function route() {
  const [name, query] = location.hash.slice(1).split('?');
  return { name: Object.hasOwn(TITLES, name) ? name : '', params: Object.fromEntries(new URLSearchParams(query || '')) };
}

// A view may speak of a thing that was only just made: it waits for the document that has it.
function known(params) {
  const { shop } = context;
  const has = (list, id) => id === undefined || list.some((one) => one.id === Number(id));
  return has(shop.pieces, params.piece) && has(shop.places, params.place) && has(shop.materials, params.material);
}

function show() {
  if (!context.shop) return;
  const { name, params } = route();
  if (!known(params) && !show.waited) { show.waited = true; api.refresh().then(() => { show(); show.waited = false; }); return; }
  const el = $('view');
  el.className = `view ${name || 'home'}`;
  view = { name, el };
  Object.assign(view, (VIEWS[name] || laterView)(el, params));
  for (const link of document.querySelectorAll('nav a')) link.toggleAttribute('aria-current', link.getAttribute('href') === `#${name}`);
  for (const link of document.querySelectorAll('nav a[aria-current]')) link.setAttribute('aria-current', 'page');
  document.title = TITLES[name] ? `${TITLES[name]}: Coatwright` : 'Coatwright';
}

function themeTag() { return tag(currentTheme() === 'dark' ? 'Light' : 'Dark', { 'data-focus': 'theme', onclick: () => { toggleTheme(); renderNav(); if (view?.name === 'more') show(); } }); }

function renderNav() {
  const count = context.shop ? context.shop.notices.length : 0;
  replace($('tools'), LINKS.map(([hash, text]) => h('a', { href: `#${hash}` }, hash === 'notices' && count ? `${text} ${count}` : text)), h('button', { type: 'button', 'data-focus': 'theme2', onclick: () => { toggleTheme(); renderNav(); } }, currentTheme() === 'dark' ? 'Light' : 'Dark'));
}

// ---- what comes in ----

// Nothing is drawn anew under a thumb: a button that is replaced between its being pressed and let go is never clicked.
const LONGEST_PRESS_MS = 3e3; // one that was let go outside the window is not told
let pressedAt = null, owed = false;
const isPressed = () => pressedAt !== null && performance.now() - pressedAt < LONGEST_PRESS_MS;
function letUp() { pressedAt = null; if (owed) onShop(); }
addEventListener('pointerdown', () => { pressedAt = performance.now(); }, true);
for (const end of ['pointerup', 'pointercancel']) addEventListener(end, () => setTimeout(letUp), true); // its click comes first

let hears = false;
function hear() {
  hears = true;
  loadForms().then((parts) => {
    if (!forms) { forms = parts; parts.startWrites(renderSaid); }
    parts.hear(context.shop);
  }, () => {}); // the next document tries again
}

function onShop() {
  owed = isPressed();
  if (owed) return;
  const { shop } = context;
  setZone(shop.shop.zone);
  setUnits(shop.shop.units);
  renderPlate($('plate'), $('deferral'), shop);
  renderNav();
  for (const one of waits.splice(0)) if (one.ready()) one.then(); else waits.push(one);
  if (view) view.update?.(); else { show(); afterFrame(() => afterFrame(() => { hear(); loadLine().catch(() => {}); })); }
  if (hears) hear();
}

function onTell(what) {
  if (what === 'shop') onShop();
  if (what === 'network' && api.isOnline()) forms?.flush();
  renderSaid();
}

// ---- time ----

let ranOutAt = 0, creptAt = 0;
function tick() {
  if (isPressed()) return;
  if (owed) onShop();
  const now = shopNow();
  for (const el of document.querySelectorAll('[data-clock]')) { const text = el.dataset.clock === 'hm' ? face(now) : longDay(now); if (el.textContent !== text) el.textContent = text; }
  if ((tickAll() || slept()) && performance.now() - ranOutAt > 3000) { ranOutAt = performance.now(); api.refresh(); }
  if (performance.now() - creptAt > 20e3) { creptAt = performance.now(); if (!document.hidden) view?.creep?.(); }
  if (hold && performance.now() > hold.until) sendHeld();
  renderSaid();
}

startFace();
renderPlate($('plate'), $('deferral'), null);
renderNav();
addEventListener('hashchange', () => { show(); scrollTo(0, 0); $('view').focus({ preventScroll: true }); });
addEventListener('keydown', (event) => { if (event.repeat && event.key === 'Enter' && event.target.matches('button')) event.preventDefault(); }); // one press of a key that is held
wide.addEventListener('change', () => { if (['', 'line'].includes(view?.name)) show(); }); // what is typed elsewhere stays
setInterval(tick, 1000);
addEventListener('pagehide', sendHeld); // a phone that goes into the pocket
document.addEventListener('visibilitychange', () => { if (document.hidden) sendHeld(); else creptAt = -Infinity; });
api.start(onTell);
