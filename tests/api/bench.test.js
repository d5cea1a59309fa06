// The bench at the API: tests of a coat, tins, mixes.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused, at, MORNING } = require('./scene');

async function bench(t) {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  await shop.air(place, 21, 50);
  const piece = await shop.addPiece('fan guard', { place: place.id });
  return { shop, place, piece, enamel: await shop.builtin('alkyd-enamel'), epoxy: await shop.builtin('epoxy-primer') };
}

// ---- tests ----

test('a test at the bench stands with its coat', async (t) => {
  const { shop, piece, enamel } = await bench(t);
  const [coat] = await shop.log(piece, enamel);
  assert.deepEqual(coat.tests, []);
  await shop.goTo(at('10:00'));
  const target = `/api/v1/coats/${coat.id}/tests`;
  const told = await expect(shop.post(target, { stage: 'tack-free', passed: false }), 201);
  assert.deepEqual({ ...told.test, id: 0 }, { id: 0, coat: coat.id, stage: 'tack-free', passed: false, at: at('10:00'), entered_at: at('10:00') });
  assert.deepEqual(told.coat.tests, [told.test]);
  await expect(shop.post(target, { stage: 'touch', passed: true, at: at('09:30') }), 201);
  const { items } = await expect(shop.get(target), 200);
  assert.deepEqual(items.map((one) => [one.stage, one.passed, one.at]), [['tack-free', false, at('10:00')], ['touch', true, at('09:30')]]);
  assert.deepEqual((await shop.coat(coat.id)).tests, items);
  assert.deepEqual((await shop.shop()).coats[0].tests, items);
});

test('a test that cannot have been is refused, and the stages that there are are named', async (t) => {
  const { shop, piece, enamel } = await bench(t);
  const [coat] = await shop.log(piece, enamel);
  const target = `/api/v1/coats/${coat.id}/tests`;
  await refused(shop, shop.post(target, { stage: 'leaf', passed: true }), 422, { field: 'stage', detail: /tack-free, handle/ });
  await refused(shop, shop.post(target, { stage: 'dry', passed: true }), 422, { field: 'stage' });
  await refused(shop, shop.post(target, { stage: 'touch' }), 422, { field: 'passed' });
  await refused(shop, shop.post(target, { stage: 'touch', passed: 'yes' }), 422, { field: 'passed' });
  await refused(shop, shop.post(target, { stage: 'touch', passed: true, at: at('07:59') }), 422, { field: 'at', detail: /last pass/ });
  await refused(shop, shop.post(target, { stage: 'touch', passed: true, at: at('09:00') }), 422, { field: 'at', detail: /future/ });
  await refused(shop, shop.post(target, { stage: 'touch', passed: true, finger: 'thumb' }), 422, { field: 'finger' });
  await refused(shop, shop.post('/api/v1/coats/99/tests', { stage: 'touch', passed: true }), 404);
  await expect(shop.post(`/api/v1/coats/${coat.id}/strike`, { why: 'another guard' }), 200);
  await refused(shop, shop.post(target, { stage: 'touch', passed: true }), 409, { field: 'coat', detail: /struck/ });
});

test('a test told twice with one key is one test', async (t) => {
  const { shop, piece, enamel } = await bench(t);
  const [coat] = await shop.log(piece, enamel);
  const tell = () => shop.post(`/api/v1/coats/${coat.id}/tests`, { stage: 'touch', passed: true }, { 'idempotency-key': 'thumb-1' });
  const first = await expect(tell(), 201);
  const second = await expect(tell(), 201);
  assert.deepEqual(second, first);
  assert.equal((await shop.coat(coat.id)).tests.length, 1);
});

// ---- tins ----

