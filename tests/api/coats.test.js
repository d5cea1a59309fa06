// What a restorer does with coats, from the first pass to the record years later.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { coatAt } = require('./daemon');
const { openShop, expect, stage, at, MORNING } = require('./scene');

async function shed(t) {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed', { volume_m3: 60 });
  const body = await shop.addPiece('mill body', { place: place.id });
  const lid = await shop.addPiece('hopper lid', { place: place.id });
  const primer = await shop.builtin('alkyd-primer');
  return { shop, place, body, lid, primer };
}

test('primer in steady air at the temperature of its table may be recoated after the hours of its table', async (t) => {
  const { shop, place, body, lid, primer } = await shed(t);
  const [coat, other] = await shop.log([body, lid], primer, { air: { temp_c: 23, rh_pct: 50 } });
  assert.deepEqual([coat.piece, other.piece], [body.id, lid.id]);
  assert.equal(coat.first_at, MORNING);
  assert.equal(coat.last_at, MORNING);
  assert.deepEqual(coat.air, { temp_c: 23, rh_pct: 50, basis: 'measured' });
  assert.equal(coat.role, 'primer');
  assert.equal(coat.condition, 'wet');
  assert.equal(stage(coat, 'recoat').state, 'waiting');
  assert.equal(stage(coat, 'recoat').spans[0].until.label_floor_at, at('00:00', 1));

  await shop.passMeasured(place, at('08:00'), at('16:00'), 23, 50);
  const half = stage(await shop.coat(coat.id), 'recoat');
  assert.ok(Math.abs(half.progress - 0.5) < 1e-3, `half way after 8 of 16 h, not ${half.progress}`);
  assert.ok(Math.abs(half.progress_per_h - 1 / 16) < 1e-4);
  assert.ok(Math.abs(half.air.measured_h - 8) < 0.01 && half.air.assumed_h === 0);

  await shop.passMeasured(place, at('17:00'), at('23:00'), 23, 50);
  await shop.goTo(at('23:59'));
  assert.equal(stage(await shop.coat(coat.id), 'recoat').state, 'waiting');
  await shop.goTo(at('00:01', 1));
  const open = await shop.coat(coat.id);
  assert.equal(stage(open, 'recoat').state, 'open');
  assert.equal(stage(open, 'recoat').spans[0].until.passed, true);
  const opened = Date.parse(stage(open, 'recoat').spans[0].until.likely_at);
  assert.ok(opened >= Date.parse(at('00:00', 1)) && opened <= Date.parse(at('00:01', 1)));

  const told = (await shop.notices()).filter((notice) => notice.stage === 'recoat' && notice.kind === 'window-opens');
  assert.deepEqual(told.map((notice) => notice.pieces), [[body.id, lid.id]], 'put on together, told together');
  for (const notice of told) {
    assert.ok(Date.parse(notice.due_at) >= Date.parse(at('00:00', 1)), 'never before the hours of the label');
    assert.equal(notice.assumed, false);
    assert.equal(notice.raised_at, notice.due_at, 'on this clock a notice comes at its moment');
  }
  const { lists } = await shop.shop();
  assert.ok(lists.now.some((row) => row.coat === coat.id && row.stage === 'recoat' && row.do === 'go'));
});

test('a cold night holds the coat up, and the shop says why', async (t) => {
  const { shop, place, body, primer } = await shed(t);
  const [coat] = await shop.log(body, primer, { air: { temp_c: 16, rh_pct: 60 } });
  await shop.passMeasured(place, at('09:00'), at('12:00'), 16, 60);
  const before = stage(await shop.coat(coat.id), 'recoat').progress;
  await shop.passMeasured(place, at('12:30'), at('16:30'), 4, 60);
  const cold = await shop.coat(coat.id);
  assert.equal(cold.stall, 'too-cold');
  assert.equal(stage(cold, 'recoat').state, 'waiting');
  assert.equal(stage(cold, 'recoat').stalled, 'too-cold');
  assert.equal(stage(cold, 'recoat').progress_per_h, 0);
  assert.ok(stage(cold, 'recoat').progress - before < 0.05);
  assert.ok((await shop.shop()).lists.held.some((row) => row.coat === coat.id && row.stalled === 'too-cold'));
  await shop.passMeasured(place, at('17:30'), at('19:30'), 18, 60);
  const warm = await shop.coat(coat.id);
  assert.equal(warm.stall, null);
  assert.ok(stage(warm, 'recoat').progress > stage(cold, 'recoat').progress, 'it goes on where it stood');
});

