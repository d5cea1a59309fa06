// Bad input: the problem names what was wrong and what would do, and nothing has changed.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused, at } = require('./scene');

async function bench(t) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const body = await shop.addPiece('mill body', { place: shed.id });
  const enamel = await shop.builtin('alkyd-enamel');
  const coat = (rest) => shop.raw('POST', '/api/v1/coats', { pieces: [body.id], material: enamel.id, place: shed.id, ...rest });
  return { shop, shed, body, enamel, coat };
}

test('a coat that cannot be is refused, each time by the field at fault', async (t) => {
  const { shop, body, coat } = await bench(t);
  const cases = [
    [{ pieces: [999] }, 'pieces', /piece 999/],
    [{ pieces: [] }, 'pieces', /1 to 64/],
    [{ pieces: [body.id, body.id] }, 'pieces', /twice/],
    [{ pieces: body.id }, 'pieces', /list/],
    [{ pieces: ['mill body'] }, 'pieces[0]', /mill body/],
    [{ pieces: [1.5] }, 'pieces[0]', /whole/],
    [{ material: 999 }, 'material', /999/],
    [{ material: undefined }, 'material', /missing/],
    [{ last_at: at('08:02') }, 'last_at', /future/],
    [{ first_at: at('09:00') }, 'first_at', /future/],
    [{ first_at: at('07:30'), last_at: at('07:00') }, 'last_at', /swap/],
    [{ last_at: 'yesterday' }, 'last_at', /yesterday/],
    [{ last_at: '2026-11-28T07:00:00' }, 'last_at', /zone/],
    [{ last_at: '2026-02-30T07:00:00Z' }, 'last_at', /2026-02-30/],
    [{ last_at: 1700000000 }, 'last_at', /text/],
    [{ passes: 0 }, 'passes', /0/],
    [{ passes: 1e9 }, 'passes', /50/],
    [{ film: 'thick' }, 'film', /light, normal, heavy/],
    [{ wet_um: -3 }, 'wet_um', /-3/],
    [{ dry_um: 90000 }, 'dry_um', /90000/],
    [{ air: { temp_c: 900, rh_pct: 50 } }, 'air.temp_c', /900/],
    [{ air: { temp_c: 95, rh_pct: 50 } }, 'air.temp_c', /95/],
    [{ air: { temp_c: -90, rh_pct: 50 } }, 'air.temp_c', /-90/],
    [{ air: { temp_c: 20, rh_pct: 120 } }, 'air.rh_pct', /120/],
    [{ air: { temp_c: 20, rh_pct: -1 } }, 'air.rh_pct', /-1/],
    [{ air: { temp_c: 20 } }, 'air.rh_pct', /missing/],
    [{ air: { temp_c: 20, rh_pct: 50, wind: 3 } }, 'air.wind', /temp_c, rh_pct/],
    [{ thinned_pct: 101 }, 'thinned_pct', /101/],
    [{ amount_ml: '100ml' }, 'amount_ml', /number/],
    [{ area: 'x'.repeat(32) }, 'area', /31/],
    [{ note: 'x'.repeat(512) }, 'note', /511/],
    [{ thinner: 'bell\u0007' }, 'thinner', /control/],
    [{ place: 77 }, 'place', /place 77/],
    [{ role: 'gravy' }, 'role', /primer/],
    [{ colour: 'black' }, 'colour', /known are.*pieces.*material/],
    [{ piece: body.id }, 'piece', /known are/],
  ];
  for (const [document, field, detail] of cases) await refused(shop, coat(document), 422, { field, detail });
  assert.deepEqual((await shop.shop()).coats, []);
});

test('humidity, temperature and time of a reading are held to what can be', async (t) => {
  const { shop, shed } = await bench(t);
  const target = `/api/v1/places/${shed.id}/readings`;
  const good = { at: at('07:00'), temp_c: 18, rh_pct: 60 };
  const cases = [
    [{ temp_c: 900, rh_pct: 50 }, 'temp_c', /-40 to 60/],
    [{ temp_c: 20, rh_pct: 120 }, 'rh_pct', /0 to 100/],
    [{ temp_c: null, rh_pct: 50 }, 'temp_c', /null/],
    [{ temp_c: 20, rh_pct: 50, at: at('08:05') }, 'at', /future/],
    [{ temp_c: 20, rh_pct: 50, at: '1999-12-31T00:00:00Z' }, 'at', /2000/],
    [{ items: [] }, 'items', /1 to 20000/],
    [{ items: [good, { ...good, rh_pct: 120 }] }, 'items[1].rh_pct', /120/],
    [{ items: [good, { temp_c: 18, rh_pct: 60 }] }, 'items[1].at', /missing/],
    [{ items: [good, { ...good, at: at('12:00') }] }, 'items[1].at', /future/],
    [{ items: [good, 18] }, 'items[1]', /object/],
    [{ items: [good], temp_c: 18 }, 'temp_c', /items/],
    [{ items: Array(20001).fill(good) }, 'items', /20000/],
    [{}, 'temp_c', /missing/],
  ];
  for (const [document, field, detail] of cases) await refused(shop, shop.raw('POST', target, document), 422, { field, detail });
  assert.deepEqual((await expect(shop.get(target), 200)).items, []);
});

