// Talks to the shop: one document, one stream that says when to fetch it again, and writes that survive a bad network.
import { setClock } from './clock.js';

export const BASE = '/api/v1';
const POLL_MS = 30e3;
export const RETRY_MS = [2e3, 4e3, 8e3, 15e3, 30e3];
const WAITING = 'coat-waiting-writes';

let etag = null, shop = null, fetching = null, again = false, online = true, asked = 0;
let tell = () => {};

export function currentShop() { return shop; }
export function isOnline() { return online; }

function setOnline(value) {
  if (value === online) return;
  online = value;
  tell('network');
  if (value) flush();
}

// The first document is asked for by the page itself, before its modules run: the monotonic moment at which it came lies a while back. Only of the very first is
// that looked up: of a browser that has kept all the entries it will keep, the newest may be hours old.
function cameAt(url, noted) {
  const begun = asked === 1 ? performance.getEntriesByName(url)[0]?.responseStart : 0;
  return begun > 0 && begun < noted ? begun : noted;
}

async function fetchShop() {
  asked += 1;
  // A test clock may move without a new revision; then the document is always asked for in full.
  const headers = etag && !(shop && shop.test_clock) ? { 'If-None-Match': etag } : {};
  const response = await fetch(`${BASE}/shop`, { headers, cache: 'no-store', signal: AbortSignal.timeout?.(10e3) });
  const noted = performance.now();
  if (response.status === 304) return;
  if (!response.ok) throw new Error(`the shop answered ${response.status}`);
  const document = await response.json();
  etag = response.headers.get('ETag');
  shop = document;
  const rate = document.test_clock ? document.test_clock.rate ?? 0 : 1;
  setClock(Date.parse(document.as_of_at), cameAt(response.url, noted), rate);
  tell('shop');
}

// Fetches the document; calls that come meanwhile are served by one more fetch after it.
export function refresh() {
  if (fetching) { again = true; return fetching; }
  fetching = fetchShop().then(() => setOnline(true), () => setOnline(false)).finally(() => {
    fetching = null;
    if (again) { again = false; refresh(); }
  });
  return fetching;
}

function listen() {
  if (typeof EventSource === 'undefined') return;
  const stream = new EventSource(`${BASE}/events`);
  stream.addEventListener('revision', (event) => {
    let revision = null;
    try { revision = JSON.parse(event.data).revision; } catch { /* a fetch will tell */ }
    const catchUp = () => { if (!shop || revision !== shop.revision || !online) refresh(); };
    if (fetching) fetching.then(catchUp); else catchUp(); // what is under way may have it
  });
  stream.addEventListener('error', () => {
    refresh();
    if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 5e3);
  });
}

export function start(ontell) {
  tell = ontell;
  waiting = stored();
  const first = refresh();
  listen();
  setInterval(refresh, POLL_MS);
  setInterval(() => { if (!online) refresh(); }, 5e3);
  addEventListener('online', refresh);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) refresh(); });
  if (waiting.length) first.then(flush);
}

export async function get(path) {
  const response = await fetch(BASE + path, { cache: 'no-store' });
  const body = await response.json().catch(() => ({}));
  if (!response.ok) throw new Error(body.detail || body.title || `the shop answered ${response.status}`);
  return body;
}

// ---- writes ----

let waiting = []; // [{key, method, path, body, what}], oldest first; kept over a reload
const askers = new Map(); // key -> {resolve, reject} of the form that waits for it
let flushing = false, tries = 0, retryTimer = null;

function stored() {
  try { return JSON.parse(localStorage.getItem(WAITING) || '[]'); } catch { return []; }
}

function store() {
  try { localStorage.setItem(WAITING, JSON.stringify(waiting)); } catch { /* private window: kept in memory */ }
  tell('waiting');
}

export function waitingWrites() { return waiting; }

export function newKey() { // randomUUID is missing where the page came over plain HTTP from another machine
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (b) => b.toString(16).padStart(2, '0')).join('');
}

/* Sends a write under a key of its own. Resolves with the answer; rejects with {detail, field} where the shop refused it. While
 * there is no network it stays pending and is tried again under the same key. `what` says it in words meanwhile. */
export function write(method, path, body, what) {
  const one = { key: newKey(), method, path, body, what };
  waiting.push(one);
  store();
  const answer = new Promise((resolve, reject) => askers.set(one.key, { resolve, reject }));
  flush();
  return answer;
}

function finish(one, settle, value) {
  waiting = waiting.filter((other) => other.key !== one.key);
  store();
  const asker = askers.get(one.key);
  askers.delete(one.key);
  if (asker) asker[settle](value);
  else if (settle === 'reject') tell('refused', { what: one.what, ...value });
}

async function sendOne(one) {
  const response = await fetch(BASE + one.path, { method: one.method, headers: { 'Content-Type': 'application/json', 'Idempotency-Key': one.key }, body: JSON.stringify(one.body), signal: AbortSignal.timeout?.(15e3) });
  if (response.status >= 500 || response.status === 429 || response.status === 408) throw new Error(String(response.status));
  const answer = await response.json().catch(() => ({}));
  if (response.ok) return finish(one, 'resolve', answer);
  return finish(one, 'reject', { detail: answer.detail || answer.title || `The shop answered ${response.status}.`, field: answer.field || '' });
}

// One at a time and in order: a piece must be there before its coat.
async function flush() {
  if (flushing) return;
  flushing = true;
  clearTimeout(retryTimer);
  try {
    while (waiting.length) { await sendOne(waiting[0]); tries = 0; }
    refresh();
  } catch {
    const delay = RETRY_MS[Math.min(tries, RETRY_MS.length - 1)];
    tries += 1;
    retryTimer = setTimeout(flush, delay);
  } finally { flushing = false; }
  tell('waiting');
}

export function retryNow() { tries = 0; flush(); }
export function retrying() { return tries > 0 && waiting.length > 0; }
