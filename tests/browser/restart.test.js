// The service is killed or stopped under a page that has something to write, and started anew on the same file and port.
'use strict';

const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { after, before, test } = require('node:test');
const { scratchFolder, startDaemon } = require('../api/daemon.js');
const { launch, made, openPage, seconds, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

// Two drawers in the shed, one of them sprayed a while ago; the clock of the shop runs.
async function shed(t) {
  const folder = scratchFolder(), db = path.join(folder, 'shop.coat');
  let daemon = await startDaemon({ db, testClock: '2026-11-28T08:00:00Z,1' });
  t.after(async () => { await daemon.stop(); fs.rmSync(folder, { recursive: true, force: true }); });
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 }));
  const pieces = [];
  for (const name of ['drawer A', 'drawer B']) pieces.push(await made(daemon.post('/api/v1/pieces', { name, place: place.id })));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const material = items.find((one) => one.class === 'spray-enamel');
  await made(daemon.post('/api/v1/coats', { pieces: [pieces[0].id], material: material.id }));
  await made(daemon.advance(40 * 60));
  let now = null;
  const { url, port } = daemon;
  return {
    url, pieces, material, place, get daemon() { return daemon; },
    // Ends the process and keeps what its clock showed.
    async end(signal) {
      now = (await made(daemon.get('/api/v1/shop'))).as_of_at;
      await daemon.stop(signal);
    },
    async begin(laterS = 0) { daemon = await startDaemon({ db, testClock: `${new Date(Date.parse(now) + laterS * 1000).toISOString()},1`, args: ['--listen', `127.0.0.1:${port}`] }); },
    coatsOf: async (piece) => (await made(daemon.get(`/api/v1/coats?piece=${piece.id}`))).items,
  };
}

// Notes notifications in place of showing them, by the number of the notice.
const listenIn = () => {
  window.shown = [];
  window.Notification = class { constructor(subject, { tag }) { window.shown.push(tag); } static get permission() { return 'granted'; } };
};

const open = (shop) => openPage(browser, `${shop.url}/`, { size: 'phone', offline: true, clock: true, init: listenIn });
const formsAreThere = (page) => page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null); // they come together with what rings

async function fillForm(page, shop) {
  await page.evaluate((hash) => { location.hash = hash; }, `log?piece=${shop.pieces[1].id}&material=${shop.material.id}`);
  await page.getByRole('button', { name: /Log it/ }).waitFor();
}
const logIt = (page) => page.getByRole('button', { name: /Log it/ }).click();

// Lets the page's own time pass in steps until something is so.
async function passUntil(page, what, isSo) {
  for (let i = 0; i < 60; i += 1) {
    if (await isSo()) return;
    await page.clock.runFor(1000);
  }
  assert.fail(`a minute has passed on the page, and not yet: ${what}`);
}
const seen = (page, text) => page.getByText(text).first().isVisible();

