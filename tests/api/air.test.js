// The air of a place for a plot: the figures of the bins against what was entered, gaps, limits, coats and their stages.
'use strict';
const test = require('node:test');
const assert = require('node:assert/strict');
const { openShop, expect, refused, at } = require('./scene.js');

const HOUR = 3600e3;
const seconds = (moment) => Date.parse(moment) / 1000;
const plot = (shop, place, query = {}) => expect(shop.get(`/api/v1/places/${place.id}/air?${new URLSearchParams(query)}`), 200);

async function enter(shop, place, items) {
  await expect(shop.post(`/api/v1/places/${place.id}/readings`, { items: items.map(([moment, temp_c, rh_pct]) => ({ at: moment, temp_c, rh_pct })) }), 200);
}

// Magnus over water, as the page draws it.
function dewPoint(temp_c, rh_pct) {
  const g = Math.log(rh_pct / 100) + (17.62 * temp_c) / (243.12 + temp_c);
  return (243.12 * g) / (17.62 - g);
}

test('lowest, mean and highest of each bin are those of the readings in it, and nothing stands where nobody measured', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  await enter(shop, place, [[at('04:00'), 10, 60], [at('04:20'), 12, 70], [at('04:59'), 17, 50], [at('05:00'), 20, 40], [at('07:30'), 15, 80]]);
  const answer = await plot(shop, place, { from: at('04:00'), to: at('08:00'), bins: 4 });
  assert.equal(answer.place, place.id);
  assert.equal(answer.bin_s, 3600);
  assert.deepEqual(answer.bins.at, ['04:00', '05:00', '06:00', '07:00'].map((time) => seconds(at(time))));
  assert.deepEqual(answer.bins.temp_low_c, [10, 20, null, 15]);
  assert.deepEqual(answer.bins.temp_c, [13, 20, null, 15]);
  assert.deepEqual(answer.bins.temp_high_c, [17, 20, null, 15]);
  assert.deepEqual(answer.bins.rh_low_pct, [50, 40, null, 80]);
  assert.deepEqual(answer.bins.rh_pct, [60, 40, null, 80]);
  assert.deepEqual(answer.bins.rh_high_pct, [70, 40, null, 80]);
  assert.equal(answer.bins.dew_point_c[2], null);
  [[13, 60], [20, 40]].forEach(([temp_c, rh_pct], i) => assert.ok(Math.abs(answer.bins.dew_point_c[i] - dewPoint(temp_c, rh_pct)) < 0.05, `${answer.bins.dew_point_c[i]}`));
});

test('the last 48 h in bins of 432 s unless told, and whole seconds whatever is asked', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  const usual = await plot(shop, place);
  assert.deepEqual([usual.bin_s, usual.bins.at.length], [432, 400]);
  assert.equal(Date.parse(usual.from_at), Date.parse(at('08:00', -2)));
  assert.equal(Date.parse(usual.to_at), Date.parse(at('08:00')));
  for (const [from, to, bins] of [['2026-11-28T04:00:00.250Z', '2026-11-28T04:00:07.900Z', 3], ['2026-11-28T04:00:00Z', '2026-11-28T04:00:01Z', 2000], ['2000-01-01T00:00:00Z', '2026-11-28T08:00:00Z', 2000], ['2026-11-01T00:00:00Z', '2026-11-08T00:00:13Z', 1]]) {
    const answer = await plot(shop, place, { from, to, bins });
    const count = answer.bins.at.length;
    assert.ok(count >= 1 && count <= bins, `${count} bins`);
    assert.ok(Date.parse(answer.from_at) <= Date.parse(from) && Date.parse(from) - Date.parse(answer.from_at) < 1000);
    assert.ok(Date.parse(answer.to_at) >= Date.parse(to) && Date.parse(answer.to_at) < Date.parse(to) + answer.bin_s * 1000 + 1000);
    assert.equal(Date.parse(answer.to_at) - Date.parse(answer.from_at), count * answer.bin_s * 1000);
    answer.bins.at.forEach((second, i) => assert.equal(second, Date.parse(answer.from_at) / 1000 + i * answer.bin_s));
    for (const column of Object.values(answer.bins)) assert.equal(column.length, count);
  }
});

