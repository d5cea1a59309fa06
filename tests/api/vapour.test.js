// What is in the air of a place by the sums, over the API and the command line.
'use strict';

const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused } = require('./scene.js');
const { coatAt } = require('./daemon.js');

async function shedWithCoat(t, amount) {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed', { volume_m3: 60, airflow_m3h: 300 });
  await shop.air(shed, 20, 50);
  const body = await shop.addPiece('mill body', { place: shed.id });
  await shop.log(body, await shop.builtin('alkyd-enamel'), amount ? { amount_ml: amount } : {});
  return { shop, shed };
}

test('a coat that was logged with an amount: fire, health, and until when, with what defers', async (t) => {
  const { shop, shed } = await shedWithCoat(t, 250);
  const air = await expect(shop.get(`/api/v1/places/${shed.id}/vapour`), 200);
  assert.deepEqual([air.counted, air.without_amount, air.mixing, air.effective_airflow_m3h], [1, 0, 10, 15]);
  assert.equal(air.exposure_limit.is, 'exceeds');
  assert.ok(air.limit_air_m3 > 10 * air.dilution_air_m3);
  assert.match(air.no_design, /design/);
  assert.doesNotMatch(JSON.stringify({ ...air, caution_texts: null }), /\bsafe\b/);
  const said = await coatAt(shop.url)('vapour', 'shed');
  assert.equal(said.code, 0, said.stderr);
  assert.match(said.stdout, /shed: of the coats of the last 14 days 1 with an amount, 0 without/);
  assert.match(said.stdout, /limit\s+exceeds/);
  assert.match(said.stdout, /health\s+usually\s+wants\s+far\s+more\s+air\s+than\s+fire/);
});

test('the sums stand under a coat that is logged with an amount, and only there', async (t) => {
  const { shop } = await shedWithCoat(t, 250);
  const logged = await coatAt(shop.url)('log', 'mill body', 'gloss enamel', '--amount', '120ml');
  assert.equal(logged.code, 0, logged.stderr);
  assert.match(logged.stdout, /of the coats of the last 14 days 2 with an amount[^]*1\/10 of LEL[^]*No design/);
  assert.doesNotMatch((await coatAt(shop.url)('log', 'mill body', 'gloss enamel')).stdout, /1\/10 of LEL/);
});

test('without an amount or a volume it says what is missing', async (t) => {
  const { shop } = await shedWithCoat(t, null);
  const said = await coatAt(shop.url)('vapour', 'shed');
  assert.match(said.stdout, /Not told: how much was put on[^]*coat\s+amend\s+N\s+--amount/);
  await shop.addPlace('cellar');
  assert.match((await coatAt(shop.url)('vapour', 'cellar')).stdout, /Not told: how large it is[^]*coat\s+place\s+edit\s+NAME\s+--volume/);
  await refused(shop, shop.get('/api/v1/places/99/vapour'), 404);
});

test('a log with an amount answers with the sums of its place, a log without one with none', async (t) => {
  const { shop, shed } = await shedWithCoat(t, null);
  const body = (await expect(shop.get('/api/v1/pieces'), 200)).items[0];
  const enamel = await shop.builtin('alkyd-enamel');
  const log = (more) => expect(shop.post('/api/v1/coats', { pieces: [body.id], material: enamel.id, ...more }), 201);
  assert.deepEqual((await log({})).vapour, []);
  const [sums] = (await log({ amount_ml: 250 })).vapour;
  assert.equal(sums.place, shed.id);
  assert.deepEqual([sums.counted, sums.without_amount, sums.composition_not_told], [1, 2, 1]);
  assert.equal(sums.quarter_of_lel.is, 'not known'); // two coats have no amount
  assert.equal(sums.exposure_limit.is, 'exceeds');
  assert.ok(sums.wants.some((want) => want.what === 'amounts'));
  assert.match(sums.no_design, /design/);
});

