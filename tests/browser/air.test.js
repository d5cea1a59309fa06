// The plots of the air, against the daemon: a shed whose sensor was silent for six hours, with coats on three pieces.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const axe = require('axe-core');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, openPage, shot } = require('./browser.js');

const NOW = '2026-11-28T14:35:00Z', HOUR = 3600e3, DAYS = 40;
const iso = (hoursAgo) => new Date(Date.parse(NOW) - hoursAgo * HOUR).toISOString();
const SILENT = [25.5, 19]; // hours ago, from and to

let browser, daemon, shed, loft;

async function must(promise) {
  const answer = await promise;
  assert.ok(answer.status < 300, answer.text);
  return answer.body;
}

// Warm in the afternoon, cold before dawn; a reading each ten minutes.
function airAt(hoursAgo) {
  const hour = 14 + 35 / 60 - hoursAgo, wave = Math.sin(((hour - 9) / 24) * 2 * Math.PI);
  return { at: iso(hoursAgo), temp_c: Number((14 + 5 * wave).toFixed(2)), rh_pct: Number((65 - 10 * wave).toFixed(1)) };
}

async function furnish() {
  await must(daemon.patch('/api/v1/shop', { zone: 'Europe/Vienna' }));
  shed = await must(daemon.post('/api/v1/places', { name: 'shed' }));
  loft = await must(daemon.post('/api/v1/places', { name: 'loft' }));
  const items = [];
  for (let k = DAYS * 144; k >= 0; k -= 1) { const ago = k / 6; if (ago >= SILENT[0] || ago <= SILENT[1]) items.push(airAt(ago)); }
  await must(daemon.post(`/api/v1/places/${shed.id}/readings`, { items }));
  const materials = (await must(daemon.get('/api/v1/materials'))).items, of = (name) => materials.find((one) => one.class === name).id;
  for (const [name, material, ago] of [['mill body', 'alkyd-primer', 40], ['mill wheel', 'spray-enamel', 12], ['КОЖУХ ВЕНТИЛЯТОРА', 'alkyd-enamel', 3]]) {
    const piece = await must(daemon.post('/api/v1/pieces', { name, place: shed.id }));
    await must(daemon.post('/api/v1/coats', { pieces: [piece.id], material: of(material), first_at: iso(ago), last_at: iso(ago) }));
  }
}

before(async () => { browser = await launch(); daemon = await startDaemon({ testClock: NOW }); await furnish(); });
after(async () => { await browser.close(); await daemon.stop(); });

async function openPlot(options = {}, place = shed) {
  const opened = await openPage(browser, `${daemon.url}/#air?place=${place.id}`, options);
  await opened.page.locator('.airplot canvas').nth(1).waitFor();
  await opened.page.locator('.airsum').filter({ hasText: /./ }).waitFor();
  return opened;
}

const settled = (page) => page.locator('.airplot[aria-busy=false]').waitFor();
const sum = (page) => page.locator('.airsum').textContent();

