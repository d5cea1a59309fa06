// Serves web/ and an invented shop, with the same headers as the daemon. For working on the page alone:
//   node tests/browser/fixture-server.js [PORT] [empty]
'use strict';

const fs = require('node:fs');
const http = require('node:http');
const path = require('node:path');
const { check, fullShop, emptyShop, mixes, twoPart } = require('./fixture-shop.js');

const WEB = path.join(__dirname, '..', '..', 'web');
const CSP = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
const EVENING = Date.parse('2026-11-28T19:07:00Z'); // what stands where on a line depends on the hour: a test must say the same at each
const TYPES = { '.html': 'text/html; charset=utf-8', '.js': 'text/javascript; charset=utf-8', '.css': 'text/css; charset=utf-8', '.svg': 'image/svg+xml' };

function send(response, status, type, body) {
  response.writeHead(status, { 'content-type': type, 'content-security-policy': CSP, 'cache-control': 'no-store', 'x-content-type-options': 'nosniff' });
  response.end(body);
}

function sendFile(response, name) {
  const file = path.join(WEB, path.basename(name));
  if (!fs.existsSync(file)) return send(response, 404, 'text/plain', 'no such file\n');
  return send(response, 200, TYPES[path.extname(file)] || 'application/octet-stream', fs.readFileSync(file));
}

/* options: {empty, now: the shop's moment in ms}. Resolves to {url, port, now(), shop, writes, down(bool), bump(), close()}; `shop` may be changed by the caller. */
function serveFixture(options = {}) {
  const now = options.now ?? EVENING;
  const state = { shop: options.empty ? emptyShop(now) : fullShop(now), writes: [], streams: new Set(), down: false };
  const startedAt = Date.now(), shopNow = () => now + Date.now() - startedAt;
  const document = () => ({ ...state.shop, as_of_at: new Date(shopNow()).toISOString() });
  const json = (response, status, value) => send(response, status, status >= 400 ? 'application/problem+json' : 'application/json', JSON.stringify(value));

  function write(request, response) {
    let text = '';
    request.on('data', (part) => { text += part; });
    request.on('end', () => {
      state.writes.push({ method: request.method, path: request.url, key: request.headers['idempotency-key'], body: text ? JSON.parse(text) : null });
      json(response, 201, { id: 90, items: [{ id: 91 }], cautions: {}, deferral: '' });
    });
  }

  function events(request, response) {
    response.writeHead(200, { 'content-type': 'text/event-stream', 'cache-control': 'no-store' });
    response.write(`id: ${state.shop.revision}\nevent: revision\ndata: {"revision":${state.shop.revision}}\n\n`);
    state.streams.add(response);
    request.on('close', () => state.streams.delete(response));
  }

  const server = http.createServer((request, response) => {
    const url = request.url.split('?')[0];
    if (state.down) return request.destroy();
    if (request.method !== 'GET') return write(request, response);
    if (url === '/') return sendFile(response, 'index.html');
    if (url === '/plain') return send(response, 204, 'text/html; charset=utf-8', ''); // the service alone has it: a browser stays where it is
    if (url.startsWith('/assets/')) return sendFile(response, url);
    if (url === '/api/v1/shop') return json(response, 200, document());
    if (url === '/api/v1/events') return events(request, response);
    if (url === '/api/v1/check') return json(response, 200, check(now, Object.fromEntries(new URL(request.url, 'http://shop').searchParams)));
    if (url === '/api/v1/materials') return json(response, 200, twoPart());
    if (url === '/api/v1/mixes') return json(response, 200, { items: mixes(now), cautions: {}, deferral: '' });
    if (/\/(entries|notes|photos)$/.test(url)) return json(response, 200, { items: [] });
    return json(response, 404, { type: 'about:blank', title: 'Not found', status: 404, detail: `nothing at ${url}` });
  });

  if (options.port === undefined) server.unref(); // a test that failed before it closed it ends all the same
  return new Promise((resolve) => server.listen(options.port || 0, '127.0.0.1', () => resolve({
    port: server.address().port, url: `http://127.0.0.1:${server.address().port}/`, now: shopNow, shop: state.shop, writes: state.writes,
    down(value) { state.down = value; if (value) { for (const stream of state.streams) stream.destroy(); } },
    bump() { state.shop.revision += 1; for (const stream of state.streams) stream.write(`id: ${state.shop.revision}\nevent: revision\ndata: {"revision":${state.shop.revision}}\n\n`); },
    close() { server.closeAllConnections?.(); return new Promise((done) => server.close(done)); },
  })));
}

module.exports = { serveFixture };

if (require.main === module) serveFixture({ port: Number(process.argv[2]) || 8270, empty: process.argv[3] === 'empty', now: Date.now() }).then((served) => console.log(served.url));
