// Materials: the built-in ones say where their figures come from; a shop types in its own tins.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { openShop, expect, refused, stage, at } = require('./scene');

const tin = {
  name: 'black gloss, brushed', class: 'alkyd-enamel', film: { dry_um: 30 }, limits: { min_temp_c: 8, max_rh_pct: 80 },
  stages: [
    { stage: 'touch', boundaries: [{ then: 'go', rows: [{ temp_c: 20, hours: 3 }], label_h: 3 }] },
    { stage: 'recoat', boundaries: [
      { then: 'go', rows: [{ temp_c: 10, hours: 24 }, { temp_c: 20, hours: 12 }], label_h: 12 },
      { then: 'scuff', rows: [{ temp_c: 20, hours: 72 }], label_h: 72 }] },
  ],
};

test('each built-in figure says its source or what it is', async (t) => {
  const shop = await openShop(t);
  const { items } = await expect(shop.get('/api/v1/materials'), 200);
  assert.equal(new Set(items.map((material) => material.class)).size, 18);
  for (const material of items) {
    assert.ok(material.stages.length > 0, material.name);
    for (const { boundaries } of material.stages) {
      for (const boundary of boundaries) assert.ok(boundary.source.length > 3 && boundary.basis !== 'label', `${material.name}: ${JSON.stringify(boundary)}`);
    }
  }
});

test('a tin is typed in from its label; what the label leaves out comes from its class', async (t) => {
  const shop = await openShop(t);
  const answer = await shop.post('/api/v1/materials', tin);
  assert.equal(answer.status, 201, answer.text);
  const material = answer.body;
  assert.equal(answer.headers.get('location'), `/api/v1/materials/${material.id}`);
  assert.deepEqual([material.version, material.builtin, material.removed], [1, false, false]);
  const recoat = material.stages.find((one) => one.stage === 'recoat');
  assert.deepEqual(recoat.boundaries.map(({ then, rows, label_h, basis }) => ({ then, rows, label_h, basis })), tin.stages[1].boundaries.map((one) => ({ ...one, basis: 'label' })));
  const handle = material.stages.find((one) => one.stage === 'handle');
  assert.notEqual(handle.boundaries[0].basis, 'label');
  assert.equal(material.limits.min_temp_c, 8);
  assert.ok(material.hazards_counted.includes('self-heating'), 'a hazard nobody answered counts as the worst of its class');
  assert.deepEqual((await expect(shop.get(`/api/v1/materials/${material.id}`), 200)), material);
});

test('the next version of a tin leaves the coats under the version they had', async (t) => {
  const shop = await openShop(t);
  const piece = await shop.addPiece('fan blade', { place: (await shop.addPlace('shed')).id });
  const first = await expect(shop.post('/api/v1/materials', tin), 201);
  const [coat] = await shop.log(piece, first, { last_at: at('07:00') });
  const faster = { ...tin, stages: [{ stage: 'recoat', boundaries: [{ then: 'go', rows: [{ temp_c: 20, hours: 6 }], label_h: 6 }] }] };
  const second = await expect(shop.put(`/api/v1/materials/${first.id}`, faster), 200);
  assert.deepEqual([second.id, second.version], [first.id, 2]);
  const kept = await shop.coat(coat.id);
  assert.deepEqual([kept.material.version, kept.material.newest], [1, false]);
  assert.equal(stage(kept, 'recoat').spans[0].until.label_floor_at, at('19:00'));
  const moved = (await expect(shop.patch(`/api/v1/coats/${coat.id}`, { material: first.id }), 200)).coat;
  assert.deepEqual([moved.material.version, moved.material.newest], [2, true]);
  assert.equal(stage(moved, 'recoat').spans[0].until.label_floor_at, at('13:00'));
  const versions = (await expect(shop.get(`/api/v1/materials/${first.id}/versions`), 200)).items;
  assert.deepEqual(versions.map((one) => one.version), [1, 2]);
});

