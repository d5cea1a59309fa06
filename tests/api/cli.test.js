// The command line against the real daemon, and against ones that misbehave.
'use strict';
const assert = require('node:assert/strict');
const { spawn, spawnSync } = require('node:child_process');
const http = require('node:http');
const path = require('node:path');
const { test } = require('node:test');
const { startDaemon, coatAt, COAT } = require('./daemon');

const NOBODY = 'http://127.0.0.1:1';

const columns = (line) => [...line].length;

function isPlain(run) {
  for (const line of run.stdout.split('\n')) {
    assert.ok(columns(line) <= 80, `${columns(line)} columns in coat ${run.args.join(' ')}: ${line}`);
    assert.doesNotMatch(line, /[\x00-\x1f\x7f]/, `a control character in coat ${run.args.join(' ')}`);
    assert.doesNotMatch(line, / $/, `space at the end of a line in coat ${run.args.join(' ')}: "${line}"`);
  }
}

async function done(running) {
  const run = await running;
  assert.equal(run.code, 0, `coat ${run.args.join(' ')}: ${run.stderr}${run.stdout}`);
  assert.equal(run.stderr, '');
  isPlain(run);
  return run.stdout;
}

async function fails(running, code, pattern) {
  const run = await running;
  assert.equal(run.code, code, `coat ${run.args.join(' ')}: ${run.stderr}${run.stdout}`);
  assert.match(run.stderr, pattern);
  assert.match(run.stderr, /^coat: .*\.\n/);
  assert.equal(run.stdout, '');
  return run.stderr;
}

// Saturday afternoon in Vienna: 14:35.
async function openShop(t, testClock = '2026-11-28T13:35:00Z') {
  const daemon = await startDaemon({ testClock });
  t.after(() => daemon.stop());
  const coat = coatAt(daemon.url);
  await done(coat('shop', 'set', 'zone=Europe/Vienna', 'units=metric', 'lead=60min', 'quiet=22:00-07:00', 'work=17:00-22:00'));
  await done(coat('place', 'add', 'shed', '--volume', '60m3', '--risk', 'below-ground=no'));
  await done(coat('air', 'shed', '17.8C', '61%', '--at', '2 h ago'));
  await done(coat('air', 'shed', '17.8C,61%'));
  for (const name of ['mill body', 'mill wheel', 'fan guard']) {
    await done(coat('piece', 'add', name));
    await done(coat('move', name, 'shed', '--at', 'Fri 18:00'));
  }
  return { daemon, coat };
}

test('given no daemon, then every command says where it looked and what would do', async () => {
  const coat = coatAt(NOBODY);
  const said = await fails(coat(), 3, /no coatd at http:\/\/127\.0\.0\.1:1: start it with coatd, or name another with --server/);
  assert.equal(said.split('\n').length, 2);
  await fails(coat('log', 'mill', 'gloss'), 3, /no coatd.*Nothing was logged\.$/m);
  await fails(coatAt('http://127.0.0.1:2')('--server', NOBODY, 'piece', 'list'), 3, /127\.0\.0\.1:1:/);
  await fails(coat('notices', '--server=http://127.0.0.1:3'), 3, /127\.0\.0\.1:3:/);
});

test('given wrong usage, then exit 2 names what was read, without asking a daemon', async () => {
  const coat = coatAt(NOBODY);
  await fails(coat('shine'), 2, /no command "shine"/);
  await fails(coat('log', 'mill'), 2, /something is missing: write coat log PIECE.*Nothing was logged/);
  await fails(coat('move', 'mill', 'body', 'shed'), 2, /"shed" is one word too many/);
  await fails(coat('log', 'a', 'b', '--colour', 'red'), 2, /no option --colour/);
  await fails(coat('log', 'a', 'b', '--film'), 2, /--film needs a value/);
  await fails(coat('log', 'a', 'b', '--role', '--film', 'light'), 2, /--role needs a value/);
  await fails(coat('log', 'a', 'b', '--film', 'light', '--film', 'heavy'), 2, /given twice/);
  await fails(coat('--units', 'stone'), 2, /"stone" is neither metric nor us/);
  await fails(coat('--server', 'ftp://here'), 2, /"ftp:\/\/here" is no address/);
  await fails(coat('strike', 'wheel'), 2, /a coat is its number/);
  await fails(coat('strike', '3'), 2, /The reason stays in the record/);
  await fails(coat('ack', 'x'), 2, /no notice/);
  await fails(coat('ack'), 2, /write coat ack N\.$/m);
  await fails(coat('air', 'shed', '55'), 2, /"55" has no unit: write 55% for humidity, or 55F or 13C for temperature\. Nothing was entered\./);
  await fails(coat('air', 'shed', '55%'), 2, /the temperature is missing/);
  await fails(coat('material', 'add', 'black'), 2, /--class is missing.*Nothing was entered/);
  await fails(coat('shop', 'set', 'quiet=late'), 2, /"late" is no span of a day/);
  await fails(coat('shop', 'set', 'colour=red'), 2, /"colour=red" is no setting.*Nothing was changed/);
  await fails(coat('piece', 'add', '12'), 2, /a number is a coat/);
  const group = await coat('piece', 'polish');
  assert.equal(group.code, 2);
  assert.match(group.stderr, /no "piece polish".*\n.*coat piece list/);
});

