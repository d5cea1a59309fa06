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

const TAGS = { tape: 'Look', sand: 'Sanded', leaf: 'Log coat', recoat: 'Log coat', seal: 'Log coat', handle: 'Look', unmask: 'Look', bake: 'Review', cure: 'Look' };

function nameOf(shop, id) { return shop.pieces.find((piece) => piece.id === id)?.name || `piece ${id}`; }

// Rows of the same list that say the same of all pieces of a rack are one, in the name of the rack.
const SAME_MS = 60e3;
const sameMoment = (p, q) => p === q || (p !== null && q !== null && Math.abs(p - q) < SAME_MS);
const endOf = (row, key) => (row.until ? at(row.until[key]) : null);
const alike = (p, q) => p.stage === q.stage && p.do === q.do && p.state === q.state && p.stalled === q.stalled && sameMoment(endOf(p, 'earliest_at'), endOf(q, 'earliest_at')) && sameMoment(endOf(p, 'latest_at'), endOf(q, 'latest_at'));
function racked(shop, rows) {
  const out = [];
  for (const row of rows) {
    const rack = (shop.racks || []).find((one) => !one.removed_at && one.pieces.length > 1 && one.pieces.includes(row.piece));
    const mates = rack ? rack.pieces.map((piece) => rows.find((one) => one.piece === piece && alike(one, row))) : [];
    if (!rack || !mates.every(Boolean)) out.push(row);
    else if (mates[0] === row) out.push({ ...row, rack, mates });
  }
  return out;
}
const titleOf = (shop, row) => (row.rack ? row.rack.name : nameOf(shop, row.piece));
const logHref = (row) => (row.rack ? `#log?rack=${row.rack.id}` : `#log?piece=${row.piece}`);
const openHref = (row) => `#piece?id=${row.piece}`;
const nameLink = (shop, row) => h('a', { class: 'name', href: openHref(row) }, titleOf(shop, row));

function sandTag(label, row, name, context) {
  return tag(label, { filled: true, 'data-focus': `t${row.coat}${row.stage}`, 'aria-label': `${name}: ${label.toLowerCase()}`, onclick: () => { for (const one of row.mates || [row]) context.sand(one.coat, nameOf(context.shop, one.piece)); } });
}

function nowTag(shop, row, context) {
  const name = titleOf(shop, row);
  if (row.do === 'strip') return tag('Look', { href: openHref(row), 'aria-label': `${name}: look` });
  if (row.do === 'scuff') return sandTag('Scuffed', row, name, context);
  if (row.do === 'wipe') return tag('Log coat', { filled: true, href: logHref(row), 'aria-label': `${name}: wiped, log a coat` });
  if (row.stage === 'sand' && row.do === 'go') return sandTag('Sanded', row, name, context);
  const label = TAGS[row.stage] || 'Look';
  const href = row.stage === 'bake' ? `#bake?coat=${row.coat}` : label === 'Log coat' ? logHref(row) : openHref(row);
  return tag(label, { filled: true, href, 'aria-label': `${name}: ${label.toLowerCase()}` });
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
  const end = endOf(row, 'earliest_at');
  if (end === null) return row.since_at ? ` since ${when(at(row.since_at), now)}` : '';
  const later = row.then_until_at && h('span', { class: 'second' }, ` to ${when(at(row.then_until_at), now)}`);
  return h('span', {}, `, ${afterwards(row.then, row.stage)} ${when(end, now)}`, later);
}

function handsOffWith(shop, row, now) {
  const off = shop.lists.not_yet.find((one) => one.piece === row.piece), sure = off ? sureOf(off) : null;
  return off && h('span', { class: 'butoff' }, h('b', { class: 'reverse' }, 'hands off'), sure === null ? '' : ` before ${when(sure, now)}`);
}

function nowRow(shop, row, context) {
  const now = shopNow();
  const end = endOf(row, 'earliest_at');
  const finger = isFingerTest(row);
  return h('li', { class: `row todo ${row.do}${finger ? ' fingertest' : ''}${row.state === 'closing' ? ' closing' : ''}` }, gate(gateOf(row.state, row.do, row)),
    h('div', { class: 'what' }, nameLink(shop, row), ' ', h('span', { class: 'act' }, act(row.stage, row.do)),
      h('div', { class: 'reason' }, h('b', { class: 'state' }, stateWord(row.state, row.do, row.stage)), reasonOf(row, now), finger && lastTest(shop, row), ' ', handsOffWith(shop, row, now))),
    h('div', { class: end === null ? 'left any' : 'left' }, end === null ? h('span', {}, 'any time') : countdown(end, ' left'), flags(row)),
    finger ? fingerTags(shop, row, context) : nowTag(shop, row, context));
}

