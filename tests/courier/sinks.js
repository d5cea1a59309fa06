// Who gets notices, on loopback: a mail server, a receiver of webhooks, and how what they get is read. Everything ends with the test that began it.
'use strict';
const fs = require('node:fs');
const http = require('node:http');
const https = require('node:https');
const net = require('node:net');
const tls = require('node:tls');
const { listen, until } = require('./broker.js');

// ---- webhooks ----

// `answer` (request, response, body) does what it likes; what came is in `got`. tls: { cert, key } as files.
async function startReceiver(t, { answer = (request, response) => response.end(), secure, port } = {}) {
  const got = [];
  const take = (request, response) => {
    const chunks = [];
    request.on('data', (chunk) => chunks.push(chunk));
    request.on('error', () => {});
    request.on('end', () => {
      const body = Buffer.concat(chunks);
      got.push({ method: request.method, url: request.url, headers: request.headers, body: body.toString() });
      answer(request, response, body);
    });
  };
  const server = secure ? https.createServer({ cert: fs.readFileSync(secure.cert), key: fs.readFileSync(secure.key) }, take) : http.createServer(take);
  const sockets = new Set();
  server.on('connection', (socket) => { sockets.add(socket); socket.on('error', () => {}); socket.on('close', () => sockets.delete(socket)); });
  server.on('tlsClientError', () => {});
  const stop = () => new Promise((resolve) => { server.close(() => resolve()); sockets.forEach((socket) => socket.destroy()); });
  t.after(stop);
  if (port) await new Promise((resolve) => { server.listen(port, '127.0.0.1', resolve); });
  return { port: port || await listen(server), got, stop };
}

// ---- mail ----

// RFC 5321, as little of it as a client needs. users: { name: password }; secure: certificate for STARTTLS, or from the begin with `implicit`.
// answers: { 'RCPT TO': '550 …' } in place of what would be said to a line that begins so; a function gets the socket.
async function startMailServer(t, { users, secure, implicit = false, answers = {}, port } = {}) {
  const mails = [];
  const said = [];
  const sockets = new Set();
  const certificate = secure && { cert: fs.readFileSync(secure.cert), key: fs.readFileSync(secure.key) };

  const talk = (first) => {
    let socket = first;
    let secured = implicit;
    let rest = '';
    let mail = null;
    let body = null;
    let login = null;
    let who = null;
    const say = (line) => socket.write(`${line}\r\n`);
    const hello = (line) => {
      const offers = ['mill.example'];
      if (secure && !secured) offers.push('STARTTLS');
      if (users && (secured || !secure)) offers.push('AUTH PLAIN LOGIN');
      if (/^HELO/i.test(line)) say('250 mill.example');
      else offers.forEach((offer, i) => say(`250${i === offers.length - 1 ? ' ' : '-'}${offer}`));
    };
    const tryLogin = (name, password) => {
      const good = users[name] === password;
      if (good) who = name;
      say(good ? '235 2.7.0 welcome' : '535 5.7.8 authentication failed');
    };
    const takeLogin = (line) => {
      const word = Buffer.from(line, 'base64').toString();
      if (login === 'plain') { const [, name, password] = word.split('\0'); login = null; tryLogin(name, password); return; }
      if (login.name === undefined) { login.name = word; say('334 UGFzc3dvcmQ6'); return; }
      const { name } = login;
      login = null;
      tryLogin(name, word);
    };
    const secureNow = () => {
      say('220 2.0.0 go ahead');
      first.removeAllListeners('data');
      socket = new tls.TLSSocket(first, { isServer: true, ...certificate });
      socket.on('error', () => {});
      secured = true;
      socket.on('data', take);
    };
    const commands = [
      [/^(EHLO|HELO)/i, hello],
      [/^STARTTLS$/i, () => (secure && !secured ? secureNow() : say('502 5.5.1 no'))],
      [/^AUTH PLAIN (\S+)$/i, (line) => { login = 'plain'; takeLogin(line.split(' ')[2]); }],
      [/^AUTH PLAIN$/i, () => { login = 'plain'; say('334 '); }],
      [/^AUTH LOGIN$/i, () => { login = {}; say('334 VXNlcm5hbWU6'); }],
      [/^MAIL FROM:<([^>]*)>/i, (line, match) => {
        if (users && !who) { say('530 5.7.0 log in first'); return; }
        mail = { from: match[1], to: [], who, secured };
        say('250 2.1.0 ok');
      }],
      [/^RCPT TO:<([^>]*)>/i, (line, match) => { mail.to.push(match[1]); say('250 2.1.5 ok'); }],
      [/^DATA$/i, () => { body = []; say('354 end with a dot'); }],
      [/^QUIT$/i, () => { say('221 2.0.0 bye'); socket.end(); }],
      [/./, () => say('500 5.5.2 what?')],
    ];
    const takeLine = (line) => {
      if (body) {
        if (line !== '.') { body.push(line.replace(/^\./, '')); return; }
        mails.push({ ...mail, raw: body.map((part) => `${part}\r\n`).join('') });
        body = null;
        const own = Object.keys(answers).find((key) => key === '.');
        if (typeof answers[own] === 'function') { answers[own](socket, mails.length); return; }
        say(own ? answers[own] : `250 2.0.0 queued as ${mails.length}`);
        return;
      }
      if (login) { takeLogin(line); return; }
      said.push(line);
      const own = Object.keys(answers).find((key) => line.toUpperCase().startsWith(key));
      if (own) {
        if (typeof answers[own] === 'function') answers[own](socket);
        else say(answers[own]);
        return;
      }
      const [pattern, act] = commands.find(([fits]) => fits.test(line));
      act(line, pattern.exec(line));
    };
    function take(chunk) {
      const parts = (rest + chunk.toString('latin1')).split('\r\n');
      rest = parts.pop();
      parts.forEach(takeLine);
    }
    socket.on('data', take);
    if (answers.greeting === null) return; // says nothing at all
    say(answers.greeting || '220 mill.example ESMTP');
  };

  const server = implicit ? tls.createServer(certificate, talk) : net.createServer(talk);
  const keep = (socket) => { sockets.add(socket); socket.on('error', () => {}); socket.on('close', () => sockets.delete(socket)); };
  server.on('connection', keep);
  if (implicit) server.on('secureConnection', keep);
  server.on('tlsClientError', () => {});
  const stop = () => new Promise((resolve) => { server.close(() => resolve()); sockets.forEach((socket) => socket.destroy()); });
  t.after(stop);
  if (port) await new Promise((resolve) => { server.listen(port, '127.0.0.1', resolve); });
  return { port: port || await listen(server), mails, said, stop };
}

