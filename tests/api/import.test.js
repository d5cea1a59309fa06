// A file of past readings: taken in by pieces, seen when it is whole; and the command that reads one.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { test } = require('node:test');
const { coatAt, scratchFolder } = require('./daemon');
const { openShop, expect, refused, at, MORNING } = require('./scene');

const IMPORTS = '/api/v1/imports';
const RECORDED = path.resolve(__dirname, '../reference/air');

async function openShed(t) {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  const begin = async (name = 'logger 2026') => expect(shop.post(IMPORTS, { place: place.id, name }), 201);
  const readings = async (from, to) => (await expect(shop.get(`/api/v1/places/${place.id}/readings?from=${from}&to=${to}&most=5000`), 200)).items;
  return { shop, place, begin, readings };
}

const hours = (count, temp_c = 12) => Array.from({ length: count }, (_, i) => ({
  at: new Date(Date.parse('2026-11-20T00:00:00Z') + i * 3600e3).toISOString(), temp_c, rh_pct: 60,
}));

// ---- the routes ----

test('a file comes in pieces and counts when it is finished, not before', async (t) => {
  const { shop, place, begin, readings } = await openShed(t);
  const begun = await begin();
  assert.deepEqual(begun, { id: begun.id, place: place.id, name: 'logger 2026', count: 0, finished: false });
  const items = hours(48);
  assert.deepEqual(await expect(shop.post(`${IMPORTS}/${begun.id}/readings`, { items: items.slice(24) }), 200), { ...begun, count: 24 });
  assert.deepEqual(await expect(shop.post(`${IMPORTS}/${begun.id}/readings`, { items: items.slice(0, 24) }), 200), { ...begun, count: 24 });
  assert.equal((await readings(at('00:00', -9), at('00:00', -5))).length, 0, 'seen before it was finished');
  assert.deepEqual(await expect(shop.post(`${IMPORTS}/${begun.id}/finish`), 200), { ...begun, finished: true });
  const seen = await readings(at('00:00', -9), at('00:00', -5));
  assert.deepEqual(seen.map((one) => [Date.parse(one.at), one.temp_c, one.rh_pct]), items.map((one) => [Date.parse(one.at), 12, 60]));
  const { items: sensors } = await expect(shop.get('/api/v1/sensors'), 200);
  assert.deepEqual(sensors.filter((one) => one.kind === 'import').map((one) => [one.id, one.name]), [[begun.id, 'logger 2026']]);
});

test('a coat of the past is told by the air that was imported', async (t) => {
  const { shop, place, begin } = await openShed(t);
  const piece = await shop.addPiece('fan guard', { place: place.id });
  const [coat] = await shop.log(piece, await shop.builtin('alkyd-enamel'), { first_at: '2026-11-20T01:00:00Z', last_at: '2026-11-20T01:00:00Z' });
  const handle = (one) => one.stages.find((stage) => stage.stage === 'handle');
  const unknown = handle(await shop.coat(coat.id));
  assert.equal(unknown.air.measured_h, 0);
  const { id } = await begin();
  await expect(shop.post(`${IMPORTS}/${id}/readings`, { items: hours(8 * 24 + 8, 21) }), 200);
  await expect(shop.post(`${IMPORTS}/${id}/finish`), 200);
  const told = handle(await shop.coat(coat.id));
  assert.ok(told.air.measured_h > 10, JSON.stringify(told));
  assert.equal(told.state, 'reached');
});

test('one of the two may be missing or null, but not both', async (t) => {
  const { shop, begin, readings } = await openShed(t);
  const { id } = await begin();
  const items = [{ at: '2026-11-20T01:00:00Z', temp_c: 12 }, { at: '2026-11-20T01:10:00Z', temp_c: null, rh_pct: 55 }, { at: '2026-11-20T01:20:00Z', temp_c: 13, rh_pct: null }];
  await expect(shop.post(`${IMPORTS}/${id}/readings`, { items }), 200);
  await refused(shop, shop.post(`${IMPORTS}/${id}/readings`, { items: [{ at: '2026-11-20T01:00:00Z', temp_c: null }] }), 422, { detail: /neither/ });
  await expect(shop.post(`${IMPORTS}/${id}/finish`), 200);
  assert.ok((await readings('2026-11-20T00:00:00Z', '2026-11-20T02:00:00Z')).length > 0);
});

