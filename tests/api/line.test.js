// What the drying line draws beside the coats: the hours nobody measured, where a piece hung, and the air to come.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const { openShop, expect, at } = require('./scene.js');
const { coatAt } = require('./daemon.js');

const HOUR = 3600e3, NOW = Date.parse(at('08:00'));
const hoursAgo = (h) => new Date(NOW - h * HOUR).toISOString().replace('.000Z', 'Z');
const enter = (shop, place, hours, temp = () => 18) => expect(shop.post(`/api/v1/places/${place.id}/readings`, { items: hours.map((h) => ({ at: hoursAgo(h), temp_c: temp(h), rh_pct: 55 })) }), 200);
const span = (from, to) => Array.from({ length: Math.round((from - to) * 2) + 1 }, (_, i) => from - i / 2);
const only = async (shop, id) => (await shop.shop()).places.find((place) => place.id === id);

test('a hole of five hours among readings by hand is assumed from two hours after the one before it, which held', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('cellar');
  await enter(shop, place, [...span(47.5, 20), ...span(15, 0)]);
  const { assumed } = await only(shop, place.id);
  assert.deepEqual(assumed.filter((gap) => Date.parse(gap.from_at) > NOW - 40 * HOUR), [{ from_at: hoursAgo(18), to_at: hoursAgo(15) }]);
});

test('after the last reading it is assumed when that no longer holds; a place that nobody read has neither', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed'), bare = await shop.addPlace('loft');
  await enter(shop, place, span(47.5, 5));
  const { assumed, outlook } = await only(shop, place.id);
  assert.deepEqual(assumed[assumed.length - 1], { from_at: hoursAgo(3), to_at: hoursAgo(0) });
  assert.deepEqual(outlook, [], 'what no longer holds tells nothing of what comes');
  assert.deepEqual([(await only(shop, bare.id)).assumed, (await only(shop, bare.id)).outlook], [[], []]);
});

test('given three days of 15 C at noon and 9 C at midnight, the air to come is told past now, in order, likely within its band', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('garage');
  await enter(shop, place, span(72, 0), (h) => 12 + 3 * Math.cos(((8 - h - 12) / 24) * 2 * Math.PI));
  const { outlook } = await only(shop, place.id);
  assert.ok(outlook.length > 10 && outlook.length <= 32, `${outlook.length} moments`);
  outlook.forEach((one, i) => {
    assert.ok(Date.parse(one.at) > (i ? Date.parse(outlook[i - 1].at) : NOW));
    assert.ok(one.temp_low_c <= one.temp_c + 0.5 && one.temp_c <= one.temp_high_c + 0.5 && one.temp_low_c < one.temp_high_c + 0.01, JSON.stringify(one));
  });
  const near = (h) => outlook.reduce((best, one) => (Math.abs(Date.parse(one.at) - NOW - h * HOUR) < Math.abs(Date.parse(best.at) - NOW - h * HOUR) ? one : best));
  assert.ok(near(4).temp_c > near(16).temp_c + 3, 'noon is warmer than midnight');
});

test('a piece tells its newest eight moves, oldest first', async (t) => {
  const shop = await openShop(t);
  const places = [await shop.addPlace('shed'), await shop.addPlace('cellar')];
  const piece = await shop.addPiece('mill body', { place: places[0].id });
  for (let i = 0; i < 10; i += 1) await expect(shop.post(`/api/v1/pieces/${piece.id}/moves`, { place: places[i % 2].id, at: hoursAgo(20 - i) }), 201);
  const { moves, place } = (await shop.shop()).pieces.find((one) => one.id === piece.id);
  assert.equal(moves.length, 8);
  assert.deepEqual(moves, [...moves].sort((p, q) => Date.parse(p.at) - Date.parse(q.at)));
  assert.equal(moves[moves.length - 1].place, place);
});

test('a night too cold that is over is told with its ends, in the document and on the command line', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  await enter(shop, shed, span(24, 0), (h) => (h <= 14 && h >= 4 ? 4 : 20));
  const body = await shop.addPiece('mill body', { place: shed.id });
  const [coat] = await shop.log(body, await shop.builtin('alkyd-enamel'), { last_at: hoursAgo(18) });
  const { stood_still: stood, stall } = (await shop.shop()).coats.find((one) => one.id === coat.id);
  assert.equal(stall, null);
  assert.deepEqual(stood, [{ from_at: hoursAgo(14), to_at: hoursAgo(4), why: 'too-cold' }]);
  const told = await coatAt(shop.url)('show', String(coat.id));
  assert.match(told.stdout.replace(/\s+/g, ' '), /stood still too cold/);
});