test('a tin that is used up leaves the lists; its coats stay', async (t) => {
  const shop = await openShop(t);
  const piece = await shop.addPiece('fan blade', { place: (await shop.addPlace('shed')).id });
  const material = await expect(shop.post('/api/v1/materials', tin), 201);
  const [coat] = await shop.log(piece, material);
  const gone = await expect(shop.del(`/api/v1/materials/${material.id}`), 200);
  assert.equal(gone.removed, true);
  assert.ok(!(await shop.shop()).materials.some((one) => one.id === material.id));
  assert.ok(!(await expect(shop.get('/api/v1/materials'), 200)).items.some((one) => one.id === material.id));
  assert.ok((await expect(shop.get('/api/v1/materials?all=1'), 200)).items.some((one) => one.id === material.id));
  assert.equal((await shop.coat(coat.id)).material.name, tin.name);
  await refused(shop, shop.post('/api/v1/coats', { pieces: [piece.id], material: material.id }), 422, { field: 'material', detail: /out of use/ });
});

test('built-in materials stay as they are', async (t) => {
  const shop = await openShop(t);
  const enamel = await shop.builtin('alkyd-enamel');
  await refused(shop, shop.put(`/api/v1/materials/${enamel.id}`, tin), 403, { detail: /own/ });
  await refused(shop, shop.del(`/api/v1/materials/${enamel.id}`), 403);
});

test('a label that cannot be is refused by name', async (t) => {
  const shop = await openShop(t);
  const recoat = (boundaries, rest = {}) => ({ ...tin, stages: [{ stage: 'recoat', boundaries, ...rest }] });
  const go = (hours, temp_c = 20) => ({ then: 'go', rows: [{ temp_c, hours }] });
  const cases = [
    [{ ...tin, class: 'latex' }, 'class', /alkyd-enamel/],
    [{ ...tin, name: '' }, 'name', /./],
    [{ ...tin, name: 'a'.repeat(64) }, 'name', /63/],
    [recoat([]), 'stages[0].boundaries', /./],
    [recoat([go(-1)]), 'stages[0].boundaries[0].rows[0].hours', /-1/],
    [recoat([{ then: 'go', rows: [{ temp_c: 20, hours: 12 }, { temp_c: 10, hours: 24 }] }]), 'stages.recoat', /cold to warm/],
    [recoat([{ then: 'later', rows: [{ temp_c: 20, hours: 12 }] }]), 'stages[0].boundaries[0].then', /scuff/],
    [recoat([go(12), { then: 'scuff', rows: [{ temp_c: 20, hours: 6 }] }]), 'stages.recoat', /6 h/],
    [{ ...tin, stages: [...tin.stages, tin.stages[0]] }, 'stages[2].stage', /twice/],
    [{ ...tin, limits: { min_temp_c: 30, max_temp_c: 10 } }, 'limits.min_temp_c', /swap/],
    [{ ...tin, hazards: { poison: 'yes' } }, 'hazards.poison', /isocyanate/],
    [{ ...tin, colour: 'black' }, 'colour', /known are/],
  ];
  for (const [document, field, detail] of cases) await refused(shop, shop.raw('POST', '/api/v1/materials', document), 422, { field, detail });
  await expect(shop.post('/api/v1/materials', tin), 201);
  await refused(shop, shop.post('/api/v1/materials', tin), 409, { field: 'name', detail: /black gloss/ });
});

test('cautions are told for a material, for a kind of work, and all of them', async (t) => {
  const shop = await openShop(t);
  const codes = async (query) => (await expect(shop.get(`/api/v1/cautions${query}`), 200)).items.map((one) => one.code);
  const all = await codes('');
  const polyurethane = await shop.builtin('polyurethane');
  const ofMaterial = await codes(`?material=${polyurethane.id}`);
  assert.ok(ofMaterial.includes('isocyanate') && ofMaterial.includes('label-first'));
  assert.ok((await codes('?for=bake')).includes('bake'));
  assert.ok((await codes('?for=strip')).includes('lead'));
  assert.ok((await codes('?for=shop')).length > 0);
  assert.ok(all.length >= 27 && ofMaterial.every((code) => all.includes(code)));
  await refused(shop, shop.get('/api/v1/cautions?for=lunch'), 422, { field: 'for', detail: /strip/ });
  await refused(shop, shop.get('/api/v1/cautions?material=999'), 404, { field: 'material' });
  await refused(shop, shop.get('/api/v1/cautions?material=paint'), 422, { field: 'material' });
});
