// Places, pieces, racks and settings: what stands in a shop before any coat.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused, at, MORNING } = require('./scene');

test('an empty shop already says what is always true, and has its built-in materials', async (t) => {
  const shop = await openShop(t);
  const document = await shop.shop();
  assert.equal(document.as_of_at, MORNING);
  assert.deepEqual(document.test_clock, { rate: 0 });
  assert.deepEqual([document.places, document.pieces, document.racks, document.coats, document.notices], [[], [], [], [], []]);
  assert.ok(document.materials.length >= 18 && document.materials.every((material) => material.builtin));
  assert.ok(document.shop_cautions.includes('label-first'));
  assert.deepEqual(Object.keys(document.cautions).sort(), [...document.shop_cautions].sort());
});

test('the shop document carries its revision as ETag, and 304 while nothing changed', async (t) => {
  const shop = await openShop(t);
  const first = await shop.get('/api/v1/shop');
  const tag = first.headers.get('etag');
  assert.equal(tag, `"${first.body.revision}"`);
  const same = await shop.get('/api/v1/shop', { 'if-none-match': tag });
  assert.equal(same.status, 304);
  assert.equal(same.headers.get('etag'), tag);
  await shop.goTo(at('09:00'));
  assert.equal((await shop.get('/api/v1/shop', { 'if-none-match': tag })).status, 304, 'time alone changes nothing');
  await shop.addPlace('shed');
  const changed = await shop.get('/api/v1/shop', { 'if-none-match': tag });
  assert.equal(changed.status, 200);
  assert.ok(changed.body.revision > first.body.revision);
});

test('settings change one by one', async (t) => {
  const shop = await openShop(t);
  const before = (await shop.shop()).shop;
  assert.equal(before.zone, 'UTC');
  const after = await expect(shop.patch('/api/v1/shop', { zone: 'Europe/Vienna', quiet_from: '21:30', units: 'us', lead_closing_min: 90 }), 200);
  assert.deepEqual(after, { ...before, zone: 'Europe/Vienna', quiet_from: '21:30', units: 'us', lead_closing_min: 90 });
  assert.deepEqual((await shop.shop()).shop, after);
  await refused(shop, shop.patch('/api/v1/shop', { zone: 'Mars/Olympus' }), 422, { field: 'zone', detail: /Mars\/Olympus/ });
  await refused(shop, shop.patch('/api/v1/shop', { zone: '../../etc/passwd' }), 422, { field: 'zone' });
  await refused(shop, shop.patch('/api/v1/shop', { quiet_from: '25:00' }), 422, { field: 'quiet_from', detail: /07:00 or 22:30/ });
  await refused(shop, shop.patch('/api/v1/shop', { lead_closing_min: -5 }), 422, { field: 'lead_closing_min' });
});

test('a place: added, changed, and taken out of use once nothing hangs there', async (t) => {
  const shop = await openShop(t);
  const cellar = await shop.addPlace('cellar', { volume_m3: 45.5, airflow_m3h: 120, risks: { 'below-ground': 'yes', 'pilot-or-furnace': 'yes' } });
  assert.equal(cellar.kind, 'room');
  assert.equal(cellar.risks['below-ground'], 'yes');
  assert.equal(cellar.risks.attached, 'unanswered');
  assert.equal(cellar.air, null);
  const changed = await expect(shop.patch(`/api/v1/places/${cellar.id}`, { airflow_m3h: null, risks: { attached: 'no' } }), 200);
  assert.deepEqual(changed, { ...cellar, airflow_m3h: null, risks: { ...cellar.risks, attached: 'no' } });
  const wheel = await shop.addPiece('fly wheel', { place: cellar.id });
  await refused(shop, shop.del(`/api/v1/places/${cellar.id}`), 409, { detail: /fly wheel|hang/ });
  const shed = await shop.addPlace('shed');
  await expect(shop.post(`/api/v1/pieces/${wheel.id}/moves`, { place: shed.id }), 201);
  const gone = await expect(shop.del(`/api/v1/places/${cellar.id}`), 200);
  assert.equal(gone.removed_at, MORNING);
  assert.deepEqual((await shop.shop()).places.map((place) => place.name), ['shed']);
  assert.equal((await expect(shop.get(`/api/v1/places/${cellar.id}`), 200)).name, 'cellar', 'its record stays');
  assert.deepEqual((await expect(shop.get('/api/v1/places'), 200)).items.map((place) => place.id), [shed.id]);
});

