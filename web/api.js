// Talks to the shop: one document, and one stream that says when to fetch it again.
import { apart, setClock, slept } from './clock.js';

export const BASE = '/api/v1';
const POLL_MS = 30e3;
const WHOLE_MS = 5 * 60e3; // so often the document is asked for in full, unchanged or not: only then does the shop tell its time

let etag = null, wholeAt = 0, shop = null, fetching = null, again = false, online = true, asked = 0;
let tell = () => {};

export function currentShop() { return shop; }
export function isOnline() { return online; }

function setOnline(value) {
  if (value === online) return;
  online = value;
  tell('network');
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
  const headers = etag && !(shop && shop.test_clock) && !slept() && performance.now() - wholeAt < WHOLE_MS ? { 'If-None-Match': etag } : {}, before = apart();
  const response = await fetch(`${BASE}/shop`, { headers, cache: 'no-store', signal: AbortSignal.timeout?.(10e3) });
  const noted = performance.now();
  if (response.status === 304) return;
  if (!response.ok) throw new Error(`the shop answered ${response.status}`);
  const document = await response.json();
  etag = response.headers.get('ETag');
  wholeAt = noted;
  shop = document;
  const rate = document.test_clock ? document.test_clock.rate ?? 0 : 1;
  setClock(Date.parse(document.as_of_at), cameAt(response.url, noted), rate, before);
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
    etag = null; // it may come back with another record, of the same revision
    refresh();
    if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 5e3);
  });
}

export function start(ontell) {
  tell = ontell;
  refresh();
  listen();
  setInterval(refresh, POLL_MS);
  setInterval(() => { if (!online) refresh(); }, 5e3);
  addEventListener('online', refresh);
  document.addEventListener('visibilitychange', () => { if (!document.hidden) refresh(); });
}

export async function get(path) {
  const response = await fetch(BASE + path, { cache: 'no-store', signal: AbortSignal.timeout?.(30e3) }).catch(() => { throw new Error('there is no connection to the shop'); });
  const body = await response.json().catch(() => ({}));
  if (!response.ok) throw new Error(body.detail || body.title || `the shop answered ${response.status}`);
  return body;
}