test('too damp is told as too damp', async (t) => {
  const { shop, body, primer } = await shed(t);
  const [coat] = await shop.log(body, primer, { air: { temp_c: 18, rh_pct: 93 } });
  assert.equal(coat.stall, 'too-damp');
  assert.equal(stage(coat, 'recoat').progress_per_h, 0);
  assert.equal(stage(coat, 'recoat').spans[0].until.likely_at, null, 'not in the air it has');
});

test('spray enamel: within the hour, then shut; the next coat in time uses the window and covers the first', async (t) => {
  const { shop, place, body, lid } = await shed(t);
  const enamel = await shop.builtin('spray-enamel');
  await expect(shop.patch('/api/v1/shop', { lead_closing_min: 20 }), 200);
  const [coat, left] = await shop.log([body, lid], enamel, { air: { temp_c: 23, rh_pct: 50 } });
  assert.equal(stage(coat, 'recoat').state, 'open');
  assert.deepEqual(stage(coat, 'recoat').spans.map((span) => span.do), ['go', 'wait', 'go']);
  assert.equal(stage(coat, 'recoat').disputed, true);
  assert.ok(coat.cautions.includes('aerosol'));

  await shop.goTo(at('08:30'));
  const [second] = await shop.log(body, enamel, { passes: 2 });
  const covered = await shop.coat(coat.id);
  assert.equal(covered.status, 'covered');
  assert.equal(covered.covered_by, second.id);
  assert.equal(covered.ended_at, at('08:30'));
  assert.equal(stage(covered, 'recoat').state, 'used');
  assert.equal(stage(await shop.coat(left.id), 'recoat').state, 'open');

  await shop.goTo(at('08:45'));
  assert.equal(stage(await shop.coat(left.id), 'recoat').state, 'closing');
  await shop.goTo(at('09:01'));
  assert.equal(stage(await shop.coat(left.id), 'recoat').state, 'shut');
  const kinds = (await shop.notices()).filter((notice) => notice.coat === left.id && notice.stage === 'recoat').map((notice) => notice.kind);
  assert.ok(kinds.includes('window-closing') && kinds.includes('window-shut'), kinds.join());
  const documents = await shop.shop();
  assert.deepEqual(documents.pieces.find((piece) => piece.id === body.id).coats, [coat.id, second.id]);
});

test('without a reading the air is assumed and said to be; with none at all nothing opens', async (t) => {
  const { shop, place, body, primer } = await shed(t);
  const [blind] = await shop.log(body, primer);
  assert.equal(blind.air, null);
  assert.equal(stage(blind, 'recoat').stalled, 'air-unknown');
  assert.equal(stage(blind, 'recoat').spans[0].until.likely_at, null);
  await shop.air(place, 23, 50);
  await shop.goTo(at('14:00'));
  const late = await shop.coat(blind.id);
  assert.equal(stage(late, 'recoat').air.basis, 'assumed');
  assert.ok(stage(late, 'recoat').air.assumed_h > 3);
  const { places } = await shop.shop();
  assert.equal(places[0].air.basis, 'assumed');
  assert.ok(places[0].air.assumed_from_at !== null);
});

test('a coat put on last night is logged this morning with its passes and measured film', async (t) => {
  const { shop, body, primer } = await shed(t);
  const [coat] = await shop.log(body, primer, {
    first_at: '2026-11-27T20:00:00+01:00', last_at: '2026-11-27T19:40:00Z', passes: 3, wet_um: 90, area: '', thinner: 'mineral spirits', thinned_pct: 10,
    amount_ml: 120, note: 'two thin ones and a wet one', application: 'spray',
  });
  assert.equal(coat.first_at, '2026-11-27T19:00:00Z');
  assert.equal(coat.last_at, '2026-11-27T19:40:00Z');
  assert.equal(coat.application, 'spray');
  assert.ok(coat.film_factor > 1, '90 um wet at 45 % solids is more than 37 um dry');
  const floor = Date.parse(stage(coat, 'recoat').spans[0].until.label_floor_at);
  assert.equal(floor, Date.parse('2026-11-27T19:40:00Z') + 16 * 3600e3, 'openings count from the last pass');
  const [single] = await shop.log(body, primer, { last_at: at('07:10') });
  assert.equal(single.first_at, at('07:10'), 'where only the last is told, it is the first as well');
});

