// No room: the disk of the record is full. What cannot be kept is refused in words that say what would do, nothing is half written, what was kept is still told, the
// page goes on; and once there is room it all goes on without a start, and what fell due meanwhile is told, once.
'use strict';

const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { describe, test } = require('node:test');
const { coatAt } = require('../api/daemon.js');
const { description } = require('../api/openapi.js');
const { plainJpeg } = require('../api/pictures.js');
const { until } = require('../courier/broker.js');
const { startReceiver } = require('../courier/sinks.js');
const { LimitedDisk, mountDisk } = require('./disks.js');
const { Follower } = require('./follower.js');

const MORNING = '2026-11-28T08:00:00Z', SOON = '2026-11-28T08:25:00Z', NOON = '2026-11-28T12:00:00Z';
const WRITES_MOST = 300; // that what its files have left may take

async function read(daemon, target) {
  const { status, body, text } = await daemon.get(target);
  assert.equal(status, 200, text);
  return body;
}

async function write(daemon, target, document) {
  const answer = await daemon.post(target, document);
  assert.ok([200, 201].includes(answer.status), answer.text);
  return answer.body;
}

function checkRefused(answer, what) {
  assert.equal(answer.status, 507, `${what}: ${answer.text}`);
  assert.match(answer.headers.get('content-type'), /^application\/problem\+json/);
  assert.equal(answer.body.status, 507);
  assert.equal(answer.body.title, 'The disk is full');
  assert.match(answer.body.detail, /the disk is full: nothing was recorded; make room/);
}

// What a person can be told of the facts.
const ALL = ['shop', 'notices?after=0', 'sensors', 'coats', 'pieces', 'materials', 'channels', 'bakes?all=1'];
async function factsOf(daemon, targets = ALL) {
  return Object.fromEntries(await Promise.all(targets.map(async (target) => [target, await read(daemon, `/api/v1/${target}`)])));
}

// A start may tell a new revision: what a state was before it, it does not know.
const withoutRevision = (facts) => ({ ...facts, shop: { ...facts.shop, revision: null } });

// ---- a shop whose disk fills up, in the middle of a coat ----

// Another program fills the disk, and then what is left in the service's own files goes. Gives the ids of the pieces that were still acknowledged.
async function fillUp(disk, shed) {
  const kept = [];
  disk.fill();
  for (let i = 0; i < WRITES_MOST; i += 1) {
    const answer = await disk.daemon.post('/api/v1/pieces', { name: `part ${i}`, place: shed.id, note: 'n'.repeat(200) });
    if (answer.status !== 201) { checkRefused(answer, `piece ${i}`); return kept; }
    kept.push(answer.body.id);
  }
  throw new Error('the disk did not get full');
}

const stageOf = async (daemon, coat, name) => (await read(daemon, `/api/v1/coats/${coat}`)).coat.stages.find((one) => one.stage === name);
const touchOf = (notices, coat) => notices.filter((notice) => notice.kind === 'stage-reached' && notice.stage === 'touch' && notice.coats.includes(coat.id));

