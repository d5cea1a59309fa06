// Sensors at the API and at the command line: what they are, what they say before they are entered, what they should read.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { test } = require('node:test');
const { coatAt, scratchFolder } = require('./daemon');
const { openShop, expect, refused, at, MORNING } = require('./scene');

const SAYS = ['/bin/echo', '{"t": 64.4, "air": {"h": 0.55}}'];
const PROBE = { kind: 'command', command: SAYS, pointers: { temperature: '/t', humidity: '/air/h' }, scales: { temperature: 'F', humidity: 'fraction' } };

async function bench(t) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const add = (rest) => shop.post('/api/v1/sensors', { name: 'probe', place: shed.id, ...PROBE, ...rest });
  const list = async (query = '') => (await expect(shop.get(`/api/v1/sensors${query}`), 200)).items;
  return { shop, shed, add, list };
}

// A shed whose sensor posts, and a reading each five minutes until now.
async function hygrometer(t) {
  const { shop, shed, list } = await bench(t);
  const sensor = await expect(shop.post('/api/v1/sensors', { name: 'hygro', place: shed.id, kind: 'push', interval_s: 300 }), 201);
  const post = (reading) => expect(shop.post('/api/v1/readings', reading, { authorization: `Bearer ${sensor.token}` }), 200);
  const get = () => expect(shop.get(`/api/v1/sensors/${sensor.id}`), 200);
  return { shop, shed, list, sensor, post, get };
}

async function heard(shop, id) {
  for (let tries = 0; tries < 200; tries++) {
    const test = await expect(shop.get(`/api/v1/sensor-tests/${id}`), 200);
    if (test.done) return test;
    await new Promise((resolve) => { setTimeout(resolve, 50); });
  }
  return assert.fail('the test of a sensor did not end');
}

// ---- what they are ----

test('a sensor is entered with what it is, and stands in the list of its place', async (t) => {
  const { shop, shed, add, list } = await bench(t);
  const cellar = await shop.addPlace('cellar');
  await refused(shop, shop.get('/api/v1/sensors?place=99'), 422, { field: 'place' });
  await refused(shop, shop.get('/api/v1/sensors/99'), 404); // before the sensor is asked, which is a change of its own
  const answer = await add({ interval_s: 120 });
  const sensor = await expect(Promise.resolve(answer), 201);
  assert.equal(answer.headers.get('location'), `/api/v1/sensors/${sensor.id}`);
  assert.deepEqual(sensor, {
    id: sensor.id, name: 'probe', place: shed.id, kind: 'command', position: 0, interval_s: 120, usual_interval_s: 120, hold_s: 900,
    measures: ['temperature', 'humidity'], source: null, command: SAYS, pointers: PROBE.pointers, scales: PROBE.scales,
    user: null, has_secret: false, ca_file: null, added_at: MORNING, removed_at: null,
    state: 'no-reading-yet', fault: null, fault_at: null, last: null, counts: [], offset: { temp_c: 0, rh_pct: 0 }, suspect: null, disagrees: null,
  });
  assert.deepEqual(await expect(shop.get(`/api/v1/sensors/${sensor.id}`), 200), sensor);
  assert.deepEqual((await list()).map((one) => one.name), ['probe']);
  assert.deepEqual(await list(`?place=${cellar.id}`), []);
});

test('the second sensor of a place comes behind the first, and before the one by hand', async (t) => {
  const { shop, shed, add, list } = await bench(t);
  await shop.air(shed, 18, 55);
  await expect(add(), 201);
  const spare = await expect(add({ name: 'spare' }), 201);
  assert.deepEqual((await list()).map((one) => [one.name, one.kind]).slice(0, 2), [['probe', 'command'], ['spare', 'command']]);
  assert.equal((await list())[2].kind, 'by-hand');
  await expect(shop.patch(`/api/v1/sensors/${spare.id}`, { position: 0, name: 'first' }), 200);
  assert.deepEqual((await list()).map((one) => one.name).slice(0, 2), ['first', 'probe']);
});

