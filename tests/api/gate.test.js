// What the gate lets in and what it does not: raw requests on a socket, since no client library would send most of them.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const net = require('node:net');
const { startDaemon } = require('./daemon.js');
const { largeJpeg } = require('./pictures.js');

let daemon;
test.before(async () => { daemon = await startDaemon(); });

// Sends `text` and gathers what comes until the connection ends or limitMs passes: { text, status, closed, ms }.
function exchange(text, { limitMs = 1500, until = null } = {}) {
  return new Promise((resolve) => {
    const began = Date.now();
    let answer = '';
    let closed = false;
    const socket = net.connect(daemon.port, '127.0.0.1', () => socket.write(text));
    const finish = () => {
      clearTimeout(limit);
      socket.destroy();
      const status = Number((/^HTTP\/1\.[01] (\d{3})/.exec(answer) || [])[1] || 0);
      resolve({ text: answer, status, closed, ms: Date.now() - began });
    };
    const limit = setTimeout(finish, limitMs);
    socket.on('data', (chunk) => {
      answer += chunk.toString('latin1');
      if (until && until.test(answer)) finish();
    });
    socket.on('error', () => {});
    socket.on('close', () => { closed = true; finish(); });
  });
}

// H stands for the good Host header.
const head = (text) => text.replaceAll('H\r\n', `Host: 127.0.0.1:${daemon.port}\r\n`);
const ask = (text) => exchange(head(text), { until: /\r\n\r\n/ });
const long = (count) => 'a'.repeat(count);

// The requests that an HTTP library was seen to let through or to choke on, and what RFC 9112 and this service want.
// status 0: closed without an answer is right as well.
const probes = [
  ['no Host', 'GET / HTTP/1.1\r\n\r\n', [400]],
  ['two different Hosts', 'GET / HTTP/1.1\r\nH\r\nHost: other.example\r\n\r\n', [400]],
  ['the same Host twice', 'GET / HTTP/1.1\r\nH\r\nH\r\n\r\n', [400]],
  ['bare LF line ends', 'GET / HTTP/1.1\nHost: 127.0.0.1:PORT\n\n', [400]],
  ['one bare LF', 'GET / HTTP/1.1\r\nHost: 127.0.0.1:PORT\nX-A: b\r\n\r\n', [400]],
  ['space before the colon', 'GET / HTTP/1.1\r\nH\r\nX-A : b\r\n\r\n', [400]],
  ['a folded header', 'GET / HTTP/1.1\r\nH\r\nX-A: b\r\n  more\r\n\r\n', [400]],
  ['a folded header before others', 'GET / HTTP/1.1\r\nX-A: b\r\n  more\r\nH\r\n\r\n', [400]],
  ['Content-Length together with chunked',
    'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Type: application/json\r\nContent-Length: 2\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n', [400]],
  ['chunked', 'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n', [400]],
  ['two different Content-Lengths', 'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Length: 2\r\nContent-Length: 3\r\n\r\n{}', [0, 400]],
  ['an unknown Transfer-Encoding', 'POST /api/v1/places HTTP/1.1\r\nH\r\nTransfer-Encoding: xchunked\r\n\r\n', [400]],
  ['a negative Content-Length', 'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Length: -1\r\n\r\n', [400]],
  ['a signed Content-Length', 'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Length: +2\r\n\r\n{}', [400]],
  ['a huge Content-Length', 'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Length: 99999999999999999999999\r\n\r\n', [400, 413]],
  ['a NUL byte in a header', 'GET / HTTP/1.1\r\nH\r\nX-A: b\0c\r\n\r\n', [400]],
  ['a NUL byte hiding a foreign Host', 'GET / HTTP/1.1\r\nHost: 127.0.0.1:PORT\0.example\r\n\r\n', [400]],
  ['%00 in the path', 'GET /assets/a%00b HTTP/1.1\r\nH\r\n\r\n', [400]],
  ['a broken escape in the path', 'GET /assets/a%2 HTTP/1.1\r\nH\r\n\r\n', [400]],
  ['an unknown method', 'FOO / HTTP/1.1\r\nH\r\n\r\n', [405]],
  ['an absolute-form target', 'GET http://other.example/ HTTP/1.1\r\nH\r\n\r\n', [400]],
  ['an asterisk target', 'OPTIONS * HTTP/1.1\r\nH\r\n\r\n', [400]],
  ['20 kB of header', `GET / HTTP/1.1\r\nH\r\nX-A: ${long(20000)}\r\n\r\n`, [431]],
  ['20 kB of target', `GET /${long(20000)} HTTP/1.1\r\nH\r\n\r\n`, [414]],
  ['HTTP/2.0', 'GET / HTTP/2.0\r\nH\r\n\r\n', [400, 505]],
  ['HTTP/0.9', 'GET /\r\n\r\n', [0, 400]],
  ['TLS', '\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n', [0, 400]],
  ['HTTP/1.0 without Host', 'GET / HTTP/1.0\r\n\r\n', [400]],
  ['Content-Type twice',
    'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Type: application/json\r\nContent-Type: text/plain\r\nContent-Length: 2\r\n\r\n{}', [400]],
  ['Authorization twice', 'GET / HTTP/1.1\r\nH\r\nAuthorization: a\r\nAuthorization: b\r\n\r\n', [400]],
  ['Origin twice', 'GET / HTTP/1.1\r\nH\r\nOrigin: a\r\nOrigin: b\r\n\r\n', [400]],
  ['a body on a request that reads', 'GET / HTTP/1.1\r\nH\r\nContent-Length: 2\r\n\r\n{}', [400]],
];

