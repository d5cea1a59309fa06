// The files of the page: compressed for whoever takes that, plain for the rest, and the same either way.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const fs = require('node:fs');
const http = require('node:http');
const path = require('node:path');
const zlib = require('node:zlib');
const { startDaemon } = require('./daemon');

const WEB = path.resolve(__dirname, '../../web');

// As it comes over the wire: fetch() would unpack it.
function ask(daemon, target, headers = {}) {
  return new Promise((resolve, reject) => {
    http.get({ host: '127.0.0.1', port: daemon.port, path: target, headers }, (response) => {
      const parts = [];
      response.on('data', (part) => parts.push(part));
      response.on('end', () => resolve({ status: response.statusCode, headers: response.headers, body: Buffer.concat(parts) }));
    }).on('error', reject);
  });
}

function filesUnder(folder) {
  return fs.readdirSync(folder, { withFileTypes: true }).filter((entry) => !entry.name.startsWith('.'))
    .flatMap((entry) => (entry.isDirectory() ? filesUnder(path.join(folder, entry.name)) : [path.join(folder, entry.name)]));
}

test('each file of the page comes plain and compressed with the same content, also from folders below', async (t) => {
  const daemon = await startDaemon();
  t.after(() => daemon.stop());
  const files = filesUnder(WEB);
  assert.ok(files.some((file) => file.includes('vendor')));
  for (const file of files) {
    const target = `/assets/${path.relative(WEB, file)}`, content = fs.readFileSync(file);
    const plain = await ask(daemon, target);
    assert.equal(plain.status, 200, target);
    assert.ok(plain.body.equals(content), `${target} is not the file`);
    assert.equal(plain.headers['content-encoding'], undefined);
    assert.equal(plain.headers.vary, 'Accept-Encoding');
    const small = await ask(daemon, target, { 'Accept-Encoding': 'deflate, gzip' });
    const packed = small.headers['content-encoding'] === 'gzip';
    assert.ok(packed || content.length < 400, `${target}: ${content.length} bytes were not compressed`);
    assert.ok((packed ? zlib.gunzipSync(small.body) : small.body).equals(content), `${target} is not the file when compressed`);
    assert.ok(small.body.length <= content.length);
    assert.equal(small.headers['content-type'], plain.headers['content-type']);
    if (packed) assert.notEqual(small.headers.etag, plain.headers.etag, 'two forms, two tags');
  }
});

test('what a client says of gzip is followed', async (t) => {
  const daemon = await startDaemon();
  t.after(() => daemon.stop());
  const packed = async (accepted) => (await ask(daemon, '/assets/main.js', { 'Accept-Encoding': accepted })).headers['content-encoding'] === 'gzip';
  for (const yes of ['gzip', 'GZIP', 'br, gzip;q=0.5', '*', '*;q=0, gzip', 'x-gzip']) assert.ok(await packed(yes), yes);
  for (const no of ['identity', '', 'br', 'gzip;q=0', 'gzip; q=0.000, *', '*;q=0', 'notgzip']) assert.ok(!(await packed(no)), no);
});

test('a file that did not change is not sent again, in either form', async (t) => {
  const daemon = await startDaemon();
  t.after(() => daemon.stop());
  for (const headers of [{}, { 'Accept-Encoding': 'gzip' }]) {
    const first = await ask(daemon, '/', headers);
    const again = await ask(daemon, '/', { ...headers, 'If-None-Match': first.headers.etag });
    assert.deepEqual([again.status, again.body.length, again.headers.etag], [304, 0, first.headers.etag]);
    assert.equal(again.headers.vary, 'Accept-Encoding');
  }
  const missing = await ask(daemon, '/assets/vendor/none.js', { 'Accept-Encoding': 'gzip' });
  assert.equal(missing.status, 404);
  assert.equal(missing.headers['content-encoding'], undefined);
});