test('what a sensor measures follows from what is told of it', async (t) => {
  const { shop, shed } = await bench(t);
  const measures = async (rest) => (await expect(shop.post('/api/v1/sensors', { name: `s${Math.random()}`, place: shed.id, ...rest }), 201)).measures;
  assert.deepEqual(await measures({ kind: 'sysfs', source: 'iio:hygro1' }), ['temperature', 'humidity']);
  assert.deepEqual(await measures({ kind: 'sysfs', source: 'w1:28-0123456789ab' }), ['temperature']);
  assert.deepEqual(await measures({ kind: 'mqtt', source: 'mqtt://127.0.0.1/shed/air', pointers: { humidity: '/h' } }), ['humidity']);
  assert.deepEqual(await measures({ kind: 'mqtt', source: 'mqtt://127.0.0.1/shed/temp', measures: ['temperature'] }), ['temperature']);
  assert.deepEqual(await measures({ kind: 'push' }), ['temperature', 'humidity']);
});

test('a sensor that cannot be is refused by the field at fault', async (t) => {
  const { shop, shed } = await bench(t);
  await expect(shop.post('/api/v1/sensors', { name: 'probe', place: shed.id, kind: 'push' }), 201);
  const cases = [
    [{ name: 'Probe' }, 409, 'name', /already/],
    [{ name: undefined }, 422, 'name', /missing/],
    [{ name: '12' }, 422, 'name'],
    [{ place: undefined }, 422, 'place', /missing/],
    [{ place: 99 }, 422, 'place', /no place 99/],
    [{ kind: 'camera' }, 422, 'kind', /sysfs/],
    [{ kind: 'by-hand', command: undefined, pointers: undefined, scales: undefined }, 422, 'kind', /already/],
    [{ kind: 'import', command: undefined, pointers: undefined, scales: undefined }, 422, 'kind', /sysfs, command, mqtt or push/],
    [{ kind: 'push' }, 422, 'command', /kind push has no command/],
    [{ source: 'iio:x' }, 422, 'source', /kind command has no source/],
    [{ user: 'shop' }, 422, 'user', /leave it out/],
    [{ new_token: true }, 422, 'new_token'],
    [{ command: [] }, 422, 'command', /1 to 32/],
    [{ command: [''] }, 422, 'command', /program/],
    [{ command: 'echo 18' }, 422, 'command', /list/],
    [{ command: ['/bin/echo', ...Array(4).fill('x'.repeat(150))] }, 422, 'command', /too long/],
    [{ command: undefined }, 422, 'command', /missing/],
    [{ pointers: { temperature: 't' } }, 422, 'pointers.temperature', /slash/],
    [{ pointers: { dew: '/d' } }, 422, 'pointers.dew'],
    [{ pointers: {} }, 422, 'measures', /one quantity/],
    [{ pointers: { temperature: '/t' }, measures: ['temperature', 'humidity'] }, 422, 'pointers', /each/],
    [{ scales: { temperature: 'R' } }, 422, 'scales.temperature', /C, F, K/],
    [{ scales: { humidity: 'parts' } }, 422, 'scales.humidity', /fraction/],
    [{ measures: [] }, 422, 'measures'],
    [{ measures: ['dust'] }, 422, 'measures', /temperature, humidity/],
    [{ interval_s: 0 }, 422, 'interval_s'],
    [{ interval_s: 1e9 }, 422, 'interval_s', /86400/],
    [{ position: -1 }, 422, 'position'],
    [{ colour: 'red' }, 422, 'colour'],
  ];
  for (const [rest, status, field, detail] of cases) {
    const send = shop.raw('POST', '/api/v1/sensors', { name: 'spare', place: shed.id, ...PROBE, ...rest });
    await refused(shop, send, status, { field, detail });
  }
  const source = (kind, text, rest) => shop.raw('POST', '/api/v1/sensors', { name: 'spare', place: shed.id, kind, source: text, ...rest });
  await refused(shop, source('sysfs', 'gpio:4'), 422, { field: 'source', detail: /iio:/ });
  await refused(shop, source('mqtt', 'http://127.0.0.1/a', { measures: ['humidity'] }), 422, { field: 'source', detail: /mqtt:/ });
  await refused(shop, source('mqtt', 'mqtt://127.0.0.1/a/+', { measures: ['humidity'] }), 422, { field: 'source', detail: /topic/ });
});

