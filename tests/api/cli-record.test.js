// What the command line tells of coats that were corrected, covered or baked.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { startDaemon, coatAt } = require('./daemon');

const flat = (text) => text.replace(/\s+/g, ' ');

async function openShop(t) {
  const daemon = await startDaemon({ testClock: '2026-11-28T13:35:00Z' });
  t.after(() => daemon.stop());
  const coat = async (...args) => {
    const run = await coatAt(daemon.url)(...args);
    assert.equal(run.code, 0, `coat ${args.join(' ')}: ${run.stderr}`);
    return run.stdout;
  };
  await coat('place', 'add', 'shed');
  await coat('place', 'add', 'oven', '--kind', 'oven', '--volume', '100l');
  await coat('air', 'shed', '20C', '50%');
  await coat('piece', 'add', 'mill body', '--place', 'shed', '--areas', 'front,back');
  return coat;
}

test('given a coat that was corrected twice, then its record tells what each entry said, with the cautions', async (t) => {
  const coat = await openShop(t);
  await coat('log', 'mill', 'gloss', '--area', 'front', '--amount', '40ml', '--thinned', '10%');
  await coat('amend', '1', '--wet', '80um', '--thinned', '5%:mineral spirits');
  await coat('amend', '1', '--material', 'spray', '--passes', '2');
  const record = await coat('show', '1', '--record');
  assert.match(flat(record), /entry 1, entered 13:35: mill body, front: gloss enamel, alkyd, brush, normal, applied 13:35; enamel; 40 ml; thinned 10 % entry 2/);
  assert.match(flat(record), /entry 2, .*80 um wet, applied 13:35; enamel; 40 ml; thinned 5 % mineral spirits entry 3/);
  assert.match(flat(record), /entry 3, .*: spray enamel, alkyd aerosol, .*enamel; 2 passes; 40 ml/);
  assert.match(record, /^Rags under water, lid on\. [^]*The product label, the safety data sheet/m);
  assert.match(await coat('piece', 'show', 'mill'), /areas front, back\n.*spray enamel, alkyd aerosol, 80 um wet, front/);
});

test('given a coat that went on before one that is there already, then it is said that this one lies over it, and no window is left empty', async (t) => {
  const coat = await openShop(t);
  await coat('log', 'mill', 'spray', '--at', '20 min ago');
  for (const told of [await coat('log', 'mill', 'gloss', '--at', '1 h ago'), await coat('amend', '2', '--film', 'light')]) {
    assert.match(flat(told), /^2 mill body: gloss enamel, alkyd, .*; coat 1 lies over it dust-free /);
    assert.doesNotMatch(told, /recoat/);
  }
});

test('given a bake that was noted twice, then both notes are told', async (t) => {
  const coat = await openShop(t);
  await coat('log', 'mill', 'baking japan', '--at', '12 h ago');
  await coat('bake', 'check', 'mill', 'oven', '--step', '149C,2h', '--wall', '8mm', '--note', 'first tray');
  assert.match(await coat('bake', 'stop', '1', '--note', 'given up: it smells'), /^ +note +first tray; given up: it smells$/m);
  assert.match(await coat('bake', 'show', '1'), /^ +note +first tray; given up: it smells$/m);
});

test('given a bake, then the coat tells of it', async (t) => {
  const coat = await openShop(t);
  await coat('log', 'mill', 'baking japan', '--at', '12 h ago');
  await coat('bake', 'log', 'mill', 'oven', '--from', '3 h ago', '--to', '1 h ago', '--step', '149C,2h', '--wall', '8mm');
  assert.match(flat(await coat('show', '1')), /japan Bake 1: \S.*; without review; ended 12:35\b.*; to touch \S.* touch /);
});

test('given a piece that is out of use, then its coats keep its name', async (t) => {
  const coat = await openShop(t);
  await coat('log', 'mill', 'gloss', '--at', '2 h ago');
  assert.match(await coat(), /oven air not known: coat air "oven" 147C enters it/);
  await coat('piece', 'remove', 'mill body');
  assert.match(await coat('show', '1'), /^1 mill body \(out of use\): gloss enamel/);
  assert.match(flat(await coat('show', '1', '--record')), /^entry 1, entered 13:35: mill body \(out of use\): gloss enamel/);
});