test('a reading by hand is held for two hours: what lies beyond is told as a gap, up to now and not into the time to come', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  await enter(shop, place, [[at('00:00'), 18, 50], [at('01:30'), 18, 50], [at('05:00'), 18, 50]]);
  const answer = await plot(shop, place, { from: at('22:00', -1), to: at('20:00'), bins: 400 });
  assert.deepEqual(answer.gaps.map((gap) => [gap.from_at, gap.to_at].map(Date.parse)), [[at('22:00', -1), at('00:00')], [at('01:30'), at('05:00')], [at('05:00'), at('08:00')]].map((gap) => gap.map(Date.parse)));
  // Cut at 04:00 the gap begins where the picture does; a reading still held there leaves none.
  const cut = await plot(shop, place, { from: at('04:00'), to: at('06:00') });
  assert.deepEqual(cut.gaps.map((gap) => [gap.from_at, gap.to_at].map(Date.parse)), [[at('04:00'), at('05:00')].map(Date.parse)]);
  const held = await plot(shop, place, { from: at('01:00'), to: at('01:40') });
  assert.deepEqual(held.gaps, []);
});

test('many readings: the bins alone tell the gap, and every reading counts once', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  const items = [];
  const start = Date.parse(at('00:00', -16));
  for (let i = 0; i < 23040; i += 1) {
    const moment = start + i * 60e3;
    if (moment >= start + 48 * HOUR && moment < start + 60 * HOUR) continue;
    items.push([new Date(moment).toISOString(), 10 + (i % 100) / 10, 50]);
  }
  for (let i = 0; i < items.length; i += 15000) await enter(shop, place, items.slice(i, i + 15000));
  const answer = await plot(shop, place, { from: at('00:00', -16), to: at('00:00'), bins: 384 });
  assert.equal(answer.bin_s, 3600);
  assert.equal(answer.gaps.length, 1);
  assert.deepEqual([answer.gaps[0].from_at, answer.gaps[0].to_at].map((moment) => (Date.parse(moment) - start) / HOUR), [48, 60]);
  answer.bins.temp_c.forEach((mean, hour) => {
    if (hour >= 48 && hour < 60) return assert.equal(mean, null);
    const own = [];
    for (let i = hour * 60; i < hour * 60 + 60 && i < 23040; i += 1) own.push(10 + (i % 100) / 10);
    assert.ok(Math.abs(mean - own.reduce((sum, one) => sum + one, 0) / own.length) < 0.006, `hour ${hour}: ${mean}`);
    assert.equal(answer.bins.temp_low_c[hour], Math.min(...own));
    return assert.equal(answer.bins.temp_high_c[hour], Math.max(...own));
  });
});