test('what cannot be is refused, and nothing of its piece is taken', async (t) => {
  const { shop, place, begin, readings } = await openShed(t);
  const { id } = await begin();
  const add = (item) => shop.post(`${IMPORTS}/${id}/readings`, { items: [...hours(2), item] });
  await refused(shop, add({ at: at('09:00'), temp_c: 12, rh_pct: 60 }), 422, { field: 'items[2].at', detail: /not come yet/ });
  await refused(shop, add({ at: '1970-01-01T00:05:00Z', temp_c: 12, rh_pct: 60 }), 422, { field: 'items[2].at' });
  await refused(shop, add({ at: at('07:00'), temp_c: 85, rh_pct: 60 }), 422, { field: 'items[2].temp_c', detail: /60 C/ });
  await refused(shop, add({ at: at('07:00'), temp_c: 301, rh_pct: 60 }), 422, { field: 'items[2].temp_c' });
  await refused(shop, add({ at: at('07:00'), temp_c: 12, rh_pct: 101 }), 422, { field: 'items[2].rh_pct' });
  await refused(shop, add({ at: at('07:00'), temp_c: '12', rh_pct: 60 }), 422, { field: 'items[2].temp_c' });
  await refused(shop, add({ temp_c: 12, rh_pct: 60 }), 422, { field: 'items[2].at' });
  await refused(shop, add({ at: at('07:00'), temp: 12 }), 422, { field: 'items[2].temp' });
  await refused(shop, shop.post(`${IMPORTS}/${id}/readings`, { items: [] }), 422, { field: 'items' });
  await refused(shop, shop.post(`${IMPORTS}/${id}/readings`, { items: hours(20001) }), 422, { field: 'items' });
  await refused(shop, shop.post(`${IMPORTS}/99/readings`, { items: hours(1) }), 404);
  await refused(shop, shop.post(`${IMPORTS}/99/finish`), 404);
  await refused(shop, shop.post(IMPORTS, { place: 99, name: 'x' }), 422, { field: 'place' });
  await refused(shop, shop.post(IMPORTS, { place: place.id, name: '' }), 422, { field: 'name' });
  await refused(shop, shop.post(IMPORTS, { place: place.id }), 422, { field: 'name' });
  await expect(shop.post(`${IMPORTS}/${id}/finish`), 200);
  assert.deepEqual(await readings(at('00:00', -9), at('00:00', 1)), []);
  await refused(shop, shop.post(`${IMPORTS}/${id}/readings`, { items: hours(1) }), 409, { detail: /finished/ });
  await refused(shop, shop.post(`${IMPORTS}/${id}/finish`), 409, { detail: /finished/ });
  await refused(shop, shop.del(`${IMPORTS}/${id}`), 409, { detail: /finished/ });
});

test('a dropped import leaves nothing', async (t) => {
  const { shop, begin, readings } = await openShed(t);
  const { id } = await begin();
  await expect(shop.post(`${IMPORTS}/${id}/readings`, { items: hours(24) }), 200);
  assert.equal((await expect(shop.del(`${IMPORTS}/${id}`), 200)).finished, false);
  await refused(shop, shop.post(`${IMPORTS}/${id}/finish`), 404);
  assert.deepEqual(await readings(at('00:00', -9), at('00:00', 1)), []);
  await begin(); // the name is free again
});

