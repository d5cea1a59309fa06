// What goes on paper: the tag that hangs on a piece, and the record that goes on with the machine.
'use strict';

const assert = require('node:assert/strict');
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');
const axe = require('axe-core');
const { execFileSync } = require('node:child_process');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { asFromAPhone, telltales } = require('../api/pictures.js');
const { assertFits, launch, made, openPage, shot } = require('./browser.js');

const START = '2026-11-28T08:00:00Z';
let browser, daemon, paper, wheel, cover, folder;

const pages = (pdf) => [...pdf.toString('latin1').matchAll(/MediaBox \[0 0 ([\d.]+) ([\d.]+)/g)].map((found) => [Math.round((found[1] / 72) * 25.4), Math.round((found[2] / 72) * 25.4)]);

// Where pictures are asked for, the sheets are among them.
function keep(name, bytes) {
  if (!process.env.COAT_SHOTS) return;
  const shots = path.resolve(__dirname, '../../build/screenshots');
  fs.mkdirSync(shots, { recursive: true });
  fs.writeFileSync(path.join(shots, name), bytes);
}

async function findings(page) {
  await page.evaluate(axe.source);
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
  return violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 120)).join(' | ')} ${one.nodes[0].failureSummary.slice(0, 200)}`);
}

// A mill wheel with a dozen coats over three weeks, one of them entered wrong and one corrected; and a cover with size on it.
async function fill() {
  const { id: cellar } = await made(daemon.post('/api/v1/places', { name: 'cellar', kind: 'room' }));
  const { id: loft } = await made(daemon.post('/api/v1/places', { name: 'loft', kind: 'room' }));
  wheel = await made(daemon.post('/api/v1/pieces', { name: 'mill 2 flywheel', place: cellar, note: 'two spokes brazed before it came', mass_kg: 14, wall_mm: 9 }));
  cover = await made(daemon.post('/api/v1/pieces', { name: 'hopper cover', place: loft }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const material = (name) => items.find((one) => one.class === name).id;
  const coats = [];
  for (let i = 0; i < 12; i += 1) {
    const moment = new Date(Date.parse(START) + i * 2 * 86400e3);
    if (i > 0) await made(daemon.advance(moment.toISOString()));
    for (const place of [cellar, loft]) await made(daemon.post(`/api/v1/places/${place}/readings`, { temp_c: 17 + (i % 4), rh_pct: 52 + i }));
    const role = i < 2 ? 'alkyd-primer' : 'alkyd-enamel';
    coats.push((await made(daemon.post('/api/v1/coats', { pieces: [wheel.id], material: material(role), amount_ml: 40, film: i % 3 ? 'normal' : 'light', note: i === 3 ? 'a run under the rim, wiped' : '' }))).items[0]);
    if (i === 4) await made(daemon.post(`/api/v1/coats/${coats[4].id}/strike`, { why: 'that was the other wheel' }));
    if (i === 5) await made(daemon.patch(`/api/v1/coats/${coats[5].id}`, { film: 'heavy' }));
    if (i === 6) await made(daemon.post(`/api/v1/pieces/${wheel.id}/moves`, { place: loft }));
    if (i === 7) await made(daemon.post(`/api/v1/coats/${coats[7].id}/tests`, { stage: 'touch', passed: false }));
    if (i === 8) await made(daemon.post(`/api/v1/coats/${coats[8].id}/sandings`, {}));
  }
  await made(daemon.post('/api/v1/coats', { pieces: [cover.id], material: material('oil-size-slow') }));
}

before(async () => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-paper-'));
  browser = await launch();
  daemon = await startDaemon({ testClock: START });
  await fill();
  paper = await openPage(browser, daemon.url, { size: 'wall', context: { bypassCSP: true } });
});
after(async () => {
  await browser.close();
  await daemon.stop();
  fs.rmSync(folder, { recursive: true, force: true });
});

async function look(hash, { size = 'wall', scheme = 'light' } = {}) {
  const { page } = paper;
  await page.setViewportSize(size === 'wall' ? { width: 1280, height: 800 } : { width: 390, height: 844 });
  await page.emulateMedia({ media: null, colorScheme: scheme });
  await page.goto(`${daemon.url}/#${hash}`);
  return page;
}

