// Holds the service to its own description: every answer is checked against the operation of openapi.json that it belongs to, and
// every document against the rule that no coat is shown without its cautions.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const Ajv = require('ajv/dist/2020');
const addFormats = require('ajv-formats');

const FILE = path.resolve(__dirname, '../../daemon/http/openapi.json');
const description = JSON.parse(fs.readFileSync(FILE, 'utf8'));

// Later versions may add members to answers; this one must have written down what it sends. So answers are closed for the tests.
function close(node) {
  if (Array.isArray(node)) return node.map(close);
  if (node === null || typeof node !== 'object') return node;
  const copy = Object.fromEntries(Object.entries(node).map(([key, value]) => [key, close(value)]));
  if (copy.type === 'object' && copy.properties && copy.additionalProperties === undefined) copy.additionalProperties = false;
  return copy;
}

const ajv = new Ajv({ strict: false, allErrors: true });
addFormats(ajv);
ajv.addSchema({ ...close(description), $id: 'coatwright' });

// "#/components/schemas/X" or a path into the description.
const validators = new Map();
function validator(pointer) {
  if (!validators.has(pointer)) validators.set(pointer, ajv.compile({ $ref: `coatwright${pointer}` }));
  return validators.get(pointer);
}

function check(pointer, document, what) {
  const validate = validator(pointer);
  if (validate(document)) return;
  const faults = validate.errors.slice(0, 8).map((fault) => `  ${fault.instancePath || '/'} ${fault.message} ${JSON.stringify(fault.params)}`);
  assert.fail(`${what} is not what openapi.json says:\n${faults.join('\n')}\n${JSON.stringify(document).slice(0, 600)}`);
}

const templates = Object.keys(description.paths).map((template) => ({
  template,
  pattern: new RegExp(`^${template.replace(/[.]/g, '\\.').replace(/\{id\}/g, '[0-9]+')}$`),
}));

function operationOf(method, target) {
  const { pathname } = new URL(target, 'http://shop');
  const found = templates.find(({ pattern }) => pattern.test(pathname));
  const operation = found && description.paths[found.template][method.toLowerCase()];
  return operation ? { operation, pointer: `#/paths/${found.template.replace(/~/g, '~0').replace(/\//g, '~1')}/${method.toLowerCase()}` } : null;
}

const schemaPointer = (base, type) => `${base}/content/${type.replace(/\//g, '~1')}/schema`.replace(/[{}]/g, (c) => encodeURIComponent(c));

function checkProblem(answer, target) {
  const { pathname } = new URL(target, 'http://shop');
  assert.equal(answer.headers.get('content-type'), 'application/problem+json');
  check('#/components/schemas/Problem', answer.body, `the problem of ${target}`);
  assert.equal(answer.body.status, answer.status);
  assert.equal(answer.body.instance, pathname);
  assert.ok(answer.body.detail.length > 10, `a detail that helps, not "${answer.body.detail}"`);
}

function checkSuccess({ operation, pointer }, answer, what) {
  const told = operation.responses[String(answer.status)];
  assert.ok(told, `${what} answered ${answer.status}, which openapi.json does not mention`);
  if (!told.content) return assert.equal(answer.text, '');
  const type = Object.keys(told.content)[0];
  assert.equal(answer.headers.get('content-type'), type);
  if (type === 'application/json') check(schemaPointer(`${pointer}/responses/${answer.status}`, type), answer.body, what);
  if (told.headers && told.headers.Location) assert.match(answer.headers.get('location') || '', /^\/api\/v1\/[a-z]+\/[0-9]+$/);
  if (told.headers && told.headers.ETag) assert.match(answer.headers.get('etag') || '', /^"[0-9]+"$/);
}

// Every object in a document, the document itself first.
function* objectsIn(node) {
  if (node === null || typeof node !== 'object') return;
  if (!Array.isArray(node)) yield node;
  for (const value of Object.values(node)) yield* objectsIn(value);
}

const isCoat = (object) => 'piece' in object && 'material' in object && 'first_at' in object && 'passes' in object;
const ALWAYS = ['ventilation', 'flame', 'label-first'];

function checkCautions(document, what) {
  if (typeof document !== 'object' || document === null) return;
  const texts = document.caution_texts || document.cautions;
  for (const object of objectsIn(document)) {
    if (isCoat(object)) {
      for (const code of ALWAYS) assert.ok(object.cautions && object.cautions.includes(code), `${what}: a coat without the caution "${code}"`);
    }
    if (!Array.isArray(object.cautions)) continue;
    for (const code of object.cautions) assert.ok(texts && texts[code], `${what}: no text for the caution "${code}"`);
    assert.ok(document.deferral && document.deferral.length > 20, `${what}: cautions without the sentence that defers`);
  }
}

function checkAnswer(method, target, sent, answer) {
  const what = `${method} ${target}`;
  if (answer.status >= 400) {
    const known = operationOf(method, target);
    const told = known && known.operation.responses[String(answer.status)];
    const isPage = told && told.content && told.content['text/html; charset=utf-8']; // for people who followed a link
    if (isPage) return assert.equal(answer.headers.get('content-type'), 'text/html; charset=utf-8');
    checkProblem(answer, target);
    if (known) assert.ok(known.operation.responses[String(answer.status)], `${what} answered ${answer.status}, which openapi.json does not mention: ${answer.text}`);
    return;
  }
  const found = operationOf(method, target);
  assert.ok(found, `${what} is not in openapi.json`);
  checkSuccess(found, answer, what);
  if (found.operation.requestBody && typeof sent === 'object') check(schemaPointer(`${found.pointer}/requestBody`, 'application/json'), sent, `what was sent to ${what}`);
  if (target.startsWith('/api/v1/')) checkCautions(answer.body, what);
}

// An answer to something else than JSON.
const checkAnswerOf = (method, target, answer) => checkAnswer(method, target, undefined, answer);

// The same daemon, each of its answers checked.
function hold(daemon) {
  const send = async (method, target, document, headers) => {
    const answer = await daemon.send(method, target, document, headers);
    checkAnswer(method, target, document, answer);
    return answer;
  };
  return {
    ...daemon,
    raw: daemon.send,
    send,
    get: (target, headers) => send('GET', target, undefined, headers),
    post: (target, document = {}, headers) => send('POST', target, document, headers),
    put: (target, document, headers) => send('PUT', target, document, headers),
    patch: (target, document, headers) => send('PATCH', target, document, headers),
    del: (target, headers) => send('DELETE', target, undefined, headers),
    advance: (to) => send('POST', '/api/v1/clock', typeof to === 'number' ? { advance_s: to } : { to_at: to }),
  };
}

module.exports = { hold, description, check, checkAnswerOf, checkCautions };
