// The links of the service to brokers: one courier a broker, faults told once, nothing that dies or hangs out there stops a turn.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { describe, test } = require('node:test');
const { freePort, publish, scratchFolder, sleep, startBroker, startFakeBroker, startLinks, until } = require('./broker.js');

const sensor = (id, port, topic, more) => ({ id, source: `mqtt://127.0.0.1:${port}/${topic}`, user: '', secret: '', ca_file: '', ...more });
const isPayload = (id, text) => (line) => line.payload && line.payload[0] === id && (text === undefined || line.payload[1] === text);
const isFault = (id) => (line) => line.fault && line.fault[0] === id;
const told = (links, id) => links.lines.filter(isFault(id)).map(({ fault }) => fault[1]);
const refused = (port) => `no connection to the broker at 127.0.0.1:${port}: connection refused; tried again by itself`;

// Sensors whose topics are heard: each had its retained message.
async function hearing(t, port, sensors, topics) {
  const links = startLinks(t);
  await publish(port, topics.map((topic) => [topic, 'first', true]));
  links.send({ set: sensors });
  for (const { id } of sensors) await links.wait(isPayload(id, 'first'));
  return links;
}

// No turn may take more than 20 ms of work, five times that under the sanitizers; what a busy machine adds by the clock is not counted so sharply.
const WORK_US = /san/.test(process.env.COAT_BUILD || '') ? 100000 : 20000;
const CLOCK_US = 500000;

async function turnsAreShort(t, links, turnsMax) {
  const { turns, longest_us, work_us } = await links.stats();
  t.diagnostic(`${turns} turns, the longest ${longest_us} µs with ${work_us} µs of work`);
  assert.ok(work_us < WORK_US && longest_us < CLOCK_US, `a turn took ${longest_us} µs, another one ${work_us} µs of work`);
  assert.ok(turns < turnsMax, `${turns} turns`);
}

async function closes(links) {
  const begin = Date.now();
  links.close();
  assert.deepEqual(await links.ended, { code: 0, signal: null }, links.log());
  assert.equal(links.log(), '');
  return Date.now() - begin;
}

