// May it go on now, and if not, when: the air to come, what it would land on, the windows that it would open.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const { coatAt } = require('./daemon');
const { openShop, expect, refused, at } = require('./scene.js');

const DAY_H = 24;

// The air of hour h of the day (UTC), for the days up to now: one reading an hour, as a sensor leaves them.
async function fortnight(shop, place, airOf, { days = 14, until = at('08:00') } = {}) {
  const items = [];
  const end = Date.parse(until);
  for (let k = days * DAY_H; k >= 0; k--) {
    const moment = new Date(end - k * 3600e3);
    const [temp_c, rh_pct] = airOf(moment.getUTCHours(), k);
    items.push({ at: moment.toISOString(), temp_c, rh_pct });
  }
  await expect(shop.post(`/api/v1/places/${place.id}/readings`, { items }), 200);
}

const steady = (temp_c, rh_pct) => () => [temp_c, rh_pct];
// Warm and dry by day, 90 % from nine in the evening to six.
const dampNights = (hour) => (hour >= 21 || hour < 6 ? [16, 90] : [20, 50]);

async function shed(t, airOf, options) {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  if (airOf) await fortnight(shop, place, airOf, options);
  const check = async (material, rest = {}) => {
    const query = new URLSearchParams({ material: (await shop.builtin(material)).id, place: place.id, ...rest });
    return expect(shop.get(`/api/v1/check?${query}`), 200);
  };
  return { shop, place, check };
}

const reasons = (answer) => answer.reasons.map(({ reason }) => reason);
const hoursFrom = (moment) => (Date.parse(moment) - Date.parse(at('08:00'))) / 3600e3;

// Stretches follow each other without a gap for 72 h, each refused one with its reason.
function areWhole({ at: from, stretches }) {
  let next = Date.parse(from);
  for (const stretch of stretches) {
    assert.equal(Date.parse(stretch.from_at), next);
    assert.equal(stretch.good, stretch.reason === null);
    next = Date.parse(stretch.to_at);
  }
  assert.equal(next, Date.parse(from) + 72 * 3600e3);
}

test('a dry warm shed: yes, at all hours', async (t) => {
  const { check } = await shed(t, steady(20, 50));
  const answer = await check('alkyd-enamel');
  assert.equal(answer.verdict, 'yes');
  assert.equal(answer.guard, 'tack-free');
  assert.deepEqual(answer.reasons, []);
  assert.equal(answer.lands_on, null);
  areWhole(answer);
  assert.equal(answer.stretches.length, 1);
  assert.ok(answer.cautions.includes('rags'));
  assert.match(answer.remarks.join(' '), /no heater on/);
  assert.doesNotMatch(JSON.stringify({ ...answer, caution_texts: null, deferral: '' }), /\bsafe\b/i);
});

// Enamel at 23 C is tack-free after 8 h (common practice, at most 85 %: ISO 8502-4 practice, second-hand); at 20 C and below it takes longer.
test('with a damp night coming: no in the afternoon, and the next good hours come in the morning', async (t) => {
  const { shop, check } = await shed(t, dampNights);
  await shop.goTo(at('16:00'));
  await shop.air({ id: 1 }, 20, 50);
  const answer = await check('alkyd-enamel');
  assert.equal(answer.verdict, 'no');
  assert.deepEqual(reasons(answer), ['too-damp']);
  assert.ok(answer.reasons[0].value > 85 && answer.reasons[0].limit === 85);
  assert.ok(hoursFrom(answer.reasons[0].breaks_at) >= 12 && hoursFrom(answer.reasons[0].breaks_at) <= 14, answer.reasons[0].breaks_at);
  areWhole(answer);
  const good = answer.stretches.find((stretch) => stretch.good);
  assert.ok(hoursFrom(good.from_at) >= 21 && hoursFrom(good.from_at) <= 24, good.from_at);
  // Spray enamel is tack-free after half an hour: it may.
  assert.equal((await check('spray-enamel')).verdict, 'yes');
});

