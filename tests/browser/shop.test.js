// A shop from the first evening on, worked through the page against the daemon with a clock of its own.
'use strict';

const assert = require('node:assert/strict');
const { execFileSync } = require('node:child_process');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { assertCautions, assertFits, launch, openPage, seconds, shot } = require('./browser.js');

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

async function firstPlace(page) {
  await page.getByRole('link', { name: 'Add a place' }).click();
  await page.getByLabel('Name of the place').fill('cellar');
  await page.getByRole('button', { name: 'Add the place' }).click();
  await page.getByLabel(/Temperature/).fill('21');
  await page.getByLabel(/Humidity/).fill('50');
  await page.getByRole('button', { name: 'Write it down' }).click();
}

async function firstPiece(page) {
  await page.getByRole('link', { name: 'Add a piece' }).click();
  await page.getByLabel('Name of the piece').fill('mill body');
  await page.getByRole('button', { name: 'Add the piece' }).click();
  await page.getByRole('heading', { name: 'Piece' }).waitFor();
}

for (const [size, scheme] of [['wall', 'light'], ['phone', 'dark'], ['small', 'light']]) {
  test(`an empty shop on a ${size} in ${scheme}: a place, its air, a piece and its first coat, all from the page`, async () => {
    const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
    const { page, close } = await openPage(browser, daemon.url, { size, scheme });
    await page.getByText('Nothing hangs on the line yet').waitFor();
    await assertCautions(page, 'empty shop');
    await assertFits(page, 'empty shop');
    await shot(page, `empty-${size}-${scheme}`);
    await firstPlace(page);
    await firstPiece(page);

    // The piece is chosen: material, film, when, log it are four taps.
    let taps = 0;
    const tap = async (locator) => { taps += 1; await locator.click(); };
    await tap(page.locator('.choice', { hasText: 'spray enamel' }).first());
    await tap(page.locator('.choice', { hasText: 'light' }).first());
    await tap(page.locator('.choice', { hasText: '20 min ago' }));
    const tag = page.getByRole('button', { name: /Log it/ });
    assert.match(await tag.textContent(), /mill body: spray enamel.*, light, 20 min ago/);
    await assertCautions(page, 'log sheet');
    await assertFits(page, 'log sheet');
    await shot(page, `log-${size}-${scheme}`);
    await tap(tag);
    await page.getByText('Written down.').waitFor();
    assert.ok(taps <= 4, `${taps} taps`);

    const { body: shop } = await daemon.get('/api/v1/shop');
    assert.equal(shop.coats.length, 1);
    assert.equal(shop.coats[0].film, 'light');
    assert.equal(shop.coats[0].last_at, '2026-11-28T07:40:00Z');
    await page.getByText('mill body').first().waitFor();
    await assertFits(page, 'home');
    await shot(page, `first-coat-${size}-${scheme}`);
    await close();
    await daemon.stop();
  });
}

async function shopWithCoat(daemon, material) {
  const { body: place } = await daemon.post('/api/v1/places', { name: 'cellar' });
  await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 });
  const { body: piece } = await daemon.post('/api/v1/pieces', { name: 'mill body', place: place.id });
  const { body: list } = await daemon.get('/api/v1/materials');
  const used = list.items.find((one) => one.class === material);
  const { status, body } = await daemon.post('/api/v1/coats', { pieces: [piece.id], material: used.id });
  assert.equal(status, 201, JSON.stringify(body));
  return { place, piece, coat: body.items[0] };
}

// Lets a day pass with a reading each hour, so that the air stays measured.
async function pass(daemon, place, hours) {
  for (let i = 0; i < hours; i += 1) {
    await daemon.advance(3600);
    await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 21, rh_pct: 50 });
  }
}