test('a sensor is changed, but for its kind and place; taken out of use it keeps its record', async (t) => {
  const { shop, shed, add, list } = await bench(t);
  const sensor = await expect(add(), 201);
  const target = `/api/v1/sensors/${sensor.id}`;
  const changed = await expect(shop.patch(target, { name: 'wall probe', interval_s: 600, scales: { temperature: 'C' }, command: ['/bin/true'] }), 200);
  assert.deepEqual([changed.name, changed.interval_s, changed.scales, changed.command], ['wall probe', 600, { temperature: 'C', humidity: 'fraction' }, ['/bin/true']]);
  assert.equal((await expect(shop.patch(target, { interval_s: null }), 200)).interval_s, null);
  await refused(shop, shop.raw('PATCH', target, { kind: 'push' }), 422, { field: 'kind', same: target });
  await refused(shop, shop.raw('PATCH', target, { place: shed.id }), 422, { field: 'place', same: target });
  await refused(shop, shop.raw('PATCH', target, { new_token: true }), 422, { field: 'new_token', same: target });
  await refused(shop, shop.raw('PATCH', '/api/v1/sensors/99', { name: 'x' }), 404, { same: target });
  const removed = await expect(shop.del(target), 200);
  assert.equal(removed.removed_at, MORNING);
  assert.deepEqual(await list(), []);
  assert.equal((await expect(shop.get(target), 200)).removed_at, MORNING);
  await expect(add({ name: 'wall probe' }), 201);
});

test('air entered by hand cannot be changed or removed like a sensor', async (t) => {
  const { shop, shed, list } = await bench(t);
  await shop.air(shed, 18, 55);
  const [hand] = await list();
  assert.deepEqual([hand.kind, hand.last.temp_c, hand.last.rh_pct, hand.counts], ['by-hand', 18, 55, ['temperature', 'humidity']]);
  await refused(shop, shop.del(`/api/v1/sensors/${hand.id}`), 403);
  await refused(shop, shop.raw('PATCH', `/api/v1/sensors/${hand.id}`, { interval_s: 60 }), 422, { field: 'interval_s' });
});

test('a password is never told again, and goes to its own broker alone', async (t) => {
  const { shop, shed } = await bench(t);
  const sent = { name: 'cellar air', place: shed.id, kind: 'mqtt', source: 'mqtt://127.0.0.1:1/shed/air', measures: ['humidity'], user: 'shop', password: 'linseed-4417' };
  const made = await shop.post('/api/v1/sensors', sent);
  const sensor = await expect(Promise.resolve(made), 201);
  const target = `/api/v1/sensors/${sensor.id}`;
  const answers = [made, await shop.get(target), await shop.get('/api/v1/sensors'), await shop.get('/api/v1/shop'), await shop.patch(target, { source: 'mqtt://127.0.0.1:1/shed/other' })];
  for (const { text } of answers) assert.doesNotMatch(text, /linseed/);
  assert.deepEqual([sensor.user, sensor.has_secret, answers[4].body.has_secret], ['shop', true, true]);
  for (const source of ['mqtt://127.0.0.1:2/shed/air', 'mqtt://elsewhere.example/shed/air', 'mqtts://127.0.0.1:1/shed/air'])
    await refused(shop, shop.raw('PATCH', target, { source }), 422, { field: 'password', detail: /another one/, same: target });
  assert.equal((await expect(shop.patch(target, { source: 'mqtt://127.0.0.1:2/shed/air', password: null }), 200)).has_secret, false);
});

test('a sensor told twice with one key is one sensor', async (t) => {
  const { shop, shed, list } = await bench(t);
  const tell = () => shop.post('/api/v1/sensors', { name: 'probe', place: shed.id, ...PROBE }, { 'idempotency-key': 'probe-1' });
  assert.deepEqual(await expect(tell(), 201), await expect(tell(), 201));
  assert.equal((await list()).length, 1);
});

