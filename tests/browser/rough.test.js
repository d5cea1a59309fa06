// The page where things go badly: a device that sleeps or runs wrong, a network that comes and goes, two tabs that write, answers that come late or from
// somebody else, a browser that keeps nothing. Nothing typed is lost or written twice, and nothing is told earlier than it is so.
'use strict';

const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { after, before, test } = require('node:test');
const { scratchFolder, startDaemon } = require('../api/daemon.js');
const { plainJpeg } = require('../api/pictures.js');
const { launch, made, openPage, seconds, settled } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

// A shed with two drawers, one of them just sprayed. The clock of the shop stands still unless a test says otherwise.
async function shed(t, testClock = '2026-11-28T08:00:00Z') {
  const daemon = await startDaemon({ testClock: testClock || undefined });
  t.after(() => daemon.stop());
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 }));
  const pieces = [];
  for (const name of ['drawer A', 'drawer B']) pieces.push(await made(daemon.post('/api/v1/pieces', { name, place: place.id })));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const material = items.find((one) => one.class === 'alkyd-enamel');
  await made(daemon.post('/api/v1/coats', { pieces: [pieces[0].id], material: material.id }));
  const coatsOf = async (piece) => (await made(daemon.get(`/api/v1/coats?piece=${piece.id}`))).items;
  return { daemon, url: daemon.url, place, pieces, material, coatsOf, logHash: `log?piece=${pieces[1].id}&material=${material.id}` };
}

// The forms and what is kept of writes come together with what rings.
const formsAreThere = (page) => page.waitForFunction(() => localStorage.getItem('coat-told-up-to') !== null);
async function open(shop, hash = '', options = {}) {
  const opened = await openPage(browser, `${shop.url}/#${hash}`, { size: 'phone', offline: true, clock: true, ...options });
  await formsAreThere(opened.page);
  return opened;
}
const goTo = (page, hash) => page.evaluate((to) => { location.hash = to; }, hash);
const logTag = (page) => page.getByRole('button', { name: /Log it/ });
const keptWrites = (page) => page.evaluate(() => Object.keys(localStorage).filter((name) => name.startsWith('coat-write-')).length);

// Polls, by real time, until something is so.
async function until(what, isSo) {
  for (const end = Date.now() + 15000; ;) {
    if (await isSo()) return;
    assert.ok(Date.now() < end, `not yet: ${what}`);
    await new Promise((done) => { setTimeout(done, 30); });
  }
}
// Lets the page's own time pass in steps until something is so: slower after a while, since the network takes real time, and an answer that comes late by the page's
// time is asked for again.
async function passUntil(page, what, isSo, stepMs = 1000) {
  for (let i = 0, end = Date.now() + 15000; i < 60 || Date.now() < end; i += 1) {
    if (await isSo()) return;
    await page.clock.runFor(stepMs);
    if (i > 15) await new Promise((done) => { setTimeout(done, 50); });
  }
  assert.fail(`its time has passed on the page, and not yet: ${what}`);
}
const shortest = async (page) => Math.min(...(await page.locator('.countdown').allTextContents()).map(seconds).filter(Number.isFinite));

// ---- time ----

test('given a device whose clock runs ahead while nothing new is told, then its countdowns are put right within minutes', async (t) => {
  const shop = await shed(t, null); // a shop without a test clock: its document is not sent again where it is unchanged
  const { page, close } = await open(shop);
  const left = await shortest(page);
  await page.clock.fastForward(3600e3);
  await passUntil(page, 'its hour ahead is taken back', async () => Math.abs(await shortest(page) - left) <= 120, 30e3);
  await close();
});

