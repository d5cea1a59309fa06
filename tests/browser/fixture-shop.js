// An invented shop in every state the page can draw, told relative to `now`. For working on the page without a daemon.
'use strict';

const MIN = 60e3, H = 3600e3;
const iso = (ms) => (ms === null ? null : new Date(Math.round(ms / 1000) * 1000).toISOString().replace('.000Z', 'Z'));

const CAUTIONS = {
  rags: ['Rags under water, lid on', 'Rags, wipes and overspray of drying oils heat themselves and can start a fire hours later. Put them under water in a metal can with a lid, or hang them flat outdoors, before you leave.'],
  ventilation: ['Fan on, door open', 'Solvent vapour collects where you stand and along the floor. Move the air out of the room while you spray and until the coat is tack-free.'],
  flame: ['No flame, no sparks, heater off', 'Vapour travels to a flame. No pilot lights, smoking, switches that spark or glowing heaters while vapour is in the room.'],
  'label-first': ['Label and safety sheet first', 'The product label, its safety data sheet and local rules decide before anything that is written here.'],
  respirator: ['Respirator for organic vapour', 'A dust mask does not hold back vapour. Wear what the safety data sheet names.'],
  lead: ['Old finish: treat as lead', 'An old finish that nobody tested counts as lead. Do not sand it dry.'],
  aerosol: ['Cans away from heat', 'Aerosol cans are under pressure and their gas burns. Keep them below 50 °C and never near a flame.'],
};

// A moment already passed, or one to come with its band in hours round the likely one.
function moment(at, now, spread = 0.15) {
  if (at === null) return { passed: false, earliest_at: null, likely_at: null, latest_at: null, label_floor_at: null, label_ceiling_at: null };
  const passed = at <= now;
  const wide = passed ? 0 : Math.max(5 * MIN, (at - now) * spread);
  return { passed, earliest_at: iso(Math.max(passed ? at : now + MIN, at - wide)), likely_at: iso(at), latest_at: iso(at + wide * 1.4), label_floor_at: iso(at - wide), label_ceiling_at: null };
}

const OPEN_FOR = { wait: 'waiting', go: 'open', wipe: 'prepare', scuff: 'prepare', strip: 'missed', test: 'open' };

// spans: [[do, untilMs | null], …]
function stage(name, spans, now, extra = {}) {
  const list = spans.map(([act, until]) => ({ do: act, until: until === undefined ? null : moment(until, now) }));
  let current = list.findIndex((span) => !span.until || !span.until.passed);
  if (current < 0) current = list.length - 1;
  const act = list[current].do;
  const seen = list.slice(0, current).some((span) => span.do === 'go');
  let state = act === 'wait' && seen ? 'shut' : OPEN_FOR[act];
  if (state === 'open' && !['recoat', 'leaf', 'unmask'].includes(name)) state = 'reached';
  return { stage: name, state, stalled: null, progress: state === 'waiting' ? 0.4 : null, progress_per_h: 0.05, current, spans: list,
    air: { measured_h: 5.5, assumed_h: 0.4, basis: 'measured' }, disputed: false, no_window: false, prepared: false, ...extra };
}

const MATERIALS = [
  [1, 'red oxide primer', 'alkyd-primer', 'primer', 'brush'], [2, 'black enamel, aerosol', 'spray-enamel', 'enamel', 'aerosol'],
  [3, 'slow oil size', 'oil-size-slow', 'size', 'brush'], [4, 'green enamel', 'alkyd-enamel', 'enamel', 'brush'],
  [5, 'clear varnish', 'oil-varnish', 'clear', 'brush'], [6, 'epoxy primer', 'epoxy-primer', 'primer', 'spray'],
  [7, 'baking japan', 'baking-japan', 'japan', 'dip'],
];

function materials() {
  return MATERIALS.map(([id, name, cls, role, application]) => ({ id, version: 1, name, class: cls, role, application, builtin: true, film_um: 25, disputed: cls === 'spray-enamel' }));
}

function coat(now, id, piece, material, firstAgoH, stages, extra = {}) {
  const [, name, cls, role, application] = MATERIALS[material - 1];
  const at = now - firstAgoH * H;
  return { id, entry: 1, piece, area: '', role, material: { id: material, version: 1, newest: true, name, class: cls, builtin: true }, application, place: extra.place || 1,
    first_at: iso(at), last_at: iso(at + (firstAgoH > 0.3 ? 10 * MIN : 0)), passes: 2, film: 'normal', wet_um: null, dry_um: null, film_factor: 1, amount_ml: null, thinned_pct: null, thinner: '', note: '',
    status: 'on', covered_by: null, ended_at: null, struck_why: '', condition: 'wet', stall: null, stood_still: [], inspect: false, inspect_why: null,
    air: { temp_c: 17.8, rh_pct: 61, basis: 'measured' }, stages, cautions: ['rags', 'ventilation', 'flame', 'label-first'], ...extra };
}