// ---- what they say before they are entered ----

test('a source is heard before anything is stored: what it said, and what that is', async (t) => {
  const { shop, list } = await bench(t);
  const before = await shop.revision();
  const { id } = await expect(shop.post('/api/v1/sensor-tests', PROBE), 202);
  assert.deepEqual(await heard(shop, id), { id, done: true, temperature: { raw: '64.4', value_c: 18 }, humidity: { raw: '0.55', value_pct: 55 }, fault: null });
  assert.deepEqual(await list(), []);
  assert.equal(await shop.revision(), before);
});

test('a sensor that is entered is heard by its number', async (t) => {
  const { shop, add } = await bench(t);
  const sensor = await expect(add(), 201);
  const { id } = await expect(shop.post('/api/v1/sensor-tests', { sensor: sensor.id }), 202);
  assert.equal((await heard(shop, id)).temperature.value_c, 18);
});

test('a source that says nothing usable tells why', async (t) => {
  const { shop } = await bench(t);
  const hear = async (rest) => heard(shop, (await expect(shop.post('/api/v1/sensor-tests', { ...PROBE, ...rest }), 202)).id);
  for (const [rest, why] of [
    [{ command: ['/bin/echo', 'warm'] }, /./], [{ command: ['/bin/false'] }, /./],
    [{ pointers: { temperature: '/no', humidity: '/such' } }, /./],
  ]) {
    const test = await hear(rest);
    assert.equal(test.temperature?.value_c ?? null, null);
    assert.match(test.fault ?? '', why);
  }
});

test('a program that is not there is told at once', async (t) => {
  const { shop } = await bench(t);
  await refused(shop, shop.post('/api/v1/sensor-tests', { ...PROBE, command: ['/nonexistent/probe'] }), 422, { field: 'command', detail: /nonexistent/ });
});

test('what cannot be asked is not tested', async (t) => {
  const { shop, shed } = await bench(t);
  const push = await expect(shop.post('/api/v1/sensors', { name: 'hygro', place: shed.id, kind: 'push' }), 201);
  await refused(shop, shop.post('/api/v1/sensor-tests', { sensor: push.id }), 422, { field: 'sensor', detail: /push/ });
  await refused(shop, shop.post('/api/v1/sensor-tests', { kind: 'push' }), 422, { field: 'kind' });
  await refused(shop, shop.post('/api/v1/sensor-tests', { sensor: 99 }), 422, { field: 'sensor' });
  await refused(shop, shop.raw('POST', '/api/v1/sensor-tests', {}), 422, { field: 'kind' });
  await refused(shop, shop.get('/api/v1/sensor-tests/99'), 404);
});

test('a command that is entered is asked by itself, and its air counts', { timeout: 30000 }, async (t) => {
  const { shop, shed, add } = await bench(t);
  const { id } = await expect(add({ interval_s: 1 }), 201);
  let sensor = null;
  for (let tries = 0; tries < 100 && !sensor?.last; tries++) {
    await new Promise((resolve) => { setTimeout(resolve, 100); });
    sensor = await expect(shop.get(`/api/v1/sensors/${id}`), 200);
  }
  assert.deepEqual([sensor.state, sensor.last, sensor.counts], ['ok', { at: MORNING, temp_c: 18, rh_pct: 55 }, ['temperature', 'humidity']]);
  const place = await expect(shop.get(`/api/v1/places/${shed.id}`), 200);
  assert.deepEqual([place.air.temp_c, place.air.rh_pct, place.air.basis], [18, 55, 'measured']);
});

// ---- how they do ----