for (const [name, text, wanted] of probes) {
  test(`ill-formed: ${name}`, async () => {
    const got = await exchange(head(text.replaceAll('PORT', String(daemon.port))), { until: /\r\n\r\n/ });
    assert.ok(wanted.includes(got.status), `wanted ${wanted.join(' or ')}, got ${got.status}:\n${got.text}`);
    if (got.status === 0) assert.ok(got.closed, 'neither answered nor closed');
  });
}

test('given a good request after all these, then it is answered', async () => {
  assert.equal((await daemon.get('/api/v1/shop')).status, 200);
});

test('given an allowed name of this machine as Host, then it is answered; another name or port is misdirected', async () => {
  const hosts = {
    [`127.0.0.1:${daemon.port}`]: 200, [`localhost:${daemon.port}`]: 200, [`LOCALHOST:${daemon.port}`]: 200, [`[::1]:${daemon.port}`]: 200,
    '127.0.0.1': 421, 'localhost:1': 421, [`rebound.example:${daemon.port}`]: 421, [`127.0.0.1:${daemon.port}.example`]: 421,
    [`127.0.0.2:${daemon.port}`]: 421, [`0.0.0.0:${daemon.port}`]: 421, '': 421,
  };
  for (const [host, status] of Object.entries(hosts)) {
    const got = await ask(`GET /api/v1/shop HTTP/1.1\r\nHost: ${host}\r\n\r\n`);
    assert.equal(got.status, status, `Host: ${host}`);
  }
});

function post(headers, body = '{"name":"shed"}') {
  const lines = { 'Content-Type': 'application/json', 'Content-Length': String(Buffer.byteLength(body)), ...headers };
  const text = Object.entries(lines).filter(([, value]) => value !== null).map(([name, value]) => `${name}: ${value}\r\n`).join('');
  return exchange(head(`POST /api/v1/places HTTP/1.1\r\nH\r\n${text}\r\n`) + body, { until: /\r\n\r\n/ });
}

test('given a write from a page of another origin, then nothing is changed', async () => {
  const before = (await daemon.get('/api/v1/places')).text;
  for (const origin of ['http://other.example', 'null', `http://127.0.0.1:${daemon.port + 1}`, `https://127.0.0.1:${daemon.port}`,
    `http://localhost:${daemon.port}`, `http://127.0.0.1:${daemon.port}.example`, ''])
    assert.equal((await post({ Origin: origin })).status, 403, `Origin: ${origin}`);
  for (const site of ['cross-site', 'same-site', 'Same-Origin', ''])
    assert.equal((await post({ 'Sec-Fetch-Site': site })).status, 403, `Sec-Fetch-Site: ${site}`);
  assert.equal((await daemon.get('/api/v1/places')).text, before);
});

test('given a write from the own page, then it is taken', async () => {
  const got = await post({ Origin: `http://127.0.0.1:${daemon.port}`, 'Sec-Fetch-Site': 'same-origin' });
  assert.equal(got.status, 201, got.text);
});

test('given a write that is not told as JSON, then it is 415 and nothing is changed', async () => {
  const before = (await daemon.get('/api/v1/places')).text;
  for (const type of [null, 'text/plain', 'application/x-www-form-urlencoded', 'multipart/form-data; boundary=x', 'application/jsonp',
    'application/json; charset=latin1', 'text/plain; application/json'])
    assert.equal((await post({ 'Content-Type': type }, '{"name":"second shed"}')).status, 415, String(type));
  assert.equal((await daemon.get('/api/v1/places')).text, before);
  assert.equal((await post({ 'Content-Type': 'Application/JSON;charset=UTF-8' }, '{"name":"cellar"}')).status, 201);
});

