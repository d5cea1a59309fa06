// One piece, all of it: its coats, their stages and why, what to mind, the record, and what can be corrected.
import { h, tag, replace } from './dom.js';
import { field, number, select } from './fields.js';
import { at, longDay, hhmm, rfc3339, shopNow, span, when } from './clock.js';
import { airText, amount, film } from './units.js';
import { cautionList, cautionsOf } from './plate.js';
import { band } from './film.js';
import { CONDITIONS, doWord, gateOf, stateWord, STALLS } from './words.js';
import { stoodText } from './still.js';
import { STAGES, STAGE_WORDS } from './stagewords.js';
import { gate, picture } from './gates.js';
import { isSending, outcome, send } from './log.js';
import { drafted } from './draft.js';
import { benchTest, whyDetails } from './why.js';
import { get } from './api.js';
import { notesAndPhotos } from './photos.js';

// What was unfolded stays so when the piece is drawn again after a reading.
const unfolded = new Set();
function fold(key, label, kid, ontoggle = null) {
  return h('details', { open: unfolded.has(key), ontoggle: (event) => { unfolded[event.target.open ? 'add' : 'delete'](key); ontoggle?.(event); } }, h('summary', {}, label), kid);
}

export function pieceView(el, params, context) {
  const id = Number(params.id);
  let shown = 0;
  unfolded.clear();
  const draw = () => { shown = context.shop.revision; replace(el, content(context, id)); };
  draw();
  return { update: () => { if (context.shop.revision !== shown && !isSending(el) && !el.contains(document.activeElement?.closest('input,select,form'))) draw(); } };
}

function content(context, id) {
  const { shop } = context;
  const piece = shop.pieces.find((one) => one.id === id);
  if (!piece) return [h('h1', {}, 'No such piece'), h('p', {}, 'It may be finished: its record stays.'), h('div', { class: 'after' }, tag('Its record', { href: `#record?piece=${id}` }), tag('Back', { href: '#' }))];
  const coats = shop.coats.filter((coat) => coat.piece === id).sort((p, q) => at(q.first_at) - at(p.first_at));
  const place = shop.places.find((one) => one.id === piece.place);
  return [h('div', { class: 'viewhead' }, h('h1', {}, piece.name), h('div', { class: 'after' }, tag('Its record', { href: `#record?piece=${id}` }), tag('Its tag', { href: `#hangtag?piece=${id}` }), tag('Log a coat', { filled: true, href: `#log?piece=${id}` }))),
    h('p', { class: 'lead' }, `${place ? `Hangs in ${place.name}, ${airText(place.air)}` : 'Hangs nowhere yet'}. Old finish: ${piece.old_finish === 'not tested' ? 'not tested, so it counts as lead' : piece.old_finish}. ${piece.note}`),
    coats.length ? coats.map((coat) => coatCard(context, coat)) : h('p', {}, 'No coat on it.'), notesAndPhotos(context, piece), pieceActions(context, piece, coats)];
}

// ---- a coat ----

function coatLine(coat) {
  const passes = coat.passes > 1 ? `, ${coat.passes} passes` : '';
  const thick = coat.dry_um !== null ? `, ${film(coat.dry_um)} dry` : coat.wet_um !== null ? `, ${film(coat.wet_um)} wet` : '';
  const used = coat.amount_ml !== null ? `, ${amount(coat.amount_ml)}` : '';
  return `${coat.film}${passes}${thick}${used}, put on ${when(at(coat.last_at))} in ${airText(coat.air)} (${coat.air.basis})`;
}

function coatCard(context, coat) {
  const { shop } = context;
  const status = coat.status === 'covered' ? `covered by coat ${coat.covered_by}` : CONDITIONS[coat.condition] || coat.condition;
  return h('article', { class: `coat ${coat.status}`, 'aria-label': `Coat ${coat.id}` },
    h('h2', {}, `${coat.id}. ${coat.material.name}`, h('small', {}, `${coat.role}${coat.area ? `, ${coat.area}` : ''}: ${status}`)),
    h('p', {}, coatLine(coat)),
    coat.stall && coat.stall !== 'none' && h('p', {}, h('b', {}, `Stalled: ${STALLS[coat.stall] || coat.stall}.`), ' It does not move on until the air lets it.'),
    coat.stood_still.length > 0 && h('p', {}, `Stood still: ${stoodText(coat, (moment) => when(at(moment)))}.`),
    coat.inspect && h('p', {}, h('b', {}, 'Look at it:'), ` ${coat.inspect_why}.`),
    !coat.material.newest && h('p', {}, 'A newer version of this material is there. This coat keeps the one it was logged under.'),
    coat.status === 'on' ? stageTable(coat) : fold(`stages ${coat.id}`, 'Its stages', stageTable(coat)),
    whyDetails(coat), coat.status === 'on' && benchTest(context, coat),
    toMind(shop, coat),
    bakeLine(coat), record(coat), coat.status === 'on' && coatActions(context, coat));
}