function dry(now, at, hours, coverAt) { // touch, tack-free, handle, cure of an ordinary enamel
  const t = (h) => at + h * H;
  return [stage('touch', [['wait', t(hours[0])], ['go']], now), stage('tack-free', [['wait', t(hours[1])], ['go']], now),
    stage('handle', [['wait', t(hours[2])], ['go']], now), stage('cure', [['wait', t(hours[3])], ['go']], now)];
}

function coats(now) {
  const ago = (h) => now - h * H;
  const list = [];
  const covered = (id, piece, material, agoH, byId, byAgoH) => list.push(coat(now, id, piece, material, agoH,
    [...dry(now, ago(agoH), [1, 4, 8, 40]), stage('recoat', [['wait', ago(agoH - 6)], ['go', null]], now, { state: 'used' })],
    { status: 'covered', covered_by: byId, ended_at: iso(ago(byAgoH)), condition: 'hard' }));
  covered(1, 1, 1, 30, 2, 0.67);
  list.push(coat(now, 2, 1, 2, 0.67, [...dry(now, ago(0.67), [0.6, 2, 8, 60]), stage('recoat', [['go', now + 20 * MIN], ['wait', now + 47 * H], ['go', null]], now, { state: 'closing', disputed: true })], { condition: 'wet' }));
  covered(3, 2, 2, 28, 4, 2.3);
  list.push(coat(now, 4, 2, 3, 2.3, [...dry(now, ago(2.3), [5, 12, 20, 90]), stage('leaf', [['wait', now + 0.5 * H], ['test', now + 2.3 * H], ['strip', null]], now)], { condition: 'wet' }));
  covered(5, 3, 4, 40, 6, 4);
  list.push(coat(now, 6, 3, 5, 4, [...dry(now, ago(4), [1.5, 7.2, 16, 120]), stage('recoat', [['wait', now + 14 * H], ['go', now + 60 * H], ['scuff', null]], now)], { condition: 'tacky' }));
  covered(7, 4, 1, 46, 8, 21);
  list.push(coat(now, 8, 4, 4, 21, [...dry(now, ago(21), [3, 9, 15, 70]), stage('recoat', [['wait', ago(16)], ['go', ago(5)], ['scuff', null]], now)],
    { condition: 'handle', stood_still: [{ from_at: iso(ago(17)), to_at: iso(ago(13)), why: 'too-cold' }] }));
  list.push(coat(now, 9, 5, 1, 24, [stage('touch', [['wait', ago(21)], ['go']], now), stage('tack-free', [['wait', null], ['go']], now, { stalled: 'too-cold' }),
    stage('handle', [['wait', null], ['go']], now, { stalled: 'too-cold' }), stage('recoat', [['wait', null], ['go', null]], now, { stalled: 'too-cold' })],
  { condition: 'tacky', stall: 'too-cold', place: 2, air: { temp_c: 8.1, rh_pct: 77, basis: 'measured' } }));
  covered(10, 6, 1, 33, 11, 20);
  list.push(coat(now, 11, 6, 2, 20, [...dry(now, ago(20), [0.5, 5, 9, 62]), stage('tape', [['wait', ago(1)], ['go']], now), stage('recoat', [['go', ago(19)], ['wait', now + 28 * H], ['go', null]], now)], { condition: 'handle' }));
  list.push(coat(now, 12, 7, 6, 47, [...dry(now, ago(47), [2, 5, 8, 44]), stage('recoat', [['wait', ago(44)], ['go', ago(39)], ['wipe', ago(7)], ['strip', null]], now)], { condition: 'hard' }));
  return list;
}