// The shop knows no tape: what would be pulled is told together, the first to grow too hard in front.
const isTape = (row) => row.stage === 'unmask';
function tapeRow(shop, rows) {
  const now = shopNow(), first = rows[0], end = endOf(first, 'earliest_at');
  const each = rows.map((row, i) => [i ? ', ' : '', h('a', { href: openHref(row) }, titleOf(shop, row)), endOf(row, 'earliest_at') === null ? '' : ` by ${when(endOf(row, 'earliest_at'), now)}`]);
  return h('li', { class: 'row todo go' }, gate(gateOf(first.state, first.do, first)), h('div', { class: 'what' }, h('b', { class: 'name' }, 'Tape'), ' ', h('span', { class: 'act' }, 'pull it where it is on'), h('div', { class: 'reason' }, each)),
    h('div', { class: end === null ? 'left any' : 'left' }, end === null ? h('span', {}, 'any time') : countdown(end, ' left')), tag('Look', { filled: true, href: openHref(first), 'aria-label': `${titleOf(shop, first)}: look` }));
}

function laterRow(shop, row, { word, cls, lead, label, say, sign = null }) {
  return h('li', { class: `row later ${cls}` }, gate(sign || gateOf(row.state, row.do, row), ''),
    h('div', { class: 'whenat' }, h('b', { class: cls === 'handsoff' ? 'reverse' : '' }, word), h('span', {}, lead)),
    h('div', { class: 'what' }, nameLink(shop, row), flags(row), h('span', { class: 'act' }, say)),
    tag(label, { href: openHref(row), 'aria-label': `${titleOf(shop, row)}: ${label.toLowerCase()}` }));
}

// A coming opening is counted to its latest moment, a finger test to its earliest; one of which no latest is known is not counted.
const sureOf = (row) => endOf(row, row.do === 'test' ? 'earliest_at' : 'latest_at');
const unsure = (row, till = '') => (row.until?.likely_at ? `${till}about ${when(endOf(row, 'likely_at'), shopNow())}` : 'no end in this air');

// Acts that come at the same moment, told once: "handle it, next coat, not before Mon 09:21".
function comes(rows, now) {
  const sure = sureOf(rows[0]);
  const together = rows.filter((row) => sureOf(row) === sure).map((row) => act(row.stage, row.do)).join(', ');
  return [together, sure !== null && h('span', { class: 'sooner' }, `, ${rows[0].do === 'test' ? 'from' : 'not before'} ${when(sure, now)}`)];
}

function nextRow(shop, rows) {
  const sure = sureOf(rows[0]);
  return laterRow(shop, rows[0], { word: 'next', cls: 'next', lead: sure === null ? unsure(rows[0]) : countdown(sure, '', 'in '), label: 'Why', say: comes(rows, shopNow()) });
}

function notYetRow(shop, row, next) {
  const now = shopNow();
  const sure = sureOf(row);
  const coat = shop.coats.find((one) => one.id === row.coat);
  const say = [`${coat ? `${CONDITIONS[coat.condition] || coat.condition}, ` : ''}${sure === null ? 'do not touch it' : `not before ${when(sure, now)}`}`, next && h('span', { class: 'sooner also' }, ...comes(next, now))];
  return laterRow(shop, row, { word: 'hands off', cls: 'handsoff', sign: 'handsoff', lead: sure === null ? unsure(row, 'until ') : countdown(sure, '', 'for '), label: 'Why', say });
}

function stalledRow(shop, row, coat, held, handsOff) {
  const place = coat && shop.places.find((one) => one.id === coat.place);
  const air = row.stalled === 'air-unknown' ? `${place ? place.name : 'it hangs nowhere'}: enter its air` : place ? `${place.name} ${airText(place.air)}` : 'it hangs nowhere';
  return laterRow(shop, row, { word: 'stalled', cls: 'held', lead: STALLS[row.stalled] || row.stalled, label: 'Why', say: [`${air}${handsOff ? ', hands off' : ''}`, row.stalled !== 'air-unknown' && h('span', { class: 'sooner' }, `, held ${held}`)] });
}

