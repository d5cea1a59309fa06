// Readings that a sensor posts with its token: what the token opens, and what becomes of what it says.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused, at, MORNING } = require('./scene');
const { description } = require('./openapi');

const bearer = (token) => ({ authorization: `Bearer ${token}` });
const minutes = (count) => new Date(Date.parse(MORNING) + count * 60e3).toISOString().replace('.000Z', 'Z');

async function bench(t, rest = {}) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const sensor = await expect(shop.post('/api/v1/sensors', { name: 'hygro', place: shed.id, kind: 'push', ...rest }), 201);
  const send = (body, headers = {}) => shop.post('/api/v1/readings', body, { ...bearer(sensor.token), ...headers });
  const post = (body) => expect(send(body), 200);
  const get = () => expect(shop.get(`/api/v1/sensors/${sensor.id}`), 200);
  const readings = async (query = '') => (await expect(shop.get(`/api/v1/places/${shed.id}/readings${query}`), 200)).items;
  return { shop, shed, sensor, send, post, get, readings };
}

// ---- the token ----

test('a sensor that posts is told its token once', async (t) => {
  const { shop, sensor } = await bench(t);
  assert.match(sensor.token, /^[\w-]{43}$/);
  assert.equal(Buffer.from(sensor.token, 'base64url').length, 32);
  assert.match(sensor.token_note, /told this once/);
  for (const target of ['/api/v1/sensors', `/api/v1/sensors/${sensor.id}`, '/api/v1/shop', '/metrics']) {
    const { text } = await shop.get(target);
    assert.ok(!text.includes(sensor.token), `${target} tells the token`);
    assert.doesNotMatch(text, /[0-9a-f]{64}/, `${target} tells its hash`);
  }
  const other = await expect(shop.post('/api/v1/sensors', { name: 'spare', place: sensor.place, kind: 'push' }), 201);
  assert.notEqual(other.token, sensor.token);
});

test('a repeated write cannot tell the token again, and says how to get another', async (t) => {
  const { shop, shed } = await bench(t);
  const tell = () => shop.post('/api/v1/sensors', { name: 'spare', place: shed.id, kind: 'push' }, { 'idempotency-key': 'spare-1' });
  const first = await expect(tell(), 201);
  const second = await expect(tell(), 201);
  assert.equal(second.id, first.id);
  assert.equal(second.token, null);
  assert.match(second.token_note, /new_token/);
  await expect(shop.post('/api/v1/readings', { temp_c: 18 }, bearer(first.token)), 200);
});

test('a new token ends the old one', async (t) => {
  const { shop, sensor, send } = await bench(t);
  const changed = await expect(shop.patch(`/api/v1/sensors/${sensor.id}`, { new_token: true }), 200);
  assert.match(changed.token, /^[\w-]{43}$/);
  await refused(shop, send({ temp_c: 18 }), 401);
  await expect(shop.post('/api/v1/readings', { temp_c: 18 }, bearer(changed.token)), 200);
  const named = await expect(shop.patch(`/api/v1/sensors/${sensor.id}`, { name: 'wall' }), 200);
  assert.ok(!('token' in named));
  const kept = await expect(shop.patch(`/api/v1/sensors/${sensor.id}`, { new_token: false }), 200);
  assert.ok(!('token' in kept));
  await expect(shop.post('/api/v1/readings', { temp_c: 18 }, bearer(changed.token)), 200);
});

test('readings are posted with the token of a sensor in use, and not without', async (t) => {
  const { shop, sensor, send } = await bench(t);
  const told = async (headers) => {
    const answer = await shop.post('/api/v1/readings', { temp_c: 18 }, headers);
    assert.equal(answer.status, 401, answer.text);
    return answer.headers.get('www-authenticate');
  };
  assert.equal(await told({}), 'Bearer realm="coatd"');
  const wrong = [bearer(`${sensor.token}x`), bearer(sensor.token.slice(1)), bearer(''), bearer(sensor.token.toUpperCase()), { authorization: sensor.token },
    { authorization: `Basic ${sensor.token}` }, bearer('a'.repeat(4000))];
  for (const headers of wrong) assert.equal(await told(headers), 'Bearer realm="coatd", error="invalid_token"', JSON.stringify(headers));
  await expect(send({ temp_c: 18 }, { authorization: `bearer ${sensor.token}` }), 200);
  await expect(shop.del(`/api/v1/sensors/${sensor.id}`), 200);
  await refused(shop, send({ temp_c: 18 }), 401);
});

