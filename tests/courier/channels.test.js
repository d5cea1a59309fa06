// The channels of the service, with their couriers, against real receivers: each notice at least once, whatever dies in between.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { describe, test } = require('node:test');
const { freePort, scratchFolder, sleep, startBroker, startChannels, until } = require('./broker.js');
const { readMail, startMailServer, startReceiver } = require('./sinks.js');

const hook = (id, port, more) => ({ id, kind: 'webhook', target: `http://127.0.0.1:${port}/hook`, secret: 'key', ...more });
const box = (id, port, more) => ({ id, kind: 'mail', target: `smtp://127.0.0.1:${port}`, from: 'shop@example.org', to: 'me@example.org', ...more });
const topic = (id, port, more) => ({ id, kind: 'mqtt', target: `mqtt://127.0.0.1:${port}/shop/notices`, ...more });

const isTried = (channel, notice, delivered) => ({ tried }) => tried && tried[0] === channel && (notice === undefined || tried[1] === notice)
  && (delivered === undefined || tried[2] === delivered);
const PATIENT = 30000;
const tell = (channels, id, more = {}) => channels.send({ tell: id, subject: `Fan blade ${id}: may be done now`, text: 'It is open.\n', ...more });
const tries = (channels, channel) => channels.lines.filter(isTried(channel)).map(({ tried }) => tried.slice(1));
const ids = (receiver) => receiver.got.map(({ headers }) => headers['coatwright-notice']);
const idOf = (notice) => `notice-${notice}@0123456789abcdef`;

// No turn may take more than 20 ms of work, five times that under the sanitizers.
const WORK_US = /san/.test(process.env.COAT_BUILD || '') ? 100000 : 20000;

async function closes(t, channels) {
  const { turns, work_us } = await channels.stats();
  t.diagnostic(`${turns} turns, ${work_us} µs of work in the longest`);
  assert.ok(work_us < WORK_US, `a turn took ${work_us} µs of work`);
  channels.close();
  assert.deepEqual(await channels.ended, { code: 0, signal: null }, channels.log());
  assert.equal(channels.log(), '');
}