test('given a primed piece, then its hours pass, the next coat opens on the page, a notice says so and is noted', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place, piece } = await shopWithCoat(daemon, 'alkyd-primer');
  const { page, close } = await openPage(browser, daemon.url, { size: 'wall' });
  await page.locator('.row.later').first().waitFor();
  assert.equal(await page.locator('.row.todo').count(), 0, 'nothing may be done on a wet coat');
  await shot(page, 'waiting-wall');
  for (let i = 0; i < 8 && (await daemon.get('/api/v1/shop')).body.lists.now.every((row) => row.stage !== 'recoat'); i += 1) await pass(daemon, place, 6);
  await page.locator('.row.todo', { hasText: 'next coat' }).waitFor({ timeout: 15000 });
  const notice = page.locator('.notice').first();
  await notice.waitFor();
  await shot(page, 'open-wall');
  const before = (await daemon.get('/api/v1/shop')).body.notices;
  await notice.getByRole('button').click();
  await assert.doesNotReject(async () => {
    for (let i = 0; i < 500; i += 1) { if ((await daemon.get('/api/v1/shop')).body.notices.length === before.length - 1) return; await new Promise((done) => setTimeout(done, 10)); }
    throw new Error('the notice was not acknowledged');
  });
  await page.goto(`${daemon.url}/#piece?id=${piece.id}`);
  await page.locator('.stages').first().waitFor();
  await shot(page, 'piece-wall');
  await close();
  await daemon.stop();
});

test('given a clock that runs 60 times as fast, then a countdown falls and never goes back or below nothing', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z,60' });
  await shopWithCoat(daemon, 'spray-enamel');
  const { page, close } = await openPage(browser, daemon.url, { size: 'phone' });
  const countdown = page.locator('.countdown').first();
  await countdown.waitFor();
  const until = await countdown.getAttribute('data-until');
  let last = Infinity, falls = 0;
  for (let i = 0; i < 16; i += 1) {
    const texts = await page.locator('.countdown').evaluateAll((all) => all.map((el) => [el.dataset.until, el.textContent]));
    for (const [, text] of texts) assert.doesNotMatch(text, /-\d/, 'a negative time');
    const mine = texts.find(([moment]) => moment === until);
    if (mine) {
      const left = seconds(mine[1]);
      if (left !== null) { assert.ok(left <= last, `it went back from ${last} to ${left} s`); if (left < last) falls += 1; last = left; }
    }
    await page.waitForTimeout(400);
  }
  assert.ok(falls >= 3, `it fell only ${falls} times`);
  await close();
  await daemon.stop();
});

test('given a coat logged by mistake, then undo within the minute strikes it, and says why', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { piece, coat } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, close } = await openPage(browser, `${daemon.url}/#log?piece=${piece.id}&material=${coat.material.id}`, { size: 'phone' });
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByText(/^Undone/).waitFor();
  const { body } = await daemon.get(`/api/v1/coats?piece=${piece.id}`);
  const struck = body.items.filter((one) => one.status === 'struck');
  assert.equal(struck.length, 1);
  assert.equal(struck[0].struck_why, 'undone on the page');
  await close();
  await daemon.stop();
});