async function fillsUp(t, disk) {
  let page = null;
  t.after(async () => { await page?.end(); await disk.close(); });
  await disk.start({ testClock: MORNING });
  const shed = await write(disk.daemon, '/api/v1/places', { name: 'shed' });
  const mill = await write(disk.daemon, '/api/v1/pieces', { name: 'mill body', place: shed.id });
  const wheel = await write(disk.daemon, '/api/v1/pieces', { name: 'mill wheel', place: shed.id });
  const lacquer = (await read(disk.daemon, '/api/v1/materials')).items.find((one) => one.class === 'lacquer');
  await write(disk.daemon, `/api/v1/places/${shed.id}/readings`, { temp_c: 20, rh_pct: 50 });
  page = new Follower(() => disk.daemon.url);
  const coat = (await write(disk.daemon, '/api/v1/coats', { pieces: [mill.id], material: lacquer.id })).items[0];
  const kept = await fillUp(disk, shed);
  const full = await factsOf(disk.daemon);
  assert.deepEqual(full.pieces.items.map(({ id }) => id), [mill.id, wheel.id, ...kept], 'what was acknowledged is there, and nothing else');

  const second = { pieces: [wheel.id], material: lacquer.id }, key = { 'idempotency-key': 'second-coat' };
  const refusals = [['coats', second], [`places/${shed.id}/readings`, { temp_c: 21, rh_pct: 50 }], [`coats/${coat.id}/tests`, { stage: 'touch', passed: false }]];
  for (const [target, document] of refusals) checkRefused(await disk.daemon.post(`/api/v1/${target}`, document, target === 'coats' ? key : {}), target);
  assert.deepEqual(await factsOf(disk.daemon), full, 'what was refused changed something');
  assert.match((await disk.daemon.get('/')).text, /<!doctype html>/i);

  // The coat is touch-dry meanwhile. Whoever looks sees it; nobody is told, since that could not be kept.
  const moved = await disk.daemon.advance(SOON);
  assert.equal(moved.status, 507, moved.text);
  assert.match(moved.body.detail, /what is due could not be recorded: .*disk is full.*tried again/);
  assert.equal((await stageOf(disk.daemon, coat.id, 'touch')).state, 'reached');
  assert.deepEqual((await read(disk.daemon, '/api/v1/notices?after=0')).items.map(({ id }) => id), full['notices?after=0'].items.map(({ id }) => id));
  const shop = await disk.daemon.get('/api/v1/shop', { 'if-none-match': `"${full.shop.revision}"` });
  assert.deepEqual([shop.status, shop.body.revision, shop.body.unrecorded?.why], [200, full.shop.revision, 'the disk is full']); // of the same revision, and not the same
  assert.match((await disk.daemon.get('/plain')).text, /What falls due is not told\.<\/strong> It cannot be written down since Sat 28 Nov 08:13: the disk is full\./);
  const said = await coatAt(disk.daemon.url)();
  assert.match(said.stdout, /What falls due is not told: it cannot be written down since 08:13 \(the disk is\s+full\)/);

  await disk.daemon.stop('SIGKILL'); // a power cut on top of it: it starts, and tells what it knows
  await disk.start({ testClock: SOON });
  assert.deepEqual((await factsOf(disk.daemon)).pieces, full.pieces);
  assert.equal((await stageOf(disk.daemon, coat.id, 'touch')).state, 'reached');
  checkRefused(await disk.daemon.post('/api/v1/coats', second, key), 'the second coat, after a start');
  assert.match(disk.daemon.log.stderr, /notices that are due cannot be recorded: .*disk is full/);

  disk.empty();
  const answer = await disk.daemon.post('/api/v1/coats', second, key);
  assert.equal(answer.status, 201, answer.text); // the same key: it was never done, and no start was needed
  assert.deepEqual((await disk.daemon.post('/api/v1/coats', second, key)).body, answer.body);
  assert.equal((await read(disk.daemon, '/api/v1/coats')).items.length, 2);
  assert.equal((await read(disk.daemon, '/api/v1/shop')).unrecorded, null);
  const [touch, ...more] = touchOf((await read(disk.daemon, '/api/v1/notices?after=0')).items, coat);
  assert.deepEqual(more, [], 'raised twice');
  assert.ok(touch, 'what fell due while the disk was full was lost');
  assert.ok(Date.parse(touch.due_at) < Date.parse(SOON) && touch.raised_at === SOON, JSON.stringify(touch));
  assert.equal((await disk.daemon.advance(NOON)).status, 200);

  const { revision } = await read(disk.daemon, '/api/v1/shop'), notices = (await read(disk.daemon, '/api/v1/notices?after=0')).items;
  await page.caughtUp(revision);
  page.check(notices, new Set());
  const before = await factsOf(disk.daemon);
  await disk.daemon.stop('SIGKILL');
  await disk.start({ testClock: NOON });
  assert.deepEqual(withoutRevision(await factsOf(disk.daemon)), withoutRevision(before), 'the record is not what was told of it');
}

// ---- each kind of write ----

const YES = ['degreased', 'flashed-off', 'looked-over', 'old-finish-clear', 'cut-out', 'exhaust', 'purged', 'extinguisher', 'attended'];
const NO = ['sealed-hollow', 'food-oven', 'open-element-or-pilot', 'near-solvent', 'oven-below-ground'];
const REVIEWED = [...YES.map((about) => ({ about, answer: 'yes' })), ...NO.map((about) => ({ about, answer: 'no' }))];
const PHOTO = Symbol('photo');
const NIGHT = [1, 2, 3, 4, 5, 6, 7, 8].map((hour) => `2026-11-28T0${hour}:00:00Z`);