test('given a body over the limit, then it is 413, also where the client sends it all first', async () => {
  const over = JSON.stringify({ name: 'shed', note: long(64 * 1024) });
  const got = await post({}, over);
  assert.equal(got.status, 413);
  assert.match(got.text, /application\/problem\+json/);
  const sent = await daemon.post('/api/v1/places', over);
  assert.equal(sent.status, 413);
  assert.equal(sent.body.status, 413);
  assert.match(sent.body.detail, /65536/);
});

test('given more bytes than the Content-Length says, then they are no part of the body', async () => {
  const got = await post({ 'Content-Length': '15' }, '{"name":"loft"}GET /api/v1/shop HTTP/1.1\r\n\r\n');
  assert.equal(got.status, 201, got.text);
});

test('given fewer bytes than the Content-Length says, then nothing is recorded', async () => {
  const before = (await daemon.get('/api/v1/places')).text;
  const got = await exchange(head('POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Type: application/json\r\nContent-Length: 40\r\n\r\n') + '{"name":"attic"}',
    { limitMs: 400 });
  assert.equal(got.text, '');
  assert.equal((await daemon.get('/api/v1/places')).text, before);
});

test('given JSON that parsers disagree about, then it is 400 with the byte told', async () => {
  for (const body of ['', '[]', '{"name":"a","name":"b"}', '{"name":"a\\u0000b"}', '{"name":"a"}x', '{"name":01}', '\ufeff{"name":"a"}',
    '{"name":"\\ud800"}', '[[[[[[[[[1]]]]]]]]]', '{"name":1e999}', '{"name":"a\tb"}', "{'name':'a'}", '{"name":"a",}']) {
    const got = await daemon.send('POST', '/api/v1/places', body, { 'content-type': 'application/json' });
    assert.equal(got.status, 400, `${body} -> ${got.text}`);
    assert.equal(got.headers.get('content-type'), 'application/problem+json');
  }
  const bad = await daemon.post('/api/v1/places', '{"name":"a",}');
  assert.match(bad.body.detail, /at byte 13\)/);
});

test('given a wrong method, then it is 405 and Allow names the right ones', async () => {
  const got = await daemon.send('PUT', '/api/v1/places', {});
  assert.equal(got.status, 405);
  assert.equal(got.headers.get('allow'), 'GET, HEAD, POST');
  assert.equal(got.body.instance, '/api/v1/places');
});

test('given an unknown path, then it is 404 as a problem document', async () => {
  for (const path of ['/api/v1/nothing', '/api/v1/places/', '/api/v1/places/1/2/3', '//', '/assets/', '/assets/../index.html', '/assets/none.js']) {
    const got = await ask(`GET ${path} HTTP/1.1\r\nH\r\n\r\n`);
    assert.equal(got.status, 404, path);
    assert.match(got.text, /application\/problem\+json/, path);
  }
});

test('given HEAD where GET is answered, then it tells the same without a body', async () => {
  for (const path of ['/', '/api/v1/shop', '/api/v1/places']) {
    const whole = await fetch(daemon.url + path);
    const bare = await fetch(daemon.url + path, { method: 'HEAD' });
    assert.equal(bare.status, 200, path);
    assert.equal(bare.headers.get('content-type'), whole.headers.get('content-type'), path);
    assert.equal(await bare.text(), '', path);
  }
});

test('given an Idempotency-Key that is not usable, then it is 400', async () => {
  for (const key of ['', 'a b', long(128)])
    assert.equal((await post({ 'Idempotency-Key': key })).status, 400, `"${key}"`);
});

test('given any answer, then the security headers stand on it', async () => {
  for (const path of ['/', '/api/v1/shop', '/api/v1/nothing', '/api/openapi.json']) {
    const { headers } = await daemon.get(path);
    assert.match(headers.get('content-security-policy'), /default-src 'none'.*frame-ancestors 'none'/, path);
    assert.equal(headers.get('x-content-type-options'), 'nosniff', path);
    assert.equal(headers.get('cross-origin-opener-policy'), 'same-origin', path);
    assert.equal(headers.get('cross-origin-resource-policy'), 'same-origin', path);
    assert.equal(headers.get('referrer-policy'), 'same-origin', path);
    assert.ok(headers.get('cache-control'), path);
    assert.equal(headers.get('access-control-allow-origin'), null, path);
  }
});

