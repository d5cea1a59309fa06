// Where notices go beside the page, and the links in them that acknowledge.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { test } = require('node:test');
const { scratchFolder } = require('./daemon');
const { openShop, expect, refused, at, MORNING } = require('./scene');

const KEY = 'a key that nobody guesses';
const add = (shop, rest) => shop.raw('POST', '/api/v1/channels', { name: 'desk', ...rest });
const MAIL = { kind: 'mail', target: 'smtps://mail.example', to: 'smith@shop.example', from: 'shop@shop.example' };

// ---- what they are ----

test('a channel is entered with what it is, and stands in the list and in the document of the page', async (t) => {
  const shop = await openShop(t);
  const answer = await shop.post('/api/v1/channels', { name: 'desk', kind: 'command', argv: ['/bin/cat'] });
  const channel = await expect(Promise.resolve(answer), 201);
  assert.equal(answer.headers.get('location'), `/api/v1/channels/${channel.id}`);
  assert.deepEqual(channel, {
    id: channel.id, name: 'desk', kind: 'command', target: null, argv: ['/bin/cat'], user: null, from: null, to: null, link: null, ca_file: null,
    has_secret: false, added_at: MORNING, removed_at: null, waiting: 0, failing_since_at: null, answer: null, delivered: 0, delivered_at: null,
  });
  assert.deepEqual((await expect(shop.get('/api/v1/channels'), 200)).items, [channel]);
  assert.deepEqual((await shop.shop()).channels, [{ id: channel.id, name: 'desk', kind: 'command', waiting: 0, failing_since_at: null, answer: null }]);
  await expect(shop.patch(`/api/v1/channels/${channel.id}`, { name: 'bench' }), 200);
  assert.notEqual((await expect(shop.del(`/api/v1/channels/${channel.id}`), 200)).removed_at, null);
  assert.deepEqual((await expect(shop.get('/api/v1/channels'), 200)).items, []);
  assert.equal((await expect(shop.get(`/api/v1/channels/${channel.id}`), 200)).name, 'bench', 'the record stays');
  await refused(shop, shop.patch(`/api/v1/channels/${channel.id}`, { name: 'desk' }), 409, { detail: /out of use/ });
  await refused(shop, shop.get('/api/v1/channels/99'), 404);
});

test('a key that the service makes is told once, and no secret ever comes back', async (t) => {
  const shop = await openShop(t);
  const headers = { 'idempotency-key': 'once' };
  const given = { name: 'hook', kind: 'webhook', target: 'https://hook.example/coat' };
  const made = await expect(shop.post('/api/v1/channels', given, headers), 201);
  assert.match(made.secret, /^[A-Za-z0-9_-]{43}$/);
  const again = await expect(shop.post('/api/v1/channels', given, headers), 201);
  assert.deepEqual([again.id, again.secret], [made.id, null], 'a repeated write has none to tell');
  assert.match(again.secret_note, /new_secret/);
  const own = await expect(shop.post('/api/v1/channels', { ...given, name: 'own', secret: KEY }), 201);
  assert.equal('secret' in own, false, 'who told it knows it');
  const mail = await expect(shop.post('/api/v1/channels', { name: 'post', ...MAIL, user: 'shop', secret: 'the password' }), 201);
  const calendar = await expect(shop.post('/api/v1/channels', { name: 'phone', kind: 'calendar', link: 'https://shop.example:8262/' }), 201);
  assert.match(calendar.calendar_link, /^https:\/\/shop\.example:8262\/calendar\.ics\?key=[A-Za-z0-9_-]{43}$/);
  const renewed = await expect(shop.patch(`/api/v1/channels/${made.id}`, { new_secret: true }), 200);
  assert.notEqual(renewed.secret, made.secret);
  const secrets = [made.secret, renewed.secret, KEY, 'the password', calendar.calendar_link.split('key=')[1]];
  for (const target of ['/api/v1/channels', '/api/v1/shop', '/api/v1/notices', '/metrics', ...[made, own, mail, calendar].map((one) => `/api/v1/channels/${one.id}`)]) {
    const { text } = await shop.get(target);
    for (const secret of secrets) assert.ok(!text.includes(secret), `${target} tells a secret`);
  }
  for (const one of [made, own, mail, calendar]) assert.equal((await expect(shop.get(`/api/v1/channels/${one.id}`), 200)).has_secret, true);
});

