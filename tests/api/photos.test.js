// Notes and photos of a piece: what comes in, what stays, and that no photo tells where it was taken.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { at, expect, openShop, refused } = require('./scene');
const { checkAnswerOf } = require('./openapi');
const { asFromAPhone, plainJpeg, telltales } = require('./pictures');

async function send(shop, piece, bytes, { type = 'image/jpeg', note, headers = {} } = {}) {
  const target = `/api/v1/pieces/${piece.id}/photos${note ? `?note=${encodeURIComponent(note)}` : ''}`;
  const response = await fetch(shop.url + target, { method: 'POST', headers: { ...(type && { 'content-type': type }), ...headers }, body: bytes });
  const text = await response.text();
  const answer = { status: response.status, headers: response.headers, text, body: JSON.parse(text) };
  checkAnswerOf('POST', target, answer);
  return answer;
}

const bytesOf = async (shop, photo, headers) => { const response = await fetch(`${shop.url}/api/v1/photos/${photo.id}`, { headers }); return { response, bytes: Buffer.from(await response.arrayBuffer()) }; };

test('given a photo with its position, owner and a film behind it, then what is kept is the picture and which way is up', async (t) => {
  const shop = await openShop(t);
  const wheel = await shop.addPiece('mill wheel');
  const sent = asFromAPhone(plainJpeg(), 6);
  assert.ok(telltales(sent).length >= 5, 'the picture that is sent tells all of it');
  const photo = await expect(send(shop, wheel, sent, { note: 'rim before blasting' }), 201);
  assert.deepEqual([photo.type, photo.width, photo.height, photo.note], ['image/jpeg', 16, 8, 'rim before blasting']);
  const { response, bytes } = await bytesOf(shop, photo);
  assert.equal(response.headers.get('content-type'), 'image/jpeg');
  assert.equal(response.headers.get('x-content-type-options'), 'nosniff');
  assert.deepEqual(telltales(bytes), []);
  assert.equal(bytes.length, photo.bytes);
  assert.ok(bytes.includes(Buffer.from([0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, 6])), 'which way is up');
  assert.ok(bytes.length < sent.length - 100);
  assert.equal((await bytesOf(shop, photo, { 'if-none-match': response.headers.get('etag') })).response.status, 304);
  const record = await expect(shop.get(`/api/v1/pieces/${wheel.id}/record`), 200);
  assert.deepEqual(record.photos, [photo]);
  assert.deepEqual((await expect(shop.get(`/api/v1/pieces/${wheel.id}/photos`), 200)).items, [photo]);
});

test('given the same photo sent twice over bad wifi, then it is kept once; taken away, it is gone for good', async (t) => {
  const shop = await openShop(t);
  const wheel = await shop.addPiece('mill wheel');
  const headers = { 'idempotency-key': 'photo-of-the-rim' };
  const first = await expect(send(shop, wheel, plainJpeg(), { headers }), 201);
  assert.deepEqual(await expect(send(shop, wheel, plainJpeg(), { headers }), 201), first);
  await expect(send(shop, wheel, asFromAPhone(plainJpeg()), { headers }), 422);
  assert.equal((await expect(shop.get(`/api/v1/pieces/${wheel.id}/photos`), 200)).items.length, 1);
  await expect(shop.del(`/api/v1/photos/${first.id}`), 200);
  assert.equal((await bytesOf(shop, first)).response.status, 404);
  await expect(shop.del(`/api/v1/photos/${first.id}`), 404);
  const next = await expect(send(shop, wheel, plainJpeg()), 201);
  assert.notEqual(next.id, first.id, 'a number is never used again');
});

