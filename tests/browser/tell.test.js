// How you are told: what stands first, what rings and how often, and channels that are added on the page.
'use strict';

const assert = require('node:assert/strict');
const http = require('node:http');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertFits, launch, made, openPage, settled, shot } = require('./browser.js');

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
  window.Notification = class { constructor(subject, { body, tag }) { window.shown.push([subject, body, tag]); } static get permission() { return 'granted'; } };
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

// What the tabs showed so far, by notice.
async function shownIn(tabs) {
  const lists = await Promise.all(tabs.map((one) => one.evaluate(() => window.shown.map(([,, tag]) => tag))));
  return lists.flat();
}

// Another tab of the same browser, which has looked once.
async function secondTab(page, daemon) {
  await page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null);
  const other = await page.context().newPage();
  await other.goto(`${daemon.url}/#`);
  await other.getByText('Now').first().waitFor();
  return other;
}

const toldBy = async (daemon) => (await made(daemon.get('/api/v1/shop'))).notices.filter((notice) => notice.told_at).map((notice) => `coat-notice-${notice.id}`).sort();

// Until what the tabs showed in all is what was told.
async function allShown(tabs, told) {
  for (let i = 0; i < 100 && (await shownIn(tabs)).length < told.length; i += 1) await tabs[0].waitForTimeout(100);
  await tabs[0].waitForTimeout(300); // for one that would show it again
  return shownIn(tabs);
}

test('two tabs of one browser ring once', async (t) => {
  const { daemon, pieces, spray } = await shed(t);
  const { page, close } = await listeningPage(daemon);
  const other = await secondTab(page, daemon);
  await spray(pieces);
  for (const one of [page, other]) await one.locator('.notice', { hasText: 'before you leave the shop' }).waitFor();
  const told = await toldBy(daemon), all = await allShown([page, other], told);
  assert.ok(told.length > 0);
  assert.deepEqual(all.sort(), told, 'each once, in one of the two');
  await close();
});

test('given two tabs and notices close upon one another, then each is told in one of them, and none in neither', async (t) => {
  const { daemon, pieces, spray } = await shed(t);
  const { page, close } = await listeningPage(daemon);
  const other = await secondTab(page, daemon);
  for (const piece of pieces) await spray([piece]);
  await made(daemon.advance(6 * 3600));
  const told = await toldBy(daemon), all = await allShown([page, other], told);
  assert.ok(told.length > 2, `${told}`);
  for (const one of told) assert.equal(all.filter((shown) => shown === one).length, 1, `${one} of ${told}: ${all}`);
  await close();
});

test('given a notice told half a second after one on the full second, then it is news', async (t) => {
  const { daemon } = await shed(t);
  const { page, close } = await listeningPage(daemon);
  await page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null);
  await page.evaluate(async () => {
    const { hear } = await import('/assets/bell.js');
    const told = (id, told_at) => ({ id, told_at, subject: `notice ${id}`, text: '', safety: false });
    const first = told(901, '2026-11-28T09:00:00Z'), second = told(902, '2026-11-28T09:00:00.500Z');
    hear({ as_of_at: '2026-11-28T09:00:00Z', notices: [first] });
    hear({ as_of_at: '2026-11-28T09:00:01Z', notices: [first, second] });
  });
  await page.waitForFunction(() => window.shown.some(([subject]) => subject === 'notice 902'));
  await close();
});

test('given a browser that keeps nothing between its tabs, then it rings all the same', async (t) => {
  const { daemon, pieces, spray } = await shed(t);
  const { page, close } = await openPage(browser, `${daemon.url}/#`, { size: 'phone', init: `(${listenIn})(); Object.defineProperty(window, 'indexedDB', { value: undefined });` });
  await page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null);
  await spray(pieces);
  await page.waitForFunction(() => window.shown.some(([subject]) => /before you leave the shop/.test(subject)));
  await close();
});

test('given a thumb on a button while the shop tells something new, then the button is still the one that was pressed', async (t) => {
  const { daemon, place, pieces, spray } = await shed(t);
  const { page, close } = await listeningPage(daemon);
  await spray([pieces[0]]);
  const noted = page.locator('.notice', { hasText: 'before you leave the shop' }).getByRole('button', { name: /^Noted/ });
  await noted.waitFor();
  await settled(page);
  await noted.hover();
  await page.mouse.down();
  const asked = () => page.evaluate(() => performance.getEntriesByType('resource').filter((one) => one.name.endsWith('/shop')).length);
  const before = await asked();
  await made(daemon.post('/api/v1/pieces', { name: 'drawer D', place: place.id }));
  for (let i = 0; i < 100 && await asked() === before; i += 1) await page.waitForTimeout(50);
  await settled(page);
  await page.mouse.up();
  await page.locator('.notice', { hasText: 'before you leave the shop' }).waitFor({ state: 'detached' });
  await page.goto(`${daemon.url}/#line`);
  await page.getByText('drawer D').first().waitFor({ state: 'attached' }); // what came meanwhile is drawn afterwards
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
  const { page, close } = await openPage(browser, `${daemon.url}/#tell`, { size: 'phone', offline: true }); // one address is refused
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
  const inSight = () => { const box = document.querySelector('.once code').getBoundingClientRect(); return [box.top, box.bottom].every((y) => document.elementFromPoint(box.left + 4, y + (y === box.top ? 3 : -3))?.closest('.once')); };
  await page.waitForFunction(inSight);
  await shot(page, 'tell-phone');
  await page.reload();
  await page.locator('.channel', { hasText: 'kitchen' }).waitFor();
  assert.equal(await page.locator('.once').count(), 0);
  await page.getByRole('button', { name: 'Remove kitchen' }).click();
  await page.getByText('None yet').waitFor();
  await close();
});
