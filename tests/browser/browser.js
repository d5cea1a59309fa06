// One browser for a test file, and pages that fail the test where they say anything wrong.
'use strict';

const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { chromium } = require('playwright-core');

const SHOTS = path.resolve(__dirname, '../../build/screenshots');
const SIZES = { wall: { width: 1280, height: 800 }, tablet: { width: 1024, height: 768 }, phone: { width: 390, height: 844 }, small: { width: 320, height: 640 } };

function launch() {
  return chromium.launch({ executablePath: process.env.COAT_CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
}

/* Opens url. options: {size, scheme, offline (network errors are expected), clock (page.clock moves the page's time on), init: run in each page before it, context: more of the browser's}. */
async function openPage(browser, url, options = {}) {
  const context = await browser.newContext({ viewport: SIZES[options.size || 'wall'], colorScheme: options.scheme || 'light', hasTouch: ['phone', 'small'].includes(options.size), ...options.context });
  await context.addInitScript(countAsking);
  if (options.init) await context.addInitScript(options.init);
  if (options.clock) await context.clock.install();
  const page = await context.newPage();
  const wrong = [], strange = [];
  page.on('pageerror', (error) => wrong.push(error.stack || String(error)));
  page.on('console', (message) => { if (message.type() === 'error' && !(options.offline && /Failed to load resource|net::ERR/.test(message.text()))) wrong.push(message.text()); });
  page.on('request', (request) => { if (!request.url().startsWith(new URL(url).origin) && !request.url().startsWith('data:')) strange.push(request.url()); });
  await page.goto(url);
  return { page, context, wrong, strange, async close() { await context.close(); assert.deepEqual(wrong, [], 'the page said something wrong'); assert.deepEqual(strange, [], 'the page asked somebody else'); } };
}

// Runs in the page: how many answers it waits for.
function countAsking() {
  const ask = globalThis.fetch;
  globalThis.asking = 0;
  globalThis.fetch = (...what) => { globalThis.asking += 1; return ask(...what).finally(() => { globalThis.asking -= 1; }); };
}

// Until the page waits for no answer and has drawn what it got.
async function settled(page) {
  const frame = () => page.evaluate(() => new Promise((done) => { requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => done(globalThis.asking), 5))); }));
  for (let quiet = 0; quiet < 2;) quiet = await frame() ? 0 : quiet + 1;
}

// Another view of the page that is open, once it is drawn: until its module has come the one before it stands there.
async function visitView(page, url, hash) {
  await page.evaluate((next) => { if (location.hash.slice(1) !== next) for (const el of document.querySelectorAll('#view > *')) el.dataset.before = 'yes'; }, hash);
  await page.goto(`${url}#${hash}`);
  await page.waitForFunction(() => !document.querySelector('#view > [data-before]'));
  await settled(page);
  await page.locator('#view h1').first().waitFor({ state: 'attached' });
}

// Pictures to look at, build/screenshots/NAME.png: those of the whole job always, the others where COAT_SHOTS asks for them, since they take longer than the tests.
async function shot(page, name) {
  if (!process.env.COAT_SHOTS && !name.startsWith('job-')) return;
  fs.mkdirSync(SHOTS, { recursive: true });
  await page.screenshot({ path: path.join(SHOTS, `${name}.png`) });
}

// Nothing stands out sideways.
async function assertFits(page, what) {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.equal(over, 0, `${what}: ${over} px too wide`);
}

// The plate with its first caution is in sight, wherever the page is scrolled to.
async function assertCautions(page, what) {
  const first = page.locator('#plate .acts li').first();
  const box = await first.boundingBox();
  const height = page.viewportSize().height;
  assert.ok(box && box.y >= 0 && box.y + box.height <= height, `${what}: the first caution is out of sight`);
  assert.ok((await first.textContent()).trim().length > 5, `${what}: the first caution says nothing`);
}

// What a countdown says, in seconds; null for "any minute now".
function seconds(text) {
  if (/any minute now/.test(text)) return null;
  const part = (unit) => Number((new RegExp(`(-?\\d+) ${unit}\\b`).exec(text) || [0, 0])[1]);
  return part('d') * 86400 + part('h') * 3600 + part('min') * 60 + part('s');
}

// What the service answered to a write or a read that must do.
async function made(promise) {
  const { status, body, text } = await promise;
  assert.ok(status === 200 || status === 201, text);
  return body;
}

module.exports = { launch, made, openPage, settled, visitView, shot, assertFits, assertCautions, seconds, SIZES };