test('help comes from the table of commands, in 80 columns, and needs no daemon', async () => {
  const coat = coatAt(NOBODY);
  const all = await done(coat('--help'));
  const names = [...all.matchAll(/^ {2}coat ((?:[a-z]+ ?)+)/gm)].map((match) => match[1].trim());
  for (const name of ['log', 'show', 'amend', 'strike', 'sand', 'test', 'strip', 'tin add', 'tin list', 'tin edit', 'mix', 'piece add', 'rack add', 'place add', 'move', 'material add', 'air', 'shop set', 'caution', 'notices', 'ack', 'calc'])
    assert.ok(names.includes(name), `${name} is missing in --help`);
  const groups = new Set(names.filter((one) => one.includes(' ')).map((one) => one.split(' ')[0]));
  assert.ok(groups.size >= 10, [...groups].join(' '));
  for (const group of groups) {
    for (const words of [[group, '--help'], [group, '-h'], ['--help', group]]) {
      const help = await done(coat(...words));
      assert.match(help, new RegExp(`^usage: coat ${group} \\.\\.\\.\n`));
      const told = [...help.matchAll(/^ {2}coat ((?:[a-z]+ ?)+)/gm)].map((match) => match[1].trim());
      assert.deepEqual(told, names.filter((one) => one === group || one.startsWith(`${group} `)), words.join(' '));
      assert.ok(help.split('\n').every((line) => line.length <= 80), help);
    }
  }
  assert.match(await done(coat('bake', '--help')), /coat bake alone is coat bake show\.[^]*Options of coat bake alone:\n +--all/);
  assert.match(await done(coat('air', '--help')), /coat air import[^]*Options of coat air alone:[^]*--days/);
  for (const name of names.filter((one) => one !== 'calc' && !groups.has(one))) {
    const help = await done(coat(...name.split(' '), '--help'));
    assert.match(help, new RegExp(`^usage: coat ${name}`));
  }
  assert.match(await done(coat('piece', 'list', '-h')), /^usage: coat piece list/);
  assert.match(await done(coat('--version')), /^coat \d+\.\d+\.\d+\n$/);
});

