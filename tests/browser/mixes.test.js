// Batches of two-part materials and the tins, kept on the page.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, made, openPage, seconds, settled, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function shed(t, temp_c) {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  t.after(() => daemon.stop());
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  await made(daemon.post('/api/v1/places', { name: 'cabinet', kind: 'cabinet' }));
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c, rh_pct: 50 }));
  const piece = await made(daemon.post('/api/v1/pieces', { name: 'mill body', place: place.id }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  return { daemon, place, piece, of: (name) => items.find((one) => one.class === name) };
}

// Lets hours pass with a reading each half hour, so that the air stays measured.
async function pass(daemon, place, hours, temp_c) {
  for (let i = 0; i < hours * 2; i += 1) {
    await made(daemon.advance(1800));
    await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c, rh_pct: 50 }));
  }
}

for (const [size, scheme] of [['wall', 'light'], ['phone', 'dark'], ['small', 'light']]) {
  test(`a batch mixed at 21 °C on a ${size} in ${scheme}: it stands an hour, is ready, is logged from, and is over when its pot life is`, async (t) => {
    const { daemon, place, of } = await shed(t, 21);
    const epoxy = of('epoxy-primer');
    const { page, close } = await openPage(browser, `${daemon.url}/#mix`, { size, scheme });
    await page.locator('.choice', { hasText: epoxy.name }).click();
    await page.locator('.choice', { hasText: 'shed' }).click();
    const tag = page.getByRole('button', { name: /^Mixed/ });
    assert.match(await tag.textContent(), new RegExp(`${epoxy.name} in shed, now`));
    await tag.click();
    // Its pot life is 4 h at 21 °C; the air that nobody has read yet counts as warm.
    await page.getByText(/mixed, written down\. Ready about 09:00\. Use by 11:00\./).waitFor();
    const standing = page.getByRole('region', { name: 'Standing' });
    assert.match(await standing.innerText(), /epoxy primer, two-part\s+mixed 08:00, shed[\s\S]*wait, ready in (59 min|1 h)/);
    assert.match(await page.getByRole('region', { name: 'What to mind' }).innerText(), /Two-part: no spraying at home[\s\S]*product label/i);
    await assertCautions(page, 'mixed');
    await assertFits(page, 'mixed');
    await shot(page, `mixed-${size}-${scheme}`);

    await pass(daemon, place, 1.5, 21);
    await standing.getByText('stir again, then use it').waitFor({ timeout: 15000 });
    let left = 0; // the page hears of the time that passed before it hears of the air of it
    for (let i = 0; i < 600 && left <= 2 * 3600; i++) {
      left = seconds(await standing.locator('.countdown').innerText());
      await page.waitForTimeout(25);
    }
    assert.ok(left <= 2.5 * 3600 && left > 2 * 3600, `${left} s are left`);
    await page.goto(`${daemon.url}/#`);
    await page.getByRole('list', { name: 'Mixes' }).getByText(/ready, 2 h/).waitFor();
    await assertFits(page, 'a batch on the front view');
    await shot(page, `mix-ready-${size}-${scheme}`);

    await page.goto(`${daemon.url}/#mix`);
    await standing.getByRole('link', { name: /log coat/i }).click();
    assert.ok(await page.locator('.choice', { hasText: epoxy.name }).getByRole('radio').first().isChecked(), 'the log has its material chosen');
    await page.goto(`${daemon.url}/#mix`);
    await pass(daemon, place, 3, 21);
    await page.getByRole('region', { name: 'Over' }).getByText(/Over since 12:00: do not use it any more/).waitFor({ timeout: 15000 });
    await standing.waitFor({ state: 'detached', timeout: 15000 }); // the page may still be at the moment before its last air came
    assert.equal(await standing.count(), 0, 'what is over does not stand any more');
    await page.getByRole('region', { name: 'Over' }).getByText(/Over since 12:00: do not use it any more/).waitFor();
    await shot(page, `mix-over-${size}-${scheme}`);
    await close();
  });
}

test('a batch in a place without a reading: when it is ready is not known, and the page says so', async (t) => {
  const { daemon, of } = await shed(t, 21);
  const { page, close } = await openPage(browser, `${daemon.url}/#mix`, { size: 'phone' });
  await page.locator('.choice', { hasText: of('epoxy-primer').name }).click();
  await page.locator('.choice', { hasText: 'cabinet' }).click();
  await page.getByRole('button', { name: /^Mixed/ }).click();
  await page.getByRole('region', { name: 'Standing' }).getByText('not known when it is ready').waitFor();
  await close();
});

