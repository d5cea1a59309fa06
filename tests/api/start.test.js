// How the service starts and ends: what it says when it cannot start, and that it goes at once when it is told to.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const fs = require('node:fs');
const net = require('node:net');
const path = require('node:path');
const { spawn, spawnSync } = require('node:child_process');
const { startDaemon, runDaemon, scratchFolder, COATD } = require('./daemon.js');

// One clear line on stderr, nothing on stdout.
function assertRefused(end, code, pattern) {
  assert.equal(end.code, code, end.stderr);
  assert.equal(end.stdout, '');
  assert.match(end.stderr, /^coatd: [^\n]+\n$/);
  assert.match(end.stderr, pattern);
}

function withScratch(name, body) {
  test(name, async (t) => {
    const folder = scratchFolder();
    try {
      await body(folder, t);
    } finally {
      fs.chmodSync(folder, 0o700);
      fs.rmSync(folder, { recursive: true, force: true });
    }
  });
}

test('given a free port, then it says where it is reached and which file it keeps', async () => {
  const daemon = await startDaemon();
  assert.equal(daemon.readyLine, `coatd: ready on http://127.0.0.1:${daemon.port} (file ${daemon.db})`);
  assert.equal((await daemon.get('/api/v1/shop')).status, 200);
  assert.equal(fs.statSync(daemon.db).mode & 0o077, 0, 'others may read the file');
  const end = await daemon.stop();
  assert.deepEqual(end, { code: 0, signal: null });
});

withScratch('given a port in use, then it names the port and leaves the file alone', async (folder) => {
  const other = net.createServer();
  await new Promise((resolve) => other.listen(0, '127.0.0.1', resolve));
  const { port } = other.address();
  const db = path.join(folder, 'shop.coat');
  assertRefused(await runDaemon(['--db', db, '--listen', `127.0.0.1:${port}`]), 1, new RegExp(`${port}.*in use.*--listen`));
  assert.ok(!fs.existsSync(db));
  other.close();
});

withScratch('given a file that another daemon keeps, then it says so and both the file and the other are unharmed', async (folder) => {
  const db = path.join(folder, 'shop.coat');
  const first = await startDaemon({ db });
  assertRefused(await runDaemon(['--db', db, '--listen', '127.0.0.1:0']), 1, /shop\.coat/);
  assert.equal((await first.post('/api/v1/places', { name: 'shed' })).status, 201);
  await first.stop();
  const again = await startDaemon({ db });
  assert.equal((await again.get('/api/v1/places')).body.items.length, 1);
  await again.stop();
});

withScratch('given a folder that may not be written, then it names it', async (folder) => {
  // Root may write anywhere, so another user does this; the program must be where that user can run it.
  const root = process.getuid() === 0;
  const program = path.join(folder, 'coatd');
  fs.copyFileSync(COATD, program);
  fs.chmodSync(program, 0o755);
  fs.chmodSync(folder, 0o555);
  const end = spawnSync(program, ['--db', path.join(folder, 'sub', 'shop.coat'), '--listen', '127.0.0.1:0'],
    { encoding: 'utf8', timeout: 5000, env: {}, ...(root ? { uid: 65534, gid: 65534 } : {}) });
  assertRefused({ code: end.status, stdout: end.stdout, stderr: end.stderr }, 1, new RegExp(folder));
});

withScratch('given a file that is no record, then it is refused and not changed', async (folder) => {
  const db = path.join(folder, 'letter.txt');
  fs.writeFileSync(db, 'Dear sir, the scale is ready to be fetched.\n'.repeat(200));
  const before = fs.readFileSync(db);
  assertRefused(await runDaemon(['--db', db, '--listen', '127.0.0.1:0']), 1, /letter\.txt/);
  assert.deepEqual(fs.readFileSync(db), before);
});

withScratch('given a file of a newer program, then it is refused and not changed', async (folder) => {
  const db = path.join(folder, 'shop.coat');
  const daemon = await startDaemon({ db });
  await daemon.stop();
  const file = fs.readFileSync(db);
  file.writeUInt32BE(99999, 60); // user_version, in the file's header
  fs.writeFileSync(db, file);
  assertRefused(await runDaemon(['--db', db, '--listen', '127.0.0.1:0']), 1, /shop\.coat.*newer/);
  assert.deepEqual(fs.readFileSync(db), file);
});

withScratch('given a folder that is not there yet, then it is made, for this user alone', async (folder) => {
  const db = path.join(folder, 'a', 'b', 'shop.coat');
  const daemon = await startDaemon({ db });
  assert.equal(fs.statSync(path.join(folder, 'a')).mode & 0o077, 0);
  await daemon.stop();
});

withScratch('given no --db, then the record goes under XDG_DATA_HOME, else under HOME', async (folder) => {
  const start = (env) => {
    return new Promise((resolve) => {
      const child = spawn(COATD, ['--listen', '127.0.0.1:0'], { env });
      child.stdout.once('data', (line) => { child.on('close', () => resolve(String(line))); child.kill('SIGTERM'); });
      child.on('error', () => resolve(''));
    });
  };
  const data = path.join(folder, 'data');
  assert.ok((await start({ XDG_DATA_HOME: data, HOME: folder })).includes(`(file ${data}/coatwright/shop.coat)`));
  assert.ok((await start({ HOME: folder })).includes(`(file ${folder}/.local/share/coatwright/shop.coat)`));
  assertRefused(await runDaemon(['--listen', '127.0.0.1:0'], { env: {} }), 2, /--db/);
});

