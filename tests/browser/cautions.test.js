// The cautions stand in every representation of a coat, a bake, a notice and an entry of the calendar: text, JSON, page, plain page, print, ics.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon, coatAt } = require('../api/daemon.js');
const { launch, made, openPage } = require('./browser.js');

let browser, shop;
const plain = (text) => text.replace(/\s+/g, ' ');

// An enamel that dries, and a black japan in the oven.
async function furnish() {
  const daemon = await startDaemon({ testClock: '2026-11-28T06:00:00Z' });
  const garage = await made(daemon.post('/api/v1/places', { name: 'garage', volume_m3: 60, airflow_m3h: 300 }));
  const oven = await made(daemon.post('/api/v1/places', { name: 'oven', kind: 'oven', volume_m3: 0.1, airflow_m3h: 20, airflow_measured: true }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const version = (name) => items.find((one) => one.class === name).id;
  const air = () => made(daemon.post(`/api/v1/places/${garage.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  const coat = async (name, material) => {
    const piece = await made(daemon.post('/api/v1/pieces', { name, place: garage.id, old_finish: 'tested clear', wall_mm: 6 }));
    return (await made(daemon.post('/api/v1/coats', { pieces: [piece.id], material: version(material), amount_ml: 60 }))).items[0];
  };
  await air();
  const japan = await coat('mill lid', 'baking-japan');
  for (let hour = 0; hour < 5; hour++) {
    await made(daemon.advance(3600));
    await air();
  }
  const enamel = await coat('fan base', 'spray-enamel');
  const bake = await made(daemon.post('/api/v1/bakes', { place: oven.id, parts: [{ coat: japan.id }], steps: [{ target_c: 149 }] }));
  const answers = bake.review.questions.map((one) => ({ about: one.about, answer: one.must }));
  await made(daemon.post(`/api/v1/bakes/${bake.id}/answers`, { answers }));
  const calendar = await made(daemon.post('/api/v1/channels', { name: 'shelf', kind: 'calendar' }));
  return { daemon, coatd: coatAt(daemon.url), enamel, bake: bake.id, calendar: calendar.calendar_link.slice(calendar.calendar_link.indexOf('/calendar.ics')) };
}

before(async () => { browser = await launch(); shop = await furnish(); });
after(async () => { await browser.close(); await shop.daemon.stop(); });

// What must stand there: of each code its act (or all of its text), and what defers.
async function texts() {
  const { items } = await made(shop.daemon.get('/api/v1/cautions?for=shop'));
  const more = (await made(shop.daemon.get('/api/v1/cautions?for=bake'))).items, coat = (await made(shop.daemon.get('/api/v1/cautions?for=coat'))).items;
  return new Map([...items, ...coat, ...more].map((one) => [one.code, one]));
}

async function holds(said, codes, what) {
  const known = await texts();
  assert.ok(codes.length >= 4 && codes.includes('ventilation') && codes.includes('label-first'), `${what}: ${codes}`);
  for (const code of codes) assert.ok(plain(said).includes(known.get(code).act), `${what}: "${known.get(code).act}" is missing`);
  assert.match(said, /label/i, what);
}

async function events() {
  const ics = await (await fetch(shop.daemon.url + shop.calendar)).text();
  return ics.replace(/\r\n[ \t]/g, '').replace(/\\n/g, ' ').replace(/\\([,;])/g, '$1').split('BEGIN:VEVENT').slice(1);
}

// What stands under a heading of the page without scripts.
async function plainUnder(heading) {
  const html = await (await fetch(`${shop.daemon.url}/plain`)).text();
  return html.slice(html.indexOf(heading)).split(/<h[23]/)[0].replace(/<[^>]*>/g, ' ') + html.slice(html.indexOf('class="deferral"'));
}

async function seen(hash, locator, codes, what) {
  const { page, close } = await openPage(browser, `${shop.daemon.url}/#${hash}`, { size: 'phone' });
  await page.locator(`#view ${locator}`).first().waitFor({ state: 'attached' }); // the plate of the shop has cautions of its own, and sooner
  await holds(await page.locator('#view').evaluate((view) => view.textContent), codes, `${what}, page`);
  await page.emulateMedia({ media: 'print' });
  const printed = await page.evaluate(() => document.body.innerText);
  await close();
  return printed;
}

test('of a coat', async () => {
  const { coat, cautions, deferral } = await made(shop.daemon.get(`/api/v1/coats/${shop.enamel.id}`));
  for (const code of coat.cautions) assert.ok(cautions[code].text.length > 40 && cautions[code].source, code);
  assert.match(deferral, /label/);
  await holds((await shop.coatd('show', String(coat.id))).stdout, coat.cautions, 'text');
  await holds((await shop.coatd('--no-color', '--units', 'us', 'show', 'fan base')).stdout, coat.cautions, 'text of the piece');
  const printed = await seen(`piece?id=${coat.piece}`, '.cautions', coat.cautions, 'a coat');
  const known = await texts();
  for (const code of coat.cautions.slice(0, 4)) assert.ok(plain(printed).includes(known.get(code).act), `print: ${code}`);
  assert.match(printed, /label/i);
  await holds(await plainUnder(`>Coat ${coat.id}: `), coat.cautions, 'plain page');
  const own = (await events()).filter((one) => one.includes(`coat-${coat.id}-`));
  assert.ok(own.length > 0);
  for (const event of own) await holds(event, coat.cautions, 'ics');
});

test('of a bake, under review and in the heat', async () => {
  const review = await made(shop.daemon.get(`/api/v1/bakes/${shop.bake}`));
  for (const code of review.cautions) assert.ok(review.caution_texts[code].text.length > 40, code);
  await holds((await shop.coatd('bake', 'show', String(shop.bake))).stdout, review.cautions, 'text of a review');
  await holds(await seen(`bake?id=${shop.bake}`, '.shorts li', review.cautions, 'a review'), review.cautions, 'print of a review');
  await holds(await plainUnder(`>Bake ${shop.bake}, `), review.cautions, 'plain page of a review');
  await made(shop.daemon.post(`/api/v1/bakes/${shop.bake}/start`, {}));
  const running = await made(shop.daemon.get(`/api/v1/bakes/${shop.bake}`));
  await holds((await shop.coatd('bake', 'show', String(shop.bake))).stdout, running.cautions, 'text');
  await holds((await shop.coatd('bake')).stdout, running.cautions, 'text of the list');
  await holds(await seen(`bake?id=${shop.bake}`, '.running', running.cautions, 'a bake'), running.cautions, 'print');
  await holds(await plainUnder(`>Bake ${shop.bake}, `), running.cautions, 'plain page');
  assert.match(await plainUnder(`>Bake ${shop.bake}, `), /heat off: .*to touch: /s);
  const own = (await events()).filter((one) => one.includes('UID:bake-'));
  assert.equal(own.length, 2); // heat off, cool
  for (const event of own) await holds(event, running.cautions, 'ics');
  const plate = await made(shop.daemon.get('/api/v1/shop'));
  assert.ok(plate.shop_cautions.includes('bake')); // while an oven is hot it is on the plate of every view
});

test('of a notice', async () => {
  await made(shop.daemon.advance(8 * 3600));
  const { items, cautions } = await made(shop.daemon.get('/api/v1/notices'));
  const known = await texts();
  assert.ok(items.some((one) => one.kind === 'bake-step') && items.some((one) => one.coat === shop.enamel.id));
  for (const notice of items) {
    assert.ok(notice.cautions.includes('label-first') && notice.cautions.every((code) => cautions[code]), notice.text);
    assert.match(notice.text, /label comes first/, notice.text);
    assert.ok([...known.values()].some((one) => notice.text.includes(one.act) || notice.text.includes(one.text)), notice.text);
  }
  const said = await shop.coatd('notices');
  await holds(said.stdout, ['ventilation', 'label-first', 'flame', 'rags'].filter((code) => known.has(code)), 'text');
});