test('given the page and its tag, then an unchanged file is not sent again', async () => {
  const first = await daemon.get('/');
  assert.equal(first.status, 200);
  assert.match(first.headers.get('content-type'), /^text\/html/);
  const again = await daemon.get('/', { 'if-none-match': first.headers.get('etag') });
  assert.equal(again.status, 304);
  assert.equal(again.text, '');
  assert.equal((await daemon.get('/', { 'if-none-match': `"other", W/${first.headers.get('etag')}` })).status, 304);
  assert.equal((await daemon.get('/', { 'if-none-match': '"other"' })).status, 200);
});

test('given several requests in one packet, then each is answered in its turn', async () => {
  const one = head('GET /api/v1/places HTTP/1.1\r\nH\r\n\r\n');
  const got = await exchange(one + head('GET /api/v1/nothing HTTP/1.1\r\nH\r\n\r\n') + one, { limitMs: 500 });
  assert.deepEqual([...got.text.matchAll(/HTTP\/1\.1 (\d{3})/g)].map((m) => m[1]), ['200', '404', '200']);
});

test('given a stream, then it tells the revision at once and at every change', async () => {
  const stop = new AbortController();
  const response = await fetch(`${daemon.url}/api/v1/events`, { signal: stop.signal });
  assert.equal(response.headers.get('content-type'), 'text/event-stream');
  const reader = response.body.getReader();
  const next = async () => new TextDecoder().decode((await reader.read()).value);
  const read = (text) => /^id: (\d+)\nevent: revision\ndata: \{"revision":(\d+)\}\n\n$/.exec(text);
  const first = read(await next());
  assert.ok(first && first[1] === first[2]);
  const write = await daemon.post('/api/v1/places', { name: 'drying cabinet' });
  assert.equal(write.status, 201, write.text);
  const second = read(await next());
  assert.ok(Number(second[1]) > Number(first[1]));
  assert.equal((await daemon.get('/api/v1/shop')).body.revision, Number(second[1]));
  stop.abort();
});

test('given streams whose clients left, then they are let go and the service goes on', async () => {
  const fs = require('node:fs');
  const open = () => fs.readdirSync(`/proc/${daemon.pid}/fd`).length;
  const before = open();
  const sockets = await Promise.all(Array.from({ length: 20 }, () => new Promise((resolve) => {
    const socket = net.connect(daemon.port, '127.0.0.1', () => socket.write(head('GET /api/v1/events HTTP/1.1\r\nH\r\n\r\n')));
    socket.on('error', () => {});
    socket.once('data', () => resolve(socket));
  })));
  assert.ok(open() >= before + 20);
  for (const socket of sockets) socket.resetAndDestroy ? socket.resetAndDestroy() : socket.destroy();
  await daemon.post('/api/v1/places', { name: 'rack by the window' }); // a change wakes the streams
  await new Promise((resolve) => setTimeout(resolve, 300));
  await daemon.post('/api/v1/places', { name: 'shelf' });
  await new Promise((resolve) => setTimeout(resolve, 300));
  assert.ok(open() <= before + 3, `${open()} descriptors, ${before} before`);
});

test('given HEAD of a stream, then its head alone comes and the connection serves on', async () => {
  const text = head('HEAD /api/v1/events HTTP/1.1\r\nH\r\n\r\n') + head('GET /api/v1/places HTTP/1.1\r\nH\r\n\r\n');
  const got = await exchange(text, { limitMs: 500 });
  assert.match(got.text, /^HTTP\/1\.1 200 OK[^]*text\/event-stream[^]*HTTP\/1\.1 200 OK[^]*"items"/);
});

test('given many streams, then all are told of a change at once', async () => {
  const sockets = [];
  const told = [];
  for (let i = 0; i < 200; i++) {
    const socket = net.connect(daemon.port, '127.0.0.1', () => socket.write(head('GET /api/v1/events HTTP/1.1\r\nH\r\n\r\n')));
    sockets.push(socket);
    await new Promise((resolve) => socket.once('data', resolve));
    told.push(new Promise((resolve) => socket.on('data', (chunk) => { if (/event: revision/.test(chunk)) resolve(); })));
  }
  const began = performance.now();
  assert.equal((await daemon.post('/api/v1/places', { name: 'bench' })).status, 201);
  await Promise.all(told);
  const took = performance.now() - began;
  for (const socket of sockets) socket.destroy();
  assert.ok(took < 500, `${took} ms`);
});