test('the token of a sensor opens nothing else', async (t) => {
  const { shop, sensor } = await bench(t);
  const before = (await shop.get('/api/v1/places')).text;
  for (const [template, item] of Object.entries(description.paths)) {
    for (const method of Object.keys(item).filter((key) => key !== 'parameters')) {
      const target = template.replace('{id}', '1');
      if (target === '/api/v1/readings') continue;
      const body = ['get', 'delete'].includes(method) ? undefined : {};
      const answer = await shop.raw(method.toUpperCase(), target, body, bearer(sensor.token));
      assert.equal(answer.status, 403, `${method} ${target}: ${answer.text}`);
      assert.equal(answer.body.detail, 'the token of a sensor opens POST /api/v1/readings alone');
    }
  }
  assert.equal((await shop.raw('GET', '/', undefined, bearer(sensor.token))).status, 403);
  assert.equal((await shop.get('/api/v1/places')).text, before);
});

test('a token does not open the gate to a page from elsewhere, nor to what is not JSON', async (t) => {
  const { shop, sensor, send } = await bench(t);
  assert.equal((await send({ temp_c: 18 }, { origin: 'http://other.example' })).status, 403);
  assert.equal((await shop.post('/api/v1/readings', 'temp_c=18', { ...bearer(sensor.token), 'content-type': 'application/x-www-form-urlencoded' })).status, 415);
  assert.equal((await shop.post('/api/v1/readings', '{"temp_c":18', bearer(sensor.token))).status, 400);
});

// ---- what it says ----

test('what a sensor posts is the air of its place', async (t) => {
  const { shop, shed, post, get, readings } = await bench(t);
  assert.deepEqual(await post({ temp_c: 18.25, rh_pct: 55.5 }), { counted: 1, repeated: 0, suspect: 0, judgement: null });
  const { air } = await expect(shop.get(`/api/v1/places/${shed.id}`), 200);
  assert.deepEqual([air.at, air.temp_c, air.rh_pct, air.basis, air.rh_basis], [MORNING, 18.25, 55.5, 'measured', 'measured']);
  const sensor = await get();
  assert.deepEqual([sensor.state, sensor.last, sensor.counts], ['ok', { at: MORNING, temp_c: 18.25, rh_pct: 55.5 }, ['temperature', 'humidity']]);
  assert.deepEqual(await readings(), [{ at: MORNING, temp_c: 18.25, rh_pct: 55.5 }]);
});

test('what it could not send is sent later, in one body', async (t) => {
  const { shop, post, readings } = await bench(t);
  await shop.goTo(at('10:00'));
  const items = Array.from({ length: 120 }, (_, i) => ({ at: minutes(i), temp_c: 18 + i / 100, rh_pct: 55 }));
  assert.deepEqual(await post({ items }), { counted: 120, repeated: 0, suspect: 0, judgement: null });
  assert.deepEqual((await readings('?most=500')).map((one) => one.temp_c), items.map((one) => one.temp_c));
  assert.deepEqual(await post({ items }), { counted: 0, repeated: 120, suspect: 0, judgement: null });
});

test('its plain numbers are in its own scales', async (t) => {
  const { post, get } = await bench(t, { scales: { temperature: 'F', humidity: 'fraction' } });
  await post({ temperature: 64.4, humidity: 0.55 });
  assert.deepEqual((await get()).last, { at: MORNING, temp_c: 18, rh_pct: 55 });
});

test('a thermometer tells no humidity, and openings count on damp air', async (t) => {
  const { shop, shed, post, get, readings } = await bench(t, { measures: ['temperature'] });
  await post({ temp_c: 18, rh_pct: 3 });
  assert.deepEqual((await get()).last, { at: MORNING, temp_c: 18, rh_pct: null });
  assert.deepEqual(await readings(), [{ at: MORNING, temp_c: 18, rh_pct: null }]);
  const { air } = await expect(shop.get(`/api/v1/places/${shed.id}`), 200);
  assert.deepEqual([air.temp_c, air.basis, air.rh_pct, air.rh_basis], [18, 'measured', 85, 'assumed']);
});