test('a material typed in from its label is there to log with, and its numbers stand', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, close } = await openPage(browser, `${daemon.url}/#material`, { size: 'phone', scheme: 'dark' });
  await page.getByLabel('Name', { exact: true }).fill('black enamel, small tin');
  await page.getByLabel('Class').selectOption('spray-enamel');
  await page.getByLabel('Dry to touch', { exact: true }).fill('30');
  await page.getByLabel('Dry to touch: hours or minutes').selectOption('min');
  await page.getByLabel('Dry to handle', { exact: true }).fill('8');
  await page.getByLabel('Solvents').fill('toluene=60%, acetone=40%');
  await page.getByLabel('Of it by volume, %').fill('55');
  await page.getByLabel('Warn before it closes, min').fill('10');
  await page.getByLabel('1. At, °C').fill('150');
  await page.getByLabel('1. For, min').fill('60');
  await page.getByLabel('Too hot from, °C').fill('190');
  await page.getByLabel('Too long from, min').fill('150');
  await page.getByLabel('At, °C', { exact: true }).last().fill('150');
  await page.getByLabel('Thin it with').fill('mineral spirits');
  await page.getByLabel('Within, hours').fill('1');
  await page.getByLabel('Or after, hours').fill('48');
  await page.getByRole('group', { name: 'Flammable' }).getByRole('radio', { name: 'yes' }).check();
  await shot(page, 'material-phone-dark');
  // Numbers that cannot be together are asked back before anything is written, beside the one to look at.
  const says = page.locator('#view .outcome'), name = (field) => page.locator(`[name=${field}]`);
  const asked = async (field, wrong, right, text) => {
    await name(field).fill(wrong);
    await page.getByRole('button', { name: /Keep this/ }).click();
    await says.getByText(text).waitFor();
    assert.equal(await name(field).getAttribute('aria-invalid'), 'true');
    await name(field).fill(right);
    assert.equal(await says.innerText(), '');
  };
  const rightly = await name('recoat-before').inputValue(), minutes = await name('bake-min-1').inputValue();
  await asked('recoat-before', '1', rightly, '"Before" is 1 h: it must be more than the');
  await asked('bake-min-1', '', minutes, 'In the oven, 1: tell both, how hot and how long.');
  await page.getByRole('button', { name: 'Keep this material' }).click();
  await page.getByRole('button', { name: /Log it/ }).waitFor();
  await page.getByText('black enamel, small tin').first().waitFor();
  const { body } = await daemon.get('/api/v1/materials');
  const made = body.items.find((one) => one.name === 'black enamel, small tin');
  const recoat = made.stages.find((stage) => stage.stage === 'recoat');
  assert.equal(recoat.first, 'go');
  assert.deepEqual(recoat.boundaries.map((one) => [one.then, one.label_h]), [['wait', 1], ['go', 48]]);
  const touch = made.stages.find((stage) => stage.stage === 'touch');
  assert.equal(touch.boundaries[0].label_h, 0.5, '30 minutes');
  assert.deepEqual(made.bake.map((row) => [row.temp_c, row.hours]), [[150, 1]]);
  assert.deepEqual([made.composition.solvent, made.composition.solvent_pct], ['toluene=60%, acetone=40%', 55]);
  assert.deepEqual(made.bake_limits, { too_hot_c: 190, too_long: { temp_c: 150, hours: 2.5 } });
  assert.equal(made.thinner, 'mineral spirits');
  assert.equal(await page.getByLabel('With', { exact: true }).inputValue(), 'mineral spirits', 'its coats are thinned with it');
  assert.equal(made.lead_closing_min, 10);
  assert.equal(made.hazards.flammable, 'yes');
  assert.equal(made.hazards.isocyanate, 'unanswered');
  await page.getByLabel('Thinned, %').fill('10');
  await page.getByRole('radio', { name: 'mill body' }).check();
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByRole('button', { name: 'Undo' }).waitFor();
  const coat = (await daemon.get('/api/v1/coats')).body.items.find((one) => one.material.id === made.id);
  assert.deepEqual([coat.thinned_pct, coat.thinner], [10, 'mineral spirits']);
  await page.goto(`${daemon.url}/#shop`);
  await page.getByLabel('When to warn: black enamel, small tin').click();
  const lead = page.getByRole('textbox', { name: 'Warn before it closes, min' });
  assert.equal(await lead.inputValue(), '10');
  await lead.fill('25');
  await page.getByRole('button', { name: 'Keep for black enamel, small tin' }).click();
  await page.getByText('Kept.').waitFor();
  assert.equal((await daemon.get(`/api/v1/materials/${made.id}`)).body.lead_closing_min, 25);
  await close();
  await daemon.stop();
});

test('what the daemon refuses is told at the form, and what was typed stays', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, context, wrong } = await openPage(browser, `${daemon.url}/#air?place=${place.id}&enter=1`, { size: 'phone' });
  await page.getByLabel(/Temperature/).fill('400');
  await page.getByLabel(/Humidity/).fill('50');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.waitForFunction(() => document.querySelector('.outcome')?.textContent.length > 10);
  assert.equal(await page.getByLabel(/Temperature/).inputValue(), '400');
  assert.equal(await page.locator('.outcome').textContent(), 'Temperature is 400 °C: it must be from -40 to 60');
  assert.ok(await page.evaluate(() => document.activeElement.matches('button[type=submit]')), 'the keyboard stays where it was');
  const tied = () => page.getByLabel(/Temperature/).evaluate((el) => [el.getAttribute('aria-invalid'), document.getElementById(el.getAttribute('aria-describedby'))?.textContent]);
  assert.deepEqual(await tied(), ['true', 'Temperature is 400 °C: it must be from -40 to 60'], 'and what is wrong belongs to its field');
  await page.getByLabel(/Temperature/).fill('40');
  assert.deepEqual(await tied(), [null, undefined], 'until that is changed');
  assert.deepEqual(wrong.filter((text) => !/422|400/.test(text)), []);
  await context.close();
  await daemon.stop();
});