// In the order of a shop's days, so that each rests on those before it. `$name` is the id that the write of that name was answered with.
const WRITES = [
  ['PATCH', 'shop', { lead_closing_min: 45 }],
  ['POST', 'places', { name: 'garage', volume_m3: 60, airflow_m3h: 300 }, 'garage'], ['POST', 'places', { name: 'loft' }, 'loft'],
  ['POST', 'places', { name: 'oven', kind: 'oven', volume_m3: 0.1, airflow_m3h: 20, airflow_measured: true }, 'oven'],
  ['PATCH', 'places/$garage', { volume_m3: 62 }],
  ['POST', 'places/$garage/readings', { items: NIGHT.map((at) => ({ at, temp_c: 20, rh_pct: 50 })) }], ['POST', 'places/$garage/vapour', { solvent: 'toluene', amount_ml: 50 }], ['POST', 'places/$garage/heating', {}],
  ['POST', 'sensors', { name: 'hygro', place: '$loft', kind: 'push' }, 'hygro'], ['PATCH', 'sensors/$hygro', { name: 'hygro in the loft' }],
  ['POST', 'readings', { temp_c: 18, rh_pct: 60 }], ['POST', 'sensors/$hygro/adjustments', { quantity: 'humidity', should: 62 }], ['DELETE', 'sensors/$hygro'],
  ['POST', 'imports', { place: '$loft', name: 'logger' }, 'logger'], ['POST', 'imports/$logger/readings', { items: [{ at: '2026-11-20T00:00:00Z', temp_c: 12, rh_pct: 60 }] }],
  ['POST', 'imports/$logger/finish', {}], ['POST', 'imports', { place: '$loft', name: 'second' }, 'second'], ['DELETE', 'imports/$second'],
  ['POST', 'pieces', { name: 'mill body', place: '$garage', old_finish: 'tested clear', wall_mm: 6 }, 'body'], ['POST', 'pieces', { name: 'fan cage', place: '$garage' }, 'cage'],
  ['PATCH', 'pieces/$cage', { note: 'dented' }], ['POST', 'pieces/$cage/moves', { place: '$loft' }], ['POST', 'pieces/$cage/notes', { text: 'blasted' }],
  ['POST', 'pieces/$cage/photos', PHOTO, 'photo'], ['DELETE', 'photos/$photo'],
  ['POST', 'racks', { name: 'fan', pieces: ['$cage'] }, 'rack'], ['PATCH', 'racks/$rack', { name: 'desk fan' }], ['DELETE', 'racks/$rack'],
  ['POST', 'materials', { name: 'red gloss', class: 'alkyd-enamel' }, 'red'], ['PUT', 'materials/$red', { name: 'red gloss', class: 'alkyd-enamel', ref_rh_pct: 55 }],
  ['POST', 'materials/$red/lead', { lead_closing_min: 90 }],
  ['POST', 'tins', { name: 'red 1', material: '$red' }, 'tin'], ['PATCH', 'tins/$tin', { batch: 'L 0417' }],
  ['POST', 'mixes', { material: '$epoxy', place: '$garage' }],
  ['POST', 'channels', { name: 'desk', kind: 'command', argv: ['/bin/true'] }, 'desk'], ['PATCH', 'channels/$desk', { name: 'bench' }], ['DELETE', 'channels/$desk'],
  ['POST', 'coats', { pieces: ['$cage'], material: '$red', tin: '$tin', air: { temp_c: 20, rh_pct: 50 } }, 'coat'], ['PATCH', 'coats/$coat', { passes: 2 }],
  ['POST', 'coats/$coat/tests', { stage: 'touch', passed: false }], ['POST', 'coats/$coat/sandings', {}], ['POST', 'coats/$coat/strike', { why: 'never was' }],
  ['POST', 'coats', { pieces: ['$cage'], material: '$lacquer' }, 'lacquered'], ['POST', 'notices/$notice/ack', {}], ['POST', 'pieces/$cage/strips', {}],
  ['DELETE', 'tins/$tin'], ['DELETE', 'materials/$red'], ['DELETE', 'pieces/$cage'], ['DELETE', 'places/$loft'],
  ['POST', 'coats', { pieces: ['$body'], material: '$japan', amount_ml: 60, first_at: '2026-11-28T02:00:00Z', last_at: '2026-11-28T02:00:00Z' }, 'japanned'],
  ['POST', 'bakes', { place: '$oven', oven_air: 'fan', parts: [{ coat: '$japanned' }], steps: [{ target_c: 149 }] }, 'bake'],
  ['POST', 'bakes/$bake/answers', { answers: REVIEWED }], ['POST', 'bakes/$bake/start', {}], ['POST', 'bakes/$bake/stop', { at: '2026-11-28T08:00:30Z' }],
];
// What keeps nothing, and what is one of these behind another door or wants a service that slept (tests/shop/test_bakes.c).
const NOT_AMONG_THEM = ['/api/v1/sensor-tests', '/api/v1/channel-tests', '/api/v1/clock', '/ack', '/api/v1/bakes/{id}/resume'];

