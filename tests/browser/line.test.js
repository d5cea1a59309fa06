// The drying line: what it marks, what it says where it is touched, how it takes a hand, keys and a wheel, and how quick it is.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { assertFits, launch, openPage, settled, shot } = require('./browser.js');
const { serveFixture } = require('./fixture-server.js');
const { iso } = require('./fixture-shop.js');

const H = 3600e3;
let browser, served, wide;

// A shop with all that a line can mark: a baked piece that is still hot, one in the oven, one that was moved, steps that are planned, air to come.
function furnish(shop) {
  const now = Date.parse(shop.as_of_at), at = (h) => iso(now + h * H);
  const coat = (id) => shop.coats.find((one) => one.id === id);
  coat(8).bake = { id: 1, state: 'cooling', baked: true, started_at: at(-4), ended_at: at(-1), peak_c: 149, cool_at: at(1.5) };
  coat(12).bake = { id: 2, state: 'soaking', baked: false, started_at: at(-0.7), ended_at: null, peak_c: 121, cool_at: null };
  shop.pieces.find((one) => one.id === 6).moves = [{ place: 2, at: at(-60) }, { place: 1, at: at(-14) }];
  shop.planned = [{ piece: 3, kind: 'coat', words: 'second clear', from_at: at(20), to_at: at(30) }, { piece: 5, kind: 'bake', words: 'bake it', from_at: at(26), to_at: at(29) }];
  shop.places[0].outlook = [1, 2, 4, 8, 12, 18, 24, 36, 48].map((h) => ({ at: at(h), temp_c: 16 + Math.sin(h), temp_low_c: 15 - h / 20 + Math.sin(h), temp_high_c: 17 + h / 20 + Math.sin(h), rh_pct: 62 }));
}

before(async () => { browser = await launch(); served = await serveFixture(); furnish(served.shop); wide = await openPage(browser, `${served.url}#line`, { size: 'wall' }); await settled(wide.page); });
after(async () => { try { await wide.close(); } finally { await browser.close(); await served.close(); } });

// Nothing told, and the top of the page.
async function fresh() {
  const { page } = wide;
  if (await card(page).isVisible()) await card(page).getByRole('button').click();
  await page.evaluate(() => scrollTo(0, 0));
  return wide;
}

const lane = (page, id) => page.locator(`svg.line [data-piece="${id}"]`);
const words = (page, id) => lane(page, id).locator('text').allTextContents();
const clock = async (page) => { await settled(page); return await page.locator('.nowclock').boundingBox() || page.locator('.nowclock').boundingBox(); }; // it may be just drawn anew
const card = (page) => page.locator('.reading');

// A tap in a lane, so many hours from now.
async function touch(page, id, h) {
  const box = await lane(page, id).locator('.separator').boundingBox();
  const x = await page.evaluate(async (hours) => { const { makeScale } = await import('/assets/scale.js'); const { shopNow } = await import('/assets/clock.js'); const svg = document.querySelector('svg.line'); return svg.getBoundingClientRect().left + makeScale(svg.clientWidth, false, shopNow()).along(shopNow() + hours * 3600e3); }, h);
  await page.mouse.click(x, box.y - 20);
  await card(page).waitFor();
  return card(page).innerText();
}

test('a bake is a plateau over the iron with its temperature; hot from it is hands off, until it is cool', async () => {
  const { page } = await fresh();
  assert.equal(await lane(page, 4).locator('.oven.cooling').count(), 1);
  assert.equal(await lane(page, 7).locator('.oven.running').count(), 1);
  assert.match((await words(page, 4)).join('; '), /hot until about/);
  assert.match((await words(page, 7)).join('; '), /in the oven 121 °C/);
  assert.match(await page.locator('.cell', { hasText: 'Fan seven base' }).innerText(), /Hot from the oven/);
  assert.match(await touch(page, 4, -2.5), /Fan seven base[\s\S]*oven: baked 149 °C/);
  assert.match(await touch(page, 4, 0.5), /hot from the oven, hands off until about[\s\S]*/);
  assert.match(await touch(page, 4, 0.5), /hard from the oven/);
});

