// The whole job through the page, from an empty shop to the record that is handed on: a place, a piece, coats and their air, a countdown, a window that
// opens, its notice, a test at the bench, the next coat, a bake with its review, the record. On a phone, a tablet and a wall, light and dark.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, made, openPage, seconds, shot } = require('./browser.js');

const HOUR = 3600;
let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function addPlace(page, name, kind, more) {
  await page.locator('[name=name]').fill(name);
  await page.locator('[name=kind]').selectOption(kind);
  for (const [field, value] of Object.entries(more)) await page.locator(`[name=${field}]`).fill(value);
  await page.getByRole('button', { name: 'Add the place' }).click();
}

async function addPiece(page, url, name, more = {}) {
  await page.goto(`${url}/#newpiece`);
  await page.getByLabel('Name of the piece').fill(name);
  for (const [field, value] of Object.entries(more)) {
    const control = page.locator(`[name=${field}]`).first();
    if (await control.evaluate((el) => el.tagName) === 'SELECT') await control.selectOption(value); else await control.fill(value);
  }
  await page.getByRole('button', { name: 'Add the piece' }).click();
  await page.getByRole('button', { name: /Log it/ }).waitFor();
}

// On the form that is open, with its piece chosen.
async function logCoat(page, material, amount = null) {
  const choice = page.locator('.choice', { hasText: material }).first();
  if (!await choice.isVisible()) await page.getByRole('button', { name: 'Other material' }).click();
  await page.locator('.choice', { hasText: material }).first().click();
  if (amount !== null) {
    const field = page.locator('[name=amount]');
    if (!await field.isVisible()) await page.locator('details:has([name=amount]) > summary').first().click();
    await field.fill(amount);
  }
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByText('Written down.').first().waitFor();
}

async function readAir(page, url, place, temp) {
  await page.goto(`${url}/#air?place=${place}&enter=1`);
  await page.getByLabel(/Temperature/).fill(String(temp));
  await page.getByLabel(/Humidity/).fill('50');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.locator('#view h1', { hasText: 'Now' }).waitFor();
}

async function hours(daemon, place, count) {
  for (let i = 0; i < count; i += 2) {
    await made(daemon.advance(2 * HOUR));
    await made(daemon.post(`/api/v1/places/${place}/readings`, { temp_c: 21, rh_pct: 50 }));
  }
}

async function answerAll(page) {
  for (const about of await page.locator('fieldset.asked').evaluateAll((all) => all.map((one) => one.querySelector('input').name))) {
    const field = page.locator(`fieldset.asked:has(input[name="${about}"])`);
    await field.locator('input[value=no]').check();
    if (!await page.locator(`fieldset.asked.good:has(input[name="${about}"])`).count()) await field.locator('input[value=yes]').check();
    await page.locator(`fieldset.asked.good:has(input[name="${about}"])`).waitFor();
  }
  await page.locator('.clear').waitFor();
}

for (const [size, scheme] of [['phone', 'dark'], ['tablet', 'light'], ['wall', 'light']]) {
  test(`the whole job on a ${size} in ${scheme}`, async (t) => {
    const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
    t.after(() => daemon.stop());
    const { url } = daemon;
    const { page, close } = await openPage(browser, url, { size, scheme });
    page.setDefaultTimeout(15000);
    const look = async (name) => { await assertFits(page, name); await assertCautions(page, name); await shot(page, `job-${name}-${size}-${scheme}`); };

    // An empty shop: a place, its air, a piece, its first coat.
    await page.getByText('Nothing hangs on the line yet').waitFor();
    await page.getByRole('link', { name: 'Add a place' }).click();
    await addPlace(page, 'garage', 'room', {});
    await page.getByLabel(/Temperature/).fill('21');
    await page.getByLabel(/Humidity/).fill('50');
    await page.getByRole('button', { name: 'Write it down' }).click();
    await page.locator('#view h1', { hasText: 'Now' }).waitFor();
    await addPiece(page, url, 'mill body', { old: 'tested clear' });
    await logCoat(page, 'primer, alkyd');

    // It dries: what must not be touched counts down.
    await page.goto(`${url}/#`);
    await page.locator('.row.later').first().waitFor();
    assert.ok(seconds(await page.locator('.row.later').first().innerText()) > 0);
    await look('drying');
    await readAir(page, url, 1, 20);

    // The window opens, and a notice says so once.
    for (let i = 0; i < 10 && (await made(daemon.get('/api/v1/shop'))).lists.now.every((row) => row.stage !== 'recoat'); i += 1) await hours(daemon, 1, 6);
    await page.reload();
    await page.locator('.row.todo', { hasText: 'next coat' }).waitFor();
    await page.locator('.notice').first().waitFor();
    await look('open');
    await page.goto(`${url}/#notices`);
    const told = page.locator('.notice', { hasText: /recoat: may be done now/ });
    await told.getByRole('button').click();
    await told.waitFor({ state: 'detached' });

    // A test at the bench, then the next coat over it.
    await page.goto(`${url}/#piece?id=1`);
    await page.locator('summary', { hasText: 'Tests at the bench' }).first().click();
    await page.getByRole('button', { name: 'Passed' }).first().click();
    await page.locator('summary', { hasText: 'Tests at the bench: 1' }).first().waitFor();
    await page.goto(`${url}/#log?piece=1`);
    await logCoat(page, 'gloss enamel');
    assert.equal((await made(daemon.get('/api/v1/coats/1'))).coat.status, 'covered');

    // A lid of black japan is baked: an oven, a coat with its amount, flash-off, the review.
    await page.goto(`${url}/#place`);
    await addPlace(page, 'oven', 'oven', { volume: '0.1' });
    await page.locator('[name=airflow]').fill('20');
    await page.locator('[name=measured]').check();
    await page.getByRole('button', { name: 'Keep' }).click();
    await page.locator('.outcome', { hasText: 'Kept' }).waitFor();
    await addPiece(page, url, 'mill lid', { old: 'tested clear' });
    await logCoat(page, 'baking japan', '40');
    await hours(daemon, 1, 6);
    await page.goto(`${url}/#piece?id=2`);
    await page.reload();
    await page.getByRole('link', { name: 'Review its bake' }).click();
    await page.locator('[name=wall]').fill('5');
    await page.getByRole('button', { name: 'Review it' }).click();
    await page.locator('.refusals').waitFor();
    await look('review');
    await answerAll(page);
    await page.getByRole('button', { name: 'Begin the bake' }).click();
    await page.locator('.running').waitFor();
    await made(daemon.advance(8 * HOUR));
    await page.reload();
    await page.locator('h1', { hasText: 'the heat may go' }).waitFor();
    await look('baked');
    await page.getByRole('button', { name: 'The heat is off' }).click();
    await page.locator('h1', { hasText: 'cooling' }).waitFor();

    // The record that goes with the machine.
    await page.goto(`${url}/#record?piece=1`);
    await page.locator('.recordsheet').waitFor();
    const record = await page.locator('#view').innerText();
    for (const words of [/primer, alkyd/, /gloss enamel/, /tested clear/, /label/i]) assert.match(record, words);
    await look('record');
    await page.goto(`${url}/#record?piece=2`);
    await page.locator('.recordsheet', { hasText: 'baking japan' }).waitFor();
    await close();
  });
}
