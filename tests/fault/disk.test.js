// No room: the file of the record cannot grow any more, as on a disk that is full. What cannot be kept is refused in words, nothing is half written, what was kept
// is still told; and once there is room it goes on, and what fell due meanwhile is told.
'use strict';

const assert = require('node:assert/strict');
const { execFileSync } = require('node:child_process');
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');
const { test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');

const NOW = '2026-11-28T08:00:00Z';

// The largest file that the service may write; the limit stands in for a disk. The signal that comes with it is left alone, as on a disk there is none.
function setRoom(pid, bytes) {
  execFileSync('prlimit', ['--pid', String(pid), `--fsize=${bytes}:unlimited`]);
}

async function listAll(daemon, target) {
  const { status, body, text } = await daemon.get(target);
  assert.equal(status, 200, text);
  return body.items;
}

test('with a full disk writes are refused in words and nothing is half written; with room again it goes on', async (t) => {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-disk-'));
  const db = path.join(folder, 'shop.coat');
  let daemon = await startDaemon({ db, testClock: NOW, before: ['sh', '-c', 'trap "" XFSZ; exec "$@"', 'sh'] });
  t.after(async () => { await daemon.stop(); fs.rmSync(folder, { recursive: true, force: true }); });
  const made = async (target, document) => { const answer = await daemon.post(target, document); assert.equal(answer.status, 201, answer.text); return answer.body; };
  const shed = await made('/api/v1/places', { name: 'shed' });
  const piece = await made('/api/v1/pieces', { name: 'mill body', place: shed.id });
  const material = (await listAll(daemon, '/api/v1/materials')).find((one) => one.class === 'lacquer');
  assert.equal((await daemon.post(`/api/v1/places/${shed.id}/readings`, { temp_c: 20, rh_pct: 50 })).status, 200);
  await made('/api/v1/coats', { pieces: [piece.id], material: material.id });
  setRoom(daemon.pid, 4096); // less than any of its files has

  const before = { coats: await listAll(daemon, '/api/v1/coats'), notices: await listAll(daemon, '/api/v1/notices?after=0'), pieces: await listAll(daemon, '/api/v1/pieces') };
  for (const [target, document] of [['/api/v1/coats', { pieces: [piece.id], material: material.id }], ['/api/v1/pieces', { name: 'fan cage', place: shed.id }],
    [`/api/v1/places/${shed.id}/readings`, { temp_c: 21, rh_pct: 50 }]]) {
    const answer = await daemon.post(target, document, { 'idempotency-key': `full${target}` });
    assert.ok([500, 507].includes(answer.status), answer.text); // a file that may not grow is no full disk to the store, but as bad
    assert.match(answer.headers.get('content-type'), /application\/problem\+json/);
    assert.match(answer.body.detail, /disk/);
  }
  assert.deepEqual(await listAll(daemon, '/api/v1/coats'), before.coats);
  assert.deepEqual(await listAll(daemon, '/api/v1/pieces'), before.pieces);
  await daemon.advance('2026-11-28T12:00:00Z'); // what falls due cannot be recorded, and is not told as if it were
  assert.deepEqual((await listAll(daemon, '/api/v1/notices?after=0')).map(({ id }) => id), before.notices.map(({ id }) => id));
  assert.equal((await daemon.get('/api/v1/shop')).status, 200);

  setRoom(daemon.pid, 'unlimited');
  const answer = await daemon.post('/api/v1/coats', { pieces: [piece.id], material: material.id }, { 'idempotency-key': 'full/api/v1/coats' });
  assert.equal(answer.status, 201, answer.text); // the same key: it was never done
  await daemon.advance('2026-11-28T13:00:00Z');
  const after = { coats: await listAll(daemon, '/api/v1/coats'), notices: await listAll(daemon, '/api/v1/notices?after=0') };
  assert.equal(after.coats.length, before.coats.length + 1);
  assert.ok(after.notices.some((notice) => notice.kind === 'stage-reached' && notice.told_at !== null), 'what fell due meanwhile is told');
  await daemon.stop('SIGKILL');
  daemon = await startDaemon({ db, testClock: '2026-11-28T13:00:00Z' });
  assert.deepEqual((await listAll(daemon, '/api/v1/coats')).map(({ id }) => id), after.coats.map(({ id }) => id));
  assert.deepEqual((await listAll(daemon, '/api/v1/notices?after=0')).map(({ id, told_at: told }) => [id, told]), after.notices.map(({ id, told_at: told }) => [id, told]));
});
