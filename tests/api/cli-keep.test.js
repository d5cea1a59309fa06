// coat piece note, coat piece photo: as a person types them.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { test } = require('node:test');
const { coatAt, scratchFolder } = require('./daemon');
const { openShop, expect, at } = require('./scene');
const { asFromAPhone, plainJpeg, telltales } = require('./pictures');

async function open(t) {
  const shop = await openShop(t);
  const folder = scratchFolder();
  t.after(() => fs.rmSync(folder, { recursive: true }));
  const wheel = await shop.addPiece('mill wheel');
  return { shop, coat: coatAt(shop.url), folder, wheel };
}
const done = async (run) => { const { code, stdout, stderr } = await run; assert.equal(code, 0, stderr + stdout); return stdout; };
const fails = async (run, status, text) => { const { code, stderr, stdout } = await run; assert.equal(code, status, stderr + stdout); assert.match(stderr.replace(/\s+/g, ' '), text); };

test('a note is kept with its time, and listed', async (t) => {
  const { shop, coat, wheel } = await open(t);
  assert.match(await done(coat('piece', 'note', 'mill')), /No note on it yet/);
  assert.match(await done(coat('piece', 'note', 'mill', 'two spokes brazed', '--at', '07:30')), /Noted: two spokes brazed/);
  assert.match(await done(coat('piece', 'note', 'mill')), /07:30 +two spokes brazed/);
  assert.equal((await expect(shop.get(`/api/v1/pieces/${wheel.id}/notes`), 200)).items[0].at, at('07:30'));
  await fails(coat('piece', 'note', 'mill', ' '), 1, /empty.*Nothing was entered/);
});

test('a photo is cleaned, kept with what it shows, listed and taken out again', async (t) => {
  const { shop, coat, folder, wheel } = await open(t);
  const file = path.join(folder, 'rim.jpg');
  fs.writeFileSync(file, asFromAPhone(plainJpeg(), 8));
  assert.match(await done(coat('piece', 'photo', 'mill', file, '--note', 'rim & hub, 100 % bare: ä')), /Photo 1 kept, without where, when and by whom/);
  const [photo] = (await expect(shop.get(`/api/v1/pieces/${wheel.id}/photos`), 200)).items;
  assert.equal(photo.note, 'rim & hub, 100 % bare: ä');
  assert.deepEqual(telltales(Buffer.from(await (await fetch(`${shop.url}/api/v1/photos/1`)).arrayBuffer())), []);
  assert.match(await done(coat('piece', 'photo', 'mill')), /1 +\S+.* +rim & hub/);
  await fails(coat('piece', 'photo', 'mill', '--remove', '7'), 2, /no photo "7"/);
  assert.match(await done(coat('piece', 'photo', 'mill', '--remove', '1')), /gone for good/);
  assert.match(await done(coat('piece', 'photo', 'mill')), /No photo of it yet/);
});

test('what is no photo is refused before it is sent', async (t) => {
  const { shop, coat, folder } = await open(t);
  const file = path.join(folder, 'letter.txt');
  const before = await shop.revision();
  fs.writeFileSync(file, 'dear restorer');
  await fails(coat('piece', 'photo', 'mill', file), 2, /letter\.txt: this is no JPEG and no PNG.*Nothing was changed/);
  fs.writeFileSync(file, Buffer.concat([plainJpeg(), Buffer.alloc(4 * 1024 * 1024)]));
  await fails(coat('piece', 'photo', 'mill', file), 2, /at most 4 MiB/);
  await fails(coat('piece', 'photo', 'mill', '/nonexistent'), 2, /cannot be read/);
  assert.equal(await shop.revision(), before);
});