test('killed: the page says so and goes on counting; what is logged meanwhile arrives once, and what was noted rings no more', async (t) => {
  const shop = await shed(t);
  const { page, wrong, context } = await open(shop);
  await formsAreThere(page);
  await page.locator('.notice').first().waitFor();
  const { notices } = await made(shop.daemon.get('/api/v1/shop'));
  assert.ok(notices.length > 1);
  const noted = notices.find((one) => one.safety);
  await page.getByRole('button', { name: `Noted: ${noted.subject}` }).click();
  await page.getByRole('button', { name: `Noted: ${noted.subject}` }).waitFor({ state: 'detached' });
  const told = notices.map((one) => `coat-notice-${one.id}`), rungBefore = await page.evaluate(() => window.shown.length);

  await shop.end('SIGKILL');
  await page.getByText('No connection to the shop').waitFor();
  const left = async () => Math.min(...(await page.locator('.countdown').allTextContents()).map(seconds).filter(Number.isFinite)), before = await left();
  await page.clock.runFor(65e3);
  const counted = before - await left();
  assert.ok(counted >= 60 && counted <= 120, `the page counted ${counted} s on in 65 s`); // it tells minutes
  await fillForm(page, shop);
  await logIt(page);
  await page.getByText('Not written yet:').waitFor();
  assert.match(await page.locator('#said').innerText(), /drawer B.*It is sent again until the shop has it/s);
  await shot(page, 'service-gone-phone');

  await shop.begin(70); // as much later as it is by the page's own clock
  const bowl = await made(shop.daemon.post('/api/v1/pieces', { name: 'scale bowl', place: shop.place.id }));
  await passUntil(page, 'it is written down', () => seen(page, 'Written down.'));
  await passUntil(page, 'it says nothing of the connection any more', async () => !await seen(page, 'No connection to the shop'));
  assert.equal((await shop.coatsOf(shop.pieces[1])).length, 1, 'one coat for all tries');
  await page.evaluate(() => { location.hash = ''; });
  await page.getByText('drawer B').first().waitFor();
  await page.evaluate((hash) => { location.hash = hash; }, `piece?id=${bowl.id}`);
  await page.getByRole('heading', { name: 'scale bowl' }).waitFor(); // what others did since then
  await page.clock.pauseAt(await page.evaluate(() => Date.now() + 1000)); // no timer of the page runs: the stream alone tells it
  await made(shop.daemon.patch(`/api/v1/pieces/${bowl.id}`, { note: 'chipped' }));
  await page.getByText('chipped').first().waitFor({ timeout: 15000 });

  const later = await made(shop.daemon.get('/api/v1/shop'));
  assert.ok(!later.notices.some((one) => one.id === noted.id), 'it stays noted');
  const rung = (await page.evaluate(() => window.shown)).slice(rungBefore);
  assert.deepEqual(rung.filter((tag) => told.includes(tag)), [], 'what was told before rings no more');
  assert.equal(new Set(rung).size, rung.length);
  assert.deepEqual(wrong, []);
  await context.close();
});

test('killed after it wrote and before it answered: the same write is sent again, and is one coat', async (t) => {
  const shop = await shed(t);
  const { page, wrong, context } = await open(shop);
  await formsAreThere(page);
  await fillForm(page, shop);
  const keys = [];
  await page.route('**/api/v1/coats', async (route) => {
    keys.push(route.request().headers()['idempotency-key']);
    if (keys.length > 1) return route.continue();
    const answer = await route.fetch();
    assert.equal(answer.status(), 201);
    await shop.end('SIGKILL');
    return route.abort('connectionreset');
  });
  await logIt(page);
  await page.getByText('Not written yet:').waitFor();
  await shop.begin();
  await passUntil(page, 'it is written down', () => seen(page, 'Written down.'));
  assert.ok(keys.length > 1 && new Set(keys).size === 1, `${keys}`);
  assert.equal((await shop.coatsOf(shop.pieces[1])).length, 1);
  assert.deepEqual(wrong, []);
  await context.close();
});

test('stopped, and the page loaded anew once it runs again: what was not written is written, once', async (t) => {
  const shop = await shed(t);
  const { page, wrong, context } = await open(shop);
  await formsAreThere(page);
  await shop.end('SIGTERM');
  await page.getByText('No connection to the shop').waitFor();
  await fillForm(page, shop);
  await logIt(page);
  await page.getByText('Not written yet:').waitFor();
  await shop.begin();
  await page.goto('about:blank');
  assert.equal((await shop.coatsOf(shop.pieces[1])).length, 0, 'nobody sent it yet');
  await page.goto(`${shop.url}/`);
  await passUntil(page, 'it is in the record', async () => (await shop.coatsOf(shop.pieces[1])).length > 0);
  await passUntil(page, 'it is on the page', () => seen(page, 'drawer B'));
  assert.equal((await shop.coatsOf(shop.pieces[1])).length, 1);
  await page.waitForFunction(() => !Object.keys(localStorage).some((name) => name.startsWith('coat-write-')));
  assert.deepEqual(wrong, []);
  await context.close();
});