test('a channel that cannot be is refused by the field at fault', async (t) => {
  const shop = await openShop(t);
  await expect(shop.post('/api/v1/channels', { name: 'desk', kind: 'calendar' }), 201);
  const hook = { name: 'hook', kind: 'webhook', target: 'https://hook.example/' };
  const mail = { name: 'post', ...MAIL };
  const cases = [
    [{ ...hook, name: 'Desk' }, 409, 'name', /already|has that name|in use/],
    [{ ...hook, name: undefined }, 422, 'name', /missing/],
    [{ ...hook, kind: 'pigeon' }, 422, 'kind', /webhook/],
    [{ ...hook, target: undefined }, 422, 'target', /missing/],
    [{ ...hook, target: 'http://hook.example/' }, 422, 'target'],
    [{ ...hook, target: 'ftp://hook.example/' }, 422, 'target'],
    [{ ...hook, secret: 'short' }, 422, 'secret', /at least 16/],
    [{ ...hook, new_secret: true }, 422, 'new_secret', /leave it out/],
    [{ ...hook, argv: ['/bin/cat'] }, 422, 'argv', /kind webhook has no argv/],
    [{ ...hook, user: 'smith' }, 422, 'user', /leave it out/],
    [{ ...hook, link: 'shop.example' }, 422, 'link', /https:\/\/shop\.example:8262/],
    [{ ...hook, link: 'https://shop.example/?a=b' }, 422, 'link'],
    [{ ...hook, colour: 'red' }, 422, 'colour'],
    [{ ...mail, to: 'smith' }, 422, 'to', /name@host\.example/],
    [{ ...mail, to: 'a@b.example, c@d.example' }, 422, 'to'],
    [{ ...mail, to: undefined }, 422, 'to', /missing/],
    [{ ...mail, from: undefined }, 422, 'from', /missing/],
    [{ ...mail, from: undefined, user: 'smith' }, 422, 'from', /user is no address/],
    [{ ...mail, target: 'https://mail.example' }, 422, 'target'],
    [{ name: 'run', kind: 'command' }, 422, 'argv', /missing/],
    [{ name: 'run', kind: 'command', argv: [] }, 422, 'argv', /1 to 32/],
    [{ name: 'run', kind: 'command', argv: [''] }, 422, 'argv', /program/],
    [{ name: 'run', kind: 'command', argv: ['/nonexistent/tell'] }, 422, 'argv'],
    [{ name: 'run', kind: 'command', argv: ['/bin/cat'], target: 'x' }, 422, 'target', /leave it out/],
    [{ name: 'phone', kind: 'calendar', secret: KEY }, 422, 'secret', /leave it out/],
  ];
  for (const [given, status, field, detail] of cases) await refused(shop, add(shop, given), status, { field, detail });
  const whole = await expect(shop.post('/api/v1/channels', { name: 'post', ...MAIL, from: undefined, user: 'shop@shop.example', secret: 'the password' }), 201);
  assert.equal(whole.from, 'shop@shop.example', 'the user is an address');
  const change = (rest) => shop.raw('PATCH', `/api/v1/channels/${whole.id}`, rest);
  await refused(shop, change({ target: 'smtps://other.example' }), 422, { field: 'secret', detail: /another one/ });
  await refused(shop, change({ kind: 'webhook' }), 422, { field: 'kind' });
  await expect(change({ target: 'smtps://other.example', secret: 'its password' }), 200);
});

// ---- tests of them ----

async function tried(shop, given) {
  const { id } = await expect(shop.post('/api/v1/channel-tests', given), 202);
  for (let tries = 0; tries < 200; tries++) {
    const state = await expect(shop.get(`/api/v1/channel-tests/${id}`), 200);
    if (state.done) return state;
    await new Promise((resolve) => { setTimeout(resolve, 50); });
  }
  return assert.fail('the test of a channel did not end');
}

test('a test tells what the other side said, before anything is stored', async (t) => {
  const shop = await openShop(t);
  const before = await shop.revision();
  const good = await tried(shop, { kind: 'command', argv: ['/bin/sh', '-c', 'echo taken'] });
  assert.deepEqual([good.delivered, /taken/.test(good.answer)], [true, true], good.answer);
  const bad = await tried(shop, { kind: 'command', argv: ['/bin/sh', '-c', 'echo no paper; exit 3'] });
  assert.deepEqual([bad.delivered, /no paper/.test(bad.answer)], [false, true], bad.answer);
  assert.equal(await shop.revision(), before);
  await refused(shop, shop.raw('POST', '/api/v1/channel-tests', { kind: 'calendar' }), 422, { field: 'kind', detail: /fetches it/ });
  await refused(shop, shop.raw('POST', '/api/v1/channel-tests', { channel: 99 }), 422, { field: 'channel' });
  await refused(shop, shop.get('/api/v1/channel-tests/99'), 404);
  const channel = await expect(shop.post('/api/v1/channels', { name: 'desk', kind: 'command', argv: ['/bin/cat'] }), 201);
  assert.equal((await tried(shop, { channel: channel.id })).delivered, true);
});

// ---- links that acknowledge ----