test('a number outside its range is told in figures as well, in the unit of its member; whatever else is refused has none', async (t) => {
  const { shop, shed, coat } = await bench(t);
  const target = `/api/v1/places/${shed.id}/readings`;
  const figures = ({ value, least, most }) => ({ value, least, most });
  const hot = await refused(shop, shop.raw('POST', target, { temp_c: 148.5, rh_pct: 50 }), 422, { field: 'temp_c' });
  assert.deepEqual(figures(hot), { value: 148.5, least: -40, most: 60 });
  const second = { at: at('07:00'), temp_c: 18, rh_pct: 120 };
  assert.deepEqual(figures(await refused(shop, shop.raw('POST', target, { items: [{ ...second, rh_pct: 60 }, second] }), 422, { field: 'items[1].rh_pct' })), { value: 120, least: 0, most: 100 });
  assert.deepEqual(figures(await refused(shop, coat({ passes: 1000 }), 422, { field: 'passes' })), { value: 1000, least: 1, most: 50 });
  for (const passes of ['two', 1.5, null]) assert.deepEqual(Object.keys(await refused(shop, coat({ passes }), 422, { field: 'passes' })).filter((name) => ['value', 'least', 'most'].includes(name)), []);
});

test('names are one line of text of a length that fits, and no number of a coat', async (t) => {
  const { shop } = await bench(t);
  const cases = [
    ['', /empty/], ['x'.repeat(64), /63/], ['\u00e4'.repeat(32), /63/], ['two\nlines', /control/], ['tab\tbed', /control/], ['esc\u001b[31m', /control/],
    [' lid', /space/], ['lid ', /space/], ['12', /number/], [12, /text/], [null, /null/], [undefined, /missing/],
  ];
  for (const [name, detail] of cases) await refused(shop, shop.raw('POST', '/api/v1/pieces', { name }), 422, { field: 'name', detail });
  await refused(shop, shop.raw('POST', '/api/v1/places', { name: 'shed\u0000' }), 400, { detail: /NUL/ });
  const full = await shop.addPiece('x'.repeat(63));
  assert.equal(full.name.length, 63);
});

test('what is no JSON object is 400 or 422, whatever it is', async (t) => {
  const { shop } = await bench(t);
  for (const body of ['', '{', '{"name":"lid"', '{"name":"lid",}', "{'name':'lid'}", '{"name":NaN}', '{"name":"lid"} x', '\ufeff{"name":"lid"}', '{"name":"\\ud800"}', `${'['.repeat(500)}${']'.repeat(500)}`]) {
    await refused(shop, shop.raw('POST', '/api/v1/pieces', body), 400);
  }
  for (const body of ['[]', 'null', '12', '"lid"', 'true']) {
    const answer = await shop.raw('POST', '/api/v1/pieces', body);
    assert.ok([400, 422].includes(answer.status), `${body}: ${answer.status}`);
  }
  const twice = await refused(shop, shop.raw('POST', '/api/v1/pieces', '{"name":"lid","name":"body"}'), 400);
  assert.match(twice.detail, /name/);
  assert.equal((await shop.shop()).pieces.length, 1);
});

test('a body has a limit, and that of readings is larger', async (t) => {
  const { shop, shed } = await bench(t);
  await refused(shop, shop.raw('POST', '/api/v1/pieces', { name: 'lid', note: 'x'.repeat(70000) }), 413);
  const items = Array.from({ length: 3000 }, (_, minute) => ({ at: new Date(Date.parse(at('07:00')) - minute * 60e3).toISOString(), temp_c: 17.123, rh_pct: 55.5 }));
  assert.ok(JSON.stringify({ items }).length > 64 * 1024);
  assert.equal((await expect(shop.post(`/api/v1/places/${shed.id}/readings`, { items }), 200)).count, 3000);
  await refused(shop, shop.raw('POST', `/api/v1/places/${shed.id}/readings`, `{"items":[${' '.repeat(2 * 1024 * 1024)}]}`), 413);
});

test('a write says that it is JSON, and comes from this page if from any', async (t) => {
  const { shop } = await bench(t);
  await refused(shop, shop.raw('POST', '/api/v1/pieces', '{"name":"lid"}', { 'content-type': 'text/plain' }), 415);
  const foreign = await shop.raw('POST', '/api/v1/pieces', { name: 'lid' }, { origin: 'http://elsewhere.example' });
  assert.equal(foreign.status, 403);
  assert.equal((await shop.shop()).pieces.length, 1);
});

