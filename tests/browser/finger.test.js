// A size at the finger test, told in one tap from the now list; and what the list says of rows that have no end, or wait since long.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, made, openPage, shot } = require('./browser.js');
const { serveFixture } = require('./fixture-server.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

// A slow size put on at six, with a reading each hour: at its finger test from four in the afternoon.
async function sized(t) {
  const daemon = await startDaemon({ testClock: '2026-11-28T06:00:00Z' });
  t.after(() => daemon.stop());
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  const piece = await made(daemon.post('/api/v1/pieces', { name: 'mill flywheel', place: place.id }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const size = items.find((one) => one.class === 'oil-size-slow');
  const { items: [coat] } = await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: size.id }));
  const leaf = async () => (await made(daemon.get(`/api/v1/coats/${coat.id}`))).coat.stages.find((one) => one.stage === 'leaf');
  for (let i = 0; i < 40 && (await leaf()).spans[(await leaf()).current].do !== 'test'; i += 1) {
    await made(daemon.advance(3600));
    await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  }
  assert.equal((await leaf()).spans[(await leaf()).current].do, 'test');
  return { daemon, place, piece, coat, leaf };
}

const testsOf = async (daemon, coat) => (await made(daemon.get(`/api/v1/coats/${coat.id}/tests`))).items.map((one) => [one.stage, one.passed]);

for (const [size, scheme] of [['wall', 'light'], ['phone', 'dark'], ['small', 'light'], ['tablet', 'dark']]) {
  test(`a size at its finger test on a ${size} in ${scheme}: not yet can be undone, is kept when it is not, and takes leaf opens the window`, async (t) => {
    const { daemon, coat, leaf } = await sized(t);
    const { page, close } = await openPage(browser, daemon.url, { size, scheme, clock: true });
    const row = page.locator('.row.fingertest');
    await row.waitFor();
    await assertCautions(page, 'finger test');
    await assertFits(page, 'finger test');
    await shot(page, `finger-${size}-${scheme}`);

    const notYet = row.getByRole('button', { name: /not yet/i });
    await notYet.click();
    await page.getByText('Written down in a moment.').waitFor();
    await shot(page, `finger-told-${size}-${scheme}`);
    await page.getByRole('button', { name: 'Undo' }).click();
    await page.getByText('Undone: mill flywheel: not yet').waitFor();
    assert.deepEqual(await testsOf(daemon, coat), [], 'what was undone is not in the record');

    await notYet.click();
    await page.getByText('Written down in a moment.').waitFor();
    await page.clock.fastForward(7000);
    assert.deepEqual(await testsOf(daemon, coat), [], 'while it can be undone nothing is written');
    await page.clock.fastForward(2000);
    await page.getByText('mill flywheel: not yet, written down.').waitFor();
    assert.deepEqual(await testsOf(daemon, coat), [['leaf', false]]);
    await row.getByText(/not yet at \d\d:\d\d/).waitFor();

    await made(daemon.advance(300));
    await row.getByRole('button', { name: /takes leaf/i }).click();
    assert.ok(await row.getByRole('button', { name: /takes leaf/i }).isDisabled(), 'once is enough');
    await page.clock.fastForward(9000);
    await page.getByText('mill flywheel: takes leaf, written down.').waitFor();
    assert.deepEqual(await testsOf(daemon, coat), [['leaf', false], ['leaf', true]]);
    assert.equal((await leaf()).spans[(await leaf()).current].do, 'go');
    await page.locator('.row.todo', { hasText: 'lay the leaf' }).getByRole('link', { name: /log coat/i }).waitFor();
    await shot(page, `finger-passed-${size}-${scheme}`);
    await close();
  });
}

test('a phone that goes into the pocket right after the tap has told the test all the same', async (t) => {
  const { daemon, coat } = await sized(t);
  const { page, close } = await openPage(browser, daemon.url, { size: 'phone' });
  await page.locator('.row.fingertest').getByRole('button', { name: /takes leaf/i }).click();
  await page.evaluate(() => { Object.defineProperty(document, 'hidden', { value: true }); document.dispatchEvent(new Event('visibilitychange')); });
  for (let i = 0; i < 150 && !(await testsOf(daemon, coat)).length; i += 1) await page.waitForTimeout(20);
  assert.deepEqual(await testsOf(daemon, coat), [['leaf', true]]);
  await close();
});

