// Moist air against an independent implementation of the same handbook, over a grid of -20 to 45 C and 5 to 100 %.
//
// Like with like: that library takes saturation over ice below the triple point, in relative humidity as well as in the
// dew point. Ours is over liquid water below zero too. So the two are given the same vapour pressure, and below zero its
// dew point is compared with our frost point. It never lets either exceed the air's own temperature; our frost point
// may (hoar frost grows in air that is saturated over water), so it is cut off there for the comparison.
'use strict';
const test = require('node:test');
const assert = require('node:assert');
const { execFileSync } = require('node:child_process');
const path = require('node:path');
const psychrolib = require('psychrolib');

const BUILD = path.resolve(__dirname, process.env.COAT_BUILD || '../../build');
const PRESSURE_PA = 101325;
const TRIPLE_POINT_C = 0.01;
const TOLERANCE_C = 0.05;

psychrolib.SetUnitSystem(psychrolib.SI);

function readGrid() {
  const text = execFileSync(path.join(BUILD, 'tests/grid_air'), { encoding: 'utf8', timeout: 20000 });
  const [head, ...lines] = text.trim().split('\n').map((line) => line.split(','));
  return lines.map((cells) => Object.fromEntries(head.map((name, i) => [name, Number(cells[i])])));
}

// The largest difference over the points, and where.
function worst(points, difference) {
  return points.map((point) => ({ miss: Math.abs(difference(point)), point })).reduce((a, b) => (b.miss > a.miss ? b : a));
}

function agree(points, difference, tolerance) {
  const found = worst(points, difference);
  assert.ok(found.miss <= tolerance, `off by ${found.miss} at ${JSON.stringify(found.point)}`);
}

const grid = readGrid();
const dewPoint = (p) => psychrolib.GetTDewPointFromVapPres(p.temp_c, p.vapour_pressure_pa);
const wetBulb = (p) => psychrolib.GetTWetBulbFromHumRatio(p.temp_c, p.humidity_ratio, PRESSURE_PA);

test('the grid is whole', () => {
  assert.strictEqual(grid.length, 66 * 20);
});

test('vapour pressure above freezing, from the same relative humidity', () => {
  const warm = grid.filter((p) => p.temp_c > TRIPLE_POINT_C);
  agree(warm, (p) => p.vapour_pressure_pa / psychrolib.GetVapPresFromRelHum(p.temp_c, p.rh_pct / 100) - 1, 1e-6);
});

test('humidity ratio', () => {
  agree(grid, (p) => p.humidity_ratio / psychrolib.GetHumRatioFromVapPres(p.vapour_pressure_pa, PRESSURE_PA) - 1, 1e-6);
});

test('dew point above freezing', () => {
  const points = grid.filter((p) => p.dew_point_c > TRIPLE_POINT_C);
  assert.ok(points.length > 600);
  agree(points, (p) => p.dew_point_c - dewPoint(p), TOLERANCE_C);
});

test('frost point below freezing', () => {
  const points = grid.filter((p) => p.dew_point_c <= TRIPLE_POINT_C);
  assert.ok(points.length > 400);
  agree(points, (p) => Math.min(p.frost_point_c, p.temp_c) - dewPoint(p), TOLERANCE_C);
});

// Around 0 C the handbook's equations for a wet and an iced bulb do not meet, and some air solves both. There the
// library may return the other solution; then ours must satisfy its equation.
test('wet bulb', () => {
  const sameBulb = (p) => (p.wet_bulb_c >= 0) === (wetBulb(p) >= 0);
  const same = grid.filter(sameBulb);
  const other = grid.filter((p) => !sameBulb(p));
  agree(same, (p) => p.wet_bulb_c - wetBulb(p), TOLERANCE_C);
  assert.ok(other.length < 40, `${other.length} points on the other branch`);
  for (const p of other) {
    assert.ok(Math.abs(p.wet_bulb_c) < 0.5, JSON.stringify(p));
    const ratio = psychrolib.GetHumRatioFromTWetBulb(p.temp_c, p.wet_bulb_c, PRESSURE_PA);
    assert.ok(Math.abs(ratio / p.humidity_ratio - 1) < 1e-4, JSON.stringify(p));
  }
});
