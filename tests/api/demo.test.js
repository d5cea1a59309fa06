// The demo, as `make demo` runs it: the invented shop shows a bit of everything, and a later run loses nothing.
'use strict';
const test = require('node:test');
const assert = require('node:assert');
const { spawnSync } = require('node:child_process');
const fs = require('node:fs');
const path = require('node:path');
const { scratchFolder, BUILD } = require('./daemon.js');

const DEMO = path.resolve(__dirname, '../../demo');
const LATE_S = 17 * 60; // the first run is told it is this much earlier: then air is missing at the second

const home = scratchFolder();
const folder = path.join(home, 'data', 'coatwright-demo');

// A `date` that is late when asked for the seconds, found before the real one.
function lateDate() {
  const tools = path.join(home, 'tools');
  const real = spawnSync('sh', ['-c', 'command -v date'], { encoding: 'utf8' }).stdout.trim();
  fs.mkdirSync(tools);
  fs.writeFileSync(path.join(tools, 'date'),
    `#!/bin/sh\nif [ "$*" = +%s ]; then echo $(($(${real} +%s) - ${LATE_S})); else exec ${real} "$@"; fi\n`, { mode: 0o755 });
  return `${tools}:${process.env.PATH}`;
}

// The programs without the simulated shed: with it no air of the shed would ever be missing.
function buildWithoutShed() {
  const builds = path.join(home, 'build');
  fs.mkdirSync(builds);
  for (const program of ['coatd', 'coat', 'coat-courier']) fs.symlinkSync(path.join(BUILD, program), path.join(builds, program));
  return builds;
}

function demo(args = [], env = {}) {
  const run = spawnSync(path.join(DEMO, 'demo.sh'), args, {
    encoding: 'utf8',
    timeout: 60000,
    env: { ...process.env, HOME: home, XDG_DATA_HOME: path.join(home, 'data'), COAT_BUILD: BUILD, COAT_DEMO_PORT: '0', NO_COLOR: '1', ...env },
  });
  assert.ifError(run.error);
  return { status: run.status, out: run.stdout, err: run.stderr, page: /^The page: +(http\S+)$/m.exec(run.stdout)?.[1] };
}

async function shopAt(page) {
  const answer = await fetch(new URL('/api/v1/shop', page));
  assert.strictEqual(answer.status, 200);
  return answer.json();
}

const pieceNamed = (shop, name) => shop.pieces.find((piece) => piece.name === name);
const rowsOf = (shop, list, name) => shop.lists[list].filter((row) => row.piece === pieceNamed(shop, name).id);
const pidOf = (program = 'coatd') => Number(fs.readFileSync(path.join(folder, `${program}.pid`), 'utf8'));

async function sensorsAt(page) {
  const { items } = await (await fetch(new URL('/api/v1/sensors', page))).json();
  return (name) => items.find((sensor) => sensor.name === name);
}

// The sensors, once they are as `is` wants them.
async function sensorsWhen(page, is, limitMs = 30000) {
  const end = Date.now() + limitMs;
  for (;;) {
    const named = await sensorsAt(page);
    if (is(named)) return named;
    assert.ok(Date.now() < end, JSON.stringify([named('shed probe'), named('shed gauge')]));
    await new Promise((resolve) => { setTimeout(resolve, 200); });
  }
}

// Those that have a file of this demo among their arguments, and what its daemon started.
function processesOf(daemon) {
  return fs.readdirSync('/proc').filter((name) => /^\d+$/.test(name)).map(Number).filter((pid) => {
    try {
      const parent = Number(/^PPid:\s*(\d+)$/m.exec(fs.readFileSync(`/proc/${pid}/status`, 'utf8'))[1]);
      return isRunning(pid) && (parent === daemon || fs.readFileSync(`/proc/${pid}/cmdline`, 'utf8').includes(folder));
    } catch {
      return false;
    }
  });
}

// One that has ended but that nobody has waited for yet has no command line any more.
function isRunning(pid) {
  try {
    return fs.readFileSync(`/proc/${pid}/cmdline`, 'utf8') !== '';
  } catch {
    return false;
  }
}

test.after(() => {
  demo(['stop']);
  fs.rmSync(home, { recursive: true, force: true });
});