test('a size that was left too long reads as too late to rely on, in the list, in the lane and in its notice', async (t) => {
  const { daemon, place } = await sized(t);
  for (let i = 0; i < 30; i += 1) {
    await made(daemon.advance(3600));
    await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  }
  const { page, close } = await openPage(browser, daemon.url, { size: 'wall' });
  const row = page.locator('.row.todo', { hasText: 'mill flywheel' });
  await row.waitFor();
  assert.match(await row.innerText(), /try it with a finger, or wash off and size again\s+too late to rely on since/);
  assert.match(await page.locator('.cell', { hasText: 'mill flywheel' }).innerText(), /too late to rely on/i);
  assert.doesNotMatch(await page.locator('#view').innerText(), /missed/);
  const said = (await made(daemon.get('/api/v1/shop'))).notices.map((one) => one.text).join('\n');
  assert.match(said, /too late to rely on: try it with a finger, or wash off and size again/, 'the notice has the same words');
  await shot(page, 'leaf-late-wall-light');
  await close();
});

// ---- rows without an end, rows that wait since long ----

const NO_END = { passed: false, earliest_at: null, likely_at: null, latest_at: null, label_floor_at: null, label_ceiling_at: null };

// Boxes of the parts of each coming row: none lies over another, none is cut.
function overlaps() {
  const out = [];
  const seen = (el) => { const range = document.createRange(); range.selectNodeContents(el); return el.matches('.name') ? range.getBoundingClientRect() : el.getBoundingClientRect(); }; // what a thumb takes of a name is larger

  for (const row of document.querySelectorAll('.row.later')) {
    const parts = [...row.querySelectorAll('.gate, .whenat b, .whenat span, .what .name, .what .act, .flag, .tag')].filter((el) => el.checkVisibility());
    for (const a of parts) {
      const p = seen(a);
      if (p.right > innerWidth + 0.5 || p.left < -0.5 || a.scrollWidth > a.clientWidth + 1 && a.clientWidth > 0) out.push(`cut: ${a.textContent}`);
      for (const b of parts) {
        const q = seen(b);
        if (a !== b && !a.contains(b) && !b.contains(a) && p.left < q.right - 1 && q.left < p.right - 1 && p.top < q.bottom - 1.5 && q.top < p.bottom - 1.5) out.push(`${a.textContent} over ${b.textContent}`);
      }
    }
  }
  return out;
}

for (const size of ['small', 'phone', 'tablet', 'wall']) {
  test(`rows with no end in this air, and stalled ones with since when, lie side by side on a ${size}`, async (t) => {
    const shop = await serveFixture();
    t.after(() => shop.close());
    const { lists } = shop.shop;
    lists.next[0].until = NO_END;
    lists.not_yet[0].until = NO_END;
    lists.held[1] = { ...lists.held[1], stage: 'leaf' };
    lists.held.push({ ...lists.held[0], piece: 1, since_at: null });
    lists.now = lists.now.filter((row) => row.piece !== 1);
    const { page, close } = await openPage(browser, shop.url, { size });
    await page.locator('.row.later').first().waitFor();
    const all = page.locator('.coming .rest .switch');
    if (await all.count()) await all.click(); // where there is room for the most pressing only
    assert.equal(await page.getByText('no end in this air').count(), 2);
    assert.match(await page.locator('.row.later', { hasText: 'Scale three beam' }).innerText(), /stalled[\s\S]*too cold[\s\S]*held since (\w+ )?\d\d:\d\d/);
    assert.match(await page.locator('.row.later', { hasText: 'Mill two body' }).innerText(), /held for more than a day/);
    assert.match(await page.locator('.row.later', { hasText: 'Scale three poises' }).innerText(), /too late to rely on/);
    assert.deepEqual(await page.evaluate(overlaps), []);
    await assertFits(page, 'no end');
    await page.locator('.coming').scrollIntoViewIfNeeded();
    await shot(page, `no-end-${size}`);
    await close();
  });
}

// ---- hands off: as long as is known ----

for (const size of ['small', 'phone']) {
  test(`given air that was read once, then a coat that is not to be touched says about when on a ${size}, and hands off stands clear of its tag`, async (t) => {
    const shop = await serveFixture();
    t.after(() => shop.close());
    const { lists } = shop.shop, [off] = lists.not_yet;
    off.until = { ...off.until, latest_at: null };
    lists.not_yet.push({ ...off, piece: 1 });
    const { page, close } = await openPage(browser, shop.url, { size });
    const later = page.locator('.row.handsoff').first();
    await later.waitFor();
    assert.match(await later.innerText(), /hands off\s+until about (\w+ )?\d\d:\d\d/);
    assert.match(await later.innerText(), /do not touch it/);
    const todo = page.locator('.row.todo', { has: page.locator('.butoff') }).first();
    const [word, tag] = [await todo.locator('.reverse').boundingBox(), await todo.locator('.tag').boundingBox()];
    assert.ok(word.x + word.width <= tag.x || word.y >= tag.y + tag.height || word.y + word.height <= tag.y, 'the tag lies over hands off');
    await shot(page, `about-${size}`);
    await close();
  });
}