for (const [size, scheme] of [['wall', 'light'], ['wall', 'dark'], ['tablet', 'light'], ['phone', 'light'], ['phone', 'dark'], ['small', 'light']]) {
  test(`the air of a place on a ${size} in ${scheme}: nothing cut off, targets large enough, cautions in sight, no finding`, async () => {
    const { page, close } = await openPlot({ size, scheme, context: { bypassCSP: true } });
    await settled(page);
    await assertFits(page, 'plot');
    await assertCautions(page, 'plot');
    const little = await page.evaluate(() => [...document.querySelectorAll('#view button, #view summary, #view .tag, #view .switch')].map((el) => [el.textContent, el.getBoundingClientRect()]).filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5)).map(([text, box]) => `${text} ${box.width}x${box.height}`));
    assert.deepEqual(little, []);
    await shot(page, `plot-${size}-${scheme}`);
    await page.locator('.airplot').scrollIntoViewIfNeeded();
    await page.evaluate(() => scrollBy(0, 260));
    await shot(page, `plot-${size}-${scheme}-below`);
    await page.getByText('The figures as a table').click();
    await page.getByText('Coats in this span').click();
    await page.evaluate(axe.source);
    const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
    assert.deepEqual(violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 160)).join(' | ')}`), []);
    await close();
  });
}

test('the strict policy holds with the plot open, and the library comes only with it', async () => {
  const { page, close } = await openPage(browser, daemon.url, { size: 'wall' });
  await page.locator('.aircell').first().waitFor();
  const asked = () => page.evaluate(() => performance.getEntriesByType('resource').map((one) => new URL(one.name).pathname));
  assert.ok(!(await asked()).some((path) => /vendor|air/.test(path)), 'not with the first view');
  await page.locator('.aircell').first().click();
  await page.locator('.airplot canvas').first().waitFor();
  assert.ok((await asked()).some((path) => /vendor\/uplot/.test(path)));
  await close(); // fails where the policy refused something
});

test('one sentence says what the picture shows, with the hours that nobody measured', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  assert.match(await sum(page), /^From Thu \d\d:\d\d to 15:35: 9 to 19 °C, 55 to 75 %, dew point [\d.]+ to [\d.]+ °C\. No reading for about (6|7) h: there the shop counts on assumed air\.$/);
  await page.getByText('The figures as a table').click();
  const rows = page.locator('.airtable tbody tr');
  assert.ok(await rows.count() > 30 && await rows.count() <= 50, `${await rows.count()} rows`);
  assert.equal(await page.locator('.airtable td', { hasText: 'no reading' }).count(), 1, 'the silence is one row');
  await close();
});

test('assumed air is not drawn: the line is broken where nobody measured, and joined where readings lie apart by less than they are held', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  // The columns that the plot draws, from the document that it was given.
  const broken = await page.evaluate(async (place) => {
    const { columnsOf } = await import('/assets/airdraw.js');
    const doc = await (await fetch(`/api/v1/places/${place}/air?bins=1000`)).json();
    const { x, temp } = columnsOf(doc);
    return { nulls: temp[2].map((value, i) => (value === null ? x[i] : null)).filter((value) => value !== null), points: x.length, gaps: doc.gaps.map((gap) => [Date.parse(gap.from_at) / 1e3, Date.parse(gap.to_at) / 1e3]) };
  }, shed.id);
  assert.equal(broken.gaps.length, 1);
  assert.equal(broken.nulls.length, 1, 'one break');
  assert.ok(broken.nulls[0] > broken.gaps[0][0] && broken.nulls[0] < broken.gaps[0][1], 'inside the gap');
  assert.ok(broken.points > 200, 'the many empty bins in between are no breaks');
  await close();
});

test('pointing at a moment, or touching it, reads it in words', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  const box = await page.locator('.u-over').first().boundingBox();
  await page.mouse.move(box.x + box.width * 0.8, box.y + 40);
  await page.waitForFunction(() => /°C.*%.*dew point/.test(document.querySelector('.airsays').textContent));
  await page.mouse.move(box.x + box.width * 0.45, box.y + 40);
  await page.waitForFunction(() => /no reading, air assumed/.test(document.querySelector('.airsays').textContent));
  await page.mouse.move(box.x + box.width - 4, box.y + 40);
  await page.waitForFunction(() => /yet to come/.test(document.querySelector('.airsays').textContent));
  await close();
  const phone = await openPlot({ size: 'phone' });
  const over = await phone.page.locator('.u-over').first().boundingBox();
  await phone.page.touchscreen.tap(over.x + over.width * 0.8, over.y + 60);
  await phone.page.waitForFunction(() => /°C.*%.*dew point/.test(document.querySelector('.airsays').textContent));
  await shot(phone.page, 'plot-touched-phone');
  await phone.close();
});

test('spans by button, and back to now; each fetched as fine as the picture', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  for (const [name, pattern] of [['7 days', /^From Sun 22 Nov|^From Sat 21 Nov|^From Sun/], ['30 days', /^From \w+ \d+ (Oct|Nov)/], ['1 year', /^From \d+ November 2025/], ['24 h', /^From Fri/]]) {
    await page.getByRole('button', { name, exact: true }).click();
    await settled(page);
    assert.match(await sum(page), pattern, name);
    assert.equal(await page.getByRole('button', { name, exact: true }).getAttribute('aria-pressed'), 'true');
    await shot(page, `plot-${name.replace(' ', '')}`);
  }
  await page.getByRole('button', { name: 'all', exact: true }).click();
  await settled(page);
  assert.match(await sum(page), /^From Mon 19 Oct 16:\d\d to 15:35/, 'from the first reading on');
  await close();
});

test('moved by keys, wheel and drag; the keyboard alone reaches everything', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  const from = async () => { await settled(page); return (await sum(page)).match(/^From (.*?) to/)[1]; };
  const start = await from();
  await page.locator('.airplot').focus();
  await page.keyboard.press('ArrowLeft');
  const earlier = await from();
  assert.notEqual(earlier, start);
  await page.keyboard.press('ArrowRight');
  assert.equal(await from(), start);
  await page.keyboard.press('+');
  const nearer = await from();
  assert.notEqual(nearer, start);
  await page.keyboard.press('-');
  const box = await page.locator('.u-over').first().boundingBox();
  await page.mouse.move(box.x + 300, box.y + 60);
  await page.mouse.down();
  await page.mouse.move(box.x + 600, box.y + 70, { steps: 6 });
  await page.mouse.up();
  const dragged = await from();
  assert.match(dragged, /^Thu|^Wed/);
  assert.notEqual(dragged, start);
  await page.mouse.wheel(0, 400);
  assert.notEqual(await from(), dragged, 'the wheel shows more hours');
  await page.locator('.airplot').focus();
  await page.keyboard.press('End');
  await settled(page);
  assert.match(await sum(page), /to 15:35:/);
  await close();
});

test('coats stand over the plot with their stages, and the limits that they want of the air in words', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  assert.equal(await page.locator('.aircoats .piecename').count(), 3);
  const over = await page.locator('.aircoats text').evaluateAll((all) => all.map((one) => one.getBoundingClientRect().right - one.ownerSVGElement.getBoundingClientRect().right).filter((px) => px > 0));
  assert.deepEqual(over, [], 'no name stands out of the plot');
  assert.ok(await page.locator('.aircoats .mark.passed').count() > 3);
  assert.match(await page.locator('.airlimits').textContent(), /primer, alkyd: 10 °C to 32 °C, at most 85 %; it was colder for about \d+ h/);
  await page.getByText('Coats in this span').click();
  assert.match(await page.locator('.airdetails .plainlist').textContent(), /mill wheel, spray enamel[^:]*\(2\): set to touch \d\d:\d\d/);
  await close();
});

test('the sensor that counts is named, and heated hours are told', async () => {
  await must(daemon.post(`/api/v1/places/${shed.id}/heating`, { until_at: new Date(Date.parse(NOW) + 2 * HOUR).toISOString() }));
  await must(daemon.advance(1800));
  const { page, close } = await openPlot({ size: 'wall' });
  assert.match(await page.locator('.airnow').textContent(), /read 15:35; readings by hand count$/);
  assert.match(await sum(page), /Heated for about 30 min\./);
  await page.getByRole('button', { name: '24 h', exact: true }).click();
  await settled(page);
  await shot(page, 'plot-heated');
  await close();
});

test('US units and another zone', async () => {
  await must(daemon.patch('/api/v1/shop', { units: 'us', zone: 'America/Chicago' }));
  const { page, close } = await openPlot({ size: 'wall' });
  assert.match(await sum(page), /^From Thu \d\d:\d\d to 09:05: 48 to 66 °F, 55 to 75 %/);
  await shot(page, 'plot-us');
  await close();
  await must(daemon.patch('/api/v1/shop', { units: 'metric', zone: 'Europe/Vienna' }));
});

test('a new reading is drawn without a hand, and the span that was chosen stays', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  await page.getByRole('button', { name: '24 h', exact: true }).click();
  await settled(page);
  await must(daemon.post(`/api/v1/places/${shed.id}/readings`, { at: iso(0.02), temp_c: 31, rh_pct: 50 }));
  await page.waitForFunction(() => /to 31 °C/.test(document.querySelector('.airsum').textContent));
  assert.equal(await page.getByRole('button', { name: '24 h', exact: true }).getAttribute('aria-pressed'), 'true');
  await close();
});

test('a place without any reading shows the form; the plot leads to it as well', async () => {
  const { page, close } = await openPage(browser, `${daemon.url}/#air?place=${loft.id}`, { size: 'phone' });
  await page.getByLabel(/Temperature/).waitFor();
  await page.goto(`${daemon.url}/#air?place=${shed.id}`);
  await page.locator('.airplot canvas').first().waitFor();
  await page.locator('#view').getByRole('link', { name: 'Enter air' }).click();
  await page.getByLabel(/Temperature/).waitFor();
  await close();
});