test('the demo', async (t) => {
  const first = demo([], { PATH: lateDate(), COAT_BUILD: buildWithoutShed() });
  assert.strictEqual(first.status, 0, first.out + first.err);
  assert.ok(first.page, `the page's address is told:\n${first.out}`);
  const loaded = await shopAt(first.page);

  await t.test('shows something in each list', () => {
    for (const list of ['now', 'next', 'not_yet', 'held']) assert.notStrictEqual(loaded.lists[list].length, 0, list);
    assert.strictEqual(rowsOf(loaded, 'now', 'mill wheel').find((row) => row.stage === 'recoat').state, 'closing');
    assert.strictEqual(rowsOf(loaded, 'now', 'scale beam').find((row) => row.stage === 'leaf').do, 'test');
    assert.strictEqual(rowsOf(loaded, 'now', 'scale pillar').find((row) => row.stage === 'recoat').do, 'wipe');
    assert.strictEqual(rowsOf(loaded, 'held', 'scale platform')[0].stalled, 'too-cold');
    assert.ok(rowsOf(loaded, 'now', 'mill crank').some((row) => row.stage === 'bake'));
    assert.ok(loaded.coats.some((coat) => coat.stages.some((stage) => stage.state === 'shut')));
    assert.ok(loaded.coats.some((coat) => coat.status === 'covered'));
    assert.ok(loaded.coats.some((coat) => coat.bake?.baked && coat.condition === 'hard'));
  });

  await t.test('has a fortnight of air, measured now', () => {
    const rooms = loaded.places.filter((place) => place.kind !== 'oven');
    assert.strictEqual(rooms.length, 3);
    for (const place of rooms) assert.strictEqual(place.air.basis, 'measured', place.name);
    assert.ok(loaded.coats.every((coat) => coat.air.basis === 'measured'));
  });

  await t.test('has probes that were heard', async () => {
    const { items } = await (await fetch(new URL('/api/v1/sensors', first.page))).json();
    const probes = items.filter((sensor) => sensor.kind === 'command');
    assert.deepStrictEqual(probes.map((sensor) => sensor.name), ['cabinet probe', 'lean-to probe']);
    for (const probe of probes) assert.deepStrictEqual([probe.fault, probe.suspect], [null, null]);
  });

  await t.test('leaves its daemon to itself', () => {
    assert.ok(isRunning(pidOf()));
    assert.ok(!fs.existsSync(path.join(folder, 'loading.coat')));
    assert.ok(!fs.existsSync(path.join(folder, 'busy')));
  });

  const typed = spawnSync(path.join(BUILD, 'coat'), ['log', 'fan blades', 'spray', '--at', '5 min ago'],
    { encoding: 'utf8', env: { ...process.env, COAT_SERVER: first.page } });
  assert.strictEqual(typed.status, 0, typed.stderr);
  const before = await shopAt(first.page);
  const killed = pidOf();
  process.kill(killed, 'SIGKILL');

  let again;
  await t.test('goes on after a kill, with what was typed, and adds the missing air', async () => {
    again = demo();
    assert.strictEqual(again.status, 0, again.out + again.err);
    const shop = await shopAt(again.page);
    const blades = pieceNamed(shop, 'fan blades');
    assert.deepStrictEqual(blades.coats, pieceNamed(before, 'fan blades').coats);
    assert.strictEqual(blades.coats.length, 1);
    assert.strictEqual(shop.coats.length, before.coats.length);
    assert.match(again.out, /missing air of the shed: \d+ readings/);
    const ageMs = Date.parse(shop.as_of_at) - Date.parse(shop.places[0].air.at);
    assert.ok(ageMs < 5 * 60 * 1000, `the shed's last reading is ${ageMs} ms old`);
  });

  const isOk = (sensor) => sensor?.state === 'ok' && sensor.last !== null;

  await t.test('has a shed that publishes its air and posts it', async () => {
    const named = await sensorsWhen(again.page, (one) => isOk(one('shed probe')) && isOk(one('shed gauge')));
    const [probe, gauge] = [named('shed probe'), named('shed gauge')];
    assert.deepStrictEqual([probe.kind, probe.counts], ['mqtt', ['temperature', 'humidity']]);
    assert.deepStrictEqual([gauge.kind, gauge.counts], ['push', []]);
    const { items } = await (await fetch(new URL('/api/v1/sensors', again.page))).json();
    const byHand = items.find((sensor) => sensor.kind === 'by-hand' && sensor.place === probe.place).last;
    for (const { last, suspect } of [probe, gauge]) {
      assert.strictEqual(suspect, null);
      assert.ok(Math.abs(last.temp_c - byHand.temp_c) < 1.2 && Math.abs(last.rh_pct - byHand.rh_pct) < 6, JSON.stringify([last, byHand]));
    }
  });

  await t.test('keeps the token of the one that posts to itself', () => {
    const tokenFile = path.join(folder, 'gauge.token');
    const token = fs.readFileSync(tokenFile, 'utf8').trim();
    assert.match(token, /^[\w-]{43}$/);
    assert.strictEqual(fs.statSync(tokenFile).mode & 0o777, 0o600);
    assert.ok(!fs.readFileSync(`/proc/${pidOf('shed')}/cmdline`, 'utf8').includes(token));
  });

  await t.test('goes on with a new broker, and with the posting alone where there is none', async () => {
    const before = [pidOf(), pidOf('shed'), pidOf('broker')];
    const third = demo();
    assert.strictEqual(third.status, 0, third.err);
    assert.deepStrictEqual(before.filter(isRunning), []);
    const begun = Date.now();
    const isNew = (sensor) => isOk(sensor) && Date.parse(sensor.last.at) > begun;
    await sensorsWhen(third.page, (one) => isNew(one('shed probe')) && isNew(one('shed gauge')));
    const { items } = await (await fetch(new URL('/api/v1/sensors', third.page))).json();
    assert.strictEqual(items.filter((sensor) => sensor.name.startsWith('shed ')).length, 2);

    const without = demo([], { COAT_DEMO_BROKER: path.join(home, 'none') });
    assert.strictEqual(without.status, 0, without.err);
    assert.match(without.out, /no mosquitto here/);
    const later = Date.now();
    await sensorsWhen(without.page, (one) => isOk(one('shed gauge')) && Date.parse(one('shed gauge').last.at) > later);
  });

  await t.test('ends when it is told to, and all of it', () => {
    assert.strictEqual(demo().status, 0);
    const pid = pidOf();
    const running = processesOf(pid);
    for (const program of ['coatd', 'shed', 'broker']) assert.ok(running.includes(pidOf(program)), program);
    const stopped = demo(['stop']);
    assert.strictEqual(stopped.status, 0, stopped.err);
    assert.deepStrictEqual(running.filter(isRunning), []);
    assert.deepStrictEqual(processesOf(pid), []);
    assert.match(demo(['stop']).out, /No demo is running/);
  });
});

