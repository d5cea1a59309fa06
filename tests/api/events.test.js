// Events say the revision, and only that; the page fetches the rest.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, at } = require('./scene');

// Opens the stream; next() gives one event as { id, event, data }, or fails after two seconds.
async function follow(t, shop) {
  const controller = new AbortController();
  t.after(() => controller.abort());
  const response = await fetch(`${shop.url}/api/v1/events`, { signal: controller.signal });
  assert.equal(response.status, 200);
  assert.match(response.headers.get('content-type'), /^text\/event-stream/);
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let text = '';
  const read = async () => {
    let timer;
    const late = new Promise((_, reject) => { timer = setTimeout(() => reject(new Error(`no event in 2 s; so far ${JSON.stringify(text)}`)), 2000); });
    const { value, done } = await Promise.race([reader.read(), late]).finally(() => clearTimeout(timer));
    assert.ok(!done, 'the stream ended');
    text += value;
  };
  const next = async () => {
    for (;;) {
      const end = text.indexOf('\n\n');
      if (end < 0) { await read(); continue; }
      const lines = text.slice(0, end).split('\n');
      text = text.slice(end + 2);
      const fields = Object.fromEntries(lines.filter((line) => !line.startsWith(':')).map((line) => /^(\w+): (.*)$/.exec(line).slice(1)));
      if (fields.event) return fields;
    }
  };
  return next;
}

test('the revision on connecting, and again after each write', async (t) => {
  const shop = await openShop(t);
  const next = await follow(t, shop);
  const before = await shop.revision();
  assert.deepEqual(await next(), { id: String(before), event: 'revision', data: JSON.stringify({ revision: before }) });
  await shop.addPlace('shed');
  const after = await shop.revision();
  assert.ok(after > before);
  assert.deepEqual(await next(), { id: String(after), event: 'revision', data: JSON.stringify({ revision: after }) });
});

test('the passing of time is told where it opens or shuts something', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  const body = await shop.addPiece('mill body', { place: shed.id });
  await shop.log(body, await shop.builtin('spray-enamel'), { air: { temp_c: 23, rh_pct: 50 } });
  const next = await follow(t, shop);
  const before = Number((await next()).id);
  await shop.goTo(at('09:30'));
  const event = await next();
  assert.ok(Number(event.id) > before);
  assert.ok(Number(event.id) <= await shop.revision());
});

test('a refused write is no event', async (t) => {
  const shop = await openShop(t);
  const next = await follow(t, shop);
  await next();
  assert.equal((await shop.raw('POST', '/api/v1/pieces', { name: '' })).status, 422);
  const place = await shop.addPlace('shed');
  assert.equal(Number((await next()).id), await shop.revision());
  assert.ok(place.id);
});
