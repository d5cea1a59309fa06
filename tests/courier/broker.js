// A real broker on loopback, a publisher of a few packets, and programs that speak JSON lines. Everything ends with the test that began it.
'use strict';
const { execFileSync, spawn } = require('node:child_process');
const fs = require('node:fs');
const net = require('node:net');
const os = require('node:os');
const path = require('node:path');

const BUILD = path.resolve(__dirname, process.env.COAT_BUILD || '../../build');
const COURIER = path.join(BUILD, 'coat-courier');
const MOSQUITTO = ['/usr/sbin/mosquitto', '/usr/local/sbin/mosquitto'].find((file) => fs.existsSync(file)) || 'mosquitto';

const sleep = (ms) => new Promise((resolve) => { setTimeout(resolve, ms); });

function scratchFolder(t) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-courier-'));
  t.after(() => fs.rmSync(folder, { recursive: true, force: true }));
  return folder;
}

function listen(server, t) {
  return new Promise((resolve) => {
    server.listen(0, '127.0.0.1', () => resolve(server.address().port));
    if (t) t.after(() => server.close());
  });
}

async function freePort() {
  const server = net.createServer();
  const port = await listen(server);
  await new Promise((resolve) => { server.close(resolve); });
  return port;
}

async function until(what, condition, limitMs = 8000) {
  const end = Date.now() + limitMs;
  for (;;) {
    const found = await condition();
    if (found) return found;
    if (Date.now() > end) throw new Error(`not within ${limitMs} ms: ${what()}`);
    await sleep(20);
  }
}

function answers(port) {
  return new Promise((resolve) => {
    const socket = net.connect(port, '127.0.0.1');
    socket.on('connect', () => { socket.destroy(); resolve(true); });
    socket.on('error', () => resolve(false));
  });
}

// ---- the broker ----

// options: port; users { name: password }; acl (text); tls { cert, key }.
async function startBroker(t, options = {}) {
  const folder = scratchFolder(t);
  const port = options.port || await freePort();
  const lines = ['persistence false', 'log_dest stderr', 'max_queued_messages 0', `listener ${port} 127.0.0.1`,
    `allow_anonymous ${!options.users}`];
  if (process.getuid() === 0) lines.unshift('user root'); // it could not read the folder as anybody else
  if (options.users) {
    const file = path.join(folder, 'passwords');
    fs.writeFileSync(file, Object.entries(options.users).map(([user, password]) => `${user}:${password}\n`).join(''));
    execFileSync('mosquitto_passwd', ['-U', file]);
    lines.push(`password_file ${file}`);
  }
  if (options.acl) {
    fs.writeFileSync(path.join(folder, 'acl'), options.acl);
    lines.push(`acl_file ${path.join(folder, 'acl')}`);
  }
  if (options.tls) lines.push(`certfile ${options.tls.cert}`, `keyfile ${options.tls.key}`);
  fs.writeFileSync(path.join(folder, 'broker.conf'), `${lines.join('\n')}\n`);
  const child = spawn(MOSQUITTO, ['-c', path.join(folder, 'broker.conf')], { stdio: ['ignore', 'ignore', 'pipe'] });
  let log = '';
  child.stderr.on('data', (chunk) => { log += chunk; });
  const ended = new Promise((resolve) => { child.on('close', resolve); child.on('error', resolve); });
  const stop = async () => {
    if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL');
    await ended;
  };
  t.after(stop);
  await until(() => `the broker answers\n${log}`, () => answers(port));
  return { port, stop, log: () => log };
}

// ---- a publisher: CONNECT, PUBLISH with QoS 0, and PINGREQ to hear that the broker has them all ----

function remainingLength(length) {
  const bytes = [];
  do {
    bytes.push((length % 128) | (length > 127 ? 128 : 0));
    length = Math.floor(length / 128);
  } while (length > 0);
  return Buffer.from(bytes);
}

const packet = (first, body) => Buffer.concat([Buffer.from([first]), remainingLength(body.length), body]);

function text(value) {
  const bytes = Buffer.from(value);
  return Buffer.concat([Buffer.from([bytes.length >> 8, bytes.length & 255]), bytes]);
}

function connectPacket({ user, password } = {}) {
  const flags = 0x02 | (user ? 0xc0 : 0);
  const who = user ? [text(user), text(password)] : [];
  return packet(0x10, Buffer.concat([text('MQTT'), Buffer.from([4, flags, 0, 60]), text(`test-${process.pid}-${Math.random()}`.slice(0, 23)), ...who]));
}

