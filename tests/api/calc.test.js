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
  const json = args.includes('--json');
  for (const line of json ? [] : run.stdout.split('\n')) assert.ok(line.length <= 80, `${line.length} columns in coat calc ${args.join(' ')}: ${line}`);
  return { status: run.status, out: json ? run.stdout : run.stdout.replace(/(\S)\n {4}(?=\S)/g, '$1 '), err: run.stderr }; // broken lines made whole
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

// ---- bakes

const bake = (...args) => calcJson('bake', ...args);
const BAKE_ROWS = ['--row', '150C=60min', '--row', '135C=90min'];
const BODY = ['--mass', '12kg', '--area', '0.5m2', '--metal', 'iron'];

// Temperature and progress in steps of a second: ln(hours) straight in 1/T between the rows, from 1 C below the coldest on (there half
// as fast for 10 C colder), nothing below, and the hottest row's above.
function minutesByHand(constantMin, startC, ovenC) {
  const inverse = (c) => 1 / (c + 273.15);
  const between = (c, [c0, h0], [c1, h1]) => Math.exp(Math.log(h0) + (inverse(c) - inverse(c0)) / (inverse(c1) - inverse(c0)) * Math.log(h1 / h0));
  const hours = (c) => (c >= 150 ? 1 : c >= 135 ? between(c, [135, 1.5], [150, 1]) : c >= 134 ? between(c, [135, 1.5], [125, 3]) : Infinity);
  let progress = 0, part = startC, seconds = 0;
  for (; progress < 1; seconds++) {
    const next = part + (ovenC - part) * (1 - Math.exp(-1 / 60 / constantMin));
    progress += 1 / 3600 / hours((part + next) / 2);
    part = next;
  }
  return seconds / 60;
}

test('a mill body of 12 kg in an oven at 150 C, by hand', () => {
  for (const [h, oven, start] of [[10, 150, 20], [20, 150, 20], [20, 140, 5], [50, 170, 20]]) {
    const found = bake(...BAKE_ROWS, ...BODY, '--oven', `${oven}C`, '--start', `${start}C`, '--h', String(h));
    const constant = 12 * 460 / (h * 0.5) / 60;
    near(found.time_constant_min, constant, 1e-9, 'time_constant_min');
    near(found.part_at_temp_min, constant * Math.log(oven - start), 1e-9, 'part_at_temp_min: within 1 C');
    near(found.total_min, minutesByHand(constant, start, oven), 0.05, 'total_min');
    assert.deepStrictEqual(Object.keys(found), ['time_constant_min', 'part_at_temp_min', 'total_min', 'soak_min']);
  }
});

test('at a row the soak is the row\'s, and hotter counts as the hottest', () => {
  for (const [oven, minutes] of [['135C', 90], ['150C', 60], ['302F', 60], ['180C', 60]]) {
    near(bake(...BAKE_ROWS, '--wall', '6mm', '--metal', 'brass', '--oven', oven).soak_min, minutes, 1e-6, oven);
  }
});

test('a thin part takes what its row says, and a part that is put in hot no longer', () => {
  near(bake('--row', '150C=60min', '--wall', '0.01mm', '--metal', 'steel', '--oven', '150C', '--h', '50').total_min, 60, 0.5, 'total_min');
  near(bake('--row', '150C=60min', ...BODY, '--start', '150C', '--oven', '150C').total_min, 60, 1e-4, 'total_min');
  assert.strictEqual(bake('--row', '150C=60min', ...BODY, '--start', '150C', '--oven', '150C').part_at_temp_min, 0);
});

test('without a heat transfer a bake is a range as well', () => {
  const args = [...BAKE_ROWS, ...BODY, '--oven', '150C'];
  const found = bake(...args);
  for (const [name, h] of [['low', '50'], ['high', '8']]) {
    const given = bake(...args, '--h', h);
    for (const figure of ['time_constant_min', 'part_at_temp_min', 'total_min']) near(found[`${figure}_${name}`], given[figure], 1e-9, figure);
  }
  assert.match(calc('bake', ...args).out, /^baked, from when it is put in: 1 h 23 min \(1 h 9 min to 1 h 57 min\)$/m);
  assert.match(calc('bake', ...args).out, /a part more than 1 C below 135 C counts as nothing, above 150 C as 150 C/);
});