test('air is entered by hand, one reading or a notebook page of them', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const items = Array.from({ length: 60 }, (_, hour) => ({ at: new Date(Date.parse(MORNING) - (60 - hour) * 3600e3).toISOString(), temp_c: 10 + hour / 10, rh_pct: 55 }));
  const entered = await expect(shop.post(`/api/v1/places/${shed.id}/readings`, { items: [...items].reverse() }), 200);
  assert.equal(entered.count, 60);
  assert.equal(entered.place.id, shed.id);
  const now = await expect(shop.post(`/api/v1/places/${shed.id}/readings`, { temp_c: 17.85, rh_pct: 61.5 }), 200);
  assert.equal(now.count, 1);
  assert.equal(now.place.air.temp_c, 17.85);
  assert.equal(now.place.air.rh_pct, 61.5);
  assert.equal(now.place.air.basis, 'measured');
  assert.ok(Math.abs(now.place.air.dew_point_c - 10.4) < 0.2, `dew point ${now.place.air.dew_point_c}`);
  const two = (await expect(shop.get(`/api/v1/places/${shed.id}/readings`), 200)).items;
  assert.equal(two.length, 49, 'the last 48 h, both ends');
  assert.deepEqual(two.at(-1), { at: MORNING, temp_c: 17.85, rh_pct: 61.5 });
  const some = (await expect(shop.get(`/api/v1/places/${shed.id}/readings?from=2026-11-26T00:00:00Z&to=2026-11-27T00:00:00Z&most=6`), 200)).items;
  assert.ok(some.length >= 2 && some.length <= 6);
  for (let i = 1; i < some.length; i++) assert.ok(some[i].at > some[i - 1].at);
  const again = await expect(shop.post(`/api/v1/places/${shed.id}/readings`, { at: MORNING, temp_c: 18, rh_pct: 60 }), 200);
  assert.equal(again.place.air.temp_c, 18, 'a reading at the same moment replaces the other');
});

test('an oven may be hot, a room may not', async (t) => {
  const shop = await openShop(t);
  const oven = await shop.addPlace('oven', { kind: 'oven', volume_m3: 0.3 });
  const shed = await shop.addPlace('shed');
  await expect(shop.post(`/api/v1/places/${oven.id}/readings`, { temp_c: 180, rh_pct: 2 }), 200);
  await refused(shop, shop.post(`/api/v1/places/${shed.id}/readings`, { temp_c: 180, rh_pct: 2 }), 422, { field: 'temp_c', detail: /180/ });
});

test('a piece and the rack it belongs to', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const body = await shop.addPiece('mill body', { place: shed.id, old_finish: 'lead', areas: ['front', 'rim'], mass_kg: 14.5, wall_mm: 6, note: 'hairline\nat the foot' });
  assert.deepEqual([body.old_finish, body.areas, body.mass_kg, body.wall_mm, body.coats], ['lead', ['front', 'rim'], 14.5, 6, []]);
  const lid = await shop.addPiece('hopper lid');
  assert.equal(lid.place, null);
  assert.equal(lid.old_finish, 'not tested');
  const changed = await expect(shop.patch(`/api/v1/pieces/${body.id}`, { old_finish: 'tested clear', mass_kg: null, areas: [] }), 200);
  assert.deepEqual(changed, { ...body, old_finish: 'tested clear', mass_kg: null, areas: [] });
  const rack = await expect(shop.post('/api/v1/racks', { name: 'mill two', pieces: [body.id, lid.id] }), 201);
  assert.deepEqual(rack.pieces, [body.id, lid.id]);
  const smaller = await expect(shop.patch(`/api/v1/racks/${rack.id}`, { pieces: [lid.id] }), 200);
  assert.deepEqual([smaller.name, smaller.pieces], ['mill two', [lid.id]]);
  assert.deepEqual((await expect(shop.get('/api/v1/racks'), 200)).items, [smaller]);
  assert.equal((await expect(shop.del(`/api/v1/racks/${rack.id}`), 200)).removed_at, MORNING);
  assert.deepEqual((await shop.shop()).racks, []);
  assert.equal((await expect(shop.del(`/api/v1/pieces/${lid.id}`), 200)).removed_at, MORNING);
  assert.deepEqual((await expect(shop.get('/api/v1/pieces'), 200)).items.map((piece) => piece.id), [body.id]);
});

test('a name is taken once, and can be taken again after its owner is gone', async (t) => {
  const shop = await openShop(t);
  const lid = await shop.addPiece('hopper lid');
  await refused(shop, shop.post('/api/v1/pieces', { name: 'hopper lid' }), 409, { field: 'name', detail: /hopper lid/ });
  await refused(shop, shop.post('/api/v1/pieces', { name: 'Hopper Lid' }), 409, { field: 'name' });
  await expect(shop.del(`/api/v1/pieces/${lid.id}`), 200);
  const other = await shop.addPiece('hopper lid');
  assert.notEqual(other.id, lid.id);
});