describe('links to brokers', { concurrency: 4 }, () => {
  test('sensors of a broker share a courier, and each hears its own topic', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air'), sensor(3, port, 'loft/air')], ['shed/air', 'loft/air']);
    links.send({ set: [sensor(1, port, 'shed/air'), sensor(2, port, 'shed/air'), sensor(3, port, 'loft/air')] });
    await sleep(100);
    await publish(port, [['shed/air', '{"t":18}'], ['shed', '1'], ['shed/air/b', '2'], ['loft/air', '26']]);
    await links.wait(isPayload(3, '26'));
    assert.deepEqual(links.lines.filter(({ payload }) => payload && payload[1] !== 'first').map(({ payload }) => payload), [[1, '{"t":18}'], [2, '{"t":18}'], [3, '26']]);
    assert.equal(links.children().length, 1);
    assert.ok(links.lines.every(({ fault }) => !fault));
    await closes(links);
  });

  test('another account is another courier, and one that nobody needs any more ends', async (t) => {
    const { port } = await startBroker(t, { users: { mill: 'a', fan: 'b' } });
    const links = startLinks(t);
    const mill = sensor(1, port, 'shed/air', { user: 'mill', secret: 'a' });
    const fan = sensor(2, port, 'shed/air', { user: 'fan', secret: 'b' });
    await publish(port, [['shed/air', '18', true]], { user: 'fan', password: 'b' });
    links.send({ set: [mill, fan, { ...sensor(3, port, 'x'), source: 'mqtt://' }] });
    await until(() => 'both hear', () => [1, 2].every((id) => links.lines.some(isPayload(id, '18'))));
    assert.deepEqual(told(links, 3), ['its source is no address of a broker: write mqtt://HOST/TOPIC']);
    const [first] = links.children();
    assert.equal(links.children().length, 2);
    links.send({ set: [mill] });
    await until(() => 'one courier', () => links.children().length === 1);
    assert.equal(links.children()[0], first); // the one that stays was not begun anew
    links.send({ set: [] });
    await until(() => 'no courier', () => links.children().length === 0);
    await closes(links);
  });

  test('a broker that is down is told once for each sensor, and once that it is back', async (t) => {
    const port = await freePort();
    const links = startLinks(t);
    links.send({ set: [sensor(1, port, 'shed/air'), sensor(2, port, 'loft/air')] });
    await links.wait(isFault(2));
    links.send({ set: [sensor(1, port, 'shed/air'), sensor(2, port, 'loft/air'), sensor(3, port, 'cellar/air')] });
    await links.wait(isFault(3)); // a new one hears of it, too
    await sleep(2500);
    for (const id of [1, 2, 3]) assert.deepEqual(told(links, id), [refused(port)]);
    const { turns } = await links.stats();
    assert.ok(turns < 30, `${turns} turns in three seconds`);
    await startBroker(t, { port });
    await until(() => 'all clear', () => [1, 2, 3].every((id) => told(links, id).length === 2));
    for (const id of [1, 2, 3]) assert.deepEqual(told(links, id), [refused(port), '']);
    await publish(port, [['cellar/air', '12', true]]);
    await links.wait(isPayload(3, '12'));
    await closes(links);
  });

  test('a sensor that moves to a broker that is there is well again', async (t) => {
    const { port } = await startBroker(t);
    const none = await freePort();
    const links = startLinks(t);
    links.send({ set: [sensor(1, none, 'shed/air')] });
    await links.wait(isFault(1));
    links.send({ set: [sensor(1, port, 'shed/air')] });
    assert.deepEqual((await links.wait(isFault(1))).fault, [1, '']);
    await closes(links);
  });

  test('a courier that is killed is back within two seconds, and nobody hears of it', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air')], ['shed/air']);
    const [victim] = links.children();
    process.kill(victim, 'SIGKILL');
    await links.wait(isPayload(1, 'first'), 3000); // the retained message again
    assert.notDeepEqual(links.children(), [victim]);
    assert.deepEqual(told(links, 1), []);
    await closes(links);
  });

  test('a courier that hangs stops neither a turn nor the end', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air')], ['shed/air']);
    process.kill(links.children()[0], 'SIGSTOP');
    const many = (round) => Array.from({ length: 60 }, (_, i) => sensor(i + 1, port, `${round}/${'x'.repeat(400)}/${i}`));
    for (let round = 0; round < 20; round++) links.send({ set: many(round) }); // more than a socket takes
    await sleep(300);
    await turnsAreShort(t, links, 100);
    assert.ok(await closes(links) < 1000);
  });

  test('a courier that is not there is told, and tried less and less often', async (t) => {
    const links = startLinks(t, '/nonexistent/coat-courier');
    links.send({ set: [sensor(1, 1883, 'shed/air')] });
    const { fault } = await links.wait(isFault(1));
    t.diagnostic(fault[1]);
    assert.match(fault[1], /^no connection to the broker at 127\.0\.0\.1:1883: .*\/nonexistent\/coat-courier.*; tried again by itself$/);
    await sleep(2000);
    assert.deepEqual(told(links, 1).length, 1);
    assert.ok((await links.stats()).turns < 20);
    await closes(links);
  });

  for (const [what, command] of [['nonsense', 'yes'], ['a line without an end', "tr '\\0' x </dev/zero"], ['nothing, and ends', 'true'], ['states that there are none', "echo '{\"state\":\"happy\"}'"]]) {
    test(`a courier that says ${what} is ended and begun less and less often`, async (t) => {
      const folder = scratchFolder(t);
      const file = path.join(folder, 'courier');
      fs.writeFileSync(file, `#!/bin/sh\necho x >>'${folder}/starts'\n${command} >&3\n`, { mode: 0o755 });
      const links = startLinks(t, file);
      links.send({ set: [sensor(1, 1883, 'shed/air')] });
      await sleep(4500); // starts at 0, 1, 3 and then 7 s
      assert.equal(fs.readFileSync(path.join(folder, 'starts'), 'utf8'), 'x\nx\nx\n');
      await turnsAreShort(t, links, 100);
      links.close();
      assert.deepEqual(await links.ended, { code: 0, signal: null });
    });
  }

  test('what a courier says all at once is heard to the end, a part in each turn', async (t) => {
    const folder = scratchFolder(t);
    const file = path.join(folder, 'courier');
    fs.writeFileSync(path.join(folder, 'lines'), Array.from({ length: 1000 }, (_, i) => `{"topic":"shed/air","payload":"${i}"}\n`).join(''));
    fs.writeFileSync(file, `#!/bin/sh\ndd bs=64k if='${folder}/lines' >&3 2>/dev/null\nexec sleep 20\n`, { mode: 0o755 });
    const links = startLinks(t, file);
    links.send({ set: [sensor(1, 1883, 'shed/air')] });
    await links.wait(isPayload(1, '999'));
    assert.deepEqual(links.lines.map(({ payload }) => payload[1]), Array.from({ length: 1000 }, (_, i) => String(i)));
    assert.ok((await links.stats()).turns >= 4);
    await closes(links);
  });

  test('a courier that never has a word to say is told of', async (t) => {
    const file = path.join(scratchFolder(t), 'courier');
    fs.writeFileSync(file, '#!/bin/sh\nexit 0\n', { mode: 0o755 });
    const links = startLinks(t, file);
    links.send({ set: [sensor(1, 1883, 'shed/air')] });
    assert.equal((await links.wait(isFault(1), 15000)).fault[1], 'no connection to the broker at 127.0.0.1:1883: no answer; tried again by itself');
    await closes(links);
  });

  test('what is no text is a fault of its topic alone, until there is text again', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air'), sensor(2, port, 'loft/air')], ['shed/air', 'loft/air']);
    for (const payload of [Buffer.from([0xff]), Buffer.alloc(1 << 20, 'x')]) await publish(port, [['shed/air', payload]]);
    await links.wait(isFault(1));
    await publish(port, [['shed/air', '18'], ['loft/air', '26']]);
    await links.wait(isPayload(2, '26'));
    await until(() => 'well again', () => told(links, 1).length === 2);
    assert.deepEqual(told(links, 1), ['what its topic publishes is no text, or longer than 64 kB: it should be a number or JSON', '']);
    assert.deepEqual(told(links, 2), []);
    await closes(links);
  });

  test('a topic that the broker refuses is a fault of its sensor', async (t) => {
    const { port } = await startFakeBroker(t, (socket, type, body) => {
      if (type === 8) socket.write(Buffer.from([0x90, 3, body[0], body[1], body.includes('loft/air') ? 0x80 : 0]));
    });
    const links = startLinks(t);
    links.send({ set: [sensor(1, port, 'shed/air'), sensor(2, port, 'loft/air')] });
    assert.equal((await links.wait(isFault(2))).fault[1], `the broker at 127.0.0.1:${port} does not let this user read its topic`);
    assert.deepEqual(told(links, 1), []);
    await closes(links);
  });

  test('a flood of 5,000 messages is heard whole, in short turns', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air')], ['shed/air']);
    await publish(port, Array.from({ length: 5000 }, (_, i) => ['shed/air', `{"n":${i},"t":18.2}`]));
    await links.wait(isPayload(1, '{"n":4999,"t":18.2}'), 20000);
    assert.equal(links.lines.filter(({ payload }) => payload && /"n"/.test(payload[1])).length, 5000);
    await turnsAreShort(t, links, 10000);
    await closes(links);
  });

  test('a test of a topic has a link of its own, and hears a retained message at once', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air')], ['shed/air']);
    links.send({ test: sensor(7, port, 'shed/air') });
    assert.deepEqual((await links.wait((line) => line.test_payload)).test_payload, [7, 'first']);
    await until(() => 'its courier ended', () => links.children().length === 1);
    await publish(port, [['shed/air', '18']]);
    await links.wait(isPayload(1, '18'));
    assert.equal(links.lines.filter((line) => line.test_payload).length, 1);
    await closes(links);
  });

  test('a test hears why nothing comes, and one that is ended hears nothing', async (t) => {
    const { port } = await startBroker(t, { users: { mill: 'a' } });
    const links = startLinks(t);
    links.send({ test: sensor(7, port, 'shed/air', { user: 'mill', secret: 'guess' }) });
    links.send({ test: sensor(8, port, 'shed/air', { user: 'mill', secret: 'a' }) });
    assert.deepEqual((await links.wait((line) => line.test_fault)).test_fault,
      [7, `no connection to the broker at 127.0.0.1:${port}: user or password refused; tried again by itself`]);
    links.send({ end: 8 });
    links.send({ end: 99 });
    links.send({ test: { ...sensor(9, port, 'x'), source: 'mqtt://' } });
    await links.wait((line) => line.failed);
    await until(() => 'no courier', () => links.children().length === 0);
    await publish(port, [['shed/air', '18', true]], { user: 'mill', password: 'a' });
    await sleep(300);
    assert.equal(links.lines.filter((line) => line.test_payload).length, 0);
    await closes(links);
  });

  test('the couriers end when the service is killed', async (t) => {
    const { port } = await startBroker(t);
    const links = await hearing(t, port, [sensor(1, port, 'shed/air')], ['shed/air']);
    const [courier] = links.children();
    process.kill(links.pid, 'SIGKILL');
    await links.ended;
    await until(() => 'the courier ended', () => !fs.existsSync(`/proc/${courier}/status`) || /State:\s+Z/.test(fs.readFileSync(`/proc/${courier}/status`, 'utf8')), 3000);
  });
});