test('a sensor that falls silent is told, and the spare one counts', async (t) => {
  const { shop, shed, post, get } = await hygrometer(t);
  const spare = await expect(shop.post('/api/v1/sensors', { name: 'spare', place: shed.id, kind: 'push', interval_s: 300 }), 201);
  const postSpare = (reading) => expect(shop.post('/api/v1/readings', reading, { authorization: `Bearer ${spare.token}` }), 200);
  await post({ temp_c: 18, rh_pct: 55 });
  await postSpare({ temp_c: 18.4, rh_pct: 56 });
  assert.deepEqual([(await get()).state, (await get()).counts], ['ok', ['temperature', 'humidity']]);
  assert.deepEqual((await expect(shop.get(`/api/v1/sensors/${spare.id}`), 200)).counts, []);
  for (const moment of ['08:10', '08:20', '08:30', '08:40']) {
    await shop.goTo(at(moment));
    await postSpare({ temp_c: 18.4, rh_pct: 56 });
  }
  const silent = await get();
  assert.deepEqual([silent.state, silent.last.at, silent.counts], ['silent', MORNING, []]);
  assert.deepEqual((await expect(shop.get(`/api/v1/sensors/${spare.id}`), 200)).counts, ['temperature', 'humidity']);
});

test('two sensors of a place that say other things name each other', async (t) => {
  const { shop, shed, sensor, post, get } = await hygrometer(t);
  const spare = await expect(shop.post('/api/v1/sensors', { name: 'spare', place: shed.id, kind: 'push', interval_s: 300 }), 201);
  for (let step = 0; step <= 24; step++) {
    await shop.goTo(new Date(Date.parse(MORNING) + step * 300e3).toISOString());
    await post({ temp_c: 18 + step / 100, rh_pct: 55 });
    await expect(shop.post('/api/v1/readings', { temp_c: 18 + step / 100, rh_pct: 75 }, { authorization: `Bearer ${spare.token}` }), 200);
  }
  assert.deepEqual((await expect(shop.get(`/api/v1/sensors/${spare.id}`), 200)).disagrees, { with: sensor.id, in: 'humidity' });
  assert.equal((await get()).disagrees?.with ?? spare.id, spare.id);
});

// ---- what they should read ----

test('a salt test moves what a sensor reads from then on', async (t) => {
  const { shop, shed, sensor, post, get } = await hygrometer(t);
  await post({ temp_c: 25, rh_pct: 72 });
  const target = `/api/v1/sensors/${sensor.id}/adjustments`;
  const told = await expect(shop.post(target, { quantity: 'humidity', should: 75.3 }), 201);
  assert.deepEqual(told, { id: told.id, sensor: sensor.id, quantity: 'humidity', reads: 72, should: 75.3, offset: 3.3, from_at: MORNING, entered_at: MORNING });
  assert.deepEqual((await get()).offset, { temp_c: 0, rh_pct: 3.3 });
  await shop.goTo(at('08:05'));
  await post({ temp_c: 25, rh_pct: 71 });
  assert.deepEqual((await get()).last, { at: at('08:05'), temp_c: 25, rh_pct: 74.3 });
  const place = await expect(shop.get(`/api/v1/places/${shed.id}`), 200);
  assert.equal(place.air.rh_pct, 74.3);
  assert.deepEqual((await expect(shop.get(target), 200)).items, [told]);
});

test('an adjustment that cannot be is refused', async (t) => {
  const { shop, sensor, post } = await hygrometer(t);
  const target = `/api/v1/sensors/${sensor.id}/adjustments`;
  await refused(shop, shop.post(target, { quantity: 'humidity', should: 75.3 }), 422, { field: 'reads', detail: /say what it reads/ });
  await post({ temp_c: 20, rh_pct: 50 });
  await refused(shop, shop.raw('POST', target, { quantity: 'dust', should: 1 }), 422, { field: 'quantity' });
  await refused(shop, shop.raw('POST', target, { quantity: 'humidity' }), 422, { field: 'should' });
  await refused(shop, shop.post(target, { quantity: 'humidity', should: 175 }), 422, { field: 'should' });
  await refused(shop, shop.post(target, { quantity: 'temperature', should: 45 }), 422, { field: 'should', detail: /broken/ });
  await refused(shop, shop.post(target, { quantity: 'humidity', should: 52, from_at: at('12:00') }), 422, { field: 'from_at', detail: /future/ });
  await refused(shop, shop.post('/api/v1/sensors/99/adjustments', { quantity: 'humidity', should: 52 }), 404);
});

// ---- heating ----

