// The courier alone: lines on its socket, a real broker on the other side.
'use strict';
const assert = require('node:assert/strict');
const { spawn } = require('node:child_process');
const fs = require('node:fs');
const net = require('node:net');
const path = require('node:path');
const { describe, test } = require('node:test');
const { makeAuthority, makeCertificate } = require('./certificates.js');
const { COURIER, freePort, listen, publish, scratchFolder, sleep, startBroker, startCourier, startFakeBroker, until } = require('./broker.js');

const isState = (state) => (line) => line.state === state;
const isTopic = (topic) => (line) => line.topic === topic;
const states = (courier) => courier.lines.filter((line) => line.state).map(({ state, why }) => (why ? `${state}: ${why}` : state));

async function connected(t, open) {
  const courier = startCourier(t, open);
  await courier.wait(isState('connected'));
  return courier;
}

// An added topic is listened to once its retained message came.
async function listenTo(courier, port, topic, who) {
  await publish(port, [[topic, 'first', true]], who);
  courier.send({ add: topic });
  await courier.wait(isTopic(topic));
}

describe('the courier', { concurrency: 4 }, () => {
  describe('messages', { concurrency: 4 }, () => {
    test('what a topic publishes arrives as it is', async (t) => {
      const { port } = await startBroker(t);
      const courier = await connected(t, { port });
      await listenTo(courier, port, 'shed/air');
      for (const payload of ['18.2', '{"t": 18.2,\n\t"rh": "6\\"1"}', 'é 21,5 °C', '', '\u0001']) {
        await publish(port, [['shed/air', payload]]);
        assert.equal((await courier.wait(isTopic('shed/air'))).payload, payload);
      }
    });

    test('a retained message comes as soon as its topic is added, and only topics that were added come', async (t) => {
      const { port } = await startBroker(t);
      await publish(port, [['shed/air', '17.5', true], ['loft/air', '25', true]]);
      const courier = startCourier(t, { port });
      courier.send({ add: 'shed/air' }); // before there is a connection
      assert.equal((await courier.wait(isTopic('shed/air'))).payload, '17.5');
      await publish(port, [['loft/air', '26'], ['shed/air/deep', '1'], ['shed/air', '18']]);
      assert.equal((await courier.wait(isTopic('shed/air'))).payload, '18');
      assert.ok(courier.lines.every(({ topic }) => topic === undefined || topic === 'shed/air'));
    });

    test('a topic that was dropped is silent', async (t) => {
      const { port } = await startBroker(t);
      const courier = await connected(t, { port });
      await listenTo(courier, port, 'shed/air');
      await listenTo(courier, port, 'loft/air');
      courier.send({ drop: 'shed/air' });
      await listenTo(courier, port, 'cellar/air'); // the broker has taken the line before, too
      await publish(port, [['shed/air', '18'], ['loft/air', '26']]);
      assert.equal((await courier.wait(isTopic('loft/air'))).payload, '26');
      assert.equal(courier.lines.filter(isTopic('shed/air')).length, 1);
    });

    test('what is no text, or too long, comes as null, and the next message is heard', async (t) => {
      const { port } = await startBroker(t);
      const courier = await connected(t, { port });
      await listenTo(courier, port, 'shed/air');
      const junk = [Buffer.from([0xff, 0xfe]), Buffer.from([0xc0, 0xaf]), Buffer.from([0xed, 0xa0, 0x80]), Buffer.from('1\u00008'), Buffer.from([0xe2, 0x82]),
        Buffer.alloc(65536, 'x'), Buffer.alloc(1 << 20, 'x'), Buffer.alloc(20000, 1)]; // the last is short, but not as JSON
      for (const payload of junk) {
        await publish(port, [['shed/air', payload]]);
        assert.equal((await courier.wait(isTopic('shed/air'))).payload, null);
      }
      await publish(port, [['shed/air', Buffer.alloc(65000, 'x')]]);
      assert.equal((await courier.wait(isTopic('shed/air'))).payload.length, 65000);
      assert.deepEqual(states(courier), ['connected']);
    });

    test('a flood of 5,000 messages arrives whole and in order', async (t) => {
      const { port } = await startBroker(t);
      const courier = await connected(t, { port });
      await listenTo(courier, port, 'shed/air');
      const begin = Date.now();
      await publish(port, Array.from({ length: 5000 }, (_, i) => ['shed/air', `{"n":${i},"t":18.2}`]));
      await courier.wait(({ payload }) => payload === '{"n":4999,"t":18.2}', 20000);
      t.diagnostic(`${Date.now() - begin} ms`);
      assert.deepEqual(courier.lines.filter(({ payload }) => /"n"/.test(payload)).map(({ payload }) => JSON.parse(payload).n), [...Array(5000).keys()]);
    });

    test('thousands of topics', async (t) => {
      const { port } = await startBroker(t);
      const courier = await connected(t, { port });
      for (let i = 0; i < 4096; i++) courier.send({ add: `shed/${i}` });
      courier.send({ add: 'one/too/many' });
      assert.equal((await courier.wait((line) => line.refused)).refused, 'one/too/many');
      await publish(port, [['shed/0', '1', true], ['shed/4095', '2', true]]);
      await courier.wait(isTopic('shed/4095'));
    });
  });

  describe('brokers that come, go and refuse', { concurrency: 6 }, () => {
    test('nobody there: told once, and tried less and less often', async (t) => {
      const tries = [];
      const server = net.createServer((socket) => { tries.push(Date.now()); socket.destroy(); });
      const port = await listen(server, t);
      const courier = startCourier(t, { port });
      await until(() => `four tries, not ${tries.length}`, () => tries.length >= 4, 12000);
      const waits = tries.slice(1).map((at, i) => at - tries[i]);
      t.diagnostic(`waited ${waits.join(', ')} ms`);
      [1000, 2000, 4000].forEach((longest, i) => {
        assert.ok(waits[i] >= 0.6 * longest && waits[i] <= longest + 1500, `try ${i + 2} came after ${waits[i]} ms`);
      });
      assert.deepEqual(states(courier), ['down: it ended the connection at once; if it wants TLS, write mqtts://']);
    });

    test('a broker that ends and comes back', async (t) => {
      const broker = await startBroker(t);
      const courier = await connected(t, { port: broker.port });
      await listenTo(courier, broker.port, 'shed/air');
      await broker.stop();
      await courier.wait(isState('down'));
      await sleep(2500); // two tries in vain
      await startBroker(t, { port: broker.port });
      await courier.wait(isState('connected'), 10000);
      assert.deepEqual(states(courier), ['connected', 'down: it ended the connection', 'down: connection refused', 'connected']);
      await publish(broker.port, [['shed/air', '19', true]]);
      assert.equal((await courier.wait(isTopic('shed/air'))).payload, '19');
    });

    test('a wrong password is refused and told, the right one goes', async (t) => {
      const { port } = await startBroker(t, { users: { mill: 'a "long" secret' } });
      const wrong = startCourier(t, { port, user: 'mill', password: 'guess' });
      const nobody = startCourier(t, { port });
      assert.equal((await wrong.wait(isState('down'))).why, 'user or password refused');
      assert.equal((await nobody.wait(isState('down'))).why, 'user or password refused');
      const right = await connected(t, { port, user: 'mill', password: 'a "long" secret' });
      await listenTo(right, port, 'shed/air', { user: 'mill', password: 'a "long" secret' });
      await sleep(1500);
      assert.equal(states(wrong).length, 1);
    });

    test('the password shows neither in the process list nor in what it logs', async (t) => {
      const { port } = await startBroker(t, { users: { mill: 'open-sesame' } });
      const courier = await connected(t, { port, user: 'mill', password: 'open-sesame' });
      for (const file of ['cmdline', 'environ']) assert.ok(!fs.readFileSync(`/proc/${courier.pid}/${file}`, 'latin1').includes('sesame'));
      assert.match(fs.readFileSync(`/proc/${courier.pid}/limits`, 'utf8'), /Max core file size +0 +0 /);
      courier.send({ what: 'open-sesame' });
      await courier.ended;
      assert.ok(!courier.log().includes('sesame'));
    });

    test('a topic that the broker refuses', async (t) => {
      const { port } = await startFakeBroker(t, (socket, type, body) => {
        if (type === 8) socket.write(Buffer.from([0x90, 3, body[0], body[1], body.includes('loft/air') ? 0x80 : 0]));
      });
      const courier = await connected(t, { port });
      courier.send({ add: 'shed/air' });
      courier.send({ add: 'loft/air' });
      assert.deepEqual(await courier.wait((line) => line.refused).then(({ refused }) => refused), 'loft/air');
      assert.equal(courier.lines.length, 2);
    });

    test('a steady connection that breaks and is back at once was never down', async (t) => {
      let greeted = 0;
      const broker = await startFakeBroker(t, (socket, type) => { if (type === 1) greeted += 1; });
      const courier = await connected(t, { port: broker.port });
      await sleep(10500);
      broker.hangUp();
      await until(() => 'a second connection', () => greeted === 2);
      await sleep(300);
      assert.deepEqual(states(courier), ['connected']);
      broker.hangUp(); // not steady yet
      assert.equal((await courier.wait(isState('down'))).why, 'it ended the connection');
      await courier.wait(isState('connected'));
    });

    test('a host that nobody knows', async (t) => {
      const courier = startCourier(t, { host: 'no-such-host.invalid', port: 1883 });
      const { why } = await courier.wait(isState('down'), 30000);
      assert.match(why, /^(Name or service not known|Temporary failure in name resolution)$/);
    });

    test('one that takes the connection and says nothing', async (t) => {
      const sockets = [];
      const port = await listen(net.createServer((socket) => sockets.push(socket)), t);
      t.after(() => sockets.forEach((socket) => socket.destroy()));
      const courier = startCourier(t, { port });
      const begin = Date.now();
      assert.equal((await courier.wait(isState('down'), 25000)).why, 'no answer');
      assert.ok(Date.now() - begin > 18000);
    });

    test('one that says what no broker says', async (t) => {
      const port = await listen(net.createServer((socket) => { socket.on('error', () => {}); socket.write('SSH-2.0-nonsense\r\n'.repeat(5000)); }), t);
      const courier = startCourier(t, { port });
      const { why } = await courier.wait(isState('down'), 25000);
      t.diagnostic(why);
      await sleep(1500);
      assert.ok(states(courier).length <= 2 && !states(courier).includes('connected'));
      courier.hangUp();
      assert.deepEqual(await courier.ended, { code: 0, signal: null });
    });
  });

  describe('TLS', { concurrency: 4 }, () => {
    async function shop(t, names = 'IP:127.0.0.1', days = 1) {
      const folder = scratchFolder(t);
      const authority = makeAuthority(folder, 'shop');
      const { port } = await startBroker(t, { tls: makeCertificate(folder, authority, 'broker', names, days) });
      return { folder, port, ca_file: authority.cert, tls: true };
    }

    test('a certificate of the given authority is trusted', async (t) => {
      const { port, ca_file, tls } = await shop(t);
      await connected(t, { port, ca_file, tls });
    });

    test('one of another authority is not', async (t) => {
      const { folder, port, tls } = await shop(t);
      const courier = startCourier(t, { port, tls, ca_file: makeAuthority(folder, 'other').cert });
      assert.equal((await courier.wait(isState('down'))).why,
        'its certificate is not trusted: the authorities in the given file did not sign it, or it is not valid today');
      await sleep(2500);
      assert.equal(states(courier).length, 1);
    });

    test('nor is one that the system does not know', async (t) => {
      const { port, tls } = await shop(t);
      const courier = startCourier(t, { port, tls });
      assert.match((await courier.wait(isState('down'))).why, /^its certificate is not trusted: the authorities that this system trusts did not/);
    });

    test('nor one made for another host', async (t) => {
      const { port, ca_file, tls } = await shop(t, 'DNS:broker.example');
      const courier = startCourier(t, { port, ca_file, tls });
      assert.equal((await courier.wait(isState('down'))).why, 'its certificate is not trusted: it is made for another host');
    });

    test('a file of authorities that is not there', async (t) => {
      const { folder, port, tls } = await shop(t);
      const courier = startCourier(t, { port, tls, ca_file: path.join(folder, 'none.pem') });
      assert.equal((await courier.wait(isState('down'))).why, 'the given file of authorities cannot be read');
    });

    test('TLS where there is none, and none where there is', async (t) => {
      const plain = await startBroker(t);
      const { port, ca_file, tls } = await shop(t);
      const eager = startCourier(t, { port: plain.port, tls, ca_file });
      const bare = startCourier(t, { port });
      const told = (await eager.wait(isState('down'))).why;
      t.diagnostic(told);
      assert.match(told, /^(no TLS there|it ended the connection at once$)/);
      assert.equal((await bare.wait(isState('down'))).why, 'it ended the connection at once; if it wants TLS, write mqtts://');
    });
  });

  describe('the end', { concurrency: 6 }, () => {
    // A listener that takes nobody: its queue is full, and the kernel drops who comes next.
    async function deafPort(t) {
      const code = 'const s = require("net").createServer(); s.listen({ port: 0, host: "127.0.0.1", backlog: 1 }, () => {'
        + 'require("fs").writeSync(1, String(s.address().port)); Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 40000); process.exit(); });';
      const child = spawn(process.execPath, ['-e', code], { stdio: ['ignore', 'pipe', 'inherit'] });
      t.after(() => child.kill('SIGKILL'));
      const port = Number(await new Promise((resolve) => { child.stdout.once('data', resolve); }));
      const fillers = Array.from({ length: 4 }, () => net.connect(port, '127.0.0.1').on('error', () => {}));
      t.after(() => fillers.forEach((socket) => socket.destroy()));
      await sleep(300);
      return port;
    }

    async function endsWithin(courier, limitMs) {
      const begin = Date.now();
      courier.hangUp();
      assert.deepEqual(await Promise.race([courier.ended, sleep(limitMs).then(() => 'it goes on')]), { code: 0, signal: null });
      return Date.now() - begin;
    }

    test('it ends with its socket: connected, between two tries, and before the first line', async (t) => {
      const { port } = await startBroker(t);
      await endsWithin(await connected(t, { port }), 1000);
      const waiting = startCourier(t, { port: await freePort() });
      assert.equal((await waiting.wait(isState('down'))).why, 'connection refused');
      await endsWithin(waiting, 1000);
      const idle = startCourier(t);
      await sleep(200);
      await endsWithin(idle, 1000);
    });

    test('it ends with its socket while a connection hangs', async (t) => {
      const courier = startCourier(t, { port: await deafPort(t) });
      await sleep(1500);
      assert.deepEqual(courier.lines, []);
      t.diagnostic(`after ${await endsWithin(courier, 2500)} ms`);
    });

    test('a connection that hangs is given up after ten seconds', async (t) => {
      const courier = startCourier(t, { port: await deafPort(t) });
      const begin = Date.now();
      assert.equal((await courier.wait(isState('down'), 15000)).why, 'no answer');
      assert.ok(Date.now() - begin > 8000, `${Date.now() - begin} ms`);
    });

    test('a first line that says nothing of use', async (t) => {
      for (const line of [{ open: 'pigeon' }, { what: 1 }, { open: 'mqtt', host: '', port: 1883 }, { open: 'mqtt', host: 'a', port: 0 }, { open: 'mqtt', host: 'a', port: 70000 }]) {
        const courier = startCourier(t);
        courier.send(line);
        assert.deepEqual(await courier.ended, { code: 1, signal: null }, JSON.stringify(line));
        assert.equal(courier.log(), 'coat-courier: the first line does not say what to do\n');
      }
    });

    test('a line that is not understood, or too long, ends it', async (t) => {
      const { port } = await startBroker(t);
      for (const line of ['{}', '[1]', 'no JSON', `{"add":"${'x'.repeat(65536)}"}`]) {
        const courier = await connected(t, { port });
        courier.sendText(`${line}\n`);
        assert.deepEqual(await courier.ended, { code: 0, signal: null }, line.slice(0, 20));
      }
    });

    test('it takes its work from a unix socket', async (t) => {
      const broker = await startBroker(t);
      const file = path.join(scratchFolder(t), 'courier.socket');
      let received = '';
      const server = net.createServer((socket) => {
        socket.on('error', () => {});
        socket.on('data', (chunk) => { received += chunk; });
        socket.write(`${JSON.stringify({ open: 'mqtt', host: '127.0.0.1', port: broker.port })}\n`);
        t.after(() => socket.destroy());
      });
      await new Promise((resolve) => { server.listen(file, resolve); });
      t.after(() => server.close());
      const child = spawn(COURIER, ['--connect', file], { stdio: 'ignore' });
      t.after(() => child.kill('SIGKILL'));
      await until(() => `connected\n${received}`, () => received === '{"state":"connected"}\n');
    });

    test('started by hand it says what it is for', async (t) => {
      const run = (args) => new Promise((resolve) => {
        const child = spawn(COURIER, args, { stdio: ['ignore', 'pipe', 'pipe'] });
        let out = '';
        for (const stream of [child.stdout, child.stderr]) stream.on('data', (chunk) => { out += chunk; });
        t.after(() => child.kill('SIGKILL'));
        child.on('close', (code) => resolve({ code, out }));
      });
      assert.match((await run([])).out, /no socket on descriptor 3: coatd starts this program/);
      assert.equal((await run([])).code, 1);
      assert.match((await run(['--help'])).out, /^usage: coat-courier/);
      assert.equal((await run(['--help'])).code, 0);
      assert.match((await run(['--version'])).out, /^coat-courier \d/);
      assert.equal((await run(['--loud'])).code, 2);
      assert.match((await run(['--connect', '/nonexistent/socket'])).out, /cannot connect to \/nonexistent\/socket: No such file/);
    });
  });
});
