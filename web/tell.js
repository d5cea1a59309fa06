// How you are told: what this page does here, and the channels that reach you elsewhere.
import { h, tag, replace } from './dom.js';
import { field, select } from './fields.js';
import { at, when } from './clock.js';
import { get } from './api.js';
import { outcome, send } from './log.js';
import * as bell from './bell.js';

const KINDS = [['mail', 'a mail'], ['webhook', 'a webhook: signed JSON to an address'], ['mqtt', 'a topic of an MQTT broker'], ['command', 'a program of the machine that runs the service'], ['calendar', 'a calendar that a calendar program fetches']];
const KIND_WORDS = { mail: 'mail', webhook: 'webhook', mqtt: 'MQTT', command: 'program', calendar: 'calendar' };
const TEST_POLL_MS = 500, TEST_POLLS = 130;

export function tellView(el, params, context) {
  const here = h('section', { class: 'group', 'aria-label': 'This page' }), list = h('section', { class: 'group', 'aria-label': 'Channels' });
  replace(el, h('h1', {}, 'How you are told'), here, list, addSection(context, () => drawChannels(list, context)), tag('Back', { href: '#more' }));
  drawHere(here);
  drawChannels(list, context);
  let shown = context.shop.revision;
  return { update() { if (context.shop.revision === shown || document.activeElement?.closest('.view form')) return; shown = context.shop.revision; drawChannels(list, context); } };
}

// ---- this page ----

function notificationWords() {
  switch (bell.notifyState()) {
    case 'granted': return 'This browser shows a notification of its own for each notice, while the page is open somewhere.';
    case 'denied': return 'This browser was told not to show notifications of this page. Its settings for this address change that.';
    case 'default': return 'This browser can show notifications of its own. It asks you first.';
    default: return 'Notifications of the browser cannot be had at this address: browsers allow them only over https, or on the machine itself. The sound works while the page is open; to be reached elsewhere, add a channel.';
  }
}

function drawHere(el) {
  const sound = bell.soundIsOn();
  const tryIt = () => { if (!bell.wakeSound()) says.textContent = 'This browser makes no sound.'; else { bell.ring(); says.textContent = bell.soundIsOn() ? 'Two tones: that is the sound.' : 'The sound is off.'; } };
  const says = outcome();
  replace(el, h('h2', {}, 'This page'),
    h('p', {}, sound ? 'It sounds two tones when something is told while it is open. A browser allows that once you have touched the page.' : 'It makes no sound.'),
    h('p', { class: 'tags' }, tag(sound ? 'Sound off' : 'Sound on', { 'data-focus': 'sound', onclick: () => { bell.setSound(!sound); bell.wakeSound(); drawHere(el); } }), tag('Try the sound', { 'data-focus': 'try', onclick: tryIt }),
      bell.notifyState() === 'default' && tag('Allow notifications', { 'data-focus': 'allow', onclick: () => Notification.requestPermission().then(() => drawHere(el)) })),
    says, h('p', {}, notificationWords()));
}

// ---- channels ----

function stateOf(channel) {
  if (channel.kind === 'calendar') return ['ok', 'fetched by a calendar program'];
  if (channel.failing_since_at) return ['bad', `fails since ${when(at(channel.failing_since_at))}: ${channel.answer || 'no answer'}`];
  if (channel.delivered) return ['ok', `works, the last ${when(at(channel.delivered_at))}`];
  return ['', 'nothing was sent yet'];
}

const targetOf = (channel) => channel.to || channel.target || (channel.argv && channel.argv.join(' ')) || '';

async function drawChannels(el, context) {
  let items = null;
  try { ({ items } = await get('/channels')); } catch (error) { replace(el, h('h2', {}, 'Channels'), h('p', { class: 'outcome' }, error.message)); return; }
  replace(el, h('h2', {}, 'Channels'), items.length ? h('ul', { class: 'tins' }, items.map((channel) => channelRow(channel, context))) : h('p', {}, 'None yet: what is told stands on this page alone.'));
}

function channelRow(channel, context) {
  const says = outcome();
  const [cls, words] = stateOf(channel);
  const remove = (event) => send(event.currentTarget, says, context.write('DELETE', `/channels/${channel.id}`, {}, `channel ${channel.name} removed`));
  return h('li', { class: 'tin channel' }, h('div', {}, h('b', { class: 'name' }, channel.name), ` ${KIND_WORDS[channel.kind]} ${targetOf(channel)}`, h('div', { class: 'reason' }, cls === 'bad' && h('b', { class: 'flag' }, 'fails'), words, channel.waiting > 0 && `; ${channel.waiting} waiting`)),
    channel.kind !== 'calendar' && tag('Test', { small: true, 'aria-label': `Test ${channel.name}`, onclick: (event) => test(event.currentTarget, says, context, { channel: channel.id }) }),
    tag('Remove', { small: true, 'aria-label': `Remove ${channel.name}`, onclick: remove }), says);
}