// What each caution asks for stands in sight; the reasons of two dozen would bury what can be done to the coat.
function toMind(shop, coat) {
  const list = cautionsOf(coat.cautions, shop.cautions);
  if (coat.status !== 'on') return fold(`mind ${coat.id}`, 'What to mind', cautionList(list));
  return [h('h3', {}, 'What to mind'), h('ul', { class: 'mind' }, list.map((one) => h('li', {}, picture(one.code), h('b', {}, one.act)))),
    fold(`reasons ${coat.id}`, 'The reasons, and where they come from', cautionList(list))];
}

// Where a coat is baked: the way to its review, and how far it is.
function bakeLine(coat) {
  if (coat.bake) return h('p', {}, tag(`Bake ${coat.bake.id}`, { small: true, href: `#bake?id=${coat.bake.id}` }), ` ${coat.bake.baked ? 'baked' : 'not yet baked through'}${coat.bake.reviewed ? '' : ', without a review'}${coat.bake.cool_at && at(coat.bake.cool_at) > shopNow() ? `; not to be touched before ${when(at(coat.bake.cool_at))}` : ''}`, !coat.bake.baked && coat.bake.ended_at && coat.status === 'on' && h('span', {}, ' ', h('a', { href: `#bake?coat=${coat.id}` }, 'bake it again')));
  return coat.status === 'on' && coat.stages.some((stage) => stage.stage === 'bake') && h('p', {}, tag('Review its bake', { href: `#bake?coat=${coat.id}` }));
}

function stageTable(coat) {
  const stages = [...coat.stages].sort((p, q) => STAGES.indexOf(p.stage) - STAGES.indexOf(q.stage));
  const rows = stages.map((stage) => stageRow(stage));
  return h('div', { class: 'scroll', tabindex: 0, role: 'region', 'aria-label': 'Stages' }, h('table', { class: 'stages' }, h('thead', {}, h('tr', {}, ['Gate', 'Stage', 'Now', 'When', 'Label says', 'Progress', 'Air'].map((text) => h('th', { scope: 'col' }, text === 'Gate' ? h('span', { class: 'unseen' }, text) : text)))), h('tbody', {}, rows)));
}

const CLOSES = (stage, i) => { const next = stage.spans[i + 1]; return next && !['go', 'test'].includes(next.do); };

function spanText(stage, one, i) {
  const until = band(one.until);
  const does = doWord(stage.stage, one.do);
  const since = i ? band(stage.spans[i - 1].until) : null;
  if (until === null) return since && since.passed && since.likely !== null ? `${does} since ${when(since.likely)}` : does;
  if (until.likely === null) return does === 'wait' ? 'wait: no end in the air it has' : does;
  if (until.passed) return `${does} until ${when(until.likely)}`;
  if (CLOSES(stage, i)) return `${does} until ${when(until.earliest)}`;
  if (one.until.latest_at === null) return `${does} until about ${when(until.likely)}, no latest moment is known; not before ${when(until.earliest)}`;
  if (until.latest - until.earliest < 120e3) return `${does} until ${when(until.latest)}`;
  return `${does} until about ${when(until.likely)}, at the latest ${when(until.latest)}; not before ${when(until.earliest)}`;
}

function limitText(stage) {
  const limits = stage.spans.map((one) => one.until).filter(Boolean);
  const floor = limits.map((until) => at(until.label_floor_at)).find((ms) => ms !== null && ms !== undefined);
  const ceiling = limits.map((until) => at(until.label_ceiling_at)).find((ms) => ms !== null && ms !== undefined);
  return [floor ? `not before ${when(floor)}` : '', ceiling ? `not after ${when(ceiling)}` : ''].filter(Boolean).join(', ') || 'no limit told';
}

function stageRow(stage) {
  const now = stage.spans[stage.current];
  const flags = [stage.stalled && stage.stalled !== 'none' ? STALLS[stage.stalled] || stage.stalled : '', stage.no_window ? 'no window in this air' : '', stage.disputed ? 'sources disagree: read the can' : '', stage.prepared ? 'scuffed in time' : ''].filter(Boolean);
  const air = stage.air || { measured_h: 0, assumed_h: 0 };
  const live = now && now.do === 'wait' && stage.progress !== null;
  return h('tr', {}, h('td', {}, gate(gateOf(stage.state, now ? now.do : '', stage))), h('th', { scope: 'row' }, STAGE_WORDS[stage.stage] || stage.stage),
    h('td', {}, h('b', {}, stateWord(stage.state, now ? now.do : '', stage.stage)), flags.length > 0 && h('small', {}, ` ${flags.join('; ')}`)),
    h('td', {}, stage.spans.slice(stage.current).filter((one, i) => i === 0 || one.do !== 'go' || one.until).map((one, i) => h('div', {}, spanText(stage, one, i + stage.current)))), h('td', { 'data-is': 'Label' }, limitText(stage)),
    h('td', {}, live ? `${Math.floor(stage.progress * 100)} %` : '', live && h('progress', { max: 1, value: String(stage.progress), 'aria-label': `progress of ${stage.stage}` })),
    h('td', { 'data-is': 'Air' }, `${span(air.measured_h * 3600e3)} measured`, air.assumed_h > 0 && h('div', {}, `${span(air.assumed_h * 3600e3)} assumed`)));
}

