// A bake from its review to the cold part, over the API, the command line and the calendar.
'use strict';

const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused } = require('./scene.js');
const { coatAt } = require('./daemon.js');

const MUST_YES = ['degreased', 'flashed-off', 'looked-over', 'old-finish-clear', 'cut-out', 'exhaust', 'purged', 'extinguisher', 'attended'];
const MUST_NO = ['sealed-hollow', 'food-oven', 'open-element-or-pilot', 'near-solvent', 'oven-below-ground'];
const GOOD = [...MUST_YES.map((about) => ({ about, answer: 'yes' })), ...MUST_NO.map((about) => ({ about, answer: 'no' }))];

// A mill body with black japan that has flashed off, and a measured oven of 100 l.
async function readyShop(t, more = {}) {
  const shop = await openShop(t);
  const garage = await shop.addPlace('garage', { volume_m3: 60, airflow_m3h: 300 });
  const oven = await shop.addPlace('oven', { kind: 'oven', volume_m3: 0.1, airflow_m3h: 20, airflow_measured: true, ...more });
  await shop.air(garage, 20, 50);
  const body = await shop.addPiece('mill body', { place: garage.id, old_finish: 'tested clear', wall_mm: 6 });
  const japan = await shop.builtin('baking-japan');
  const coat = (await expect(shop.post('/api/v1/coats', { pieces: [body.id], material: japan.id, amount_ml: 60 }), 201)).items[0];
  for (let hour = 0; hour < 5; hour++) {
    await shop.advance(3600);
    await shop.air(garage, 20, 50);
  }
  const load = { place: oven.id, oven_air: 'fan', parts: [{ coat: coat.id }], steps: [{ target_c: 149 }] };
  return { shop, garage, oven, body, coat, load, coatd: coatAt(shop.url) };
}

async function running(t) {
  const scene = await readyShop(t);
  const { shop } = scene;
  const bake = await expect(shop.post('/api/v1/bakes', scene.load), 201);
  await expect(shop.post(`/api/v1/bakes/${bake.id}/answers`, { answers: GOOD }), 200);
  await expect(shop.post(`/api/v1/bakes/${bake.id}/start`, {}), 200);
  return { ...scene, where: `/api/v1/bakes/${bake.id}` };
}

test('a review tells what is asked and what speaks against it, and nothing begins before', async (t) => {
  const { shop, load } = await readyShop(t);
  const bake = await expect(shop.post('/api/v1/bakes', load), 201);
  assert.equal(bake.state, 'review');
  assert.equal(bake.review.questions.length, GOOD.length);
  assert.ok(bake.review.questions.every((one) => one.answer === 'unanswered' && one.source && one.why));
  assert.equal(bake.review.may_start, false);
  assert.ok(bake.review.refusals[0].safety); // people first
  await refused(shop, shop.post(`/api/v1/bakes/${bake.id}/start`, {}), 409, 'review');
  const answered = await expect(shop.post(`/api/v1/bakes/${bake.id}/answers`, { answers: GOOD }), 200);
  assert.deepEqual(answered.review.refusals, []);
  assert.ok(answered.review.questions.every((one) => one.answer === one.must && one.answered_at));
  assert.equal(answered.review.vapour.quarter_of_lel, 'not shown to exceed');
  const begun = await expect(shop.post(`/api/v1/bakes/${bake.id}/start`, {}), 200);
  assert.equal(begun.state, 'heating');
  assert.doesNotMatch(JSON.stringify({ ...begun, caution_texts: null }), /\b(is|are) safe\b/);
});

test('the same write with the same key begins one review and one bake', async (t) => {
  const { shop, load } = await readyShop(t);
  const key = { 'idempotency-key': 'bake-1' };
  const first = await expect(shop.post('/api/v1/bakes', load, key), 201), again = await expect(shop.post('/api/v1/bakes', load, key), 201);
  assert.equal(first.id, again.id);
  assert.equal((await expect(shop.get('/api/v1/bakes'), 200)).items.length, 1);
});

// A tin of the shop's own, of the class of the built-in: its label prints what is too hot and too long.
const label = { name: 'black japan, small tin', class: 'baking-japan', bake: [{ temp_c: 150, hours: 1 }], bake_limits: { too_hot_c: 190, too_long: { temp_c: 150, hours: 3 } }, thinner: 'mineral spirits' };

async function labelled(t) {
  const scene = await readyShop(t);
  const { shop, garage } = scene;
  const material = await expect(shop.post('/api/v1/materials', label), 201);
  const coat = (await expect(shop.post('/api/v1/coats', { pieces: [scene.body.id], place: garage.id, material: material.id, amount_ml: 60, thinned_pct: 10 }), 201)).items[0];
  const bake = await expect(shop.post('/api/v1/bakes', { ...scene.load, parts: [{ coat: coat.id }], steps: [{ target_c: 150 }] }), 201);
  return { ...scene, material, coat, bake };
}