test('given a device that slept with its monotonic clock, then the page has counted those hours, says by which clock without a network, and is put right with one', async (t) => {
  const shop = await shed(t, '2026-11-28T08:00:00Z,1');
  const { page, context, wrong } = await open(shop);
  const left = await shortest(page);
  await context.setOffline(true);
  await page.clock.setSystemTime(await page.evaluate(() => Date.now() + 2 * 3600e3)); // the wall clock alone goes on
  await passUntil(page, 'the hours of its sleep are counted', async () => Math.abs(left - await shortest(page) - 7200) <= 120);
  await passUntil(page, 'it says so', () => page.getByText('since this device slept by the clock of the device').isVisible());
  await context.setOffline(false);
  await passUntil(page, 'the shop, where it is no later, has told its time', async () => Math.abs(await shortest(page) - left) <= 120);
  assert.equal(await page.getByText('this device slept').count(), 0);
  assert.deepEqual(wrong, []);
  await context.close();
});

test('given the night in which the clocks go back, then a time that came twice is asked for, and told with which of the two it is', async (t) => {
  const shop = await shed(t, '2026-10-25T00:20:00Z'); // 02:20 in Vienna, for the first time
  await made(shop.daemon.patch('/api/v1/shop', { zone: 'Europe/Vienna' }));
  const { page, close } = await open(shop, shop.logHash);
  const lastPasses = async () => (await shop.coatsOf(shop.pieces[1])).map((coat) => coat.last_at.slice(0, 16));
  const logAt = async (time) => {
    await goTo(page, `${shop.logHash}&film=${time}`);
    await page.locator('.choice', { has: page.locator('[name=when][value=other]') }).click();
    await page.getByLabel('Last pass at').fill(`2026-10-25T${time}`);
    await page.getByLabel('Last pass at').blur();
  };
  const done = () => page.waitForFunction(() => location.hash === '' || location.hash === '#');
  await logAt('02:10');
  assert.equal(await page.getByText('It came twice that night').count(), 0, 'the second is still to come');
  assert.match(await logTag(page).innerText(), /02:10 summer time/);
  await logTag(page).click();
  await done();
  assert.deepEqual(await lastPasses(), ['2026-10-25T00:10']);

  await made(shop.daemon.advance('2026-10-25T01:40:00Z')); // 02:40, for the second time
  await page.evaluate(() => { dispatchEvent(new Event('online')); });
  await until('the page has heard of it', async () => (await page.evaluate(() => document.querySelector('[data-clock=hm]').textContent)) === '02:40');
  await logAt('02:15');
  const which = page.getByRole('radiogroup', { name: 'It came twice that night' });
  await which.waitFor();
  await page.waitForFunction(() => document.querySelector('[data-focus=logit]').textContent.includes('when?'));
  await which.locator('.choice', { hasText: 'winter time' }).click();
  await page.waitForFunction(() => document.querySelector('[data-focus=logit]').textContent.includes('02:15 winter time'));
  await logTag(page).click();
  await done();
  assert.deepEqual((await lastPasses()).sort(), ['2026-10-25T00:10', '2026-10-25T01:15']);
  await close();
});

test('given a time in the hour that the clocks left out, then the form says so and writes nothing', async (t) => {
  const shop = await shed(t, '2027-03-14T09:00:00Z'); // 04:00 in Chicago
  await made(shop.daemon.patch('/api/v1/shop', { zone: 'America/Chicago' }));
  const { page, close } = await open(shop, `air?place=${shop.place.id}&enter=1`);
  await page.getByLabel(/^Temperature/).fill('19');
  await page.getByLabel(/^Humidity/).fill('55');
  await page.locator('.choice', { hasText: 'other' }).click();
  await page.getByLabel('At', { exact: true }).fill('2027-03-14T02:30');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.getByText('That time was left out when the clocks went forward').waitFor();
  await page.getByLabel('At', { exact: true }).fill('2027-03-14T01:30');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.waitForFunction(() => location.hash === '' || location.hash === '#');
  const { items } = await made(shop.daemon.get(`/api/v1/places/${shop.place.id}/readings?from=2027-03-14T07:00:00Z&to=2027-03-14T08:00:00Z`));
  assert.deepEqual(items.map((one) => one.at.slice(0, 16)), ['2027-03-14T07:30']);
  await close();
});

