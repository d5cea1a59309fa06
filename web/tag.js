// The tag that hangs on the piece: two sides of 80 by 140 mm, black only. What it says cannot be taken back, so it says moments with their day, openings
// at their latest and closings at their earliest.
import { h, tag, replace } from './dom.js';
import { at, hhmm, shopNow, shortDate } from './clock.js';
import { airText, temp } from './units.js';
import { railStage, stageOf } from './film.js';
import { BAKE_STATES } from './bakewords.js';
import { STAGE_WORDS } from './stagewords.js';
import { doWord } from './words.js';

const COATS_SHOWN = 6; // on the back
const GATES_SHOWN = 3;

let style = null;
// Resolves when the style is there: nothing is shown, and printed, without it.
export function addPaperStyle() {
  style ||= new Promise((done) => {
    const link = h('link', { rel: 'stylesheet', href: '/assets/paper.css', onload: done, onerror: () => { style = null; link.remove(); done(); } });
    document.head.append(link);
  });
  return style;
}

export const dated = (ms) => `${shortDate(ms)} ${hhmm(ms)}`;
const isOn = (coat) => coat.status === 'on';
const opens = (does) => does === 'go' || does === 'test';

// ---- when it may be handled ----

// The end of the wait for `handle`: {ms} at its latest; {ms: null} where none is known, with `comes` if it comes in the air it has; null where the material does not say.
function handleOf(coat) {
  const stage = stageOf(coat, 'handle');
  const i = stage ? stage.spans.findIndex((span, n) => n + 1 < stage.spans.length && opens(stage.spans[n + 1].do)) : -1;
  if (i < 0) return null;
  const until = stage.spans[i].until;
  return { ms: until ? at(until.latest_at) : null, comes: Boolean(until?.likely_at), assumed: (stage.air && stage.air.assumed_h > 0) || false };
}

/* {title, moment, small}: of all coats that lie open the last to be ready, and of a part out of the oven when it is cool. */
export function handling(coats, now) {
  const open = coats.filter(isOn);
  if (!open.length) return { title: 'No coat on it', moment: '', small: 'The old finish may hold lead: gloves, and wash your hands.' };
  const bakes = open.map((coat) => coat.bake).filter(Boolean);
  if (bakes.some((bake) => BAKE_STATES[bake.state]?.inside)) return { title: 'Do not handle', moment: 'it is in the oven', small: 'Print the tag again when it has come out.' };
  const found = open.map(handleOf);
  const hot = bakes.filter((bake) => bake.state === 'cooling').map((bake) => (bake.cool_at ? { ms: at(bake.cool_at) } : { ms: null }));
  const told = [...found.filter(Boolean), ...hot];
  const silent = open.filter((coat, i) => !found[i] && !coat.bake).map((coat) => coat.material.name);
  const ask = silent.length ? `${silent.join(', ')}: no figure, read the label. ` : '';
  const unsure = told.filter((one) => one.ms === null);
  if (unsure.length && unsure.every((one) => one.comes)) return { title: 'Do not handle', moment: 'no end known yet', small: `${ask}Enter its air, and print the tag again.` };
  if (unsure.length) return { title: 'Do not handle', moment: 'no end in sight in this air', small: `${ask}Look at the page again when it is warmer or drier.` };
  if (!told.length) return { title: 'Do not handle', moment: 'before the label says so', small: 'No figure is known for it here.' };
  const ms = Math.max(...told.map((one) => one.ms));
  const assumed = found.some((one) => one && one.assumed) ? 'Rests on air that is partly assumed. ' : '';
  return { title: ms <= now ? 'May be handled since' : 'Do not handle before', moment: dated(ms), small: `${ask}${assumed}Try a hidden spot first. Worked out from the air it had, never before the label.` };
}

// ---- the gate of the top coat ----

const ON_PAPER = { go: 'may go on', wipe: 'wipe with solvent first' }; // for whoever reads it elsewhere

function beginOf(stage, i) {
  const until = stage.spans[i - 1].until;
  return until ? at(opens(stage.spans[i].do) ? until.latest_at : until.earliest_at) : null;
}

/* Lines that begin with what to do: ["may go on from Fri …", "scuff first from Sat …"]. */
export function gateLines(stage, now) {
  const lines = [];
  for (let i = stage.current; i < stage.spans.length && lines.length < GATES_SHOWN; i += 1) {
    const does = stage.spans[i].do, words = ON_PAPER[does] || doWord(stage.stage, does);
    if (i === stage.current) {
      if (does !== 'wait' || i > 0) lines.push(`${words} now`);
      continue;
    }
    const ms = beginOf(stage, i);
    if (ms === null) { if (opens(does)) lines.push(`${words}: ${stage.spans[i - 1].until?.likely_at ? 'not known yet' : 'not in the air it has'}`); break; }
    lines.push(`${words} from ${ms <= now ? 'now' : dated(ms)}`);
  }
  return lines;
}

