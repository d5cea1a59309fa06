// Notes and photos on a piece. A photo is made smaller before it goes out, which bad wifi thanks; the shop keeps only the picture of it.
import { h, tag, replace } from './dom.js';
import { field } from './fields.js';
import { at, fullDate, hhmm } from './clock.js';
import { outcome, send } from './log.js';
import { addPaperStyle } from './tag.js';
import { BASE, get, refresh } from './api.js';
import { newKey, RETRY_MS } from './writes.js';
import { drafted } from './draft.js';

const UPLOAD_MOST_MS = 120e3;

// Resolves with nothing once the shop has it; rejects with what the shop said against it, and `again` where that may pass.
async function uploadOnce(path, { blob, key }) {
  let response = null, answer = null;
  try {
    response = await fetch(BASE + path, { method: 'POST', headers: { 'Content-Type': blob.type, 'Idempotency-Key': key }, body: blob, signal: AbortSignal.timeout?.(UPLOAD_MOST_MS) });
    answer = await response.json();
  } catch { throw { detail: 'There is no connection to the shop.', again: true }; }
  if (!response.ok) throw { detail: answer.detail || `The shop answered ${response.status}.`, again: response.status >= 500 };
}

/* Sends a picture, which is not kept over a reload: tried three times under one key. Rejects as above. */
async function upload(path, one) {
  for (let left = 2; ; left -= 1) {
    try { return await uploadOnce(path, one); } catch (error) { if (!error.again || left === 0) throw error; }
    await new Promise((done) => { setTimeout(done, RETRY_MS[0]); });
  }
}

const SIDE = 2048; // pixels: enough for a run under the rim, and for paper
const SMALL = 600e3, MOST = 4 * 1024 * 1024; // bytes

const opened = new Set(); // folds that stay open when the view is drawn again
const fold = (key, label, kid) => h('details', { open: opened.has(key), ontoggle: (event) => { if (event.target.open) opened.add(key); else opened.delete(key); } }, h('summary', {}, label), kid);

const day = (text) => `${fullDate(at(text))} ${hhmm(at(text))}`;
const seen = new Map(); // piece -> what was read last, so that a view that is drawn again does not blink

// What is sent of a file: turned and made smaller by the browser, where it can.
async function lighter(file) {
  const plain = ['image/jpeg', 'image/png'].includes(file.type);
  if (plain && file.size <= SMALL) return file;
  const bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' }).catch(() => null);
  if (!bitmap) {
    if (plain && file.size <= MOST) return file;
    throw new Error(plain ? 'It is larger than 4 MB, and this browser cannot make it smaller.' : 'This browser cannot read that picture. JPEG and PNG are taken.');
  }
  const scale = Math.min(1, SIDE / Math.max(bitmap.width, bitmap.height));
  const canvas = h('canvas', { width: Math.max(1, Math.round(bitmap.width * scale)), height: Math.max(1, Math.round(bitmap.height * scale)) });
  canvas.getContext('2d').drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  bitmap.close();
  return new Promise((done, fail) => canvas.toBlob((blob) => (blob ? done(blob) : fail(new Error('The picture could not be made smaller.'))), 'image/jpeg', 0.85));
}

// ---- what is there ----

export function figure(photo, name, kids) {
  const words = photo.note || `${name}, ${day(photo.entered_at)}`;
  return h('figure', {}, h('a', { href: `/api/v1/photos/${photo.id}`, target: '_blank', rel: 'noopener' }, h('img', { src: `/api/v1/photos/${photo.id}`, alt: words, loading: kids ? 'lazy' : 'eager' })),
    h('figcaption', {}, photo.note && h('b', {}, photo.note), h('span', {}, day(photo.entered_at)), kids));
}

function forget(piece, photo) {
  const kept = seen.get(piece.id);
  if (kept) kept.photos = kept.photos.filter((one) => one.id !== photo.id);
}

// Twice, since it cannot be undone.
function takeAway(context, piece, photo, says, load) {
  const button = tag('Take away', { small: true, 'aria-label': `Take away: photo ${photo.id}`, 'data-focus': `away${photo.id}`, onclick: async (event) => {
    const el = event.currentTarget;
    if (el.dataset.sure) { if (await send(el, says, context.write('DELETE', `/photos/${photo.id}`, {}, `photo of ${piece.name} taken away`))) { forget(piece, photo); load(); } return; }
    el.dataset.sure = '1';
    el.textContent = 'For good?';
    el.setAttribute('aria-label', `Take away for good: photo ${photo.id}`);
  } });
  return button;
}

function drawKept(box, context, piece, says, load) {
  const kept = seen.get(piece.id);
  if (!kept) return;
  replace(box, kept.notes.length > 0 && h('ol', { class: 'told' }, kept.notes.map((note) => h('li', {}, h('small', {}, day(note.at)), ' ', note.text))),
    kept.photos.length > 0 && h('div', { class: 'photos' }, kept.photos.map((photo) => figure(photo, piece.name, takeAway(context, piece, photo, says, load)))));
}

// ---- what comes to it ----

