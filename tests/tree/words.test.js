// One vocabulary: what the page says of a stage and of a bake's state is said of the shop's words, all of them, and as the core says it.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const test = require('node:test');

const ROOT = path.resolve(process.env.COAT_ROOT || path.join(__dirname, '../..'));
const read = (file) => fs.readFileSync(path.join(ROOT, file), 'utf8');
const module_ = (text) => `data:text/javascript,${encodeURIComponent(text)}`; // it is a module whatever Node calls a .js
const pageWords = () => import(module_(read('web/words.js')));
const bakeWords = () => import(module_(read('web/bakewords.js').replace("'./words.js'", `'${module_(read('web/words.js')).replaceAll("'", '%27')}'`)));

// {BAKE_SOAKING: 'soaking', …} of a list of words.h.
function wordsOf(list) {
  const [, body] = new RegExp(`#define ${list}\\(X\\)((?:[^\\n]*\\\\\\n)*[^\\n]*\\n)`).exec(read('include/coat/words.h'));
  return Object.fromEntries([...body.matchAll(/X\((\w+), "([^"]+)"\)/g)].map(([, member, word]) => [member, word]));
}

test('every state of a bake is said, and in full as the core says it', async () => {
  const { BAKE_STATES, bakeSaid } = await bakeWords(), { OVEN_LANES } = await pageWords();
  const words = wordsOf('COAT_BAKE_STATES');
  const said = Object.fromEntries([...read('daemon/core/phrase_bake.c').matchAll(/\[(BAKE_\w+)\] = "([^"]+)"/g)].map(([, member, phrase]) => [words[member], phrase]));
  assert.ok(Object.keys(said).length >= 8);
  assert.deepEqual(Object.fromEntries(Object.entries(BAKE_STATES).map(([word, forms]) => [word, forms.said])), said);
  assert.deepEqual(Object.keys(BAKE_STATES).sort(), Object.values(words).sort());
  for (const [word, forms] of Object.entries(BAKE_STATES)) assert.ok(forms.record, `${word}: how the record says it`);
  for (const [word, [lane, short]] of Object.entries(OVEN_LANES)) assert.ok(BAKE_STATES[word].lane === lane && short.length < lane.length, `${word}: beside a lane in two lengths`);
  assert.deepEqual([bakeSaid({ state: 'soaking' }), bakeSaid({ state: 'soaking' }, 'lane'), bakeSaid({ state: 'of-tomorrow' })], ['baking', 'in the oven', 'of-tomorrow']);
});

test('every stage has its word on the page, and no word is of a stage that is none', async () => {
  const { STAGE_WORDS } = await import(module_(read('web/stagewords.js')));
  assert.deepEqual(Object.keys(STAGE_WORDS).sort(), Object.values(wordsOf('COAT_STAGES')).sort());
});

test('what a span of a stage asks is said of each, of late tape and late size in words of their own', async () => {
  const { doWord, act, afterwards } = await pageWords(), spans = Object.values(wordsOf('COAT_SPANS'));
  assert.deepEqual(spans.map((does) => doWord('recoat', does)), ['wait', 'go', 'wipe first', 'scuff first', 'too late', 'finger test']);
  for (const does of ['scuff', 'wipe']) assert.deepEqual([doWord('unmask', does), act('unmask', does)], ['score its edge first', 'score its edge, then pull the tape']);
  assert.deepEqual([doWord('leaf', 'strip'), afterwards('strip', 'leaf'), afterwards('scuff', 'recoat'), afterwards('wait', 'recoat')], ['too late to rely on', 'too late to rely on from', 'scuff first from', 'shut']);
  assert.ok(!fs.readdirSync(path.join(ROOT, 'web')).some((name) => /\.js$/.test(name) && name !== 'words.js' && /\bscuff: 'scuff first'/.test(read(`web/${name}`))), 'in one table');
});

test('every state has a sign on the page', async () => {
  const { gateOf } = await pageWords();
  const drawn = new Set([...read('web/gates.js').matchAll(/^  '?([a-z]+)'?: \(\) =>/gm)].map(([, name]) => name));
  for (const state of Object.values(wordsOf('COAT_STATES'))) for (const does of Object.values(wordsOf('COAT_SPANS'))) assert.ok(drawn.has(gateOf(state, does)), `${state}, ${does}`);
});

test('no other file of page or command line has a table of its own', () => {
  const others = [...fs.readdirSync(path.join(ROOT, 'web')).map((name) => `web/${name}`), ...fs.readdirSync(path.join(ROOT, 'cli')).map((name) => `cli/${name}`)].filter((file) => /\.[jc]s?$/.test(file) && !/words\.js$/.test(file));
  assert.ok(others.length > 40);
  const tables = others.filter((file) => /\bsoaking: |\{"soaking",|'tack-free': |\{"tack-free",/.test(read(file)));
  assert.deepEqual(tables, []);
});