function lists(now) {
  const band = (at, s) => moment(at, now, s);
  const row = (piece, coatId, stg, state, act, extra) => ({ piece, coat: coatId, stage: stg, state, do: act, stalled: null, since_at: null, until: null, then: null, then_until_at: null, assumed: false, disputed: false, ...extra });
  const closing = band(now + 20 * MIN, 0.2);
  closing.earliest_at = iso(now + 19.7 * MIN);
  return {
    now: [
      row(1, 2, 'recoat', 'closing', 'go', { since_at: iso(now - 0.67 * H), until: closing, then: 'wait', then_until_at: iso(now + 47 * H), disputed: true }),
      row(6, 11, 'tape', 'reached', 'go', { since_at: iso(now - H) }),
      row(4, 8, 'recoat', 'prepare', 'scuff', { since_at: iso(now - 5 * H) }),
    ],
    next: [row(2, 4, 'leaf', 'waiting', 'test', { until: band(now + 0.5 * H), then: 'test', then_until_at: iso(now + 2.3 * H), assumed: true })],
    not_yet: [row(3, 6, 'handle', 'waiting', 'wait', { until: band(now + 12 * H), then: 'go' })],
    held: [
      row(5, 9, 'tack-free', 'waiting', 'wait', { stalled: 'too-cold', since_at: iso(now - 19 * H) }),
      row(7, 12, 'recoat', 'missed', 'strip', { since_at: iso(now - 7 * H) }),
    ],
  };
}

function recent(now, mean, swing, rh, gapFromH, gapToH) {
  const items = [];
  for (let h = -48; h <= -0.05; h += 0.25) {
    if (h > gapFromH && h < gapToH) continue;
    const s = Math.sin(((h + 9) / 24) * 2 * Math.PI) + 0.15 * Math.sin(h * 1.7);
    items.push({ at: iso(now + h * H), temp_c: +(mean + swing * s).toFixed(2), rh_pct: +(rh - 6 * s).toFixed(1) });
  }
  return items;
}

function air(now, items, dew) {
  const last = items[items.length - 1];
  return { at: last.at, temp_c: last.temp_c, rh_pct: last.rh_pct, dew_point_c: +(last.temp_c - dew).toFixed(1), basis: 'measured', assumed_from_at: null };
}

const RISKS = ['below-ground', 'attached', 'lived-in', 'pilot-or-furnace', 'open-flame-heater', 'fan-motor-in-stream', 'electronics-near'];
const risks = () => Object.fromEntries(RISKS.map((risk) => [risk, 'unanswered']));

function places(now) {
  const cellar = recent(now, 16.4, 2.2, 61, -13, -9.5);
  const garage = recent(now, 8, 1.5, 74, 0, 0);
  const place = (id, name, items, dew) => ({ id, name, kind: 'room', volume_m3: 60, airflow_m3h: null, risks: risks(), added_at: iso(now - 90 * H), removed_at: null, air: air(now, items, dew), recent: items });
  return [place(1, 'cellar', cellar, 7.5), place(2, 'garage', garage, 3.9)];
}

const named = (id) => ({ id, version: 1, newest: true, name: MATERIALS[id - 1][1], class: MATERIALS[id - 1][2], builtin: true });

function tins(now) {
  const tin = (id, name, material, more) => ({ id, name, material: named(material), batch: '', opened_at: null, keep_by_at: null, past_keep_by: false, added_at: iso(now - 900 * H), removed_at: null, ...more });
  return [tin(1, 'black 2', 2, { batch: 'L 0417', opened_at: iso(now - 500 * H), keep_by_at: iso(now + 2000 * H) }), tin(2, 'black 3', 2), tin(3, 'old oxide', 1, { keep_by_at: iso(now - 700 * H), past_keep_by: true })];
}

// One that is ready, one that still stands, one in a place without a reading, one that is over.
function mixes(now) {
  const mix = (id, agoH, readyH, useH, more) => ({ id, material: named(6), place: 1, mixed_at: iso(now - agoH * H), entered_at: iso(now - agoH * H), induction_min: 60, pot_life_min: 240, ready_at: iso(now + readyH * H), use_by_at: iso(now + useH * H), over: useH <= 0, basis: 'measured', cautions: ['ventilation', 'respirator', 'label-first'], ...more });
  return [mix(1, 3, -1.9, 0.8), mix(2, 0.3, 0.75, 3.6), mix(3, 0.2, 0, 2, { place: null, ready_at: null, basis: 'assumed' }), mix(4, 20, -18, -16)];
}

const twoPart = () => ({ items: materials().map((one) => ({ ...one, removed: false, induction_min: one.id === 6 ? 60 : null, pot_life_min: one.id === 6 ? 240 : null })) });