function gateBox(coat, now) {
  const stage = coat && railStage(coat, null);
  const lines = stage && stage.state !== 'used' ? gateLines(stage, now) : [];
  if (!lines.length) return null;
  return h('div', { class: `papergate ${stage.stage === 'leaf' ? 'finger' : ''}` }, h('b', {}, STAGE_WORDS[stage.stage]), lines.map((line) => h('div', {}, line)));
}

// ---- the two sides ----

const leadText = (piece) => (piece.old_finish === 'not tested' ? ['not tested, ', h('b', {}, 'so it counts as lead')] : piece.old_finish);

function front(shop, piece, coats, now) {
  const place = shop.places.find((one) => one.id === piece.place);
  const top = coats.filter(isOn).sort((p, q) => at(q.last_at) - at(p.last_at))[0];
  const says = handling(coats, now);
  const codes = top ? top.cautions : shop.shop_cautions;
  const acts = codes.slice(0, 4).map((code) => shop.cautions[code]?.act || code);
  return h('section', { class: 'side', 'aria-label': 'Front' }, h('div', { class: 'eyelet' }), h('h2', {}, piece.name), h('p', { class: 'where' }, place ? place.name : 'hangs nowhere yet'),
    h('div', { class: 'handle' }, h('b', {}, says.title), h('strong', {}, says.moment), h('small', {}, says.small)),
    top && h('div', { class: 'topcoat' }, h('span', {}, 'Top coat'), h('b', {}, top.material.name), h('span', {}, `${top.film}, ${top.application}, ${dated(at(top.last_at))}${top.area ? `, ${top.area}` : ''}`),
      h('span', {}, top.bake && top.bake.peak_c ? `baked, up to ${temp(top.bake.peak_c)}` : `${airText(top.air)} when it went on`)),
    gateBox(top, now),
    h('div', { class: 'foot' }, h('div', {}, h('img', { class: 'code', src: `/api/v1/pieces/${piece.id}/code.svg`, alt: `Code that leads to ${piece.name} on the page` }), h('small', {}, `as of ${dated(now)}`)), h('ul', {}, acts.map((act) => h('li', {}, act)))));
}

function back(piece, coats) {
  const iron = coats.filter((coat) => coat.status === 'on' || coat.status === 'covered').sort((p, q) => at(p.last_at) - at(q.last_at));
  const before = Math.max(0, iron.length - COATS_SHOWN);
  const size = iron.length && iron[iron.length - 1].role === 'size';
  const lines = [...(size ? ['Tack passed at', 'Leaf laid at'] : ['Next coat at', 'Scuffed at']), 'By', 'Note', ...(iron.length < 4 ? ['', ''] : [])];
  return h('section', { class: 'side', 'aria-label': 'Back' }, h('div', { class: 'eyelet' }), h('h2', {}, 'What is on the iron'),
    h('ul', { class: 'iron' }, h('li', {}, 'Old finish: ', leadText(piece)), before > 0 && h('li', {}, `${before} ${before === 1 ? 'coat' : 'coats'} before these: the code leads to them`),
      iron.slice(before).map((coat) => h('li', { class: 'one' }, h('b', {}, coat.material.name), h('span', {}, `${coat.area ? `${coat.area}, ` : ''}${dated(at(coat.last_at))}`)))),
    h('div', { class: 'lines' }, lines.map((text) => h('p', { class: 'write' }, text))), h('p', { class: 'paperdeferral' }, 'The product label, the safety data sheet and local rules come before this tag.'));
}

// ---- the view ----

const alone = () => ['localhost', '127.0.0.1', '[::1]'].includes(location.hostname);

export function tagView(el, params, context) {
  const id = Number(params.piece);
  const draw = () => {
    const { shop } = context;
    const piece = shop.pieces.find((one) => one.id === id);
    if (!piece) { replace(el, h('h1', {}, 'No such piece'), h('p', {}, 'It may have been taken out of use: its record stays. '), tag('Its record', { href: `#record?piece=${id}` })); return; }
    const coats = shop.coats.filter((coat) => coat.piece === id), now = shopNow();
    replace(el, h('div', { class: 'viewhead' }, h('h1', {}, `The tag of ${piece.name}`), h('div', { class: 'after' }, tag('Back', { href: `#piece?id=${id}` }), tag('Print', { filled: true, 'data-focus': 'print', onclick: () => print() }))),
      h('p', { class: 'lead' }, 'Two sides of 80 by 140 mm: print, cut, and put them back to back. It says what was known when it was printed; after a cold night print it again.'),
      alone() && h('p', { class: 'hint' }, `The code leads to ${location.origin}, which only this machine can open.`),
      h('div', { class: 'paper' }, front(shop, piece, coats, now), back(piece, coats)));
  };
  const styled = addPaperStyle().then(draw);
  return { update() { styled.then(draw); } };
}
