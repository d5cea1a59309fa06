// The page in every state it can draw, at the sizes people hold or hang, against an invented shop.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const zlib = require('node:zlib');
const { assertCautions, assertFits, launch, openPage, seconds, settled, shot, SIZES } = require('./browser.js');
const { serveFixture } = require('./fixture-server.js');

let browser, full, empty;
before(async () => { browser = await launch(); full = await serveFixture(); empty = await serveFixture({ empty: true }); });
after(async () => { await browser.close(); await full.close(); await empty.close(); });

const VIEWS = { home: '', line: '#line', log: '#log?piece=1&material=2', piece: '#piece?id=3', air: '#air', notices: '#notices', material: '#material', shop: '#shop', more: '#more', place: '#place', newpiece: '#newpiece',
  check: '#check', checkno: '#check?material=4&place=1&piece=1', checkyes: '#check?material=2&place=1', mix: '#mix', tins: '#tins' };

for (const size of Object.keys(SIZES)) {
  for (const scheme of ['light', 'dark']) {
    test(`every view on a ${size} in ${scheme}: cautions in sight, nothing cut off sideways, all targets large enough`, async () => {
      const { page, close } = await openPage(browser, full.url, { size, scheme });
      for (const [name, hash] of Object.entries(VIEWS)) {
        await page.goto(full.url + hash);
        await page.locator(name === 'home' ? '.rows' : '#view h1').first().waitFor();
        await settled(page);
        await assertFits(page, name);
        await assertCautions(page, name);
        await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
        await assertCautions(page, `${name}, scrolled to the end`);
        await page.evaluate(() => scrollTo(0, 0));
        const little = await page.evaluate(() => [...document.querySelectorAll('button, summary, .tag, .choice, select, input:not([type=radio])')].filter((el) => el.checkVisibility()).map((el) => [el.textContent.slice(0, 30) || el.name, el.getBoundingClientRect()]).filter(([, box]) => box.width > 0 && (box.height < 43.5 || box.width < 43.5)).map(([text, box]) => `${text} ${box.width}x${box.height}`));
        assert.deepEqual(little, [], `${name}: targets too small`);
        await shot(page, `${name}-${size}-${scheme}`);
      }
      await close();
    });
  }
}

test('the reasons open under the plate and no button closes the plate', async () => {
  const { page, close } = await openPage(browser, full.url, { size: 'phone' });
  await page.getByText('all 7').click();
  assert.equal(await page.locator('.reasons li').count(), 7);
  assert.ok(await page.locator('#plate .acts').isVisible());
  assert.equal(await page.locator('#plate button').count(), 0);
  await shot(page, 'reasons-phone-light');
  await close();
});

test('given a network that goes, then the page says so, goes on counting, and catches up with what was logged meanwhile', async () => {
  const shop = await serveFixture();
  const { page, wrong, context } = await openPage(browser, `${shop.url}#log?piece=1&material=2`, { size: 'phone', offline: true });
  await page.getByRole('button', { name: /Log it/ }).waitFor();
  await page.waitForFunction(() => ['lineview', 'line', 'scale', 'lane', 'ribbon', 'film', 'sketch'].every((name) => performance.getEntriesByName(`${location.origin}/assets/${name}.js`).length > 0));
  shop.down(true);
  await page.getByText('No connection to the shop').waitFor({ timeout: 15000 });
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByText('Not written yet:').waitFor();
  assert.ok(await page.getByRole('radio', { name: 'normal' }).isChecked(), 'what was chosen stays');
  await shot(page, 'network-gone-phone');
  await page.evaluate(() => { location.hash = 'line'; });
  await page.locator('svg.line .lane').first().waitFor(); // looked at for the first time
  shop.down(false);
  await page.getByText('Written down.').waitFor({ timeout: 20000 });
  const logged = shop.writes.filter((write) => write.path === '/api/v1/coats');
  assert.equal(new Set(logged.map((write) => write.key)).size, 1, 'one key for all tries');
  await page.getByText('No connection to the shop').waitFor({ state: 'hidden', timeout: 15000 });
  assert.deepEqual(wrong, []);
  await context.close();
  await shop.close();
});

