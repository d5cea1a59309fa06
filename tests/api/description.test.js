// openapi.json says all that the service does, in the words of the code.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { test } = require('node:test');
const { description } = require('./openapi');
const { openShop } = require('./scene');

const source = (file) => fs.readFileSync(path.resolve(__dirname, '../..', file), 'utf8');

function wordsOf(list, text) {
  const body = new RegExp(`#define ${list}\\(X\\)([^]*?)(?=\\n\\n|\\n#define|\\nenum)`).exec(text)[1];
  return [...body.matchAll(/X\(\w+, "([^"]+)"\)/g)].map((match) => match[1]);
}

test('each word list of the code stands in the description, in full', () => {
  const words = source('include/coat/words.h');
  const lists = {
    Role: 'COAT_ROLES', StageWord: 'COAT_STAGES', Do: 'COAT_SPANS', State: 'COAT_STATES', Basis: 'COAT_AIR_BASES', Film: 'COAT_FILMS',
    HumidityRule: 'COAT_HUMIDITY_RULES', Application: 'COAT_APPLICATIONS', PlaceKind: 'COAT_PLACE_KINDS', OldFinish: 'COAT_OLD_FINISHES',
    Answer: 'COAT_ANSWERS', Units: 'COAT_UNITS_SYSTEMS', FigureBasis: 'COAT_BASES', Class: 'COAT_CLASSES', NoticeKind: 'COAT_NOTICE_KINDS',
    SensorKind: 'COAT_SENSOR_KINDS', SensorState: 'COAT_SENSOR_STATES', Quantity: 'COAT_AIR_QUANTITIES', TempScale: 'COAT_TEMP_SCALES', RhScale: 'COAT_RH_SCALES',
    Judgement: 'COAT_JUDGEMENTS', ChannelKind: 'COAT_CHANNEL_KINDS',
  };
  for (const [schema, list] of Object.entries(lists)) assert.deepEqual(description.components.schemas[schema].enum, wordsOf(list, words), schema);
  assert.deepEqual(description.components.schemas.CheckReason.enum, wordsOf('COAT_CHECK_REASONS', words).slice(1));
  assert.deepEqual(description.components.schemas.Compat.enum, wordsOf('COAT_COMPATS', words));
  assert.deepEqual(description.components.schemas.Stall.enum, [...wordsOf('COAT_STALLS', words).slice(1), null]);
  assert.deepEqual(Object.keys(description.components.schemas.Risks.properties), wordsOf('COAT_PLACE_RISKS', words));
  assert.deepEqual(Object.keys(description.components.schemas.Hazards.properties), wordsOf('COAT_HAZARDS', words));
  assert.deepEqual(description.components.schemas.CautionCode.enum, wordsOf('COAT_CAUTIONS', source('include/coat/caution.h')));
});

test('each route is described, and nothing else is', () => {
  const rows = [...source('daemon/http/routes.c').matchAll(/\.method = "(\w+)", \.path = (V1 )?"([^"]+)"/g)].map(([, method, v1, rest]) => `${method} ${v1 ? '/api/v1' : ''}${rest}`);
  const page = ['GET /', 'GET /assets/{*}'];
  const described = Object.entries(description.paths).flatMap(([template, item]) =>
    Object.keys(item).filter((key) => key !== 'parameters').map((method) => `${method.toUpperCase()} ${template}`));
  assert.deepEqual(rows.filter((row) => !page.includes(row)).sort(), described.sort());
});

test('the description is served as it stands', async (t) => {
  const shop = await openShop(t);
  const answer = await shop.get('/api/openapi.json');
  assert.deepEqual(answer.body, description);
  const again = await shop.raw('GET', '/api/openapi.json', undefined, { 'if-none-match': answer.headers.get('etag') });
  assert.equal(again.status, 304);
});

test('an unknown address is 404, a wrong method 405 with what is allowed', async (t) => {
  const shop = await openShop(t);
  for (const target of ['/api', '/api/v1', '/api/v1/', '/api/v1/paint', '/api/v1/shop/', '/api/v2/shop', '/api/v1/coats/12/paint', '/nowhere']) {
    assert.equal((await shop.get(target)).status, 404, target);
  }
  const methods = ['GET', 'POST', 'PUT', 'PATCH', 'DELETE'];
  for (const [template, item] of Object.entries(description.paths)) {
    const target = template.replace('{id}', '1');
    for (const method of methods.filter((word) => !item[word.toLowerCase()])) {
      const answer = await shop.send(method, target, method === 'GET' || method === 'DELETE' ? undefined : {});
      assert.equal(answer.status, 405, `${method} ${target}: ${answer.text}`);
      const allowed = answer.headers.get('allow').split(/, */);
      for (const word of methods) assert.equal(allowed.includes(word), Boolean(item[word.toLowerCase()]), `${target} allows ${allowed}`);
    }
  }
});

test('on the wall clock there is no clock to move', async (t) => {
  const { startDaemon } = require('./daemon');
  const daemon = await startDaemon();
  t.after(() => daemon.stop());
  assert.equal((await daemon.get('/api/v1/clock')).status, 404);
  assert.equal((await daemon.post('/api/v1/clock', { advance_s: 60 })).status, 404);
  assert.equal((await daemon.get('/api/v1/shop')).body.test_clock, null);
});
