// What is in the air of a place by the sums, over the API and the command line.
'use strict';

const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused } = require('./scene.js');
const { coatAt } = require('./daemon.js');

async function shedWithCoat(t, amount) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed', { volume_m3: 60, airflow_m3h: 300 });
  await shop.air(shed, 20, 50);
  const body = await shop.addPiece('mill body', { place: shed.id });
  await shop.log(body, await shop.builtin('alkyd-enamel'), amount ? { amount_ml: amount } : {});
  return { shop, shed };
}

test('a coat that was logged with an amount: fire, health, and until when, with what defers', async (t) => {
  const { shop, shed } = await shedWithCoat(t, 250);
  const air = await expect(shop.get(`/api/v1/places/${shed.id}/vapour`), 200);
  assert.deepEqual([air.counted, air.without_amount, air.mixing, air.effective_airflow_m3h], [1, 0, 10, 15]);
  assert.equal(air.exposure_limit.is, 'exceeds');
  assert.ok(air.limit_air_m3 > 10 * air.dilution_air_m3);
  assert.match(air.no_design, /design/);
  assert.doesNotMatch(JSON.stringify({ ...air, caution_texts: null }), /\bsafe\b/);
  const said = await coatAt(shop.url)('vapour', 'shed');
  assert.equal(said.code, 0, said.stderr);
  assert.match(said.stdout, /shed: of the coats of the last 14 days 1 with an amount, 0 without/);
  assert.match(said.stdout, /limit\s+exceeds/);
  assert.match(said.stdout, /health wants far more air than fire/);
});

test('the sums stand under a coat that is logged with an amount, and only there', async (t) => {
  const { shop } = await shedWithCoat(t, 250);
  const logged = await coatAt(shop.url)('log', 'mill body', 'gloss enamel', '--amount', '120ml');
  assert.equal(logged.code, 0, logged.stderr);
  assert.match(logged.stdout, /of the coats of the last 14 days 2 with an amount[^]*1\/10 of LEL[^]*No design/);
  assert.doesNotMatch((await coatAt(shop.url)('log', 'mill body', 'gloss enamel')).stdout, /1\/10 of LEL/);
});

test('without an amount or a volume it says what is missing', async (t) => {
  const { shop } = await shedWithCoat(t, null);
  const said = await coatAt(shop.url)('vapour', 'shed');
  assert.match(said.stdout, /What has no amount is in no sum/);
  await shop.addPlace('cellar');
  assert.match((await coatAt(shop.url)('vapour', 'cellar')).stdout, /Its volume was not told/);
  await refused(shop, shop.get('/api/v1/places/99/vapour'), 404);
});