function withIds(value, ids) {
  if (typeof value === 'string' && value.startsWith('$')) return ids[value.slice(1)];
  if (typeof value === 'string') return value.replace(/\$(\w+)/, (_, name) => ids[name]);
  if (Array.isArray(value)) return value.map((one) => withIds(one, ids));
  return value !== null && typeof value === 'object' ? Object.fromEntries(Object.entries(value).map(([key, one]) => [key, withIds(one, ids)])) : value;
}

async function send(daemon, [method, target, document], ids) {
  const headers = { 'idempotency-key': `write-${ids.number}`, ...(target === 'readings' && { authorization: `Bearer ${ids.token}` }) };
  const address = `/api/v1/${withIds(target, ids)}`;
  if (document !== PHOTO) return daemon.send(method, address, withIds(document, ids), headers);
  const response = await fetch(daemon.url + address, { method, headers: { ...headers, 'content-type': 'image/jpeg' }, body: plainJpeg() });
  const text = await response.text();
  return { status: response.status, headers: response.headers, text, body: JSON.parse(text) };
}

// Each write of the description is among them, so that a new one is not forgotten.
function checkAllAreThere() {
  const there = new Set(WRITES.map(([method, target]) => `${method} /api/v1/${target.replace(/\$\w+/g, '{id}')}`));
  const described = Object.entries(description.paths).flatMap(([address, item]) => Object.keys(item).filter((method) => ['post', 'put', 'patch', 'delete'].includes(method)).map((method) => [address, method.toUpperCase()]));
  assert.deepEqual(described.filter(([address, method]) => !NOT_AMONG_THEM.includes(address) && !there.has(`${method} ${address}`)), [], 'writes that nobody tried on a full disk');
}