test('what is no photo, too large, told as something else or from elsewhere is refused, and nothing is kept', async (t) => {
  const shop = await openShop(t);
  const wheel = await shop.addPiece('mill wheel');
  const jpeg = plainJpeg();
  await refused(shop, send(shop, wheel, Buffer.from('GIF89a')), 422, { detail: /no JPEG and no PNG/ });
  await refused(shop, send(shop, wheel, jpeg.subarray(0, jpeg.length - 2)), 422, { detail: /cut short/ });
  await refused(shop, send(shop, wheel, jpeg, { type: 'application/json' }), 415, { detail: /image\/jpeg or image\/png/ });
  await refused(shop, send(shop, wheel, jpeg, { type: 'text/plain' }), 415);
  await refused(shop, send(shop, wheel, Buffer.concat([jpeg, Buffer.alloc(4 * 1024 * 1024)])), 413);
  await refused(shop, send(shop, wheel, jpeg, { note: 'x'.repeat(512) }), 422, { field: 'note' });
  await refused(shop, shop.raw('POST', `/api/v1/pieces/${wheel.id}/photos`, 'x', { 'content-type': 'image/jpeg', 'sec-fetch-site': 'cross-site' }), 403);
  await refused(shop, shop.raw('POST', `/api/v1/pieces/${wheel.id}/notes`, 'x', { 'content-type': 'image/jpeg' }), 415);
  await expect(send(shop, { id: 99 }, jpeg), 404);
  assert.deepEqual((await expect(shop.get(`/api/v1/pieces/${wheel.id}/photos`), 200)).items, []);
});

test('a piece has 24 photos at most, and a finished one gets no more', async (t) => {
  const shop = await openShop(t);
  const wheel = await shop.addPiece('mill wheel');
  for (let i = 0; i < 24; i += 1) await expect(send(shop, wheel, plainJpeg()), 201);
  await refused(shop, send(shop, wheel, plainJpeg()), 409, { detail: /24 photos/ });
  await expect(shop.del(`/api/v1/pieces/${wheel.id}`), 200);
  await expect(send(shop, wheel, plainJpeg()), 422);
  assert.equal((await expect(shop.get(`/api/v1/pieces/${wheel.id}/record`), 200)).photos.length, 24);
});

test('notes stand in the record with their moment; an empty one or one from the future is refused', async (t) => {
  const shop = await openShop(t);
  const wheel = await shop.addPiece('mill wheel');
  const path = `/api/v1/pieces/${wheel.id}/notes`;
  const first = await expect(shop.post(path, { text: 'two spokes were brazed before it came', at: at('07:30') }), 201);
  const second = await expect(shop.post(path, { text: '  blasted with fine garnet  ' }), 201);
  assert.deepEqual([first.at, second.at, second.text], [at('07:30'), at('08:00'), 'blasted with fine garnet']);
  assert.deepEqual((await expect(shop.get(`/api/v1/pieces/${wheel.id}/record`), 200)).notes, [first, second]);
  await refused(shop, shop.raw('POST', path, { text: '   ' }), 422, { field: 'text' });
  await refused(shop, shop.raw('POST', path, { text: 'x', at: at('09:00') }), 422, { field: 'at' });
  await refused(shop, shop.raw('POST', path, { text: 'x'.repeat(512) }), 422, { field: 'text' });
  await refused(shop, shop.raw('POST', path, {}), 422, { field: 'text' });
});

test('given photos and notes, then all of it is there after a start anew, to the byte', async (t) => {
  const { startDaemon, scratchFolder } = require('./daemon');
  const folder = scratchFolder();
  t.after(() => require('node:fs').rmSync(folder, { recursive: true, force: true }));
  const before = await startDaemon({ db: `${folder}/shop.coat`, testClock: at('08:00') });
  const { body: wheel } = await before.post('/api/v1/pieces', { name: 'mill wheel' });
  const photo = (await send(before, wheel, asFromAPhone(plainJpeg(), 3))).body;
  await before.post(`/api/v1/pieces/${wheel.id}/notes`, { text: 'blasted' });
  const record = (await before.get(`/api/v1/pieces/${wheel.id}/record`)).body;
  const { bytes } = await bytesOf(before, photo);
  await before.stop();
  const later = await startDaemon({ db: `${folder}/shop.coat`, testClock: at('08:00') });
  try {
    assert.deepEqual((await later.get(`/api/v1/pieces/${wheel.id}/record`)).body, record);
    assert.deepEqual((await bytesOf(later, photo)).bytes, bytes);
  } finally { await later.stop(); }
});