async function onTag(piece, options) {
  const page = await look(`hangtag?piece=${piece.id}`, options);
  await page.locator('.paper .code').waitFor();
  await page.waitForFunction(() => document.querySelector('.paper .code').complete);
  return page;
}

test('a tag prints on two sides of 80 by 140 mm, in black alone, and says the latest moment with its day', async () => {
  const page = await onTag(wheel);
  const pdf = await page.pdf({ preferCSSPageSize: true });
  keep('tag.pdf', pdf);
  assert.deepEqual(pages(pdf), [[80, 140], [80, 140]]);
  const handle = await page.locator('.paper .handle').innerText();
  assert.match(handle, /Do not handle before\s+\w+ \d+ \w+ \d\d:\d\d/);
  const { body: shop } = await daemon.get('/api/v1/shop');
  const top = shop.coats.find((coat) => coat.piece === wheel.id && coat.status === 'on');
  const latest = new Date(top.stages.find((stage) => stage.stage === 'handle').spans[0].until.latest_at).toISOString();
  assert.ok(handle.includes(latest.slice(11, 16)) && handle.includes(` ${Number(latest.slice(8, 10))} `), `${handle} is not ${latest}`);
  await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
  const colours = await page.locator('.paper, .paper *').evaluateAll((all) => [...new Set(all.map((el) => getComputedStyle(el).color))]);
  assert.deepEqual(colours, ['rgb(0, 0, 0)']);
});

test('all that a tag says is inside it, whatever hangs there', async () => {
  for (const piece of [wheel, cover]) {
    const page = await onTag(piece);
    const out = await page.locator('.paper .side').evaluateAll((sides) => sides.flatMap((side) => {
      const box = side.getBoundingClientRect();
      return [...side.querySelectorAll('*')].filter((el) => { const r = el.getBoundingClientRect(); return r.bottom > box.bottom + 1 || r.right > box.right + 1; }).map((el) => el.outerHTML.slice(0, 80));
    }));
    assert.deepEqual(out, [], piece.name);
    const overlaps = await page.locator('.paper .side').evaluateAll((sides) => sides.flatMap((side) => [...side.children, ...side.querySelectorAll('.write, .foot > *')].filter((el, i, all) => el.scrollWidth > el.clientWidth + 2 || (all[i + 1]?.parentNode === el.parentNode && !el.parentNode.matches('.foot') && all[i + 1].getBoundingClientRect().top < el.getBoundingClientRect().bottom - 1)).map((el) => el.outerHTML.slice(0, 80))));
    assert.deepEqual(overlaps, [], `${piece.name}: one over the other`);
    assert.ok(await page.locator('.paper .write').evaluateAll((all) => all.every((el) => el.getBoundingClientRect().height > 24)), 'room to write by hand');
  }
});

test('a tag of a size tells its finger test and when it is too late, each with its day, and that nothing is known of handling it', async () => {
  const page = await onTag(cover);
  const text = await page.locator('.paper .side').first().innerText();
  assert.match(text, /finger test from \w+,? \d+ Dec \d\d:\d\d/);
  assert.match(text, /too late to rely on from \w+,? \d+ Dec \d\d:\d\d/);
  assert.match(text, /Do not handle\s+before the label says so/);
});

test('a tag never tells a moment before the last coat is ready and a part out of the oven is cool', async () => {
  const page = await onTag(wheel);
  const said = await page.evaluate(async () => {
    const { handling } = await import('/assets/tag.js');
    const now = Date.parse('2026-12-20T08:00:00Z');
    const coat = (name, latest_at, more = {}) => ({ status: 'on', material: { name }, bake: null, stages: [{ stage: 'handle', spans: [{ do: 'wait', until: latest_at === undefined ? null : { latest_at } }, { do: 'go', until: null }] }], ...more });
    const words = (coats) => { const { title, moment } = handling(coats, now); return `${title} ${moment}`; };
    const early = '2026-12-20T10:00:00Z', late = '2026-12-21T18:30:00Z';
    return [words([coat('rim', early), coat('spokes', late)]), words([coat('rim', early), coat('spokes', null)]), words([coat('rim', early, { bake: { state: 'soaking' } })]),
      words([coat('rim', early, { bake: { state: 'cooling', cool_at: late } })]), words([coat('rim', early, { bake: { state: 'cooling', cool_at: null } })]), words([coat('rim', '2026-12-19T10:00:00Z')]), words([coat('rim', late, { status: 'covered' }), coat('rim', early)]), words([])];
  });
  assert.deepEqual(said.map((text) => text.replace(',', '')), ['Do not handle before Mon 21 Dec 18:30', 'Do not handle no end in sight in this air', 'Do not handle it is in the oven', 'Do not handle before Mon 21 Dec 18:30', 'Do not handle no end in sight in this air',
    'May be handled since Sat 19 Dec 10:00', 'Do not handle before Sun 20 Dec 10:00', 'No coat on it ']);
});