// TM 43-0139 3-6: not below 50 F (10 C).
test('at 8 C: too cold, with the value and its limit', async (t) => {
  const { check } = await shed(t, steady(8, 50));
  const answer = await check('alkyd-enamel');
  assert.equal(answer.verdict, 'no');
  assert.deepEqual(answer.reasons.map(({ reason, value, limit, breaks_at }) => [reason, value, limit, breaks_at]), [['too-cold', 8, 10, null]]);
  assert.equal(answer.reasons[0].text, 'too cold: 8 C, at least 10 C');
  assert.equal(answer.stretches.length, 1);
});

// ISO 8502-4 practice: 3 C above the dew point. Air of 15 C and 84 % has its dew point at 12.3 C; 85 % would still be allowed.
test('within 3 C of the dew point: no, though the humidity would do', async (t) => {
  const { check } = await shed(t, steady(15, 84));
  const answer = await check('alkyd-enamel');
  assert.deepEqual(reasons(answer), ['dew']);
  assert.ok(Math.abs(answer.reasons[0].value - 2.7) < 0.1 && answer.reasons[0].limit === 3);
});

test('the air as it is read now counts, whatever the days before were like', async (t) => {
  const { shop, place, check } = await shed(t, steady(20, 50));
  await shop.goTo(at('08:30'));
  await shop.air(place, 34, 50);
  const answer = await check('spray-enamel');
  assert.equal(answer.verdict, 'no');
  assert.deepEqual(answer.reasons.map(({ reason, value, limit }) => [reason, value, limit]), [['too-hot', 34, 32]]);
});

test('stale air, or none, is unknown and never yes', async (t) => {
  const { shop, check } = await shed(t, steady(20, 50));
  assert.equal((await check('spray-enamel')).verdict, 'yes');
  await shop.goTo(at('12:00'));
  const answer = await check('spray-enamel');
  assert.equal(answer.verdict, 'unknown');
  assert.deepEqual(reasons(answer), ['no-air']);
  assert.match(answer.reasons[0].text, /no reading since 4\.0 h ago; read the air first/);
  assert.deepEqual(answer.stretches, []);
  const other = await shop.addPlace('loft');
  const enamel = await shop.builtin('alkyd-enamel');
  const none = await expect(shop.get(`/api/v1/check?material=${enamel.id}&place=${other.id}`), 200);
  assert.equal(none.verdict, 'unknown');
  assert.equal(none.air, null);
  assert.match(none.reasons[0].text, /no reading of this place yet/);
});

test('a few readings are hardly more than a guess, and say so', async (t) => {
  const { check } = await shed(t, steady(20, 50), { days: 0.5 });
  assert.match((await check('spray-enamel')).remarks.join(' '), /Only 0\.5 days/);
});

// Common practice: spray enamel within 1 h or after 48 h; sources disagree.
test('over spray enamel of two hours: shut until two days are over, and the hours to come say so', async (t) => {
  const { shop, place, check } = await shed(t, steady(23, 50));
  const piece = await shop.addPiece('mill wheel', { place: place.id });
  const spray = await shop.builtin('spray-enamel');
  const [coat] = await shop.log(piece, spray, { last_at: at('06:00') });
  const answer = await check('spray-enamel', { piece: piece.id });
  assert.equal(answer.verdict, 'no');
  assert.deepEqual(answer.reasons.map(({ reason, coat: below }) => [reason, below]), [['not-open', coat.id]]);
  const opens = hoursFrom(answer.reasons[0].until_at);
  assert.ok(opens >= 46 && opens <= 46.5, answer.reasons[0].until_at); // likely; never before the label's 48 h
  const [landing] = answer.lands_on.coats;
  assert.deepEqual([landing.stage, landing.do, landing.disputed, landing.compat.verdict], ['recoat', 'wait', true, 'ok']);
  assert.deepEqual(answer.stretches.map(({ good, reason, from_at }) => [good, reason, from_at]), [
    [false, 'not-open', at('08:00')], [true, null, at('07:00', 2)]]);
  // Asked for then, it may.
  const then = await check('spray-enamel', { piece: piece.id, at: at('07:00', 2) });
  assert.equal(then.verdict, 'yes');
  assert.match(then.remarks.join(' '), /still ahead/);
  assert.match(then.remarks.join(' '), /read the can/);
});