test('coats stand there while they were on and hung there, with the stages that came and are likely to come', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed'), loft = await shop.addPlace('loft');
  const enamel = await shop.builtin('alkyd-enamel');
  await enter(shop, shed, [[at('06:00'), 20, 50], [at('07:30'), 20, 50]]);
  await shop.air(loft, 20, 50);
  const mill = await shop.addPiece('mill body', { place: shed.id });
  const [coat] = await shop.log(mill, enamel, { first_at: at('06:00'), last_at: at('06:00') });
  await shop.passMeasured(shed, at('08:00'), at('12:00'), 20, 50);
  const answer = await plot(shop, shed, { from: at('04:00'), to: at('04:00', 3) });
  assert.equal(answer.coats.length, 1);
  const [hung] = answer.coats;
  assert.deepEqual([hung.coat, hung.piece], [coat.id, mill.id]);
  assert.equal(Date.parse(hung.from_at), Date.parse(at('06:00')), 'it hung here before it was entered');
  assert.equal(Date.parse(hung.to_at), Date.parse(answer.to_at), 'it is still on');
  const standing = await shop.coat(coat.id);
  const told = standing.stages.flatMap((stage) => stage.spans.filter((span) => span.do === 'wait' && span.until && span.until.likely_at).map((span) => [stage.stage, Date.parse(span.until.likely_at), span.until.passed]));
  assert.deepEqual(hung.stages.map((mark) => [mark.stage, Date.parse(mark.at), mark.passed]), told.filter(([, moment]) => moment < Date.parse(answer.to_at)));
  assert.ok(hung.stages.some((mark) => mark.passed) && hung.stages.some((mark) => !mark.passed), JSON.stringify(hung.stages));
  const { limits } = (await expect(shop.get(`/api/v1/materials/${enamel.id}`), 200));
  assert.deepEqual(answer.limits, [{ material: { id: enamel.id, name: enamel.name }, min_temp_c: limits.min_temp_c, max_temp_c: limits.max_temp_c, max_rh_pct: limits.max_rh_pct }]);
  assert.deepEqual((await plot(shop, loft)).coats, []);
  assert.deepEqual((await plot(shop, loft)).limits, []);

  // Moved to the loft: in the shed until then, in the loft from then on.
  await expect(shop.post(`/api/v1/pieces/${mill.id}/moves`, { place: loft.id }), 201);
  const left = await plot(shop, shed, { from: at('04:00'), to: at('04:00', 3) });
  assert.equal(Date.parse(left.coats[0].to_at), Date.parse(at('12:00')));
  const came = await plot(shop, loft, { from: at('04:00'), to: at('04:00', 3) });
  assert.equal(Date.parse(came.coats[0].from_at), Date.parse(at('12:00')));
  assert.deepEqual(left.coats[0].stages, hung.stages.filter((mark) => mark.passed), 'what it reached, it reached in the shed');
  assert.ok(came.coats[0].stages.length > 0 && came.coats[0].stages.every((mark) => !mark.passed));

  // Struck, it is in neither.
  await expect(shop.post(`/api/v1/coats/${coat.id}/strike`, { why: 'wrong piece' }), 200);
  assert.deepEqual((await plot(shop, loft, { from: at('04:00'), to: at('04:00', 3) })).coats, []);
});

test('heated hours: each until its end or the next entry, those of other places left out', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed'), other = await shop.addPlace('loft');
  const heat = (where, body) => expect(shop.post(`/api/v1/places/${where.id}/heating`, body), 200);
  await heat(place, { until_at: at('10:00') });
  await heat(other, { until_at: at('20:00') });
  await shop.goTo(at('09:00'));
  await heat(place, { until_at: at('12:00') });
  await shop.goTo(at('11:00'));
  await heat(place, { off: true });
  await shop.goTo(at('14:00'));
  await heat(place, { until_at: at('16:00') });
  const heated = async (query) => (await plot(shop, place, query)).heated.map((one) => [one.from_at, one.to_at].map(Date.parse));
  assert.deepEqual(await heated({ from: at('06:00'), to: at('18:00') }), [[at('08:00'), at('11:00')], [at('14:00'), at('16:00')]].map((pair) => pair.map(Date.parse)));
  assert.deepEqual(await heated({ from: at('09:30'), to: at('15:00') }), [[at('09:30'), at('11:00')], [at('14:00'), at('15:00')]].map((pair) => pair.map(Date.parse)));
  assert.deepEqual(await heated({ from: at('11:00'), to: at('14:00') }), []);
});

test('what cannot be plotted is refused with the field at fault', async (t) => {
  const shop = await openShop(t);
  const place = await shop.addPlace('shed');
  const get = (query) => shop.get(`/api/v1/places/${place.id}/air?${query}`);
  await refused(shop, get('bins=0'), 422, { field: 'bins', detail: /1 to 2000/ });
  await refused(shop, get('bins=2001'), 422, { field: 'bins' });
  await refused(shop, get('bins=many'), 422, { field: 'bins' });
  await refused(shop, get(`from=${at('08:00')}&to=${at('08:00')}`), 422, { field: 'from', detail: /swap/ });
  await refused(shop, get('from=yesterday'), 422, { field: 'from' });
  await refused(shop, get('from=0001-01-01T00:00:00Z'), 422, { field: 'from' });
  await refused(shop, shop.get('/api/v1/places/99/air'), 404, { detail: /there is no place 99/ });
});