test('the code on the printed tag is read by another reader, and leads to the piece', async () => {
  const page = await onTag(wheel);
  await page.emulateMedia({ media: 'print' });
  const picture = path.join(folder, 'tag.png');
  await page.locator('.paper .side').first().screenshot({ path: picture });
  const read = execFileSync('zbarimg', ['--quiet', '--raw', picture], { encoding: 'utf8' }).trim();
  assert.equal(read, `${daemon.url}/#piece?id=${wheel.id}`);
  await page.goto('about:blank');
  await page.goto(read);
  await page.getByRole('heading', { name: 'mill 2 flywheel' }).waitFor();
});

// A picture of that many pixels, as this browser writes it: the left half dark, the right half bright.
async function jpegOf(page, width, height, noise = false) {
  const url = await page.evaluate(([w, h, n]) => {
    const canvas = Object.assign(document.createElement('canvas'), { width: w, height: h }), pen = canvas.getContext('2d');
    pen.fillStyle = '#fff'; pen.fillRect(0, 0, w, h); pen.fillStyle = '#222'; pen.fillRect(0, 0, w / 2, h);
    if (n) { const all = pen.getImageData(0, 0, w, h); for (let i = 0; i < all.data.length; i += 7) all.data[i] = (i * 7919) % 251; pen.putImageData(all, 0, 0); }
    return canvas.toDataURL('image/jpeg', 0.95);
  }, [width, height, noise]);
  return Buffer.from(url.split(',')[1], 'base64');
}

const photosOf = async (piece) => (await made(daemon.get(`/api/v1/pieces/${piece.id}/photos`))).items;

const unfold = (page, label) => page.locator('.kept details', { hasText: label }).evaluate((el) => { el.open = true; });

async function addPhoto(page, bytes, caption) {
  await unfold(page, 'Add a photo');
  await page.getByLabel('What the next photo shows').fill(caption);
  await page.getByLabel('Choose pictures').setInputFiles({ name: 'rim.jpg', mimeType: 'image/jpeg', buffer: bytes });
  await page.locator('.photos figure', { hasText: caption }).waitFor();
}

test('given a photo that tells where it was taken, then the page shows it the right way up, and what the shop gives out tells nothing', async () => {
  const page = await look(`piece?id=${wheel.id}`, { size: 'phone' });
  const sent = asFromAPhone(await jpegOf(page, 60, 40), 6);
  assert.ok(telltales(sent).length >= 5);
  await addPhoto(page, sent, 'rim before blasting');
  const [photo] = await photosOf(wheel);
  const bytes = Buffer.from(await (await fetch(`${daemon.url}/api/v1/photos/${photo.id}`)).arrayBuffer());
  assert.deepEqual(telltales(bytes), []);
  const image = page.locator('.photos img').first();
  await image.scrollIntoViewIfNeeded();
  await page.waitForFunction(() => document.querySelector('.photos img').naturalWidth > 0);
  assert.deepEqual(await image.evaluate((el) => [el.naturalWidth, el.naturalHeight]), [40, 60], 'turned by a quarter');
  assert.equal(await image.getAttribute('alt'), 'rim before blasting');
});

test('a large photo is made smaller before it is sent', async () => {
  const page = await look(`piece?id=${wheel.id}`, { size: 'phone', scheme: 'dark' });
  const sent = await jpegOf(page, 3000, 1500, true);
  assert.ok(sent.length > 600e3, `${sent.length} bytes are not large`);
  await addPhoto(page, sent, 'the whole wheel');
  const photo = (await photosOf(wheel)).find((one) => one.note === 'the whole wheel');
  assert.deepEqual([photo.width, photo.height], [2048, 1024]);
  assert.ok(photo.bytes < sent.length);
  await page.getByText('Notes and photos').scrollIntoViewIfNeeded();
  await shot(page, 'photos-phone-dark');
});

