// A shop from the first evening on, worked through the page against the daemon with a clock of its own.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, openPage, seconds, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function firstPlace(page) {
  await page.getByRole('link', { name: 'Add a place' }).click();
  await page.getByLabel('Name of the place').fill('cellar');
  await page.getByRole('button', { name: 'Add the place' }).click();
  await page.getByLabel(/Temperature/).fill('21');
  await page.getByLabel(/Humidity/).fill('50');
  await page.getByRole('button', { name: 'Write it down' }).click();
}

async function firstPiece(page) {
  await page.getByRole('link', { name: 'Add a piece' }).click();
  await page.getByLabel('Name of the piece').fill('mill body');
  await page.getByRole('button', { name: 'Add the piece' }).click();
  await page.getByRole('heading', { name: 'Piece' }).waitFor();
}

for (const [size, scheme] of [['wall', 'light'], ['phone', 'dark'], ['small', 'light']]) {
  test(`an empty shop on a ${size} in ${scheme}: a place, its air, a piece and its first coat, all from the page`, async () => {
    const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
    const { page, close } = await openPage(browser, daemon.url, { size, scheme });
    await page.getByText('Nothing hangs on the line yet').waitFor();
    await assertCautions(page, 'empty shop');
    await assertFits(page, 'empty shop');
    await shot(page, `empty-${size}-${scheme}`);
    await firstPlace(page);
    await firstPiece(page);

    // The piece is chosen: material, film, when, log it are four taps.
    let taps = 0;
    const tap = async (locator) => { taps += 1; await locator.click(); };
    await tap(page.locator('.choice', { hasText: 'spray enamel' }).first());
    await tap(page.locator('.choice', { hasText: 'light' }).first());
    await tap(page.locator('.choice', { hasText: '20 min ago' }));
    const tag = page.getByRole('button', { name: /Log it/ });
    assert.match(await tag.textContent(), /mill body: spray enamel.*, light, 20 min ago/);
    await assertCautions(page, 'log sheet');
    await assertFits(page, 'log sheet');
    await shot(page, `log-${size}-${scheme}`);
    await tap(tag);
    await page.getByText('Written down.').waitFor();
    assert.ok(taps <= 4, `${taps} taps`);

    const { body: shop } = await daemon.get('/api/v1/shop');
    assert.equal(shop.coats.length, 1);
    assert.equal(shop.coats[0].film, 'light');
    assert.equal(shop.coats[0].last_at, '2026-11-28T07:40:00Z');
    await page.getByText('mill body').first().waitFor();
    await assertFits(page, 'home');
    await shot(page, `first-coat-${size}-${scheme}`);
    await close();
    await daemon.stop();
  });
}

async function shopWithCoat(daemon, material) {
  const { body: place } = await daemon.post('/api/v1/places', { name: 'cellar' });
  await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 });
  const { body: piece } = await daemon.post('/api/v1/pieces', { name: 'mill body', place: place.id });
  const { body: list } = await daemon.get('/api/v1/materials');
  const used = list.items.find((one) => one.class === material);
  const { status, body } = await daemon.post('/api/v1/coats', { pieces: [piece.id], material: used.id });
  assert.equal(status, 201, JSON.stringify(body));
  return { place, piece, coat: body.items[0] };
}

// Lets a day pass with a reading each hour, so that the air stays measured.
async function pass(daemon, place, hours) {
  for (let i = 0; i < hours; i += 1) {
    await daemon.advance(3600);
    await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 });
  }
}

test('given a primed piece, then its hours pass, the next coat opens on the page, a notice says so and is noted', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place, piece } = await shopWithCoat(daemon, 'alkyd-primer');
  const { page, close } = await openPage(browser, daemon.url, { size: 'wall' });
  await page.locator('.row.later').first().waitFor();
  assert.equal(await page.locator('.row.todo').count(), 0, 'nothing may be done on a wet coat');
  await shot(page, 'waiting-wall');
  for (let i = 0; i < 8 && (await daemon.get('/api/v1/shop')).body.lists.now.every((row) => row.stage !== 'recoat'); i += 1) await pass(daemon, place, 6);
  await page.locator('.row.todo', { hasText: 'next coat' }).waitFor({ timeout: 15000 });
  const notice = page.locator('.notice').first();
  await notice.waitFor();
  await shot(page, 'open-wall');
  const before = (await daemon.get('/api/v1/shop')).body.notices;
  await notice.getByRole('button').click();
  await assert.doesNotReject(async () => {
    for (let i = 0; i < 500; i += 1) { if ((await daemon.get('/api/v1/shop')).body.notices.length === before.length - 1) return; await new Promise((done) => setTimeout(done, 10)); }
    throw new Error('the notice was not acknowledged');
  });
  await page.goto(`${daemon.url}/#piece?id=${piece.id}`);
  await page.locator('.stages').first().waitFor();
  await shot(page, 'piece-wall');
  await close();
  await daemon.stop();
});