test('what cannot be believed does not count, stays in the record, and says why', async (t) => {
  const { shop, sensor, post, get, readings } = await bench(t, { interval_s: 60, measures: ['temperature'] });
  for (let i = 0; i < 30; i++) {
    await shop.goTo(minutes(i));
    await post({ temp_c: 18 + i / 50 });
  }
  await shop.goTo(minutes(30));
  assert.deepEqual(await post({ temp_c: 291.4 }), { counted: 0, repeated: 0, suspect: 1, judgement: 'wrong-unit' });
  const { items } = await expect(shop.get(`/api/v1/sensors/${sensor.id}/suspects`), 200);
  assert.deepEqual(items, [{ at: minutes(30), received_at: minutes(30), temp_c: 291.4, rh_pct: null, judgement: 'wrong-unit' }]);
  assert.deepEqual((await get()).suspect, { at: minutes(30), judgement: 'wrong-unit' });
  assert.ok((await readings('?most=500')).every((one) => one.temp_c < 20));
  assert.deepEqual((await expect(shop.get(`/api/v1/sensors/${sensor.id}/suspects?to=${minutes(29)}`), 200)).items, []);
  await refused(shop, shop.get(`/api/v1/sensors/${sensor.id}/suspects?from=${minutes(9)}&to=${minutes(8)}`), 422, { field: 'from' });
  await refused(shop, shop.get('/api/v1/sensors/99/suspects'), 404);
});

test('a sensor whose clock was never set is told so', async (t) => {
  const { post } = await bench(t);
  assert.deepEqual(await post({ temp_c: 18, rh_pct: 55, at: '1970-01-01T00:05:00Z' }), { counted: 0, repeated: 0, suspect: 1, judgement: 'clock-not-set' });
  assert.equal((await post({ temp_c: 18, rh_pct: 55, at: at('12:00') })).judgement, 'from-the-future');
});

test('readings posted twice with one key are taken once', async (t) => {
  const { send, readings } = await bench(t);
  const body = { items: [{ at: minutes(-2), temp_c: 18, rh_pct: 55 }, { at: minutes(-1), temp_c: 18.1, rh_pct: 55 }] };
  const tell = () => expect(send(body, { 'idempotency-key': 'batch-7' }), 200);
  assert.deepEqual(await tell(), { counted: 2, repeated: 0, suspect: 0, judgement: null });
  assert.deepEqual(await tell(), { counted: 0, repeated: 2, suspect: 0, judgement: null });
  assert.equal((await readings()).length, 2);
  const other = await send({ temp_c: 18 }, { 'idempotency-key': 'batch-7' });
  assert.equal(other.status, 422);
});

test('a body that is no reading is refused, and nothing of it is taken', async (t) => {
  const { shop, sensor, readings } = await bench(t);
  const send = (body) => shop.raw('POST', '/api/v1/readings', body, bearer(sensor.token));
  const good = { at: minutes(-1), temp_c: 18, rh_pct: 55 };
  const cases = [
    [{}, 'temp_c', /send temp_c, rh_pct or both/],
    [{ temp_c: null, rh_pct: null }, 'temp_c', /nothing that this sensor measures/],
    [{ temp_c: '18' }, 'temp_c', /"18"/],
    [{ temp_c: 1e7 }, 'temp_c', /1e\+06|1000000/],
    [{ temp_c: 18, temperature: 18 }, 'temperature', /one of them/],
    [{ temp_c: 18, dew_c: 9 }, 'dew_c', /dew_c/],
    [{ temp_c: 18, at: 'noon' }, 'at', /noon/],
    [{ items: [] }, 'items', /1 to 20000/],
    [{ items: [good], temp_c: 18 }, 'temp_c', /temp_c/],
    [{ items: [good, { temp_c: 18 }] }, 'items[1].at', /missing/],
    [{ items: [good, { at: minutes(-1), rh_pct: true }] }, 'items[1].rh_pct', /true/],
    [{ items: [good, 18] }, 'items[1]', /object/],
  ];
  for (const [body, field, detail] of cases) await refused(shop, send(body), 422, { field, detail });
  assert.deepEqual(await readings(), []);
});

test('a fortnight of minutes is taken in one body, and one more is not', { timeout: 60000 }, async (t) => {
  const { shop, send, readings } = await bench(t);
  const days = (count) => Array.from({ length: count }, (_, i) => ({ at: minutes(i - count), temp_c: Math.round(1800 + 300 * Math.sin(i / 229)) / 100, rh_pct: 55 + (i % 7) / 10 }));
  const told = await expect(send({ items: days(20000) }), 200);
  assert.equal(told.counted + told.suspect, 20000);
  assert.equal(told.suspect, 0);
  assert.equal((await readings('?most=2')).length, 2);
  await refused(shop, send({ items: days(20001) }), 422, { field: 'items', detail: /1 to 20000/ });
});