// Sends a test and shows what the other side says; true where it got through.
async function test(button, says, context, body) {
  const begun = await send(button, says, context.write('POST', '/channel-tests', body, 'test of a channel'));
  if (!begun) return false;
  button.disabled = true;
  says.textContent = 'A test is on its way …';
  let result = begun;
  for (let i = 0; i < TEST_POLLS && !result.done; i += 1) {
    await new Promise((done) => { setTimeout(done, TEST_POLL_MS); });
    result = await get(`/channel-tests/${begun.id}`).catch((error) => ({ done: true, delivered: false, answer: error.message }));
  }
  button.disabled = false;
  says.textContent = result.delivered ? `It got through. The other side says: ${result.answer}` : `It did not get through: ${result.answer}`;
  return result.delivered;
}

// ---- a new one ----

const text = (name, more = {}) => h('input', { name, autocomplete: 'off', maxlength: 511, ...more });

const FIELDS = {
  mail: () => [field('To', text('to', { type: 'email', required: true, maxlength: 255 })), field('Mail server', text('target', { required: true, placeholder: 'smtps://mail.example.org' }), 'smtps://… or smtp://… with TLS from within'), field('User', text('user', { maxlength: 63 })), field('Password', text('secret', { type: 'password', maxlength: 127 })), field('From', text('from', { maxlength: 255 }), 'empty: the user, where that is an address')],
  webhook: () => [field('Address', text('target', { required: true, placeholder: 'https://' }), 'https, or http on the machine itself')],
  mqtt: () => [field('Broker and topic', text('target', { required: true, placeholder: 'mqtts://broker/topic' })), field('User', text('user', { maxlength: 63 })), field('Password', text('secret', { type: 'password', maxlength: 127 }))],
  command: () => [field('Program and its arguments', h('textarea', { name: 'argv', rows: 3, required: true }), 'one a line; it gets the notice as JSON on its standard input')],
  calendar: () => [h('p', {}, 'The secret link is told once, when it is added. Many calendar programs leave alarms out: do not rely on them alone.')],
};

function bodyOf(form, kind) {
  const body = { name: form.elements.name.value.trim(), kind };
  for (const name of ['target', 'to', 'from', 'user', 'secret']) if (form.elements[name]?.value) body[name] = form.elements[name].value.trim();
  if (form.elements.argv) body.argv = form.elements.argv.value.split('\n').map((line) => line.trim()).filter(Boolean);
  if (form.elements.link.value.trim()) body.link = form.elements.link.value.trim();
  return body;
}

function tellOnce(made) {
  const secret = made.calendar_link || made.secret;
  if (!secret) return null;
  const says = outcome();
  const copy = () => (navigator.clipboard ? navigator.clipboard.writeText(secret).then(() => { says.textContent = 'Copied.'; }) : Promise.reject(new Error())).catch(() => { says.textContent = 'Mark it and copy it by hand.'; });
  return h('div', { class: 'once' }, h('p', {}, h('b', {}, made.calendar_link ? 'Its link, told this once: ' : 'The key it signs with, told this once: '), h('code', {}, secret)), tag('Copy', { small: true, onclick: copy }), says);
}

function addSection(context, done) {
  const fields = h('div'), told = h('div', { 'aria-live': 'polite', tabindex: -1 }), says = outcome();
  const kind = select('kind', KINDS, 'mail');
  const draw = () => replace(fields, FIELDS[kind.value]());
  kind.addEventListener('change', draw);
  draw();
  const form = h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const body = bodyOf(form, kind.value);
    const made = await send(form.querySelector('[type=submit]'), says, context.write('POST', '/channels', body, `channel ${body.name}`));
    if (!made) return;
    document.activeElement?.blur();
    replace(told, h('p', {}, `${made.name}: what is told from now on goes there.`), tellOnce(made));
    form.reset();
    draw();
    done();
    told.focus(); // what is told once is in sight, whatever the form has become
  } }, field('What it is called', text('name', { required: true, maxlength: 63 }), 'for example: kitchen'), field('It is', kind), fields,
  field('How this service is reached from there', text('link', { placeholder: 'https://' }), 'name and port, for the link that acknowledges; may stay empty'), says,
  h('div', { class: 'tags' }, tag('Send a test', { 'data-focus': 'test', onclick: (event) => { if (form.reportValidity()) test(event.currentTarget, says, context, bodyOf(form, kind.value)); } }), h('button', { type: 'submit', class: 'tag filled' }, 'Add the channel')));
  return h('section', { class: 'group', 'aria-label': 'Add a channel' }, h('h2', {}, 'Add a channel'), told, form);
}
