// The record of a piece: every entry, the air each coat really had, tests, sandings, strippings, moves; and the code on its tag.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const http = require('node:http');
const { at, expect, openShop } = require('./scene');

const recordOf = (shop, piece) => expect(shop.get(`/api/v1/pieces/${piece.id}/record`), 200);

// A mill wheel that went through all of it in three days: cold cellar, warm loft.
async function historyOf(shop) {
  const cellar = await shop.addPlace('cellar');
  const loft = await shop.addPlace('loft');
  await shop.air(cellar, 16, 60);
  const wheel = await shop.addPiece('mill wheel', { place: cellar.id, note: 'belongs to mill 2', areas: ['rim', 'spokes'] });
  const enamel = await shop.builtin('alkyd-enamel');
  const [first] = await shop.log(wheel, enamel, { last_at: at('08:00'), area: 'rim' });
  await shop.passMeasured(cellar, at('09:00'), at('20:00'), 16, 60);
  await shop.air(loft, 24, 40);
  await expect(shop.post(`/api/v1/pieces/${wheel.id}/moves`, { place: loft.id, at: at('20:00') }), 201);
  await shop.passMeasured(loft, at('21:00'), at('20:00', 1), 24, 40);
  return { cellar, loft, wheel, enamel, first };
}

test('given a coat that hung in a cold cellar and then in a warm loft, then its record has the ends and the mean of what both really were', async (t) => {
  const shop = await openShop(t);
  const { wheel, first } = await historyOf(shop);
  const record = await recordOf(shop, wheel);
  const { air_had: air, coat } = record.coats[0];
  assert.equal(coat.id, first.id);
  assert.deepEqual([air.temp_c.low, air.temp_c.high, air.rh_pct.low, air.rh_pct.high], [16, 24, 40, 60]);
  assert.equal(air.from_at, at('08:00'));
  // 12 h with a reading at 16 C in the cellar, 24 h at 24 C in the loft.
  assert.ok(Math.abs(air.temp_c.mean - (12 * 16 + 24 * 24) / 36) < 0.3, `mean ${air.temp_c.mean}`);
  assert.ok(air.measured_h > 30 && air.assumed_h < 1, `${air.measured_h} measured, ${air.assumed_h} assumed`);
  assert.deepEqual(record.moves.map((move) => move.place_name), ['cellar', 'loft']);
});

test('given entries that were corrected, struck, tested, sanded and stripped, then all of it stands in the record, marked, and stays when the piece is finished', async (t) => {
  const shop = await openShop(t);
  const { wheel, enamel, first } = await historyOf(shop);
  await expect(shop.patch(`/api/v1/coats/${first.id}`, { film: 'heavy' }), 200);
  await expect(shop.post(`/api/v1/coats/${first.id}/tests`, { stage: 'touch', passed: true }), 201);
  await expect(shop.post(`/api/v1/coats/${first.id}/sandings`, {}), 201);
  const [wrong] = await shop.log(wheel, enamel, { area: 'spokes' });
  await expect(shop.post(`/api/v1/coats/${wrong.id}/strike`, { why: 'it was the other wheel' }), 200);
  await expect(shop.post(`/api/v1/pieces/${wheel.id}/strips`, { area: 'rim' }), 201);
  const check = (record) => {
    assert.deepEqual(record.coats.map(({ coat }) => [coat.id, coat.status]), [[first.id, 'stripped'], [wrong.id, 'struck']]);
    assert.deepEqual(record.coats[0].entries.map((entry) => [entry.entry, entry.film]), [[1, 'normal'], [2, 'heavy']]);
    assert.equal(record.coats[0].coat.tests.length, 1);
    assert.equal(record.coats[0].sandings.length, 1);
    assert.equal(record.coats[1].entries[1].struck_why, 'it was the other wheel');
    assert.equal(record.strippings[0].area, 'rim');
    assert.ok(record.cautions.length > 3 && record.cautions.every((code) => record.caution_texts[code].text), 'its cautions, written out');
  };
  check(await recordOf(shop, wheel));
  await expect(shop.del(`/api/v1/pieces/${wheel.id}`), 200);
  check(await recordOf(shop, wheel));
  assert.deepEqual((await expect(shop.get('/api/v1/pieces'), 200)).items, []);
  const all = (await expect(shop.get('/api/v1/pieces?all=1'), 200)).items;
  assert.deepEqual(all.map((piece) => [piece.name, piece.removed_at !== null]), [['mill wheel', true]]);
});

test('given a coat that never cures, then its record tells of the air of its first 90 days, and no more', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  await shop.air(shed, 3, 60);
  const lid = await shop.addPiece('lid', { place: shed.id });
  await shop.log(lid, await shop.builtin('alkyd-enamel'), { last_at: at('08:00') });
  await shop.goTo(at('08:00', 120));
  await shop.air(shed, 30, 60);
  await shop.goTo(at('08:00', 121));
  const [{ air_had: air }] = (await recordOf(shop, lid)).coats;
  assert.deepEqual([air.from_at, air.to_at, air.cured, air.temp_c.high], [at('08:00'), at('08:00', 90), false, 3]);
});

test('given a piece on which nothing was done, then its record is empty and still has its cautions; a piece that is not there is told so', async (t) => {
  const shop = await openShop(t);
  const cover = await shop.addPiece('hopper cover');
  const record = await recordOf(shop, cover);
  assert.deepEqual([record.coats, record.moves, record.strippings], [[], [], []]);
  assert.ok(record.caution_texts['lead-untested'] || record.cautions.some((code) => /lead/.test(code)), 'an untested old finish counts as lead');
  await expect(shop.get('/api/v1/pieces/99/record'), 404);
  await expect(shop.get('/api/v1/pieces/99/code.svg'), 404);
});

// fetch sets no Host of its own.
function codeAskedOf(host, shop, piece) {
  return new Promise((done, fail) => {
    http.get({ host: '127.0.0.1', port: shop.port, path: `/api/v1/pieces/${piece.id}/code.svg`, headers: { host } }, (answer) => {
      let text = '';
      answer.setEncoding('utf8').on('data', (part) => { text += part; }).on('end', () => done(text));
    }).on('error', fail);
  });
}

test('the code is black on white in whole modules with four of white around it, and names the host that it was asked of', async (t) => {
  const shop = await openShop(t);
  const cover = await shop.addPiece('hopper cover');
  const one = await expect(shop.get(`/api/v1/pieces/${cover.id}/code.svg`), 200);
  const size = Number(/viewBox="0 0 (\d+) \1"/.exec(one)[1]);
  const runs = [...one.matchAll(/M(\d+) (\d+)h(\d+)v1h-\d+z/g)].map((run) => run.slice(1).map(Number));
  assert.ok(runs.length > 100);
  assert.equal(Math.min(...runs.map(([x]) => x)), 4);
  assert.equal(Math.min(...runs.map(([, y]) => y)), 4);
  assert.equal(Math.max(...runs.map(([x, , length]) => x + length)), size - 4);
  const other = await codeAskedOf(`localhost:${shop.port}`, shop, cover);
  assert.match(other, /^<svg/);
  assert.notEqual(other, one, 'another host is another address');
});
