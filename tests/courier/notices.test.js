// From a coat to a phone: a whole shop, its channels and their couriers.
'use strict';
const assert = require('node:assert/strict');
const crypto = require('node:crypto');
const fs = require('node:fs');
const path = require('node:path');
const { describe, test } = require('node:test');
const { freePort, scratchFolder, startBroker, startCourier, until } = require('./broker.js');
const { readMail, startMailServer, startReceiver } = require('./sinks.js');
const { startDaemon } = require('../api/daemon.js');
const { at, expect, openShop } = require('../api/scene.js');

const PATIENT = 30000;

// A mill housing in a shed, enamelled in the morning; `pass` lets hours go by in measured air.
async function bench(t) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed');
  await shop.air(shed, 20, 50);
  const piece = await shop.addPiece('mill housing', { place: shed.id });
  shop.enamel = async () => shop.log(piece, await shop.builtin('alkyd-enamel'));
  shop.pass = (from, to) => shop.passMeasured(shed, at(from), at(to), 20, 50);
  shop.channel = (settings) => expect(shop.post('/api/v1/channels', settings), 201);
  shop.view = async (id) => expect(shop.get(`/api/v1/channels/${id}`), 200);
  shop.told = async () => (await shop.shop()).notices.filter(({ told_at }) => told_at).map(({ id }) => id);
  shop.children = () => fs.readFileSync(`/proc/${shop.pid}/task/${shop.pid}/children`, 'utf8').split(' ').filter(Boolean).map(Number);
  // Until everything that is told by now was delivered there.
  shop.delivered = (id) => until(() => `channel ${id} has delivered all`, async () => {
    const view = await shop.view(id);
    return view.waiting === 0 && view.delivered > 0 && view;
  }, PATIENT);
  return shop;
}

const idsOf = (receiver) => receiver.got.map(({ headers }) => headers['coatwright-notice']);

