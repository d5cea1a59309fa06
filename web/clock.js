// Shop time, and moments as people say them. The page never trusts the wall clock of the device: shop time runs on
// from the last document by the monotonic clock; setting a phone's clock changes nothing here once the shop has answered again.
const MIN = 60e3, HOUR = 3600e3, DAY = 86400e3;
const JUMP_MS = 2000; // smaller differences are the network's, not the shop's

let base = null; // {shop: ms, mono: ms, rate, apart: ms}
let zone = 'UTC';
const walls = new Map(); // what is said of a moment, by its minute

export function clockKnown() { return base !== null; }

// How long this device slept since the shop told its time. The monotonic clock of many stands still meanwhile, the wall clock does not: what that went further
// is counted, until the shop tells its time again.
const SLEPT_MS = 5000; // less is the wall clock being put right
export const apart = () => Date.now() - performance.now();
export function slept() {
  const ms = base === null ? 0 : apart() - base.apart;
  return ms > SLEPT_MS ? ms : 0;
}

export function shopNow() {
  return base === null ? Date.now() : base.shop + (performance.now() - base.mono + slept()) * base.rate;
}

// as_of_at of a document, the monotonic moment at which it came, and how far apart the clocks were when it was asked for. Small steps are ignored: a countdown never jumps.
export function setClock(asOfMs, monoMs, rate, before = apart()) {
  const was = base, now = shopNow(), mono = performance.now();
  base = { shop: asOfMs, mono: monoMs, rate, apart: before };
  if (was !== null && was.rate === rate && Math.abs(shopNow() - now) < JUMP_MS * Math.max(1, rate)) base = { shop: now, mono, rate, apart: apart() };
}

// One format for all that is said of a moment. The first that a browser makes is dear: it is made while the page still waits for its other modules.
const formatOf = (name) => new Intl.DateTimeFormat('en-GB', { timeZone: name, hourCycle: 'h23', year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric' });
let format = formatOf(zone);

export function setZone(name) {
  if (name === zone) return;
  try { format = formatOf(name); zone = name; } catch { zone = 'UTC'; format = formatOf(zone); }
  walls.clear();
}

export function zoneName() { return zone; }

// {year, month, day, hour, minute, weekday} on the shop's wall, kept for a while: a line that is moved asks for the same ones frame by frame.
export function local(ms) {
  const minute = Math.floor(ms / MIN);
  if (walls.size > 3000) walls.clear();
  if (!walls.has(minute)) walls.set(minute, wallAt(minute * MIN));
  return walls.get(minute);
}

function wallAt(ms) {
  const wall = Object.fromEntries(format.formatToParts(ms).filter((p) => p.type !== 'literal').map((p) => [p.type, Number(p.value)]));
  return { ...wall, weekday: new Date(Date.UTC(wall.year, wall.month - 1, wall.day)).getUTCDay() };
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

const two = (number) => String(number).padStart(2, '0');
// "14:35", or "2:35 pm", as a clock on the wall has it.
export function face(ms) {
  const { hour, minute } = local(ms);
  return twelve ? `${hour % 12 || 12}:${two(minute)} ${hour < 12 ? 'am' : 'pm'}` : `${two(hour)}:${two(minute)}`;
}
// The same of a moment that is told: in the hour that comes twice when the clocks go back, with which of the two it is.
export function hhmm(ms) {
  const like = (other) => local(other).hour === local(ms).hour;
  return face(ms) + (like(ms - HOUR) ? ' winter time' : like(ms + HOUR) ? ' summer time' : '');
}
// An hour of the day on an axis: "14", or "2 pm".
export const hourText = (hour) => (twelve ? `${hour % 12 || 12} ${hour < 12 ? 'am' : 'pm'}` : two(hour));
const DAYS = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'];
const MONTHS = ['January', 'February', 'March', 'April', 'May', 'June', 'July', 'August', 'September', 'October', 'November', 'December'];
const shortMonth = (month) => MONTHS[month - 1].slice(0, 3);
export const weekday = (ms) => DAYS[local(ms).weekday];
export const dayMonth = (ms) => `${local(ms).day} ${shortMonth(local(ms).month)}`;
export const longDay = (ms) => `${weekday(ms)} ${local(ms).day} ${MONTHS[local(ms).month - 1]}`;
export const fullDate = (ms) => `${dayMonth(ms)} ${local(ms).year}`;
export const shortDate = (ms) => `${weekday(ms)} ${dayMonth(ms)}`;

// "14:35" today, "Sat 13:55" within six days, else "Sat 28 Nov 13:55".
export function when(ms, now = shopNow()) {
  if (ms === null || Number.isNaN(ms)) return 'not known';
  if (fullDate(ms) === fullDate(now)) return hhmm(ms);
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

const BLOCK = 6 * HOUR, offsets = new Map(); // at the begin of each block
function offsetIn(block) {
  const id = `${zone}${block}`;
  if (offsets.size > 2000) offsets.clear();
  if (!offsets.has(id)) offsets.set(id, offset(block * BLOCK));
  return offsets.get(id);
}

// Whole local hours between two moments, each with its hour of the day: for the axis and the nights.
export function localHours(fromMs, toMs) {
  const hours = [];
  for (let t = Math.ceil(fromMs / HOUR) * HOUR; t <= toMs; t += HOUR) {
    const block = Math.floor(t / BLOCK), even = offsetIn(block);
    const shift = even === offsetIn(block + 1) ? even : offset(t); // the clocks change within it
    const onTheHour = t - (((shift % HOUR) + HOUR) % HOUR);
    hours.push({ ms: onTheHour, hour: new Date(onTheHour + shift).getUTCHours() });
  }
  return hours;
}