function heldRow(shop, row, handsOff) {
  const now = shopNow();
  const since = row.since_at ? `since ${when(at(row.since_at), now)}` : '';
  const coat = shop.coats.find((one) => one.id === row.coat);
  if (row.stalled && row.stalled !== 'none') return stalledRow(shop, row, coat, since || 'for more than a day', handsOff);
  if (row.state === 'missed') return laterRow(shop, row, { word: stateWord(row.state, row.do, row.stage), cls: 'held', lead: since, label: 'Look', say: act(row.stage, row.do) });
  if (coat && coat.inspect) return laterRow(shop, { ...row, inspect: true }, { word: 'look at it', cls: 'held', lead: since, label: 'Look', say: coat.inspect_why });
  const until = sureOf(row);
  return laterRow(shop, row, { word: stateWord(row.state, row.do, row.stage), cls: 'held', lead: until === null ? since : countdown(until, '', 'for '), label: 'Why', say: act(row.stage, row.then || row.do) });
}

// One row a piece, so that the list can be read from across the shop: held up, or hands off, or what comes next. What can be done at now says its
// own "hands off", and its next comes after that.
const HELD_RANK = { held: 0, handsoff: 1, next: 2 };
function comingRows(shop, doing) {
  const busy = new Set(doing.map((row) => row.piece));
  const [next, off, held] = ['next', 'not_yet', 'held'].map((name) => racked(shop, shop.lists[name].filter((row) => name === 'held' || !busy.has(row.piece))));
  const of = (rows, piece) => rows.filter((row) => row.piece === piece);
  const pieces = [...new Set([...held, ...off, ...next].map((row) => row.piece))], taken = new Set();
  const rows = [];
  for (const piece of pieces) {
    if (taken.has(piece)) continue;
    const [n, o, u] = [of(next, piece), of(off, piece), of(held, piece)], first = u[0] || o[0] || n[0];
    for (const mate of first.mates || []) taken.add(mate.piece);
    const kind = u.length ? 'held' : o.length ? 'handsoff' : 'next';
    rows.push({ kind, row: first, sure: sureOf(first) ?? Infinity, draw: () => (u.length ? heldRow(shop, u[0], o.length > 0) : o.length ? notYetRow(shop, o[0], n.length ? n : null) : nextRow(shop, n)) });
  }
  return rows.sort((p, q) => HELD_RANK[p.kind] - HELD_RANK[q.kind] || p.sure - q.sure);
}

function lateTape(shop) {
  const ids = [...new Set(shop.lists.now.filter(isLateTape).map((row) => row.piece))];
  const links = ids.flatMap((id, i) => [i ? ', ' : '', h('a', { href: `#piece?id=${id}` }, nameOf(shop, id))]);
  return ids.length > 0 && h('p', { class: 'latetape' }, 'Tape still on? Score its edge first: ', links);
}

// ---- how much of it: what is most pressing at full size, the rest in a line of its own that opens ----

const open = { doing: false, coming: false };
const wide = matchMedia('(min-width: 900px)');
const ROWS_LEAST = 3, REST_PX = 560, ROW_PX = 74, LATER_MORE = 2;
const narrow = matchMedia('(max-width: 1200px)');
function roomFor(name) {
  if (!wide.matches || open[name]) return Infinity;
  const rows = Math.max(ROWS_LEAST, Math.floor((innerHeight - REST_PX) / ROW_PX)) - (narrow.matches ? 1 : 0);
  return name === 'coming' ? rows + LATER_MORE : rows;
}

// The rest, each by its shape, name and word.
const brief = (shop, row, word, sign) => h('li', {}, h('a', { href: openHref(row) }, gate(sign), h('b', {}, titleOf(shop, row)), ' ', word));
function restOf(name, items, count, redraw) {
  if (!items.length && !open[name]) return null;
  const more = h('button', { type: 'button', class: 'switch', 'aria-expanded': String(open[name]), 'data-focus': `more${name}`, onclick: () => { open[name] = !open[name]; redraw(); } }, open[name] ? 'fewer' : `all ${count}`);
  return wide.matches && h('div', { class: 'rest' }, h('ul', {}, items), more);
}

const section = (title, cls, rows, ...under) => rows.length > 0 && h('section', { class: cls, 'aria-label': title }, h('ul', { class: 'rows' }, rows), under);

const tapeFirst = (rows) => [...rows].sort((p, q) => (endOf(p, 'earliest_at') ?? Infinity) - (endOf(q, 'earliest_at') ?? Infinity));

// What can be done, tape last, each as {row, draw, word}.
function doingRows(shop, rows, context) {
  const list = racked(shop, rows.filter((row) => !isTape(row))).map((row) => ({ row, word: act(row.stage, row.do), draw: () => nowRow(shop, row, context) }));
  const tape = tapeFirst(racked(shop, rows.filter(isTape)));
  if (tape.length) list.push({ row: { ...tape[0], rack: { name: 'Tape' } }, word: 'pull it', draw: () => tapeRow(shop, tape) });
  return list;
}