test('a coat that turns out to be another material is put on the way that one usually is, unless it was said how', async (t) => {
  const { shop, body, lid, primer } = await shed(t);
  const [brushed] = await shop.log(body, primer), [dipped] = await shop.log(lid, primer, { application: 'dip', role: 'filler' });
  assert.deepEqual([brushed.application, brushed.role, brushed.cautions.includes('two-part-spray')], ['brush', 'primer', false]);
  const material = (await shop.builtin('polyurethane')).id;
  const sprayed = (await expect(shop.patch(`/api/v1/coats/${brushed.id}`, { material }), 200)).coat;
  assert.deepEqual([sprayed.application, sprayed.role, sprayed.cautions.includes('two-part-spray')], ['spray', 'clear', true]);
  const kept = (await expect(shop.patch(`/api/v1/coats/${dipped.id}`, { material }), 200)).coat;
  assert.deepEqual([kept.application, kept.role], ['dip', 'filler']);
  const told = (await expect(shop.patch(`/api/v1/coats/${brushed.id}`, { material: primer.id, application: 'spray' }), 200)).coat;
  assert.deepEqual([told.application, told.role], ['spray', 'primer']);
});

test('an entry is amended: the newest counts, the old ones stay in the record', async (t) => {
  const { shop, body, lid, primer } = await shed(t);
  const [coat] = await shop.log(body, primer, { last_at: at('07:30'), note: 'brushed' });
  const amended = (await expect(shop.patch(`/api/v1/coats/${coat.id}`, { first_at: at('06:30'), last_at: at('06:45'), film: 'heavy', piece: lid.id }), 200)).coat;
  assert.equal(amended.entry, 2);
  assert.equal(amended.piece, lid.id);
  assert.equal(amended.film, 'heavy');
  assert.equal(amended.note, 'brushed', 'what is left out stays');
  assert.ok(amended.film_factor > coat.film_factor);
  const earlier = (await expect(shop.patch(`/api/v1/coats/${coat.id}`, { dry_um: 40 }), 200)).coat;
  assert.equal(earlier.dry_um, 40);
  const cleared = (await expect(shop.patch(`/api/v1/coats/${coat.id}`, { dry_um: null }), 200)).coat;
  assert.equal(cleared.dry_um, null);
  const record = (await expect(shop.get(`/api/v1/coats/${coat.id}/entries`), 200)).items;
  assert.deepEqual(record.map((entry) => [entry.entry, entry.piece, entry.first_at]), [
    [1, body.id, at('07:30')], [2, lid.id, at('06:30')], [3, lid.id, at('06:30')], [4, lid.id, at('06:30')],
  ]);
});

test('one moment that was told wrong is corrected by either end', async (t) => {
  const { shop, body, primer } = await shed(t);
  const [coat] = await shop.log(body, primer, { last_at: at('07:30') });
  const earlier = (await expect(shop.patch(`/api/v1/coats/${coat.id}`, { last_at: at('07:00') }), 200)).coat;
  assert.deepEqual([earlier.first_at, earlier.last_at], [at('07:00'), at('07:00')]);
  const longer = (await expect(shop.patch(`/api/v1/coats/${coat.id}`, { last_at: at('07:20') }), 200)).coat;
  assert.deepEqual([longer.first_at, longer.last_at], [at('07:00'), at('07:20')]);
});

test('a coat logged by mistake is struck: out of the shop, in the record', async (t) => {
  const { shop, body, primer } = await shed(t);
  const [under] = await shop.log(body, primer, { last_at: at('06:00') });
  const [wrong] = await shop.log(body, primer, { last_at: at('07:00') });
  assert.equal((await shop.coat(under.id)).status, 'covered');
  const struck = (await expect(shop.post(`/api/v1/coats/${wrong.id}/strike`, { why: 'that was the other lid' }), 200)).coat;
  assert.equal(struck.status, 'struck');
  assert.equal(struck.struck_why, 'that was the other lid');
  assert.equal((await shop.coat(under.id)).status, 'on', 'what it covered is bare again');
  assert.deepEqual((await shop.shop()).coats.map((coat) => coat.id), [under.id]);
  const all = (await expect(shop.get(`/api/v1/coats?piece=${body.id}`), 200)).items;
  assert.deepEqual(all.map((coat) => [coat.id, coat.status]), [[under.id, 'on'], [wrong.id, 'struck']]);
  const record = (await expect(shop.get(`/api/v1/coats/${wrong.id}/entries`), 200)).items;
  assert.equal(record.at(-1).struck_why, 'that was the other lid');
});