test('bakes that will not do', () => {
  refused(['bake', ...BODY, '--oven', '150C'], 'needs --row');
  refused(['bake', ...BAKE_ROWS, ...BODY], 'needs --oven');
  refused(['bake', ...BAKE_ROWS, ...BODY, '--oven', '120C'], '--oven: in an oven at 120 C it never gets there: the coldest bake row is 135 C');
  refused(['bake', ...BAKE_ROWS, ...BODY, '--oven', '134.5C'], '--oven: in an oven at 134.5 C it never gets there');
  assert.strictEqual(calc('bake', ...BAKE_ROWS, ...BODY, '--oven', '275F').status, 0, 'as hot as the coldest row');
  refused(['bake', ...BAKE_ROWS, ...BODY, '--oven', '150C', '--start', '900C'], '--start: 900 C is no part to be put in');
  refused(['bake', ...BAKE_ROWS, ...BODY, '--oven', '900C'], 'is no oven for a finish');
  refused(['bake', ...BAKE_ROWS, '--mass', '0kg', '--area', '0.5m2', '--metal', 'iron', '--oven', '150C'], '--mass: "0kg" must be above zero');
  refused(['bake', ...BAKE_ROWS, '--metal', 'iron', '--oven', '150C'], 'calc bake needs either --area with --mass, or --wall');
  refused(['bake', ...BAKE_ROWS, '--row', '150C=2h', ...BODY, '--oven', '150C'], '--row: of two bake rows');
  refused(['bake', '--row', '150C=1h', '--row', '135C=30min', ...BODY, '--oven', '150C'], 'the hotter must not take longer');
  refused(['bake', '--row', '150C=60', ...BODY, '--oven', '150C'], '"60" has no unit');
  refused(['bake', ...BAKE_ROWS, ...BODY, '--oven', '150'], '--oven: "150" has no unit');
  refused(['bake', ...Array(7).fill(['--row', '150C=1h']).flat(), ...BODY, '--oven', '150C'], 'more than the table holds');
});

// ---- vapour

const vent = (...args) => calcJson('vent', ...args);
const TOLUENE = ['--solvent', 'toluene=100%', '--room', '40m3'];
const FT3 = 0.028316846592; // m3

test('29 CFR 1910.94(c)(6)(ii): a gallon of toluene, LEL 1.4 %, takes 8,564 ft3 of air', () => {
  const { vapour_m3: vapour, dilution_air_m3: air, lel_pct: lel } = vent(...TOLUENE, '--amount', '1gal', '--lel', '1.4%');
  assert.strictEqual(lel, 1.4);
  near(vapour / FT3, 30.4, 0.01 * 30.4, 'vapour_m3 (Table G-11: 30.4 ft3)');
  near(air / FT3, 8564, 0.01 * 8564, 'dilution_air_m3');
  near(air, 4 * (100 - 1.4) * vapour / 1.4, 1e-9, 'the formula itself');
});

test('the vapour of a litre of toluene at 20 C, by hand', () => {
  const found = vent(...TOLUENE, '--amount', '1l', '--temp', '20C', '--lel', '1.1%');
  const vapour = 0.8673 / 0.09214 * GAS_CONSTANT * 293.15 / 101325; // kg, kg/mol
  near(found.vapour_m3, vapour, 1e-9, 'vapour_m3');
  near(found.lel_pct_still_air, 100 * vapour / (0.011 * 40), 1e-9, 'lel_pct_still_air');
  near(found.limit_air_m3, vapour / 100e-6 - vapour, 1e-6, 'limit_air_m3, at 100 ppm');
  assert.strictEqual(found.dilution_min, null);
  assert.strictEqual(found.purge_min, null);
});