test('a number with a comma is the one with a point, and what is no number or could be two is asked back before anything is written', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place, piece, coat } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, close } = await openPage(browser, `${daemon.url}/#air?place=${place.id}&enter=1`, { size: 'phone' });
  const faultAt = (label) => page.getByLabel(label).evaluate((el) => [el.validationMessage, document.activeElement === el]);
  await page.getByLabel(/Temperature/).pressSequentially('17,5');
  await page.getByLabel(/Humidity/).pressSequentially('150');
  await page.getByRole('button', { name: 'Write it down' }).click();
  assert.deepEqual(await faultAt(/Humidity/), ['from 0 to 100', true]);
  await page.getByLabel(/Humidity/).fill('45.5');
  await page.getByRole('button', { name: 'Write it down' }).click();
  await page.locator('#view h1', { hasText: 'Now' }).waitFor();
  const { items } = (await daemon.get(`/api/v1/places/${place.id}/readings`)).body;
  assert.deepEqual([items.at(-1).temp_c, items.at(-1).rh_pct], [17.5, 45.5]);

  await page.goto(`${daemon.url}/#log?piece=${piece.id}&material=${coat.material.id}`);
  const amount = page.getByLabel('Amount, ml'), coats = async () => (await daemon.get('/api/v1/coats')).body.items;
  for (const [text, message] of [['a cup', '"a cup" is no number: write it like 17.5 or 17,5'], ['1,500', '"1,500" can be read in two ways: write 1500 or 1.5']]) {
    await amount.fill(text);
    await page.getByRole('button', { name: /Log it/ }).click();
    assert.deepEqual(await faultAt('Amount, ml'), [message, true]);
  }
  assert.equal((await coats()).length, 1, 'nothing was written');
  await amount.fill('62,5');
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByRole('button', { name: 'Undo' }).waitFor();
  assert.equal((await coats()).at(-1).amount_ml, 62.5);
  await close();
  await daemon.stop();
});

test('a name that is too long to keep is asked back in letters', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { page, close } = await openPage(browser, `${daemon.url}/#newpiece`, { size: 'phone' });
  const name = page.getByLabel('Name of the piece');
  await name.fill('корпус старой кофемолки, чугун');
  await page.getByRole('button', { name: 'Add the piece' }).click();
  await page.getByRole('button', { name: /Log it/ }).waitFor();
  await page.goto(`${daemon.url}/#newpiece`);
  await name.fill('корпус старой кофемолки, литой чугун');
  await page.getByRole('button', { name: 'Add the piece' }).click();
  assert.equal(await name.evaluate((el) => el.validationMessage), 'too long: leave out 2 letters');
  await close();
  await daemon.stop();
});

test('in US units a label\'s number that cannot be is told in sight of the tag that was touched, and in the units of the form', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  await daemon.patch('/api/v1/shop', { units: 'us' });
  const { page, context } = await openPage(browser, `${daemon.url}/#material`, { size: 'phone' });
  await page.getByLabel('Name', { exact: true }).fill('black, small tin');
  await page.getByLabel('Lowest, °F').fill('500');
  await page.getByRole('button', { name: /Keep this/ }).click();
  await page.locator('.outcome', { hasText: 'Lowest temperature is 500 °F: it must be from -40 to 140' }).waitFor();
  await page.getByLabel('Lowest, °F').fill('90');
  await page.getByLabel('Highest, °F').fill('50');
  await page.getByRole('button', { name: /Keep this/ }).click();
  const says = page.locator('.outcome', { hasText: 'Lowest temperature is above highest temperature: swap the two' });
  await says.waitFor();
  await page.waitForFunction((el) => { // it is not under the plate nor under the tags
    const { left, top, bottom } = el.getBoundingClientRect(), there = (y) => document.elementFromPoint(left + 20, y) === el;
    return there(top + 4) && there(bottom - 4);
  }, await says.elementHandle());
  await context.close();
  await daemon.stop();
});

