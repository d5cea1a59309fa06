// Rings for what the shop tells while this page is open: two tones, a mark in the title, and the browser's own notification where that is allowed.
// Once for each notice in one browser, however many of its tabs are open; never for what was told before it looked.
import { at } from './clock.js';

const SEEN = 'coat-told-up-to', SOUND = 'coat-sound', TITLE_MARK = '(!) ';
const CLAIMS = 'coat-rung', KEPT_MS = 30 * 864e5;

let audio = null;

function stored(key) { try { return localStorage.getItem(key); } catch { return null; } }
function store(key, value) { try { localStorage.setItem(key, value); } catch { /* a browser that keeps nothing: each load of the page looks for the first time */ } }

export const soundIsOn = () => stored(SOUND) !== 'off';
export const setSound = (on) => store(SOUND, on ? 'on' : 'off');
export const canNotify = () => typeof Notification !== 'undefined' && isSecureContext;
export const notifyState = () => (canNotify() ? Notification.permission : 'impossible');

// A browser lets a page sound only after it was touched.
export function wakeSound() {
  const Audio = globalThis.AudioContext || globalThis.webkitAudioContext;
  if (!Audio) return false;
  audio ||= new Audio();
  if (audio.state === 'suspended') audio.resume().catch(() => {});
  return true;
}

export const soundIsAwake = () => audio !== null && audio.state === 'running';

function tone(at, hertz) {
  const swing = audio.createOscillator(), volume = audio.createGain();
  swing.frequency.value = hertz;
  volume.gain.setValueAtTime(0, at);
  volume.gain.linearRampToValueAtTime(0.25, at + 0.02);
  volume.gain.linearRampToValueAtTime(0, at + 0.35);
  swing.connect(volume).connect(audio.destination);
  swing.start(at);
  swing.stop(at + 0.4);
}

export function ring() {
  if (!soundIsOn() || audio === null) return;
  tone(audio.currentTime + 0.05, 660);
  tone(audio.currentTime + 0.45, 880);
}

function notify(notice) {
  if (notifyState() !== 'granted') return;
  try { new Notification(notice.subject, { body: notice.text, tag: `coat-notice-${notice.id}`, requireInteraction: notice.safety }); } catch { /* some browsers only let a worker do it: the sound is there */ }
}

function markTitle() {
  if (!document.title.startsWith(TITLE_MARK)) document.title = TITLE_MARK + document.title;
}

export function unmarkTitle() {
  if (document.title.startsWith(TITLE_MARK)) document.title = document.title.slice(TITLE_MARK.length);
}

// ---- once in a browser ----

// Each telling of a notice is a key of its own, which only one tab can add: the database of the browser puts them in order, where what is kept per page does not.
const keyOf = (notice) => [notice.told_at, notice.id];
const done = (request) => new Promise((resolve, reject) => { request.onsuccess = () => resolve(request.result); request.onerror = () => reject(request.error); });
let claims = null;

function openClaims() {
  if (claims) return claims;
  const asked = indexedDB.open(CLAIMS, 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore(CLAIMS);
  claims = done(asked);
  claims.then((db) => db.transaction(CLAIMS, 'readwrite').objectStore(CLAIMS).delete(IDBKeyRange.upperBound([new Date(Date.now() - KEPT_MS).toISOString()])), () => {});
  return claims;
}

// Those of the notices that no tab has told yet; they count as told from here on.
async function claim(notices) {
  const db = await openClaims();
  const kept = db.transaction(CLAIMS, 'readwrite').objectStore(CLAIMS);
  const mine = await Promise.all(notices.map(async (notice) => {
    if (await done(kept.count(keyOf(notice)))) return null;
    kept.put(true, keyOf(notice));
    return notice;
  }));
  return mine.filter(Boolean);
}

async function tell(notices) {
  const mine = await claim(notices).catch(() => notices); // a browser that keeps nothing: each tab rings for itself
  if (!mine.length) return;
  ring();
  markTitle();
  for (const notice of mine) notify(notice);
}

// ---- what is news ----

const heard = new Set();

// Called with each document of the shop. What was told in the very moment of the newest may still be news.
export function hear(shop) {
  const told = shop.notices.filter((notice) => notice.told_at !== null);
  const seen = stored(SEEN), seenAt = seen ? at(seen) : null;
  const newest = told.reduce((last, notice) => (at(notice.told_at) > at(last) ? notice.told_at : last), seen || shop.as_of_at);
  if (newest !== seen) store(SEEN, newest);
  const fresh = told.filter((notice) => !heard.has(keyOf(notice).join()) && (seenAt === null || at(notice.told_at) >= seenAt));
  for (const notice of fresh) heard.add(keyOf(notice).join());
  if (!fresh.length) return;
  if (seenAt === null) claim(fresh).catch(() => {}); // the first look: nothing of it is news, in no tab
  else tell(fresh);
}

addEventListener('pointerdown', wakeSound);
addEventListener('keydown', wakeSound);
document.addEventListener('visibilitychange', () => { if (!document.hidden) unmarkTitle(); });
