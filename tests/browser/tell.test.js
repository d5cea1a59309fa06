// How you are told: what stands first, what rings and how often, and channels that are added on the page.
'use strict';

const assert = require('node:assert/strict');
const http = require('node:http');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertFits, launch, made, openPage, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function shed(t) {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  t.after(() => daemon.stop());
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 }));
  const pieces = [];
  for (const name of ['drawer A', 'drawer B', 'drawer C']) pieces.push(await made(daemon.post('/api/v1/pieces', { name, place: place.id })));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const enamel = items.find((one) => one.class === 'spray-enamel');
  const spray = async (list) => { await made(daemon.advance(60)); return made(daemon.post('/api/v1/coats', { pieces: list.map((one) => one.id), material: enamel.id })); };
  return { daemon, place, pieces, spray };
}

// Counts tones and notifications in place of making them.
const listenIn = () => {
  window.rung = 0;
  window.shown = [];
  class Node { connect(next) { return next; } start() { window.rung += 0.5; } stop() {} }
  const param = { setValueAtTime() {}, linearRampToValueAtTime() {} };
  window.AudioContext = class { constructor() { this.currentTime = 0; this.state = 'running'; this.destination = {}; } createOscillator() { return Object.assign(new Node(), { frequency: {} }); } createGain() { return Object.assign(new Node(), { gain: param }); } resume() { return Promise.resolve(); } };
  window.Notification = class { constructor(subject, { body }) { window.shown.push([subject, body]); } static get permission() { return 'granted'; } };
};

const listeningPage = (daemon) => openPage(browser, `${daemon.url}/#`, { size: 'phone', init: listenIn });

test('three drawers sprayed together ring once and stand as one; what to see to before leaving stands first', async (t) => {
  const { daemon, pieces, spray } = await shed(t);
  const { page, close } = await listeningPage(daemon);
  await page.getByText('Now').first().waitFor();
  await page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null);
  await page.locator('h1').first().click(); // a browser sounds only once it was touched
  await spray(pieces);
  await page.locator('.notice', { hasText: 'before you leave the shop' }).waitFor();
  await page.waitForFunction(() => window.rung >= 1);
  const texts = await page.evaluate(() => window.shown.map(([subject]) => subject));
  assert.ok(texts.some((text) => /shed: before you leave the shop/.test(text)), texts.join('; '));
  const together = texts.filter((text) => /3 pieces \(drawer A, drawer B, drawer C\), recoat/.test(text));
  assert.equal(together.length, 1, 'the closing of all three is one');
  assert.match(await page.title(), /^\(!\) /);
  const before = await page.evaluate(() => [window.rung, window.shown.length]);
  await page.reload();
  await page.locator('.notice', { hasText: 'before you leave the shop' }).waitFor();
  await page.waitForTimeout(600);
  assert.deepEqual(await page.evaluate(() => [window.rung, window.shown.length]), [0, 0], `what was told rings no more (it had: ${before})`);
  assert.match(await page.locator('.notice').first().innerText(), /before you leave the shop/);
  await page.locator('.notice').first().getByRole('button', { name: /^Noted/ }).click();
  await page.locator('.notice', { hasText: 'before you leave the shop' }).waitFor({ state: 'detached' });
  await close();
});

test('two tabs of one browser ring once', async (t) => {
  const { daemon, pieces, spray } = await shed(t);
  const { page, close } = await listeningPage(daemon);
  await page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null);
  const other = await page.context().newPage();
  await other.goto(`${daemon.url}/#`);
  await other.getByText('Now').first().waitFor();
  await other.waitForTimeout(300);
  await spray(pieces);
  for (const one of [page, other]) await one.locator('.notice', { hasText: 'before you leave the shop' }).waitFor();
  await page.waitForTimeout(1500);
  const counts = await Promise.all([page, other].map((one) => one.evaluate(() => window.shown.length)));
  assert.ok(Math.min(...counts) === 0 && Math.max(...counts) > 0, `notifications in the two tabs: ${counts}`);
  await close();
});

test('the sound can be tried and turned off, and the page says what works here', async (t) => {
  const { daemon } = await shed(t);
  const { page, close } = await openPage(browser, `${daemon.url}/#tell`, { size: 'small', init: listenIn });
  await page.getByRole('button', { name: 'Try the sound' }).click();
  await page.getByText('Two tones: that is the sound.').waitFor();
  assert.equal(await page.evaluate(() => window.rung), 1);
  await page.getByRole('button', { name: 'Sound off' }).click();
  await page.getByRole('button', { name: 'Try the sound' }).click();
  await page.getByText('The sound is off.').waitFor();
  assert.equal(await page.evaluate(() => window.rung), 1);
  await page.getByText('This browser shows a notification of its own').waitFor();
  await assertFits(page, 'tell');
  await shot(page, 'tell-small');
  await close();
});

test('a webhook is tried, added and removed on the page; its key is shown once', async (t) => {
  const { daemon } = await shed(t);
  const got = [];
  const sink = http.createServer((request, answer) => { got.push(request.url); request.resume(); answer.end('thanks'); });
  await new Promise((done) => { sink.listen(0, '127.0.0.1', done); });
  t.after(() => sink.close());
  const { page, close } = await openPage(browser, `${daemon.url}/#tell`, { size: 'wall', offline: true }); // one address is refused
  await page.getByText('None yet').waitFor();
  await page.getByLabel('It is', { exact: true }).selectOption('webhook');
  await page.getByLabel('What it is called').fill('kitchen');
  await page.getByLabel('Address').fill('http://example.org/x');
  await page.getByRole('button', { name: 'Add the channel' }).click();
  await page.locator('.outcome', { hasText: 'https' }).first().waitFor(); // refused, with what would do
  await page.getByLabel('Address').fill(`http://127.0.0.1:${sink.address().port}/kitchen`);
  await page.getByRole('button', { name: 'Send a test' }).click();
  await page.getByText(/It got through\. The other side says: 200.*thanks/).waitFor({ timeout: 30000 });
  assert.deepEqual(got, ['/kitchen']);
  await page.getByRole('button', { name: 'Add the channel' }).click();
  await page.getByText('told this once').waitFor();
  assert.match(await page.locator('.once code').innerText(), /^\S{20,}$/);
  await page.locator('.channel', { hasText: 'kitchen' }).waitFor();
  await shot(page, 'tell-wall');
  await page.reload();
  await page.locator('.channel', { hasText: 'kitchen' }).waitFor();
  assert.equal(await page.locator('.once').count(), 0);
  await page.getByRole('button', { name: 'Remove kitchen' }).click();
  await page.getByText('None yet').waitFor();
  await close();
});