test('the simulated shed has the air that the demo was loaded with', () => {
  const began = 1790000000;
  for (let hours = -30; hours < 400; hours += 7) {
    const at = (Math.floor(began / 3600) + hours) * 3600;
    const settings = { place: 'shed', from: at, to: at, began, zone_s: 7200 };
    const loaded = spawnSync('awk', ['-f', path.join(DEMO, 'air.awk'), ...Object.entries(settings).flatMap(([name, value]) => ['-v', `${name}=${value}`])],
      { encoding: 'utf8' }).stdout.trim().split(' ').slice(1).map(Number);
    const told = spawnSync(path.join(BUILD, 'demo-shed'), ['--began', began, '--zone', 7200, '--at', at].map(String), { encoding: 'utf8' });
    const { temp_c: temp, rh_pct: rh } = JSON.parse(told.stdout);
    assert.ok(Math.abs(temp - loaded[0]) < 0.06 && Math.abs(rh - loaded[1]) < 0.06, `${hours} h: ${told.stdout} and ${loaded}`);
  }
});

test('the simulated shed takes no token that others can read', () => {
  const other = scratchFolder();
  const file = path.join(other, 'token');
  fs.writeFileSync(file, 'secret\n', { mode: 0o644 });
  const run = spawnSync(path.join(BUILD, 'demo-shed'), ['--began', '0', '--zone', '0', '--url', 'http://127.0.0.1:9/', '--token-file', file], { encoding: 'utf8', timeout: 5000 });
  fs.rmSync(other, { recursive: true, force: true });
  assert.strictEqual(run.status, 1, run.stderr);
  assert.match(run.stderr, /others can read/);
});

test('a load that fails takes only its own file along', () => {
  const other = scratchFolder();
  const builds = path.join(other, 'build');
  fs.mkdirSync(builds);
  fs.copyFileSync(path.join(BUILD, 'coatd'), path.join(builds, 'coatd'));
  fs.writeFileSync(path.join(builds, 'coat'),
    `#!/bin/sh\nif [ "$1 $2" = "place add" ] && [ "$3" = lean-to ]; then echo "coat: no room" >&2; exit 1; fi\nexec "${BUILD}/coat" "$@"\n`, { mode: 0o755 });
  const data = path.join(other, 'data');
  fs.mkdirSync(path.join(data, 'coatwright-demo'), { recursive: true });
  fs.writeFileSync(path.join(data, 'coatwright-demo', 'mine.txt'), 'kept');
  const run = demo([], { XDG_DATA_HOME: data, COAT_BUILD: builds });
  const left = fs.readdirSync(path.join(data, 'coatwright-demo')).sort();
  fs.rmSync(other, { recursive: true, force: true });
  assert.strictEqual(run.status, 1);
  assert.match(run.err, /no room\n/);
  assert.match(run.err, /place add lean-to/);
  assert.deepStrictEqual(left, ['coatd.log', 'mine.txt']);
});