test('given air that was read only now, then a coat of 20 minutes ago is not told to have had it, and has it where it is entered', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place, piece, coat } = await shopWithCoat(daemon, 'alkyd-enamel');
  await daemon.advance(5 * 3600);
  await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 17, rh_pct: 60 });
  const { page, close } = await openPage(browser, `${daemon.url}/#log?piece=${piece.id}&material=${coat.material.id}`, { size: 'phone' });
  const air = page.locator('.airline');
  assert.match(await air.innerText(), /Air 17 °C, 60 %/);
  assert.doesNotMatch(await air.innerText(), /nobody had read it/);
  await page.getByRole('radio', { name: '20 min ago' }).check();
  await air.getByText('At 12:40 nobody had read it').waitFor();
  await air.getByRole('button', { name: 'change' }).click();
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByRole('button', { name: 'Undo' }).waitFor();
  const had = (await daemon.get('/api/v1/coats')).body.items.at(-1).air;
  assert.deepEqual([had.temp_c, had.rh_pct, had.basis], [17, 60, 'measured']);
  await close();
  await daemon.stop();
});

test('a coat that is still to come is refused with the time that it is on the clock of the shop', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  await daemon.patch('/api/v1/shop', { zone: 'Europe/Berlin' });
  const { piece, coat } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, context } = await openPage(browser, `${daemon.url}/#log?piece=${piece.id}&material=${coat.material.id}`, { size: 'phone' });
  await page.locator('.choice', { hasText: /^other$/ }).click();
  await page.getByLabel('Last pass at').fill('2025-11-28T10:30');
  await page.getByLabel('Last pass at').blur();
  await page.getByRole('button', { name: /Log it.*normal, 28 Nov 2025 10:30/ }).waitFor(); // another year is told
  await page.getByLabel('Last pass at').fill('2026-11-28T10:30');
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.locator('.outcome', { hasText: 'it lies in the future: it is 09:00 now' }).waitFor();
  await context.close();
  await daemon.stop();
});

test('given air that was read only after the coat, then its page and its tag know no latest moment, and late tape is scored, not scuffed', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const place = (await daemon.post('/api/v1/places', { name: 'cellar' })).body.id, piece = (await daemon.post('/api/v1/pieces', { name: 'mill body', place })).body.id;
  const { body } = await daemon.get('/api/v1/materials');
  await daemon.post('/api/v1/coats', { pieces: [piece], material: body.items.find((one) => one.class === 'alkyd-enamel').id, last_at: '2026-11-28T08:00:00Z' });
  await daemon.advance(60);
  await daemon.post(`/api/v1/places/${place}/readings`, { temp_c: 18, rh_pct: 55 });
  const { page, close } = await openPage(browser, `${daemon.url}/#piece?id=${piece}`, { size: 'phone' });
  const row = (stage) => page.locator('table.stages tr', { hasText: stage }).first().innerText();
  await page.locator('table.stages').first().waitFor();
  assert.match(await row('dry to handle'), /wait until about .*, no latest moment is known; not before/);
  assert.match(await row('pull the tape'), /score its edge first/);
  assert.doesNotMatch(await row('pull the tape'), /scuff/);
  await page.goto(`${daemon.url}/#hangtag?piece=${piece}`);
  await page.locator('.handle', { hasText: 'no end known yet' }).waitFor();
  await close();
  await daemon.stop();
});

test('given a piece that is carried elsewhere at the end of its long page, then its head says where it hangs, in sight', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { piece } = await shopWithCoat(daemon, 'alkyd-enamel');
  await daemon.post('/api/v1/places', { name: 'loft' });
  await daemon.advance(600);
  const { page, close } = await openPage(browser, `${daemon.url}/#piece?id=${piece.id}`, { size: 'phone' });
  await page.getByText('Carry it elsewhere').click();
  await page.getByRole('button', { name: 'Hangs there now' }).click();
  await page.locator('#said', { hasText: 'mill body hangs in loft, written down.' }).waitFor();
  await page.locator('.lead', { hasText: 'Hangs in loft' }).waitFor();
  await page.waitForFunction(() => scrollY === 0);
  await close();
  await daemon.stop();
});

