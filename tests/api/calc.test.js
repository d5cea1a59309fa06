// coat calc: the figures that a person can check by hand, and how it refuses.
'use strict';
const test = require('node:test');
const assert = require('node:assert');
const { spawnSync } = require('node:child_process');
const fs = require('node:fs');
const path = require('node:path');

const BUILD = path.resolve(__dirname, process.env.COAT_BUILD || '../../build');
const REFERENCE = process.env.COAT_REFERENCE || path.join(__dirname, '../reference');
const GAS_CONSTANT = 8.314462618; // J/(mol K), CODATA 2018

function calc(...args) {
  const run = spawnSync(path.join(BUILD, 'coat'), ['calc', ...args], { encoding: 'utf8', timeout: 10000 });
  assert.ifError(run.error);
  return { status: run.status, out: run.stdout, err: run.stderr };
}

function calcJson(...args) {
  const { status, out, err } = calc(...args, '--json');
  assert.strictEqual(status, 0, `coat calc ${args.join(' ')}: ${err}`);
  assert.strictEqual(err, '');
  return JSON.parse(out);
}

function near(found, expected, tolerance, what) {
  assert.ok(Math.abs(found - expected) <= tolerance, `${what}: ${found}, expected ${expected} within ${tolerance}`);
}

function refused(args, words) {
  const { status, out, err } = calc(...args);
  assert.strictEqual(status, 2, `coat calc ${args.join(' ')} ended with ${status}: ${out}${err}`);
  assert.strictEqual(out, '');
  assert.ok(err.startsWith('coat: '), err);
  assert.ok(err.includes(words), `${err}\nshould say: ${words}`);
}

// ---- equivalent age, against equivalent_age_examples.csv (each row names its source)

