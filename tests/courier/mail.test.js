// Mail by the courier alone, against a mail server on loopback.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const { describe, test } = require('node:test');
const { makeAuthority, makeCertificate } = require('./certificates.js');
const { freePort, scratchFolder, startCourier } = require('./broker.js');
const { readMail, sendThrough, startMailServer, until } = require('./sinks.js');

const mail = (t, port, more = {}) => startCourier(t, {
  open: 'mail', url: `smtp://127.0.0.1:${port}`, plain: true, ca_file: '', user: '', password: '', from: 'shop@example.org', to: 'me@example.org', ...more,
});

function authority(t) {
  const folder = scratchFolder(t);
  const ours = makeAuthority(folder, 'ours');
  return { folder, ours, cert: makeCertificate(folder, ours, 'mail', 'IP:127.0.0.1') };
}

describe('mail', { concurrency: 4 }, () => {
  test('a notice arrives as a mail that any program can read', async (t) => {
    const server = await startMailServer(t);
    const text = 'Mill housing, coat 7: may be done now.\nKeep flames away = no exceptions.\n.\nFrom 08:00 on.\n  18 °C, 60 % \nhttps://shop.example:8262/ack?n=12&c=1&s=abc=def\n'
      + `${'a long line '.repeat(20)}\n`;
    const answer = await sendThrough(mail(t, server.port, { to: 'me@example.org, you+shop@example.org' }), { text });
    assert.equal(answer.sent, 'notice-12@0123456789abcdef');
    assert.equal(answer.answer, '250 2.0.0 queued as 1');
    const [got] = server.mails;
    assert.deepEqual([got.from, got.to], ['shop@example.org', ['me@example.org', 'you+shop@example.org']]);
    const read = readMail(got.raw);
    assert.equal(read.text.replace(/\r\n/g, '\n'), text);
    assert.equal(read.subject, 'Mill housing: may be done now');
    assert.deepEqual(read.headers.map(([name]) => name), ['Date', 'From', 'To', 'Subject', 'Message-ID', 'Auto-Submitted', 'MIME-Version', 'Content-Type', 'Content-Transfer-Encoding']);
    assert.equal(read.header('From')[0], '<shop@example.org>');
    assert.equal(read.header('To')[0], '<me@example.org>, <you+shop@example.org>');
    assert.equal(read.header('Message-ID')[0], '<notice-12@0123456789abcdef>');
    assert.equal(read.header('Auto-Submitted')[0], 'auto-generated');
    assert.ok(Math.abs(Date.parse(read.header('Date')[0]) - Date.now()) < 120000, read.header('Date')[0]);
    assert.ok(got.raw.split('\r\n').every((line) => line.length <= 78 && !/[^\x20-\x7e]/.test(line)), got.raw);
  });

  test('a subject beyond ASCII decodes to what it was, in words of at most 75 characters', async (t) => {
    const server = await startMailServer(t);
    const courier = mail(t, server.port);
    const subjects = ['Mühle: Überzug darf jetzt gemacht werden, Frist bis 18:00', '漆'.repeat(50), '=?UTF-8?B?QQ==?= is no word of ours', `${'x'.repeat(41)}ü${'y'.repeat(60)}`, '🔧 fan'];
    for (const subject of subjects) await sendThrough(courier, { subject });
    assert.deepEqual(server.mails.map(({ raw }) => readMail(raw).subject), subjects);
    for (const { raw } of server.mails) {
      for (const word of raw.match(/=\?UTF-8\?B\?[^?]*\?=/g) || []) {
        assert.ok(word.length <= 75);
        assert.doesNotMatch(Buffer.from(word.slice(10, -2), 'base64').toString(), /\ufffd/); // whole characters in each
      }
    }
  });

  test('no text adds a header, a line or a receiver', async (t) => {
    const server = await startMailServer(t);
    const courier = mail(t, server.port);
    const tricks = { subject: 'open\r\nBcc: all@example.org\r\n\r\nbody', id: 'notice-1@a>\r\nX-Own: 1', text: 'x\r\n.\r\nMAIL FROM:<a@b>\r\nRCPT TO:<all@example.org>\nDATA\n.\n' };
    await sendThrough(courier, tricks);
    await sendThrough(courier, { subject: 'bare\nBcc: all@example.org\rX: y\u0000' });
    assert.equal(server.mails.length, 2);
    for (const { raw, to } of server.mails) {
      const read = readMail(raw);
      assert.deepEqual(to, ['me@example.org']);
      assert.equal(read.headers.length, 9);
      assert.deepEqual([...read.header('Bcc'), ...read.header('X-Own'), ...read.header('X')], []);
      assert.doesNotMatch(read.subject, /[\x00-\x1f\x7f]/); // nor when it is decoded
    }
    assert.equal(readMail(server.mails[0].raw).text, tricks.text.replace(/\r\n/g, '\n').replace(/\n/g, '\r\n'));
    assert.ok(!server.said.some((line) => /all@/.test(line)));
  });

  test('addresses that are none are not even opened', async (t) => {
    const server = await startMailServer(t);
    for (const more of [{ from: 'shop@example.org>\r\nRCPT TO:<all@example.org' }, { to: 'me@example.org\nBcc: x@y' }, { to: 'm <x@y>' }, { from: '' }, { to: '' }]) {
      assert.equal((await mail(t, server.port, more).ended).code, 1, JSON.stringify(more));
    }
    assert.equal(server.said.length, 0);
  });

  test('STARTTLS and a login, with the password on nothing but TLS', async (t) => {
    const { ours, cert } = authority(t);
    const server = await startMailServer(t, { secure: cert, users: { shop: 'pass word' } });
    const account = { plain: false, ca_file: ours.cert, user: 'shop', password: 'pass word' };
    assert.ok((await sendThrough(mail(t, server.port, account))).sent);
    assert.deepEqual([server.mails[0].who, server.mails[0].secured], ['shop', true]);
    const { failed, answer } = await sendThrough(mail(t, server.port, { ...account, password: 'wrong' }));
    assert.ok(failed);
    assert.equal(answer, `127.0.0.1:${server.port}: user or password refused: 535 5.7.8 authentication failed`);
    const first = server.said.indexOf('STARTTLS');
    assert.ok(first >= 0 && !server.said.slice(0, first).some((line) => /AUTH|MAIL/.test(line)));
  });

  test('TLS from the begin', async (t) => {
    const { folder, ours, cert } = authority(t);
    const theirs = makeAuthority(folder, 'theirs');
    const server = await startMailServer(t, { secure: cert, implicit: true });
    const url = `smtps://127.0.0.1:${server.port}`;
    assert.ok((await sendThrough(mail(t, server.port, { url, plain: false, ca_file: ours.cert }))).sent);
    const { failed, answer } = await sendThrough(mail(t, server.port, { url, plain: false, ca_file: theirs.cert }));
    assert.ok(failed);
    assert.match(answer, /its certificate is not trusted: the authorities in the given file did not sign it, or it is not valid today/);
    assert.equal(server.mails.length, 1);
  });

  test('a server that offers no STARTTLS gets nothing, nor one whose certificate is not trusted', async (t) => {
    const { ours, folder } = authority(t);
    const server = await startMailServer(t, { users: { shop: 'pw' } });
    const { failed, answer } = await sendThrough(mail(t, server.port, { plain: false, ca_file: ours.cert, user: 'shop', password: 'pw' }));
    assert.ok(failed);
    assert.match(answer, /it offers no STARTTLS, and without TLS nothing is sent to it/);
    assert.ok(!server.said.some((line) => /AUTH|MAIL/.test(line)));
    const other = await startMailServer(t, { secure: makeCertificate(folder, ours, 'other', 'DNS:mill.example') });
    assert.match((await sendThrough(mail(t, other.port, { plain: false, ca_file: ours.cert }))).answer, /it is made for another host/);
    assert.deepEqual([server.mails.length, other.mails.length], [0, 0]);
  });

  test('to this machine plain mail is good enough, also where it offers a certificate that nobody signed', async (t) => {
    const { cert } = authority(t);
    const server = await startMailServer(t, { secure: cert });
    assert.ok((await sendThrough(mail(t, server.port))).sent);
    assert.equal(server.mails[0].secured, false);
  });

  test('what a server refuses, it says itself', async (t) => {
    const cases = [['RCPT TO', '550 5.1.1 no such user'], ['MAIL FROM', '451 4.3.0 later'], ['DATA', '554 5.7.1 not from you'], ['.', '552 5.3.4 too large'], ['greeting', '554 5.0.0 go away']];
    for (const [when, what] of cases) {
      const server = await startMailServer(t, { answers: { [when]: what } });
      const { failed, answer } = await sendThrough(mail(t, server.port));
      assert.ok(failed);
      assert.equal(answer, `127.0.0.1:${server.port} refuses it: ${what}`);
    }
    const wordy = await startMailServer(t, { answers: { 'RCPT TO': '550-5.7.1 your machine is on a list\r\n550 5.7.1 ask the postmaster' } });
    assert.match((await sendThrough(mail(t, wordy.port))).answer, /refuses it: 550 5\.7\.1 your machine is on a list 5\.7\.1 ask the postmaster$/);
    const strict = await startMailServer(t, { users: { shop: 'pw' } });
    assert.match((await sendThrough(mail(t, strict.port))).answer, /refuses it: 530 5\.7\.0 log in first/);
  });

  test('a server that is gone, or hangs up before it said that it has the mail', async (t) => {
    const none = await freePort();
    assert.equal((await sendThrough(mail(t, none))).answer, `127.0.0.1:${none}: connection refused`);
    const server = await startMailServer(t, { answers: { '.': (socket) => socket.destroy() } });
    const { failed, answer } = await sendThrough(mail(t, server.port));
    assert.ok(failed);
    assert.match(answer, /it broke the connection off|without an answer/);
  });

  test('a server that has all of the mail may take its time to say so; before that it may not', async (t) => {
    const slow = await startMailServer(t, { answers: { '.': (socket) => { setTimeout(() => socket.write('250 2.0.0 queued at last\r\n'), 3500); } } });
    const silent = await startMailServer(t, { answers: { greeting: null } });
    const stuck = await startMailServer(t, { answers: { 'RCPT TO': () => {} } });
    const [taken, ...others] = await Promise.all([slow, silent, stuck].map(({ port }) => sendThrough(mail(t, port, { limit_s: 2 }))));
    assert.deepEqual([taken.sent !== undefined, taken.answer], [true, '250 2.0.0 queued at last']);
    assert.deepEqual(others.map(({ answer }) => answer), [silent, stuck].map(({ port }) => `127.0.0.1:${port}: no answer in time (10 s to connect, 2 s in all)`));
  });

  test('a server that has the mail and never says goodbye is not waited for', async (t) => {
    const server = await startMailServer(t, { answers: { QUIT: () => {} } });
    const begin = Date.now();
    assert.equal((await sendThrough(mail(t, server.port))).answer, '250 2.0.0 queued as 1');
    assert.ok(Date.now() - begin < 20000); // and not for minutes
    await until(() => 'it was told goodbye', () => server.said.includes('QUIT'), 10000);
  });

  test('neither arguments nor environment nor anything it prints has the password', async (t) => {
    const { ours, cert } = authority(t);
    const server = await startMailServer(t, { secure: cert, users: { shop: 'h1dden' } });
    const courier = mail(t, server.port, { plain: false, ca_file: ours.cert, user: 'shop', password: 'h1dden' });
    assert.ok((await sendThrough(courier)).sent);
    for (const file of ['cmdline', 'environ']) assert.doesNotMatch(fs.readFileSync(`/proc/${courier.pid}/${file}`, 'utf8'), /h1dden/);
    assert.doesNotMatch(courier.log() + JSON.stringify(courier.lines), /h1dden/);
  });
});