test('given a page of a piece on which something was unfolded, then it stays so when a reading comes, and what is done folds it', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place, piece } = await shopWithCoat(daemon, 'alkyd-enamel');
  await daemon.post('/api/v1/places', { name: 'loft' });
  await daemon.advance(600);
  const { page, close } = await openPage(browser, `${daemon.url}/#piece?id=${piece.id}`, { size: 'phone' });
  for (const summary of ['The record: 1 entry', 'Carry it elsewhere']) await page.locator('summary', { hasText: summary }).click();
  await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 16, rh_pct: 44 });
  await page.locator('.lead', { hasText: '16 °C, 44 %' }).waitFor();
  await page.locator('li', { hasText: 'Sat 28 November 08:00' }).waitFor();
  await page.getByRole('button', { name: 'Hangs there now' }).click();
  await page.locator('.lead', { hasText: 'Hangs in loft' }).waitFor();
  await page.getByText('Carry it elsewhere').waitFor();
  assert.equal(await page.getByRole('button', { name: 'Hangs there now' }).isVisible(), false);
  await close();
  await daemon.stop();
});

test('given a coat that was stripped, then its record has the air that was read, and not that none was measured; and where it is when it is finished', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { place, piece } = await shopWithCoat(daemon, 'alkyd-enamel');
  await pass(daemon, place, 2);
  await daemon.post(`/api/v1/pieces/${piece.id}/strips`, {});
  const { page, close } = await openPage(browser, `${daemon.url}/#record?piece=${piece.id}`, { size: 'phone' });
  const sheet = page.locator('.recordsheet');
  await sheet.getByText('until it was stripped').waitFor();
  assert.match(await sheet.innerText(), /21 °C, mean 21 °C; .*until it was stripped/);
  assert.doesNotMatch(await sheet.innerText(), /0 min measured/);
  await page.goto(`${daemon.url}/#piece?id=${piece.id}`);
  await page.getByText('It is finished').click();
  await page.getByRole('button', { name: 'Take it off the line' }).click();
  await page.locator('#said', { hasText: 'mill body is off the line.' }).waitFor();
  await close();
  await daemon.stop();
});

test('hours that are quiet are told with both ends, and with both empty there are none', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { page, close } = await openPage(browser, `${daemon.url}/#shop`, { size: 'phone' });
  const settings = page.locator('form:has([name=quiet_from])'), says = settings.locator('.outcome');
  const [from, until] = [page.getByLabel('Quiet from'), page.getByLabel('Quiet until')];
  const keep = () => settings.getByRole('button', { name: 'Keep' }).click();
  assert.deepEqual([await from.inputValue(), await until.inputValue()], ['', '']);
  await from.fill('22:00');
  await keep();
  await says.getByText('Quiet hours: tell both, from and until, or leave both empty.').waitFor();
  await until.fill('07:00');
  await keep();
  await says.getByText('Kept.').waitFor();
  const quiet = async () => { const { quiet_from: a, quiet_to: b } = (await daemon.get('/api/v1/shop')).body.shop; return [a, b]; };
  assert.deepEqual(await quiet(), ['22:00', '07:00']);
  await page.reload();
  await from.waitFor();
  assert.deepEqual([await from.inputValue(), await until.inputValue()], ['22:00', '07:00']);
  await from.fill('');
  await until.fill('');
  await keep();
  await says.getByText('Kept.').waitFor();
  assert.deepEqual(await quiet(), ['00:00', '00:00']);
  await close();
  await daemon.stop();
});

