// The figures for a collector, read line by line after OpenMetrics 1.0.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect } = require('./scene');

const META = /^# (TYPE|HELP|UNIT) ([a-z_][a-z0-9_]*) (.+)$/;
const SAMPLE = /^([a-z_][a-z0-9_]*)(?:\{((?:[a-z_]+="(?:[^"\\\n]|\\[\\"n])*",?)*)\})? (-?[0-9.]+(?:e[+-]?[0-9]+)?)$/;

// { name: [[labels, value], …] }; fails on any line that is not of the format, on a family in two pieces, on a missing end.
function parse(text) {
  assert.ok(text.endsWith('# EOF\n'), 'it ends with # EOF');
  const lines = text.slice(0, -1).split('\n');
  assert.equal(lines.pop(), '# EOF');
  const samples = {};
  const seen = new Set();
  let family = null;
  for (const line of lines) {
    const meta = META.exec(line);
    if (meta) {
      if (meta[2] !== family?.name) {
        assert.ok(!seen.has(meta[2]), `${meta[2]} stands in two pieces`);
        assert.equal(meta[1], 'TYPE', line);
        family = { name: meta[2], type: meta[3] };
        seen.add(meta[2]);
      }
      if (meta[1] === 'UNIT') assert.ok(family.name.endsWith(`_${meta[3]}`), line);
      continue;
    }
    const sample = SAMPLE.exec(line);
    assert.ok(sample, `not a sample: ${line}`);
    const suffix = { info: '_info', counter: '_total', gauge: '' }[family.type];
    assert.equal(sample[1], family.name + suffix, line);
    (samples[sample[1]] ||= []).push([sample[2] || '', Number(sample[3])]);
  }
  return samples;
}

test('an empty shop has figures already', async (t) => {
  const shop = await openShop(t);
  const samples = parse((await shop.get('/metrics')).text);
  assert.equal(samples.coat_revision[0][1], await shop.revision());
  assert.equal(samples.coat_build_info[0][1], 1);
  assert.equal(samples.coat_shop_time_seconds[0][1], Date.parse('2026-11-28T08:00:00Z') / 1000);
});

test('coats, air and notices are counted; names are escaped', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('the "shed" \\ back');
  const body = await shop.addPiece('mill body', { place: shed.id });
  const lid = await shop.addPiece('hopper lid', { place: shed.id });
  const enamel = await shop.builtin('spray-enamel');
  const [coat] = await shop.log([body, lid], enamel, { air: { temp_c: 21.5, rh_pct: 48 } });
  await expect(shop.post(`/api/v1/coats/${coat.id}/strike`, { why: 'test' }), 200);
  await shop.goTo('2026-11-28T09:30:00Z');
  const samples = parse((await shop.get('/metrics')).text);
  assert.deepEqual(samples.coat_place_temperature_celsius, [['place="the \\"shed\\" \\\\ back"', 21.5]]);
  assert.deepEqual(samples.coat_place_humidity_ratio.map((one) => one[1]), [0.48]);
  assert.deepEqual(samples.coat_place_reading_age_seconds.map((one) => one[1]), [5400]);
  const status = Object.fromEntries(samples.coat_coats);
  assert.deepEqual([status['status="on"'], status['status="struck"'], status['status="covered"']], [1, 1, 0]);
  assert.equal(Object.fromEntries(samples.coat_recoat_windows)['state="shut"'], 1);
  assert.equal(samples.coat_notices_unacknowledged[0][1], (await shop.shop()).notices.length);
});
