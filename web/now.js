// What can be done now, what comes next, what must not be touched, what is held up; and what the shop has to say.
import { h, tag, replace } from './dom.js';
import { at, left, shopNow, when } from './clock.js';
import { airText } from './units.js';
import { act, afterwards, CONDITIONS, gateOf, isLateTape, stateWord, STALLS } from './words.js';
import { gate } from './gates.js';

// ---- countdowns ----

// An element that counts down to a moment of the shop, each second, to "any minute now" and never below nothing.
export function countdown(toMs, suffix = '', prefix = '') {
  const el = h('span', { class: 'countdown', 'data-until': toMs, 'data-suffix': suffix, 'data-prefix': prefix });
  tickOne(el, shopNow());
  return el;
}

function tickOne(el, now) {
  const text = left(Number(el.dataset.until) - now);
  const words = text === null ? 'any minute now' : `${el.dataset.prefix}${text}${el.dataset.suffix}`;
  if (el.textContent !== words) el.textContent = words;
  return text === null;
}

// Returns whether any countdown has run out: the shop then knows something new.
export function tickAll() {
  const now = shopNow();
  let out = false;
  for (const el of document.querySelectorAll('[data-until]')) out = tickOne(el, now) || out;
  return out;
}

// ---- rows ----

const TAGS = { tape: 'Look', sand: 'Sanded', leaf: 'Log coat', recoat: 'Log coat', seal: 'Log coat', handle: 'Look', unmask: 'Look', bake: 'Look', cure: 'Look' };

function nameOf(shop, id) { return shop.pieces.find((piece) => piece.id === id)?.name || `piece ${id}`; }

function logHref(shop, row) { return `#log?piece=${row.piece}`; }

function nowTag(shop, row, context) {
  if (row.do === 'strip') return tag('Look', { href: `#piece?id=${row.piece}`, 'aria-label': `${nameOf(shop, row.piece)}: look` });
  if (row.stage !== 'unmask' && (row.do === 'scuff' || row.do === 'wipe')) {
    return row.do === 'scuff' ? tag('Scuffed', { filled: true, 'data-focus': `t${row.coat}${row.stage}`, 'aria-label': `${nameOf(shop, row.piece)}: scuffed`, onclick: () => context.sand(row.coat, nameOf(shop, row.piece)) })
      : tag('Log coat', { filled: true, href: logHref(shop, row), 'aria-label': `${nameOf(shop, row.piece)}: wiped, log a coat` });
  }
  if (row.stage === 'sand' && row.do === 'go') return tag('Sanded', { filled: true, 'data-focus': `t${row.coat}${row.stage}`, 'aria-label': `${nameOf(shop, row.piece)}: sanded`, onclick: () => context.sand(row.coat, nameOf(shop, row.piece)) });
  const label = TAGS[row.stage] || 'Look';
  return tag(label, { filled: true, href: label === 'Log coat' ? logHref(shop, row) : `#piece?id=${row.piece}`, 'aria-label': `${nameOf(shop, row.piece)}: ${label.toLowerCase()}` });
}

// A size in its finger test: what the finger says, in one tap.
function fingerTags(shop, row, context) {
  const name = nameOf(shop, row.piece), held = context.isHeld(row.coat);
  const one = (label, passed) => tag(label, { filled: passed, disabled: held, 'data-focus': `f${row.coat}${passed}`, 'aria-label': `${name}: ${label.toLowerCase()}`, onclick: () => context.fingerTest(row.coat, name, passed) });
  return h('div', { class: 'finger' }, one('Takes leaf', true), one('Not yet', false));
}

const isFingerTest = (row) => row.stage === 'leaf' && row.do === 'test';

function lastTest(shop, row) {
  const tests = (shop.coats.find((coat) => coat.id === row.coat)?.tests || []).filter((test) => test.stage === row.stage && !test.passed);
  return tests.length ? `; not yet at ${when(Math.max(...tests.map((test) => at(test.at))))}` : '';
}