test('what a label calls too hot and too long is kept, counts, and is told as such', async (t) => {
  const { shop, material, coat, bake, load, coatd } = await labelled(t);
  assert.deepEqual([material.bake_limits, material.thinner], [label.bake_limits, 'mineral spirits']);
  assert.equal(coat.thinner, 'mineral spirits', 'a thinned coat that names nothing else');
  const [part] = bake.parts;
  assert.deepEqual([part.too_hot_c, part.too_hot_source, part.too_long, part.too_long_row, part.too_long_source], [190, 'by its label', 3, { temp_c: 150, hours: 3 }, 'by its label']);
  const plain = await expect(shop.post('/api/v1/bakes', load), 201);
  assert.deepEqual([plain.parts[0].too_hot_c, plain.parts[0].too_long, plain.parts[0].too_long_row], [164, 2, null]);
  assert.match(plain.parts[0].too_hot_source, /^common practice/);
  const says = async (id) => (await coatd('bake', 'show', String(id))).stdout.replace(/\s+/g, ' ');
  assert.match(await says(bake.id), /too hot mill body from 190 C of the metal; by its label too long mill body from 3 h at 150 C; by its label/);
  assert.match(await says(plain.id), /too hot mill body from 164 C of the metal; common practice: .* too long mill body from 2 times what its rows ask; common practice/);
  const long = await expect(shop.post('/api/v1/bakes', { ...load, parts: [{ coat: coat.id }], steps: [{ target_c: 150, hold_min: 200 }] }), 201);
  assert.match(long.review.refusals.find((one) => one.kind === 'too-long').text, /3 h at 150 C is too long for it \(by its label\)/);
});

test('limits of a label that will not do are named, with what would', async (t) => {
  const shop = await openShop(t);
  const bad = async (bake_limits, field, says) => assert.match((await refused(shop, shop.post('/api/v1/materials', { ...label, bake_limits }), 422, field)).detail, says);
  await bad({ too_hot_c: 150 }, 'bake_limits.too_hot_c', /its hottest bake row is 150 C; more than that will do/);
  await bad({ too_hot_c: 301 }, 'bake_limits.too_hot_c', /301/);
  await bad({ too_long: { temp_c: 150, hours: 0.5 } }, 'bake_limits.too_long', /its bake rows ask for 1 h there/);
  await bad({ too_long: { temp_c: 150 } }, 'bake_limits.too_long.hours', /missing/);
  await bad({ too_long: { temp_c: 120, hours: 9 } }, 'bake_limits.too_long', /at 120 C it does not bake/);
  await bad({ hot: 190 }, 'bake_limits.hot', /known are too_hot_c, too_long/);
  await refused(shop, shop.post('/api/v1/materials', { name: 'air enamel', class: 'alkyd-enamel', bake_limits: { too_hot_c: 190 } }), 422, 'bake');
  await refused(shop, shop.post('/api/v1/materials', { ...label, thinner: 7 }), 422, 'thinner');
  assert.equal((await expect(shop.get('/api/v1/materials'), 200)).items.some((one) => one.name === label.name), false);
});

test('bad loads are named', async (t) => {
  const { shop, load, garage, coat } = await readyShop(t);
  const bad = (change, field) => refused(shop, shop.post('/api/v1/bakes', { ...load, ...change }), 422, field);
  await bad({ place: garage.id }, 'place');
  await bad({ parts: [{ coat: 99 }] }, 'parts[0].coat');
  await bad({ parts: [{ coat: coat.id, wall_mm: -1 }] }, 'parts[0].wall_mm');
  await bad({ steps: [{ target_c: 80 }] }, 'steps.0.hold_min');
  await bad({ retained_pct: 120 }, 'retained_pct');
  await refused(shop, shop.get('/api/v1/bakes/9'), 404);
  assert.deepEqual((await expect(shop.get('/api/v1/bakes?all=1'), 200)).items, []);
});

test('a running bake tells oven, part, when the heat may go and when a hand can touch it; its end is in the coat', async (t) => {
  const { shop, where, coat } = await running(t);
  const begun = await expect(shop.get(where), 200);
  await shop.advance(2 * 3600);
  const soaking = await expect(shop.get(where), 200);
  assert.equal(soaking.state, 'soaking');
  assert.equal(soaking.oven.reading, 'not-read');
  assert.equal(soaking.turn_down_at, begun.turn_down_at);
  assert.ok(soaking.parts[0].progress > 0.2 && soaking.parts[0].progress < 1);
  assert.ok(Date.parse(soaking.too_long_at) > Date.parse(soaking.turn_down_at));
  assert.equal((await expect(shop.get(`/api/v1/coats/${coat.id}`), 200)).coat.bake.state, 'soaking');
  await shop.advance((Date.parse(soaking.turn_down_at) - Date.parse(soaking.begun_at)) / 1000 - 2 * 3600 + 60);
  const notices = (await expect(shop.get('/api/v1/notices'), 200)).items.filter((one) => one.kind === 'bake-step');
  assert.equal(notices.length, 1);
  assert.match(notices[0].text, /turn the heat off/);
  assert.ok(Date.parse(notices[0].raised_at) >= Date.parse(begun.turn_down_at)); // never early
  const ended = await expect(shop.post(`${where}/stop`, {}), 200);
  assert.deepEqual([ended.state, ended.baked], ['cooling', true]);
  await shop.advance((Date.parse(ended.cool_at) - Date.parse(ended.ended_at)) / 1000 + 60);
  assert.equal((await expect(shop.get(where), 200)).state, 'cold');
  const { coat: after } = await expect(shop.get(`/api/v1/coats/${coat.id}`), 200);
  assert.deepEqual([after.bake.baked, after.condition], [true, 'hard']);
});

