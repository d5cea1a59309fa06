// The tins: what is in them, opened when, keeps to when; added, changed, taken away.
import { h, tag, replace } from './dom.js';
import { dayBegins, dayEnds, field, select, toDay } from './fields.js';
import { at, fullDate, rfc3339, shopNow } from './clock.js';
import { isSending, materialChoices, outcome, send } from './log.js';
import { drafted } from './draft.js';

export function tinsView(el, params, context) {
  let shown = null;
  const draw = () => { shown = context.shop.revision; replace(el, parts(params, context)); };
  draw();
  return { update: () => { if (context.shop.revision !== shown && !isSending(el) && !document.activeElement?.closest('.view form')) draw(); } };
}

function parts(params, context) {
  const { shop } = context;
  const tins = [...shop.tins].sort((p, q) => p.material.name.localeCompare(q.material.name) || p.name.localeCompare(q.name));
  return [h('h1', {}, 'Tins'), h('p', { class: 'lead' }, 'A coat that names its tin shows when it was opened and whether it was past its keep-by; tests at the bench then count for that tin.'),
    tins.length ? h('ul', { class: 'tins' }, tins.map((tin) => tinRow(tin, context))) : h('p', {}, 'No tin yet.'),
    h('section', { class: 'group', 'aria-label': 'Add a tin' }, h('h2', {}, 'Add a tin'), addForm(params, context))];
}

// A day that ends is told as that day; its moment is the first of the next.
const keepDay = (tin) => (tin.keep_by_at ? at(tin.keep_by_at) - 1 : null);

function datesText(tin) {
  return [tin.batch && `batch ${tin.batch}`, tin.opened_at ? `opened ${fullDate(at(tin.opened_at))}` : 'not opened yet', tin.keep_by_at ? `keeps to ${fullDate(keepDay(tin))}` : 'keep-by not told'].filter(Boolean).join(', ');
}

function tinRow(tin, context) {
  const says = outcome();
  const change = (body, words) => (event) => send(event.currentTarget, says, context.write('PATCH', `/tins/${tin.id}`, body(), words));
  const remove = (event) => send(event.currentTarget, says, context.write('DELETE', `/tins/${tin.id}`, {}, `${tin.name} taken away`));
  return h('li', { class: 'tin' }, h('div', {}, h('b', { class: 'name' }, tin.name), ` ${tin.material.name}`, tin.past_keep_by && h('b', { class: 'flag' }, 'past its keep-by'), h('div', { class: 'reason' }, datesText(tin))),
    !tin.opened_at && tag('Opened now', { small: true, 'aria-label': `${tin.name}: opened now`, onclick: change(() => ({ opened_at: rfc3339(shopNow()) }), `${tin.name} opened`) }),
    h('details', {}, h('summary', { 'aria-label': `Change ${tin.name}` }, 'Change'), changeForm(tin, context),
      h('p', {}, 'Empty, or gone off? It leaves the list; coats put on from it keep it.'), tag('Take it away', { small: true, 'aria-label': `Take it away: ${tin.name}`, onclick: remove })), says);
}

// ---- the forms ----

const text = (name, value, more = {}) => h('input', { name, value: value || '', maxlength: 63, autocomplete: 'off', ...more });
const date = (name, ms, more = {}) => h('input', { type: 'date', name, value: ms === null ? '' : toDay(ms), ...more });
const notToCome = (event) => event.target.setCustomValidity(event.target.value > toDay(shopNow()) ? 'a day that is still to come' : '');

function bodyOf(form) {
  const value = (name) => form.elements[name].value.trim();
  const opened = value('opened') ? dayBegins(value('opened')) : null, keep = value('keep') ? dayEnds(value('keep')) : null;
  return { name: value('name'), batch: value('batch'), opened_at: opened === null ? null : rfc3339(Math.min(opened, shopNow())), keep_by_at: keep === null ? null : rfc3339(keep) };
}

function dateFields(tin) {
  return h('div', { class: 'pair' }, field('Opened on', date('opened', tin && tin.opened_at ? at(tin.opened_at) : null, { oninput: notToCome }), 'empty: not yet'), field('Keeps to', date('keep', tin ? keepDay(tin) : null), 'as printed on it'));
}

function changeForm(tin, context) {
  const says = outcome();
  return drafted(`tin ${tin.id}`, h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const body = bodyOf(event.target);
    // The hour of opening stays where the day was not changed.
    if (tin.opened_at && event.target.elements.opened.value === toDay(at(tin.opened_at))) body.opened_at = tin.opened_at;
    document.activeElement?.blur();
    await send(event.target.querySelector('[type=submit]'), says, context.write('PATCH', `/tins/${tin.id}`, body, `${tin.name} changed`));
  } }, field('What is written on it', text('name', tin.name, { required: true })), field('Batch', text('batch', tin.batch), 'as printed; may stay empty'), dateFields(tin), says, h('button', { type: 'submit', class: 'tag small' }, 'Keep')));
}

function addForm(params, context) {
  const says = outcome();
  const materials = materialChoices(context.shop);
  return drafted('new tin', h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const form = event.target;
    const body = { ...bodyOf(form), material: Number(form.elements.material.value) };
    document.activeElement?.blur();
    if (await send(form.querySelector('[type=submit]'), says, context.write('POST', '/tins', body, `tin ${body.name}`))) context.say(`${body.name}: in the list of tins.`);
  } }, field('What is in it', select('material', materials.map((one) => [one.value, one.text]), params.material)), field('What is written on it', text('name', '', { required: true }), 'for example: black 2'),
  field('Batch', text('batch', ''), 'as printed; may stay empty'), dateFields(null), says, h('button', { type: 'submit', class: 'tag filled' }, 'Add the tin')));
}
