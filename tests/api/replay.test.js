// A phone on bad wifi sends a write again: it is done once and answered alike.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { startDaemon, scratchFolder } = require('./daemon');
const { openShop, expect, at } = require('./scene');

async function bench(t) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const body = await shop.addPiece('mill body', { place: shed.id });
  const lid = await shop.addPiece('hopper lid', { place: shed.id });
  const enamel = await shop.builtin('alkyd-enamel');
  return { shop, shed, body, lid, enamel };
}

const same = (a, b) => {
  assert.equal(b.status, a.status);
  assert.equal(b.headers.get('location'), a.headers.get('location'));
  assert.deepEqual(b.body, a.body);
};

test('the same key with the same body logs one coat a piece', async (t) => {
  const { shop, shed, body, lid, enamel } = await bench(t);
  const document = { pieces: [body.id, lid.id], material: enamel.id, place: shed.id, last_at: at('07:00'), air: { temp_c: 18, rh_pct: 55 } };
  const first = await shop.post('/api/v1/coats', document, { 'idempotency-key': 'phone-1' });
  assert.equal(first.status, 201);
  const revision = await shop.revision();
  same(first, await shop.post('/api/v1/coats', document, { 'idempotency-key': 'phone-1' }));
  assert.equal(await shop.revision(), revision);
  assert.equal((await shop.shop()).coats.length, 2);
  const other = await shop.post('/api/v1/coats', document, { 'idempotency-key': 'phone-2' });
  assert.equal(other.status, 201);
  assert.equal((await shop.shop()).coats.length, 4);
});

test('the same key with another body or to another address is refused', async (t) => {
  const { shop, body, enamel } = await bench(t);
  const headers = { 'idempotency-key': 'phone-1' };
  await expect(shop.post('/api/v1/coats', { pieces: [body.id], material: enamel.id }, headers), 201);
  const revision = await shop.revision();
  const answer = await shop.post('/api/v1/coats', { pieces: [body.id], material: enamel.id, passes: 2 }, headers);
  assert.equal(answer.status, 422, answer.text);
  assert.equal((await shop.post('/api/v1/pieces', { name: 'wheel' }, headers)).status, 422);
  assert.equal(await shop.revision(), revision);
});

test('a key whose write was refused may be used for the corrected one', async (t) => {
  const { shop, body, enamel } = await bench(t);
  const headers = { 'idempotency-key': 'phone-1' };
  assert.equal((await shop.raw('POST', '/api/v1/coats', { pieces: [body.id], material: enamel.id, passes: 0 }, headers)).status, 422);
  await expect(shop.post('/api/v1/coats', { pieces: [body.id], material: enamel.id, passes: 1 }, headers), 201);
});

test('each kind of write answers again from what it made', async (t) => {
  const { shop, shed, body, lid, enamel } = await bench(t);
  const [coat] = await shop.log(body, enamel, { last_at: at('06:00') });
  const loft = await shop.addPlace('loft');
  const attic = await shop.addPlace('attic');
  const tin = { name: 'black gloss', class: 'alkyd-enamel' };
  const { id: own } = await expect(shop.post('/api/v1/materials', { ...tin, name: 'red gloss' }), 201);
  await shop.log(lid, await shop.builtin('spray-enamel'), { air: { temp_c: 22, rh_pct: 50 } });
  await shop.goTo(at('10:00'));
  const notice = (await shop.shop()).notices[0];
  assert.ok(notice, 'a notice to put aside');
  const { id: rack } = await expect(shop.post('/api/v1/racks', { name: 'one', pieces: [body.id] }), 201);
  const writes = [
    ['PATCH', '/api/v1/shop', { lead_closing_min: 45 }], ['POST', '/api/v1/places', { name: 'booth' }], ['PATCH', `/api/v1/places/${shed.id}`, { volume_m3: 40 }],
    ['POST', `/api/v1/places/${shed.id}/readings`, { items: [{ at: at('07:00'), temp_c: 18, rh_pct: 50 }, { at: at('07:30'), temp_c: 18, rh_pct: 50 }] }],
    ['POST', '/api/v1/pieces', { name: 'wheel', place: shed.id }], ['PATCH', `/api/v1/pieces/${lid.id}`, { note: 'chipped' }],
    ['POST', `/api/v1/pieces/${body.id}/moves`, { place: loft.id }], ['POST', '/api/v1/racks', { name: 'two', pieces: [body.id] }],
    ['PATCH', `/api/v1/racks/${rack}`, { name: 'mill' }], ['DELETE', `/api/v1/racks/${rack}`],
    ['POST', '/api/v1/materials', tin], ['PUT', `/api/v1/materials/${own}`, { ...tin, name: 'red gloss' }], ['DELETE', `/api/v1/materials/${own}`],
    ['PATCH', `/api/v1/coats/${coat.id}`, { passes: 2 }], ['POST', `/api/v1/coats/${coat.id}/sandings`, {}], ['POST', `/api/v1/pieces/${lid.id}/strips`, {}],
    ['POST', `/api/v1/coats/${coat.id}/strike`, { why: 'never was' }], ['POST', `/api/v1/notices/${notice.id}/ack`, {}],
    ['DELETE', `/api/v1/pieces/${lid.id}`], ['DELETE', `/api/v1/places/${attic.id}`],
  ];
  for (const [index, [method, target, document]] of writes.entries()) {
    const headers = { 'idempotency-key': `write-${index}` };
    const first = await shop.send(method, target, document, headers);
    assert.ok(first.status < 300, `${method} ${target}: ${first.text}`);
    const revision = await shop.revision();
    same(first, await shop.send(method, target, document, headers));
    assert.equal(await shop.revision(), revision, `${method} ${target} was done twice`);
  }
});

test('a key outlives a restart', async (t) => {
  const folder = scratchFolder();
  t.after(() => require('node:fs').rmSync(folder, { recursive: true, force: true }));
  const db = require('node:path').join(folder, 'shop.coat');
  const headers = { 'idempotency-key': 'before-the-storm' };
  let daemon = await startDaemon({ db, testClock: at('08:00') });
  const first = await daemon.post('/api/v1/pieces', { name: 'mill body' }, headers);
  await daemon.stop('SIGKILL');
  daemon = await startDaemon({ db, testClock: at('08:00') });
  t.after(() => daemon.stop());
  const again = await daemon.post('/api/v1/pieces', { name: 'mill body' }, headers);
  same(first, again);
  assert.equal((await daemon.get('/api/v1/pieces')).body.items.length, 1);
});

test('a key has a form', async (t) => {
  const { shop } = await bench(t);
  for (const key of ['', 'two words', 'x'.repeat(128)]) {
    const answer = await shop.raw('POST', '/api/v1/pieces', { name: 'wheel' }, { 'idempotency-key': key });
    assert.ok([400, 422].includes(answer.status), `"${key}": ${answer.status}`);
  }
  assert.equal((await shop.raw('POST', '/api/v1/pieces', { name: 'wheel' }, { 'idempotency-key': 'x'.repeat(127) })).status, 201);
});
