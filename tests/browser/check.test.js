// May it go on now, and if not, when: asked on the page, answered by the daemon from a fortnight of readings.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, made, openPage, shot } = require('./browser.js');

const NOW = '2026-11-28T08:00:00Z';
const hoursAgo = (hours) => new Date(Date.parse(NOW) - hours * 3600e3).toISOString();

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function readings(daemon, place, airOf) {
  const items = [];
  for (let ago = 14 * 24; ago >= 0; ago -= 1) {
    const at = hoursAgo(ago), [temp_c, rh_pct] = airOf(new Date(at).getUTCHours());
    items.push({ at, temp_c, rh_pct });
  }
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { items }));
}

// Warm and dry by day, damp from nine in the evening to six.
const dampNights = (hour) => (hour >= 21 || hour < 6 ? [16, 90] : [20, 50]);

async function shed(t, airOf) {
  const daemon = await startDaemon({ testClock: NOW });
  t.after(() => daemon.stop());
  await made(daemon.patch('/api/v1/shop', { work_from: '17:00', work_to: '22:00' }));
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  const piece = await made(daemon.post('/api/v1/pieces', { name: 'mill body', place: place.id, wall_mm: 6 }));
  if (airOf) await readings(daemon, place, airOf);
  const { items } = await made(daemon.get('/api/v1/materials'));
  return { daemon, place, piece, of: (name) => items.find((one) => one.class === name) };
}

for (const [size, scheme] of [['wall', 'light'], ['phone', 'dark'], ['small', 'light']]) {
  test(`with a dry fortnight, on a ${size} in ${scheme}: yes after two taps, and one more goes on to the log form, filled in`, async (t) => {
    const { daemon, place, piece, of } = await shed(t, () => [20, 50]);
    const primer = of('alkyd-primer');
    await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: primer.id, last_at: hoursAgo(40) }));
    const { page, close } = await openPage(browser, daemon.url, { size, scheme });
    await page.locator('#view').getByRole('link', { name: 'May I spray now?' }).click();
    await page.locator('.choice', { hasText: primer.name }).first().click();
    await page.locator('.choice', { hasText: 'mill body' }).click();
    assert.match(await page.getByRole('button', { name: /Ask/ }).textContent(), /primer, alkyd in shed, mill body, now/);
    await assertCautions(page, 'question');
    await assertFits(page, 'question');
    await shot(page, `ask-${size}-${scheme}`);
    await page.getByRole('button', { name: /Ask/ }).click();

    const verdict = page.locator('.verdict');
    await verdict.getByText('Yes, now').waitFor();
    assert.match(await verdict.innerText(), /primer, alkyd in shed, on mill body/);
    assert.match(await page.locator('.facts').innerText(), /temperature\s+20 °C[\s\S]*humidity\s+50 %[\s\S]*dew point\s+9\.3 °C[\s\S]*surface of the piece\s+about 20 °C\s+10\.7 °C above the dew point/);
    assert.match(await page.getByRole('region', { name: 'Would land on' }).innerText(), /primer, alkyd\s+next coat: open[\s\S]*Goes over that/);
    assert.match(await page.getByRole('region', { name: 'Windows' }).innerText(), /next coat from about[\s\S]*Your hours: 17:00 to 22:00/);
    assert.match(await page.getByRole('region', { name: 'What to mind' }).innerText(), /Rags under water[\s\S]*product label/i);
    await assertCautions(page, 'yes');
    await assertFits(page, 'yes');
    await shot(page, `yes-${size}-${scheme}`);

    await page.getByRole('link', { name: /Log it/ }).click();
    const log = page.getByRole('button', { name: /Log it/ });
    await log.waitFor();
    assert.match(await log.textContent(), /mill body: primer, alkyd, normal, now/);
    await log.click();
    await page.getByText('Written down.').waitFor();
    const { items } = await made(daemon.get(`/api/v1/coats?piece=${piece.id}`));
    assert.deepEqual(items.filter((coat) => coat.status === 'on').map((coat) => [coat.material.name, coat.place]), [['primer, alkyd', place.id]]);
    await close();
  });
}

