// With scripts off the page leads to one of plain text, on which the cautions and the state of each piece can be read.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const axe = require('axe-core');
const { startDaemon } = require('../api/daemon.js');
const { assertFits, launch, made, openPage, shot } = require('./browser.js');

const LONG = 'scale base, unbreakably-long-and-hyphenless_name_of_60_letters';
let browser, daemon, shop;

before(async () => {
  browser = await launch();
  daemon = await startDaemon({ testClock: '2026-11-28T06:00:00Z' });
  const garage = await made(daemon.post('/api/v1/places', { name: 'garage' }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const material = (name) => items.find((one) => one.class === name).id;
  await made(daemon.post(`/api/v1/places/${garage.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  for (const [name, kind] of [['mill lid', 'baking-japan'], ['fan base', 'spray-enamel'], [LONG, 'epoxy-primer'], ['platform "B" <1>', 'alkyd-primer']]) {
    const piece = await made(daemon.post('/api/v1/pieces', { name, place: garage.id }));
    await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: material(kind) }));
  }
  await made(daemon.advance(2 * 3600));
  await made(daemon.post('/api/v1/pieces', { name: 'bare iron', place: garage.id }));
  shop = await made(daemon.get('/api/v1/shop'));
});
after(async () => { await browser.close(); await daemon.stop(); });

const noScripts = (size, scheme = 'light') => openPage(browser, daemon.url, { size, scheme, context: { javaScriptEnabled: false } });

test('with scripts off the page leads there by itself, and each piece, stage and caution is in sight', async () => {
  const { page, close } = await noScripts('phone');
  await page.waitForURL('**/plain');
  for (const piece of shop.pieces) {
    const section = page.getByRole('region', { name: piece.name });
    assert.ok(await section.isVisible(), piece.name);
    const coat = shop.coats.find((one) => one.piece === piece.id);
    const rows = await section.getByRole('listitem').allInnerTexts();
    assert.deepEqual(rows.map((row) => row.split(/\s+/).slice(0, 2).join(' ')), coat ? coat.stages.map((one) => `${one.stage} ${one.state}`) : []);
    if (!coat) assert.match(await section.innerText(), /no coats yet/);
  }
  for (const code of [...shop.shop_cautions, ...shop.coats.flatMap((coat) => coat.cautions)])
    assert.ok(await page.getByText(shop.cautions[code].text.slice(0, 60)).first().isVisible(), code);
  assert.ok(await page.getByText(shop.deferral).isVisible());
  const first = await page.getByText(shop.cautions[shop.shop_cautions[0]].act, { exact: true }).boundingBox();
  assert.ok(first.y + first.height < page.viewportSize().height, 'the first caution is in sight at once');
  await close();
});

for (const [size, scheme] of [['small', 'light'], ['phone', 'dark'], ['wall', 'light'], ['wall', 'dark']]) {
  test(`it fits a ${size} in ${scheme}, and a machine finds nothing to mend`, async () => {
    const { page, close } = await openPage(browser, `${daemon.url}/plain`, { size, scheme, context: { bypassCSP: true } });
    await assertFits(page, size);
    await page.addStyleTag({ content: '* { font-family: "DejaVu Sans", Verdana, sans-serif !important; }' }); // where no narrow font is installed
    await assertFits(page, `${size}, in a broad font`);
    await page.evaluate(axe.source);
    const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
    assert.deepEqual(violations.map((one) => `${one.id}: ${one.nodes[0].html.slice(0, 120)} ${one.nodes[0].failureSummary}`), []);
    await shot(page, `plain-${size}-${scheme}`);
    await close();
  });
}

async function inSight(page, locator) {
  const box = await locator.boundingBox();
  return box.y >= -1 && box.y < page.viewportSize().height; // a heading may end up part of a pixel above the edge
}

test('a reader that wants it still gets it still, and each heading is led to', async () => {
  const { page, close } = await noScripts('phone');
  await page.getByRole('link', { name: 'keep it still' }).click();
  await page.waitForURL('**/plain?still=1');
  for (const name of ['Not yet', 'Bakes', 'Pieces', 'Notices', 'Air', 'Cautions in full']) {
    await page.getByRole('navigation').getByRole('link', { name }).click();
    const heading = page.getByRole('heading', { name, exact: true });
    for (let i = 0; i < 100 && !(await inSight(page, heading)); i += 1) await heading.isVisible();
    assert.ok(await inSight(page, heading), `${name}: ${JSON.stringify(await heading.boundingBox())}`);
  }
  await close();
});

test('on paper it is black on white and leads nowhere', async () => {
  const { page, close } = await noScripts('wall', 'dark');
  await page.waitForURL('**/plain');
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  const colours = await page.locator('html').evaluate((el) => [getComputedStyle(el).color, getComputedStyle(el).backgroundColor]);
  assert.deepEqual(colours, ['rgb(0, 0, 0)', 'rgb(255, 255, 255)']);
  assert.equal(await page.getByRole('link').count(), 0);
  assert.ok(await page.getByText(shop.deferral).isVisible());
  await close();
});