test('a piece told twice with one key is one piece, and answers alike', async (t) => {
  const { shop, place, readings } = await openShed(t);
  const twice = async (target, body, key, status) => {
    const first = await expect(shop.post(target, body, { 'idempotency-key': key }), status);
    assert.deepEqual(await expect(shop.post(target, body, { 'idempotency-key': key }), status), first);
    return first;
  };
  const { id } = await twice(IMPORTS, { place: place.id, name: 'logger' }, 'begin', 201);
  assert.equal((await twice(`${IMPORTS}/${id}/readings`, { items: hours(24) }, 'piece', 200)).count, 24);
  assert.equal((await twice(`${IMPORTS}/${id}/finish`, {}, 'finish', 200)).finished, true);
  assert.equal((await readings(at('00:00', -9), at('00:00', 1))).length, 24);
});

test('the largest piece fits, and one byte more does not', async (t) => {
  const { shop, begin } = await openShed(t);
  const { id } = await begin();
  const items = Array.from({ length: 20000 }, (_, i) => ({ at: new Date(Date.parse('2026-01-01T00:00:00Z') + i * 60e3).toISOString(), temp_c: -12.345, rh_pct: 55.123 }));
  assert.equal((await expect(shop.post(`${IMPORTS}/${id}/readings`, { items }), 200)).count, 20000);
  const text = JSON.stringify({ items: hours(1) });
  const answer = await shop.raw('POST', `${IMPORTS}/${id}/readings`, text + ' '.repeat(2 * 1024 * 1024 + 1 - text.length));
  assert.equal(answer.status, 413);
});

// ---- the command ----

async function openDesk(t) {
  const { shop, place, readings } = await openShed(t);
  const folder = scratchFolder();
  t.after(() => fs.rmSync(folder, { recursive: true, force: true }));
  await expect(shop.patch('/api/v1/shop', { zone: 'Europe/Vienna' }), 200);
  const write = (name, text) => {
    const file = path.join(folder, name);
    fs.writeFileSync(file, text);
    return file;
  };
  const coat = coatAt(shop.url, {}, folder);
  const imports = async () => (await expect(shop.get('/api/v1/sensors'), 200)).items.filter((one) => one.kind === 'import');
  return { shop, place, readings, write, coat, imports };
}

const GERMAN = 'Date;Time;Temp (F);RH %\r\n2026-11-20;14:30;64,4;55\r\n2026-11-20;14:40;;\r\n2026-11-20;14:50;66,2;101\r\n';

test('given a file in Fahrenheit with decimal commas, then its air is the place\'s', async (t) => {
  const { readings, write, coat, imports } = await openDesk(t);
  const run = await coat('air', 'import', write('logger 2026.csv', GERMAN), '--place', 'sh');
  assert.equal(run.code, 0, run.stderr);
  assert.equal(run.stdout.replace(/\s+/g, ' '), 'shed: imported as "logger 2026". 2 readings from 20 Nov 14:30 to 20 Nov 14:50. '
    + 'Temperature from "Temp (F)" in F: 18 C to 19 C. Humidity from "RH %": 55 % to 100 %. 1 row without a value. ');
  assert.deepEqual(await readings('2026-11-20T00:00:00Z', '2026-11-21T00:00:00Z'), [
    { at: '2026-11-20T13:30:00Z', temp_c: 18, rh_pct: 55 }, { at: '2026-11-20T13:50:00Z', temp_c: 19, rh_pct: 100 },
  ]);
  assert.deepEqual((await imports()).map((one) => one.name), ['logger 2026']);
  const again = await coat('air', 'import', write('logger 2026.csv', GERMAN), '--place', 'shed');
  assert.equal(again.code, 1);
  assert.match(again.stderr, /there is a sensor "logger 2026" already.*Nothing was imported\.$/m);
});

test('given --dry-run, then it is told and nothing is sent', async (t) => {
  const { shop, write, coat, imports } = await openDesk(t);
  const before = await shop.revision();
  const run = await coat('air', 'import', write('a.csv', GERMAN), '--place', 'shed', '--dry-run');
  assert.equal(run.code, 0, run.stderr);
  assert.match(run.stdout, /^2 readings from [^]*Nothing was sent\.$/m);
  const json = JSON.parse((await coat('--json', 'air', 'import', 'a.csv', '--place', 'shed', '--dry-run')).stdout);
  assert.deepEqual(json, { count: 2, empty: 1, first_at: '2026-11-20T13:30:00Z', last_at: '2026-11-20T13:50:00Z', finished: false });
  assert.deepEqual(await imports(), []);
  assert.equal(await shop.revision(), before);
});