test('without --lel the lowest of the sources, of mixtures after Le Chatelier', () => {
  near(vent(...TOLUENE, '--amount', '1l').lel_pct, 1.0, 1e-9, 'toluene (IEC; NFPA 1.1, the rule 1.4)');
  const parts = { toluene: vent(...TOLUENE, '--amount', '600ml'), acetone: vent('--solvent', 'acetone=100%', '--room', '40m3', '--amount', '400ml') };
  const mixed = vent('--solvent', 'toluene=60%', '--solvent', 'acetone=40%', '--amount', '1l', '--room', '40m3');
  const vapour = parts.toluene.vapour_m3 + parts.acetone.vapour_m3;
  near(mixed.vapour_m3, vapour, 1e-9, 'vapour_m3');
  near(mixed.lel_pct, vapour / (parts.toluene.vapour_m3 / 1.0 + parts.acetone.vapour_m3 / 2.5), 1e-9, 'lel_pct');
  near(mixed.lel_pct_still_air, parts.toluene.lel_pct_still_air + parts.acetone.lel_pct_still_air, 1e-9, 'shares of the LEL add up');
});

test('what is left of the shares does not evaporate', () => {
  const whole = vent(...TOLUENE, '--amount', '100ml'), part = vent('--solvent', 'Toluol=40%', '--room', '40m3', '--amount', '250ml');
  for (const name of Object.keys(whole)) {
    if (whole[name] !== null) near(part[name], whole[name], 1e-9 * whole[name], name);
  }
});

test('mixing multiplies the air and nothing else; a fan says how long', () => {
  const args = ['--solvent', 'toluene=100%', '--room', '10m3', '--amount', '1l', '--airflow', '200m3h'];
  const perfect = vent(...args), poor = vent(...args, '--mixing', '5');
  for (const name of ['vapour_m3', 'lel_pct', 'lel_pct_still_air', 'limit_ppm']) assert.strictEqual(poor[name], perfect[name]);
  for (const name of ['dilution_air_m3', 'dilution_min', 'purge_min', 'limit_air_m3']) near(poor[name], 5 * perfect[name], 1e-6, name);
  near(perfect.dilution_min, perfect.dilution_air_m3 / 200 * 60, 1e-9, 'dilution_min');
  near(perfect.purge_min, 10 / 200 * 60 * Math.log(perfect.lel_pct_still_air / 25), 1e-9, 'purge_min: all of it at once, to a quarter');
  assert.strictEqual(vent(...TOLUENE, '--amount', '1ml', '--airflow', '200m3h').purge_min, 0);
  assert.match(calc('vent', ...args).out, /mixing 1: air that mixes perfectly; a real room takes 3 to 10 times as much/);
});

test('what no source gives is told as not known', () => {
  const found = vent('--solvent', 'PMA=100%', '--amount', '250ml', '--room', '40m3');
  assert.ok(found.vapour_m3 > 0);
  for (const name of ['lel_pct', 'lel_pct_still_air', 'dilution_air_m3', 'limit_ppm', 'limit_air_m3']) assert.strictEqual(found[name], null);
  const { out } = calc('vent', '--solvent', 'PMA=100%', '--amount', '250ml', '--room', '40m3');
  assert.match(out, /LEL not known for all of it: nothing can be said about fire/);
  assert.match(out, /exposure limit not known for all of it/);
  assert.strictEqual(vent('--solvent', 'PMA=100%', '--amount', '250ml', '--room', '40m3', '--lel', '1.5').lel_pct, 1.5);
});

test('no answer about vapour says that it is safe', () => {
  for (const amount of ['1ml', '5l']) {
    const { out } = calc('vent', ...TOLUENE, '--amount', amount, '--airflow', '200m3h');
    assert.doesNotMatch(out, /\bsafe\b/i);
    assert.match(out, /No design: the product label, the safety data sheet, local codes and licensed practice decide\./);
  }
});

// V/Q ln(C1/C2), at perfect mixing. CDC MMWR 28 October 1994, table S3-1, and a design guide for ventilating systems (2006), p. 106.
test('purge times as published', () => {
  const minutes = (...args) => calcJson('purge', '--room', '100m3', ...args).purge_min;
  near(minutes('--airflow', '600m3h', '--from', '1000ppm', '--to', '10ppm'), 46, 0.5, '6 changes an hour, 99 %');
  near(minutes('--airflow', '1200m3h', '--from', '1000', '--to', '100'), 12, 0.5, '12 changes an hour, 90 %');
  near(minutes('--airflow', '200m3min', '--from', '20%', '--to', '1.4%', '--mixing', '5'), 6.65, 0.005, '2 changes a minute, efficiency 0.2');
  assert.strictEqual(minutes('--airflow', '600m3h', '--from', '10ppm', '--to', '100ppm'), 0);
  near(calcJson('purge', '--room', '1000ft3', '--airflow', '100cfm', '--from', '1%', '--to', '0.1%').air_changes_per_h, 6, 1e-9, 'air changes');
});