test('a tin is entered, changed, used and emptied', async (t) => {
  const { shop, piece, enamel } = await bench(t);
  const tin = await expect(shop.post('/api/v1/tins', { name: 'black 2', material: enamel.id, batch: 'L 0417', opened_at: '2026-10-01T10:00:00Z',
    keep_by_at: '2027-03-31T22:00:00Z' }), 201);
  assert.equal(tin.material.name, enamel.name);
  assert.equal(tin.past_keep_by, false);
  assert.equal(tin.added_at, MORNING);
  await refused(shop, shop.post('/api/v1/tins', { name: 'Black 2', material: enamel.id }), 409, { field: 'name' });
  const changed = await expect(shop.patch(`/api/v1/tins/${tin.id}`, { name: 'black two', opened_at: null }), 200);
  assert.deepEqual(changed, { ...tin, name: 'black two', opened_at: null });
  const [coat] = await shop.log(piece, enamel, { tin: tin.id });
  assert.deepEqual(coat.tin, { id: tin.id, name: 'black two', batch: 'L 0417', keep_by_at: '2027-03-31T22:00:00Z', past_keep_by: false });
  assert.deepEqual((await shop.shop()).tins, [changed]);

  const gone = await expect(shop.del(`/api/v1/tins/${tin.id}`), 200);
  assert.equal(gone.removed_at, MORNING);
  assert.deepEqual((await shop.shop()).tins, []);
  assert.deepEqual((await expect(shop.get('/api/v1/tins'), 200)).items, []);
  assert.deepEqual((await expect(shop.get('/api/v1/tins?all=1'), 200)).items, [gone]);
  assert.equal((await shop.coat(coat.id)).tin.name, 'black two', 'the coat keeps it');
  await refused(shop, shop.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, tin: tin.id }), 422, { field: 'tin' });
});

test('a tin past its keep-by is told with the coat, not refused', async (t) => {
  const { shop, piece, enamel } = await bench(t);
  const tin = await expect(shop.post('/api/v1/tins', { name: 'black 1', material: enamel.id, keep_by_at: at('12:00') }), 201);
  const [before] = await shop.log(piece, enamel, { tin: tin.id });
  await shop.goTo(at('12:01'));
  const [after] = await shop.log(piece, enamel, { tin: tin.id, area: '' });
  assert.equal(before.tin.past_keep_by, false);
  assert.equal(after.tin.past_keep_by, true);
  assert.equal((await shop.coat(before.id)).tin.past_keep_by, false, 'it was good then');
  assert.equal((await expect(shop.get(`/api/v1/tins/${tin.id}`), 200)).past_keep_by, true);
});

test('a coat takes a tin of its own material only, and can be freed of it', async (t) => {
  const { shop, piece, enamel, epoxy } = await bench(t);
  const tin = await expect(shop.post('/api/v1/tins', { name: 'red A', material: epoxy.id }), 201);
  await refused(shop, shop.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, tin: tin.id }), 422, { field: 'tin', detail: /red A/ });
  await refused(shop, shop.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, tin: 77 }), 422, { field: 'tin' });
  const [coat] = await shop.log(piece, enamel);
  assert.equal(coat.tin, null);
  await refused(shop, shop.patch(`/api/v1/coats/${coat.id}`, { tin: tin.id }), 422, { field: 'tin' });
  const { coat: moved } = await expect(shop.patch(`/api/v1/coats/${coat.id}`, { material: epoxy.id, tin: tin.id }), 200);
  assert.equal(moved.tin.id, tin.id);
  await refused(shop, shop.patch(`/api/v1/tins/${tin.id}`, { material: enamel.id }), 409, { field: 'material' });
  const { coat: freed } = await expect(shop.patch(`/api/v1/coats/${coat.id}`, { tin: null }), 200);
  assert.equal(freed.tin, null);
  const { items } = await expect(shop.get(`/api/v1/coats/${coat.id}/entries`), 200);
  assert.deepEqual(items.map((entry) => entry.tin && entry.tin.name), [null, 'red A', null]);
});

test('a tin that cannot be is refused', async (t) => {
  const { shop, enamel } = await bench(t);
  const tell = (rest) => shop.post('/api/v1/tins', { name: 'black', material: enamel.id, ...rest });
  await refused(shop, tell({ name: '' }), 422, { field: 'name' });
  await refused(shop, tell({ material: 99 }), 422, { field: 'material' });
  await refused(shop, tell({ opened_at: at('09:00') }), 422, { field: 'opened_at' });
  await refused(shop, tell({ keep_by_at: 'March' }), 422, { field: 'keep_by_at' });
  await refused(shop, shop.get('/api/v1/tins/99'), 404);
});

// ---- mixes ----

