// The service is killed at random moments while coats are logged, pieces move, air comes in, time passes and notices go out, and so are its couriers; then nothing
// that it acknowledged may be lost, no notice lost, none twice, none early or in quiet hours, none sent before it was told, and each must have reached its channel.
//
//   COAT_SEED=12345 COAT_FAULT_KILLS=400 node --test tests/fault/kill.test.js      (make fault: 400 kills, some minutes)
'use strict';

const assert = require('node:assert/strict');
const fs = require('node:fs');
const http = require('node:http');
const os = require('node:os');
const path = require('node:path');
const { test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { Follower } = require('./follower.js');

const KILLS = Number(process.env.COAT_FAULT_KILLS || 25);
const LIMIT_MS = 220e3; // then what was killed so far is looked at: it ends by itself on a slow machine too
const MIN = 60e3, HOUR = 3600e3;
const KILL_WITHIN_MS = 350; // of real time after a start; the shop's time stands still until it is moved
const seed = Number(process.env.COAT_SEED || (process.env.COAT_FAULT_KILLS ? Date.now() % 1e9 : 8262)); // the short form plays the same each time

// mulberry32: small and the same everywhere.
let state = seed >>> 0;
function random() {
  state = (state + 0x6d2b79f5) >>> 0;
  let x = Math.imul(state ^ (state >>> 15), state | 1);
  x ^= x + Math.imul(x ^ (x >>> 7), x | 61);
  return ((x ^ (x >>> 14)) >>> 0) / 4294967296;
}
const below = (n) => Math.floor(random() * n);
const pick = (list) => list[below(list.length)];

// Takes notices over HTTP; sometimes it fails, sometimes it hangs up.
async function openSink(t) {
  const got = new Map();
  const server = http.createServer((request, answer) => {
    const parts = [];
    request.on('data', (part) => parts.push(part));
    request.on('end', () => {
      const luck = Math.random();
      if (luck < 0.1) { answer.statusCode = 500; answer.end('not now'); return; }
      if (luck < 0.15) { request.socket.destroy(); return; }
      const id = request.headers['coatwright-notice'];
      const notice = JSON.parse(Buffer.concat(parts).toString());
      got.set(id, [...(got.get(id) || []), notice]);
      answer.end('thanks');
    });
    request.on('error', () => {});
  });
  await new Promise((done) => { server.listen(0, '127.0.0.1', done); });
  t.after(() => { server.closeAllConnections?.(); server.close(); });
  return { got, url: `http://127.0.0.1:${server.address().port}/notices` };
}

const QUIET = { from: '22:00', to: '06:00' }; // UTC
const scene = { daemon: null, now: Date.parse('2026-11-28T08:00:00Z'), db: null, acknowledged: new Map(), moves: new Map(), air: new Map(), followed: new Map(), cursor: '0-0', page: null, unheard: new Set(), pending: null, key: 0, kills: 0, couriers: 0, orphans: [] };
const moment = (ms) => new Date(ms).toISOString();

async function start() {
  scene.daemon = await startDaemon({ db: scene.db, testClock: moment(scene.now) });
}

// A write that must be answered in the end: where the service dies first, it is sent again with the same key to the next one.
async function write(target, document) {
  scene.pending = { target, document, key: `key-${scene.key += 1}` };
  return settle();
}

async function settle() {
  const { target, document, key } = scene.pending;
  const answer = await scene.daemon.post(target, document, { 'idempotency-key': key });
  scene.pending = null;
  assert.ok(answer.status < 500, answer.text);
  if (answer.status === 201 && target === '/api/v1/coats') for (const coat of answer.body.items) scene.acknowledged.set(coat.id, coat);
  if (answer.status === 201 && target.endsWith('/moves')) scene.moves.set(answer.body.id, document.place);
  if (answer.status === 200 && target.endsWith('/readings')) scene.air.set(`${target} ${document.at}`, document);
  return answer;
}

const air = () => {
  const place = pick(scene.places);
  return write(`/api/v1/places/${place}/readings`, { at: moment(scene.now).replace('.000Z', 'Z'), temp_c: 18 + below(8), rh_pct: 40 + below(30) });
};

const move = () => write(`/api/v1/pieces/${pick(scene.pieces)}/moves`, { place: pick(scene.places) });

// As a page does that rings for what is new: what was told since the last one it knows, once each, whoever was killed in between.
async function follow() {
  const { status, body } = await scene.daemon.get(`/api/v1/notices?told_after=${scene.cursor}`);
  assert.equal(status, 200);
  for (const notice of body.items) {
    assert.ok(!scene.followed.has(notice.id), `notice ${notice.id} rang twice`);
    scene.followed.set(notice.id, notice.told_at);
    scene.cursor = notice.cursor;
  }
  return body.items.length;
}

const childrenOf = (pid) => fs.readFileSync(`/proc/${pid}/task/${pid}/children`, 'utf8').split(' ').filter(Boolean).map(Number);

async function killCourier() {
  const [pid] = childrenOf(scene.daemon.pid);
  if (!pid) return;
  process.kill(pid, 'SIGKILL');
  scene.couriers += 1;
}

async function advance() {
  scene.now += pick([10, 30, 60, 180]) * MIN; // whatever comes of the request: a start stands at this moment or later
  const answer = await scene.daemon.advance(moment(scene.now));
  assert.equal(answer.status, 200, answer.text);
}

async function log() {
  const pieces = scene.pieces.filter(() => random() < 0.4);
  await write('/api/v1/coats', { pieces: pieces.length ? pieces : [pick(scene.pieces)], material: pick(scene.materials) });
}

// Whoever puts a notice aside has it before them on the page; now and then one that is held back, and then it never rings.
async function acknowledge() {
  const notices = scene.page.document?.notices || [];
  if (notices.length === 0) return;
  const { id, told_at: told } = pick(notices);
  if (told === null) scene.unheard.add(id);
  await write(`/api/v1/notices/${id}/ack`, {});
}

// Works until the service is gone.
async function workUntilKilled() {
  const { daemon } = scene;
  const timer = setTimeout(() => { scene.orphans.push(...childrenOf(daemon.pid)); process.kill(daemon.pid, 'SIGKILL'); }, below(KILL_WITHIN_MS));
  try {
    if (scene.pending) await settle();
    for (;;) await pick([log, air, air, advance, advance, advance, acknowledge, move, follow, killCourier])();
  } catch (error) {
    if (error.code === 'ERR_ASSERTION') throw error;
  } finally {
    clearTimeout(timer);
  }
  await daemon.exited;
  scene.kills += 1;
}

async function furnish(sink) {
  await start();
  const { daemon } = scene;
  const ask = async (target, document) => { const answer = await daemon.post(target, document); assert.equal(answer.status, 201, answer.text); return answer.body.id; };
  scene.shed = await ask('/api/v1/places', { name: 'shed' });
  scene.places = [scene.shed, await ask('/api/v1/places', { name: 'cellar' })];
  scene.pieces = [];
  for (const name of ['mill body', 'mill wheel', 'fan cage', 'scale beam']) scene.pieces.push(await ask('/api/v1/pieces', { name, place: scene.shed }));
  await ask('/api/v1/channels', { name: 'sink', kind: 'webhook', target: sink.url });
  const { body } = await daemon.get('/api/v1/materials');
  scene.materials = body.items.filter((one) => ['spray-enamel', 'alkyd-primer', 'epoxy-primer', 'lacquer'].includes(one.class)).map((one) => one.id);
  assert.equal((await daemon.patch('/api/v1/shop', { quiet_from: QUIET.from, quiet_to: QUIET.to })).status, 200);
  assert.equal((await daemon.post(`/api/v1/places/${scene.shed}/readings`, { temp_c: 20, rh_pct: 50 })).status, 200);
}

async function allNotices(daemon) {
  const items = [];
  for (let after = 0; ;) {
    const { body } = await daemon.get(`/api/v1/notices?after=${after}`);
    if (body.items.length === 0) return items;
    items.push(...body.items);
    after = body.items.at(-1).id;
  }
}

async function emptied(daemon) {
  let waiting = -1;
  for (let i = 0; i < 600 && waiting !== 0; i += 1) {
    waiting = (await daemon.get('/api/v1/channels')).body.items[0].waiting;
    if (waiting !== 0) await new Promise((done) => { setTimeout(done, 100); });
  }
  assert.equal(waiting, 0, `${waiting} notices never reached their channel`);
}

async function checkCoats(daemon) {
  const { body } = await daemon.get('/api/v1/coats?most=2000');
  const ids = new Set(body.items.map((coat) => coat.id));
  for (const [id, coat] of scene.acknowledged) {
    const kept = await daemon.get(`/api/v1/coats/${id}`);
    assert.equal(kept.status, 200, `coat ${id} was acknowledged and is lost`);
    assert.deepEqual([kept.body.coat.piece, kept.body.coat.first_at], [coat.piece, coat.first_at]);
    ids.delete(id);
  }
  assert.deepEqual([...ids], [], 'coats that nobody was told of: logged twice');
}

async function checkMovesAndAir(daemon) {
  const moves = new Map();
  for (const piece of scene.pieces) for (const one of (await daemon.get(`/api/v1/pieces/${piece}/moves`)).body.items) moves.set(one.id, one.place);
  for (const [id, place] of scene.moves) assert.equal(moves.get(id), place, `move ${id} was acknowledged and is lost`);
  assert.equal(moves.size, scene.moves.size + scene.pieces.length, 'moves that nobody was told of');
  for (const [key, document] of scene.air) {
    const [target] = key.split(' ');
    const { body } = await daemon.get(`${target}?from=${document.at}&to=${document.at}`);
    assert.ok(body.items.some((one) => one.at === document.at), `a reading was acknowledged and is lost: ${key}`);
  }
}

// What a page would have rung for is what was told, each once.
function checkFollowed(notices) {
  const told = notices.filter((notice) => notice.told_at !== null).map((notice) => [notice.id, notice.told_at]);
  assert.deepEqual([...scene.followed].sort(([a], [b]) => a - b), told.sort(([a], [b]) => a - b), 'who follows what is told has missed some');
}

const isFrom = (at, from) => Date.parse(at) >= Date.parse(from); // as text, whole seconds come behind their thousandths

function isQuiet(at) {
  const time = at.slice(11, 16);
  return time >= QUIET.from || time < QUIET.to;
}

// Those of a killed service see that it is gone, and end.
async function checkNoOrphans() {
  const left = () => scene.orphans.filter((pid) => fs.existsSync(`/proc/${pid}`) && /courier/.test(fs.readFileSync(`/proc/${pid}/cmdline`, 'utf8')));
  for (let i = 0; i < 50 && left().length > 0; i += 1) await new Promise((done) => { setTimeout(done, 100); });
  assert.deepEqual(left(), [], 'couriers outlived their service');
}

function checkNotices(notices, sink) {
  const standing = new Set();
  for (const notice of notices) {
    const what = JSON.stringify([notice.id, notice.kind, notice.stage, notice.due_at, notice.told_at]);
    if (notice.kind !== 'window-closing' && notice.kind !== 'correction') {
      assert.ok(notice.told_at === null || isFrom(notice.told_at, notice.due_at), `told early: ${what}`); // raised_at is of the first of a group, who may be over by now
    }
    assert.ok(notice.told_at === null || isFrom(notice.told_at, notice.raised_at), `told before it was raised: ${what}`);
    assert.ok(notice.told_at === null || notice.safety || !isQuiet(notice.told_at), `told in quiet hours: ${what}`);
    if (notice.withdrawn_at === null && notice.acknowledged_at === null) {
      const subject = JSON.stringify([notice.kind, notice.stage, notice.coats, notice.place, notice.sensor]);
      assert.ok(!standing.has(subject), `stands twice: ${what}`);
      standing.add(subject);
    }
  }
  const known = new Map(notices.map((notice) => [notice.id, notice]));
  for (const [stable, sent] of sink.got) {
    assert.equal(new Set(sent.map((one) => one.id)).size, 1, `${stable} stands for two notices`);
    const notice = known.get(sent[0].id);
    assert.ok(notice && notice.told_at !== null, `${stable} was sent and is not told in the record`);
    for (const one of sent) assert.equal(one.told_at, notice.told_at, `${stable} was sent before it was told in the record`);
  }
  const reached = new Set([...sink.got.values()].map((sent) => sent[0].id));
  for (const notice of notices)
    if (notice.told_at !== null && notice.withdrawn_at === null && notice.acknowledged_at === null) assert.ok(reached.has(notice.id), `never reached its channel: ${notice.text}`);
  for (const notice of notices)
    for (const delivery of notice.deliveries) assert.ok(delivery.delivered_at === null || reached.has(notice.id), `noted as delivered, and never came: ${notice.text}`);
}

// Whatever a kill had kept from being told, a start would tell now.
async function checkNothingIsMissing(notices, folder) {
  const copy = path.join(folder, 'copy.coat');
  for (const end of ['', '-wal']) if (fs.existsSync(scene.db + end)) fs.copyFileSync(scene.db + end, copy + end);
  const fresh = await startDaemon({ db: copy, testClock: moment(scene.now) });
  const again = await allNotices(fresh);
  await fresh.stop();
  assert.deepEqual(again.map((notice) => [notice.id, notice.told_at, notice.withdrawn_at]), notices.map((notice) => [notice.id, notice.told_at, notice.withdrawn_at]), 'a start found something that should have been told or taken back');
}

test(`${KILLS} kills at random moments lose nothing, and tell nothing twice or early (seed ${seed})`, async (t) => {
  t.diagnostic(`COAT_SEED=${seed}`);
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-fault-'));
  scene.db = path.join(folder, 'shop.coat');
  t.after(async () => { // whoever follows lets go first
    await scene.page?.end();
    await scene.daemon?.stop();
    fs.rmSync(folder, { recursive: true, force: true });
  });
  const sink = await openSink(t);
  await furnish(sink);
  scene.page = new Follower(() => scene.daemon.url);
  const begun = Date.now();
  while (scene.kills < KILLS && Date.now() - begun < LIMIT_MS) {
    await workUntilKilled();
    await start();
  }
  if (scene.pending) await settle();
  for (let i = 0; i < 4; i += 1) { // and each change is told by itself, not with the next one
    scene.now += 3 * HOUR;
    assert.equal((await scene.daemon.advance(moment(scene.now))).status, 200);
    await scene.page.reaches((await scene.daemon.get('/api/v1/shop')).body.revision);
  }
  await emptied(scene.daemon);
  while (await follow() > 0);
  await checkCoats(scene.daemon);
  await checkMovesAndAir(scene.daemon);
  await checkNoOrphans();
  const notices = await allNotices(scene.daemon);
  checkNotices(notices, sink);
  checkFollowed(notices);
  await scene.page.caughtUp((await scene.daemon.get('/api/v1/shop')).body.revision);
  scene.page.check(notices, scene.unheard);
  assert.ok(scene.page.connections > scene.kills / 4, `only ${scene.page.connections} streams were held through ${scene.kills} kills`);
  await scene.daemon.stop();
  await checkNothingIsMissing(notices, folder);
  const sends = [...sink.got.values()].reduce((sum, sent) => sum + sent.length, 0);
  t.diagnostic(`${scene.kills} kills, ${scene.couriers} of couriers, ${scene.moves.size} moves, ${scene.air.size} readings, ${scene.acknowledged.size} coats, ${notices.length} notices, ${sink.got.size} sent, ${sends - sink.got.size} of them again`);
  t.diagnostic(`the page: ${scene.page.connections} streams, ${scene.page.documents} documents, rang ${scene.page.rung.size} of ${scene.page.told.length} told, crowded ${scene.page.crowded}`);
  assert.ok(scene.acknowledged.size > scene.kills / 4 && notices.length > scene.kills / 2, 'too little happened to show anything');
});