describe('channels through couriers', { concurrency: 4 }, () => {
  test('a notice goes out over each channel, once each', async (t) => {
    const receiver = await startReceiver(t);
    const server = await startMailServer(t);
    const broker = await startBroker(t);
    const channels = startChannels(t);
    channels.send({ set: [hook(1, receiver.port), box(2, server.port), topic(3, broker.port)] });
    for (const id of [7, 8]) tell(channels, id);
    await until(() => 'all delivered', () => [1, 2, 3].every((id) => tries(channels, id).length === 2), PATIENT);
    assert.ok(channels.lines.filter(({ tried }) => tried).every(({ tried }) => tried[2]), JSON.stringify(channels.lines));
    assert.deepEqual(ids(receiver), [idOf(7), idOf(8)]);
    assert.deepEqual(server.mails.map(({ raw }) => readMail(raw).header('Message-ID')[0]), [`<${idOf(7)}>`, `<${idOf(8)}>`]);
    assert.equal(channels.children().length, 3); // one a channel
    await closes(t, channels);
  });

  test('a server that is dead and then back gets what waited, in its order', async (t) => {
    const port = await freePort();
    const channels = startChannels(t, { waitMs: 300 });
    channels.send({ set: [hook(1, port)] });
    for (const id of [1, 2, 3]) tell(channels, id);
    await channels.wait(isTried(1, 3, false), PATIENT);
    assert.deepEqual(tries(channels, 1)[0], [1, false, `127.0.0.1:${port}: connection refused`]);
    const receiver = await startReceiver(t, { port });
    await until(() => 'all delivered', () => tries(channels, 1).filter(([, delivered]) => delivered).length === 3, PATIENT);
    assert.deepEqual(ids(receiver).sort(), [1, 2, 3].map(idOf));
    await closes(t, channels);
  });

  test('one that the receiver chokes on does not hold up those behind it', async (t) => {
    const receiver = await startReceiver(t, { answer: (request, response) => { response.statusCode = request.headers['coatwright-notice'] === idOf(1) ? 500 : 200; response.end(); } });
    const channels = startChannels(t);
    channels.send({ set: [hook(1, receiver.port)] });
    for (const id of [1, 2, 3]) tell(channels, id);
    await channels.wait(isTried(1, 3, true), PATIENT);
    assert.deepEqual(tries(channels, 1).filter(([id]) => id !== 1).map(([id, delivered]) => [id, delivered]), [[2, true], [3, true]]);
    await until(() => 'the first is tried again', () => tries(channels, 1).filter(([id]) => id === 1).length >= 2, PATIENT);
    channels.send({ drop: 1 }); // acknowledged at the page
    await closes(t, channels);
  });

  test('a courier that is killed in the middle: sent again, with the same id', async (t) => {
    let hang = true;
    const receiver = await startReceiver(t, { answer: (request, response) => { if (!hang) response.end(); } });
    const channels = startChannels(t);
    channels.send({ set: [hook(1, receiver.port)] });
    tell(channels, 7);
    await until(() => 'it was sent', () => receiver.got.length === 1, PATIENT);
    hang = false;
    process.kill(channels.children()[0], 'SIGKILL');
    await channels.wait(isTried(1, 7, false), PATIENT);
    await channels.wait(isTried(1, 7, true), PATIENT);
    assert.deepEqual(ids(receiver), [idOf(7), idOf(7)]);
    assert.match(tries(channels, 1)[0][2], /its courier, the program that takes it there, ended before there was an answer/);
    await closes(t, channels);
  });

  test('a server that hangs up after it took a mail gets it again, with the same Message-ID', async (t) => {
    let times = 0;
    const server = await startMailServer(t, { answers: { '.': (socket) => { times++; if (times === 1) socket.destroy(); else socket.write('250 2.0.0 queued\r\n'); } } });
    const channels = startChannels(t);
    channels.send({ set: [box(1, server.port)] });
    tell(channels, 7);
    await channels.wait(isTried(1, 7, true), PATIENT);
    assert.deepEqual(server.mails.map(({ raw }) => readMail(raw).header('Message-ID')[0]), [`<${idOf(7)}>`, `<${idOf(7)}>`]);
    await closes(t, channels);
  });

  test('a broker that is dead and then back', async (t) => {
    const port = await freePort();
    const channels = startChannels(t);
    channels.send({ set: [topic(1, port)] });
    tell(channels, 7);
    await channels.wait(isTried(1, 7, false), PATIENT);
    await startBroker(t, { port });
    await channels.wait(isTried(1, 7, true), PATIENT);
    await closes(t, channels);
  });

  test('a server that says nothing holds up no other channel, nor the end', async (t) => {
    const server = await startMailServer(t, { answers: { greeting: null } });
    const receiver = await startReceiver(t);
    const channels = startChannels(t);
    channels.send({ set: [box(1, server.port), hook(2, receiver.port)] });
    for (let id = 1; id <= 20; id++) tell(channels, id);
    await channels.wait(isTried(2, 20, true), PATIENT);
    assert.equal(tries(channels, 1).length, 0);
    await closes(t, channels);
  });

  test('a program that hangs is ended after half a minute, with all that it started, and what it had printed is kept', async (t) => {
    const folder = scratchFolder(t);
    const channels = startChannels(t);
    const script = `echo $$ >> ${folder}/pids; test $COAT_NOTICE_ID != ${idOf(1)} && exit 0; echo one bell rung; sleep 300 & echo $! >> ${folder}/pids; wait`;
    channels.send({ set: [{ id: 1, kind: 'command', target: JSON.stringify(['/bin/sh', '-c', script]) }] });
    tell(channels, 1);
    tell(channels, 2);
    const { tried } = await channels.wait(isTried(1, 1), 60000);
    assert.deepEqual(tried.slice(2), [false, 'sh was not done in time and was ended; it had printed "one bell rung"']);
    await channels.wait(isTried(1, 2, true), PATIENT); // those behind it have their turn
    const [shell, sleeper] = fs.readFileSync(`${folder}/pids`, 'utf8').split('\n').map(Number);
    for (const pid of [shell, sleeper]) await until(() => `${pid} has gone`, () => !fs.existsSync(`/proc/${pid}`) || /^State:\s+Z/m.test(fs.readFileSync(`/proc/${pid}/status`, 'utf8')), PATIENT);
    channels.send({ drop: 1 });
    await closes(t, channels);
  });

  test('a flood of 300 arrives whole and in order', async (t) => {
    const receiver = await startReceiver(t);
    const channels = startChannels(t);
    channels.send({ set: [hook(1, receiver.port)] });
    const begin = Date.now();
    for (let id = 1; id <= 300; id++) tell(channels, id);
    await channels.wait(isTried(1, 300, true), 60000);
    t.diagnostic(`${Date.now() - begin} ms`);
    assert.deepEqual(ids(receiver), Array.from({ length: 300 }, (_, i) => idOf(i + 1)));
    await closes(t, channels);
  });

  test('other settings while it sends: the old courier is ended, and the new one sends what waits', async (t) => {
    const silent = await startReceiver(t, { answer: () => {} });
    const receiver = await startReceiver(t);
    const channels = startChannels(t);
    channels.send({ set: [hook(1, silent.port)] });
    tell(channels, 7);
    await until(() => 'it was sent', () => silent.got.length === 1, PATIENT);
    const [old] = channels.children();
    channels.send({ set: [hook(1, receiver.port)] });
    await channels.wait(isTried(1, 7, true), PATIENT);
    assert.ok(!channels.children().includes(old));
    assert.deepEqual(tries(channels, 1).length, 1);
    channels.send({ set: [] });
    await until(() => 'no courier', () => channels.children().length === 0, PATIENT);
    await closes(t, channels);
  });

  test('a courier that says nonsense, or speaks of another notice, is ended, and not begun again without end', async (t) => {
    const folder = scratchFolder(t);
    const liar = path.join(folder, 'liar');
    fs.writeFileSync(liar, `#!/bin/sh\necho x >> ${folder}/starts\nread -r open <&3; read -r send <&3\necho '{"sent":"notice-9@other","answer":"250 ok"}' >&3\nsleep 60\n`, { mode: 0o700 });
    const channels = startChannels(t, { courier: liar, waitMs: 50 });
    channels.send({ set: [hook(1, 9)] });
    tell(channels, 7);
    await channels.wait(isTried(1, 7, false), PATIENT);
    await sleep(2500);
    assert.ok(tries(channels, 1).every(([, delivered]) => !delivered));
    assert.ok(fs.readFileSync(`${folder}/starts`, 'utf8').length / 2 <= 4);
    await closes(t, channels);
  });

  test('settings are tried before they are stored', async (t) => {
    const receiver = await startReceiver(t, { answer: (request, response) => response.end('heard') });
    const server = await startMailServer(t, { answers: { 'RCPT TO': '550 5.1.1 no such user' } });
    const broker = await startBroker(t);
    const channels = startChannels(t);
    for (const [settings, delivered, answer] of [
      [hook(0, receiver.port), true, /^200 OK: heard$/],
      [box(0, server.port), false, /refuses it: 550 5\.1\.1 no such user$/],
      [topic(0, broker.port), true, /^acknowledged/],
      [hook(0, await freePort()), false, /connection refused$/],
    ]) {
      channels.send({ test: settings });
      const { tested } = await channels.wait((line) => line.tested, PATIENT);
      assert.equal(tested[1], delivered);
      assert.match(tested[2], answer);
    }
    channels.send({ test: hook(0, 1, { target: 'http://hooks.example/' }) });
    assert.match((await channels.wait((line) => line.failed)).failed, /without TLS/);
    assert.equal(ids(receiver)[0], 'test-1@0123456789abcdef');
    await until(() => 'no courier is left', () => channels.children().length === 0, PATIENT);
    await closes(t, channels);
  });

  test('nothing secret in the arguments or the environment of a courier, nor in a word of anybody', async (t) => {
    const receiver = await startReceiver(t, { answer: (request, response) => { response.statusCode = 500; response.end(); } });
    const channels = startChannels(t);
    channels.send({ set: [hook(1, receiver.port, { secret: 'h1dden' })] });
    tell(channels, 7);
    await channels.wait(isTried(1, 7, false), PATIENT);
    const [courier] = channels.children();
    for (const file of ['cmdline', 'environ']) assert.doesNotMatch(fs.readFileSync(`/proc/${courier}/${file}`, 'utf8'), /h1dden/);
    assert.doesNotMatch(JSON.stringify(channels.lines), /h1dden/);
    await closes(t, channels);
  });
});
