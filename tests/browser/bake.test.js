// A bake on the page: from its review, which prints on one sheet, to the cold part.
'use strict';

const assert = require('node:assert/strict');
const axe = require('axe-core');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, made, openPage, shot } = require('./browser.js');

const SHOTS = require('node:path').resolve(__dirname, '../../build/screenshots');
const MUST_NO = ['sealed-hollow', 'food-oven', 'open-element-or-pilot', 'near-solvent', 'oven-below-ground'];

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

// A mill body with black japan that has flashed off, and an oven of 100 l whose exhaust was measured.
async function shed(t) {
  const daemon = await startDaemon({ testClock: '2026-11-28T06:00:00Z' });
  t.after(() => daemon.stop());
  const garage = await made(daemon.post('/api/v1/places', { name: 'garage', volume_m3: 60, airflow_m3h: 300 }));
  const oven = await made(daemon.post('/api/v1/places', { name: 'oven', kind: 'oven', volume_m3: 0.1, airflow_m3h: 20, airflow_measured: true }));
  const air = () => made(daemon.post(`/api/v1/places/${garage.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  await air();
  const piece = await made(daemon.post('/api/v1/pieces', { name: 'mill body', place: garage.id, old_finish: 'tested clear', wall_mm: 6 }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const japan = items.find((one) => one.class === 'baking-japan');
  const coat = (await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: japan.id, amount_ml: 60 }))).items[0];
  for (let hour = 0; hour < 5; hour++) {
    await made(daemon.advance(3600));
    await air();
  }
  return { daemon, oven, piece, coat };
}

const said = (page) => page.locator('#view').innerText();

async function answer(page, about, value) {
  await page.locator(`input[name="${about}"][value=${value}]`).check();
  await page.locator(`fieldset.asked.good:has(input[name="${about}"])`).waitFor();
}

async function findings(page) {
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }));
  return violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 160)).join(' | ')}`);
}

async function sheets(page) {
  const pdf = (await page.pdf({ format: 'A4', path: `${SHOTS}/bake-review.pdf` })).toString('latin1');
  return (pdf.match(/\/Type\s*\/Page\b/g) || []).length;
}

test('from the piece to the review, its answers, the heat, and a part that can be touched', async (t) => {
  const { daemon, piece } = await shed(t);
  const { page, close } = await openPage(browser, `${daemon.url}/#piece?id=${piece.id}`, { size: 'phone', offline: true });
  await page.getByRole('link', { name: 'Review its bake' }).click();
  await page.locator('input[name=target]').fill('149');
  await page.getByRole('button', { name: 'Review it' }).click();
  await page.locator('.refusals').waitFor();
  const order = ['.minds', '.sums', '.asks', '.things', '.refusals'];
  const tops = [];
  for (const part of order) tops.push((await page.locator(part).first().boundingBox()).y);
  assert.deepEqual(tops, [...tops].sort((a, b) => a - b)); // cautions first, sums next, the list last
  assert.equal(await page.getByRole('button', { name: 'Begin the bake' }).isDisabled(), true);
  assert.match(await said(page), /A quarter of that limit\s+not shown to exceed/);
  await assertFits(page, 'the review');
  await assertCautions(page, 'the review');
  await shot(page, 'bake-review-phone');
  assert.equal(await sheets(page), 1);
  const names = await page.locator('fieldset.asked').evaluateAll((all) => all.map((one) => one.querySelector('input').name));
  for (const about of names) await answer(page, about, MUST_NO.includes(about) ? 'no' : 'yes');
  await page.locator('.clear').waitFor();
  await page.locator('input[name=rubber]').check();
  await page.locator('.refusals', { hasText: 'rubber' }).waitFor();
  await page.locator('input[name=rubber]').uncheck();
  await page.locator('.clear').waitFor();
  await page.getByRole('button', { name: 'Begin the bake' }).click();
  await page.locator('.running').waitFor();
  await made(daemon.advance(2 * 3600));
  await page.goto(`${daemon.url}/#bake?id=1`);
  await page.reload();
  await page.locator('.running').waitFor();
  assert.match(await said(page), /baking[\s\S]*149 °C as it was told: nobody reads it[\s\S]*mill body, baked\s+[1-9]\d? %/);
  assert.doesNotMatch(await said(page), /object/);
  assert.match(await said(page), /mill body\s+\d[\d.]* °C( to [\d.]+ °C)? by how it follows its oven/);
  assert.match(await said(page), /Heat off\s+\S*\d\d:\d\d[\s\S]*To touch\s+not before/);
  await page.goto(`${daemon.url}/#`);
  await page.locator('[aria-label="Hot ovens"] li', { hasText: /Bake 1, mill body: baking, heat off in \d/ }).waitFor();
  await page.locator('[aria-label="Hot ovens"] a').click();
  await page.locator('.running').waitFor();
  await assertFits(page, 'the running bake');
  await shot(page, 'bake-running-phone');
  await page.locator('summary', { hasText: 'Read the oven' }).click();
  await page.locator('input[name=oven]').fill('147');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.locator('#said', { hasText: 'what the oven says' }).waitFor();
  await page.getByRole('button', { name: 'The heat is off' }).click();
  await page.locator('h1', { hasText: 'cooling' }).waitFor();
  assert.match(await said(page), /not shown to be baked through/);
  await made(daemon.advance(6 * 3600));
  await page.goto(`${daemon.url}/#piece?id=${piece.id}`);
  await page.reload();
  await page.getByRole('link', { name: 'bake it again' }).waitFor();
  await close();
});

test('a start that is refused elsewhere says why, and a wrong answer says what it must be', async (t) => {
  const { daemon, coat, oven } = await shed(t);
  await made(daemon.post('/api/v1/bakes', { place: oven.id, parts: [{ coat: coat.id }], steps: [{ target_c: 149 }] }));
  const { page, close } = await openPage(browser, `${daemon.url}/#bake?id=1`, { size: 'wall', scheme: 'dark', context: { bypassCSP: true } });
  await page.locator('.refusals').waitFor();
  await page.locator('input[name="food-oven"][value=yes]').check();
  await page.locator('fieldset.asked.bad', { hasText: 'it must be no' }).waitFor();
  assert.match(await page.locator('fieldset.asked.bad').innerText(), /use an oven that never sees food/);
  assert.deepEqual(await findings(page), [], 'the review');
  await assertFits(page, 'the review on the wall');
  await shot(page, 'bake-review-wall-dark');
  await page.getByRole('button', { name: 'Give it up' }).click();
  await page.locator('h1', { hasText: 'given up' }).waitFor();
  await page.goto(`${daemon.url}/#bake`);
  await page.getByRole('link', { name: /Bake 1, mill body/ }).waitFor();
  await page.goto(`${daemon.url}/#bake?new=1`);
  await page.getByRole('button', { name: 'Review it' }).waitFor();
  assert.deepEqual(await findings(page), [], 'a new review');
  await close();
});

test('in US units the exhaust that is wanted is rounded up, the one that counts down', async (t) => {
  const { daemon, coat, oven } = await shed(t);
  const bake = await made(daemon.post('/api/v1/bakes', { place: oven.id, parts: [{ coat: coat.id }], steps: [{ target_c: 149 }] }));
  await made(daemon.patch('/api/v1/shop', { units: 'us' }));
  const { page, close, wrong } = await openPage(browser, `${daemon.url}/#bake?id=${bake.id}`, { size: 'tablet' });
  await page.locator('.sums').waitFor();
  assert.doesNotMatch(await said(page), /\d (C|ml|m3\/h)\b/, 'and no sentence of the shop is in metric');
  assert.match(await said(page), /27 °F above the hottest row/);
  const [, wanted, counted] = /Exhaust wanted\s+([\d.]+) cfm ([\d.]+) cfm counted/.exec(await said(page));
  const cfm = (m3h) => m3h / 1.699010795520; // 1 ft is 0.3048 m
  const { needs_m3h: needs, has_m3h: has } = bake.review.vapour;
  assert.ok(Number(wanted) >= cfm(needs) - 1e-6 && Number(wanted) < cfm(needs) + 0.1, `${wanted} of ${cfm(needs)}`);
  assert.ok(Number(counted) <= cfm(has) + 1e-6 && Number(counted) > cfm(has) - 0.1, `${counted} of ${cfm(has)}`);
  await page.goto(`${daemon.url}/#bake?coat=${coat.id}`);
  await page.getByLabel('How hot, °F').fill('90');
  await page.getByRole('button', { name: 'Review it' }).click();
  await page.locator('.outcome', { hasText: /^At 90 °F nothing bakes \(the coldest bake row is \d+ °F\).*: fill in how long$/ }).waitFor();
  assert.match(wrong.splice(0).join(), /^Failed to load resource: .* 422/);
  await close();
});