test('given a window that ends, then its countdown says "any minute now" and nothing below nothing', async () => {
  const shop = await serveFixture();
  const end = new Date(shop.now() + 2500).toISOString();
  Object.assign(shop.shop.lists.now[0].until, { earliest_at: end, likely_at: end, latest_at: end });
  const { page, close } = await openPage(browser, shop.url, { size: 'wall' });
  const left = page.locator('.todo .countdown').first();
  await left.waitFor();
  let last = Infinity;
  for (let i = 0; i < 14; i += 1) {
    const now = seconds(await left.textContent());
    assert.ok(now === null || (now >= 0 && now <= last));
    last = now ?? -1;
    if (now === null) break;
    await page.waitForTimeout(300);
  }
  assert.equal(await left.textContent(), 'any minute now');
  await close();
  await shop.close();
});

test('a new revision that says the same moment does not make a countdown jump', async () => {
  const shop = await serveFixture();
  const { page, close } = await openPage(browser, shop.url, { size: 'wall' });
  await page.locator('.todo .countdown').first().waitFor();
  const read = async () => seconds(await page.locator('.todo .countdown').first().textContent());
  const before = await read();
  for (let i = 0; i < 4; i += 1) { shop.bump(); await page.waitForTimeout(150); const now = await read(); assert.ok(now <= before && now >= before - 3, `${before} became ${now}`); }
  await close();
  await shop.close();
});

test('the line can be moved, widened and told in even hours by the keyboard alone, and stands in a table too', async () => {
  const { page, close } = await openPage(browser, full.url, { size: 'wall' });
  const axis = () => page.locator('svg.line .axis text').allTextContents();
  const first = (await axis()).join();
  await page.getByRole('button', { name: 'even hours' }).focus();
  await page.keyboard.press('Enter');
  assert.notEqual((await axis()).join(), first);
  assert.equal(await page.getByRole('button', { name: 'even hours' }).getAttribute('aria-pressed'), 'true');
  await page.waitForFunction(() => document.activeElement?.textContent === 'even hours', null, { timeout: 5000 }); // the keyboard stays where it was, through what is drawn anew meanwhile
  await shot(page, 'even-hours-wall');
  await page.getByText('The line as a table').click();
  await page.locator('.astable tbody tr').nth(6).waitFor({ state: 'attached', timeout: 5000 }); // its words come when it is opened
  await page.getByText('Key', { exact: true }).click();
  await shot(page, 'key-wall');
  await close();
});

test('given the keyboard on what goes away with its press, then it goes on at what is next, and what is drawn anew under it does not lose it', async () => {
  const shop = await serveFixture();
  const [one] = shop.shop.notices, at = (name) => page.waitForFunction((wanted) => (document.activeElement.getAttribute('aria-label') ?? document.activeElement.id) === wanted, name, { timeout: 5000 });
  const notices = [7, 6, 5].map((id) => ({ ...one, id, subject: `subject ${id}` }));
  shop.shop.notices = notices;
  const { page, close } = await openPage(browser, `${shop.url}#notices`, { size: 'wall' });
  await page.getByRole('button', { name: 'Noted: subject 6' }).focus();
  const noted = async (left) => {
    const writes = shop.writes.length;
    await page.keyboard.press('Enter');
    while (shop.writes.length === writes) await page.waitForTimeout(20);
    shop.shop.notices = left;
    shop.bump();
  };
  await noted([notices[0], notices[2]]);
  await at('Noted: subject 5');
  await noted([notices[0]]);
  await at('Noted: subject 7'); // none after it: the one before
  await noted([]);
  await at('view');
  await page.goto(`${shop.url}#`);
  const log = page.locator('.now a.tag', { hasText: 'Log coat' }).first(), name = await log.getAttribute('aria-label');
  await log.focus();
  await log.evaluate((link) => { link.dataset.old = 'old'; });
  shop.bump();
  await page.waitForFunction(() => !document.querySelector('[data-old]'));
  await at(name);
  await close();
  await shop.close();
});

