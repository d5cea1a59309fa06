// No room: the disk of the record is full. What cannot be kept is refused in words that say what would do, nothing is half written, what was kept is still told, the
// page goes on; and once there is room it all goes on without a start, and what fell due meanwhile is told, once.
'use strict';

const assert = require('node:assert/strict');
const { test } = require('node:test');
const { description } = require('../api/openapi.js');
const { plainJpeg } = require('../api/pictures.js');
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

// All that a person can be told of the facts.
async function factsOf(daemon) {
  const facts = {};
  for (const target of ['shop', 'coats', 'pieces', 'racks', 'materials', 'tins', 'mixes', 'sensors', 'channels', 'bakes?all=1', 'notices?after=0']) facts[target] = await read(daemon, `/api/v1/${target}`);
  return facts;
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
  assert.equal((await read(disk.daemon, '/api/v1/shop')).revision, full.shop.revision);

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

test('given a file system that is full to the last block, then it is as with no room at all', async (t) => {
  const disk = mountDisk();
  if (disk === null) { t.skip('this user may not mount one: the limit on files stands for it'); return; }
  await fillsUp(t, disk);
});

test('given files that may not grow, then writes are refused in words, nothing is lost, and with room it goes on', (t) => fillsUp(t, new LimitedDisk()));