test('given wrong usage, then it is told and the exit is 2', async () => {
  const usages = [
    [['shop.coat'], /shop\.coat/],
    [['--speed', '9'], /--speed/],
    [['--db'], /--db wants a value/],
    [['-x'], /-x/],
    [['--listen', '8262'], /8262.*127\.0\.0\.1:8262/],
    [['--listen', '127.0.0.1:65536'], /65536/],
    [['--listen', '127.0.0.1:'], /127\.0\.0\.1:/],
    [['--listen', '0.0.0.0:8262'], /0\.0\.0\.0.*token.*TLS/],
    [['--listen', '192.0.2.7:8262'], /token.*TLS/],
    [['--listen', 'localhostx:8262'], /token.*TLS/],
    [['--db', ''], /--db/],
    [['--test-clock', 'yesterday'], /yesterday/],
    [['--test-clock', '2026-11-28T08:00:00'], /zone/],
    [['--test-clock', '2026-11-28T08:00:00Z,fast'], /fast/],
    [['--test-clock', '2026-11-28T08:00:00Z,-1'], /rate/],
    [['--test-clock', '2026-11-28T08:00:00Z,1e9'], /rate/],
  ];
  for (const [args, pattern] of usages) assertRefused(await runDaemon(args), 2, pattern);
});

test('given --help or --version, then it is on stdout and the exit is 0', async () => {
  const help = await runDaemon(['--help']);
  assert.equal(help.code, 0);
  for (const option of ['--db', '--listen', '--test-clock', '--version']) assert.ok(help.stdout.includes(option), option);
  assert.match((await runDaemon(['--version'])).stdout, /^coatd \d+\.\d+\.\d+\n$/);
});

test('given open streams and a half-sent request, then it ends within a second of SIGTERM, and of SIGINT', async () => {
  for (const signal of ['SIGTERM', 'SIGINT']) {
    const daemon = await startDaemon();
    const stop = new AbortController();
    const streams = [];
    for (let i = 0; i < 3; i++) streams.push(await fetch(`${daemon.url}/api/v1/events`, { signal: stop.signal }));
    const half = net.connect(daemon.port, '127.0.0.1', () => half.write('POST /api/v1/places HTTP/1.1\r\nHost:'));
    half.on('error', () => {});
    await new Promise((resolve) => setTimeout(resolve, 50));
    const began = Date.now();
    const end = await daemon.stop(signal);
    assert.deepEqual(end, { code: 0, signal: null }, daemon.log.stderr);
    assert.ok(Date.now() - began < 1000, `${Date.now() - began} ms`);
    half.destroy();
    for (const stream of streams) await stream.body.cancel().catch(() => {});
    stop.abort();
  }
});

test('given SIGHUP (a closed terminal), then it goes on', async () => {
  const daemon = await startDaemon();
  process.kill(daemon.pid, 'SIGHUP');
  assert.equal((await daemon.get('/api/v1/shop')).status, 200);
  await daemon.stop();
});

withScratch('given a kill without warning, then what was answered is still there', async (folder) => {
  const db = path.join(folder, 'shop.coat');
  const daemon = await startDaemon({ db });
  for (let i = 0; i < 10; i++) assert.equal((await daemon.post('/api/v1/places', { name: `shelf ${i}` })).status, 201);
  await daemon.stop('SIGKILL');
  const again = await startDaemon({ db });
  assert.equal((await again.get('/api/v1/places')).body.items.length, 10);
  await again.stop();
});

test('given a test clock, then shop time stands still until it is moved', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  assert.equal((await daemon.get('/api/v1/clock')).body.now_at, '2026-11-28T08:00:00Z');
  assert.equal((await daemon.advance('2026-11-28T20:00:00+01:00')).body.now_at, '2026-11-28T19:00:00Z');
  assert.equal((await daemon.advance(90)).body.now_at, '2026-11-28T19:01:30Z');
  assert.equal((await daemon.advance('2026-11-28T08:00:00Z')).status, 422);
  assert.equal((await daemon.get('/api/v1/shop')).body.as_of_at, '2026-11-28T19:01:30Z');
  await daemon.stop();
});

test('given a rate, then shop time runs so many times as fast', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z,3600' });
  const read = async () => Date.parse((await daemon.get('/api/v1/clock')).body.now_at);
  const began = performance.now();
  const from = await read();
  await new Promise((resolve) => setTimeout(resolve, 300));
  const passed = (await read()) - from;
  const real = performance.now() - began;
  assert.ok(passed >= 280 * 3600 && passed <= (real + 20) * 3600, `${passed} ms of shop time in ${real} ms`);
  await daemon.stop();
});

test('given the wall clock, then there is no clock to move', async () => {
  const daemon = await startDaemon();
  assert.equal((await daemon.get('/api/v1/clock')).status, 404);
  assert.equal((await daemon.advance(60)).status, 404);
  await daemon.stop();
});

// Node has no unix datagram sockets, so a few lines of Python listen where Python is.
const LISTENER = `import socket, sys
s = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
s.bind(sys.argv[1])
s.settimeout(5)
print("bound", flush=True)
print(s.recv(64).decode(), flush=True)`;

withScratch('given a service manager, then it is told when requests are answered', async (folder, t) => {
  if (spawnSync('python3', ['--version']).status !== 0) return t.skip('no python3 to listen with');
  const socket = path.join(folder, 'notify');
  const listener = spawn('python3', ['-c', LISTENER, socket]);
  let told = '';
  const bound = new Promise((resolve) => listener.stdout.on('data', (chunk) => { told += chunk; resolve(); }));
  const ended = new Promise((resolve) => listener.on('close', resolve));
  await bound;
  const daemon = await startDaemon({ env: { NOTIFY_SOCKET: socket } });
  await ended;
  assert.match(told, /READY=1/);
  await daemon.stop();
});
