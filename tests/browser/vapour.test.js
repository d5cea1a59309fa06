// Solvent in the air of a place: the sums where a place is shown and after logging, gun wash by hand, and what is not told.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, made, openPage, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function shed(t, rest = { volume_m3: 60, airflow_m3h: 300 }) {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  t.after(() => daemon.stop());
  const place = await made(daemon.post('/api/v1/places', { name: 'shed', ...rest }));
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  const piece = await made(daemon.post('/api/v1/pieces', { name: 'mill body', place: place.id }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  return { daemon, place, piece, enamel: items.find((one) => one.class === 'alkyd-enamel') };
}

const sums = (page) => page.locator('.sums').innerText();

for (const size of ['phone', 'small', 'wall']) {
  test(`${size}: after a coat is logged with an amount stands what it puts into the air`, async (t) => {
    const { daemon, piece, enamel } = await shed(t);
    const { page, close } = await openPage(browser, `${daemon.url}/#log?piece=${piece.id}&material=${enamel.id}`, { size });
    await page.locator('input[name=amount]').fill('250');
    await page.locator('button[type=submit]').click();
    await page.locator('.sums').waitFor();
    const text = await page.locator('#view').innerText();
    assert.match(text, /Logged\. This is what it puts into the air/);
    assert.match(await sums(page), /exposure limit: your health\s+exceeds; from .* on not shown to/);
    assert.match(await sums(page), /Fresh air for health\s+[\d.]+ m³ for the exposure limit; that usually wants far more air than fire does/);
    assert.match(text, /one that was not counts half/);
    assert.match(text, /worst of its class/);
    assert.match(text, /No design/);
    assert.doesNotMatch(text, /\bsafe\b/);
    assert.match(await page.locator('#said').innerText(), /undo/i);
    await assertFits(page, 'the sums');
    await assertCautions(page, 'the sums');
    await shot(page, `vapour-${size}`);
    await close();
  });
}

test('gun wash is told by hand and counts at once; what cannot be is named', async (t) => {
  const { daemon, place } = await shed(t);
  const { page, close } = await openPage(browser, `${daemon.url}/#shop`, { size: 'phone', offline: true });
  await page.getByRole('link', { name: 'solvent in its air' }).click();
  await page.locator('.sums').waitFor();
  assert.match(await sums(page), /The most from now on\s+0 %/);
  await page.locator('input[name=solvent]').fill('moonshine');
  await page.locator('input[name=amount]').fill('200');
  const write = page.locator('form.release button[type=submit]');
  await write.click();
  await page.locator('form.release .outcome', { hasText: 'moonshine' }).waitFor();
  await page.locator('input[name=solvent]').fill('lacquer thinner');
  await write.click();
  await page.locator('form.release .outcome', { hasText: 'Written down: 200 ml of lacquer thinner' }).waitFor();
  assert.match(await page.locator('#view').innerText(), /open solvent once[\s\S]*Flammable liquid, category 2/);
  assert.doesNotMatch(await sums(page), /The most from now on\s+0 %/);
  assert.equal((await made(daemon.get(`/api/v1/places/${place.id}/vapour`))).released, 1);
  await close();
});

test('a coat whose amount nobody told asks for no nought of fresh air: how much it takes is not known', async (t) => {
  const { daemon, piece, enamel, place } = await shed(t);
  await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id }));
  const { page, close } = await openPage(browser, `${daemon.url}/#vapour?place=${place.id}`, { size: 'phone' });
  await page.locator('.sums').waitFor();
  assert.match(await sums(page), /By these sums\s+not known how much fresh air it takes/);
  assert.doesNotMatch(await sums(page), /\b0 (%|m³)/);
  await close();
});

test('a place without a volume says so, and knows once it is told', async (t) => {
  const { daemon, piece, enamel, place } = await shed(t, {});
  await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, amount_ml: 250 }));
  const { page, close } = await openPage(browser, `${daemon.url}/#vapour?place=${place.id}`, { size: 'tablet' });
  await page.locator('.sums').waitFor();
  assert.match(await sums(page), /A quarter of the lower explosive limit\s+not known/);
  assert.match(await page.locator('#view').innerText(), /how large it is/);
  await page.locator('summary', { hasText: 'What is known of the place' }).click();
  await page.locator('input[name=volume]').fill('60');
  await page.locator('input[name=airflow]').fill('300');
  await page.locator('input[name=measured]').check();
  await page.getByRole('button', { name: 'Keep' }).click();
  await page.locator('.sums', { hasText: 'not shown to exceed' }).waitFor();
  assert.doesNotMatch(await page.locator('#view').innerText(), /how large it is|was measured: one/);
  await close();
});

test('wet coat that is carried into an oven is told of at once', async (t) => {
  const { daemon, piece, enamel } = await shed(t);
  const oven = await made(daemon.post('/api/v1/places', { name: 'oven', kind: 'oven', volume_m3: 0.3 }));
  await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: enamel.id, amount_ml: 250 }));
  await made(daemon.advance(600));
  const { page, close } = await openPage(browser, `${daemon.url}/#piece?id=${piece.id}`, { size: 'phone' });
  const move = page.locator('form', { has: page.locator('select[name=place]') });
  if (!await move.first().isVisible()) await page.locator('summary', { has: page.getByText(/carr|hang|move/i) }).first().click();
  await move.first().locator('select[name=place]').selectOption(String(oven.id));
  await move.first().locator('button[type=submit]').click();
  await page.locator('.sums').waitFor();
  assert.match(await page.locator('#view').innerText(), /Wet coat hangs in what counts as an oven/);
  assert.match(await sums(page), /A quarter of the lower explosive limit\s+exceeds, and no end/);
  await close();
});