test('sanding is recorded with the coat it was done on', async (t) => {
  const { shop, body, primer } = await shed(t);
  const [coat] = await shop.log(body, primer, { last_at: at('07:00') });
  const answer = await shop.post(`/api/v1/coats/${coat.id}/sandings`, { at: at('07:50') });
  assert.equal(answer.status, 201, answer.text);
  assert.equal(answer.body.sanding.coat, coat.id);
  assert.equal(answer.body.sanding.at, at('07:50'));
  assert.equal(answer.body.coat.id, coat.id);
});

test('stripping takes coats off, down to one or to the iron, with the cautions of an untested old finish', async (t) => {
  const { shop, body, primer } = await shed(t);
  const enamel = await shop.builtin('alkyd-enamel');
  const [first] = await shop.log(body, primer, { last_at: at('05:00') });
  const [second] = await shop.log(body, enamel, { last_at: at('06:00') });
  const [third] = await shop.log(body, enamel, { last_at: at('07:00') });
  const strip = await expect(shop.post(`/api/v1/pieces/${body.id}/strips`, { down_to: first.id, at: at('07:30') }), 201);
  assert.equal(strip.down_to, first.id);
  assert.ok(strip.cautions.includes('lead'), 'not tested counts as lead');
  assert.ok(strip.cautions.includes('stripper'));
  assert.deepEqual([(await shop.coat(first.id)).status, (await shop.coat(second.id)).status, (await shop.coat(third.id)).status], ['on', 'stripped', 'stripped']);
  assert.equal((await shop.coat(third.id)).ended_at, at('07:30'));
  await expect(shop.post(`/api/v1/pieces/${body.id}/strips`, {}), 201);
  assert.deepEqual((await shop.shop()).coats, []);
});

test('a piece carried to a warmer room cures in the air of that room', async (t) => {
  const { shop, place, body, primer } = await shed(t);
  const cabinet = await shop.addPlace('drying cabinet', { kind: 'cabinet', volume_m3: 0.8 });
  await shop.air(place, 12, 60, at('07:00'));
  await shop.air(cabinet, 30, 40, at('07:00'));
  const [coat] = await shop.log(body, primer, { last_at: at('07:00') });
  const slow = stage(coat, 'recoat').progress_per_h;
  const move = await expect(shop.post(`/api/v1/pieces/${body.id}/moves`, { place: cabinet.id }), 201);
  assert.deepEqual([move.piece, move.place, move.at], [body.id, cabinet.id, MORNING]);
  const warm = await shop.coat(coat.id);
  assert.equal(warm.place, cabinet.id);
  assert.ok(stage(warm, 'recoat').progress_per_h > slow * 1.5, 'warmer is faster');
  assert.ok(Math.abs(stage(warm, 'recoat').progress_per_h - 1 / 16) < 1e-3, 'but no faster than its warmest row');
  const moves = (await expect(shop.get(`/api/v1/pieces/${body.id}/moves`), 200)).items;
  assert.deepEqual(moves.map((one) => [one.place, one.at]), [[place.id, MORNING], [cabinet.id, MORNING]]);
});

test('a coat put on elsewhere moves its pieces there at the first pass', async (t) => {
  const { shop, place, body, lid, primer } = await shed(t);
  const booth = await shop.addPlace('booth', { kind: 'booth' });
  await shop.goTo(at('08:30'));
  const coats = await shop.log([body, lid], primer, { place: booth.id, air: { temp_c: 21, rh_pct: 48 }, first_at: at('08:10'), last_at: at('08:20') });
  assert.deepEqual(coats.map((coat) => coat.place), [booth.id, booth.id]);
  const readings = (await expect(shop.get(`/api/v1/places/${booth.id}/readings`), 200)).items;
  assert.deepEqual(readings, [{ at: at('08:20'), temp_c: 21, rh_pct: 48 }]);
  assert.deepEqual((await expect(shop.get(`/api/v1/places/${place.id}/readings`), 200)).items, []);
  const moves = (await expect(shop.get(`/api/v1/pieces/${lid.id}/moves`), 200)).items;
  assert.deepEqual(moves.map((one) => [one.place, one.at]), [[place.id, MORNING], [booth.id, at('08:10')]]);
});