const flags = (row) => [row.assumed && h('b', { class: 'flag', title: 'the air it rests on is assumed' }, 'test first'), row.disputed && h('span', { class: 'flag' }, 'read the can')];

function reasonOf(row, now) {
  const end = row.until ? at(row.until.earliest_at) : null;
  if (end === null) return row.since_at ? `since ${when(at(row.since_at), now)}` : '';
  const later = row.then_until_at && h('span', { class: 'second' }, ` to ${when(at(row.then_until_at), now)}`);
  return h('span', {}, `${afterwards(row.then, row.stage)} ${when(end, now)}`, later);
}

function nowRow(shop, row, context) {
  const now = shopNow();
  const end = row.until ? at(row.until.earliest_at) : null;
  const word = stateWord(row.state, row.do, row.stage);
  const finger = isFingerTest(row);
  return h('li', { class: `row todo ${row.do}${finger ? ' fingertest' : ''}` }, gate(gateOf(row.state, row.do, row)),
    h('div', { class: 'what' }, h('a', { class: 'name', href: `#piece?id=${row.piece}` }, nameOf(shop, row.piece)), ' ', h('span', { class: 'act' }, act(row.stage, row.do)),
      h('div', { class: 'reason' }, h('b', { class: 'state' }, word), ' ', reasonOf(row, now), isFingerTest(row) && lastTest(shop, row))),
    h('div', { class: end === null ? 'left any' : 'left' }, end === null ? h('span', {}, 'any time') : countdown(end, ' left'), flags(row)),
    finger ? fingerTags(shop, row, context) : nowTag(shop, row, context));
}

function laterRow(shop, row, { word, cls, lead, label, say, sign = null }) {
  return h('li', { class: `row later ${cls}` }, gate(sign || gateOf(row.state, row.do, row), ''),
    h('div', { class: 'whenat' }, h('b', { class: cls === 'handsoff' ? 'reverse' : '' }, word), h('span', {}, lead)),
    h('div', { class: 'what' }, h('a', { class: 'name', href: `#piece?id=${row.piece}` }, nameOf(shop, row.piece)), flags(row), h('span', { class: 'act' }, say)),
    tag(label, { href: `#piece?id=${row.piece}`, 'aria-label': `${nameOf(shop, row.piece)}: ${label.toLowerCase()}` }));
}

// A coming opening is counted to its latest moment, "not before"; a finger test to its earliest.
const sureOf = (row) => (row.until ? at(row.do === 'test' ? row.until.earliest_at : row.until.latest_at) : null);

// Acts of several rows that come at the same moment, told once: "handle it, next coat, not before Mon 09:21".
function comes(rows, now) {
  const sure = sureOf(rows[0]);
  const together = rows.filter((row) => sureOf(row) === sure).map((row) => act(row.stage, row.do)).join(', ');
  return [together, sure !== null && h('span', { class: 'sooner' }, `, ${rows[0].do === 'test' ? 'from' : 'not before'} ${when(sure, now)}`)];
}

function nextRow(shop, rows) {
  const sure = sureOf(rows[0]);
  return laterRow(shop, rows[0], { word: 'next', cls: 'next', lead: sure === null ? 'no end in this air' : countdown(sure, '', 'in '), label: 'Why', say: comes(rows, shopNow()) });
}

function notYetRow(shop, row, next) {
  const now = shopNow();
  const sure = sureOf(row);
  const coat = shop.coats.find((one) => one.id === row.coat);
  const say = [`${coat ? `${CONDITIONS[coat.condition] || coat.condition}, ` : ''}${sure === null ? 'do not touch it' : `not before ${when(sure, now)}`}`, next && h('span', { class: 'sooner also' }, ...comes(next, now))];
  return laterRow(shop, row, { word: 'hands off', cls: 'handsoff', sign: 'handsoff', lead: sure === null ? 'no end in this air' : countdown(sure, '', 'for '), label: 'Why', say });
}

