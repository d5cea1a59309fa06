// What is written down. Each write is kept by itself until the shop has answered, so that a bad network, a reload or a tab that is closed loses nothing, and no
// tab writes over what another keeps; whichever tab is open sends it. What the shop refuses while its form is gone stays until somebody has read it.
import { h } from './dom.js';
import { at, rfc3339, shopNow, when } from './clock.js';
import { refusal } from './fields.js';
import { BASE, isOnline, refresh } from './api.js';

export const RETRY_MS = [2e3, 4e3, 8e3, 15e3, 30e3];
const SEND_MOST_MS = 15e3, OTHERS_MS = 30e3;
const KEPT = 'coat-write-', OLD = 'coat-waiting-writes'; // a list of all, as it was kept once

let all = []; // {key, order, method, path, body, what, at, refused?, loose?: this browser does not keep it}, oldest first
const askers = new Map(); // key -> {resolve, reject} of the form that waits for it
let flushing = false, tries = 0, retryTimer = null, told = () => {};

const waiting = () => all.filter((one) => one.refused === undefined);
export const isWaiting = (path) => waiting().some((one) => one.path === path);

// ---- what is kept ----

function parsed(text) { try { return JSON.parse(text); } catch { return null; } }

function kept() {
  try { return Object.keys(localStorage).filter((name) => name.startsWith(KEPT)).map((name) => parsed(localStorage.getItem(name))).filter(Boolean); } catch { return []; }
}

function keep(one) {
  all = [...all.filter((other) => other.key !== one.key), one];
  try { localStorage.setItem(KEPT + one.key, JSON.stringify(one)); } catch { one.loose = true; }
  told();
}

function forget(one) {
  all = all.filter((other) => other.key !== one.key);
  try { localStorage.removeItem(KEPT + one.key); } catch { /* it never was there */ }
  told();
}

// What other tabs keep by now; what they have brought to the shop is none of ours any more, unless a form here still waits for the answer.
function lookAround() {
  const there = new Map(kept().map((one) => [one.key, one]));
  all = all.filter((one) => one.loose || askers.has(one.key) || there.has(one.key)).map((one) => (one.loose || askers.has(one.key) ? one : there.get(one.key)));
  for (const one of there.values()) if (!all.some((mine) => mine.key === one.key)) all.push(one);
  all.sort((p, q) => p.order - q.order);
  told();
}

function takeOld() {
  try {
    for (const [order, one] of (parsed(localStorage.getItem(OLD)) || []).entries()) keep({ ...one, order });
    localStorage.removeItem(OLD);
  } catch { /* nothing is kept here */ }
}

// Where the browser keeps nothing, leaving loses it: the browser asks first.
function stay(event) { if (all.some((one) => one.loose)) event.preventDefault(); }

export function startWrites(ontold) {
  told = ontold;
  takeOld();
  lookAround();
  addEventListener('storage', ({ key }) => { if (key === null || key.startsWith(KEPT)) { lookAround(); if (waiting().length) retryTimer ||= setTimeout(flush, OTHERS_MS); } });
  addEventListener('beforeunload', stay);
  flush();
}

// ---- sending ----

export function newKey() { // randomUUID is missing where the page came over plain HTTP from another machine
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, '0')).join('');
}

/* Sends a write under a key of its own. Resolves with the answer; rejects with {detail, field, one} where the shop refused it, of a number
 * outside its range with {value, least, most} as well. While there is no network it stays pending and is tried again under the same key.
 * `what` says it in words meanwhile. `then` is a second write {path, body, what} that follows it, with ID in its path for the id of what the
 * first made. */
export function write(method, path, body, what, then = null) {
  const one = { key: newKey(), order: orderOf(), method, path, body, what, then, at: rfc3339(shopNow()) };
  const answer = new Promise((resolve, reject) => askers.set(one.key, { resolve, reject }));
  keep(one);
  flush();
  return answer;
}

const orderOf = () => Math.max(Date.now(), ...all.map((other) => other.order + 1));
// Under a key that comes of the first's, so that of two tabs that both sent that both send the same.
const follow = ({ key, then, at: entered }, id) => keep({ key: `${key}-then`, order: orderOf(), method: 'POST', path: then.path.replace('ID', id), body: then.body, what: then.what, at: entered });