test('the cautions stand in every representation of a bake', async (t) => {
  const { shop, where, coatd, coat } = await running(t);
  const { act, text } = (await expect(shop.get('/api/v1/cautions?for=bake'), 200)).items.find((one) => one.code === 'bake');
  const bake = await expect(shop.get(where), 200);
  assert.ok(bake.cautions.includes('bake'));
  assert.equal(bake.caution_texts.bake.text, text);
  assert.ok(bake.deferral);
  const plain = (said) => said.replace(/\s+/g, ' ');
  for (const words of [['bake', 'show', '1'], ['bake', 'show']]) assert.ok(plain((await coatd(...words)).stdout).includes(act), words.join(' '));
  const channel = await expect(shop.post('/api/v1/channels', { name: 'shelf', kind: 'calendar' }), 201);
  const ics = await (await fetch(shop.url + channel.calendar_link.slice(channel.calendar_link.indexOf('/calendar.ics')))).text();
  const unfolded = ics.replace(/\r\n[ \t]/g, '').replace(/\\([,;])/g, '$1');
  assert.match(unfolded, /SUMMARY:Bake 1: heat off \(not before\)/);
  for (const event of unfolded.split('BEGIN:VEVENT').slice(1).filter((one) => one.includes('UID:bake-'))) assert.ok(event.includes(act), event);
  await shop.advance(6 * 3600);
  const notice = (await expect(shop.get('/api/v1/notices'), 200)).items.find((one) => one.kind === 'bake-step');
  assert.ok(notice.cautions.includes('bake') && notice.text.includes(act) && /label/i.test(notice.text));
  assert.ok((await expect(shop.get(`/api/v1/coats/${coat.id}`), 200)).cautions);
});

test('a person at the bench: check, answers, start, show, stop', async (t) => {
  const { coatd, shop } = await readyShop(t);
  const plain = (said) => said.stdout.replace(/\s+/g, ' ');
  const review = await coatd('bake', 'check', 'mill body', 'oven', '--step', '149C', '--fan');
  assert.equal(review.code, 0, review.stderr);
  const order = [/Stay with the oven, exhaust running/, /of solvent still in the film/, /Answer each with the piece/, /It does not begin while these stand/];
  const at = order.map((words) => plain(review).search(words));
  assert.deepEqual(at, [...at].sort((a, b) => a - b)); // cautions first, sums next, the list last
  assert.ok(at[0] > 0);
  const early = await coatd('bake', 'start', '1');
  assert.equal(early.code, 1);
  assert.match(early.stderr, /Not answered[^]*more against it/);
  const answered = await coatd('bake', 'check', '1', '--yes', MUST_YES.join(','), '--no', MUST_NO.join(','), '--has', 'rubber');
  assert.match(plain(answered), /ON IT: rubber[^]*FINISH Take it off first: from 70 C on, rubber/);
  await coatd('bake', 'check', '1', '--free-of', 'rubber');
  assert.match(plain(await coatd('bake', 'start', '1')), /heating up[^]*heat off/);
  await shop.advance(3600);
  assert.match(plain(await coatd('bake', 'show', '1')), /149 C, as it was told: nobody reads it[^]*baked \d+ %/);
  assert.match(plain(await coatd()), /mill body/);
  assert.match(plain(await coatd('air', 'oven', '147C')), /oven 147 C, entered/);
  assert.match(plain(await coatd('bake', 'show', '1')), /147 C, read \d\d:\d\d by hand/);
  const room = await coatd('air', 'garage', '20C'); // a room has a humidity as well
  assert.equal(room.code, 2);
  assert.match(plain({ stdout: room.stderr }), /the humidity is missing: write both, 20C 55%/);
  const stopped = await coatd('bake', 'stop', '1', '--note', 'the fuse blew');
  assert.match(plain(stopped), /cooling[^]*not shown to be baked through[^]*to touch/);
  assert.match(plain(await coatd('bake', 'show', '--all')), /Bake 1, mill body/);
  assert.equal((await coatd('bake', 'check', 'mill body', 'garage')).code, 1);
  assert.equal((await coatd('bake', 'check', 'mill body', 'oven', '--step', '149')).code, 2);
  assert.equal((await coatd('bake', 'show', 'mill')).code, 2);
});

test('one already done is logged without a review', async (t) => {
  const { coatd } = await readyShop(t);
  const said = await coatd('bake', 'log', 'mill body', 'oven', '--from', '09:00', '--to', '12:30', '--step', '149C', '--hot');
  assert.equal(said.code, 0, said.stderr);
  assert.match(said.stdout.replace(/\s+/g, ' '), /without a review/);
  assert.equal((await coatd('bake', 'log', 'mill body', 'oven')).code, 2);
});