test('a place is heated until somebody leaves', async (t) => {
  const { shop, shed } = await bench(t);
  const target = `/api/v1/places/${shed.id}/heating`;
  assert.equal((await expect(shop.get(`/api/v1/places/${shed.id}`), 200)).heated_until_at, null);
  assert.equal((await expect(shop.post(target, { until_at: at('10:30') }), 200)).heated_until_at, at('10:30'));
  await shop.goTo(at('09:00'));
  assert.equal((await shop.shop()).places[0].heated_until_at, at('10:30'));
  assert.equal((await expect(shop.post(target, { off: true }), 200)).heated_until_at, null);
  assert.equal((await expect(shop.post(target, {}), 200)).heated_until_at, at('13:00'));
  await shop.goTo(at('13:00'));
  assert.equal((await expect(shop.get(`/api/v1/places/${shed.id}`), 200)).heated_until_at, null);
});

test('who does not say until when heats until the working hours end', async (t) => {
  const { shop, shed } = await bench(t);
  await expect(shop.patch('/api/v1/shop', { zone: 'Europe/Vienna', work_from: '17:00', work_to: '22:00' }), 200);
  assert.equal((await expect(shop.post(`/api/v1/places/${shed.id}/heating`, {}), 200)).heated_until_at, at('21:00'));
});

test('heating that cannot be is refused', async (t) => {
  const { shop, shed } = await bench(t);
  const target = `/api/v1/places/${shed.id}/heating`;
  await refused(shop, shop.post(target, { until_at: at('07:00') }), 422, { field: 'until_at' });
  await refused(shop, shop.post(target, { until_at: at('09:00', 8) }), 422, { field: 'until_at' });
  await refused(shop, shop.post(target, { from_at: at('09:00') }), 422, { field: 'from_at', detail: /future/ });
  await refused(shop, shop.post(target, { off: true, until_at: at('09:00') }), 422, { field: 'off' });
  await refused(shop, shop.raw('POST', target, { on: true }), 422, { field: 'on' });
  await refused(shop, shop.post('/api/v1/places/99/heating', {}), 404);
});

// ---- the command line ----

const coat = (shop, ...args) => coatAt(shop.url)(...args);

async function done(running) {
  const run = await running;
  assert.deepEqual([run.code, run.stderr], [0, ''], run.stdout);
  for (const line of run.stdout.split('\n')) assert.ok([...line].length <= 80, `over 80 columns: ${line}`);
  return run.stdout.replace(/\s+/g, ' ');
}

async function fails(running, code, pattern) {
  const run = await running;
  assert.equal(run.code, code, run.stderr + run.stdout);
  assert.match(run.stderr, /^coat: .*\.\n$/);
  assert.match(run.stderr, pattern);
}

const SHOWN = ['--temp-pointer', '/t', '--rh-pointer', '/air/h', '--temp-scale', 'F', '--rh-scale', 'fraction'];

test('coat sensor add hears a source, says what it said, and enters it', async (t) => {
  const { shop, list } = await bench(t);
  const said = await done(coat(shop, 'sensor', 'add', 'probe', 'sh', ...SHOWN, '--every', '5min', '--command', '--', ...SAYS));
  assert.match(said, /temperature 18 C it said 64\.4 humidity 55 % it said 0\.55 probe entered, shed: \/bin\/echo .*; temperature and humidity/);
  const [sensor] = await list();
  assert.deepEqual([sensor.command, sensor.interval_s, sensor.scales], [SAYS, 300, PROBE.scales]);
  assert.match(await done(coat(shop, 'sensor')), /^shed probe /);
  const json = JSON.parse((await coat(shop, 'sensor', 'list', '--json')).stdout);
  assert.deepEqual(json.items.map((one) => one.name), ['probe']);
});