// What the axis of the line says of hours, against the browser's own calendar.
const NIGHTS = [['Europe/Vienna', '2027-03-28T00:00:00Z'], ['Europe/Vienna', '2026-10-25T00:00:00Z'], ['America/Chicago', '2027-03-14T07:00:00Z'], ['Asia/Kolkata', '2026-11-28T08:00:00Z'], ['Asia/Kathmandu', '2026-11-28T08:00:00Z'], ['Australia/Lord_Howe', '2027-04-03T14:00:00Z']];
test('given nights in which the clocks change, and zones off the hour, then each hour of the line is that of the wall', async (t) => {
  const shop = await shed(t);
  const { page, close } = await open(shop);
  for (const [zone, from] of NIGHTS) {
    const wrong = await page.evaluate(async ([name, begin]) => {
      const { localHours, setZone } = await import('/assets/clock.js');
      setZone(name);
      const wall = new Intl.DateTimeFormat('en-GB', { timeZone: name, hour: 'numeric', minute: 'numeric', hourCycle: 'h23' });
      const told = localHours(Date.parse(begin) - 12 * 3600e3, Date.parse(begin) + 24 * 3600e3);
      return told.map(({ ms, hour }) => `${wall.format(ms)} told as ${hour}`).filter((text) => Number(text.slice(0, 2)) !== Number(text.split(' ').pop()) || (!name.includes('Lord') && text.slice(3, 5) !== '00'));
    }, [zone, from]);
    assert.deepEqual(wrong, [], zone);
  }
  await close();
});

test('given an answer of before a device slept, then it is asked for again when it wakes, and gone where there is no network', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, `check?material=${shop.material.id}&place=${shop.place.id}`);
  const answer = page.locator('.verdict strong', { hasText: 'now' });
  await answer.waitFor();
  await context.setOffline(true);
  await page.clock.setSystemTime(await page.evaluate(() => Date.now() + 3600e3));
  await page.evaluate(() => { document.dispatchEvent(new Event('visibilitychange')); });
  await page.clock.runFor(2000);
  await page.getByText('No answer: there is no connection to the shop').waitFor();
  assert.equal(await answer.count(), 0);
  await context.close();
});

// ---- what was there before ----

test('given a service that comes back with another record of the same revision, then the page shows that one', async (t) => {
  const begin = async (name, args) => {
    const daemon = await startDaemon({ args }); // a shop without a test clock: an unchanged document is not sent again
    t.after(() => daemon.stop());
    return { daemon, piece: await made(daemon.post('/api/v1/pieces', { name })) };
  };
  const { daemon } = await begin('drawer A');
  const { page, context } = await open({ url: daemon.url });
  const { port } = daemon;
  await goTo(page, 'piece?id=1');
  await page.getByRole('heading', { name: 'drawer A' }).waitFor();
  await daemon.stop('SIGKILL');
  await page.getByText('No connection to the shop').waitFor();
  await begin('scale beam', ['--listen', `127.0.0.1:${port}`]);
  await passUntil(page, 'the other record stands there', async () => {
    await goTo(page, '');
    await goTo(page, 'piece?id=1');
    return page.getByRole('heading', { name: 'scale beam' }).isVisible();
  });
  await context.close();
});

// Notes notifications in place of showing them, by the number of the notice.
const listenIn = () => { window.shown = []; window.Notification = class { constructor(subject, { tag }) { window.shown.push(tag); } static get permission() { return 'granted'; } }; };