test('given one bad line in a file of many pieces, then line and column are named and nothing is imported', async (t) => {
  const { shop, write, coat, imports } = await openDesk(t);
  const line = (i) => `${new Date(Date.parse('2026-01-01T00:00:00Z') + i * 60e3).toISOString()},${(12 + Math.sin(i / 100)).toFixed(2)},60\n`;
  const good = Array.from({ length: 45000 }, (_, i) => line(i)).join('');
  const before = await shop.revision();
  const run = await coat('air', 'import', write('bad.csv', `time,temp_c,rh\n${good}2026-02-20T00:00:00Z,warm,60\n`), '--place', 'shed');
  assert.equal(run.code, 2);
  assert.match(run.stderr, /bad\.csv:45002: column "temp_c": "warm" is no number: write it like 18\.2, or leave it empty where nothing was measured\. Nothing was imported\.$/m);
  assert.equal(await shop.revision(), before);
  const whole = await coat('--json', 'air', 'import', write('good.csv', `time,temp_c,rh\n${good}`), '--place', 'shed', '--name', 'wall');
  assert.equal(whole.code, 0, whole.stderr);
  assert.deepEqual({ ...JSON.parse(whole.stdout), id: 0 }, { id: 0, place: 1, name: 'wall', count: 0, finished: true });
  assert.deepEqual((await imports()).map((one) => one.name), ['wall']);
});

test('given recorded air with a column of another name, then --temp names it', async (t) => {
  const { readings, coat } = await openDesk(t);
  const file = path.join(RECORDED, 'office_minutes.csv');
  const lost = await coat('air', 'import', file, '--place', 'shed');
  assert.equal(lost.code, 2);
  assert.match(lost.stderr, /office_minutes\.csv:1: no column is the temperature: name it with --temp; the columns are: time, air_c, rh_pct, humidity_ratio_kg_kg/);
  const run = await coat('air', 'import', file, '--place', 'shed', '--temp', 'air_c');
  assert.equal(run.code, 0, run.stderr);
  assert.match(run.stdout.replace(/\s+/g, ' '), /8143 readings from 4 Feb 2015 18:51 to 10 Feb 2015 10:33\. Temperature from "air_c" in C: 19 C to 23\.2 C\./);
  const [first] = await readings('2015-02-04T17:51:00Z', '2015-02-04T17:52:00Z');
  assert.deepEqual(first, { at: '2015-02-04T17:51:00Z', temp_c: 23.18, rh_pct: 27.272 });
});

test('given wrong usage, then exit 2 says what would do', async (t) => {
  const { write, coat } = await openDesk(t);
  const file = write('a.csv', GERMAN);
  const fails = async (pattern, ...args) => {
    const run = await coat('air', 'import', ...args);
    assert.equal(run.code, 2, run.stderr);
    assert.match(run.stderr, pattern);
  };
  await fails(/whose air was it\? Write --place PLACE\. Nothing was imported/, file);
  await fails(/something is missing: write coat air import FILE --place PLACE/);
  await fails(/nowhere\.csv cannot be read: No such file/, 'nowhere.csv', '--place', 'shed');
  await fails(/--units: "K" is neither C nor F/, file, '--place', 'shed', '--units', 'K');
  await fails(/--zone: "CET" is neither local nor UTC/, file, '--place', 'shed', '--zone', 'CET');
  await fails(/a\.csv:1: column "Temp \(F\)": the header says F, and --units C/, file, '--place', 'shed', '--units', 'c');
  await fails(/barn/, file, '--place', 'barn');
  await fails(/empty\.csv: no reading stands in it/, write('empty.csv', 'time,temp_c\n'), '--place', 'shed');
  assert.equal(MORNING, '2026-11-28T08:00:00Z');
});