test('given a key that is held down, then it presses once', async () => {
  const shop = await serveFixture();
  const { page, close } = await openPage(browser, `${shop.url}#notices`, { size: 'wall' });
  const noted = page.getByRole('button', { name: /^Noted/ });
  await noted.focus();
  for (let i = 0; i < 3; i += 1) await page.keyboard.down('Enter'); // the second and third are repeats
  await page.keyboard.up('Enter');
  await settled(page);
  assert.equal(shop.writes.length, 1);
  await close();
  await shop.close();
});

test('without scripts, where the plain page is not followed by itself, the page says where it and the cautions are, and says these', async () => {
  const { page, close } = await openPage(browser, full.url, { size: 'phone', context: { javaScriptEnabled: false } });
  const text = await page.locator('noscript').last().innerText();
  assert.match(text, /coat caution/);
  assert.match(text, /rags/i);
  assert.equal(await page.locator('noscript').last().getByRole('link').getAttribute('href'), '/plain');
  await shot(page, 'noscript-phone');
  await close();
});

test('forced colours and reduced motion keep words, shapes and edges', async () => {
  const { page, close } = await openPage(browser, full.url, { size: 'wall', context: { forcedColors: 'active', reducedMotion: 'reduce' } });
  await page.locator('.rows').first().waitFor();
  await shot(page, 'forced-colours-wall');
  await close();
});

test('US units and another zone are told in words', async () => {
  const shop = await serveFixture();
  shop.shop.shop.units = 'us';
  shop.shop.shop.zone = 'America/Chicago';
  const { page, close } = await openPage(browser, shop.url, { size: 'wall' });
  await page.locator('.aircell').first().waitFor();
  assert.match(await page.locator('.aircell').first().textContent(), /°F/);
  const hour = new Intl.DateTimeFormat('en-GB', { timeZone: 'America/Chicago', hour: '2-digit', hourCycle: 'h23' }).format(shop.now());
  assert.match(await page.locator('.nowclock text').textContent(), new RegExp(`^${hour}:`));
  await close();
  await shop.close();
});

test('a document that comes late, behind the stream that tells its revision, is not asked for once more', async () => {
  const page = await browser.newPage({ viewport: SIZES.wall });
  const listens = page.waitForRequest('**/api/v1/events'), atRest = page.waitForResponse('**/assets/bell.js'); // the last to come
  let asked = 0;
  await page.route('**/api/v1/shop', async (route) => {
    asked += 1;
    const answer = await route.fetch();
    await listens;
    await new Promise((done) => { setTimeout(done, 200); }); // what the stream tells is there by then
    await route.fulfill({ response: answer });
  });
  await page.goto(full.url, { waitUntil: 'commit' });
  await atRest;
  assert.equal(asked, 1);
  await page.close();
});

test('the first view weighs less than 50 kB compressed', async () => {
  const { page, close } = await openPage(browser, full.url, { size: 'wall' });
  await page.locator('.rows').first().waitFor();
  await settled(page);
  const asked = await page.evaluate(() => performance.getEntriesByType('resource').map((one) => new URL(one.name).pathname));
  const later = /\/(views|log|choices|piece|photos|still|tag|record|bakeline|bakewords|stagewords|material|shopview|why|check|mix|mixline|welcome|writes|draft|tins|fields|sums|bell|linehand|linetell|lanemarks)\.js$|\/later\.css$|\/(events|shop|check)$/; // fetched after the list is there, and the shop's own document
  const first = ['/', ...new Set(asked.filter((path) => !later.test(path)))];
  assert.ok(first.length > 10, first.join(' '));
  const hinted = await page.locator('link[rel=modulepreload], script[async]').evaluateAll((all) => all.map((one) => new URL(one.href || one.src).pathname));
  assert.deepEqual(hinted.sort(), first.filter((path) => path.endsWith('.js')).sort(), 'each module of it is asked for at once, and no other');
  let weight = 0;
  for (const path of first) weight += zlib.gzipSync(Buffer.from(await (await fetch(new URL(path, full.url))).arrayBuffer())).length;
  assert.ok(weight > 10000 && weight < 50000, `${weight} bytes`);
  await close();
});