test('a piece that was hung elsewhere is marked there, and took the air of each place in its time', async () => {
  const { page } = await fresh();
  assert.equal(await lane(page, 6).locator('.move').count(), 1);
  assert.match((await words(page, 6)).join('; '), /to cellar/);
  assert.match(await touch(page, 6, -14), /hung in the cellar/);
  assert.match(await touch(page, 6, -11), /no reading: the air is assumed/);
  assert.equal(await lane(page, 5).locator('.move').count(), 0);
});

test('what is only planned is an outline that says so', async () => {
  const { page } = await fresh();
  assert.equal(await lane(page, 3).locator('path.planned').count(), 1);
  assert.equal(await lane(page, 3).locator('path.planned').evaluate((el) => getComputedStyle(el).fill), 'none');
  assert.equal(await lane(page, 5).locator('.oven.planned').count(), 1);
  assert.match(await touch(page, 3, 24), /planned: second clear/);
});

test('a stalled coat has its teeth from when it stood still, not from now', async () => {
  const { page } = await fresh();
  const teeth = await lane(page, 5).locator('.edge.stalled').boundingBox(), now = await clock(page);
  assert.ok(teeth.x < now.x - 100, `teeth from ${teeth.x}, now at ${now.x}`);
  assert.match(await touch(page, 5, -6), /stands still: too cold/);
});

test('hours that a coat stood still keep their teeth when they are over, and are told where they are touched', async () => {
  const { page } = await fresh();
  const teeth = await lane(page, 4).locator('.edge.stalled').boundingBox(), now = await clock(page);
  assert.ok(teeth.x + teeth.width < now.x - 50, `teeth to ${teeth.x + teeth.width}, now at ${now.x}`);
  assert.match(await touch(page, 4, -15), /stood still: too cold/);
  assert.doesNotMatch(await touch(page, 4, -11), /stood still/);
  const piece = await openPage(browser, `${served.url}#piece?id=4`, { size: 'phone' });
  await piece.page.getByText(/Stood still: too cold/).waitFor();
  await piece.close();
});

test('the air to come is drawn with its band, and told where it is touched', async () => {
  const { page } = await fresh();
  assert.ok((await page.locator('svg.line [data-place="1"] .airband').boundingBox()).width > 100);
  await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
  const seen = await page.locator('svg.line [data-place="1"] .axisline').boundingBox();
  await page.mouse.click((await clock(page)).x + 150, seen.y + 40);
  assert.match(await card(page).innerText(), /cellar air[\s\S]*about \d+(\.\d)? °C, 62 %, dew point/);
  await page.evaluate(() => scrollTo(0, 0));
  await card(page).getByRole('button').click();
  assert.ok(await card(page).isHidden());
});

test('every gate that is drawn stands in the table, with the words it has where it is touched', async () => {
  const { page } = await fresh();
  await page.getByText('The line as a table').click();
  await page.locator('.astable tbody tr').first().waitFor();
  const table = await page.locator('.astable tbody tr').evaluateAll((rows) => rows.map((row) => row.innerText.replace(/\s+/g, ' ')));
  const has = (pattern) => assert.ok(table.some((row) => pattern.test(row)), `${pattern} is not in the table`);
  for (const pattern of [/Mill two body .*next coat: go until/, /Mill two body .*next coat: shut .*until about/, /flywheel .*takes leaf: finger test/, /Fan seven base .*scuff first/, /Fan seven base .*oven: baked 149 °C/, /three platform .*hung in the cellar/, /Fan seven cage .*planned: second clear/, /three beam .*stands still: too cold/, /no reading: the air is assumed/]) has(pattern);
  await page.getByText('The line as a table').click();
});

