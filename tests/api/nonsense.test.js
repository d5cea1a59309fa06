// Bodies made of sense and nonsense, member by member from openapi.json: whatever comes, the service answers as described, never with
// a 5xx, and stays up. The seed is printed; COAT_SEED=n plays one again, COAT_ROUNDS=n plays longer.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { description } = require('./openapi');
const { openShop, at } = require('./scene');

const seed = Number(process.env.COAT_SEED || Date.now() % 1e9);
const ROUNDS = Number(process.env.COAT_ROUNDS || 400);

// mulberry32
function makeRandom(state) {
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const random = makeRandom(seed);
const pick = (list) => list[Math.floor(random() * list.length)];
const often = (share) => random() < share;

const NONSENSE = [null, true, '', 'x', 'x'.repeat(600), '\u0007', '\u00e4\u{1f3a8}', '12', -1, 0, 0.5, 1e308, -1e308, 1e-320, 9007199254740993, 2 ** 31, 2 ** 63, 'NaN', [], {}, [[]],
  { a: 1 }, at('08:00'), '9999-12-31T23:59:59Z', '1970-01-01T00:00:00Z', '0000-00-00T00:00:00Z'];

const lookUp = (schema) => (schema.$ref ? description.components.schemas[schema.$ref.split('/').at(-1)] : schema);

function number(schema) {
  const low = schema.minimum ?? schema.exclusiveMinimum ?? 0;
  const high = Math.min(schema.maximum ?? 50, often(0.5) ? 50 : Infinity);
  const value = often(0.2) ? pick([low, high]) : low + random() * (high - low);
  return [].concat(schema.type).includes('integer') ? Math.round(value) : value;
}

function text(schema) {
  if (schema.format === 'date-time') return new Date(Date.parse(at('08:00')) - Math.floor(random() * 6 * 86400e3)).toISOString();
  if (schema.pattern) return pick(['22:00', '07:30', '00:00']);
  return pick(['front', 'mill body', 'lid', 'a b', 'Europe/Vienna', `name ${Math.floor(random() * 1000)}`]).slice(0, schema.maxLength);
}

// A value that the schema allows, more or less; nonsense now and then.
function value(given) {
  const schema = lookUp(given);
  if (often(0.03)) return pick(NONSENSE);
  if (schema.allOf) return value(schema.allOf[0]);
  if (schema.oneOf) return value(pick(schema.oneOf));
  if (schema.enum) return pick(schema.enum);
  const type = [].concat(schema.type)[0];
  if (type === 'object') {
    const members = Object.entries(schema.properties || {}).filter(([name]) => (schema.required || []).includes(name) ? often(0.99) : often(0.35));
    if (often(0.01)) members.push([pick(['colour', '', '__proto__x', 'x'.repeat(200)]), {}]);
    return Object.fromEntries(members.map(([name, member]) => [name, value(member)]));
  }
  if (type === 'array') return Array.from({ length: Math.min(schema.maxItems ?? 4, Math.ceil(random() * 4)) }, () => value(schema.items));
  if (type === 'integer' || type === 'number') return number(schema);
  return text(schema);
}

const writes = Object.entries(description.paths).flatMap(([template, item]) =>
  ['post', 'put', 'patch', 'delete'].filter((method) => item[method] && template.startsWith('/api/') && template !== '/api/v1/clock').map((method) => ({ template, method, operation: item[method] })));
const reads = Object.entries(description.paths).filter(([template, item]) => item.get && template.startsWith('/api/v1/') && !template.endsWith('/events') && !(item.get.parameters || []).some(({ required }) => required)).map(([template]) => template);

function idFor(template) {
  return String(often(0.9) ? 1 + Math.floor(random() * (template.includes('materials') ? 24 : 5)) : pick([0, 99, 'abc']));
}

async function write(shop, round) {
  // Taking things away is rarer than adding, or soon nothing is left to try on.
  let { template, method, operation } = pick(writes);
  if (method === 'delete' && often(0.8)) ({ template, method, operation } = pick(writes));
  const target = template.replace('{id}', idFor(template));
  const json = operation.requestBody && operation.requestBody.content['application/json'];
  const body = json ? value(json.schema) : operation.requestBody && 'no picture';
  const sent = body === undefined ? undefined : JSON.stringify(body);
  const answer = await shop.send(method.toUpperCase(), target, sent, often(0.3) ? { 'idempotency-key': `key-${Math.floor(random() * 50)}` } : {});
  assert.ok(answer.status < 500, `round ${round}: ${method} ${target} ${sent}\n${answer.status} ${answer.text}`);
  return answer.status;
}

test(`${ROUNDS} writes of sense and nonsense (seed ${seed})`, async (t) => {
  const shop = await openShop(t);
  t.diagnostic(`COAT_SEED=${seed}`);
  const shed = await shop.addPlace('shed');
  for (const name of ['mill body', 'hopper lid', 'fan blade']) await shop.addPiece(name, { place: shed.id });
  let taken = 0;
  for (let round = 0; round < ROUNDS; round++) {
    if (await write(shop, round) < 300) taken++;
    if (round % 10 === 0) {
      const answer = await shop.get(pick(reads).replace('{id}', String(1 + Math.floor(random() * 4))));
      assert.ok([200, 404].includes(answer.status), answer.text);
    }
    if (round % 25 === 0) await shop.goTo(new Date(Date.parse(at('08:00')) + round * 600e3).toISOString());
  }
  t.diagnostic(`${taken} of ${ROUNDS} were taken`);
  assert.ok(taken >= 15, `only ${taken} of ${ROUNDS} were sensible enough to be taken`);
  const end = await shop.shop();
  assert.ok(end.revision > taken / 2);
});