test('given a clock that runs 60 times as fast, then a countdown falls and never goes back or below nothing', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z,60' });
  await shopWithCoat(daemon, 'spray-enamel');
  const { page, close } = await openPage(browser, daemon.url, { size: 'phone' });
  const countdown = page.locator('.countdown').first();
  await countdown.waitFor();
  const until = await countdown.getAttribute('data-until');
  let last = Infinity, falls = 0;
  for (let i = 0; i < 16; i += 1) {
    const texts = await page.locator('.countdown').evaluateAll((all) => all.map((el) => [el.dataset.until, el.textContent]));
    for (const [, text] of texts) assert.doesNotMatch(text, /-\d/, 'a negative time');
    const mine = texts.find(([moment]) => moment === until);
    if (mine) {
      const left = seconds(mine[1]);
      if (left !== null) { assert.ok(left <= last, `it went back from ${last} to ${left} s`); if (left < last) falls += 1; last = left; }
    }
    await page.waitForTimeout(400);
  }
  assert.ok(falls >= 3, `it fell only ${falls} times`);
  await close();
  await daemon.stop();
});

test('given a coat logged by mistake, then undo within the minute strikes it, and says why', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { piece, coat } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, close } = await openPage(browser, `${daemon.url}/#log?piece=${piece.id}&material=${coat.material.id}`, { size: 'phone' });
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText(/^Undone/).waitFor();
  const { body } = await daemon.get(`/api/v1/coats?piece=${piece.id}`);
  const struck = body.items.filter((one) => one.status === 'struck');
  assert.equal(struck.length, 1);
  assert.equal(struck[0].struck_why, 'undone on the page');
  await close();
  await daemon.stop();
});

test('a material typed in from its label is there to log with, and its numbers stand', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, close } = await openPage(browser, `${daemon.url}/#material`, { size: 'phone', scheme: 'dark' });
  await page.getByLabel('Name', { exact: true }).fill('black enamel, small tin');
  await page.getByLabel('Class').selectOption('spray-enamel');
  await page.getByLabel('Dry to handle, hours').fill('8');
  await page.getByLabel('Within, hours').fill('1');
  await page.getByLabel('Or after, hours').fill('48');
  await page.getByRole('group', { name: 'Flammable' }).getByRole('radio', { name: 'yes' }).check();
  await shot(page, 'material-phone-dark');
  await page.getByRole('button', { name: 'Keep this material' }).click();
  await page.getByRole('button', { name: /Log it/ }).waitFor();
  await page.getByText('black enamel, small tin').first().waitFor();
  const { body } = await daemon.get('/api/v1/materials');
  const made = body.items.find((one) => one.name === 'black enamel, small tin');
  const recoat = made.stages.find((stage) => stage.stage === 'recoat');
  assert.equal(recoat.first, 'go');
  assert.deepEqual(recoat.boundaries.map((one) => [one.then, one.label_h]), [['wait', 1], ['go', 48]]);
  assert.equal(made.hazards.flammable, 'yes');
  assert.equal(made.hazards.isocyanate, 'unanswered');
  await close();
  await daemon.stop();
});

test('what the daemon refuses is told at the form, and what was typed stays', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, context, wrong } = await openPage(browser, `${daemon.url}/#air?place=${place.id}&enter=1`, { size: 'phone' });
  await page.getByLabel(/Temperature/).fill('400');
  await page.getByLabel(/Humidity/).fill('50');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.waitForFunction(() => document.querySelector('.outcome')?.textContent.length > 10);
  assert.equal(await page.getByLabel(/Temperature/).inputValue(), '400');
  assert.deepEqual(wrong.filter((text) => !/422|400/.test(text)), []);
  await context.close();
  await daemon.stop();
});