test('within its first hour the same coat is open, and bare iron lets anything on', async (t) => {
  const { shop, place, check } = await shed(t, steady(23, 50));
  const piece = await shop.addPiece('mill wheel', { place: place.id });
  assert.deepEqual((await check('spray-enamel', { piece: piece.id })).lands_on, { coats: [] });
  await shop.log(piece, await shop.builtin('spray-enamel'), { last_at: at('07:30') });
  const answer = await check('spray-enamel', { piece: piece.id });
  assert.equal(answer.verdict, 'yes');
  assert.equal(answer.lands_on.coats[0].do, 'go');
  assert.equal(answer.lands_on.coats[0].until_at, at('08:30'));
});

// TM 43-0139, second-hand: lacquer over fresh air-dry enamel lifts.
test('lacquer over fresh enamel: no, whatever the air', async (t) => {
  const { shop, place, check } = await shed(t, steady(21, 45));
  const piece = await shop.addPiece('fan guard', { place: place.id });
  await shop.log(piece, await shop.builtin('alkyd-enamel'), { last_at: at('08:00', -2) });
  const answer = await check('lacquer', { piece: piece.id });
  assert.equal(answer.verdict, 'no');
  assert.deepEqual(reasons(answer), ['incompatible']);
  assert.match(answer.reasons[0].text, /lifts it \(TM 43-0139/);
  assert.ok(answer.stretches.every(({ good }) => !good));
  // With stale air it is no less a no.
  await shop.goTo(at('18:00'));
  const stale = await check('lacquer', { piece: piece.id });
  assert.equal(stale.verdict, 'no');
  assert.deepEqual(reasons(stale), ['incompatible', 'no-air']);
});

// An epoxy primer: open from 5 h, wipe after 8 h, scuff after 24 h (USAF T.O. 1-1-8).
test('epoxy primer of yesterday wants scuffing, which is no refusal', async (t) => {
  const { shop, place, check } = await shed(t, steady(23, 50));
  const piece = await shop.addPiece('scale pan', { place: place.id });
  await shop.log(piece, await shop.builtin('epoxy-primer'), { last_at: at('04:00', -1) });
  const answer = await check('polyurethane', { piece: piece.id });
  assert.equal(answer.verdict, 'yes');
  assert.equal(answer.lands_on.coats[0].do, 'scuff');
  assert.match(answer.remarks.join(' '), /wants scuffing first/);
});

// Iron of 8 mm in still air: 7200 * 0.008 / 2 * 460 / 5 s = 44 min. From 2 C into 20 C and 60 % (dew point 12.0 C) it is 15.0 C warm after
// 44 * ln(18 / 5) = 57 min.
test('a casting out of a cold shed sweats until it is warm, and it is said for how long', async (t) => {
  const { shop, place, check } = await shed(t, steady(20, 60));
  const yard = await shop.addPlace('yard');
  await fortnight(shop, yard, steady(2, 70));
  const piece = await shop.addPiece('mill body', { place: yard.id });
  const answer = await check('spray-enamel', { piece: piece.id });
  assert.equal(answer.verdict, 'no');
  assert.deepEqual(reasons(answer), ['surface-dew']);
  assert.ok(Math.abs(answer.surface.temp_c - 2) < 0.01 && answer.surface.from_place === yard.id && answer.surface.wall_assumed);
  assert.ok(Math.abs(answer.surface.time_constant_min - 44.2) < 0.1);
  const minutes = hoursFrom(answer.surface.clear_at) * 60;
  assert.ok(minutes >= 50 && minutes <= 65, `${minutes}`);
  assert.ok(answer.stretches[1].good && hoursFrom(answer.stretches[1].from_at) <= 2);
  // Carried in, it warms: three hours later it may be sprayed.
  await expect(shop.post(`/api/v1/pieces/${piece.id}/moves`, { place: place.id }), 201);
  await shop.goTo(at('09:30'));
  await shop.air(place, 20, 60);
  await shop.goTo(at('11:00'));
  await shop.air(place, 20, 60);
  const later = await check('spray-enamel', { piece: piece.id });
  assert.equal(later.verdict, 'yes');
  assert.ok(later.surface.temp_c > 19 && later.surface.from_place === null);
});

test('windows that close at night are told where the shop has hours', async (t) => {
  const { shop, check } = await shed(t, steady(23, 50));
  let [window] = (await check('spray-enamel')).windows;
  const closes = hoursFrom(window.until_at); // the earliest of its hour
  assert.ok(closes > 0.75 && closes <= 1, window.until_at);
  assert.deepEqual({ ...window, until_at: null }, { stage: 'recoat', do: 'go', from_at: at('08:00'), until_at: null, from_outside_hours: false, until_outside_hours: false,
    missed_hours: false, disputed: true });
  await expect(shop.patch('/api/v1/shop', { zone: 'Europe/Vienna', work_from: '17:00', work_to: '22:00' }), 200);
  const answer = await check('spray-enamel');
  [window] = answer.windows;
  assert.ok(window.from_outside_hours && window.until_outside_hours && window.missed_hours);
  assert.equal(answer.verdict, 'yes'); // a remark, no refusal
  assert.equal(answer.stretches[0].works_from_at, at('16:00'));
  const [, second] = answer.windows;
  assert.deepEqual([second.do, second.until_at, second.missed_hours], ['go', null, false]);
});

// Damp nights leave the mornings alone, and the shop works in the morning.
test('where it may not go on now, the windows are those of the first good start', async (t) => {
  const { shop, place, check } = await shed(t, dampNights);
  await shop.goTo(at('16:00'));
  await shop.air(place, 20, 50);
  await expect(shop.patch('/api/v1/shop', { work_from: '07:00', work_to: '12:00' }), 200);
  const answer = await check('alkyd-enamel');
  const good = answer.stretches.find((stretch) => stretch.good);
  assert.equal(answer.windows_at, good.works_from_at);
  assert.ok(hoursFrom(answer.windows[0].from_at) - hoursFrom(answer.windows_at) >= 16); // overnight: EN0562 p. 73
});

test('a moment ahead finds the piece as warm as it will be then', async (t) => {
  const { shop, place, check } = await shed(t, steady(20, 60));
  const yard = await shop.addPlace('yard');
  await fortnight(shop, yard, steady(2, 70));
  const piece = await shop.addPiece('mill body', { place: yard.id });
  await expect(shop.post(`/api/v1/pieces/${piece.id}/moves`, { place: place.id }), 201);
  const later = await check('spray-enamel', { piece: piece.id, at: at('12:00') });
  assert.equal(later.verdict, 'yes');
  assert.ok(Math.abs(later.surface.temp_c - (20 - 18 * Math.exp(-240 / 44.16))) < 0.05, `${later.surface.temp_c}`);
});

test('what cannot be meant is asked back', async (t) => {
  const { shop, place } = await shed(t, steady(20, 50));
  const enamel = await shop.builtin('alkyd-enamel');
  await refused(shop, shop.get('/api/v1/check'), 422, { field: 'material', detail: /which material/ });
  await refused(shop, shop.get(`/api/v1/check?material=${enamel.id}`), 422, { field: 'place' });
  await refused(shop, shop.get(`/api/v1/check?material=${enamel.id}&place=99`), 404, { field: 'place' });
  await refused(shop, shop.get(`/api/v1/check?material=999&place=${place.id}`), 404, { field: 'material' });
  await refused(shop, shop.get(`/api/v1/check?material=${enamel.id}&place=${place.id}&piece=99`), 404, { field: 'piece' });
  for (const moment of [at('08:00', 4), at('07:00')]) {
    await refused(shop, shop.get(`/api/v1/check?material=${enamel.id}&place=${place.id}&at=${moment}`), 422, { field: 'at', detail: /next 72 h/ });
  }
  const fan = await shop.addPiece('fan', { areas: ['front', 'back'] });
  await refused(shop, shop.get(`/api/v1/check?material=${enamel.id}&place=${place.id}&piece=${fan.id}&area=lid`), 422, { field: 'area' });
});

// ---- the command line ----

async function told(running) {
  const { code, stdout, stderr } = await running;
  assert.equal(code, 0, stderr);
  assert.equal(stderr, '');
  for (const line of stdout.split('\n')) assert.ok([...line].length <= 80 && !/\s$/.test(line), line);
  assert.doesNotMatch(stdout, /\bsafe\b/i);
  assert.match(stdout, /Rags under water/);
  assert.match(stdout, /The product label, the safety data sheet/);
  return stdout;
}

test('coat check: yes or no first, then why, then when; either way it is done', async (t) => {
  const { shop, place } = await shed(t, dampNights);
  const coat = coatAt(shop.url);
  await shop.goTo(at('16:00'));
  await shop.air(place, 20, 50);
  const no = await told(coat('check', 'gloss', 'shed'));
  const lines = no.split('\n');
  assert.equal(lines[0], 'No, not now: gloss enamel, alkyd in shed (20 C 50 %, dew point 9.3 C)');
  assert.match(lines[1], /^    too damp: \d+ %, at most 85 %, about \S+/);
  assert.match(lines[2], /^    next good hours: Sun 0\d:00 to Sun \d\d:00$/);
  assert.match(no, /\n {2}16:00 to Sun 0\d:00 +no +too damp/);
  assert.match(no, /\nPut on Sun 0\d:00, it would open\n {2}recoat: from about Mon/);
  const yes = await told(coat('check', 'spray', 'shed'));
  assert.match(yes, /^Yes, now: spray enamel/);
  assert.match(yes, /recoat: from about 16:00 until 16:\d\d; sources differ: read the can/);
  assert.match(await told(coat('check', 'gloss', 'shed', '--at', 'tomorrow 07:00')), /^Yes, for Sun 07:00: gloss enamel, alkyd in shed \(now 20 C/);
  assert.match(await told(coat('check', 'gloss', 'shed', '--at', 'in 15h', '--units', 'us')), /^Yes, for Sun 07:00: .*68 F 50 %/);
  await shop.goTo(at('20:00'));
  assert.match(await told(coat('check', 'spray', 'shed')), /^Unknown, now: [^]*no reading since 4\.0 h ago; read the air first/);
});

test('coat check on a piece: what it would land on, until when that is shut', async (t) => {
  const { shop, place } = await shed(t, steady(23, 50));
  const coat = coatAt(shop.url);
  const piece = await shop.addPiece('mill wheel', { place: place.id });
  await shop.log(piece, await shop.builtin('spray-enamel'), { last_at: at('06:00') });
  const text = await told(coat('check', 'spray', 'shed', '--piece', 'mill'));
  assert.match(text, /^No, not now: spray enamel, alkyd aerosol in shed on mill wheel/);
  assert.match(text, /its recoat is not open until about\s+Mon 06:/);
  assert.match(text, /\nWould land on\n {2}1: spray enamel, alkyd aerosol; recoat: wait until Mon 06:\d\d; it goes over/);
  const json = await coat('check', 'spray', 'shed', '--piece', 'mill', '--json');
  const spray = await shop.builtin('spray-enamel');
  assert.deepEqual(JSON.parse(json.stdout), await expect(shop.get(`/api/v1/check?material=${spray.id}&place=${place.id}&piece=${piece.id}`), 200));
  for (const [args, pattern] of [
    [['check', 'spray', 'shed', '--at', 'yesterday'], /"yesterday" is no time to come/], [['check', 'spray', 'shed', '--area', 'front'], /say --piece as well/],
    [['check', 'spray', 'barn'], /no place "barn"/],
  ]) {
    const run = await coat(...args);
    assert.equal(run.code, 2, run.stderr);
    assert.match(run.stderr, pattern);
  }
  assert.equal((await coat('check', 'spray', 'shed', '--at', 'in 80h')).code, 1);
});