// For a form that has gone before its answer came.
export function keepRefusal({ one, detail, ...told }) { keep({ ...one, refused: detail, ...told }); }

function finish(one, settle, value) {
  const asker = askers.get(one.key);
  askers.delete(one.key);
  if (settle === 'resolve' && one.then) follow(one, value.id);
  forget(one);
  if (asker) asker[settle](value);
  else if (settle === 'reject') keepRefusal(value);
}

// Only JSON is the shop's own answer: what a gateway, or another machine at its address, says in its place is not taken for one.
async function sendOne(one) {
  const response = await fetch(BASE + one.path, { method: one.method, headers: { 'Content-Type': 'application/json', 'Idempotency-Key': one.key }, body: JSON.stringify(one.body), signal: AbortSignal.timeout?.(SEND_MOST_MS) });
  if (response.status >= 500 || response.status === 429 || response.status === 408 || !/json/.test(response.headers.get('Content-Type'))) throw new Error(String(response.status));
  const answer = await response.json();
  if (response.ok) return finish(one, 'resolve', answer);
  const { detail, title, field = '', value, least, most } = answer;
  return finish(one, 'reject', { detail: detail || title || `The shop answered ${response.status}.`, field, value, least, most, one });
}

function isDoneElsewhere(one) {
  try { return !one.loose && !askers.has(one.key) && localStorage.getItem(KEPT + one.key) === null; } catch { return false; }
}

// One at a time and in order: a piece must be there before its coat.
export async function flush() {
  if (flushing) return;
  flushing = true;
  clearTimeout(retryTimer);
  retryTimer = null;
  let sent = 0;
  try {
    for (let one = waiting()[0]; one; one = waiting()[0]) {
      if (isDoneElsewhere(one)) { forget(one); continue; }
      await sendOne(one);
      tries = 0;
      sent += 1;
    }
  } catch {
    retryTimer = setTimeout(flush, RETRY_MS[Math.min(tries, RETRY_MS.length - 1)]);
    tries += 1;
  } finally { flushing = false; }
  if (!waiting().length) tries = 0;
  if (sent) refresh();
  told();
}

function retryNow() { tries = 0; flush(); }

// ---- in words ----

// "air: temp c 21, rh pct 50", as the shop names it.
function valueText(value) {
  if (Array.isArray(value)) return value.map(valueText).join('; ');
  if (value !== null && typeof value === 'object') return Object.entries(value).map(([name, one]) => `${name.replaceAll('_', ' ')} ${valueText(one)}`).join(', ');
  return value === null ? 'nothing' : /^\d{4}-\d\d-\d\dT[\d:.]+Z$/.test(value) ? when(Date.parse(value)) : String(value);
}
const typed = (body) => Object.entries(body || {}).map(([name, value]) => h('li', {}, `${name.replaceAll('_', ' ')}: ${valueText(value)}`));
const isSlow = () => waiting().length > 0 && (tries > 0 || !isOnline());

// The lines of what waits, and of what was refused.
export function writesSaid() {
  const loose = waiting().some((one) => one.loose);
  const lines = all.filter((one) => one.refused !== undefined).map((one) => h('div', { class: 'net' }, h('b', {}, 'Not written, the shop refused it: '), `${one.what}${one.at ? `, entered ${when(at(one.at))}` : ''}. ${refusal({ ...one, detail: one.refused })} `,
    h('details', {}, h('summary', {}, 'What was typed'), h('ul', {}, typed(one.body))), h('button', { type: 'button', class: 'link', onclick: () => forget(one) }, 'OK')));
  if (isSlow()) lines.unshift(h('p', { class: 'net' }, h('b', {}, 'Not written yet: '), waiting().map((one) => one.what).join('; '), '. It is sent again until the shop has it. ', loose && h('b', {}, 'Keep this page open until then: this browser keeps nothing. '), h('button', { type: 'button', class: 'link', onclick: retryNow }, 'try now')));
  return lines;
}