test('given a network that goes, then the plot says so and keeps what it last knew', async () => {
  const { page, context } = await openPlot({ size: 'wall', offline: true });
  await context.setOffline(true);
  await page.getByRole('button', { name: '1 year', exact: true }).click();
  await page.getByText('The air could not be fetched').waitFor();
  assert.ok(await page.locator('.airplot canvas').first().isVisible());
  await context.close();
});

// How many points of the first panel are of the ink of a theme.
const inked = (page, hex) => page.evaluate((ink) => {
  const [r, g, b] = [1, 3, 5].map((i) => parseInt(ink.slice(i, i + 2), 16)), canvas = document.querySelector('.airplot canvas'), { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  let points = 0;
  for (let i = 0; i < data.length; i += 4) if (data[i + 3] > 250 && Math.abs(data[i] - r) + Math.abs(data[i + 1] - g) + Math.abs(data[i + 2] - b) < 7) points += 1;
  return points;
}, hex);
const inkOf = (page) => page.evaluate(() => getComputedStyle(document.documentElement).getPropertyValue('--ink').trim());

test('the theme may change while it is open', async () => {
  const { page, close } = await openPlot({ size: 'wall' });
  await settled(page);
  const light = await inkOf(page);
  assert.ok(await inked(page, light) > 300, 'the line is there');
  await page.getByRole('button', { name: 'Dark' }).first().click();
  await page.locator('html[data-theme=dark]').waitFor();
  const dark = await inkOf(page);
  assert.notEqual(dark, light);
  for (let i = 0; i < 100 && await inked(page, dark) <= 300; i += 1) await page.waitForTimeout(100); // it is drawn anew when the style has come
  assert.ok(await inked(page, dark) > 300, 'the line is light on dark');
  assert.ok(await inked(page, light) < 50, 'and nothing of the dark one is left');
  await close();
});