function heldRow(shop, row, handsOff) {
  const now = shopNow();
  const since = row.since_at ? `since ${when(at(row.since_at), now)}` : '';
  const held = since || 'for more than a day'; // the shop looks back a day for it
  const coat = shop.coats.find((one) => one.id === row.coat);
  if (row.stalled && row.stalled !== 'none') {
    const place = coat && shop.places.find((one) => one.id === coat.place);
    const air = row.stalled === 'air-unknown' ? `${place ? place.name : 'it hangs nowhere'}: enter its air` : place ? `${place.name} ${airText(place.air)}` : 'it hangs nowhere';
    return laterRow(shop, row, { word: 'stalled', cls: 'held', lead: STALLS[row.stalled] || row.stalled, label: 'Why', say: [`${air}${handsOff ? ', hands off' : ''}`, row.stalled !== 'air-unknown' && h('span', { class: 'sooner' }, `, held ${held}`)] });
  }
  if (row.state === 'missed') return laterRow(shop, row, { word: stateWord(row.state, row.do, row.stage), cls: 'held', lead: since, label: 'Look', say: act(row.stage, row.do) });
  if (coat && coat.inspect) return laterRow(shop, { ...row, inspect: true }, { word: 'look at it', cls: 'held', lead: since, label: 'Look', say: 'the air left its limits while it dried' });
  const until = sureOf(row);
  return laterRow(shop, row, { word: stateWord(row.state, row.do, row.stage), cls: 'held', lead: until === null ? since : countdown(until, '', 'for '), label: 'Why', say: act(row.stage, row.then || row.do) });
}

// One row a piece, so that the list stays short enough to be read from across the shop: held up, or hands off, or what comes next.
function comingRows(shop) {
  const of = (name, piece) => shop.lists[name].filter((row) => row.piece === piece);
  const pieces = [...new Set(['next', 'not_yet', 'held'].flatMap((name) => shop.lists[name].map((row) => row.piece)))];
  const rank = { next: 0, handsoff: 1, held: 2 };
  const rows = pieces.map((piece) => {
    const [next, off, held] = [of('next', piece), of('not_yet', piece), of('held', piece)];
    if (held.length) return { kind: 'held', el: heldRow(shop, held[0], off.length > 0) };
    if (off.length) return { kind: 'handsoff', el: notYetRow(shop, off[0], next.length ? next : null) };
    return { kind: 'next', el: nextRow(shop, next) };
  });
  return rows.sort((p, q) => rank[p.kind] - rank[q.kind]).map((row) => row.el);
}

function lateTape(shop) {
  const ids = [...new Set(shop.lists.now.filter(isLateTape).map((row) => row.piece))];
  const links = ids.flatMap((id, i) => [i ? ', ' : '', h('a', { href: `#piece?id=${id}` }, nameOf(shop, id))]);
  return ids.length > 0 && h('p', { class: 'latetape' }, 'Tape still on? Score its edge first: ', links);
}

const section = (title, cls, rows, under = null) => rows.length > 0 && h('section', { class: cls, 'aria-label': title }, h('ul', { class: 'rows' }, rows), under);

export function renderNow(el, shop, context) {
  const { lists } = shop;
  const doing = lists.now.filter((row) => !isLateTape(row)).map((row) => nowRow(shop, row, context));
  const later = comingRows(shop);
  const nothing = h('p', { class: 'quiet' }, later.length ? 'Nothing to do at a piece right now.' : 'Nothing waits and nothing is open.');
  replace(el, section('Can be done now', 'doing', doing, lateTape(shop)) || h('section', { class: 'doing' }, shop.pieces.length ? [nothing, lateTape(shop)] : welcome(shop)), h('div', { class: 'ask' }, shop.pieces.length > 0 && tag('May I spray now?', { href: '#check', 'data-focus': 'ask' }), mixList(shop)), section('Next, not yet, and held up', 'coming', later) || null);
  el.classList.toggle('one', !later.length);
}