// A shop whose notices are written to a file by a program, and the first that says a window opens.
async function toldOverProgram(t) {
  const shop = await openShop(t);
  const folder = scratchFolder();
  t.after(() => fs.rmSync(folder, { recursive: true }));
  const file = path.join(folder, 'told');
  const channel = await expect(shop.post('/api/v1/channels', { name: 'desk', kind: 'command', argv: ['/bin/sh', '-c', 'cat >>"$0"; echo >>"$0"', file] }), 201);
  const shed = await shop.addPlace('shed <b>');
  await shop.air(shed, 20, 50);
  const spray = await shop.builtin('spray-enamel');
  await shop.log(await shop.addPiece('wheel & "axle" <i>', { place: shed.id }), spray);
  await shop.goTo(at('09:00'));
  for (let tries = 0; tries < 200; tries++) {
    const told = fs.existsSync(file) ? fs.readFileSync(file, 'utf8').split('\n').filter((line) => line !== '').map((line) => JSON.parse(line)) : [];
    const notice = told.find((one) => one.kind === 'stage-reached');
    if (notice) return { shop, channel, notice, target: notice.link.slice(notice.link.indexOf('/ack')) };
    await new Promise((resolve) => { setTimeout(resolve, 50); });
  }
  return assert.fail('no notice came');
}

const form = (shop, target, headers = {}) => shop.raw('POST', target, '', { 'content-type': 'application/x-www-form-urlencoded', ...headers });
const acknowledged = async (shop, id) => (await expect(shop.get(`/api/v1/notices/${id}`), 200)).acknowledged_at !== null;

test('what goes out carries its cautions, where it is acknowledged, and nothing of the other channels', async (t) => {
  const { shop, notice } = await toldOverProgram(t);
  assert.ok(notice.link.startsWith(`${shop.url}/ack?n=${notice.id}&c=`));
  for (const code of notice.cautions) assert.ok(notice.caution_texts[code].act);
  assert.ok(notice.deferral.length > 20);
  assert.equal(notice.shop, 'UTC');
  assert.ok(Date.parse(notice.sent_at) > 0);
  assert.equal('deliveries' in notice || 'cursor' in notice, false);
  const kept = await expect(shop.get(`/api/v1/notices/${notice.id}`), 200);
  assert.equal(kept.subject, notice.subject);
});

test('the page behind a link says what it is about; reading it, however often, changes nothing; the button does', async (t) => {
  const { shop, notice, target } = await toldOverProgram(t);
  for (let i = 0; i < 100 && (await expect(shop.get('/api/v1/channels'), 200)).items[0].waiting > 0; i++) await new Promise((done) => { setTimeout(done, 50); }); // that it went out is written down
  const before = await shop.revision();
  for (let i = 0; i < 3; i++) {
    const page = await shop.raw('GET', target);
    assert.equal(page.status, 200);
    assert.equal(page.headers.get('content-type'), 'text/html; charset=utf-8');
    assert.match(page.headers.get('content-security-policy'), /form-action 'self'/);
    assert.equal(page.headers.get('cache-control'), 'no-store');
    assert.match(page.text, /wheel &amp; &quot;axle&quot; &lt;i&gt;/);
    assert.doesNotMatch(page.text, /<i>|<script/);
    for (const code of notice.cautions) assert.ok(page.text.includes(notice.caution_texts[code].act.replace(/&/g, '&amp;')), code);
    assert.match(page.text, /<form method="post"><button type="submit">/);
  }
  assert.equal((await shop.raw('HEAD', target)).status, 200);
  assert.equal(await shop.revision(), before);
  assert.equal(await acknowledged(shop, notice.id), false);
  const done = await form(shop, target, { origin: 'https://mail.example' });
  assert.equal(done.status, 200, done.text);
  assert.match(done.text, /Acknowledged Sat 28 Nov 2026 09:00/);
  assert.doesNotMatch(done.text, /<form/);
  assert.equal(await acknowledged(shop, notice.id), true);
  const after = await shop.revision();
  assert.equal((await form(shop, target)).status, 200, 'sent again it does nothing more');
  assert.equal(await shop.revision(), after);
});