test('an answer that comes late does not draw over the view that was gone to meanwhile', async (t) => {
  const { daemon } = await shed(t, 21);
  const { page, close } = await openPage(browser, `${daemon.url}/#tins`, { size: 'phone' });
  await page.getByText('No tin yet.').waitFor();
  let letGo;
  const held = new Promise((done) => { letGo = done; });
  await page.route('**/api/v1/mixes?all=1', async (route) => { await held; await route.continue(); });
  await page.evaluate(() => { location.hash = 'mix'; });
  await page.getByRole('heading', { name: 'Mixes' }).waitFor();
  await page.evaluate(() => { location.hash = ''; });
  await page.getByRole('heading', { name: /^Now/ }).waitFor();
  const answered = page.waitForResponse('**/api/v1/mixes?all=1');
  letGo();
  await answered;
  await settled(page);
  assert.equal(await page.getByRole('heading', { name: 'Mixes' }).count(), 0);
  await close();
});

for (const [size, scheme] of [['wall', 'dark'], ['phone', 'light'], ['small', 'dark']]) {
  test(`a tin on a ${size} in ${scheme}: added with its day, opened, named by a coat, past its keep-by, taken away`, async (t) => {
    const { daemon, place, piece, of } = await shed(t, 21);
    const enamel = of('alkyd-enamel');
    const { page, close } = await openPage(browser, `${daemon.url}/#tins`, { size, scheme });
    const add = page.getByRole('region', { name: 'Add a tin' });
    await add.getByLabel('What is in it').selectOption(String(enamel.id));
    await add.getByLabel('What is written on it').fill('black 2');
    await add.getByLabel('Batch').fill('L 0417');
    await add.getByLabel('Keeps to').fill('2026-11-29');
    const opened = add.getByLabel('Opened on');
    await opened.fill('2026-12-24');
    await add.getByRole('button', { name: 'Add the tin' }).click();
    assert.equal(await opened.evaluate((el) => el.validationMessage), 'a day that is still to come');
    await opened.fill('');
    await add.getByRole('button', { name: 'Add the tin' }).click();
    const tin = page.locator('.tin', { hasText: 'black 2' });
    await tin.getByText('batch L 0417, not opened yet, keeps to 29 Nov 2026').waitFor();
    const [stored] = (await made(daemon.get('/api/v1/tins'))).items;
    assert.equal(stored.keep_by_at, '2026-11-30T00:00:00Z', 'a day keeps to its end');
    await tin.getByRole('button', { name: /opened now/i }).click();
    await tin.getByText('opened 28 Nov 2026').waitFor();
    await assertCautions(page, 'tins');
    await assertFits(page, 'tins');
    await shot(page, `tin-${size}-${scheme}`);

    await page.goto(`${daemon.url}/#log?piece=${piece.id}&material=${enamel.id}`);
    await page.getByRole('radiogroup', { name: 'Tin' }).locator('.choice', { hasText: 'black 2' }).click();
    await page.getByRole('button', { name: /Log it/ }).click();
    await page.getByText('Written down.').waitFor();
    assert.equal((await made(daemon.get('/api/v1/shop'))).coats[0].tin.name, 'black 2');

    await page.goto(`${daemon.url}/#tins`);
    await tin.getByText('Change', { exact: true }).click();
    await tin.getByLabel('Keeps to').fill('2026-11-20');
    await shot(page, `tin-change-${size}-${scheme}`);
    await tin.getByRole('button', { name: 'Keep', exact: true }).click();
    await tin.getByText('past its keep-by').waitFor();
    const changed = (await made(daemon.get('/api/v1/tins'))).items[0];
    assert.deepEqual([changed.opened_at, changed.keep_by_at], ['2026-11-28T08:00:00Z', '2026-11-21T00:00:00Z']);
    await page.goto(`${daemon.url}/#log?piece=${piece.id}&material=${enamel.id}`);
    const told = page.getByRole('radiogroup', { name: 'Tin' }).locator('.choice', { hasText: 'black 2' });
    assert.ok(await told.getByRole('radio').isChecked(), 'the tin used last is chosen');
    assert.match(await told.innerText(), /past its keep-by/);
    await shot(page, `log-tin-${size}-${scheme}`);

    await page.goto(`${daemon.url}/#tins`);
    await tin.getByText('Change', { exact: true }).click();
    await tin.getByRole('button', { name: /Take it away/ }).click();
    await page.getByText('No tin yet.').waitFor();
    assert.ok((await made(daemon.get('/api/v1/tins?all=1'))).items[0].removed_at, 'its record stays');
    assert.equal(place.id, 1);
    await close();
  });
}
