// Shop time, and moments as people say them. The page never trusts the wall clock of the device: shop time runs on
// from the last document by the monotonic clock, so that setting a phone's clock changes nothing here.
const MIN = 60e3, HOUR = 3600e3, DAY = 86400e3;
const JUMP_MS = 2000; // smaller differences are the network's, not the shop's

let base = null; // {shop: ms, mono: ms, rate}
let zone = 'UTC';
const formats = new Map();

export function clockKnown() { return base !== null; }

export function shopNow() {
  return base === null ? Date.now() : base.shop + (performance.now() - base.mono) * base.rate;
}

// as_of_at of a document, and the monotonic moment at which it came. Small steps back are ignored: a countdown never jumps.
export function setClock(asOfMs, monoMs, rate) {
  const told = asOfMs + (performance.now() - monoMs) * rate;
  if (base !== null && base.rate === rate && Math.abs(told - shopNow()) < JUMP_MS * Math.max(1, rate)) return;
  base = { shop: asOfMs, mono: monoMs, rate };
}

export function setZone(name) {
  if (name === zone) return;
  try {
    new Intl.DateTimeFormat('en-GB', { timeZone: name });
    formats.clear();
    texts.clear();
    zone = name;
  } catch { zone = 'UTC'; }
}

export function zoneName() { return zone; }

// Texts of moments, kept for a while: a line that is moved asks for the same ones frame by frame.
const texts = new Map();
function text(key, ms, options) {
  const id = `${key}${Math.floor(ms / MIN)}`;
  if (texts.size > 3000) texts.clear();
  if (!texts.has(id)) texts.set(id, format(key, options).format(ms));
  return texts.get(id);
}

function format(key, options) {
  if (!formats.has(key)) formats.set(key, new Intl.DateTimeFormat('en-GB', { timeZone: zone, hourCycle: 'h23', ...options }));
  return formats.get(key);
}

// {year, month, day, hour, minute} on the shop's wall.
export function local(ms) {
  const parts = format('parts', { year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric' }).formatToParts(ms);
  return Object.fromEntries(parts.filter((p) => p.type !== 'literal').map((p) => [p.type, Number(p.value)]));
}

// Each device has its own clock face: 24 hours until somebody chooses 12.
const FACE_KEY = 'coat-clock';
let twelve = false;
export const isTwelve = () => twelve;
export function startFace() {
  try { twelve = localStorage.getItem(FACE_KEY) === '12'; } catch { /* private window */ }
}
export function toggleFace() {
  twelve = !twelve;
  try { localStorage.setItem(FACE_KEY, twelve ? '12' : '24'); } catch { /* kept until the page is left */ }
}

// "14:35", or "2:35 pm"
export const hhmm = (ms) => (twelve ? text('hm12', ms, { hour: 'numeric', minute: '2-digit', hourCycle: 'h12' }) : text('hm', ms, { hour: '2-digit', minute: '2-digit' }));
// An hour of the day on an axis: "14", or "2 pm".
export const hourText = (hour) => (twelve ? `${hour % 12 || 12} ${hour < 12 ? 'am' : 'pm'}` : String(hour).padStart(2, '0'));
export const weekday = (ms) => text('wd', ms, { weekday: 'short' });
export const longDay = (ms) => text('ld', ms, { weekday: 'short', day: 'numeric', month: 'long' });
export const fullDate = (ms) => text('fd', ms, { day: 'numeric', month: 'short', year: 'numeric' });
export const shortDate = (ms) => text('sd', ms, { weekday: 'short', day: 'numeric', month: 'short' });
const dayKey = (ms) => text('dk', ms, { year: 'numeric', month: 'numeric', day: 'numeric' });

// "14:35" today, "Sat 13:55" within six days, else "Sat 28 Nov 13:55".
export function when(ms, now = shopNow()) {
  if (ms === null || Number.isNaN(ms)) return 'not known';
  if (dayKey(ms) === dayKey(now)) return hhmm(ms);
  return `${Math.abs(ms - now) < 6 * DAY ? weekday(ms) : shortDate(ms)} ${hhmm(ms)}`;
}

export function at(text) { return text ? Date.parse(text) : null; }
export const rfc3339 = (ms) => new Date(Math.round(ms)).toISOString();

// Rounded down, so that what is left is never told longer than it is. Never negative.
export function left(ms) {
  if (ms <= 0) return null;
  if (ms < 10 * MIN) return `${Math.floor(ms / MIN)} min ${String(Math.floor((ms % MIN) / 1000)).padStart(2, '0')} s`;
  return span(ms);
}

export function span(ms) {
  const minutes = Math.max(0, Math.floor(ms / MIN));
  if (minutes < 60) return `${minutes} min`;
  if (minutes < 48 * 60) return minutes % 60 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${minutes / 60} h`;
  const hours = Math.floor(minutes / 60);
  return hours % 24 ? `${Math.floor(hours / 24)} d ${hours % 24} h` : `${hours / 24} d`;
}

// Local time less UTC, of whole minutes.
export function offset(ms) {
  const p = local(ms);
  return Date.UTC(p.year, p.month - 1, p.day, p.hour, p.minute) - Math.floor(ms / MIN) * MIN;
}

const offsets = new Map(); // by six hours
function offsetIn(block, ms) {
  const id = `${zone}${block}`;
  if (offsets.size > 2000) offsets.clear();
  if (!offsets.has(id)) offsets.set(id, offset(ms));
  return offsets.get(id);
}

// Whole local hours between two moments, each with its hour of the day: for the axis and the nights.
export function localHours(fromMs, toMs) {
  const hours = [];
  let shift = 0, shiftFor = -1;
  for (let t = Math.ceil(fromMs / HOUR) * HOUR; t <= toMs; t += HOUR) {
    const block = Math.floor(t / (6 * HOUR));
    if (block !== shiftFor) { shift = offsetIn(block, t); shiftFor = block; }
    const onTheHour = t - (((shift % HOUR) + HOUR) % HOUR);
    hours.push({ ms: onTheHour, hour: new Date(onTheHour + shift).getUTCHours() });
  }
  return hours;
}