test('a file that is no picture is told at the form; a photo is taken away by two taps, and is gone', async () => {
  const page = await look(`piece?id=${wheel.id}`);
  await unfold(page, 'Add a photo');
  await page.getByLabel('Choose pictures').setInputFiles({ name: 'letter.pdf', mimeType: 'application/pdf', buffer: Buffer.from('%PDF-1.7') });
  await page.getByText(/Not kept: .*JPEG and PNG/).waitFor();
  const before = await photosOf(wheel);
  const figure = page.locator('.photos figure', { hasText: 'the whole wheel' });
  await figure.getByRole('button').click();
  await figure.getByRole('button', { name: /for good/ }).click();
  await figure.waitFor({ state: 'detached' });
  assert.equal((await photosOf(wheel)).length, before.length - 1);
});

test('a note is kept with its time, and stands in the record', async () => {
  const page = await look(`piece?id=${wheel.id}`, { size: 'phone' });
  await unfold(page, 'Add a note');
  await page.getByLabel('Note', { exact: true }).fill('blasted with fine garnet');
  await page.getByRole('button', { name: 'Note it' }).click();
  await page.locator('.kept .told', { hasText: 'blasted with fine garnet' }).waitFor();
  await page.getByText('Notes and photos').scrollIntoViewIfNeeded();
  await assertFits(page, 'notes and photos');
  assert.deepEqual(await findings(page), []);
  await shot(page, 'photos-phone-light');
});

async function onRecord(piece, options) {
  const page = await look(`record?piece=${piece.id}`, options);
  await page.locator('.recordsheet .mindit').waitFor();
  return page;
}

test('the record of a dozen coats prints on two sheets at most, and has each entry, the struck one marked', async () => {
  const page = await onRecord(wheel);
  await page.locator('.coats tbody tr').first().waitFor();
  await page.waitForFunction(() => [...document.querySelectorAll('.recordsheet img')].every((image) => image.naturalWidth > 0));
  for (const format of ['A4', 'Letter']) {
    const pdf = await page.pdf({ format });
    keep(`record-${format}.pdf`, pdf);
    const count = pages(pdf).length;
    assert.ok(count >= 1 && count <= 2, `${count} sheets of ${format}`);
  }
  assert.equal(await page.locator('.coats tbody tr').count(), 12);
  const struck = page.locator('tr.struck');
  assert.equal(await struck.count(), 1);
  assert.match(await struck.innerText(), /struck out .*: that was the other wheel/);
  assert.equal(await struck.locator('s').count(), 1);
  await page.locator('.recordsheet', { hasText: 'blasted with fine garnet' }).waitFor();
  const text = await page.locator('.recordsheet').innerText();
  for (const said of [/corrected later/, /test not passed/, /sanded 14 Dec/, /cellar, since/, /loft, since/, /two spokes brazed/, /17 °C to 20 °C/, /measured/, /14 kg/, /counts as lead/, /: blasted with fine garnet/, /rim before blasting/]) assert.match(text, said);
});

test('given a finished piece, then its record is found under the finished ones', async () => {
  await made(daemon.del(`/api/v1/pieces/${cover.id}`));
  const page = await look('finished');
  await page.getByRole('link', { name: 'hopper cover' }).click();
  await page.getByRole('heading', { name: 'The record of hopper cover' }).waitFor();
  assert.match(await page.locator('.recordsheet').innerText(), /Finished/);
});

for (const [size, scheme] of [['wall', 'light'], ['wall', 'dark'], ['phone', 'light'], ['phone', 'dark']]) {
  test(`tag and record stand well on a ${size} in ${scheme}`, async () => {
    const shots = [[onTag, 'tag'], [onRecord, 'record']];
    for (const [open, name] of shots) {
      const page = await open(wheel, { size, scheme });
      await assertFits(page, name);
      assert.deepEqual(await findings(page), [], name);
      await shot(page, `${name}-${size}-${scheme}`);
    }
  });
}

test('nothing went wrong on the page meanwhile', async () => { await paper.close(); });
