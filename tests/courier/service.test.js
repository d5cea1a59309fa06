// A shop whose sensors publish to a broker, from the broker to the API.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const { describe, test } = require('node:test');
const { makeAuthority, makeCertificate } = require('./certificates.js');
const { freePort, publish, scratchFolder, sleep, startBroker, until } = require('./broker.js');
const { expect, openShop } = require('../api/scene.js');

const JSON_AIR = { kind: 'mqtt', pointers: { temperature: '/t', humidity: '/rh' } };

// The shop's clock runs as fast as ours.
async function bench(t) {
  const shop = await openShop(t, { testClock: '2026-11-28T08:00:00Z,1' });
  const shed = await shop.addPlace('shed');
  shop.sensor = (rest) => expect(shop.post('/api/v1/sensors', { name: 'wall', place: shed.id, ...JSON_AIR, ...rest }), 201);
  shop.now = (sensor) => expect(shop.get(`/api/v1/sensors/${sensor.id}`), 200);
  shop.reads = (sensor, temp_c) => until(() => `the sensor reads ${temp_c} °C`, async () => {
    const { last } = await shop.now(sensor);
    return last && last.temp_c === temp_c && last;
  });
  // Published anew until it is heard: whether its courier listens by now, nobody tells.
  shop.hears = async (sensor, port, temp_c, rh, options) => {
    let last = null;
    for (let i = 0; i < 40 && !(last && last.temp_c === temp_c); i++) {
      await publish(port, [['shed/air', air(temp_c, rh)]], options);
      await sleep(250);
      ({ last } = await shop.now(sensor));
    }
    assert.equal(last && last.temp_c, temp_c);
    return last;
  };
  shop.test = async (settings) => {
    const { id } = await expect(shop.post('/api/v1/sensor-tests', { ...JSON_AIR, ...settings }), 202);
    return until(() => 'the end of the test', async () => {
      const answer = await expect(shop.get(`/api/v1/sensor-tests/${id}`), 200);
      return answer.done && answer;
    });
  };
  shop.couriers = () => fs.readFileSync(`/proc/${shop.pid}/task/${shop.pid}/children`, 'utf8').split(' ').filter(Boolean).map(Number);
  return shop;
}

const air = (t, rh) => JSON.stringify({ t, rh });
const source = (port, topic = 'shed/air') => `mqtt://127.0.0.1:${port}/${topic}`;