test('given a shop whose clock is set back by hours, then the page follows it and rings for what falls due by it', async (t) => {
  const folder = scratchFolder(), db = path.join(folder, 'shop.coat');
  t.after(() => fs.rmSync(folder, { recursive: true, force: true }));
  const first = await startDaemon({ db, testClock: '2026-11-28T12:00:00Z' });
  t.after(() => first.stop());
  const place = await made(first.post('/api/v1/places', { name: 'shed' }));
  await made(first.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 }));
  const { items } = await made(first.get('/api/v1/materials')), lacquer = items.find((one) => one.class === 'lacquer').id;
  const spray = async (daemon, name) => {
    const piece = await made(daemon.post('/api/v1/pieces', { name, place: place.id }));
    await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: lacquer }));
  };
  await spray(first, 'drawer A');
  await made(first.advance(3600));
  const { page, context } = await open({ url: first.url }, '', { init: listenIn });
  await first.stop('SIGKILL');
  await page.getByText('No connection to the shop').waitFor();
  const second = await startDaemon({ db, testClock: '2026-11-28T09:00:00Z', args: ['--listen', `127.0.0.1:${first.port}`] });
  t.after(() => second.stop());
  await made(second.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 }));
  await spray(second, 'drawer B');
  await passUntil(page, 'it goes by the clock of the shop', async () => (await page.evaluate(() => document.querySelector('[data-clock=hm]').textContent)) === '09:00');
  const before = (await made(second.get('/api/v1/shop'))).notices.map((one) => `coat-notice-${one.id}`);
  await made(second.advance(3600));
  const fresh = (await made(second.get('/api/v1/shop'))).notices.filter((one) => one.told_at !== null).map((one) => `coat-notice-${one.id}`).filter((tag) => !before.includes(tag));
  assert.ok(fresh.length > 0);
  await passUntil(page, 'it rings for all of it', async () => { const shown = await page.evaluate(() => window.shown); return fresh.every((tag) => shown.includes(tag)); });
  await context.close();
});

test('given a line that is left and come back to many times, then the page does not grow', async (t) => {
  const shop = await shed(t);
  const { page, context, close } = await open(shop, '', { size: 'wall', clock: false });
  const devtools = await context.newCDPSession(page);
  await devtools.send('Performance.enable');
  const held = async () => {
    for (let i = 0; i < 2; i += 1) await devtools.send('HeapProfiler.collectGarbage');
    const { metrics } = await devtools.send('Performance.getMetrics');
    return metrics.find((one) => one.name === 'Nodes').value;
  };
  const visit = async (times) => {
    for (let i = 0; i < times; i += 1) {
      await goTo(page, 'notices');
      await page.getByRole('heading', { name: 'Notices' }).waitFor();
      await goTo(page, '');
      await page.locator('.linebox svg .rule').waitFor();
      await settled(page);
    }
  };
  await visit(2);
  const before = await held();
  await visit(5);
  const grown = await held() - before;
  assert.ok(grown < 400, `${grown} nodes more after five visits`); // one line alone has about as many
  await close();
});

// ---- what is written ----

test('given two tabs without a network that both log, then neither loses what the other keeps, and a third tab writes both, once', async (t) => {
  const shop = await shed(t);
  const first = await open(shop, shop.logHash);
  const { context } = first;
  const second = await context.newPage();
  await second.goto(`${shop.url}/#log?piece=${shop.pieces[0].id}&material=${shop.material.id}`);
  await logTag(second).waitFor();
  await context.setOffline(true);
  for (const page of [first.page, second]) {
    await logTag(page).click();
    await passUntil(page, 'it says that it waits', () => page.getByText('Not written yet:').isVisible());
  }
  assert.equal(await keptWrites(second), 2);
  await first.page.close();
  await second.close();
  await context.setOffline(false);
  const third = await context.newPage();
  await third.goto(`${shop.url}/`);
  await until('both are in the record', async () => (await shop.coatsOf(shop.pieces[0])).length === 2 && (await shop.coatsOf(shop.pieces[1])).length === 1);
  await passUntil(third, 'nothing is kept any more', async () => await keptWrites(third) === 0);
  assert.deepEqual(first.wrong, []);
  await context.close();
});

test('given a tab that is closed with something to write, then another that is open writes it', async (t) => {
  const shop = await shed(t);
  const first = await open(shop, shop.logHash);
  const second = await first.context.newPage();
  await second.goto(`${shop.url}/`);
  await formsAreThere(second);
  await first.page.route('**/api/v1/coats', (route) => route.abort());
  await logTag(first.page).click();
  await until('it is kept', async () => await keptWrites(second) === 1);
  await first.page.close();
  await passUntil(second, 'it is in the record', async () => (await shop.coatsOf(shop.pieces[1])).length === 1);
  await passUntil(second, 'nothing is kept any more', async () => await keptWrites(second) === 0);
  await first.context.close();
});

