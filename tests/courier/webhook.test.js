// Webhooks by the courier alone: what a receiver gets, and what is said of one that does not take it.
'use strict';
const assert = require('node:assert/strict');
const crypto = require('node:crypto');
const net = require('node:net');
const { describe, test } = require('node:test');
const { makeAuthority, makeCertificate } = require('./certificates.js');
const { freePort, listen, scratchFolder, startCourier } = require('./broker.js');
const { sendThrough, startReceiver } = require('./sinks.js');

const webhook = (t, url, more = {}) => startCourier(t, { open: 'webhook', url, plain: url.startsWith('http:'), ca_file: '', secret: 'a key of the shop', ...more });
const here = (port, path = '/hook') => `http://127.0.0.1:${port}${path}`;

describe('webhooks', { concurrency: 4 }, () => {
  test('a notice is posted as it is, with its id and a signature that verifies', async (t) => {
    const receiver = await startReceiver(t, { answer: (request, response) => response.end('thank\nyou') });
    const json = JSON.stringify({ id: 12, subject: 'Überzug: darf jetzt', sent_at: '2026-11-28T08:00:00Z' });
    const answer = await sendThrough(webhook(t, here(receiver.port, '/hook?room=shed')), { json });
    assert.equal(answer.sent, 'notice-12@0123456789abcdef');
    assert.equal(answer.answer, '200 OK: thank you');
    const [{ method, url, headers, body }] = receiver.got;
    assert.deepEqual([method, url, body], ['POST', '/hook?room=shed', json]);
    assert.equal(headers['content-type'], 'application/json');
    assert.equal(headers['coatwright-notice'], 'notice-12@0123456789abcdef');
    const hex = crypto.createHmac('sha256', 'a key of the shop').update(body).digest('hex');
    assert.equal(headers['coatwright-signature'], `hmac-sha256=${hex}`);
    assert.equal(headers.authorization, undefined);
  });

  test('any 2xx is delivered, and nothing else', async (t) => {
    let status = 0;
    const receiver = await startReceiver(t, { answer: (request, response) => { response.statusCode = status; response.end('x'.repeat(5000)); } });
    const courier = webhook(t, here(receiver.port));
    for (status of [200, 202, 204]) assert.ok((await sendThrough(courier)).sent, String(status));
    for (status of [400, 404, 410, 429, 500, 503]) {
      const { failed, answer } = await sendThrough(courier);
      assert.ok(failed && answer.startsWith(`${status} `), answer);
      assert.match(answer, /: x{200}$/); // the begin of what it said
    }
  });

  test('the status is the answer, whatever becomes of the body behind it', async (t) => {
    const bodies = {
      'Content-Length: 10\r\n\r\nabc': ': abc', // and then hangs up
      'Transfer-Encoding: chunked\r\n\r\n5\r\nab': ': ab',
      '\r\n': `: ${'x'.repeat(200)}`, // and has no end
    };
    for (const [status, outcome] of [['200 OK', 'sent'], ['500 Oh', 'failed']]) {
      for (const [rest, said] of Object.entries(bodies)) {
        const server = net.createServer((socket) => {
          const go = () => { while (!socket.destroyed && socket.write('x'.repeat(16384))); };
          socket.on('error', () => {});
          socket.once('data', () => {
            socket.write(`HTTP/1.1 ${status}\r\n${rest}`);
            if (rest === '\r\n') { socket.on('drain', go); go(); } else socket.end();
          });
        });
        const got = await sendThrough(webhook(t, here(await listen(server, t))));
        assert.ok(got[outcome], JSON.stringify(got));
        assert.equal(got.answer, `${status}${said}`);
      }
    }
  });

  test('nobody is followed elsewhere', async (t) => {
    const other = await startReceiver(t);
    const receiver = await startReceiver(t, { answer: (request, response) => { response.writeHead(307, { Location: here(other.port, '/other') }); response.end('x'.repeat(5000)); } });
    const { failed, answer } = await sendThrough(webhook(t, here(receiver.port)));
    assert.ok(failed);
    assert.match(answer, /^307 Temporary Redirect: it wants to have it sent to http:\/\/127\.0\.0\.1:\d+\/other; nothing is sent on by itself/);
    assert.equal(other.got.length, 0);
  });

  test('one that is not there, hangs up, or speaks something else says so plainly', async (t) => {
    const none = await freePort();
    assert.equal((await sendThrough(webhook(t, here(none)))).answer, `127.0.0.1:${none}: connection refused`);
    const silent = net.createServer((socket) => { socket.on('error', () => {}); socket.once('data', () => socket.end()); });
    const silentPort = await listen(silent, t);
    assert.equal((await sendThrough(webhook(t, here(silentPort)))).answer, `127.0.0.1:${silentPort}: it ended the connection without an answer`);
    const rude = net.createServer((socket) => { socket.on('error', () => {}); socket.once('data', () => socket.resetAndDestroy()); });
    const rudePort = await listen(rude, t);
    assert.equal((await sendThrough(webhook(t, here(rudePort)))).answer, `127.0.0.1:${rudePort}: it broke the connection off`);
    const mailer = net.createServer((socket) => { socket.on('error', () => {}); socket.end('220 mill.example ESMTP\r\n'); });
    const mailerPort = await listen(mailer, t);
    const { failed, answer } = await sendThrough(webhook(t, here(mailerPort)));
    assert.ok(failed && /it does not speak what it should|broke|without an answer/.test(answer), answer);
    const { answer: unknown } = await sendThrough(webhook(t, 'https://no-such-host.invalid/hook'));
    assert.equal(unknown, 'no-such-host.invalid: there is no host of that name, or no way to ask for it');
  });

  test('one that never answers is given up after half a minute', async (t) => {
    const receiver = await startReceiver(t, { answer: () => {} });
    const { failed, answer } = await sendThrough(webhook(t, here(receiver.port)));
    assert.ok(failed);
    assert.match(answer, /no answer in time \(10 s to connect, 30 s in all\)/);
  });

  test('without TLS nothing goes to another machine, whatever its name says', async (t) => {
    const { failed, answer } = await sendThrough(webhook(t, 'http://192.0.2.1/hook', { plain: true }));
    assert.ok(failed);
    assert.match(answer, /that is not this machine, and without TLS nothing is sent to another one/);
    const receiver = await startReceiver(t);
    const { failed: unsafe } = await sendThrough(webhook(t, here(receiver.port), { plain: false })); // http where https was meant
    assert.ok(unsafe);
    assert.equal(receiver.got.length, 0);
  });

  test('a certificate is checked: who signed it, for whom, until when', async (t) => {
    const folder = scratchFolder(t);
    const ours = makeAuthority(folder, 'ours');
    const theirs = makeAuthority(folder, 'theirs');
    const good = makeCertificate(folder, ours, 'good', 'IP:127.0.0.1');
    const receiver = await startReceiver(t, { secure: good });
    const url = `https://127.0.0.1:${receiver.port}/hook`;
    assert.ok((await sendThrough(webhook(t, url, { ca_file: ours.cert }))).sent);
    assert.equal((await sendThrough(webhook(t, url, { ca_file: theirs.cert }))).answer,
      `127.0.0.1:${receiver.port}: its certificate is not trusted: the authorities in the given file did not sign it, or it is not valid today`);
    assert.match((await sendThrough(webhook(t, url))).answer, /its certificate is not trusted: the authorities that this system trusts did not sign it/);
    assert.match((await sendThrough(webhook(t, url, { ca_file: `${folder}/none.pem` }))).answer, /the given file of authorities cannot be read/);
    const other = await startReceiver(t, { secure: makeCertificate(folder, ours, 'other', 'DNS:mill.example') });
    assert.match((await sendThrough(webhook(t, `https://127.0.0.1:${other.port}/`, { ca_file: ours.cert }))).answer, /it is made for another host/);
    const old = await startReceiver(t, { secure: makeCertificate(folder, ours, 'old', 'IP:127.0.0.1', -1) });
    assert.match((await sendThrough(webhook(t, `https://127.0.0.1:${old.port}/`, { ca_file: ours.cert }))).answer, /its certificate is not trusted: .*it is not valid today$/);
    const plain = await startReceiver(t);
    assert.match((await sendThrough(webhook(t, `https://127.0.0.1:${plain.port}/`, { ca_file: ours.cert }))).answer, /no TLS there|it broke the connection off/);
    assert.deepEqual([receiver.got.length, other.got.length, old.got.length, plain.got.length], [1, 0, 0, 0]);
  });

  test('a courier goes when coatd does, in the middle of waiting as well', async (t) => {
    const receiver = await startReceiver(t, { answer: () => {} });
    const courier = webhook(t, here(receiver.port));
    courier.send({ send: 'notice-1@a', subject: 's', text: 't', json: '{}' });
    while (receiver.got.length === 0) await new Promise((resolve) => { setTimeout(resolve, 20); });
    const begin = Date.now();
    courier.hangUp();
    await courier.ended;
    assert.ok(Date.now() - begin < 20000); // and not after half a minute
    assert.equal(courier.log(), '');
  });

  test('one that has no key yet is tried without a signature', async (t) => {
    const receiver = await startReceiver(t);
    assert.ok((await sendThrough(webhook(t, here(receiver.port), { secret: '' }))).sent);
    assert.equal(receiver.got[0].headers['coatwright-signature'], undefined);
  });

  test('a line that says nothing ends it, and an open line without an address does', async (t) => {
    const receiver = await startReceiver(t);
    const courier = webhook(t, here(receiver.port));
    courier.send({ hello: 1 });
    assert.equal((await courier.ended).code, 0);
    assert.equal((await webhook(t, '').ended).code, 1);
  });
});