test('a link that is not whole leads nowhere, and neither does one of a channel out of use', async (t) => {
  const { shop, channel, notice, target } = await toldOverProgram(t);
  const link = new URL(target, shop.url);
  const signature = link.searchParams.get('s');
  assert.match(signature, /^[0-9a-f]{32}$/);
  const flipped = (i) => `${signature.slice(0, i)}${signature[i] === '0' ? '1' : '0'}${signature.slice(i + 1)}`;
  const other = (name, value) => { const copy = new URL(link); if (value === null) copy.searchParams.delete(name); else copy.searchParams.set(name, value); return copy.pathname + copy.search; };
  const wrong = [
    ...[0, 15, 31].map((i) => other('s', flipped(i))), other('s', signature.slice(0, 31)), other('s', `${signature}0`), other('s', signature.toUpperCase()),
    other('s', ''), other('s', null), other('n', notice.id + 1), other('n', 'x'), other('n', null), other('c', channel.id + 1), other('c', null), '/ack',
  ].filter((one) => one !== target);
  for (const one of wrong) {
    assert.equal((await shop.raw('GET', one)).status, 404, one);
    assert.equal((await form(shop, one)).status, 404, one);
  }
  for (const [type, body, status] of [['application/json', '{}', 415], ['text/plain', '', 415], ['multipart/form-data; boundary=x', '', 415], ['application/x-www-form-urlencoded', 'a=b', 413]])
    assert.equal((await shop.raw('POST', target, body, { 'content-type': type })).status, status, type);
  assert.equal((await shop.raw('POST', `/api/v1/notices/${notice.id}/ack`, '', { 'content-type': 'application/x-www-form-urlencoded' })).status, 415, 'a form is taken there alone');
  assert.equal(await acknowledged(shop, notice.id), false);
  await expect(shop.del(`/api/v1/channels/${channel.id}`), 200);
  assert.equal((await shop.raw('GET', target)).status, 404);
  assert.equal((await form(shop, target)).status, 404);
  assert.equal(await acknowledged(shop, notice.id), false);
});

// ---- groups, followers, the morning, leads ----

test('a follower is told by when each was told; what quiet hours hold back is said to be held', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  await shop.air(shed, 20, 50);
  await expect(shop.patch('/api/v1/shop', { quiet_from: '08:00', quiet_to: '12:00', morning: '07:30' }), 200);
  await shop.log(await shop.addPiece('fan', { place: shed.id }), await shop.builtin('spray-enamel'));
  await shop.goTo(at('10:00'));
  const all = await shop.notices();
  const held = all.filter((notice) => notice.state === 'held');
  assert.ok(held.length > 0);
  for (const notice of held) assert.deepEqual([notice.told_at, notice.cursor, notice.held_until_at], [null, null, at('12:00')]);
  const cursors = all.filter((notice) => notice.cursor !== null).map((notice) => notice.cursor);
  const since = async (cursor) => (await expect(shop.get(`/api/v1/notices?told_after=${cursor}`), 200)).items;
  assert.equal((await since('0-0')).length, cursors.length);
  const last = cursors.length > 0 ? (await since('0-0')).at(-1).cursor : '0-0';
  assert.deepEqual(await since(last), []);
  await shop.goTo(at('12:01'));
  const told = await since(last);
  for (const notice of held) assert.ok(told.some((one) => one.id === notice.id && one.state === 'told') || (await shop.notices()).some((one) => one.id === notice.id && one.withdrawn_at !== null));
  assert.ok(told.length > 0);
  for (const text of ['x', '1', '1-', '-1', '1-2-3']) await refused(shop, shop.raw('GET', `/api/v1/notices?told_after=${text}`), 422, { field: 'told_after' });
  await refused(shop, shop.raw('GET', '/api/v1/notices?told_after=0-0&after=1'), 422, { field: 'after' });
});

test('the morning list has an hour or none; a material has a lead of its own or the shop\'s', async (t) => {
  const shop = await openShop(t);
  assert.equal((await expect(shop.patch('/api/v1/shop', { morning: '00:00' }), 200)).morning, '00:00', 'midnight is an hour');
  assert.equal((await expect(shop.patch('/api/v1/shop', { quiet_from: '22:00' }), 200)).morning, '00:00', 'what is left out stays');
  assert.equal((await expect(shop.patch('/api/v1/shop', { morning: null }), 200)).morning, null);
  await refused(shop, shop.raw('PATCH', '/api/v1/shop', { morning: '7 o\'clock' }), 422, { field: 'morning', detail: /07:00/ });
  const { id } = await shop.builtin('spray-enamel');
  const lead = (document) => shop.raw('POST', `/api/v1/materials/${id}/lead`, document);
  assert.equal((await expect(shop.post(`/api/v1/materials/${id}/lead`, { lead_closing_min: 0 }), 200)).lead_closing_min, 0);
  assert.equal((await expect(shop.get(`/api/v1/materials/${id}`), 200)).lead_closing_min, 0);
  assert.equal((await expect(shop.post(`/api/v1/materials/${id}/lead`, { lead_closing_min: null }), 200)).lead_closing_min, null);
  for (const [document, detail] of [[{}, /missing/], [{ lead_closing_min: -1 }], [{ lead_closing_min: 2881 }, /2880/], [{ lead_closing_min: 1.5 }, /whole/], [{ lead_closing_min: '2h' }]])
    await refused(shop, lead(document), 422, { field: 'lead_closing_min', detail });
});