function record(coat) {
  const list = h('div', {}, 'reading …');
  const load = async () => {
    try {
      const { items } = await get(`/coats/${coat.id}/entries`);
      replace(list, h('ol', {}, (items || []).map((entry) => h('li', {}, `${entry.material?.name || coat.material.name}, ${entry.film}, ${entry.last_at ? `${longDay(at(entry.last_at))} ${hhmm(at(entry.last_at))}` : ''}${entry.struck_why ? `; struck: ${entry.struck_why}` : ''}`))));
    } catch (error) { list.textContent = `The record could not be read: ${error.message}`; }
  };
  return fold(`record ${coat.id}`, `The record: ${coat.entry} ${coat.entry === 1 ? 'entry' : 'entries'}`, list, (event) => { if (event.target.open) load(); });
}

// What was done at the end of a long page is told at its head, where the piece stands as it is now. A form that holds the keyboard would keep it as it was.
function written(context, text) {
  unfolded.clear();
  document.getElementById('view').focus({ preventScroll: true });
  context.redraw();
  context.say(`${text}, written down.`);
  scrollTo(0, 0);
}

function coatActions(context, coat) {
  const says = outcome();
  const why = h('input', { name: 'why', required: true, maxlength: 500, autocomplete: 'off' });
  const strike = drafted(`strike ${coat.id}`, h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    if (await send(event.target.querySelector('[type=submit]'), says, context.write('POST', `/coats/${coat.id}/strike`, { why: why.value.trim() }, `strike coat ${coat.id}`))) written(context, `Coat ${coat.id} struck`);
  } }, field('Why is the entry wrong?', why, 'it stays in the record, struck out'), h('button', { type: 'submit', class: 'tag' }, 'Strike it')));
  const sanded = async (event) => { if (await send(event.currentTarget, says, context.write('POST', `/coats/${coat.id}/sandings`, { at: rfc3339(shopNow()) }, `sanded coat ${coat.id}`))) written(context, `Coat ${coat.id} sanded`); };
  return h('div', {}, h('div', { class: 'after' }, tag('Sanded just now', { onclick: sanded })),
    fold(`wrong ${coat.id}`, 'This entry is wrong', strike), says);
}

// ---- the piece ----

function pieceActions(context, piece, coats) {
  const { shop } = context;
  const others = shop.places.filter((place) => !place.removed_at && place.id !== piece.place);
  const says = outcome();
  const move = others.length > 0 && h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const moved = await send(event.target.querySelector('[type=submit]'), says, context.write('POST', `/pieces/${piece.id}/moves`, { place: Number(event.target.elements.place.value), at: rfc3339(shopNow()) }, `${piece.name} carried over`));
    if (moved?.vapour?.length) context.go(`vapour?place=${moved.place}&after=moved`); // wet coat in an oven
    else if (moved) written(context, `${piece.name} hangs in ${others.find((place) => place.id === moved.place)?.name}`);
  } }, field('Carry it to', select('place', others.map((place) => [place.id, `${place.name}: ${airText(place.air)}`]))), h('button', { type: 'submit', class: 'tag' }, 'Hangs there now'));
  const stay = [[0, 'down to the iron'], ...coats.slice(1).map((coat) => [coat.id, `down to coat ${coat.id}, ${coat.material.name}`])];
  const strip = coats.length > 0 && h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const down = Number(event.target.elements.down.value);
    if (await send(event.target.querySelector('[type=submit]'), says, context.write('POST', `/pieces/${piece.id}/strips`, { ...(down ? { down_to: down } : {}), at: rfc3339(shopNow()) }, `${piece.name} stripped`))) written(context, `${piece.name} stripped`);
  } }, field('Stripped', select('down', stay)), h('button', { type: 'submit', class: 'tag' }, 'Stripped just now'));
  const remove = h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    if (!await send(event.target.querySelector('[type=submit]'), says, context.write('DELETE', `/pieces/${piece.id}`, {}, `${piece.name} out of use`))) return;
    context.say(`${piece.name} is off the line. Its record stands under "Finished pieces".`);
    context.go('');
  } }, h('p', {}, 'It leaves the line. Its record stays.'), h('button', { type: 'submit', class: 'tag' }, 'Take it off the line'));
  return h('section', { class: 'pieceactions', 'aria-label': 'The piece itself' }, says, move && fold('carry', 'Carry it elsewhere', move), strip && fold('strip', 'It was stripped', strip), fold('finish', 'It is finished', remove));
}