test('gun wash is told, answered with the sums, and told again by the same key it counts once', async (t) => {
  const { shop, shed } = await shedWithCoat(t, 250);
  const where = `/api/v1/places/${shed.id}/vapour`;
  const before = await expect(shop.get(where), 200);
  const key = { 'idempotency-key': 'wash-1' };
  const told = await expect(shop.post(where, { solvent: 'Toluene=60%, acetone=40%', amount_ml: 200 }, key), 201);
  assert.equal(told.release.solvent, 'toluene=60%, acetone=40%');
  assert.equal(told.released, 1);
  assert.ok(told.peak_lel_pct > before.peak_lel_pct);
  assert.equal(told.category, 'category-2');
  assert.equal(told.ignition, 'ignites');
  assert.equal((await expect(shop.post(where, { solvent: 'Toluene=60%, acetone=40%', amount_ml: 200 }, key), 201)).released, 1);
  assert.equal((await expect(shop.post(where, { solvent: 'lacquer thinner', amount_ml: 50 }), 201)).released, 2);
  for (const [document, field, detail] of [
    [{ solvent: 'toluene', amount_ml: -5 }, 'amount_ml', /./],
    [{ solvent: 'toluene', amount_ml: 1e9 }, 'amount_ml', /./],
    [{ solvent: 'toluene' }, 'amount_ml', /./],
    [{ solvent: 'unobtainium', amount_ml: 5 }, 'solvent', /unobtainium.*toluene/],
    [{ solvent: 'toluene=60%', amount_ml: 5 }, 'solvent', /60%/],
    [{ solvent: 'toluene=90%, acetone=20%', amount_ml: 5 }, 'solvent', /110%/],
    [{ solvent: 'toluene', amount_ml: 5, at: '2099-01-01T00:00:00Z' }, 'at', /future/],
  ]) await refused(shop, shop.raw('POST', where, document), 422, { field, detail });
  assert.equal((await expect(shop.get(where), 200)).released, 2);
});

test('wet coat that is hung in an oven is warned of with the sums there; the move stands', async (t) => {
  const { shop } = await shedWithCoat(t, 250);
  const body = (await expect(shop.get('/api/v1/pieces'), 200)).items[0];
  const oven = await shop.addPlace('oven', { kind: 'oven', volume_m3: 0.3 });
  const cellar = await shop.addPlace('cellar');
  const move = (place) => expect(shop.post(`/api/v1/pieces/${body.id}/moves`, { place: place.id }), 201);
  await shop.goTo('2026-11-28T08:10:00Z');
  const moved = await move(oven);
  assert.equal(moved.place, oven.id);
  const [sums] = moved.vapour;
  assert.deepEqual([sums.place, sums.oven, sums.moved_in], [oven.id, true, 1]);
  assert.equal(sums.quarter_of_lel.is, 'exceeds'); // a glass of enamel in 300 l of still air
  assert.equal(sums.quarter_of_lel.until_at, null);
  assert.match(sums.moved, /oven/);
  assert.ok(moved.cautions.ventilation);
  assert.deepEqual((await move(cellar)).vapour, []);
});

test('what is told of an exhaust, and that a new airflow is not a measured one', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed', { volume_m3: 60, airflow_m3h: 300, airflow_measured: true, low_exhaust: 'yes' });
  assert.deepEqual([shed.airflow_measured, shed.low_exhaust], [true, 'yes']);
  const vapour = () => expect(shop.get(`/api/v1/places/${shed.id}/vapour`), 200);
  assert.deepEqual([(await vapour()).mixing, (await vapour()).effective_airflow_m3h], [10, 30]); // below ground is not answered: it counts as yes
  await expect(shop.patch(`/api/v1/places/${shed.id}`, { risks: { 'below-ground': 'no' } }), 200);
  assert.deepEqual([(await vapour()).mixing, (await vapour()).effective_airflow_m3h], [5, 60]);
  const changed = await expect(shop.patch(`/api/v1/places/${shed.id}`, { airflow_m3h: 400 }), 200);
  assert.deepEqual([changed.airflow_measured, changed.low_exhaust], [false, 'yes']);
  await refused(shop, shop.raw('PATCH', `/api/v1/places/${shed.id}`, { airflow_m3h: null, airflow_measured: true }), 422, { field: 'airflow_measured' });
  await refused(shop, shop.raw('PATCH', `/api/v1/places/${shed.id}`, { low_exhaust: 'perhaps' }), 422, { field: 'low_exhaust' });
});