// Real time: these run at once, so that the suite waits for the longest only.
test('real time', { concurrency: true }, async (t) => {
  const { body: piece } = await daemon.post('/api/v1/pieces', { name: 'mill body' });
  const drip = (name, first, piece, low, high) => t.test(name, async () => {
    const began = Date.now();
    const socket = net.connect(daemon.port, '127.0.0.1', () => socket.write(head(first)));
    socket.on('error', () => {});
    socket.resume();
    const timer = setInterval(() => socket.write(piece), 400);
    await new Promise((resolve) => socket.on('close', resolve));
    clearInterval(timer);
    const took = Date.now() - began;
    assert.ok(took > low && took < high, `cut after ${took} ms`);
  });
  await Promise.all([
    drip('given a head that drips in, then it is cut at ten seconds', 'GET / HTTP/1.1\r\nH\r\nX-Slow: ', 'a', 9000, 12000),
    drip('given a request line that drips in, then it is cut at ten seconds', 'GET /', 'a', 9000, 12000),
    drip('given a body that drips in, then it is cut at ten seconds',
      'POST /api/v1/places HTTP/1.1\r\nH\r\nContent-Type: application/json\r\nContent-Length: 5000\r\n\r\n{', ' ', 9000, 12000),
    drip('given a second request that drips in on a kept connection, then it is cut ten seconds after its first byte',
      'GET /api/v1/places HTTP/1.1\r\nH\r\n\r\nGET /', 'a', 9000, 12000),
    drip('given a photo that drips in, then it is cut at ten seconds as well',
      `POST /api/v1/pieces/${piece.id}/photos HTTP/1.1\r\nH\r\nContent-Type: image/jpeg\r\nContent-Length: 4000000\r\n\r\n`, 'a'.repeat(200), 9000, 12000),
    t.test('given a photo that comes slowly and steadily for longer than ten seconds, then it is kept', async () => {
      const photo = largeJpeg(620000), began = Date.now();
      let sent = 0, answer = '';
      const socket = net.connect(daemon.port, '127.0.0.1', () => socket.write(head(`POST /api/v1/pieces/${piece.id}/photos HTTP/1.1\r\nH\r\nContent-Type: image/jpeg\r\nIdempotency-Key: yard\r\nContent-Length: ${photo.length}\r\n\r\n`)));
      socket.on('error', () => {});
      const timer = setInterval(() => { socket.write(photo.subarray(sent, sent + 20000)); sent += 20000; if (sent >= photo.length) clearInterval(timer); }, 400); // 50 kB a second
      await new Promise((resolve) => { socket.on('data', (chunk) => { answer += chunk.toString('latin1'); resolve(); }); socket.on('close', resolve); });
      clearInterval(timer);
      socket.destroy();
      assert.match(answer, /^HTTP\/1\.1 201 /);
      assert.ok(Date.now() - began > 11000, `${Date.now() - began} ms: no longer than any request may take`);
    }),
    t.test('given a client that says nothing, then it is cut', async () => {
      const began = Date.now();
      const socket = net.connect(daemon.port, '127.0.0.1');
      socket.on('error', () => {});
      socket.resume();
      await new Promise((resolve) => socket.on('close', resolve));
      assert.ok(Date.now() - began < 12000);
    }),
    t.test('given a quiet stream, then a comment comes each fifteen seconds', async () => {
      const got = await exchange(head('GET /api/v1/events HTTP/1.1\r\nH\r\n\r\n'), { limitMs: 17000, until: /\n:\n\n/ });
      assert.match(got.text, /\n:\n\n/);
      assert.ok(got.ms < 16500, `${got.ms} ms`);
    }),
    t.test('given drips all the while, then a usual request is answered soon', async () => {
      for (let i = 0; i < 40; i++) {
        const began = performance.now();
        await daemon.get('/api/v1/places');
        assert.ok(performance.now() - began < 250, `${performance.now() - began} ms`);
        await new Promise((resolve) => setTimeout(resolve, 200));
      }
    }),
  ]);
});

test('given all of that, then the service has said nothing, and ends when it is told to', async () => {
  const end = await daemon.stop();
  assert.deepEqual(end, { code: 0, signal: null }, daemon.log.stderr); // a sanitizer would end it otherwise
  assert.equal(daemon.log.stderr, '');
});