// messages: [topic, payload (text or Buffer), retain].
function publish(port, messages, who) {
  return new Promise((resolve, reject) => {
    const socket = net.connect(port, '127.0.0.1');
    let got = Buffer.alloc(0);
    let greeted = false;
    socket.setTimeout(10000, () => socket.destroy(new Error('the broker does not take what is published')));
    socket.on('error', reject);
    socket.on('connect', () => socket.write(connectPacket(who)));
    socket.on('data', (chunk) => {
      got = Buffer.concat([got, chunk]);
      if (!greeted && got.length >= 4) {
        greeted = true;
        if (got[3] !== 0) { socket.destroy(new Error(`the broker refused the publisher: ${got[3]}`)); return; }
        for (const [topic, payload, retain] of messages) {
          socket.write(packet(retain ? 0x31 : 0x30, Buffer.concat([text(topic), Buffer.from(payload)])));
        }
        socket.write(Buffer.from([0xc0, 0]));
      }
      if (greeted && got.length >= 6) {
        socket.end(Buffer.from([0xe0, 0]));
        resolve();
      }
    });
  });
}

// A broker that says what a real one says seldom: it greets everybody, or as `greet` says, and `hear` (socket, packet type, body) does the rest.
async function startFakeBroker(t, hear, { greet = () => [0x20, 2, 0, 0] } = {}) {
  const sockets = new Set();
  const server = net.createServer((socket) => {
    let got = Buffer.alloc(0);
    sockets.add(socket);
    socket.on('error', () => {});
    socket.on('close', () => sockets.delete(socket));
    socket.on('data', (chunk) => {
      got = Buffer.concat([got, chunk]);
      while (got.length >= 2 && got.length >= 2 + got[1]) { // short packets only
        const type = got[0] >> 4;
        if (type === 1) socket.write(Buffer.from(greet(got.subarray(2, 2 + got[1]))));
        hear(socket, type, got.subarray(2, 2 + got[1]));
        got = got.subarray(2 + got[1]);
      }
    });
  });
  const hangUp = () => sockets.forEach((socket) => socket.destroy());
  t.after(hangUp);
  return { port: await listen(server, t), hangUp };
}

// ---- programs that speak JSON lines ----

function collect(stream, lines) {
  let rest = '';
  stream.setEncoding('utf8');
  stream.on('error', () => {});
  stream.on('data', (chunk) => {
    const parts = (rest + chunk).split('\n');
    rest = parts.pop();
    for (const part of parts) lines.push({ at: Date.now(), ...JSON.parse(part) });
  });
}

// Adds to `program`: send(object), lines, and wait(condition) for the first line that fits, from the next one on after an earlier wait.
function speak(program, input, output) {
  let seen = 0;
  program.lines = [];
  collect(output, program.lines);
  input.on('error', () => {});
  program.sendText = (line) => input.write(line);
  program.send = (object) => program.sendText(`${JSON.stringify(object)}\n`);
  program.wait = (fits, limitMs) => until(() => `a line like ${fits}\n${JSON.stringify(program.lines).slice(-1500)}\n${program.log()}`, () => {
    while (seen < program.lines.length) {
      const line = program.lines[seen++];
      if (fits(line)) return line;
    }
    return null;
  }, limitMs);
  return program;
}

function started(t, child) {
  let log = '';
  child.stderr.on('data', (chunk) => { log += chunk; });
  const ended = new Promise((resolve) => { child.on('close', (code, signal) => resolve({ code, signal })); });
  t.after(async () => {
    if (child.exitCode === null && child.signalCode === null) child.kill('SIGKILL');
    await ended;
  });
  return { pid: child.pid, ended, log: () => log };
}

function startCourier(t, open) {
  const child = spawn(COURIER, [], { stdio: ['ignore', 'ignore', 'pipe', 'pipe'] });
  const courier = speak(started(t, child), child.stdio[3], child.stdio[3]);
  courier.hangUp = () => child.stdio[3].destroy();
  if (open && open.open) courier.send(open);
  else if (open) courier.send({ open: 'mqtt', host: '127.0.0.1', tls: false, ca_file: '', user: '', password: '', ...open });
  return courier;
}

// A part of the service that starts couriers, driven by lines: tests/courier/links.c, channels.c.
function startDriver(t, name, args) {
  const child = spawn(path.join(BUILD, 'tests/courier', name), args, { stdio: ['pipe', 'pipe', 'pipe'] });
  const driver = speak(started(t, child), child.stdin, child.stdout);
  driver.close = () => child.stdin.end();
  driver.children = () => fs.readFileSync(`/proc/${child.pid}/task/${child.pid}/children`, 'utf8').split(' ').filter(Boolean).map(Number);
  driver.stats = async () => {
    driver.send({ stats: true });
    return driver.wait((line) => line.turns !== undefined);
  };
  return driver;
}

const startLinks = (t, courier = COURIER) => startDriver(t, 'links', [courier]);
const startChannels = (t, { courier = COURIER, waitMs = 200 } = {}) => startDriver(t, 'channels', [courier, String(waitMs)]);

module.exports = { COURIER, freePort, listen, publish, scratchFolder, sleep, startBroker, startChannels, startCourier, startFakeBroker, startLinks, until };