// What the shop says of a coat on a piece: no tonight, for the damp; material 2 dries fast enough.
function check(now, params) {
  const yes = params.material === '2', id = Number(params.material);
  const moment = (h) => iso(now + h * H);
  const stretch = (from, to, more) => ({ from_at: moment(from), to_at: moment(to), good: true, reason: null, text: null, value: null, limit: null, breaks_at: null, works_from_at: null, ...more });
  const damp = { good: false, reason: 'too-damp', text: 'too damp: 92 %, at most 85 %', value: 92, limit: 85 };
  const stretches = yes ? [stretch(0, 9), stretch(9, 72, { ...damp, breaks_at: moment(9) })] : [stretch(0, 16, { ...damp, breaks_at: moment(5) }), stretch(16, 19, { works_from_at: null }), stretch(19, 72, { ...damp, breaks_at: moment(29) })];
  const window = (stage, from, until, more) => ({ stage, do: 'go', from_at: from === null ? null : moment(from), until_at: until === null ? null : moment(until), from_outside_hours: false, until_outside_hours: false, missed_hours: false, disputed: false, ...more });
  return { verdict: yes ? 'yes' : 'no', at: params.at || iso(now), material: named(id), place: 1, piece: Number(params.piece) || null, guard: 'tack-free',
    air: { at: iso(now - 0.1 * H), temp_c: 18.2, rh_pct: 61, dew_point_c: 10.6, basis: 'measured', assumed_from_at: null },
    surface: params.piece ? { temp_c: 15.1, dew_point_c: 10.6, clear_at: null, time_constant_min: 80, wall_mm: 8, wall_assumed: true, from_place: null } : null,
    reasons: yes ? [] : [{ ...damp, breaks_at: moment(5), coat: null, until_at: null }],
    lands_on: params.piece ? { coats: [{ coat: 2, area: '', material: named(1), stage: 'recoat', do: 'go', until_at: moment(20), prepared: false, disputed: false, cured: false, compat: { verdict: 'ok', reason: 'enamel over its primer', source: 'common practice' } }] } : null,
    stretches, windows_at: yes ? iso(now) : moment(16), windows: [window('recoat', 0, 1, { missed_hours: true, disputed: true }), window('recoat', 48, null, { from_outside_hours: true })],
    remarks: ['The air to come is told from this place\'s own readings.'], cautions: ['rags', 'ventilation', 'flame', 'label-first'], caution_texts: base(now).cautions, deferral: base(now).deferral };
}

const PIECES = ['Mill two body', 'Mill two flywheel', 'Fan seven cage', 'Fan seven base', 'Scale three beam', 'Scale three platform', 'Scale three poises'];

function base(now) {
  return { as_of_at: iso(now), revision: 41, version: '0.1.0', test_clock: null, unrecorded: null,
    shop: { zone: 'Europe/Vienna', units: 'metric', lead_closing_min: 60, quiet_from: '22:00', quiet_to: '07:00', work_from: '17:00', work_to: '22:00' },
    places: [], pieces: [], racks: [], materials: materials(), coats: [], lists: { now: [], next: [], not_yet: [], held: [] }, tins: [], mixes: [], notices: [],
    shop_cautions: ['ventilation', 'flame', 'label-first'],
    cautions: Object.fromEntries(Object.entries(CAUTIONS).map(([code, [act, text]]) => [code, { act, text, source: 'common practice' }])),
    deferral: 'Times are estimates from the air that was measured. The product label, the safety data sheet, local codes and licensed practice decide.' };
}

function emptyShop(now) { return base(now); }

function fullShop(now) {
  const shop = base(now);
  shop.places = places(now);
  shop.coats = coats(now);
  shop.pieces = PIECES.map((name, i) => ({ id: i + 1, name, place: i === 4 ? 2 : 1, old_finish: 'not tested', areas: [], mass_kg: null, wall_mm: null, note: '', added_at: iso(now - 80 * H), removed_at: null,
    coats: shop.coats.filter((one) => one.piece === i + 1).map((one) => one.id) }));
  shop.racks = [{ id: 1, name: 'Mill two', pieces: [1, 2], removed_at: null }];
  shop.lists = lists(now);
  shop.tins = tins(now);
  shop.mixes = mixes(now).filter((mix) => !mix.over);
  shop.notices = [{ id: 5, kind: 'window-closing', coat: 2, piece: 1, stage: 'recoat', due_at: iso(now - 40 * MIN), until_at: iso(now + 20 * MIN), assumed: false, raised_at: iso(now - 40 * MIN), withdrawn_at: null, acknowledged_at: null,
    text: 'Mill two body: the next coat may go on now, and closes soon. Read the can.', cautions: ['rags'] }];
  shop.shop_cautions = Object.keys(CAUTIONS);
  return shop;
}

module.exports = { fullShop, emptyShop, iso, check, mixes, twoPart };