test('a material says what evaporates from it, or that the worst of its class counts', async (t) => {
  const shop = await openShop(t);
  const add = (name, composition) => expect(shop.post('/api/v1/materials', { name, class: 'lacquer', composition }), 201);
  const told = await add('clear of the sheet', { solvent: 'toluene=70%, acetone=30%', solvent_pct: 75 });
  assert.deepEqual(told.composition, { solvent: 'toluene=70%, acetone=30%', solvent_pct: 75 });
  assert.equal(told.composition_counted.told, true);
  const untold = await add('clear of no sheet', null);
  assert.deepEqual(untold.composition, { solvent: null, solvent_pct: null });
  assert.equal(untold.composition_counted.note, 'composition not told: the worst of its class');
  assert.match(untold.composition_counted.solvent, / or /);
  const half = await add('clear of half a sheet', { solvent: 'butyl acetate' });
  assert.deepEqual([half.composition_counted.told, half.composition_counted.solvent_pct], [false, untold.composition_counted.solvent_pct]);
  for (const [composition, field] of [[{ solvent: 'moonshine' }, 'composition.solvent'], [{ solvent: 'toluene=70%, acetone=40%' }, 'composition.solvent'],
    [{ solvent_pct: 50 }, 'composition.solvent_pct'], [{ solvent: 'toluene', solvent_pct: 120 }, 'composition.solvent_pct']])
    await refused(shop, shop.raw('POST', '/api/v1/materials', { name: 'x', class: 'lacquer', composition }), 422, { field });
});

test('the table of solvents has a source for each figure', async (t) => {
  const shop = await openShop(t);
  const { items } = await expect(shop.get('/api/v1/solvents'), 200);
  const toluene = items.find((one) => one.name === 'toluene');
  assert.ok(items.length > 15 && toluene.figures.lel_pct.value > 0.9 && toluene.figures.lel_pct.value < 1.4);
  for (const one of items) for (const figure of Object.values(one.figures)) assert.ok(figure.source.length > 2, one.name);
});

test('at the bench: gun wash, what the exhaust does, a composition, and wet coat in the oven', async (t) => {
  const { shop } = await shedWithCoat(t, 250);
  const coat = coatAt(shop.url);
  const said = async (...words) => {
    const run = await coat(...words);
    assert.equal(run.code, 0, run.stderr);
    assert.doesNotMatch(run.stdout, /\bsafe\b/);
    return run.stdout;
  };
  await shop.goTo('2026-11-28T08:30:00Z');
  const wash = await said('vapour', 'shed', 'lacquer thinner', '200ml', '--at', '20 min ago');
  assert.match(wash, /^Open solvent: 200 ml of lacquer thinner at 08:10/);
  assert.match(wash, /open\s+solvent\s+1\s+time/);
  assert.match(wash, /Flammable liquid, category 2/);
  assert.match(wash, /Fan on/);
  assert.match(wash, /1\/10 of LEL[^]*limit\s+exceeds, not shown to from [^]*No design/);
  assert.match(wash, /--airflow-measured yes/);
  await said('place', 'add', 'loft');
  const unmeasured = await said('vapour', 'loft', 'toluene', '20ml');
  assert.match(unmeasured, /^at worst +not known$[^]*^now, by sums +not known$[^]*^highest +not known$/m);
  assert.match(await said('place', 'edit', 'shed', '--airflow-measured', 'yes', '--low-exhaust', 'yes'), /300 m3h, measured, from low down/);
  assert.doesNotMatch(await said('vapour', 'shed'), /--airflow-measured yes/);
  assert.match(await said('material', 'add', 'own clear', '--class', 'lacquer', '--solvent', 'toluene=70%', '--solvent', 'acetone=30%', '--solvent-share', '75%'),
    /vapour\s+75 % of it: toluene=70%, acetone=30%/);
  assert.match(await said('material', 'edit', 'own clear', '--touch', '20min'), /vapour\s+75 % of it: toluene=70%/);
  await said('place', 'add', 'oven', '--kind', 'oven', '--volume', '300l');
  const moved = await said('move', 'mill body', 'oven');
  assert.match(moved, /hangs in oven[^]*Wet coat in what counts as an oven[^]*1\/4 of LEL\s+exceeds, no end in sight/);
  assert.doesNotMatch(await said('move', 'mill body', 'shed'), /LEL/);
});

