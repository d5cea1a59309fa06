// Notices published at a broker, by the courier alone.
'use strict';
const assert = require('node:assert/strict');
const { describe, test } = require('node:test');
const { makeAuthority, makeCertificate } = require('./certificates.js');
const { freePort, scratchFolder, sleep, startBroker, startCourier, startFakeBroker } = require('./broker.js');
const { sendThrough } = require('./sinks.js');

const out = (t, port, more = {}) => startCourier(t, { open: 'mqtt-out', host: '127.0.0.1', port, tls: false, ca_file: '', user: '', password: '', topic: 'shop/notices', ...more });

// Hears what is published, by the courier's other side.
async function hearing(t, port, topic = 'shop/notices', more = {}) {
  const courier = startCourier(t, { port, ...more });
  await courier.wait(({ state }) => state === 'connected');
  courier.send({ add: topic });
  courier.hears = (payload) => courier.wait((line) => line.topic === topic && (payload === undefined || line.payload === payload));
  await sleep(300);
  return courier;
}

describe('notices to a broker', { concurrency: 4 }, () => {
  test('arrive as they are, and are acknowledged', async (t) => {
    const { port } = await startBroker(t);
    const ears = await hearing(t, port);
    const json = JSON.stringify({ id: 12, subject: 'Überzug: darf jetzt' });
    const courier = out(t, port);
    const { sent, answer } = await sendThrough(courier, { json });
    assert.deepEqual([sent, answer], ['notice-12@0123456789abcdef', 'acknowledged']);
    const heard = await ears.hears(json);
    assert.equal(heard.retained, undefined);
    await sendThrough(courier, { json: '{"id":13}' });
    await ears.hears('{"id":13}');
  });

  test('that nobody listens is delivered, and said', async (t) => {
    const { port } = await startBroker(t);
    const { sent, answer } = await sendThrough(out(t, port));
    assert.ok(sent);
    assert.equal(answer, 'acknowledged; nobody listens to its topic just now');
  });

  test('a broker that lets nobody publish there says so, in place of swallowing it', async (t) => {
    const { port } = await startBroker(t, { users: { shop: 'pw', guest: 'pw' }, acl: 'user shop\ntopic readwrite shop/#\n' });
    assert.ok((await sendThrough(out(t, port, { user: 'shop', password: 'pw' }))).sent);
    const { failed, answer } = await sendThrough(out(t, port, { user: 'guest', password: 'pw' }));
    assert.ok(failed);
    assert.equal(answer, 'the broker does not let this user publish to shop/notices');
  });

  test('a wrong password, and a broker that is not there', async (t) => {
    const { port } = await startBroker(t, { users: { shop: 'pw' } });
    assert.equal((await sendThrough(out(t, port, { user: 'shop', password: 'wrong' }))).answer, `127.0.0.1:${port}: user or password refused`);
    assert.equal((await sendThrough(out(t, port))).answer, `127.0.0.1:${port}: user or password refused`);
    const none = await freePort();
    assert.equal((await sendThrough(out(t, none))).answer, `127.0.0.1:${none}: connection refused`);
  });

  test('TLS, with a certificate that is checked', async (t) => {
    const folder = scratchFolder(t);
    const ours = makeAuthority(folder, 'ours');
    const theirs = makeAuthority(folder, 'theirs');
    const { port } = await startBroker(t, { tls: makeCertificate(folder, ours, 'broker', 'IP:127.0.0.1') });
    assert.ok((await sendThrough(out(t, port, { tls: true, ca_file: ours.cert }))).sent);
    assert.match((await sendThrough(out(t, port, { tls: true, ca_file: theirs.cert }))).answer, /its certificate is not trusted: the authorities in the given file did not sign it/);
    const { failed, answer } = await sendThrough(out(t, port));
    assert.ok(failed);
    assert.match(answer, /if it wants TLS, write mqtts:\/\//);
    const other = await startBroker(t, { tls: makeCertificate(folder, ours, 'other', 'DNS:mill.example') });
    assert.match((await sendThrough(out(t, other.port, { tls: true, ca_file: ours.cert }))).answer, /it is made for another host/);
  });

  test('a broker that speaks 3.1.1 alone is spoken to so', async (t) => {
    const connects = [];
    // Greets by the version that it is asked for: refuses 5 as 3.1.1 brokers do, and acknowledges what is published.
    const broker = await startFakeBroker(t, (socket, type, body) => {
      if (type === 1) connects.push(body[6]);
      if (type === 3) {
        const topic = body.readUInt16BE(0);
        socket.write(Buffer.from([0x40, 2, body[2 + topic], body[3 + topic]]));
      }
    }, { greet: (body) => (body[6] === 5 ? [0x20, 2, 0, 1] : [0x20, 2, 0, 0]) });
    const courier = out(t, broker.port);
    for (let i = 0; i < 2; i++) {
      const { sent, answer } = await sendThrough(courier, { json: '{"id":1}' });
      assert.ok(sent, answer);
      assert.equal(answer, 'acknowledged');
    }
    assert.deepEqual(connects, [5, 4, 4]); // and it is remembered
  });

  test('a broker that takes a notice and never acknowledges it has not got it', async (t) => {
    const broker = await startFakeBroker(t, () => {}, { greet: () => [0x20, 3, 0, 0, 0] });
    const { failed, answer } = await sendThrough(out(t, broker.port));
    assert.ok(failed);
    assert.equal(answer, `127.0.0.1:${broker.port}: no answer`);
  });

  test('a broker that says in its greeting that it takes no such thing is not waited for', async (t) => {
    const begin = Date.now();
    for (const [properties, why] of [ // MQTT 5 section 3.2.2.3
      [[0x27, 0, 0, 1, 0], /^127\.0\.0\.1:\d+: it takes nothing as long as this notice, which has 900 bytes/], // Maximum Packet Size
      [[0x24, 0], /^127\.0\.0\.1:\d+: it acknowledges nothing that is published \(no QoS 1\)/], // Maximum QoS
    ]) {
      const broker = await startFakeBroker(t, () => {}, { greet: () => [0x20, 3 + properties.length, 0, 0, properties.length, ...properties] });
      const { failed, answer } = await sendThrough(out(t, broker.port), { json: JSON.stringify('x'.repeat(898)) });
      assert.ok(failed);
      assert.match(answer, why);
    }
    assert.ok(Date.now() - begin < 15000); // and not after 20 s each
  });

  test('a courier goes when coatd does, while it waits as well', async (t) => {
    const broker = await startFakeBroker(t, () => {}, { greet: () => [] });
    const courier = out(t, broker.port);
    courier.send({ send: 'notice-1@a', json: '{}' });
    await sleep(500);
    const begin = Date.now();
    courier.hangUp();
    await courier.ended;
    assert.ok(Date.now() - begin < 15000);
    assert.equal(courier.log(), '');
  });
});