test('a drag holds the moment under the finger, and "now" brings it back', async () => {
  const { page } = await fresh();
  const start = await clock(page), y = start.y + 60;
  await page.mouse.move(start.x + 42, y);
  await page.mouse.down();
  await page.mouse.move(start.x - 58, y, { steps: 5 });
  await page.mouse.up();
  await settled(page);
  const moved = await clock(page);
  assert.ok(Math.abs(moved.x - (start.x - 100)) < 3, `now went from ${start.x} to ${moved.x}`);
  assert.ok(await card(page).isHidden(), 'a drag is no tap');
  await page.getByRole('button', { name: 'back to now' }).click();
  assert.ok(Math.abs((await clock(page)).x - start.x) < 2);
});

test('a wheel sideways moves the time, with ctrl it widens the hours; plain it is the page\'s', async () => {
  const { page } = await fresh();
  const start = await clock(page);
  const hours = () => page.evaluate(async () => (await import('/assets/scale.js')).lineView());
  await page.mouse.move(start.x + 200, start.y + 80);
  await page.mouse.wheel(120, 0);
  await settled(page);
  assert.ok((await hours()).shiftMs > 0 && (await clock(page)).x < start.x - 20);
  await page.keyboard.down('Control');
  await page.mouse.wheel(0, -200);
  await page.keyboard.up('Control');
  await settled(page);
  assert.ok((await hours()).zoom > 1.5);
  const before = await hours();
  await page.mouse.wheel(0, 60);
  await settled(page);
  assert.deepEqual(await hours(), before);
  await page.evaluate(() => scrollTo(0, 0));
  await page.getByRole('button', { name: 'back to now' }).click();
});

test('by keys alone: the time, the hours, piece by piece and mark by mark, each told', async () => {
  const { page } = await fresh();
  const line = page.getByRole('application');
  const view = () => page.evaluate(async () => (await import('/assets/scale.js')).lineView());
  await line.focus();
  await page.keyboard.press('ArrowRight');
  assert.ok((await view()).shiftMs > 0);
  await page.keyboard.press('+');
  assert.ok((await view()).zoom > 1);
  await page.keyboard.press('Home');
  assert.deepEqual(await view(), { even: false, zoom: 1, shiftMs: 0 });
  await page.keyboard.press('ArrowDown');
  const first = await card(page).innerText();
  assert.match(first, /Mill two body/);
  await page.keyboard.press('Shift+ArrowRight');
  assert.notEqual(await card(page).innerText(), first);
  await page.keyboard.press('ArrowDown');
  assert.doesNotMatch(await card(page).innerText(), /Mill two body/);
  await page.keyboard.press('Escape');
  assert.ok(await card(page).isHidden());
  assert.ok(await line.evaluate((el) => el === document.activeElement));
  await shot(page, 'line-wall-all-marks');
});

test('an opening that is unsure grows from its earliest to its latest; one that was reached stands straight', async () => {
  const { page } = await fresh();
  assert.equal(await lane(page, 3).locator('.open-ground.unsure').count(), 1, 'the cage opens in 14 h, not surely');
  assert.equal(await lane(page, 4).locator('.open-ground.unsure').count(), 0, 'the base was open, and is no more');
  assert.equal(await lane(page, 4).locator('.open-ground').count(), 1);
});

test('the key stands there on the first day, until somebody has understood', async () => {
  const { page } = await fresh();
  assert.ok(await page.locator('.firstday').getByText('tacky').isVisible());
  await page.getByRole('button', { name: 'Understood' }).click();
  assert.equal(await page.locator('.firstday').textContent(), '');
  await page.reload();
  await settled(page);
  assert.equal(await page.locator('.firstday').textContent(), '');
});

// What is drawn anew is for a moment nowhere.
async function boxOf(locator) {
  for (let tries = 0; tries < 50; tries += 1) {
    const box = await locator.boundingBox();
    if (box) return box;
  }
  throw new Error(`no box of ${locator}`);
}

test('on a phone a tap chooses the piece and tells what stands there', async () => {
  const { page, close } = await openPage(browser, `${served.url}#line`, { size: 'phone' });
  await settled(page);
  const box = await boxOf(lane(page, 4).locator('.separator'));
  await page.touchscreen.tap(box.x - 20, box.y + box.height * 0.3);
  await card(page).waitFor();
  assert.match(await card(page).innerText(), /Fan seven base/);
  assert.equal(await page.locator('.head[aria-pressed="true"]').getAttribute('data-focus'), 'head4');
  await assertFits(page, 'the card');
  await shot(page, 'line-phone-told');
  await close();
});