test('what the command line cannot read is named, and nothing is recorded', async (t) => {
  const { shop, shed } = await shedWithCoat(t, 250);
  const coat = coatAt(shop.url);
  for (const [words, detail] of [
    [['toluene', '-5ml'], /zero or more/], [['toluene'], /how much/], [['toluene', '200'], /200/], [['moonshine', '5ml'], /moonshine.*toluene/],
    [['toluene=50%,acetone=60%', '5ml'], /110%/], [['toluene=50%', '5ml'], /50%/], [['toluene', '900l'], /amount is 900000 ml: it must be from 0\.01 to 100000 ml/], [['--at', '08:00'], /which, and how much/],
  ]) {
    const run = await coat('vapour', 'shed', ...words);
    assert.ok(run.code === 1 || run.code === 2, run.stdout);
    assert.match(run.stderr, detail);
    assert.match(run.stderr, /Nothing was logged/);
  }
  assert.equal((await expect(shop.get(`/api/v1/places/${shed.id}/vapour`), 200)).released, 0);
  assert.match((await coat('place', 'edit', 'shed', '--airflow-measured', 'perhaps')).stderr, /neither yes nor no/);
});

test('the sums of a place are those of coat calc vent and coat calc purge, rounded to the cautious side', async (t) => {
  const shop = await openShop(t);
  const shed = await shop.addPlace('shed', { volume_m3: 60, airflow_m3h: 300, airflow_measured: true, low_exhaust: 'yes' });
  await shop.air(shed, 20, 50);
  const told = await expect(shop.post(`/api/v1/places/${shed.id}/vapour`, { solvent: 'toluene=60%, acetone=40%', amount_ml: 200 }), 201);
  const calc = async (...words) => JSON.parse((await coatAt(shop.url)('--json', 'calc', ...words)).stdout);
  const vent = await calc('vent', '--solvent', 'toluene=60%', '--solvent', 'acetone=40%', '--amount', '200ml', '--room', '60m3', '--temp', '20C');
  const up = (value, step) => Math.ceil(value / step - 1e-9) * step;
  assert.ok(Math.abs(told.vapour_m3 - up(vent.vapour_m3, 0.001)) < 1e-9, `${told.vapour_m3} and ${vent.vapour_m3}`);
  assert.ok(Math.abs(told.lel_pct_still_air - up(vent.lel_pct_still_air, 0.1)) < 1e-9, `${told.lel_pct_still_air} and ${vent.lel_pct_still_air}`);
  assert.ok(Math.abs(told.dilution_air_m3 - up(vent.dilution_air_m3, 0.1)) < 1e-9, `${told.dilution_air_m3} and ${vent.dilution_air_m3}`);
  // All of it at once and mixed with K: the fan's way down, as the sums have it for what left at the quick pace.
  assert.equal(told.effective_airflow_m3h, 300 / told.mixing);
  const purge = await calc('purge', '--room', '60m3', '--airflow', '300m3h', '--mixing', String(told.mixing), '--from', '100ppm', '--to', '50ppm');
  const minutes = ((60 / told.effective_airflow_m3h) * Math.log(2)) * 60;
  assert.ok(Math.abs(purge.purge_min - minutes) < 1e-6, `${purge.purge_min} and ${minutes}`);
});