test('given a coat that is refused after its form has gone, then that and what was typed stays on the page until it was read, over a reload', async (t) => {
  const shop = await shed(t);
  const { page, context, wrong } = await open(shop, shop.logHash);
  await context.setOffline(true);
  await page.getByLabel(/^Amount/).fill('45');
  await logTag(page).click();
  await passUntil(page, 'it says that it waits', () => page.getByText('Not written yet:').isVisible());
  await goTo(page, '');
  await made(shop.daemon.del(`/api/v1/pieces/${shop.pieces[1].id}`));
  await context.setOffline(false);
  const refused = page.locator('#said', { hasText: 'Not written, the shop refused it: drawer B' });
  await passUntil(page, 'it is told', () => refused.isVisible());
  await page.clock.runFor(120e3);
  await page.reload();
  await refused.waitFor();
  assert.match(await refused.innerText(), /entered 08:00/);
  await refused.getByText('What was typed').click();
  await refused.getByText('amount ml: 45').waitFor();
  await refused.getByText('last at: 08:00').waitFor();
  await refused.getByRole('button', { name: 'OK' }).click();
  await refused.waitFor({ state: 'detached' });
  assert.equal(await keptWrites(page), 0);
  assert.deepEqual(wrong, []);
  await context.close();
});

test('given a gateway that answers in place of the shop, then the write waits for the shop', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, shop.logHash);
  const answers = [{ status: 200, contentType: 'text/html', body: '<h1>Welcome to this network</h1>' }, { status: 404, contentType: 'text/html', body: 'no such page' }];
  await page.route('**/api/v1/coats', (route) => (answers.length ? route.fulfill(answers.shift()) : route.continue()));
  await logTag(page).click();
  await passUntil(page, 'the shop has it', async () => (await shop.coatsOf(shop.pieces[1])).length === 1);
  await page.getByText('Written down.').waitFor();
  assert.equal(answers.length, 0);
  await context.close();
});

test('given a log form that is drawn anew while its coat is under way, then it takes no second press, and gives way to the list', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, shop.logHash);
  let letGo = null;
  await page.route('**/api/v1/coats', async (route) => { await new Promise((done) => { letGo = done; }); route.continue(); });
  await logTag(page).click();
  await until('it is under way', () => letGo !== null);
  await page.locator('.choice', { hasText: 'heavy' }).click(); // draws the form anew
  await page.waitForFunction(() => document.querySelector('input[value=heavy]').checked);
  assert.equal(await logTag(page).isDisabled(), true);
  letGo();
  await page.getByText('Written down.').waitFor();
  await page.waitForFunction(() => location.hash === '' || location.hash === '#');
  assert.equal((await shop.coatsOf(shop.pieces[1])).length, 1);
  await context.close();
});

test('given an answer that comes when somebody types elsewhere already, then the page stays where it is', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, `air?place=${shop.place.id}&enter=1`);
  let letGo = null;
  await page.route('**/readings', async (route) => { await new Promise((done) => { letGo = done; }); route.continue(); });
  await page.getByLabel(/^Temperature/).fill('19');
  await page.getByLabel(/^Humidity/).fill('55');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await until('it is under way', () => letGo !== null);
  await goTo(page, 'newpiece');
  await page.getByLabel('Name of the piece').fill('scale beam');
  letGo();
  await page.waitForResponse(/readings/);
  await settled(page);
  assert.equal(await page.getByLabel('Name of the piece').inputValue(), 'scale beam');
  await context.close();
});