// 300 coats on 60 pieces, as the fixture's own coats again and again.
function many(shop) {
  const { coats, pieces } = shop;
  for (let id = pieces.length + 1; id <= 60; id += 1) pieces.push({ ...pieces[id % 7], id, name: `Piece ${id}` });
  let next = 100;
  for (let i = 0; coats.length < 300; i += 1) coats.push({ ...coats[i % 12], id: (next += 1), piece: (i % 60) + 1 });
}

test('three hundred coats: a frame of a drag draws what is in sight and nothing else, with few strokes', async (t) => {
  const big = await serveFixture();
  t.after(() => big.close());
  many(big.shop);
  const { page, close } = await openPage(browser, `${big.url}#line`, { size: 'wall' });
  await settled(page);
  assert.equal(await page.locator('svg.line .lane').count(), 60);
  const cdp = await page.context().newCDPSession(page);
  await cdp.send('Performance.enable', { timeDomain: 'threadTicks' }); // what the page itself works, whatever else the machine does
  const worked = async () => (await cdp.send('Performance.getMetrics')).metrics.find((one) => one.name === 'TaskDuration').value * 1000;
  const begin = await worked();
  const { frames, anew, same, put, strokes, inSight } = await page.evaluate(async () => {
    const svg = document.querySelector('svg.line'), box = svg.getBoundingClientRect(), frames = [];
    const send = (type, x) => svg.dispatchEvent(new PointerEvent(type, { pointerId: 7, clientX: x, clientY: box.top + 90, bubbles: true, button: 0, isPrimary: true }));
    svg.setPointerCapture = () => {};
    const frame = () => new Promise((done) => requestAnimationFrame(() => { const begin = performance.now(), channel = new MessageChannel(); channel.port1.onmessage = () => done(performance.now() - begin); channel.port2.postMessage(0); }));
    const groups = () => [...svg.querySelectorAll('[data-piece]')], before = groups(), touched = new Set();
    let put = 0;
    const inSight = before.filter((el) => { const at = el.querySelector('.separator').getBoundingClientRect(); return at.top > 0 && at.top < innerHeight + 46; }).length;
    const watch = new MutationObserver((all) => { for (const { type, target, addedNodes } of all) { const group = target.closest('[data-piece]'); if (group && target !== group) touched.add(group); if (type === 'childList') put += [...addedNodes].filter((el) => el.nodeType === 1).length; } });
    watch.observe(svg, { subtree: true, childList: true, attributes: true });
    send('pointerdown', box.left + 500);
    for (let i = 0; i < 30; i += 1) {
      const drawn = frame(); // asked for before the line asks, so that it begins first; ends after style, layout and paint
      send('pointermove', box.left + 490 - i * 6);
      frames.push(await drawn);
    }
    watch.takeRecords();
    watch.disconnect();
    const anew = [...touched], same = groups().every((el, i) => el === before[i]);
    send('pointerup', box.left + 200);
    return { frames: frames.sort((p, q) => p - q), anew: anew.length, same, put: put / 30, inSight, strokes: Math.max(...anew.map((el) => el.querySelectorAll('*').length)) };
  });
  const each = (await worked() - begin) / frames.length;
  // Shown, not judged: speed hangs on the machine.
  t.diagnostic(`frames of a drag over 300 coats: ${each.toFixed(1)} ms of work each; the quickest ${frames[0].toFixed(1)} ms, half in ${frames[15].toFixed(1)} ms, nine of ten in ${frames[27].toFixed(1)} ms`);
  assert.ok(anew > 5 && anew <= inSight + 2, `${anew} lanes drawn anew, ${inSight} in sight`);
  assert.ok(same, 'a lane that is there is changed, and not put in anew');
  assert.ok(put < inSight * 4, `${put} elements put in for a frame`);
  assert.ok(strokes < 45, `${strokes} strokes in a lane of five coats`);
  await close();
});