test('what is not there is 404, for every kind of thing and every method', async (t) => {
  const { shop, shed } = await bench(t);
  for (const id of ['999', '0', 'abc', '-1', '1.5', '99999999999999999999']) {
    for (const kind of ['places', 'pieces', 'racks', 'materials', 'coats']) {
      assert.equal((await shop.raw('GET', `/api/v1/${kind}/${id}`)).status, 404, `${kind}/${id}`);
    }
  }
  const writes = [
    ['PATCH', '/api/v1/places/999', { name: 'x' }], ['DELETE', '/api/v1/places/999'], ['POST', '/api/v1/places/999/readings', { temp_c: 20, rh_pct: 50 }],
    ['PATCH', '/api/v1/pieces/999', { name: 'x' }], ['DELETE', '/api/v1/pieces/999'], ['POST', '/api/v1/pieces/999/moves', { place: shed.id }],
    ['POST', '/api/v1/pieces/999/strips', {}], ['PATCH', '/api/v1/racks/999', { name: 'x' }], ['DELETE', '/api/v1/racks/999'],
    ['PUT', '/api/v1/materials/999', { name: 'x', class: 'lacquer' }], ['DELETE', '/api/v1/materials/999'], ['PATCH', '/api/v1/coats/999', { passes: 2 }],
    ['POST', '/api/v1/coats/999/strike', { why: 'no such coat' }], ['POST', '/api/v1/coats/999/sandings', {}], ['POST', '/api/v1/notices/999/ack', {}],
  ];
  for (const [method, target, document] of writes) await refused(shop, shop.send(method, target, document), 404);
  for (const target of ['/api/v1/places/999/readings', '/api/v1/pieces/999/moves', '/api/v1/materials/999/versions', '/api/v1/coats/999/entries']) {
    await refused(shop, shop.get(target), 404);
  }
  await refused(shop, shop.get('/api/v1/coats?piece=999'), 404, { field: 'piece' });
});

test('a reference in a body that leads nowhere is 422, not 404', async (t) => {
  const { shop, body } = await bench(t);
  await refused(shop, shop.post(`/api/v1/pieces/${body.id}/moves`, { place: 999 }), 422, { field: 'place', detail: /999/ });
  await refused(shop, shop.post(`/api/v1/pieces/${body.id}/strips`, { down_to: 999 }), 422, { field: 'down_to', detail: /999/ });
  await refused(shop, shop.post('/api/v1/racks', { name: 'mill two', pieces: [999] }), 422, { field: 'pieces', detail: /999/ });
  await refused(shop, shop.post('/api/v1/pieces', { name: 'lid', place: 999 }), 422, { field: 'place', detail: /999/ });
});

test('query parameters are read as strictly as bodies', async (t) => {
  const { shop, shed } = await bench(t);
  const readings = `/api/v1/places/${shed.id}/readings`;
  for (const query of ['?most=1', '?most=many', '?most=1e9', '?from=yesterday', '?from=2026-11-28T00:00:00Z&to=2026-11-27T00:00:00Z']) {
    const answer = await shop.raw('GET', readings + query);
    assert.ok([400, 422].includes(answer.status), `${query}: ${answer.status}`);
    assert.ok(['most', 'from'].includes(answer.body.field), query);
  }
  assert.equal((await shop.raw('GET', '/api/v1/notices?after=-1')).status, 422);
  assert.equal((await shop.raw('GET', '/api/v1/coats?most=0')).status, 422);
});

test('a struck coat is not amended, sanded or struck again', async (t) => {
  const { shop, coat } = await bench(t);
  const [{ id }] = (await expect(coat({ last_at: at('07:00') }), 201)).items;
  await refused(shop, shop.raw('POST', `/api/v1/coats/${id}/strike`, {}), 422, { field: 'why' });
  await refused(shop, shop.raw('POST', `/api/v1/coats/${id}/strike`, { why: '' }), 422, { field: 'why' });
  await expect(shop.post(`/api/v1/coats/${id}/strike`, { why: 'logged twice' }), 200);
  await refused(shop, shop.patch(`/api/v1/coats/${id}`, { passes: 2 }), 409);
  await refused(shop, shop.post(`/api/v1/coats/${id}/sandings`, {}), 409);
  await refused(shop, shop.post(`/api/v1/coats/${id}/strike`, { why: 'again' }), 409);
});

test('the clock goes forward only, and not for ever', async (t) => {
  const { shop } = await bench(t);
  for (const document of [{}, { to_at: at('07:00') }, { advance_s: -1 }, { advance_s: 1e12 }, { to_at: at('09:00'), advance_s: 60 }, { to_at: 'noon' }]) {
    await refused(shop, shop.raw('POST', '/api/v1/clock', document), 422);
  }
  assert.deepEqual(await expect(shop.get('/api/v1/clock'), 200), { now_at: at('08:00'), rate: 0 });
  assert.deepEqual(await expect(shop.post('/api/v1/clock', { advance_s: 90 }), 200), { now_at: '2026-11-28T08:01:30Z', rate: 0 });
});