test('solvents, shares, rooms and mixing that will not do', () => {
  const rest = ['--amount', '250ml', '--room', '40m3'];
  refused(['vent', '--solvent', 'tolune=100%', ...rest], '"tolune" is not known: write one of toluene, xylene, acetone');
  refused(['vent', '--solvent', 'butyl=100%', ...rest], '"butyl" may be n-butyl acetate, n-butanol, 2-butoxyethanol: write more of it');
  refused(['vent', '--solvent', 'lacquer thinner=100%', ...rest], 'is a mixture: write what section 3 of its safety data sheet lists');
  refused(['vent', '--solvent', 'toluene=80%', '--solvent', 'MEK=30%', ...rest], 'the shares add up to 110%');
  refused(['vent', '--solvent', 'toluene=120%', ...rest], 'is no share: write above 0% and at most 100%');
  refused(['vent', '--solvent', 'toluene=0.5', ...rest], 'is no share');
  refused(['vent', '--solvent', 'toluene', ...rest], 'write a name and its share by volume');
  refused(['vent', ...rest], 'needs --solvent');
  refused(['vent', ...TOLUENE], 'needs --amount');
  refused(['vent', '--solvent', 'toluene=100%', '--amount', '250ml'], 'needs --room');
  refused(['vent', ...TOLUENE, '--amount', '-250ml'], '--amount: "-250ml" is not possible');
  refused(['vent', ...TOLUENE, '--amount', '0ml'], 'must be above zero');
  refused(['vent', ...TOLUENE, '--amount', '90000gal'], 'more than a shop holds');
  refused(['vent', '--solvent', 'toluene=100%', '--amount', '250ml', '--room', '0m3'], 'must be above zero');
  refused(['vent', ...TOLUENE, '--amount', '250ml', '--lel', '100%'], 'is no lower explosive limit');
  refused(['vent', ...TOLUENE, '--amount', '250ml', '--temp', '900C'], 'write -40C to 400C');
  refused(['purge', '--room', '40m3', '--from', '1%', '--to', '100ppm'], 'needs --airflow');
  refused(['purge', '--room', '40m3', '--airflow', '0m3h', '--from', '1%', '--to', '100ppm'], 'must be above zero');
  refused(['purge', '--room', '40m3', '--airflow', '9m3h', '--from', '1%', '--to', '0ppm'], 'must be above zero');
  refused(['purge', '--room', '40m3', '--airflow', '9m3h', '--from', '101%', '--to', '9ppm'], 'a concentration is 0ppm to 100%');
  refused(['purge', '--room', '40m3', '--airflow', '9m3h', '--mixing', '0.2', '--from', '1%', '--to', '9ppm'], 'an efficiency of 0.2 is a factor of 5');
});

// ---- manners

test('every answer says that it is plain arithmetic', () => {
  const calls = [
    ['dew', '18C', '55%'],
    ['cure', ...ROWS, '--air', '15C,50%'],
    ['age', '--q10', '2', '--ref', '20C', '--history', '12h@10C'],
    ['warm', '--wall', '8mm', '--metal', 'iron', '--from', '5C', '--to', '20C'],
    ['bake', ...BAKE_ROWS, ...BODY, '--oven', '150C'],
    ['vent', '--solvent', 'toluene=60%', '--amount', '250ml', '--room', '40m3', '--airflow', '200m3h'],
    ['vent', '--solvent', 'PM acetate=60%', '--amount', '250ml', '--room', '40m3'],
    ['purge', '--room', '40m3', '--airflow', '200m3h', '--from', '1.4%', '--to', '100ppm'],
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

test('help goes to standard output and names them all', () => {
  for (const name of ['dew', 'cure', 'age', 'warm', 'bake', 'vent', 'purge']) assert.strictEqual(calc(name, '--help').status, 0);
  const { status, out } = calc('--help');
  assert.strictEqual(status, 0);
  for (const name of ['dew', 'cure', 'age', 'warm', 'bake', 'vent', 'purge']) {
    assert.match(out, new RegExp(`coat calc ${name} `));
  }
});