test('given a browser that keeps nothing, then the page says that it must stay open, and writes all the same', async (t) => {
  const shop = await shed(t);
  const full = () => { Storage.prototype.setItem = function set(name) { if (name.startsWith('coat-write-')) throw new DOMException('no room', 'QuotaExceededError'); }; };
  const { page, context } = await openPage(browser, `${shop.url}/#${shop.logHash}`, { size: 'phone', offline: true, clock: true, init: full });
  await logTag(page).waitFor();
  await settled(page);
  await context.setOffline(true);
  await logTag(page).click();
  await passUntil(page, 'it says so', () => page.getByText('Keep this page open until then').isVisible());
  await context.setOffline(false);
  await passUntil(page, 'the shop has it', async () => (await shop.coatsOf(shop.pieces[1])).length === 1);
  await passUntil(page, 'it says nothing of it any more', async () => await page.getByText('Keep this page open').count() === 0);
  await context.close();
});

test('given a material with a warning of its own that is entered without a network, then both arrive, though the page was loaded anew meanwhile', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, 'material');
  await context.setOffline(true);
  await page.getByLabel('Name', { exact: true }).fill('black from the label');
  await page.getByLabel('Warn before it closes, min').fill('45');
  await page.getByRole('button', { name: 'Keep this material' }).click();
  await until('it is kept', async () => await keptWrites(page) === 1);
  await context.setOffline(false);
  await page.goto('about:blank');
  await page.goto(`${shop.url}/#material`);
  const mine = async () => (await made(shop.daemon.get('/api/v1/materials'))).items.find((one) => one.name === 'black from the label');
  await until('both are in the record', async () => (await mine())?.lead_closing_min === 45);
  assert.equal(await page.getByLabel('Name', { exact: true }).inputValue(), '', 'what was sent is no draft any more');
  await context.close();
});

test('given a scuffing that waits for the network, then a second press is none', async (t) => {
  const shop = await shed(t);
  const { items } = await made(shop.daemon.get('/api/v1/materials'));
  await made(shop.daemon.post('/api/v1/coats', { pieces: [shop.pieces[1].id], material: items.find((one) => one.class === 'oil-varnish').id }));
  await made(shop.daemon.advance(4 * 86400));
  const { page, context } = await open(shop);
  const scuffed = page.getByRole('button', { name: 'drawer B: scuffed' });
  await scuffed.waitFor();
  await context.setOffline(true);
  await scuffed.click();
  await passUntil(page, 'it says that it waits', () => page.getByText('Not written yet:').isVisible());
  await scuffed.click();
  assert.equal(await keptWrites(page), 1);
  await context.close();
});

test('given a network that goes while photos are sent, then those that wait are told, and are sent once at a press', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, `piece?id=${shop.pieces[1].id}`);
  const photosOf = async () => (await made(shop.daemon.get(`/api/v1/pieces/${shop.pieces[1].id}/photos`))).items;
  let sent = 0;
  await page.route('**/photos*', async (route) => {
    if (route.request().method() !== 'POST') return route.continue();
    sent += 1;
    if (sent === 2) await route.fetch(); // it arrives, and its answer is lost
    return sent === 1 ? route.continue() : route.abort('connectionreset');
  });
  await page.getByText('Add a photo').click();
  await page.locator('input[type=file][multiple]').setInputFiles(['one', 'two', 'three'].map((name) => ({ name: `${name}.jpg`, mimeType: 'image/jpeg', buffer: plainJpeg() })));
  const waits = page.getByText('2 photos are not in the shop yet, and would be lost with this page.');
  await passUntil(page, 'it is told', () => waits.isVisible());
  await page.unroute('**/photos*');
  await page.getByRole('button', { name: 'Send again' }).click();
  await waits.waitFor({ state: 'detached' });
  await until('all are there', async () => (await photosOf()).length === 3);
  await context.close();
});

// ---- what is typed ----