test('coat sensor add enters nothing that says nothing, unless it is told to', async (t) => {
  const { shop, list } = await bench(t);
  const add = (...rest) => coat(shop, 'sensor', 'add', 'probe', 'shed', ...rest);
  await fails(add(...SHOWN, '--command', '--', '/bin/echo', 'warm'), 1, /--untested.*Nothing was entered/);
  assert.deepEqual(await list(), []);
  await done(add(...SHOWN, '--untested', '--command', '--', '/bin/echo', 'warm'));
  assert.equal((await list()).length, 1);
  await fails(coat(shop, 'sensor', 'add', 'wall', 'shed', '--sysfs', 'iio:nosuch'), 1, /^coat: [^.?]*nosuch[^.?]*[.?] With --untested it is entered all the same\. Nothing was entered\.$/m);
});

test('coat sensor names what is wrong with what it was told', async (t) => {
  const { shop, list } = await bench(t);
  const add = (...rest) => coat(shop, 'sensor', 'add', 'probe', 'shed', ...rest);
  await fails(add(), 2, /where does it come from\? --sysfs/);
  await fails(add('--push', '--sysfs', 'iio:a'), 2, /--sysfs and --push/);
  await fails(add('--command'), 2, /program is missing/);
  await fails(add('--sysfs', 'iio:a', 'more'), 2, /"more" is one word too many/);
  await fails(add('--mqtt', 'mqtt://127.0.0.1/a', '--measures', 'dust'), 2, /"dust" is not measured here/);
  await fails(add('--push', '--every', '5'), 2, /--every: "5" has no unit/);
  await fails(add('--push', '--temp-scale', 'R'), 2, /"R" is none of its words: write C, F, K or mC/);
  await fails(add('--push', '--position', '0'), 2, /1 counts first/);
  await fails(add('--mqtt', 'mqtt://127.0.0.1/a', '--measures', 'humidity', '--password-file', '/nonexistent'), 2, /"\/nonexistent" cannot be read/);
  await fails(add('--mqtt', 'http://127.0.0.1/a', '--measures', 'humidity'), 1, /mqtt:/);
  await fails(coat(shop, 'sensor', 'add', 'probe', 'attic', '--push'), 2, /no place "attic"/);
  await fails(coat(shop, 'sensor', 'test', 'probe'), 2, /no sensor "probe"; there is none yet: coat sensor add/);
  await fails(coat(shop, 'sensor', 'test'), 2, /name a sensor/);
  await fails(coat(shop, 'sensor', 'adjust', 'probe'), 2, /--humidity 75\.3% in a salt test/);
  await fails(coat(shop, 'sensor', 'adjust', 'probe', '--temp', '20'), 2, /no unit/);
  assert.deepEqual(await list(), []);
});

test('coat sensor test hears a source that is not entered, and one that is', async (t) => {
  const { shop, add } = await bench(t);
  assert.match(await done(coat(shop, 'sensor', 'test', ...SHOWN, '--command', '--', ...SAYS)), /temperature 18 C it said 64\.4/);
  await expect(add(), 201);
  assert.match(await done(coat(shop, 'sensor', 'test', 'pro')), /humidity 55 % it said 0\.55/);
  const run = await coat(shop, 'sensor', 'test', 'probe', '--json');
  assert.equal(JSON.parse(run.stdout).humidity.value_pct, 55);
  await fails(coat(shop, 'sensor', 'test', '--measures', 'temperature', '--command', '--', '/bin/echo', 'warm'), 1, /./);
});