// ---- a mail, read again ----

function decodeWords(value) { // RFC 2047; blanks between two encoded words are nothing
  return value.replace(/(=\?[^?]+\?[bq]\?[^?]*\?=)\s+(?==\?)/gi, '$1')
    .replace(/=\?utf-8\?b\?([^?]*)\?=/gi, (_, text) => Buffer.from(text, 'base64').toString());
}

function decodeQuoted(text) { // RFC 2045 section 6.7
  const bytes = text.replace(/[ \t]+(?=\r\n|$)/g, '').replace(/=\r\n/g, '').replace(/=([0-9A-F]{2})/g, (_, hex) => String.fromCharCode(parseInt(hex, 16)));
  return Buffer.from(bytes, 'latin1').toString();
}

// { headers: [[name, value]], subject, text }: headers in their order, unfolded.
function readMail(raw) {
  const stop = raw.indexOf('\r\n\r\n');
  const headers = raw.slice(0, stop).replace(/\r\n[ \t]+/g, ' ').split('\r\n').map((line) => {
    const colon = line.indexOf(':');
    return [line.slice(0, colon), line.slice(colon + 1).trim()];
  });
  const header = (name) => headers.filter(([key]) => key.toLowerCase() === name.toLowerCase()).map(([, value]) => value);
  return { headers, header, subject: decodeWords(header('Subject')[0]), text: decodeQuoted(raw.slice(stop + 4)) };
}

const outcome = (line) => line.sent !== undefined || line.failed !== undefined;

// Sends a notice through a courier alone and gives its answer: { sent or failed, answer }.
function sendThrough(courier, { id = 'notice-12@0123456789abcdef', subject = 'Mill housing: may be done now', text = 'It is open.\n', json = '{"id":12}' } = {}) {
  courier.send({ send: id, subject, text, json });
  return courier.wait(outcome, 70000);
}

module.exports = { startReceiver, startMailServer, readMail, sendThrough, until };