function noteForm(context, piece, load) {
  const says = outcome();
  return drafted(`note ${piece.id}`, h('form', { class: 'plain', onsubmit: async (event) => {
    event.preventDefault();
    const { text } = event.target.elements;
    if (await send(event.target.querySelector('[type=submit]'), says, context.write('POST', `/pieces/${piece.id}/notes`, { text: text.value.trim() }, `note on ${piece.name}`))) { text.value = ''; load(); }
  } }, field('Note', h('input', { name: 'text', required: true, maxlength: 500, autocomplete: 'off' }), 'what was seen or done; it stays, with its time'), says, h('button', { type: 'submit', class: 'tag' }, 'Note it')));
}

// Chosen here and not in the shop yet, by piece: each {file, note, key}. The part of a piece's page that shows it may be drawn anew meanwhile, or be gone.
const unsent = new Map(), parts = new Map();
const unsentOf = (piece) => { if (!unsent.has(piece.id)) unsent.set(piece.id, []); return unsent.get(piece.id); };
addEventListener('beforeunload', (event) => { if ([...unsent.values()].some((list) => list.length)) event.preventDefault(); });

function tellOf(piece, context, text) {
  const part = parts.get(piece.id);
  if (part.says.isConnected) part.says.textContent = text; else if (text) context.say(`${piece.name}: ${text}`);
}

const several = (count) => (count === 1 ? 'One photo is' : `${count} photos are`);

async function sendAll(context, piece) {
  const list = unsentOf(piece), refused = [];
  if (list.busy) return;
  list.busy = true;
  parts.get(piece.id).drawUnsent();
  let trouble = '';
  while (list.length && !trouble) {
    const [one] = list;
    if (parts.get(piece.id).says.isConnected) tellOf(piece, context, `Sending${list.length > 1 ? `, ${list.length} to go` : ''} …`);
    try {
      one.blob ||= await lighter(one.file);
      await upload(`/pieces/${piece.id}/photos${one.note ? `?note=${encodeURIComponent(one.note)}` : ''}`, one);
      list.shift();
    } catch (error) {
      if (error.again) { trouble = `${several(list.length)} not in the shop yet: ${error.detail}`; continue; }
      list.shift();
      refused.push(`Not kept: ${one.file.name}. ${error.detail || error.message}`);
      parts.get(piece.id).caption.value ||= one.note;
    }
  }
  list.busy = false;
  tellOf(piece, context, [...refused, trouble].filter(Boolean).join(' '));
  parts.get(piece.id).drawUnsent();
  refresh();
  parts.get(piece.id).load();
}

function take(context, piece, input, caption) {
  const note = caption.value.trim();
  unsentOf(piece).push(...[...input.files].map((file) => ({ file, note, key: newKey() })));
  caption.value = '';
  input.value = ''; // so that the same one can be chosen again
  sendAll(context, piece);
}

function drawUnsent(box, context, piece) {
  const list = unsentOf(piece);
  replace(box, list.length > 0 && !list.busy && h('div', { class: 'after' }, h('span', {}, `${several(list.length)} not in the shop yet, and would be lost with this page. `), tag('Send again', { filled: true, 'data-focus': 'sendagain', onclick: () => sendAll(context, piece) })));
}

function photoForm(context, piece, caption) {
  const chooser = (label, more) => h('label', { class: 'tag' }, label, h('input', { type: 'file', accept: 'image/*', class: 'unseen', ...more, onchange: (event) => take(context, piece, event.target, caption) }));
  return h('div', { class: 'plain' }, field('What the next photo shows', caption, 'may stay empty'), h('div', { class: 'after' }, chooser('Take a photo', { capture: 'environment' }), chooser('Choose pictures', { multiple: true })),
    h('p', { class: 'hint' }, 'Where and when a photo was taken, and whose phone it was, is not kept with it.'));
}

// The part of the piece's page.
export function notesAndPhotos(context, piece) {
  addPaperStyle();
  const says = outcome(), box = h('div', {});
  const load = async () => {
    try {
      const [notes, photos] = await Promise.all([get(`/pieces/${piece.id}/notes`), get(`/pieces/${piece.id}/photos`)]);
      seen.set(piece.id, { notes: notes.items, photos: photos.items });
      drawKept(box, context, piece, says, load);
    } catch (error) { says.textContent = `Notes and photos could not be read: ${error.message}`; }
  };
  const again = h('div'), caption = h('input', { name: 'caption', maxlength: 200, autocomplete: 'off', value: parts.get(piece.id)?.caption.value });
  parts.set(piece.id, { says, load, caption, drawUnsent: () => drawUnsent(again, context, piece) });
  drawUnsent(again, context, piece);
  drawKept(box, context, piece, says, load);
  load();
  return h('section', { class: 'group kept', 'aria-label': 'Notes and photos' }, h('h2', {}, 'Notes and photos'), box, says, again, fold(`note ${piece.id}`, 'Add a note', noteForm(context, piece, load)), fold(`photo ${piece.id}`, 'Add a photo', photoForm(context, piece, caption)));
}