test('coat sensor add --push tells the token once, and how it is used', async (t) => {
  const { shop, list } = await bench(t);
  const said = await done(coat(shop, 'sensor', 'add', 'hygro', 'shed', '--push'));
  const token = /Authorization: Bearer ([\w-]{43})'/.exec(said)[1];
  await expect(shop.post('/api/v1/readings', { temp_c: 17.8, rh_pct: 61 }, { authorization: `Bearer ${token}` }), 200);
  assert.match(await done(coat(shop, 'sensor', 'list')), /shed hygro ok, 17\.8 C 61 %, read 08:00; counts for temperature and humidity/);
  assert.match(await done(coat(shop, 'sensor', 'edit', 'hygro', '--new-token', '--name', 'wall')), /wall changed, shed: .*Bearer [\w-]{43}'/);
  await refused(shop, shop.post('/api/v1/readings', { temp_c: 17.8 }, { authorization: `Bearer ${token}` }), 401);
  await shop.goTo(at('12:00'));
  assert.match(await done(coat(shop, 'sensor')), /shed wall silent, last 17\.8 C 61 %, read 08:00 \(4 h ago\)\. It posts by itself: look at its power/);
  assert.match(await done(coat(shop, 'sensor', 'show', 'wall')), /^wall, shed: posts its readings itself; temperature and humidity now silent/);
  assert.match(await done(coat(shop, 'sensor', 'remove', 'wall')), /wall is out of use; its readings stay/);
  assert.deepEqual((await list()).filter((one) => one.kind === 'push'), []);
});

test('coat sensor edit keeps the kind, and tells passwords from a file', async (t) => {
  const { shop, list } = await bench(t);
  const folder = scratchFolder();
  t.after(() => fs.rmSync(folder, { recursive: true, force: true }));
  const file = path.join(folder, 'password');
  fs.writeFileSync(file, 'linseed-4417\nanother line\n');
  await done(coat(shop, 'sensor', 'add', 'cellar air', 'shed', '--mqtt', 'mqtt://127.0.0.1:1/shed/air', '--measures', 'humidity', '--untested'));
  assert.match(await done(coat(shop, 'sensor', 'edit', 'cellar', '--user', 'shop', '--password-file', file)), /cellar air changed/);
  assert.deepEqual((await list()).map((one) => [one.user, one.has_secret]), [['shop', true]]);
  assert.match(await done(coat(shop, 'sensor', 'show', 'cellar')), /broker as shop, with a password/);
  await fails(coat(shop, 'sensor', 'edit', 'cellar', '--sysfs', 'iio:a'), 2, /of the kind mqtt, and that stays/);
  await fails(coat(shop, 'sensor', 'edit', 'cellar'), 2, /what is to be changed\?/);
  await fails(coat(shop, 'sensor', 'edit', 'cellar', '--mqtt', 'mqtt://127.0.0.1:2/shed/air'), 1, /password.*Nothing was changed/);
});

test('coat sensor adjust says what is added from when on', async (t) => {
  const { shop, post } = await hygrometer(t);
  await post({ temp_c: 25, rh_pct: 72 });
  assert.match(await done(coat(shop, 'sensor', 'adjust', 'hygro', '--humidity', '75.3%')), /hygro adjusted: humidity \+3\.3 % from 08:00 on: it read 72\.0 % where 75\.3 % was right/);
  assert.match(await done(coat(shop, 'sensor', 'adjust', 'hygro', '--temp', '24C', '--reads', '25C')), /temperature -1 C from/);
  const shown = await done(coat(shop, 'sensor', 'show', 'hygro'));
  assert.match(shown, /adjusted temperature -1 C .* adjusted humidity \+3\.3 %/);
});

test('the command line does not tell an assumed humidity as one that was read', async (t) => {
  const { shop, shed } = await bench(t);
  const { token } = await expect(shop.post('/api/v1/sensors', { name: 'thermometer', place: shed.id, kind: 'push', measures: ['temperature'] }), 201);
  await expect(shop.post('/api/v1/readings', { temp_c: 18 }, { authorization: `Bearer ${token}` }), 200);
  assert.match(await done(coat(shop)), /shed 18 C 85 % \(humidity assumed\)/);
  assert.match(await done(coat(shop, 'sensor')), /thermometer ok, 18 C, read 08:00; counts for temperature/);
});

test('coat air says until when it is heated', async (t) => {
  const { shop } = await bench(t);
  assert.match(await done(coat(shop, 'air', 'shed', '--heat-until', '10:30')), /shed heated until 10:30/);
  assert.match(await done(coat(shop, 'place', 'list')), /heated until 10:30/);
  assert.match(await done(coat(shop, 'air', 'shed', '--heat-off')), /shed not heated/);
  await fails(coat(shop, 'air', 'shed', '--heat-until', 'supper'), 2, /"supper" is no time to come/);
  await fails(coat(shop, 'air', 'shed', '18C', '55%', '--heat-off'), 2, /say it alone/);
});