function welcome(shop) {
  const step = (n, done, text, href, label) => h('li', { class: done ? 'done' : '' }, h('b', {}, done ? `${n}. Done: ${text}` : `${n}. ${text}`), !done && tag(label, { filled: true, href }));
  const live = shop.places.filter((place) => !place.removed_at);
  return h('div', { class: 'welcome' }, h('h2', {}, 'Nothing hangs on the line yet'), h('p', {}, 'Tell the shop three things, and it says from then on what can be done at which piece, and when.'),
    h('ol', {}, step(1, live.length > 0, live.length ? live[0].name : 'A place: where the pieces hang', '#place', 'Add a place'),
      step(2, false, 'A piece: what you are finishing', '#newpiece', 'Add a piece'), step(3, false, 'Its first coat', '#log', 'Log a coat')));
}

// ---- batches that stand ----

// How a batch stands: a shape, a word, a moment to count to.
export function mixState(mix, shop) {
  const ready = at(mix.ready_at), useBy = at(mix.use_by_at), now = shopNow();
  if (mix.over || (useBy !== null && useBy <= now)) return { shape: 'missed', cls: '', word: 'over: do not use it', to: null };
  if (ready === null && mix.induction_min !== null) return { shape: 'inspect', cls: '', word: 'not known when it is ready', to: null };
  if (ready !== null && ready > now) return { shape: 'waiting', cls: '', word: 'wait', to: ready, prefix: 'ready in ' };
  return { shape: useBy !== null && useBy - now <= shop.shop.lead_closing_min * 60e3 ? 'closing' : 'open', cls: 'may', word: 'ready', to: useBy, suffix: ' left' };
}

export const countedTo = (state) => state.to !== null && [', ', countdown(state.to, state.suffix, state.prefix)];
export const onAssumedAir = (mix) => mix.basis === 'assumed' && h('b', { class: 'flag' }, 'on assumed air');

function mixLine(shop, mix) {
  const state = mixState(mix, shop);
  return h('li', {}, gate(state.shape, state.cls), h('span', {}, h('a', { href: '#mix' }, mix.material.name), ': ', h('b', { class: state.cls }, state.word), countedTo(state), onAssumedAir(mix)));
}

const mixList = (shop) => shop.mixes.length > 0 && h('ul', { class: 'mixes', 'aria-label': 'Mixes' }, shop.mixes.map((mix) => mixLine(shop, mix)));

// ---- notices ----

// What is about people first, then the newest; one that nobody was called for yet says until when.
const noticeOrder = (p, q) => Number(q.safety) - Number(p.safety) || q.id - p.id;
const heldText = (notice) => notice.told_at === null && h('b', { class: 'flag' }, notice.held_until_at ? `nobody is called until ${when(at(notice.held_until_at))}` : 'others are awaited');

export function renderNotices(el, shop, context, most) {
  const list = [...shop.notices].sort(noticeOrder);
  const rows = list.slice(0, most).map((notice) => h('li', { class: notice.safety ? 'notice safety' : 'notice' }, h('div', {}, notice.assumed && h('b', { class: 'flag' }, 'test first'), heldText(notice), notice.text, h('small', {}, ` ${when(at(notice.raised_at))}${goneTo(notice)}`)),
    list.length > most && h('a', { href: '#notices' }, `all ${list.length}`),
    tag('Noted', { small: true, 'data-focus': `n${notice.id}`, 'aria-label': `Noted: ${notice.subject || notice.text}`, onclick: () => context.acknowledge(notice.id) })));
  replace(el, list.length ? h('ul', { 'aria-label': 'Notices' }, rows) : null);
}

function goneTo(notice) {
  const told = (notice.deliveries || []).filter((one) => one.delivered_at).map((one) => one.name), not = (notice.deliveries || []).filter((one) => !one.delivered_at).map((one) => one.name);
  return (told.length ? `; sent to ${told.join(', ')}` : '') + (not.length ? `; not yet to ${not.join(', ')}` : '');
}