test('given an evening in the shop, then each command does its part and says what was done', async (t) => {
  const { daemon, coat } = await openShop(t);
  assert.match(await done(coat()), /^Sat 28 Nov 14:35 +shed 17\.8 C 61 %, dew point 10\.2 C \(read 14:35\)\n\nNothing is drying/);
  assert.match(await done(coat('shop')), /zone +Europe\/Vienna[^]*quiet +22:00 to 07:00/);
  assert.match(await done(coat('place')), /shed +room, 60 m3, exhaust not measured; 17\.8 C 61 %, measured/);
  assert.match(await done(coat('place', 'show', 'sh')), /unanswered, counts as yes[^]*no +below-ground/);
  assert.match(await done(coat('place', 'add', 'cellar', '--kind', 'booth', '--airflow', '180cfm')), /cellar entered: booth, exhaust 306 m3h/);
  assert.match(await done(coat('place', 'edit', 'cellar', '--risk', 'below-ground=yes', '--name', 'pit')), /pit changed[^]*yes +below-ground/);
  assert.match(await done(coat('air', 'pit', '-5C', '80%')), /pit -5 C 80 %, dew point -7\.9 C/);
  assert.match(await done(coat('place', 'remove', 'pit')), /pit is out of use/);

  assert.match(await done(coat('piece', 'add', 'scale pan', '--place', 'shed', '--areas', 'front,rim', '--mass', '4.5kg', '--wall', '6mm', '--old-finish', 'tested clear')), /scale pan entered, hangs in shed; old finish tested clear/);
  assert.match(await done(coat('piece')), /mill body +shed +no coats yet; old finish not tested/);
  assert.match(await done(coat('piece', 'edit', 'scale', '--note', 'heirloom')), /scale pan changed/);
  assert.match(await done(coat('piece', 'show', 'scale')), /scale pan in shed; old finish tested clear; areas front, rim; 4\.5 kg; wall 6 mm;\s+heirloom/);
  assert.match(await done(coat('piece', 'remove', 'scale')), /scale pan is out of use; its record stays/);
  assert.match(await done(coat('rack', 'add', 'mill two', 'mill body,mill wheel')), /mill two entered: mill body, mill wheel/);
  assert.match(await done(coat('rack', 'edit', 'mill two', '--name', 'mill')), /mill changed/);
  assert.match(await done(coat('rack')), /mill +mill body, mill wheel/);

  const logged = await done(coat('log', 'mill', 'primer', '--from', '13:00', '--to', '14:00', '--passes', '2', '--thinned', '10%:white spirit', '--amount', '40ml', '--note', 'thin'));
  assert.match(logged, /^1 mill body: primer, alkyd, brush, normal, applied 14:00 in shed \(17\.8 C\s+61 %,\s+measured\)\n +dust-free about [^]*label floor/);
  assert.match(logged, /^2 mill wheel: [^]*the same\s+times/m);
  assert.match(logged, /Rags under water/);
  assert.match(logged, /label/i);
  const one = (await daemon.get('/api/v1/coats/1')).body.coat;
  assert.deepEqual([one.first_at, one.last_at, one.passes, one.thinned_pct, one.thinner, one.amount_ml, one.note],
    ['2026-11-28T12:00:00Z', '2026-11-28T13:00:00Z', 2, 10, 'white spirit', 40, 'thin']);

  const sprayed = await done(coat('log', 'fan', 'spray', '--film', 'light', '--at', '10 min ago', '--air', '18C,60%'));
  assert.match(sprayed, /^3 fan guard: spray enamel, alkyd aerosol, light, applied 14:25 in shed \(18 C\s+60 %,\s+measured\)/);
  assert.match(sprayed, /recoat go until 14:\d\d; then shut until about[^]*read\s+the\s+can/);

  const now = await done(coat());
  assert.match(now, /Can be done now\n +fan guard +recoat +until 14:\d\d, \d+ min left; after that\s+shut/);
  assert.match(now, /Comes next\n +about Sun \d\d:\d\d +mill body +(handle|recoat)/);
  assert.match(now, /Not yet\n(?:.*\n)* +mill body +wet +do not touch before it is dust-free, about/);
  assert.match(now, /Rags under water/);
  assert.match(now, /label, the safety data sheet/);

  const shown = await done(coat('show', '3'));
  assert.match(shown, /handle +waiting +0 % +about [^]*label\s+floor Mon 14:25/);
  assert.match(shown, /The air behind this: 0\.2 h measured\./);
  assert.match(shown, /Rags under water[^]*Each in full: coat caution "/);
  assert.match(await done(coat('show', 'fan guard')), /3 +14:25 +enamel +spray enamel, alkyd aerosol, light, on, wet; touch\s+waiting\s+about/);
  assert.match(await done(coat('amend', '3', '--film', 'heavy', '--note', 'it ran')), /^3 fan guard: .* heavy/);
  assert.match(await done(coat('show', '3', '--record')), /entry 1,.*light[^]*entry 2,.*heavy[^]*it ran/);
  assert.match(await done(coat('sand', '1', '--at', '14:20')), /1 sanded 14:20: mill body[^]*Particle mask/);
  assert.match(await done(coat('strip', 'mill body', '--at', '14:30')), /mill body stripped to the iron, 14:30[^]*Stripper/);
  assert.match(await done(coat('strike', '3', '--why', 'wrong piece')), /3 is struck: wrong piece[^]*Rags/);
  await done(coat('place', 'add', 'loft'));
  assert.match(await done(coat('move', 'mill wheel', 'loft')), /mill wheel hangs in loft from 14:35/);
  assert.match(await done(coat('caution')), /Rags under water[^]*Applies:/);
  assert.match(await done(coat('caution', 'epoxy primer')), /Two-part|sensitise/i);
  assert.match(await done(coat('caution', 'strip')), /Stripper/);
  assert.match(await done(coat('air', 'shed')), /shed 17\.8 C 61 %, dew point[^]*a column is[^]*\ntemperature +18 C \|[ *:]*\n[^]*\n +17\.8 C \|[^]*\nhumidity +[0-9.]+ % \|[^]*\ndew point +[0-9.]+ C \|[^]*\n +\+[-+]+\n[^]*No reading Thu 14:35 to 12:35\./);
  assert.match(await done(coat('calc', 'dew', '18C', '55%')), /dew point 8\.8 C/);
  assert.match(await done(coat('calc', 'cure', '--row', '20C=4h', '--max-rh', '85%', '--air', '18C,95%')), /^held up in steady 18 C 95 %: too damp$/m);
});

test('given a tin, then it is entered from what it prints, and coats say that they came from it', async (t) => {
  const { daemon, coat } = await openShop(t);
  assert.match(await done(coat('tin')), /No tin yet: coat tin add/);
  assert.match(await done(coat('tin', 'add', 'black 2', 'gloss', '--batch', 'L 0417', '--opened', '2026-11-01', '--keep-by', '2027-03')),
    /^black 2 entered: gloss enamel, alkyd; batch L 0417,\s+opened 1 Nov 2026,\s+keeps\s+to\s+31\s+Mar\s+2027\n$/);
  const [tin] = (await daemon.get('/api/v1/tins')).body.items;
  assert.deepEqual([tin.opened_at, tin.keep_by_at], ['2026-10-31T23:00:00Z', '2027-03-31T22:00:00Z']);
  assert.match(await done(coat('tin', 'edit', 'black', '--name', 'black one', '--keep-by', '2026-11-27', '--opened', 'none')),
    /^black one changed: .*opened\s+not\s+told,\s+keeps\s+to\s+27\s+Nov\s+2026:\s+past\n +The tin black one is past its keep-by: try it on scrap first\.\n$/);
  assert.match(await done(coat('log', 'fan', 'gloss', '--tin', 'black')), /^1 fan guard: [^]*\n +The tin black one is past its keep-by: [^]*Rags/);
  assert.match(await done(coat('show', '1')), /; from black one \(batch L\s+0417\)\n +The tin black one is past/);
  await fails(coat('amend', '1', '--material', 'primer, alkyd'), 1, /tin.*black one.*does not hold.*Nothing was changed/);
  assert.doesNotMatch(await done(coat('amend', '1', '--tin', 'none')), /black one/);
  assert.match(await done(coat('tin', 'list')), /^black one +gloss enamel, alkyd +batch L 0417,/);
  assert.match(await done(coat('tin', 'remove', 'black')), /^black one is out of use; coats of it keep it: /);
  assert.match(await done(coat('tin', 'list')), /No tin yet/);
  assert.match(await done(coat('tin', 'list', '--all')), /^black one [^]*empty\s+since\s+28\s+Nov\s+2026/);
  await fails(coat('tin', 'add', 'black 3', 'gloss', '--keep-by', '03/2027'), 2, /--keep-by: "03\/2027" is no date: write 2027-03-31.*Nothing was entered/);
  await fails(coat('tin', 'add', 'black 3', 'gloss', '--opened', 'soon'), 2, /"soon" is no time.*Nothing was entered/);
  await fails(coat('log', 'fan', 'gloss', '--tin', 'black'), 2, /no tin "black"; there is none yet: coat tin add enters one/);
});

test('given a test at the bench, then it stands with its coat', async (t) => {
  const { daemon, coat } = await openShop(t);
  await done(coat('log', 'fan', 'gloss', '--at', '10:00'));
  assert.match(await done(coat('test', '1', 'touch', 'fail', '--at', '11:00')), /^1 tested 11:00, touch failed: fan guard: [^]*touch, by its hours: [^]*Rags/);
  assert.match(await done(coat('test', '1', 'touch', 'pass')), /^1 tested 14:35, touch passed: /);
  assert.match(await done(coat('show', '1')), /\n +Tested: touch failed 11:00, touch passed 14:35\n/);
  assert.deepEqual((await daemon.get('/api/v1/coats/1/tests')).body.items.map((one) => one.passed), [false, true]);
  await fails(coat('test', '1', 'dry', 'pass'), 2, /"dry" is no stage: write touch, dust-free.*Nothing was logged/);
  await fails(coat('test', '1', 'touch', 'maybe'), 2, /"maybe" does not say how it went: write pass or fail\. Nothing was logged/);
  await fails(coat('test', 'fan', 'touch', 'pass'), 2, /a coat is its number/);
  await fails(coat('test', '1', 'leaf', 'pass'), 1, /no stage "leaf": one of these will do: touch.*Nothing was logged/);
  await fails(coat('test', '1', 'touch', 'pass', '--at', '09:00'), 1, /last pass of coat 1/);
});

test('given a batch of epoxy primer, then when it is ready and when it is over are told', async (t) => {
  const { daemon, coat } = await openShop(t);
  const mixed = await done(coat('mix', 'epoxy primer', '--place', 'shed', '--at', '14:30'));
  assert.match(mixed, /^mix 1: .*epoxy.*, mixed 14:30 in shed\n +ready about 15:\d\d; use by 1\d:\d\d\n +Its figures, at 21 C: induction 1 h, pot life 4 h\. Stir again/);
  assert.match(await done(coat('mix', 'polyurethane', '--place', 'shed')), /Its figures, at 21 C: pot life 2 h\.\nFan on/);
  assert.match(await done(coat('material', 'show', 'epoxy primer')), /induction +1 h; published: NAVFAC MO-124, 0\.5 to 1 h above 70 F\n +pot life +4 h; published: UFGS 09971 para 3\.7\.1\.3/);
  assert.match(await done(coat('material', 'add', 'shop epoxy', '--class', 'epoxy-primer', '--pot-life', '3h')), /pot life +3 h; label\n/);
  assert.match(mixed, /label, the safety data sheet/);
  assert.match(await done(coat()), /\nMixed\n +mix 1 +wait +epoxy primer, two-part: ready about 15:\d\d; use by 1\d:\d\d\n/);
  await daemon.advance(2 * 3600);
  assert.match(await done(coat()), /mix 1 +use +epoxy primer, two-part: ready since 15:\d\d; use by 1\d:\d\d/);
  assert.match(await done(coat('notices')), /epoxy.*, mix 1: induction is over; stir again, then use\s+it\./);
  await daemon.advance(4 * 3600);
  assert.doesNotMatch(await done(coat()), /Mixed/);
  assert.match(await done(coat('notices')), /pot life is about to\s+end/);
  assert.match(await done(coat('mix', 'epoxy primer')), /when it is ready is not known in this air; use by[^]*on assumed air[^]*--place tells it/);
  await fails(coat('mix', 'gloss'), 1, /is not mixed: it has neither an induction time nor a pot life.*Nothing was logged/);
  await fails(coat('mix', 'epoxy primer', '--place', 'attic'), 2, /no place "attic"/);
});

test('given a size and a coat in the cold, then the finger test and what holds it up are told', async (t) => {
  const { daemon, coat } = await openShop(t);
  await done(coat('log', 'fan', 'quick oil size'));
  assert.match(await done(coat()), /Comes next\n +15:35 +fan guard +leaf: finger test; until 16:35/);
  await daemon.advance(3660);
  assert.match(await done(coat()), /Can be done now\n +fan guard +finger test +try it; do not rely on it after 16:35/);
  await daemon.advance(3600);
  assert.match(await done(coat()), /fan guard +leaf +too late to rely on: try it with a finger/);
  await done(coat('air', 'shed', '4C', '70%'));
  await done(coat('log', 'mill body', 'gloss'));
  const cold = await done(coat());
  assert.match(cold, /Held up\n(?:.*\n)* +mill body +too cold +touch; 4 C 70 % in shed; held since 16:36/);
  await daemon.advance(4 * 3600);
  assert.match(await done(coat()), /shed -6 C 85 %, dew point -8\.\d C, assumed since 18:36:\s+test\s+first/);
});

test('given a notice, then it is listed with its cautions, followed, and acknowledged', async (t) => {
  const { daemon, coat } = await openShop(t);
  assert.match(await done(coat('notices')), /No notices/);
  await done(coat('log', 'fan', 'spray'));
  const child = spawn(COAT, ['notices', '--follow'], { stdio: ['ignore', 'pipe', 'pipe'], env: { PATH: process.env.PATH, COAT_SERVER: daemon.url } });
  const limit = setTimeout(() => child.kill('SIGKILL'), 15000);
  let text = '';
  const told = new Promise((resolve) => child.stdout.setEncoding('utf8').on('data', (chunk) => {
    text += chunk;
    if (/dust-free/.test(text)) resolve();
  }));
  const ended = new Promise((resolve) => child.on('close', (code, signal) => resolve(code ?? signal)));
  await new Promise((resolve) => setTimeout(resolve, 300));
  await daemon.advance(3 * 3600);
  await Promise.race([told, ended]);
  assert.match(text, /fan guard/);
  assert.match(text, /Rags under water/);
  child.kill();
  assert.equal(await ended, 'SIGTERM');
  clearTimeout(limit);
});

test('given a service that is killed, and others that begin where it was, then following goes on, and what was told meanwhile is told', async (t) => {
  const { daemon, coat } = await openShop(t);
  await done(coat('log', 'fan', 'spray'));
  const child = spawn(COAT, ['notices', '--follow'], { stdio: ['ignore', 'pipe', 'pipe'], env: { PATH: process.env.PATH, COAT_SERVER: daemon.url } });
  t.after(() => child.kill());
  const heard = { stdout: '', stderr: '' };
  for (const name of ['stdout', 'stderr']) child[name].setEncoding('utf8').on('data', (chunk) => { heard[name] += chunk; });
  const hears = async (name, pattern) => {
    for (const end = Date.now() + 15000; !pattern.test(heard[name]) && Date.now() < end;) await new Promise((resolve) => setTimeout(resolve, 50));
    assert.match(heard[name], pattern);
  };
  await hears('stdout', /before you leave the shop/);
  await daemon.stop('SIGKILL', { keep: true });
  await hears('stderr', /ended the events: followed again by itself once it runs; nothing is told until then/);
  const again = await startDaemon({ db: daemon.db, testClock: '2026-11-28T16:35:00Z', args: ['--listen', `127.0.0.1:${daemon.port}`] });
  t.after(() => again.stop());
  await hears('stdout', /fan guard, dust-free: reached/);
  await hears('stderr', /coatd answers again/);
  assert.equal(heard.stdout.match(/shed: before you leave the shop/g).length, 1, 'what was told is not told again');
  assert.equal(heard.stderr.match(/ended the events/g).length, 1);
});

test('given notices, then ack puts one aside', async (t) => {
  const { daemon, coat } = await openShop(t);
  await done(coat('log', 'fan', 'spray'));
  await daemon.advance(3 * 3600);
  const listed = await done(coat('notices'));
  const id = /^(\d+) .*fan guard/m.exec(listed)[1];
  assert.match(await done(coat('ack', id)), new RegExp(`^${id} acknowledged: fan guard`));
  assert.doesNotMatch(await done(coat('notices')), new RegExp(`^${id} `, 'm'));
  assert.match(await done(coat('notices', '--all')), new RegExp(`^${id} [^]*\\(acknowledged\\)`, 'm'));
});

test('--json prints the document of the API unchanged', async (t) => {
  const { daemon, coat } = await openShop(t);
  await done(coat('rack', 'add', 'mill two', 'mill body,mill wheel'));
  await done(coat('log', 'fan', 'spray'));
  const same = [
    [[], '/shop'], [['shop'], '/shop'], [['piece'], '/pieces'], [['piece', 'show', 'fan'], '/pieces/3'], [['rack'], '/racks'],
    [['place'], '/places'], [['place', 'show', 'shed'], '/places/1'], [['material'], '/materials'], [['material', 'show', 'spray'], '/materials/2'],
    [['show', '1'], '/coats/1'], [['show', 'fan'], '/coats?piece=3'], [['show', '1', '--record'], '/coats/1/entries'],
    [['notices'], '/notices'], [['caution'], '/cautions'], [['caution', 'spray'], '/cautions?material=2'], [['caution', 'sand'], '/cautions?for=sand'],
  ];
  for (const [args, target] of same) {
    const run = await coat('--json', ...args);
    const { text } = await daemon.get(`/api/v1${target}`);
    assert.equal(run.code, 0, run.stderr);
    assert.equal(run.stdout.replace(/\n$/, ''), text.replace(/\n$/, ''), `coat ${args.join(' ')}`);
  }
  const air = JSON.parse((await coat('air', 'shed', '--json')).stdout);
  assert.deepEqual(air, (await daemon.get(`/api/v1/places/1/air?to=${air.to_at}&from=${air.from_at}&bins=${air.bins.at.length}`)).body);

  const place = JSON.parse((await coat('place', 'add', 'cellar', '--json')).stdout);
  assert.deepEqual(place, (await daemon.get(`/api/v1/places/${place.id}`)).body);
  const logged = JSON.parse((await coat('log', 'mill two', 'primer', '--json')).stdout);
  assert.deepEqual(logged.items.map((one) => one.piece), [1, 2]);
  assert.deepEqual(logged.items[0], (await daemon.get('/api/v1/coats/2')).body.coat);
  assert.ok(logged.deferral && logged.cautions);
  const amended = JSON.parse((await coat('amend', '2', '--film', 'light', '--json')).stdout);
  assert.deepEqual(amended, (await daemon.get('/api/v1/coats/2')).body);

  const refused = await coat('amend', '99', '--film', 'light', '--json');
  assert.equal(refused.code, 1);
  assert.equal(JSON.parse(refused.stdout).status, 404);
});

test('given a name that fits nothing or too much, then it is asked back and nothing is logged', async (t) => {
  const { daemon, coat } = await openShop(t);
  await fails(coat('log', 'mill whel', 'gloss'), 2, /^coat: no piece "mill whel"; nearest are "mill wheel", "mill body"\. Nothing was logged\.$/m);
  await fails(coat('log', 'mill', 'gloss'), 2, /"mill" could be "mill body" or "mill wheel"/);
  await fails(coat('log', 'mill body', 'enamel'), 2, /"enamel" could be .*gloss enamel/);
  await fails(coat('move', 'fan', 'attic'), 2, /no place "attic"; the only one is "shed"/);
  await fails(coat('log', 'fan', 'gloss', '--film', 'thick'), 2, /--film: "thick" is none of its words: write light, normal or heavy/);
  await fails(coat('log', 'fan', 'gloss', '--wet', '60'), 2, /--wet: "60" has no unit/);
  await fails(coat('log', 'fan', 'gloss', '--passes', '1.5'), 2, /--passes: "1\.5" is no whole number/);
  await fails(coat('log', 'fan', 'gloss', '--at', '10:00', '--from', '9:00'), 2, /--at and --from/);
  await fails(coat('log', 'fan', 'gloss', '--at', 'noonish'), 2, /"noonish" is no time: write 14:30, "20 min ago"/);
  await fails(coat('log', 'fan', 'gloss', '--at', 'today 18:00'), 2, /still to come \(it is Sat 28 Nov 14:35\)/);
  await fails(coat('place', 'edit', 'shed', '--risk', 'gloom=yes'), 2, /"gloom" is none of its words: write one of below-ground/);
  await fails(coat('place', 'edit', 'shed', '--risk', 'attached=maybe'), 2, /says neither yes nor no/);
  assert.equal((await daemon.get('/api/v1/coats')).body.items.length, 0);
  await done(coat('place', 'add', 'loft'));
  await done(coat('air', 'loft', '15C', '60%'));
  await fails(coat('sensor', 'show', 'by hand'), 2, /"by hand" is the air that was typed in, in 2 places: coat air PLACE shows it and enters more/);
  await done(coat('rack', 'add', 'guards', 'fan guard'));
  await fails(coat('move', 'guards', 'loft'), 2, /"guards" is a rack, and this is done to one piece at a time: name one of its pieces\. Nothing was logged\./);
  const broken = spawnSync('sh', ['-c', `exec "$0" piece add "$(printf 'a\\377b')"`, COAT], { encoding: 'utf8', env: { ...process.env, COAT_SERVER: daemon.url } });
  assert.equal(broken.stderr, 'coat: what was typed is not UTF-8 text: type it anew in a terminal that is set to UTF-8. Nothing was entered.\n');
});

test('given a refusal, then exit 1 tells it in the words of the command line', async (t) => {
  const { coat } = await openShop(t);
  await fails(coat('amend', '99', '--film', 'light'), 1, /there is no coat 99: `coat show PIECE` lists them\. Nothing was changed\./);
  await fails(coat('place', 'add', 'shed'), 1, /shed.*Nothing was entered/);
  assert.equal((await coat('piece', 'add', 'fan blade')).code, 0);
  await fails(coat('log', 'fan blade', 'gloss', '--at', '2026-11-20 18:00'), 1, /fan blade.*20 Nov 18:00.*Nothing was logged/);
  await fails(coat('material', 'edit', 'spray', '--handle', '30h'), 4, /Nothing was changed/);
  await fails(coat('bake', 'show', '9'), 1, /there is no bake 9: `coat bake show --all` lists them\.$/m);
  await fails(coat('air', 'shed', '300F', '50%'), 1, /^coat: temp is 148\.9 C: it must be from -40 to 60 C\. Nothing was entered\.$/m);
  await fails(coat('piece', 'add', 'x', '--wall', '0mm'), 1, /^coat: --wall is 0 mm: it must be from 0\.001 to 1000 mm\./);
  await fails(coat('log', 'fan guard', 'gloss', '--passes', '1000'), 1, /^coat: --passes is 1000: it must be from 1 to 50\./);
  await fails(coat('tin', 'add', 'x', 'gloss', '--opened', '2027-01-01'), 1, /^coat: --opened: the moment has not come yet/);
  await fails(coat('log', 'fan guard', 'gloss', '--amount', '900l'), 1, /^coat: --amount is 900000 ml: it must be from 0\.01 to 100000 ml\./);
  await fails(coat('log', 'fan guard', 'gloss', '--thinned', '10:acetone'), 2, /^coat: --thinned: "10" has no unit: write 10%\. Nothing was logged\./);
  await fails(coat('air', 'shed', '--days', '20001'), 2, /"20001" is no number of days: write a whole number from 1 to 20000/);
  assert.equal((await coat('air', 'shed', '--days', '20000')).code, 0);
  await fails(coat('place', 'add', ''), 1, /^coat: name: it is empty/);
});

test('times are those of the shop', async (t) => {
  const { daemon, coat } = await openShop(t);
  const forms = [['14:30', '13:30'], ['20 min ago', '13:15'], ['yesterday 18:00', '17:00', 27], ['Fri 19:00', '18:00', 27], ['2026-11-28 09:05', '08:05'], ['2026-11-28T09:05:00-01:00', '10:05'], ['now', '13:35']];
  for (const [said, utc, day = 28] of forms) {
    const run = await coat('log', 'fan', 'gloss', '--json', '--at', said);
    assert.equal(run.code, 0, run.stderr);
    assert.equal(JSON.parse(run.stdout).items[0].last_at, `2026-11-${day}T${utc}:00Z`, said);
  }
  assert.equal((await daemon.get('/api/v1/coats')).body.items.length, forms.length);
});

test('given the night in which the clocks go back, then a time that came twice is asked back', async (t) => {
  const { daemon, coat } = await openShop(t, '2026-10-25T11:00:00Z');
  await fails(coat('log', 'fan', 'gloss', '--at', '02:30'), 2, /came twice.*2026-10-25T02:30:00\+02:00 for the first or 2026-10-25T02:30:00\+01:00 for the second.*Nothing was logged/);
  const run = await coat('log', 'fan', 'gloss', '--json', '--at', '2026-10-25T02:30:00+01:00');
  assert.equal(JSON.parse(run.stdout).items[0].last_at, '2026-10-25T01:30:00Z');
  assert.equal((await daemon.get('/api/v1/coats')).body.items.length, 1);
});

test('given a label, then one line enters it, and the next version keeps what the label said', async (t) => {
  const { daemon, coat } = await openShop(t);
  const text = await done(coat('material', 'add', 'black gloss', '--class', 'alkyd-enamel', '--application', 'brush', '--min-temp', '10C', '--max-temp', '90F', '--max-rh', '85%',
    '--film', '1.5mil', '--solids', '40%', '--at', '70F', '--rh', '50%', '--touch', '2h', '--tack-free', '4h', '--handle', '24h', '--unmask', '2h to 24h, then wait',
    '--recoat', 'within 1h or after 48h', '--row', 'recoat.2:10C=72h', '--cure', '7d', '--pot-life', '4h', '--hazard', 'isocyanate=no'));
  assert.match(text, /black gloss, version 1[^]*recoat +go until 1 h at 21\.1 C, then wait; label 1 h; label/);
  const id = (await daemon.get('/api/v1/materials')).body.items.find((one) => one.name === 'black gloss').id;
  const first = (await daemon.get(`/api/v1/materials/${id}`)).body;
  const recoat = first.stages.find((one) => one.stage === 'recoat');
  assert.equal(recoat.first, 'go');
  assert.deepEqual(recoat.boundaries.map((one) => [one.then, one.label_h, one.rows.map((row) => row.hours), one.basis]), [['wait', 1, [1], 'label'], ['go', 48, [72, 48], 'label']]);
  assert.ok(Math.abs(first.limits.max_temp_c - 32.22) < 0.01 && Math.abs(first.film.dry_um - 38.1) < 0.01);
  assert.equal(first.pot_life_min, 240);
  assert.equal(first.hazards.isocyanate, 'no');

  assert.match(await done(coat('material', 'edit', 'black', '--handle', '30h')), /black gloss, version 2/);
  const second = (await daemon.get(`/api/v1/materials/${id}`)).body;
  for (const stage of first.stages.filter((one) => one.stage !== 'handle' && one.boundaries.every((edge) => edge.basis === 'label')))
    assert.deepEqual(second.stages.find((one) => one.stage === stage.stage), stage);
  assert.equal(second.stages.find((one) => one.stage === 'handle').boundaries[0].label_h, 30);
  assert.deepEqual([second.limits, second.film, second.hazards], [first.limits, first.film, first.hazards]);

  await done(coat('log', 'fan', 'black'));
  await done(coat('material', 'edit', 'black', '--handle', '36h'));
  assert.match(await done(coat('show', '1')), /its material has a newer version/);
  await done(coat('amend', '1', '--material', 'black'));
  assert.equal((await daemon.get('/api/v1/coats/1')).body.coat.material.version, 3);
  assert.match(await done(coat('material', 'remove', 'black')), /out of use/);
  assert.doesNotMatch(await done(coat('material', 'list')), /black gloss/);
  assert.match(await done(coat('material', 'list', '--all')), /black gloss[^]*out\s+of use/);
  const grey = ['material', 'add', 'stoving grey', '--class', 'stoving-enamel', '--bake-row', '150C=1h'];
  await fails(coat(...grey, '--too-hot', '190'), 2, /--too-hot: .*no unit/);
  await fails(coat(...grey, '--too-long', '150C'), 2, /--too-long: /);
  await fails(coat(...grey, '--too-long', '150C=30min'), 1, /--too-long: .*ask for 1 h there; more than that will do.*Nothing was entered/);
  assert.match(await done(coat(...grey, '--too-hot', '374F', '--too-long', '150C=90min', '--thinner', 'xylene')), /at most +too hot from 190 C, too long from 1 h 30 min at 150 C, by its label[^]*thin with +xylene/);
  assert.match(await done(coat('material', 'edit', 'stoving grey', '--too-hot', 'none')), /version 2[^]*at most +too long from 1 h 30 min at 150 C, by its label[^]*thin with +xylene/);
  assert.doesNotMatch(await done(coat('material', 'show', 'gloss enamel')), /at most  |thin with/);
  await fails(coat('material', 'add', 'red', '--class', 'alkyd-enamel', '--recoat', 'soon'), 2, /--recoat: .*soon/);
  await fails(coat('material', 'add', 'red', '--class', 'alkyd-enamel', '--row', 'shine:10C=8h'), 2, /names no stage/);
  await fails(coat('material', 'add', 'red', '--class', 'alkyd-enamel', '--row', 'recoat:10C'), 2, /--row: /);
});

test('--units us shows Fahrenheit and cubic feet', async (t) => {
  const { coat } = await openShop(t);
  assert.match(await done(coat('--units', 'us', 'place')), /2119 ft3,[^]*64 F 61 %/);
  assert.match(await done(coat('air', 'shed', '64F', '55%', '--units=us')), /shed 64 F 55 %/);
});

// ---- ones that misbehave ----

async function serve(t, answer) {
  const seen = [];
  const server = http.createServer((request, response) => {
    let body = '';
    request.on('data', (chunk) => { body += chunk; });
    request.on('end', () => { seen.push({ method: request.method, url: request.url, headers: request.headers, body }); answer(request, response); });
  });
  await new Promise((resolve) => server.listen(0, '127.0.0.1', resolve));
  t.after(() => { server.closeAllConnections(); return new Promise((resolve) => server.close(resolve)); });
  return { url: `http://127.0.0.1:${server.address().port}`, seen };
}

const json = (response, status, body) => { response.writeHead(status, { 'content-type': 'application/json' }); response.end(JSON.stringify(body)); };
const SMALL_SHOP = { as_of_at: '2026-11-28T13:35:00Z', shop: { zone: 'UTC', units: 'metric' }, places: [{ id: 1, name: 'shed', air: null }], pieces: [{ id: 1, name: 'fan', place: 1 }], racks: [], materials: [{ id: 1, name: 'gloss' }], coats: [], lists: {}, notices: [] };

test('writes carry a key of their own, a token where one is set, and no other secret', async (t) => {
  const fake = await serve(t, (request, response) => json(response, 200, request.method === 'GET' ? SMALL_SHOP : { items: [] }));
  const coat = coatAt(fake.url, { COAT_TOKEN: 'abc123' });
  for (let i = 0; i < 2; i++) assert.equal((await coat('log', 'fan', 'gloss')).code, 0);
  const writes = fake.seen.filter((one) => one.method === 'POST');
  assert.equal(writes.length, 2);
  for (const one of writes) assert.match(one.headers['idempotency-key'], /^[0-9a-f]{32}$/);
  assert.notEqual(writes[0].headers['idempotency-key'], writes[1].headers['idempotency-key']);
  assert.ok(fake.seen.every((one) => one.headers.authorization === 'Bearer abc123'));
  assert.ok(writes.every((one) => one.headers['content-type'] === 'application/json'));
  assert.deepEqual(JSON.parse(writes[0].body), { pieces: [1], material: 1 });
  await fails(coatAt(fake.url, { COAT_TOKEN: 'a\nb' })('piece'), 2, /COAT_TOKEN is no token/);
});

test('given 401 or 403, then exit 4', async (t) => {
  for (const status of [401, 403]) {
    const fake = await serve(t, (request, response) => json(response, status, { title: 'Not allowed', status, detail: 'a token is needed: make one with coat pair' }));
    await fails(coatAt(fake.url)('piece'), 4, /a token is needed/);
  }
});

test('given something else at that address, then it is not taken for a daemon', async (t) => {
  for (const text of ['<html>hello</html>', '', '[1,2]', '{"as_of_at":', '{"as_of_at":5}']) {
    const fake = await serve(t, (request, response) => response.end(text));
    await fails(coatAt(fake.url)(), 3, /is not coatd/);
  }
});

test('given a daemon that dies over a write, then nothing is claimed about it', async (t) => {
  const fake = await serve(t, (request, response) => (request.method === 'GET' ? json(response, 200, SMALL_SHOP) : request.socket.destroy()));
  const said = await fails(coatAt(fake.url)('log', 'fan', 'gloss'), 3, /It may have been done all the same: look with coat before you repeat it\./);
  assert.doesNotMatch(said, /Nothing was/);
});

test('given names and texts with control characters, then none reaches the terminal', async (t) => {
  const evil = '\u001b[2Jfan\u0007\u009b31m';
  const shop = { ...SMALL_SHOP, places: [{ id: 1, name: evil, air: null }], pieces: [{ id: 1, name: evil, place: 1, coats: [] }], lists: { now: [{ piece: 1, coat: 1, stage: evil, do: 'go', state: 'open' }] }, shop_cautions: ['x'], cautions: { x: { act: evil } }, deferral: evil };
  const fake = await serve(t, (request, response) => json(response, request.method === 'GET' ? 200 : 422, request.method === 'GET' ? { ...shop, items: shop.pieces } : { detail: evil, status: 422 }));
  const coat = coatAt(fake.url);
  for (const args of [[], ['piece'], ['place']]) {
    const run = await coat(...args);
    assert.equal(run.code, 0, run.stderr);
    assert.doesNotMatch(run.stdout, /[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/);
  }
  const refused = await coat('piece', 'add', 'x');
  assert.equal(refused.code, 1);
  assert.doesNotMatch(refused.stderr, /[\u0000-\u0009\u000b-\u001f\u007f-\u009f]/);
});

test('given documents of other shapes, then no command falls over', async (t) => {
  const odd = [{}, { items: 5 }, { items: [null, 5, 'x', {}] }, { coat: [] }, { coat: { stages: [{ spans: {}, current: 1e9 }, { stage: 'recoat', spans: [{ do: 'go', until: 5 }, {}], current: -3 }] } }, { items: [{ id: -1, at: 'x', temp_c: 1e300, rh_pct: -5 }] }];
  for (const body of odd) {
    const fake = await serve(t, (request, response) => json(response, 200, request.url === '/api/v1/shop' ? { ...SMALL_SHOP, ...body, lists: body, cautions: 5 } : body));
    const coat = coatAt(fake.url);
    for (const args of [[], ['show', '1'], ['show', 'fan'], ['show', '1', '--record'], ['piece'], ['rack'], ['place'], ['material'], ['material', 'show', 'gloss'], ['air', 'shed'], ['notices'], ['caution'], ['log', 'fan', 'gloss'], ['strip', 'fan'], ['sand', '1'], ['test', '1', 'touch', 'pass'], ['tin'], ['tin', 'add', 'black', 'gloss'], ['mix', 'gloss'], ['ack', '1'], ['shop']]) {
      const run = await coat(...args);
      assert.equal(run.code, 0, `coat ${args.join(' ')} on ${JSON.stringify(body)}: ${run.code} ${run.stderr}`);
      isPlain(run);
    }
  }
});

test('colour is a second voice: on a terminal only, and never with NO_COLOR, --no-color or a dumb one', async (t) => {
  const { daemon, coat } = await openShop(t);
  await done(coat('log', 'fan', 'spray'));
  const onTerminal = (env, ...args) => spawnSync('script', ['-qec', `${COAT} ${args.join(' ')}`, '/dev/null'], { encoding: 'utf8', timeout: 20000, env: { PATH: process.env.PATH, COAT_SERVER: daemon.url, ...env } });
  if (spawnSync('script', ['-qec', 'true', '/dev/null']).status !== 0) return t.skip('no pseudo-terminal can be had here');
  const coloured = onTerminal({ TERM: 'xterm' });
  assert.match(coloured.stdout, /\u001b\[/);
  for (const plain of [onTerminal({ TERM: 'xterm', NO_COLOR: '1' }), onTerminal({ TERM: 'xterm' }, '--no-color'), onTerminal({ TERM: 'dumb' }), onTerminal({})])
    assert.doesNotMatch(plain.stdout, /\u001b/);
  const words = (text) => text.replace(/\u001b\[[0-9;]*m/g, '').replace(/\r/g, '');
  assert.equal(words(coloured.stdout), words(onTerminal({ TERM: 'dumb' }).stdout), 'colour changes no word');
});

test('the manual names every command and every global option', async () => {
  const manual = require('node:fs').readFileSync(path.resolve(__dirname, '../../cli/coat.1'), 'utf8');
  const help = await done(coatAt(NOBODY)('--help'));
  for (const [, name, verb] of help.matchAll(/^ {2}coat ([a-z]+)(?: ([a-z]+))?/gm)) {
    assert.match(manual, new RegExp(`^\\.It Nm Cm ${name}\\b${verb ? `.*\\b${verb}\\b` : ''}`, 'm'), `${name} ${verb || ''} is missing`);
  }
  for (const [, option] of help.matchAll(/^ {2}--([a-z-]+)/gm)) assert.ok(manual.includes(`.It Fl -${option}`), `--${option} is missing`);
});