test('given pieces, a rack and materials, then what was used last stands first in the log, and the air is filled in from the sensor', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const made = async (answer) => (await answer).body;
  const place = await made(daemon.post('/api/v1/places', { name: 'cellar' }));
  await daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 19, rh_pct: 47 });
  const pieces = [];
  for (const name of ['lid', 'wheel', 'crank', 'base']) pieces.push(await made(daemon.post('/api/v1/pieces', { name, place: place.id })));
  await daemon.post('/api/v1/racks', { name: 'small parts', pieces: [pieces[2].id, pieces[3].id] });
  const { items } = await made(daemon.get('/api/v1/materials'));
  const [primer, enamel] = ['alkyd-primer', 'alkyd-enamel'].map((name) => items.find((one) => one.class === name));
  await daemon.post('/api/v1/coats', { pieces: [pieces[1].id], material: enamel.id, last_at: '2026-11-28T06:00:00Z' });
  await daemon.post('/api/v1/coats', { pieces: [pieces[2].id, pieces[3].id], material: primer.id, last_at: '2026-11-28T07:00:00Z' });
  const { page, close } = await openPage(browser, `${daemon.url}/#log`, { size: 'wall' });
  const words = async (label) => page.getByRole('radiogroup', { name: label, exact: true }).locator('.choice b').allTextContents();
  await page.getByRole('button', { name: /Log it/ }).waitFor();
  assert.deepEqual((await words('Piece')).slice(0, 5), ['small parts', 'crank', 'base', 'wheel', 'lid']);
  assert.deepEqual((await words('Material')).slice(0, 2), [primer.name, enamel.name]);
  await page.locator('.choice', { hasText: 'small parts' }).click();
  assert.match(await page.locator('.airline').innerText(), /Air 19 °C, 47 %\s+cellar, read/);
  // Only a coat on one of them: the rack comes behind its pieces.
  await daemon.post('/api/v1/coats', { pieces: [pieces[3].id], material: enamel.id, last_at: '2026-11-28T07:30:00Z' });
  await page.waitForFunction(() => document.querySelector('[aria-label="Piece"] .choice b').textContent === 'base');
  assert.deepEqual((await words('Piece')).slice(0, 3), ['base', 'crank', 'small parts']);
  await close();
  await daemon.stop();
});

test('given a coat that was just logged, then undo is there for a minute, and no longer', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { piece, coat } = await shopWithCoat(daemon, 'alkyd-enamel');
  const { page, context, wrong } = await openPage(browser, 'about:blank', { size: 'phone' });
  await page.clock.install({ time: new Date('2026-11-28T08:00:00Z') });
  await page.goto(`${daemon.url}/#log?piece=${piece.id}&material=${coat.material.id}`);
  await page.getByRole('button', { name: /Log it/ }).click();
  await page.getByRole('button', { name: 'Undo' }).waitFor();
  await page.clock.runFor(57e3);
  assert.equal(await page.getByRole('button', { name: 'Undo' }).count(), 1, 'after 57 s');
  await page.clock.runFor(5e3);
  assert.equal(await page.getByRole('button', { name: 'Undo' }).count(), 0, 'after 62 s');
  assert.deepEqual(wrong, []);
  await context.close();
  await daemon.stop();
});

test('given a disk that is full while a coat gets dry, then the page says that nobody is told, and no more once there is room', async () => {
  const daemon = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
  const { piece, coat } = await shopWithCoat(daemon, 'lacquer');
  const room = (bytes) => execFileSync('prlimit', ['--pid', String(daemon.pid), `--fsize=${bytes}:unlimited`]);
  const { page, close } = await openPage(browser, `${daemon.url}/#`, { size: 'phone' });
  await page.getByText(piece.name).first().waitFor();
  room(1);
  assert.equal((await daemon.advance('2026-11-28T08:25:00Z')).status, 507);
  await page.evaluate(() => { dispatchEvent(new Event('online')); }); // it asks by itself twice a minute
  const line = page.locator('#said .net', { hasText: 'What falls due is not told.' });
  await line.waitFor();
  assert.match(await line.innerText(), /It cannot be written down since 0\d:\d\d: the disk is full\. Look at the times below yourself, and see to it\./);
  await assertFits(page, 'a full disk');
  await shot(page, 'full-disk');
  room('unlimited');
  assert.equal((await daemon.post('/api/v1/coats', { pieces: [piece.id], material: coat.material.id })).status, 201);
  await line.waitFor({ state: 'detached' });
  await close();
  await daemon.stop();
});