// Six columns; all that follows them is the source.
function readExamples() {
  const lines = fs.readFileSync(path.join(REFERENCE, 'equivalent_age_examples.csv'), 'utf8').trim().split('\n').slice(1);
  return lines.map((line) => {
    const [id, method, params, history, result, units, ...source] = line.split(',');
    const given = Object.fromEntries(params.split(';').map((pair) => pair.split('=')));
    return { id, method, given, history, result, units, source: source.join(',').replace(/"/g, '') };
  });
}

// "12@20;12@25" is hours and Celsius.
function historyOf(example) {
  return example.history.split(';').map((step) => `${step.replace('@', 'h@')}C`).join(',');
}

// Activation energy in kJ/mol of two times for the same cure at two temperatures.
function energyOf(time1, temp1C, time2, temp2C) {
  return GAS_CONSTANT / 1000 * Math.log(time1 / time2) / (1 / (temp1C + 273.15) - 1 / (temp2C + 273.15));
}

const age = (...args) => calcJson('age', ...args);

// What coat gives for an example, in the example's units.
const ANSWER = {
  'nurse-saul': (e) => age('--datum', `${e.given.datum_C}C`, '--history', historyOf(e)).degree_hours /
    (e.units === 'degC.day' ? 24 : 1),
  q10: (e) => age('--q10', e.given.q10, '--ref', `${e.given.ref_C}C`, '--history', historyOf(e)).equivalent_age_h,
  // a z value is the Q10 of 10^(10/z)
  f0: (e) => age('--q10', String(10 ** (10 / Number(e.given.z_C))), '--ref', `${e.given.ref_C}C`, '--history', historyOf(e))
    .equivalent_age_h * 60,
  arrhenius: (e) => age('--ea', `${e.given.E_kJ || Number(e.given.Q_K) * GAS_CONSTANT / 1000}kJ/mol`,
    '--ref', `${e.given.ref_C}C`, '--history', historyOf(e)).equivalent_age_h,
};

// Rows that are no sum over a history are turned into one here.
const SPECIAL = {
  // the energy that makes it ten times faster at 320 K than at 298 K
  'arr-1': { expected: 10, found: (e) => age('--ea', `${e.result}kJ/mol`, '--ref', '298K', '--history', '1h@320K').equivalent_age_h },
  // the energy of the full-cure pair predicts 9.3 h where 8 h is printed: the row's source says both
  'arr-p1': { expected: 9.3, found: (e) => age('--ea', `${energyOf(168, 20, 12, 60)}kJ/mol`, '--ref', '20C', '--history',
    historyOf(e)).equivalent_age_h },
  // the pair predicts 27.1 min where 30 is printed
  'arr-p2': { expected: 27.1, found: () => calcJson('cure', '--row', '110C=45min', '--row', '176C=10min', '--air', '130C,50%')
    .time_h * 60 },
};

// 0.5 %, or half of the last digit where the source printed fewer.
function toleranceOf(text) {
  const decimals = (text.split('.')[1] || '').length;
  return Math.max(0.005 * Number(text), decimals > 0 ? 0.5 * 10 ** -decimals : 0);
}

for (const example of readExamples()) {
  test(`equivalent age ${example.id}: ${example.source}`, () => {
    const special = SPECIAL[example.id];
    const expected = special ? String(special.expected) : example.result;
    const found = special ? special.found(example) : ANSWER[example.method](example);
    near(found, Number(expected), toleranceOf(expected), example.units);
  });
}

test('equivalent age above a datum is degree-hours over those of an hour at the reference', () => {
  const found = age('--datum', '-11C', '--ref', '20C', '--history', '84h@20C,84h@10C');
  near(found.degree_hours, 4368, 1e-9, 'degree_hours');
  near(found.equivalent_age_h, 4368 / 31, 1e-9, 'equivalent_age_h');
});

test('below the datum nothing counts', () => {
  assert.strictEqual(age('--datum', '5C', '--history', '10h@-5C,10h@6C').degree_hours, 10);
});

test('an hour at the reference is worth an hour, by any law', () => {
  assert.strictEqual(age('--q10', '2.5', '--ref', '21C', '--history', '1h@21C').equivalent_age_h, 1);
  assert.strictEqual(age('--ea', '40', '--ref', '70F', '--history', '30min@70F,30min@70F').equivalent_age_h, 1);
});

// ---- time to a stage

const cure = (...args) => calcJson('cure', ...args);
const ROWS = ['--row', '10C=8h', '--row', '20C=4h'];

test('at a row the time is the row\'s', () => {
  near(cure(...ROWS, '--air', '10C,50%').time_h, 8, 1e-9, 'time_h');
  near(cure(...ROWS, '--air', '20C,50%').time_h, 4, 1e-9, 'time_h');
  near(cure('--row', '20C=4h', '--row', '10C=8h', '--air', '10C,50%').time_h, 8, 1e-9, 'rows in any order');
});

test('between rows ln(hours) is straight in 1/T, and so beyond them', () => {
  const byHand = (tempC) => {
    const inverse = (c) => 1 / (c + 273.15);
    const share = (inverse(tempC) - inverse(10)) / (inverse(20) - inverse(10));
    return Math.exp(Math.log(8) + share * (Math.log(4) - Math.log(8)));
  };
  for (const tempC of [-5, 5, 12.5, 15, 25, 40]) {
    near(cure(...ROWS, '--air', `${tempC}C,50%`).time_h, byHand(tempC), 1e-6 * byHand(tempC), `at ${tempC} C`);
  }
});

test('one row alone doubles for 10 C colder, near the row', () => {
  near(cure('--row', '20C=4h', '--air', '10C,50%').time_h, 8, 0.5, 'time_h');
});

test('a film of twice the thickness takes four times as long where solvent diffuses out', () => {
  const film = (d, n) => cure(...ROWS, '--film', d, '--ref-film', '1mil', '--exponent', n, '--air', '20C,50%').time_h;
  near(film('2mil', '2'), 16, 1e-9, 'time_h');
  near(film('2mil', '1'), 8, 1e-9, 'time_h');
  near(film('0.5mil', '2'), 1, 1e-9, 'thinner is quicker: no floor');
});

test('water-borne by evaporation: (1 - reference) / (1 - RH), both ways', () => {
  near(cure(...ROWS, '--rule', 'water', '--air', '20C,80%').time_h, 4 * 0.5 / 0.2, 1e-9, 'damp');
  near(cure(...ROWS, '--rule', 'water', '--air', '20C,25%').time_h, 4 * 0.5 / 0.75, 1e-9, 'dry');
  near(cure(...ROWS, '--rule', 'water', '--ref-rh', '60%', '--air', '20C,60%').time_h, 4, 1e-9, 'at the reference');
  near(cure(...ROWS, '--air', '20C,80%').time_h, 4, 1e-9, 'solvent by default');
});

test('limits hold it up only where they are given', () => {
  assert.deepStrictEqual(cure(...ROWS, '--min-temp', '10C', '--air', '8C,50%'), { time_h: null, stalled: 'too-cold' });
  assert.deepStrictEqual(cure(...ROWS, '--max-rh', '85%', '--air', '12C,90%'), { time_h: null, stalled: 'too-damp' });
  assert.strictEqual(cure(...ROWS, '--air', '8C,90%').stalled, null);
});

// ---- air and castings

test('dew point of a shed at 18 C and 55 % (printed table: 8.8)', () => {
  const air = calcJson('dew', '18C', '55%');
  near(air.dew_point_c, 8.8, 0.1, 'dew_point_c');
  assert.ok(air.dew_point_c < air.wet_bulb_c && air.wet_bulb_c < 18);
  near(air.abs_humidity_g_m3, 8.45, 0.05, 'abs_humidity_g_m3');
  near(air.vapour_pressure_pa, 0.55 * 2064.7, 2, 'vapour_pressure_pa'); // saturation at 18 C from memory
  assert.strictEqual(air.frost_point_c, null);
  assert.deepStrictEqual(calcJson('dew', '18C,55%'), air);
});

test('a minus and a digit is a value, not an option', () => {
  const air = calcJson('dew', '-5C', '60%');
  assert.ok(air.frost_point_c > air.dew_point_c && air.dew_point_c < -5);
});

test('a casting by mass and area, and by its wall', () => {
  const body = calcJson('warm', '--mass', '12kg', '--area', '0.5m2', '--metal', 'iron', '--from', '5C', '--to', '20C', '--h', '10');
  near(body.time_constant_min, 12 * 460 / (10 * 0.5) / 60, 1e-9, 'time_constant_min');
  near(body.part_at_temp_min, body.time_constant_min * Math.log(15), 1e-9, 'until within 1 C');
  const wall = calcJson('warm', '--wall', '8mm', '--metal', 'iron', '--from', '5C', '--to', '20C', '--h', '10W/m2K');
  near(wall.time_constant_min, 7200 * 0.004 * 460 / 10 / 60, 1e-9, 'time_constant_min');
});

test('without a heat transfer the answer is a range', () => {
  const args = ['warm', '--mass', '12kg', '--area', '0.5m2', '--metal', 'iron', '--from', '5C', '--to', '20C'];
  const { time_constant_min: middle, time_constant_min_low: low, time_constant_min_high: high } = calcJson(...args);
  near(low, middle * 10 / 15, 1e-9, 'low');
  near(high, middle * 10 / 5, 1e-9, 'high');
  const { out } = calc(...args);
  assert.match(out, /within 1 C of air at 20 C: 50 min \(33 min to 1 h 40 min\)/);
  assert.match(out, /common practice/);
});

test('a casting that is already warm waits for nothing', () => {
  assert.strictEqual(calcJson('warm', '--wall', '8mm', '--metal', 'brass', '--from', '19.5C', '--to', '20C').part_at_temp_min, 0);
});

// ---- manners

test('every answer says that it is plain arithmetic', () => {
  const calls = [
    ['dew', '18C', '55%'],
    ['cure', ...ROWS, '--air', '15C,50%'],
    ['age', '--q10', '2', '--ref', '20C', '--history', '12h@10C'],
    ['warm', '--wall', '8mm', '--metal', 'iron', '--from', '5C', '--to', '20C'],
  ];
  for (const args of calls) {
    const { status, out } = calc(...args);
    assert.strictEqual(status, 0);
    assert.match(out, /Plain arithmetic: no floors, ceilings or safety factors\./);
    assert.ok(out.split('\n').every((line) => line.length <= 120), out);
  }
});

test('answers in the shop\'s units', () => {
  const { out } = calc('dew', '64F', '55%', '--units', 'us');
  assert.match(out, /^64 F 55 %: dew point 47\.\d F/);
});

test('a bare number is refused in words that help', () => {
  refused(['dew', '18C', '55'], '"55" has no unit: write 55% for humidity, or 55F or 13C for temperature');
  refused(['cure', ...ROWS, '--air', '15,50%'], '"15" has no unit');
  refused(['cure', '--row', '10C=8', '--air', '15C,50%'], '"8" has no unit: write 8s, 8min, 8h or 8d');
  refused(['warm', '--wall', '8', '--metal', 'iron', '--from', '5C', '--to', '20C'], '--wall: "8" has no unit');
  refused(['age', '--q10', '2', '--ref', '20', '--history', '1h@3C'], '--ref: "20" has no unit');
});

test('what is missing, unknown or too much is named', () => {
  refused(['dew'], 'calc dew needs a temperature and a humidity');
  refused(['dew', '18C', '55%', '3'], '"3" is one argument too many');
  refused(['dew', '18C', '55%', '--film', '1mil'], 'no option "--film"');
  refused(['dew', '200C', '5%'], 'outside the range of the formulas');
  refused(['cure', '--air', '15C,50%'], 'needs --row');
  refused(['cure', ...ROWS], 'needs --air');
  refused(['cure', '--row', '10C=8h', '--row', '10C=4h', '--air', '15C,50%'], 'must rise in temperature');
  refused(['cure', ...ROWS, '--film', '1mil', '--air', '15C,50%'], '--exponent');
  refused(['cure', ...ROWS, '--rule', 'dry', '--air', '15C,50%'], 'solvent, water, oxidising or moisture');
  refused(['age', '--ref', '20C', '--history', '1h@3C'], 'one of --ea, --q10 and --datum');
  refused(['age', '--q10', '2', '--ea', '40', '--ref', '20C', '--history', '1h@3C'], 'one of --ea, --q10 and --datum');
  refused(['age', '--q10', '2', '--history', '1h@3C'], 'needs --ref');
  refused(['age', '--q10', '-2', '--ref', '20C', '--history', '1h@3C'], '"-2" will not do');
  refused(['age', '--q10', '2', '--ref', '20C', '--history', '1h@3C,'], 'is no step of a history');
  refused(['age', '--q10', '--ref', '20C', '--history', '1h@3C'], 'a value is missing');
  refused(['warm', '--area', '1m2', '--metal', 'iron', '--from', '5C', '--to', '20C'], 'needs --mass');
  refused(['warm', '--mass', '1kg', '--metal', 'iron', '--from', '5C', '--to', '20C'], 'either --area with --mass, or --wall');
  refused(['warm', '--wall', '8mm', '--metal', 'tin', '--from', '5C', '--to', '20C'], 'iron, steel, aluminium or brass');
  refused(['warm', '--wall', '0mm', '--metal', 'iron', '--from', '5C', '--to', '20C'], 'above zero');
  refused(['melt'], 'there is no calc "melt"');
});

test('help goes to standard output and names the four', () => {
  const { status, out } = calc('--help');
  assert.strictEqual(status, 0);
  for (const name of ['dew', 'cure', 'age', 'warm']) {
    assert.match(out, new RegExp(`coat calc ${name} `));
  }
});
