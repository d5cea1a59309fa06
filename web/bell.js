// Rings for what the shop tells while this page is open: two tones, a mark in the title, and the browser's own notification where that is allowed.
// Once for each notice in one browser, however many of its tabs are open; never for what was told before it looked.
const SEEN = 'coat-told-up-to', RUNG = 'coat-rung', SOUND = 'coat-sound', TITLE_MARK = '(!) ';
const CLAIM_MS = 120; // longer than two tabs take to see each other's claim

let audio = null;
const me = Math.random().toString(36).slice(2);

function stored(key) { try { return localStorage.getItem(key); } catch { return null; } }
function store(key, value) { try { localStorage.setItem(key, value); } catch { /* a browser that keeps nothing: each tab rings for itself */ } }

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

async function tell(notices) {
  const key = notices.map((notice) => notice.id).join(',');
  store(RUNG, `${key} ${me}`); // the last tab that claims it rings, alone
  await new Promise((done) => { setTimeout(done, CLAIM_MS); });
  if (stored(RUNG) !== null && stored(RUNG) !== `${key} ${me}`) return;
  ring();
  markTitle();
  for (const notice of notices) notify(notice);
}

// Called with each document of the shop.
export function hear(shop) {
  const told = shop.notices.filter((notice) => notice.told_at !== null);
  const newest = told.reduce((last, notice) => (notice.told_at > last ? notice.told_at : last), '');
  const seen = stored(SEEN);
  if (seen === null || seen === '' || newest > seen) store(SEEN, newest || shop.as_of_at);
  if (seen === null) return; // the first look: nothing of it is news
  const fresh = told.filter((notice) => notice.told_at > seen);
  if (fresh.length) tell(fresh);
}

addEventListener('pointerdown', wakeSound);
addEventListener('keydown', wakeSound);
document.addEventListener('visibilitychange', () => { if (!document.hidden) unmarkTitle(); });