test('a batch is ready after its induction and over after its pot life', async (t) => {
  const { shop, place, epoxy } = await bench(t);
  const mix = await expect(shop.post('/api/v1/mixes', { material: epoxy.id, place: place.id }), 201);
  assert.equal(mix.mixed_at, MORNING);
  assert.deepEqual([mix.induction_min, mix.pot_life_min], [60, 240]);
  assert.ok(mix.ready_at >= at('09:00'), mix.ready_at);
  assert.ok(mix.use_by_at > at('10:00') && mix.use_by_at <= at('12:00'), mix.use_by_at); // one reading: warm air is assumed after two hours
  assert.equal(mix.basis, 'measured');
  assert.ok(mix.cautions.includes('sensitiser') && !mix.cautions.includes('lead'), `${mix.cautions}`);
  assert.deepEqual((await shop.shop()).mixes.map((one) => one.id), [mix.id]);
  await shop.passMeasured(place, at('08:30'), at('09:30'), 21, 50);
  const ready = (await shop.notices()).find((notice) => notice.kind === 'mix-ready');
  assert.deepEqual([ready.mix, ready.coat, ready.piece, ready.stage], [mix.id, null, null, null]);
  assert.ok(ready.cautions.includes('sensitiser'));
  await shop.passMeasured(place, at('10:30'), at('12:01'), 21, 50);
  const kinds = (await shop.notices()).map((notice) => [notice.kind, notice.withdrawn_at === null]);
  assert.deepEqual(kinds, [['mix-ready', false], ['pot-life-ending', true]]);
  assert.deepEqual((await shop.shop()).mixes, []);
  assert.deepEqual((await expect(shop.get('/api/v1/mixes'), 200)).items, []);
  const { items } = await expect(shop.get('/api/v1/mixes?all=1'), 200);
  assert.deepEqual(items.map((one) => [one.id, one.over]), [[mix.id, true]]);
  const told = (await shop.shop()).notices;
  assert.deepEqual(told.map((notice) => notice.kind), ['pot-life-ending']);
  await expect(shop.post(`/api/v1/notices/${told[0].id}/ack`), 200);
  assert.deepEqual((await shop.shop()).notices, []);
});

test('the revision changes when a batch is over, so that a page that waits for it fetches', async (t) => {
  const { shop, epoxy } = await bench(t);
  const mix = await expect(shop.post('/api/v1/mixes', { material: epoxy.id }), 201);
  await shop.goTo(new Date(Date.parse(mix.use_by_at) - 1000).toISOString());
  const before = await shop.revision();
  await shop.goTo(mix.use_by_at);
  assert.ok(await shop.revision() > before);
});

test('where a batch stands was not told: its air is unknown, and its end counts on a warm room', async (t) => {
  const { shop, epoxy } = await bench(t);
  const mix = await expect(shop.post('/api/v1/mixes', { material: epoxy.id, at: at('07:30') }), 201);
  assert.deepEqual([mix.place, mix.ready_at, mix.basis, mix.mixed_at], [null, null, 'assumed', at('07:30')]);
  assert.ok(mix.use_by_at < at('10:00'), mix.use_by_at);
});

test('what is not mixed is refused', async (t) => {
  const { shop, place, enamel, epoxy } = await bench(t);
  const tell = (body) => shop.post('/api/v1/mixes', body);
  await refused(shop, tell({ material: enamel.id, place: place.id }), 422, { field: 'material', detail: /neither an induction time nor a pot life/ });
  await refused(shop, tell({ material: 99 }), 422, { field: 'material' });
  await refused(shop, tell({}), 422, { field: 'material' });
  await refused(shop, tell({ material: epoxy.id, place: 99 }), 422, { field: 'place' });
  await refused(shop, tell({ material: epoxy.id, at: at('09:00') }), 422, { field: 'at' });
});

test('a batch told twice with one key is one batch', async (t) => {
  const { shop, place, epoxy } = await bench(t);
  const tell = () => shop.post('/api/v1/mixes', { material: epoxy.id, place: place.id }, { 'idempotency-key': 'mix-1' });
  assert.deepEqual(await expect(tell(), 201), await expect(tell(), 201));
  assert.equal((await shop.shop()).mixes.length, 1);
});

test('what a list is asked for is checked', async (t) => {
  const { shop } = await bench(t);
  for (const list of ['tins', 'mixes']) await refused(shop, shop.get(`/api/v1/${list}?all=2`), 422, { field: 'all' });
});