test('a size is tested with a finger, then lost: japan size says when to begin', async (t) => {
  const { shop, place, body } = await shed(t);
  const size = await shop.builtin('japan-size');
  const [coat] = await shop.log(body, size, { air: { temp_c: 23, rh_pct: 50 } });
  assert.deepEqual(stage(coat, 'leaf').spans.map((span) => span.do), ['wait', 'test', 'strip']);
  const until = stage(coat, 'leaf').spans[0].until;
  assert.equal(until.label_floor_at, null, 'no named hour');
  await shop.passMeasured(place, at('08:00'), at('22:00'), 23, 50);
  const kinds = (await shop.notices()).filter((notice) => notice.coat === coat.id && notice.stage === 'leaf').map((notice) => notice.kind);
  assert.deepEqual(kinds, ['window-prepare', 'window-missed'], 'try it with a finger, then too late');
});

// The dew point of air of 20 C and 50 % is 9.3 C (npm psychrolib, GetTDewPointFromRelHum).
test('a casting is carried in at 5 C and coated at once: look at it, everywhere', async (t) => {
  const { shop, place, primer } = await shed(t);
  const cellar = await shop.addPlace('cellar');
  const wheel = await shop.addPiece('wheel', { place: cellar.id });
  await shop.air(place, 20, 50);
  await shop.passMeasured(cellar, at('08:00'), at('10:00'), 5, 50);
  await shop.air(place, 20, 50);
  await expect(shop.post(`/api/v1/pieces/${wheel.id}/moves`, { place: place.id }), 201);
  const [logged] = await shop.log({ ...wheel, place: place.id }, primer);
  const coat = await shop.coat(logged.id), why = 'the casting may have been below the dew point while it was soft';
  assert.deepEqual([coat.inspect, coat.inspect_why], [true, why]);
  const notice = (await shop.notices()).find((one) => one.kind === 'inspect');
  assert.match(notice.text, new RegExp(`^wheel, tack-free: ${why}; look at it before going on \\(`));
  const coatd = coatAt(shop.url);
  assert.match((await coatd('show', String(coat.id))).stdout.replace(/\s+/g, ' '), new RegExp(`Look at it yourself: ${why}\\.`));
  assert.match((await coatd()).stdout.replace(/\s+/g, ' '), new RegExp(`Look at it yourself wheel: coat ${coat.id}, ${why}`));
  assert.ok((await shop.get('/plain')).text.includes(`Look at it yourself: ${why}.`));
});

test('a notice is put aside once seen', async (t) => {
  const { shop, body } = await shed(t);
  const enamel = await shop.builtin('spray-enamel');
  await shop.log(body, enamel, { air: { temp_c: 23, rh_pct: 50 } });
  await shop.goTo(at('10:00'));
  const shown = (await shop.shop()).notices;
  assert.ok(shown.length > 0);
  const acknowledged = await expect(shop.post(`/api/v1/notices/${shown[0].id}/ack`), 200);
  assert.equal(acknowledged.acknowledged_at, at('10:00'));
  assert.ok(!(await shop.shop()).notices.some((notice) => notice.id === shown[0].id));
  const after = (await expect(shop.get(`/api/v1/notices?after=${shown[0].id}`), 200)).items;
  assert.ok(after.every((notice) => notice.id > shown[0].id));
  assert.ok((await shop.notices()).some((notice) => notice.id === shown[0].id && notice.acknowledged_at !== null));
});

test('stepping through a day hour by hour or at once tells the same', async (t) => {
  const tell = async (steps) => {
    const { shop, body, lid } = await shed(t);
    await shop.log([body, lid], await shop.builtin('spray-enamel'), { air: { temp_c: 20, rh_pct: 55 } });
    for (const moment of steps) await shop.goTo(moment);
    return (await shop.notices()).map(({ kind, coat, stage: about, due_at, raised_at, text }) => ({ kind, coat, about, due_at, raised_at, text }));
  };
  const hours = Array.from({ length: 96 }, (_, hour) => at('08:00', 0) && new Date(Date.parse(MORNING) + (hour + 1) * 3600e3).toISOString().replace('.000Z', 'Z'));
  assert.deepEqual(await tell(hours), await tell([hours.at(-1)]));
});
