// Why a coat's times are what they are, and what a thumb said of it, on the page.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, openPage, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function primedBody(daemon) {
  const place = (await daemon.post('/api/v1/places', { name: 'shed' })).body;
  const piece = (await daemon.post('/api/v1/pieces', { name: 'mill body', place: place.id })).body;
  const primer = (await daemon.get('/api/v1/materials')).body.items.find((one) => one.class === 'alkyd-primer');
  const logged = await daemon.post('/api/v1/coats', { pieces: [piece.id], material: primer.id, film: 'heavy', last_at: '2026-11-28T02:00:00Z', air: { temp_c: 13, rh_pct: 70 } });
  assert.equal(logged.status, 201, logged.text);
  for (let hour = 3; hour <= 8; hour += 1) await daemon.post(`/api/v1/places/${place.id}/readings`, { at: `2026-11-28T0${hour}:00:00Z`, temp_c: 13, rh_pct: 70 });
  return { piece, coat: logged.body.items[0] };
}

for (const [size, scheme] of [['wall', 'light'], ['phone', 'dark']]) {
  test(`the hours of a coat add up on a ${size} in ${scheme}, and a thumb that says not yet is kept`, async () => {
    const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
    const { piece, coat } = await primedBody(daemon);
    const { page, close } = await openPage(browser, `${daemon.url}/#piece?id=${piece.id}`, { size, scheme });
    await page.getByText('Why these times').click();
    const next = page.locator('.why', { hasText: 'next coat' });
    await next.waitFor();
    const text = await next.innerText();
    assert.match(text, /the table, at 23 °C/);
    assert.match(text, /film, 1\.96 times/);
    assert.match(text, /damp air, up to 70 %/);
    const told = [...text.matchAll(/^([+−]) ([\d.]+) h/gm)].reduce((sum, [, sign, hours]) => sum + (sign === '+' ? 1 : -1) * Number(hours), 0);
    const total = Number(text.match(/^([\d.]+) h/m)[1]);
    assert.ok(Math.abs(told - total) < 0.35, `${told} is not ${total}`); // each is rounded to 0.1
    await assertFits(page, 'why');
    await shot(page, `why-${size}-${scheme}`);

    await page.getByText('Tests at the bench: 0').click();
    await page.getByLabel('Tested just now').selectOption('touch');
    await page.getByRole('button', { name: 'Not yet' }).click();
    await page.getByText('Tests at the bench: 1').waitFor();
    assert.equal(await page.locator('details[open]', { hasText: 'Why these times' }).count(), 1, 'what was open stays open');
    const { coat: tested } = (await daemon.get(`/api/v1/coats/${coat.id}`)).body;
    assert.deepEqual(tested.tests.map((one) => [one.stage, one.passed]), [['touch', false]]);
    await assertCautions(page, 'bench test');
    await assertFits(page, 'bench test');
    await shot(page, `bench-test-${size}-${scheme}`);
    await close();
    await daemon.stop();
  });
}