describe('a full disk', { concurrency: 3 }, () => {
  test('given a file system that is full to the last block, then it is as with no room at all', async (t) => {
    const disk = mountDisk();
    if (disk === null) { t.skip('this user may not mount one: the limit on files stands for it'); return; }
    await fillsUp(t, disk);
  });

  test('given files that may not grow, then writes are refused in words, nothing is lost, and with room it goes on', (t) => fillsUp(t, new LimitedDisk()));

  test('given any write while nothing can be recorded, then it is refused and nothing is other than it was; with room the same goes through', async (t) => {
    checkAllAreThere();
    const disk = new LimitedDisk(), ids = {};
    t.after(() => disk.close());
    await disk.start({ testClock: MORNING });
    for (const { class: kind, id } of (await read(disk.daemon, '/api/v1/materials')).items) Object.assign(ids, kind === 'epoxy-primer' && { epoxy: id }, kind === 'baking-japan' && { japan: id }, kind === 'lacquer' && { lacquer: id });
    for (const [number, one] of WRITES.entries()) {
      ids.number = number;
      const what = one.slice(0, 2).join(' '), at = one[1].split('/')[0];
      const touched = ALL.filter((target, i) => i < 3 || target.startsWith(at)); // the page's own document has most of it
      const before = await factsOf(disk.daemon, touched);
      ids.notice = before['notices?after=0'].items.find((notice) => notice.acknowledged_at === null)?.id;
      disk.fill();
      checkRefused(await send(disk.daemon, one, ids), what);
      assert.deepEqual(await factsOf(disk.daemon, touched), before, `${what} was refused, and changed something`);
      disk.empty();
      const { status, body, text } = await send(disk.daemon, one, ids);
      assert.ok(status < 300, `${what}: ${text}`);
      if (one[3]) ids[one[3]] = body.id ?? body.items[0].id;
      ids.token = body.token ?? ids.token;
    }
    const living = await factsOf(disk.daemon);
    await disk.daemon.stop('SIGKILL');
    await disk.start({ testClock: MORNING });
    assert.deepEqual(withoutRevision(await factsOf(disk.daemon)), withoutRevision(living), 'the record is not what was told of it');
  });

  test('given a file of readings that was never taken in whole, then the service starts on a full disk all the same, and forgets it when it can', async (t) => {
    const disk = new LimitedDisk();
    t.after(() => disk.close());
    await disk.start({ testClock: MORNING });
    const shed = await write(disk.daemon, '/api/v1/places', { name: 'shed' });
    const begun = await write(disk.daemon, '/api/v1/imports', { place: shed.id, name: 'logger' });
    await write(disk.daemon, `/api/v1/imports/${begun.id}/readings`, { items: [{ at: '2026-11-20T00:00:00Z', temp_c: 12, rh_pct: 60 }] });
    disk.fill();
    await disk.daemon.stop('SIGKILL');
    await disk.start({ testClock: MORNING });
    assert.equal((await read(disk.daemon, '/api/v1/shop')).places[0].name, 'shed');
    checkRefused(await disk.daemon.post('/api/v1/places', { name: 'loft' }), 'a place');
    disk.empty();
    assert.equal((await disk.daemon.post(`/api/v1/imports/${begun.id}/finish`, {})).status, 404, 'half of a file came to count');
    const again = await write(disk.daemon, '/api/v1/imports', { place: shed.id, name: 'logger' });
    await write(disk.daemon, `/api/v1/imports/${again.id}/finish`, {});
    await disk.daemon.stop('SIGKILL');
    await disk.start({ testClock: MORNING });
    assert.deepEqual((await read(disk.daemon, '/api/v1/sensors')).items.map(({ id }) => id), [again.id]);
  });

  // ---- what was sent just before ----

  const AGAIN_MS = 2600; // of real time; what is not known to have come is sent again after 2 s

  test('given a notice that came while it could not be noted, then it is not sent again and again, and it is noted when there is room', async (t) => {
    const disk = new LimitedDisk();
    const receiver = await startReceiver(t, { answer: (request, response) => { if (!disk.isFull) disk.fill(); response.end('thanks'); } });
    t.after(() => disk.close());
    await disk.start({ testClock: MORNING });
    const shed = await write(disk.daemon, '/api/v1/places', { name: 'shed' });
    const cage = await write(disk.daemon, '/api/v1/pieces', { name: 'fan cage', place: shed.id });
    const spray = (await read(disk.daemon, '/api/v1/materials')).items.find((one) => one.class === 'spray-enamel');
    await write(disk.daemon, '/api/v1/channels', { name: 'desk', kind: 'webhook', target: `http://127.0.0.1:${receiver.port}/notices` });
    await write(disk.daemon, '/api/v1/coats', { pieces: [cage.id], material: spray.id });
    await until(() => `that it cannot be noted is said:\n${disk.daemon.log.stderr}`, () => /what came of notices that were sent cannot be recorded: the disk is full/.test(disk.daemon.log.stderr));
    await new Promise((done) => { setTimeout(done, AGAIN_MS); });
    const came = () => receiver.got.map(({ headers }) => headers['coatwright-notice']);
    assert.deepEqual([...new Set(came())], came(), 'one was sent again');
    disk.empty();
    await write(disk.daemon, '/api/v1/pieces', { name: 'fan blade', place: shed.id });
    await until(() => 'all are noted as delivered', async () => (await read(disk.daemon, '/api/v1/channels')).items[0].waiting === 0);
    const told = (await read(disk.daemon, '/api/v1/notices?after=0')).items.filter((notice) => notice.told_at !== null);
    assert.deepEqual(told.map(({ deliveries: [{ tries, delivered_at: at }] }) => [tries, at]), told.map(() => [1, MORNING]));
    assert.equal(came().length, told.length);
  });

  test('given a sensor that was read while it could not be recorded, then its air is there once there is room', async (t) => {
    const disk = new LimitedDisk();
    const go = path.join(disk.folder, 'go'), probe = `while [ ! -e ${go} ]; do sleep 0.05; done; echo '{"t":17.5,"h":61}'`;
    t.after(() => disk.close());
    await disk.start({ testClock: MORNING });
    const shed = await write(disk.daemon, '/api/v1/places', { name: 'shed' });
    const sensor = await write(disk.daemon, '/api/v1/sensors', { name: 'probe', place: shed.id, kind: 'command', command: ['/bin/sh', '-c', probe], pointers: { temperature: '/t', humidity: '/h' } });
    disk.fill();
    fs.writeFileSync(go, '');
    await until(() => `that it cannot be recorded is said:\n${disk.daemon.log.stderr}`, () => /readings cannot be recorded: the disk is full/.test(disk.daemon.log.stderr));
    disk.empty();
    await write(disk.daemon, '/api/v1/places', { name: 'loft' });
    const air = await until(() => 'its air is there', async () => (await read(disk.daemon, `/api/v1/sensors/${sensor.id}`)).last);
    assert.deepEqual([air.at, air.temp_c, air.rh_pct], [MORNING, 17.5, 61], JSON.stringify(air));
  });
});