for (const [size, scheme] of [['wall', 'dark'], ['phone', 'light'], ['small', 'dark']]) {
  test(`with a damp night to come, on a ${size} in ${scheme}: no in the afternoon, why, and the next good hours with each refused stretch`, async (t) => {
    const { daemon, place, of } = await shed(t, dampNights);
    await made(daemon.advance('2026-11-28T16:00:00Z'));
    await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 20, rh_pct: 50 }));
    const enamel = of('alkyd-enamel');
    const answer = await made(daemon.get(`/api/v1/check?material=${enamel.id}&place=${place.id}`));
    const { page, close } = await openPage(browser, `${daemon.url}/#check?material=${enamel.id}&place=${place.id}`, { size, scheme });
    await page.locator('.verdict').getByText('No, not now').waitFor();
    assert.match(await page.locator('.refusals').innerText(), /^Too damp: 9\d %, at most 85 %, from about 2\d:00$/);
    assert.match(await page.locator('.nextgood').innerText(), /^Next good hours to begin: Sun 0\d:00 to /);
    const rows = page.locator('.hours li');
    assert.equal(await rows.count(), answer.stretches.length);
    for (const [i, one] of answer.stretches.entries()) assert.match(await rows.nth(i).innerText(), one.good ? /good\s+The air holds until it is tack-free/ : / no\s+\w/);
    assert.equal(await page.getByRole('link', { name: /Log it/ }).count(), 0, 'a no does not lead to the log');
    await assertCautions(page, 'no');
    await assertFits(page, 'no');
    await shot(page, `no-${size}-${scheme}`);
    await page.getByRole('link', { name: /Ask again/ }).click();
    assert.ok(await page.locator('.choice', { hasText: enamel.name }).getByRole('radio').isChecked(), 'what was asked stays chosen');
    await page.locator('.choice', { hasText: 'later' }).click();
    await page.getByLabel('At', { exact: true }).fill('2026-11-27T09:00');
    await page.getByLabel('At', { exact: true }).blur();
    await page.getByRole('button', { name: /Ask/ }).click();
    await page.locator('.outcome', { hasText: 'Fri 09:00 is over: the shop looks ahead.' }).waitFor();
    await page.getByLabel('At', { exact: true }).fill('2026-11-29T09:00');
    await page.getByLabel('At', { exact: true }).blur();
    await page.getByRole('button', { name: /Ask/ }).click();
    await page.locator('.verdict').getByText('Yes, Sun 09:00').waitFor();
    assert.equal(await page.getByRole('link', { name: /Log it/ }).count(), 0, 'a coat to come is not logged');
    await shot(page, `later-${size}-${scheme}`);
    await close();
  });
}

test('without a reading: not known, and the way to enter the air; in a cold shop too, with the limit that it breaks', async (t) => {
  const { daemon, place, piece, of } = await shed(t, null);
  const enamel = of('alkyd-enamel');
  const { page, close } = await openPage(browser, `${daemon.url}/#check?material=${enamel.id}&place=${place.id}`, { size: 'phone' });
  await page.getByText('Not known: read the air first').waitFor();
  await shot(page, 'unknown-phone-light');
  await page.getByRole('link', { name: /Enter the air/ }).click();
  await page.getByLabel(/Temperature/).waitFor();
  await page.goto(`${daemon.url}/#check?material=${enamel.id}&place=${place.id}&piece=${piece.id}`);
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: -2, rh_pct: 60 }));
  await page.locator('.refusals', { hasText: 'Too cold: -2 °C, at least 10 °C' }).waitFor(); // the answer follows the reading by itself
  assert.match(await page.getByRole('region', { name: 'Would land on' }).innerText(), /No coat in the record/);
  await close();
});

test('given a log form half filled in, then the question has the same piece, material and place, and is asked at once', async (t) => {
  const { daemon, piece, of } = await shed(t, () => [20, 50]);
  const { page, close } = await openPage(browser, `${daemon.url}/#log?piece=${piece.id}&material=${of('spray-enamel').id}`, { size: 'phone' });
  await page.getByRole('link', { name: 'May I spray now?' }).click();
  await page.locator('.verdict').getByText('Yes, now').waitFor();
  assert.match(await page.locator('.verdict').innerText(), /spray enamel, alkyd aerosol in shed, on mill body/);
  await close();
});

test('the question is asked and answered by the keyboard alone', async (t) => {
  const { daemon, of } = await shed(t, () => [20, 50]);
  const { page, close } = await openPage(browser, `${daemon.url}/#check`, { size: 'wall' });
  await page.getByRole('radio', { name: new RegExp(of('alkyd-enamel').name) }).focus();
  await page.keyboard.press('Space');
  await page.getByRole('button', { name: /Ask/ }).focus();
  await page.keyboard.press('Enter');
  await page.getByText('Yes, now').waitFor();
  await page.getByText('Hours to begin').focus();
  await page.keyboard.press('Enter');
  await page.locator('.hours li').first().waitFor({ state: 'visible' });
  await close();
});