// What not every shop has.
function fetched(name, make) {
  const el = h('div');
  import(`./${name}.js`).then((parts) => el.replaceChildren(make(parts)), () => {});
  return el;
}

export const askTag = (shop) => shop.pieces.length > 0 && tag('May I spray now?', { href: '#check' });

export function renderNow(el, shop, context) {
  const redraw = () => renderNow(el, shop, context);
  const now = shop.lists.now.filter((row) => !isLateTape(row));
  const doing = doingRows(shop, now, context), later = comingRows(shop, now.filter((row) => !isTape(row)));
  const [most, mostLater] = [roomFor('doing'), roomFor('coming')];
  const restDoing = restOf('doing', doing.slice(most).map(({ row, word }) => brief(shop, row, word, gateOf(row.state, row.do, row))), doing.length, redraw);
  const restLater = restOf('coming', later.slice(mostLater).map(({ kind, row }) => brief(shop, row, kind === 'handsoff' ? 'hands off' : kind === 'next' ? `next: ${act(row.stage, row.do)}` : stateWord(row.state, row.do, row.stage), kind === 'handsoff' ? 'handsoff' : gateOf(row.state, row.do, row))), later.length, redraw);
  const nothing = h('p', { class: 'quiet' }, later.length ? 'Nothing to do at a piece right now.' : 'Nothing waits and nothing is open.');
  replace(el, section('Can be done now', 'doing', doing.slice(0, most).map(({ draw }) => draw()), restDoing, lateTape(shop)) || h('section', { class: 'doing' }, shop.pieces.length ? [nothing, lateTape(shop)] : fetched('welcome', ({ welcome }) => welcome(shop))),
    section('Next, not yet, and held up', 'coming', later.slice(0, mostLater).map(({ draw }) => draw()), restLater) || null,
    h('div', { class: 'ask' }, !wide.matches && askTag(shop), shop.mixes.length > 0 && fetched('mixline', ({ mixList }) => mixList(shop)),
      shop.coats.some((coat) => coat.bake && coat.bake.state !== 'cold') && fetched('bakeline', ({ bakeList }) => bakeList(shop))));
  el.classList.toggle('one', !later.length);
}

// ---- notices ----

// What is about people first, then the newest; one that nobody was called for yet says until when.
const noticeOrder = (p, q) => Number(q.safety) - Number(p.safety) || q.id - p.id;
const heldText = (notice) => notice.told_at === null && h('b', { class: 'flag' }, notice.held_until_at ? `nobody is called until ${when(at(notice.held_until_at))}` : 'others are awaited');

// On the first view the subject, and of what is about people the first thing to see to; all of it stands with the notices.
function briefly(notice) {
  if (!notice.subject || notice.subject === notice.text) return notice.text;
  const after = notice.text.startsWith(notice.subject) ? notice.text.slice(notice.subject.length).replace(/^\.\s*/, '') : '';
  return [notice.subject, notice.safety && after ? `. ${after.split(/[;.]/)[0]}. ` : ' ', notice.safety && after && h('a', { href: '#notices' }, 'and more')];
}

export function renderNotices(el, shop, context, most) {
  const list = [...shop.notices].sort(noticeOrder);
  const rows = list.slice(0, most).map((notice) => h('li', { class: notice.safety ? 'notice safety' : 'notice' }, h('div', {}, notice.assumed && h('b', { class: 'flag' }, 'test first'), heldText(notice), most > 1 ? notice.text : briefly(notice), h('small', {}, ` ${when(at(notice.raised_at))}${goneTo(notice)}`)),
    list.length > most && h('a', { href: '#notices' }, `all ${list.length}`),
    tag('Noted', { small: true, 'data-focus': `n${notice.id}`, 'aria-label': `Noted: ${notice.subject || notice.text}`, onclick: () => context.acknowledge(notice.id) })));
  replace(el, list.length ? h('ul', { 'aria-label': 'Notices' }, rows) : null);
}

function goneTo(notice) {
  const told = (notice.deliveries || []).filter((one) => one.delivered_at).map((one) => one.name), not = (notice.deliveries || []).filter((one) => !one.delivered_at).map((one) => one.name);
  return (told.length ? `; sent to ${told.join(', ')}` : '') + (not.length ? `; not yet to ${not.join(', ')}` : '');
}