describe('a shop with a broker', { concurrency: 4 }, () => {
  test('what a sensor publishes is the air of its place', async (t) => {
    const { port } = await startBroker(t);
    const shop = await bench(t);
    const sensor = await shop.sensor({ source: source(port) });
    assert.equal((await shop.hears(sensor, port, 17.5, 61)).rh_pct, 61);
    await publish(port, [['shed/air', air(18, 60)]]);
    await shop.reads(sensor, 18);
    assert.deepEqual((await shop.now(sensor)).state, 'ok');
  });

  // The last word of a sensor that died a month ago must not count as of now.
  test('what the broker kept is of unknown age, and does not count', async (t) => {
    const { port } = await startBroker(t);
    const shop = await bench(t);
    await publish(port, [['shed/air', air(3, 90), true]]);
    const sensor = await shop.sensor({ source: source(port) });
    await sleep(2500); // a reading waits a second at most
    assert.deepEqual([(await shop.now(sensor)).last, (await shop.now(sensor)).state], [null, 'no-reading-yet']);
    await shop.hears(sensor, port, 17.5, 61);
  });

  test('a topic is tried before it is entered', async (t) => {
    const { port } = await startBroker(t, { users: { mill: 'open-sesame' } });
    const shop = await bench(t);
    await publish(port, [['shed/air', air(17.5, 61), true], ['shed/junk', 'warm', true]], { user: 'mill', password: 'open-sesame' });
    const well = await shop.test({ source: source(port), user: 'mill', password: 'open-sesame' });
    assert.deepEqual([well.temperature, well.humidity, well.fault], [{ raw: '17.5', value_c: 17.5 }, { raw: '61', value_pct: 61 }, null]);
    const wrong = await shop.test({ source: source(port), user: 'mill', password: 'guess' });
    assert.equal(wrong.fault, `no connection to the broker at 127.0.0.1:${port}: user or password refused; tried again by itself`);
    assert.notEqual((await shop.test({ source: source(port, 'shed/junk'), user: 'mill', password: 'open-sesame' })).fault, null);
    await until(() => 'no courier', () => shop.couriers().length === 0);
    const sensor = await shop.sensor({ source: source(port), user: 'mill', password: 'open-sesame' });
    await shop.hears(sensor, port, 17.5, 61, { user: 'mill', password: 'open-sesame' });
    assert.ok(!JSON.stringify([await shop.now(sensor), await shop.shop(), shop.log]).includes('sesame'));
  });

  test('over TLS, by an authority of its own', async (t) => {
    const folder = scratchFolder(t);
    const authority = makeAuthority(folder, 'shop');
    const broker = await startBroker(t, { tls: makeCertificate(folder, authority, 'broker', 'IP:127.0.0.1') });
    const shop = await bench(t);
    const secure = { source: source(broker.port).replace('mqtt:', 'mqtts:') };
    const sensor = await shop.sensor({ ...secure, ca_file: authority.cert });
    const stranger = await shop.sensor({ ...secure, name: 'other' });
    const { fault } = await until(() => 'a fault', async () => { const now = await shop.now(stranger); return now.fault && now; });
    assert.match(fault, /its certificate is not trusted: the authorities that this system trusts did not sign it/);
    await until(() => `a client that the broker took\n${broker.log()}`, () => /New client connected from .* as coatwright-/.test(broker.log()));
    assert.equal((await shop.now(sensor)).fault, null);
  });

  test('a broker that is away is told once, and the sensor is well when it is back', async (t) => {
    const broker = await startBroker(t);
    const shop = await bench(t);
    const sensor = await shop.sensor({ source: source(broker.port) });
    await shop.hears(sensor, broker.port, 17.5, 61);
    await broker.stop();
    const away = await until(() => 'a fault', async () => { const now = await shop.now(sensor); return /connection refused/.test(now.fault) && now; });
    assert.equal(away.fault, `no connection to the broker at 127.0.0.1:${broker.port}: connection refused; tried again by itself`);
    const revision = await shop.revision();
    await sleep(2500);
    assert.equal(await shop.revision(), revision); // tries in vain are no news
    await startBroker(t, { port: broker.port });
    await until(() => 'no fault', async () => (await shop.now(sensor)).fault === null, 10000);
    await shop.hears(sensor, broker.port, 16, 63);
  });

  test('a courier that is killed is replaced, and nothing waits for a dead one', async (t) => {
    const { port } = await startBroker(t);
    const shop = await bench(t);
    const sensor = await shop.sensor({ source: source(port) });
    await until(() => 'a courier', () => shop.couriers().length === 1);
    const [first] = shop.couriers();
    process.kill(first, 'SIGKILL');
    await until(() => 'another one', () => shop.couriers().length === 1 && shop.couriers()[0] !== first);
    const [second] = shop.couriers(), begin = Date.now();
    process.kill(second, 'SIGSTOP');
    try { await shop.shop(); } finally { process.kill(second, 'SIGCONT'); } // one that stays stopped keeps the service's output open, and the test would wait for its end
    assert.ok(Date.now() - begin < 3000);
    await shop.hears(sensor, port, 18, 60);
    assert.equal((await shop.now(sensor)).fault, null);
  });

  test('junk, a flood and a giant leave the service answering, and the sensor reading', async (t) => {
    const { port } = await startBroker(t);
    const shop = await bench(t);
    const sensor = await shop.sensor({ source: source(port) });
    await shop.hears(sensor, port, 17.5, 61);
    const memory = () => Number(/VmRSS:\s+(\d+)/.exec(fs.readFileSync(`/proc/${shop.pid}/status`, 'utf8'))[1]);
    const before = memory();
    let slowest = 0;
    let flooding = true;
    const asking = (async () => {
      while (flooding) {
        const begin = Date.now();
        await shop.get('/api/v1/notices');
        slowest = Math.max(slowest, Date.now() - begin);
        await sleep(10);
      }
    })();
    const junk = ['{', '', 'warm', '{"t":"x"}', Buffer.from([0xff, 0]), Buffer.alloc(1 << 20, '[')];
    await publish(port, junk.map((payload) => ['shed/air', payload]));
    await publish(port, Array.from({ length: 5000 }, (_, i) => ['shed/air', air(18 + (i % 7) / 10, 60)]));
    await publish(port, [['shed/air', air(18.5, 60)]]);
    await until(() => 'a reading after the flood', async () => { const { last, fault } = await shop.now(sensor); return last.temp_c >= 18 && fault === null; }, 20000);
    flooding = false;
    await asking;
    t.diagnostic(`slowest answer ${slowest} ms, ${memory() - before} kB more`);
    assert.ok(slowest < 3000, `${slowest} ms`);
    assert.ok(memory() - before < (/san/.test(process.env.COAT_BUILD || '') ? 100000 : 15000));
  });

  test('the service ends at once, and its couriers with it', async (t) => {
    const shop = await bench(t);
    await shop.sensor({ source: source(await freePort()) });
    await until(() => 'a courier', () => shop.couriers().length === 1);
    const [courier] = shop.couriers();
    const begin = Date.now();
    await shop.stop();
    assert.ok(Date.now() - begin < 1500);
    assert.ok(!fs.existsSync(`/proc/${courier}`) || /State:\s+Z/.test(fs.readFileSync(`/proc/${courier}/status`, 'utf8')));
  });
});