test('given a reload in the middle of a log, then what was chosen and typed stands there again; once it was left, or sent, it does not', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, shop.logHash);
  await page.locator('.choice', { hasText: 'heavy' }).click();
  await page.getByLabel(/^Amount/).fill('45');
  await page.reload();
  await logTag(page).waitFor();
  assert.equal(await page.getByLabel(/^Amount/).inputValue(), '45');
  assert.equal(await page.locator('input[value=heavy]').isChecked(), true);
  await goTo(page, '');
  await page.locator('.now').waitFor();
  await goTo(page, shop.logHash);
  await logTag(page).waitFor();
  assert.equal(await page.getByLabel(/^Amount/).inputValue(), '', 'it was left');

  await page.getByLabel(/^Amount/).fill('30');
  await page.route('**/api/v1/coats', (route) => route.abort());
  await logTag(page).click();
  await until('it is kept', async () => await keptWrites(page) === 1);
  await page.reload();
  await logTag(page).waitFor();
  assert.equal(await page.getByLabel(/^Amount/).inputValue(), '', 'it is on its way');
  await context.close();
});

test('given a label half typed in, then a reload keeps it; after a quarter of an hour it does not', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, 'material');
  await page.getByLabel('Name', { exact: true }).fill('black from the label');
  await page.getByLabel('Class').selectOption('lacquer');
  await page.getByLabel('Dry to touch', { exact: true }).fill('20');
  await page.getByLabel('Dry to touch: hours or minutes').selectOption('min');
  await page.locator('fieldset.answer').first().locator('label', { hasText: 'yes' }).first().click();
  const answer = await page.locator('fieldset.answer input:checked').first().inputValue();
  await page.reload();
  await page.getByLabel('Name', { exact: true }).waitFor();
  assert.equal(await page.getByLabel('Name', { exact: true }).inputValue(), 'black from the label');
  assert.equal(await page.getByLabel('Class').inputValue(), 'lacquer');
  assert.equal(await page.getByLabel('Dry to touch', { exact: true }).inputValue(), '20');
  assert.equal(await page.getByLabel('Dry to touch: hours or minutes').inputValue(), 'min');
  assert.equal(await page.locator('fieldset.answer input:checked').first().inputValue(), answer);
  await page.evaluate(() => { const kept = JSON.parse(sessionStorage.getItem('coat-drafts')); sessionStorage.setItem('coat-drafts', JSON.stringify({ ...kept, at: kept.at - 16 * 60e3 })); });
  await page.reload();
  await page.getByLabel('Name', { exact: true }).waitFor();
  assert.equal(await page.getByLabel('Name', { exact: true }).inputValue(), '');
  await context.close();
});

test('given a tablet that is turned in the middle of a form, then what was typed stays', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, `vapour?place=${shop.place.id}`, { size: 'phone', clock: false });
  await page.getByLabel('Solvent', { exact: true }).fill('toluene');
  await page.setViewportSize({ width: 1024, height: 768 });
  await page.waitForFunction(() => matchMedia('(min-width: 900px)').matches);
  await settled(page);
  assert.equal(await page.getByLabel('Solvent', { exact: true }).inputValue(), 'toluene');
  await goTo(page, '');
  await page.locator('.linebox svg .rule').waitFor();
  await page.setViewportSize({ width: 768, height: 1024 });
  await page.locator('.linebox').waitFor({ state: 'detached' });
  await context.close();
});

test('given a note half typed, the keyboard put away, and news of the shop, then the piece is drawn anew with the note still in it', async (t) => {
  const shop = await shed(t);
  const { page, context } = await open(shop, `piece?id=${shop.pieces[1].id}`);
  await page.getByText('Add a note').click();
  await page.getByLabel('Note', { exact: true }).fill('run under the rim');
  await page.getByLabel('Note', { exact: true }).blur();
  await made(shop.daemon.patch(`/api/v1/pieces/${shop.pieces[1].id}`, { note: 'chipped' }));
  await page.getByText('chipped').first().waitFor();
  assert.equal(await page.getByLabel('Note', { exact: true }).inputValue(), 'run under the rim');
  await page.getByRole('button', { name: 'Note it' }).click();
  await page.locator('.told li', { hasText: 'run under the rim' }).waitFor();
  assert.equal(await page.getByLabel('Note', { exact: true }).inputValue(), '');
  await context.close();
});