describe('a shop and its channels', { concurrency: 3 }, () => {
  test('what is told arrives at the webhook, each notice once, signed with the key that was told', async (t) => {
    const receiver = await startReceiver(t);
    const shop = await bench(t);
    const channel = await shop.channel({ name: 'phone', kind: 'webhook', target: `http://127.0.0.1:${receiver.port}/hook` });
    await shop.enamel();
    await shop.pass('09:00', '18:00');
    const view = await shop.delivered(channel.id);
    const told = await shop.told();
    assert.ok(told.length >= 3, JSON.stringify(told));
    assert.equal(view.delivered, told.length);
    assert.deepEqual(receiver.got.map(({ body }) => JSON.parse(body).id).sort(), told.sort());
    for (const { body, headers } of receiver.got) {
      const hex = crypto.createHmac('sha256', channel.secret).update(body).digest('hex');
      assert.equal(headers['coatwright-signature'], `hmac-sha256=${hex}`);
      const document = JSON.parse(body);
      assert.match(headers['coatwright-notice'], new RegExp(`^notice-${document.id}@[0-9a-f]{8,}$`));
      assert.ok(document.link.includes(`/ack?n=${document.id}&c=${channel.id}&s=`), document.link);
    }
    assert.equal(new Set(idsOf(receiver).map((id) => id.split('@')[1])).size, 1); // one shop
  });

  test('mail, a broker and a program get them as well', async (t) => {
    const folder = scratchFolder(t);
    const server = await startMailServer(t);
    const broker = await startBroker(t);
    const ears = startCourier(t, { port: broker.port });
    ears.send({ add: 'shop/notices' });
    await ears.wait(({ state }) => state === 'connected');
    const shop = await bench(t);
    const mail = await shop.channel({ name: 'mail', kind: 'mail', target: `smtp://127.0.0.1:${server.port}`, from: 'shop@example.org', to: 'me@example.org' });
    const mqtt = await shop.channel({ name: 'broker', kind: 'mqtt', target: `mqtt://127.0.0.1:${broker.port}/shop/notices` });
    const bell = await shop.channel({ name: 'bell', kind: 'command', argv: ['/bin/sh', '-c', `cat >> ${folder}/in; echo "$COAT_NOTICE_KIND" >> ${folder}/kinds; echo rung`] });
    await shop.enamel();
    await shop.pass('09:00', '14:00');
    for (const { id } of [mail, mqtt, bell]) await shop.delivered(id);
    const { text, subject, header } = readMail(server.mails.find(({ raw }) => /touch/.test(readMail(raw).subject)).raw);
    assert.match(subject, /mill housing/);
    assert.match(text, /mill housing[^]*\r\n\r\nAcknowledge it here: http:\/\/127\.0\.0\.1:\d+\/ack\?n=\d+&c=1&s=[0-9a-f]{32,}\r\n$/);
    assert.match(header('Message-ID')[0], /^<notice-\d+@[0-9a-f]+>$/);
    await ears.wait(({ payload }) => payload && JSON.parse(payload).stage === 'touch', PATIENT);
    assert.match(fs.readFileSync(path.join(folder, 'kinds'), 'utf8'), /stage-reached/);
    assert.equal((await shop.view(bell.id)).answer, 'rung');
  });

  test('a receiver that is dead is said once in the log and at the channel; what waited arrives when it is back', async (t) => {
    const port = await freePort();
    const shop = await bench(t);
    const channel = await shop.channel({ name: 'phone', kind: 'webhook', target: `http://127.0.0.1:${port}/hook` });
    await shop.enamel();
    await shop.pass('09:00', '14:00');
    const failing = await until(() => 'it is known to fail', async () => {
      const view = await shop.view(channel.id);
      return view.failing_since_at && view;
    }, PATIENT);
    assert.equal(failing.answer, `127.0.0.1:${port}: connection refused`);
    assert.ok(failing.waiting >= 1);
    const receiver = await startReceiver(t, { port });
    const well = await shop.delivered(channel.id);
    assert.equal(well.failing_since_at, null);
    assert.equal(new Set(idsOf(receiver)).size, (await shop.told()).length);
    const said = shop.stderr().split('\n').filter((line) => /channel/.test(line));
    assert.deepEqual(said, [`coatd: the channel "phone" does not deliver: 127.0.0.1:${port}: connection refused; tried again by itself`, 'coatd: the channel "phone" delivers again']);
  });

  test('one that was acknowledged while its receiver was dead is not sent any more', async (t) => {
    const port = await freePort();
    const shop = await bench(t);
    const channel = await shop.channel({ name: 'phone', kind: 'webhook', target: `http://127.0.0.1:${port}/hook` });
    await shop.enamel();
    await shop.pass('09:00', '14:00');
    await until(() => 'it was tried', async () => (await shop.view(channel.id)).failing_since_at, PATIENT);
    const [first, ...others] = await shop.told();
    await expect(shop.post(`/api/v1/notices/${first}/ack`, {}), 200);
    const receiver = await startReceiver(t, { port });
    await shop.delivered(channel.id);
    assert.deepEqual(receiver.got.map(({ body }) => JSON.parse(body).id).sort(), others.sort());
  });

  test('a courier that is killed in the middle: sent again, with the same id', async (t) => {
    let hang = true;
    const receiver = await startReceiver(t, { answer: (request, response) => { if (!hang) response.end(); } });
    const shop = await bench(t);
    const channel = await shop.channel({ name: 'phone', kind: 'webhook', target: `http://127.0.0.1:${receiver.port}/hook` });
    await shop.enamel();
    await shop.pass('09:00', '14:00');
    await until(() => 'one was sent', () => receiver.got.length > 0, PATIENT);
    hang = false;
    for (const pid of shop.children()) process.kill(pid, 'SIGKILL');
    await shop.delivered(channel.id);
    const [again] = idsOf(receiver);
    assert.ok(idsOf(receiver).filter((id) => id === again).length >= 2);
    assert.equal(new Set(idsOf(receiver)).size, (await shop.told()).length);
  });

  test('the service is killed while it sends: sent again after the next start, with the same id', async (t) => {
    let hang = true;
    const receiver = await startReceiver(t, { answer: (request, response) => { if (!hang) response.end(); } });
    const db = path.join(scratchFolder(t), 'shop.coat');
    const first = await startDaemon({ db, testClock: at('08:00') });
    t.after(() => first.stop('SIGKILL'));
    await expect(first.post('/api/v1/channels', { name: 'phone', kind: 'webhook', target: `http://127.0.0.1:${receiver.port}/hook` }), 201);
    const shed = await expect(first.post('/api/v1/places', { name: 'shed' }), 201);
    const piece = await expect(first.post('/api/v1/pieces', { name: 'fan blade', place: shed.id }), 201);
    const enamel = (await expect(first.get('/api/v1/materials'), 200)).items.find((one) => one.class === 'alkyd-enamel');
    await expect(first.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, place: shed.id }), 201); // and so somebody will leave the shop
    await expect(first.advance(at('09:00')), 200);
    await until(() => 'one was sent', () => receiver.got.length === 1, PATIENT);
    await first.stop('SIGKILL');
    hang = false;
    const second = await startDaemon({ db, testClock: at('09:00') });
    t.after(() => second.stop());
    await until(() => 'it was sent again', () => idsOf(receiver).filter((id) => id === idsOf(receiver)[0]).length === 2, PATIENT);
    await until(() => 'it is delivered', async () => (await expect(second.get('/api/v1/channels/1'), 200)).waiting === 0, PATIENT);
  });

  test('what was told by a clock that was set back is not sent before it is so', async (t) => {
    const folder = scratchFolder(t);
    const db = path.join(folder, 'shop.coat');
    const first = await startDaemon({ testClock: at('08:00'), db });
    const shed = await expect(first.post('/api/v1/places', { name: 'shed' }), 201);
    const air = (daemon) => expect(daemon.post(`/api/v1/places/${shed.id}/readings`, { temp_c: 20, rh_pct: 50 }), 200);
    const enamel = (await first.get('/api/v1/materials')).body.items.find((one) => one.builtin && one.class === 'alkyd-enamel');
    const enamelled = async (daemon, name) => {
      const piece = await expect(daemon.post('/api/v1/pieces', { name, place: shed.id }), 201);
      await expect(daemon.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, place: shed.id }), 201);
    };
    const script = `test -e ${folder}/open || exit 1; echo "$COAT_NOTICE_SUBJECT" >> ${folder}/told`;
    await air(first);
    await expect(first.post('/api/v1/channels', { name: 'bell', kind: 'command', argv: ['/bin/sh', '-c', script] }), 201);
    await enamelled(first, 'mill housing');
    for (const hour of ['09:00', '10:00', '11:00', '12:00', '13:00', '14:00']) {
      await expect(first.advance(at(hour)), 200);
      await air(first);
    }
    const touch = (await first.get('/api/v1/notices')).body.items.find((one) => one.stage === 'touch');
    assert.ok(touch.told_at);
    await first.stop();

    fs.writeFileSync(path.join(folder, 'open'), '');
    const told = () => (fs.existsSync(path.join(folder, 'told')) ? fs.readFileSync(path.join(folder, 'told'), 'utf8') : '');
    const second = await startDaemon({ testClock: at('08:10'), db });
    t.after(() => second.stop());
    await until(() => `what is about people comes at once\n${told()}`, () => /leave the shop/.test(told()), PATIENT);
    await expect(second.advance(touch.due_at), 200);
    const arrived = await until(() => `it is sent once it is so\n${told()}`, async () => {
      const { tries } = await expect(second.get(`/api/v1/notices/${touch.id}`), 200);
      return tries.find(({ delivered }) => delivered);
    }, PATIENT);
    assert.ok(arrived.at >= touch.due_at, `sent at ${arrived.at}, and it is so at ${touch.due_at}`);
    assert.match(told(), /leave the shop[^]*mill housing, touch/);
  });

  test('a channel is tried before it is entered', async (t) => {
    const receiver = await startReceiver(t, { answer: (request, response) => response.end('heard') });
    const shop = await bench(t);
    const tried = await expect(shop.post('/api/v1/channel-tests', { name: 'phone', kind: 'webhook', target: `http://127.0.0.1:${receiver.port}/hook` }), 202);
    const answer = await until(() => 'the end of the test', async () => {
      const now = await expect(shop.get(`/api/v1/channel-tests/${tried.id}`), 200);
      return now.done && now;
    }, PATIENT);
    assert.deepEqual([answer.delivered, answer.answer], [true, '200 OK: heard']);
    const [{ headers }] = receiver.got;
    assert.match(headers['coatwright-notice'], /^test-\d+@[0-9a-f]{8,}$/); // in the form of a notice's, and of a Message-ID
    assert.equal(headers['coatwright-signature'], undefined); // it has no key yet
    assert.equal((await expect(shop.get('/api/v1/channels'), 200)).items.length, 0);
  });
});
