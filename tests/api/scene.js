// A shop to play scenes in: a daemon on a clock of its own, held to openapi.json, and short ways to say what is done in it.
'use strict';
const assert = require('node:assert/strict');
const { startDaemon } = require('./daemon');
const { hold } = require('./openapi');

const MORNING = '2026-11-28T08:00:00Z';

// Moments: at('09:30') is that time of the first day, at('09:30', 1) of the next.
const at = (time, days = 0) => new Date(Date.parse(`2026-11-28T${time}:00Z`) + days * 86400e3).toISOString().replace('.000Z', 'Z');

async function expect(promise, status) {
  const answer = await promise;
  assert.equal(answer.status, status, answer.text);
  return answer.body;
}

async function openShop(t, { testClock = MORNING } = {}) {
  const daemon = hold(await startDaemon({ testClock }));
  t.after(async () => {
    const end = await daemon.stop();
    assert.equal(end.code, 0, `coatd ended with ${end.code ?? end.signal}:\n${daemon.log.stderr}`);
  });
  const shop = {
    ...daemon,
    addPlace: (name, rest = {}) => expect(daemon.post('/api/v1/places', { name, ...rest }), 201),
    addPiece: (name, rest = {}) => expect(daemon.post('/api/v1/pieces', { name, ...rest }), 201),
    air: (place, temp_c, rh_pct, moment) => expect(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c, rh_pct, ...(moment && { at: moment }) }), 200),
    // Where the first of the pieces hangs, unless it is said.
    async log(pieces, material, rest = {}) {
      const all = [].concat(pieces);
      const place = all[0].place ? { place: all[0].place } : {};
      return (await expect(daemon.post('/api/v1/coats', { pieces: all.map((piece) => piece.id), material: material.id, ...place, ...rest }), 201)).items;
    },
    coat: async (id) => (await expect(daemon.get(`/api/v1/coats/${id}`), 200)).coat,
    stderr: () => daemon.log.stderr,
    shop: () => expect(daemon.get('/api/v1/shop'), 200),
    revision: async () => (await expect(daemon.get('/api/v1/shop'), 200)).revision,
    notices: async () => (await expect(daemon.get('/api/v1/notices'), 200)).items,
    goTo: (moment) => expect(daemon.advance(moment), 200),
    builtin: async (name) => (await expect(daemon.get('/api/v1/materials'), 200)).items.find((material) => material.builtin && material.class === name),
    // Lets the day pass with a reading each hour, so that all of its air is measured.
    async passMeasured(place, from, to, temp_c, rh_pct) {
      for (let moment = Date.parse(from); moment <= Date.parse(to); moment += 3600e3) {
        const text = new Date(moment).toISOString().replace('.000Z', 'Z');
        await expect(daemon.advance(text), 200);
        await shop.air(place, temp_c, rh_pct);
      }
      await expect(daemon.advance(to), 200);
    },
  };
  return shop;
}

const stage = (coat, name) => coat.stages.find((one) => one.stage === name);

// What was told of a source, without how it does.
const settingsOf = ({ state, fault, fault_at, last, counts, suspect, disagrees, ...settings }) => settings;

// A refused request: the status, the field at fault, a detail that matches; and nothing changed. Where something else may change meanwhile (a source
// that is asked), `same` is the address of what must not.
async function refused(shop, request, status, { field, detail, same } = {}) {
  const stands = async () => (same ? JSON.stringify(settingsOf((await shop.get(same)).body)) : shop.revision());
  const before = await stands();
  const answer = await request;
  assert.equal(answer.status, status, answer.text);
  if (field !== undefined) assert.equal(answer.body.field, field, answer.text);
  if (detail !== undefined) assert.match(answer.body.detail, detail);
  assert.equal(await stands(), before, 'a refused request changed something');
  return answer.body;
}

module.exports = { openShop, expect, refused, stage, at, MORNING };
