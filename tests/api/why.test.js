// Of what hours a time is made: told at the API, held to its description, and adding up.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const { openShop, expect, stage, at } = require('./scene.js');

async function shed(t) {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  const body = await shop.addPiece('mill body', { place: place.id });
  return { shop, place, body, primer: await shop.builtin('alkyd-primer') };
}

test('the rows of a stage add up to its total, and the total to its likely moment', async (t) => {
  const { shop, place, body, primer } = await shed(t);
  await shop.air(place, 13, 70, at('07:00'));
  const [coat] = await shop.log(body, primer, { last_at: at('07:00'), film: 'heavy' });
  const why = await expect(shop.get(`/api/v1/coats/${coat.id}/why`), 200);
  assert.equal(why.coat, coat.id);
  assert.equal(why.k, 1);
  assert.equal(why.material_tests, null);
  assert.ok(why.items.length > 5);
  for (const item of why.items) {
    const sum = item.rows.reduce((hours, row) => hours + row.hours, 0);
    assert.ok(Math.abs(sum - item.total_h) < 0.01, `${item.stage}: ${sum} is not ${item.total_h}`);
    if (item.likely_at === null) continue;
    const hours = (Date.parse(item.likely_at) - Date.parse(item.from_at)) / 3.6e6;
    assert.ok(Math.abs(hours - item.total_h) < 0.01, `${item.stage}: ${hours} is not ${item.total_h}`);
    const shown = stage(coat, item.stage).spans.find((span) => span.until !== null && span.until.label_floor_at !== null);
    assert.equal(shown.until.likely_at, item.likely_at);
  }
  const recoat = why.items.find((item) => item.stage === 'recoat');
  assert.deepEqual(recoat.rows.slice(0, 2).map((row) => [row.what, row.factor]), [['table', null], ['film', 1.96]]);
});

test('nothing opens in a coat that was struck, and there is no coat 99', async (t) => {
  const { shop, place, body, primer } = await shed(t);
  await shop.air(place, 20, 50, at('07:00'));
  const [coat] = await shop.log(body, primer, { last_at: at('07:00') });
  await expect(shop.post(`/api/v1/coats/${coat.id}/strike`, { why: 'wrong piece' }), 200);
  assert.deepEqual((await expect(shop.get(`/api/v1/coats/${coat.id}/why`), 200)).items, []);
  await expect(shop.get('/api/v1/coats/99/why'), 404);
});
