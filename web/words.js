// The shop's words as a person at the bench says them.
export const STALLS = { 'too-cold': 'too cold', 'too-damp': 'too damp', 'air-unknown': 'air not known' };

// What a hand does when the stage lets it.
const ACTS = { touch: 'set to touch', 'dust-free': 'free of dust', 'tack-free': 'no longer tacky', handle: 'handle it', tape: 'put tape on', unmask: 'pull the tape', sand: 'sand it',
  recoat: 'next coat', leaf: 'lay the leaf', seal: 'seal the leaf', bake: 'into the oven', cure: 'cured through' };
const BEFORE = { scuff: 'scuff, then ', wipe: 'wipe, then ', strip: 'strip and start again' };

export function act(stage, does) {
  if (stage === 'unmask' && (does === 'scuff' || does === 'wipe')) return 'score its edge, then pull the tape';
  if (does === 'strip') return stage === 'leaf' ? 'try it with a finger, or wash off and size again' : BEFORE.strip;
  if (does === 'test') return stage === 'leaf' ? 'finger test the size' : `test, then ${ACTS[stage] || stage}`;
  return (BEFORE[does] || '') + (ACTS[stage] || stage);
}

// The one bold word of a state.
export function stateWord(state, does, stage) {
  if (does === 'test' && state !== 'used') return 'finger test';
  if (state === 'missed' && stage === 'leaf') return 'too late to rely on';
  if (stage === 'unmask' && state === 'prepare') return 'late';
  const words = { waiting: 'wait', open: 'go', closing: 'go', shut: 'shut', prepare: does === 'wipe' ? 'wipe first' : 'scuff first', missed: 'missed', used: 'used', reached: 'ready' };
  if (state === 'reached') return { tape: 'takes tape', handle: 'handle it', cure: 'cured', bake: 'may be baked', sand: 'may be sanded' }[stage] || 'reached';
  return words[state] || state;
}

// What follows the end of a span: "shut from 14:55".
export function afterwards(then, stage) {
  if (then === 'scuff' && stage === 'unmask') return 'late from';
  if (then === 'strip' && stage === 'leaf') return 'too late to rely on from';
  return { wait: 'shut', go: 'open from', scuff: 'scuff first from', wipe: 'wipe first from', strip: 'too late from', test: 'finger test from' }[then] || 'until';
}

export function gateOf(state, does, extra = {}) {
  if (extra.stalled && extra.stalled !== 'none') return 'stalled';
  if (extra.inspect) return 'inspect';
  if (does === 'test' && state !== 'used' && state !== 'missed') return 'finger';
  return { waiting: 'waiting', open: 'open', closing: 'closing', shut: 'shut', prepare: does === 'wipe' ? 'wipe' : 'scuff', missed: 'missed', used: 'used', reached: 'reached' }[state] || 'waiting';
}

export const CONDITIONS = { wet: 'wet', tacky: 'tacky', dry: 'dry', handle: 'dry', hard: 'hard' };

// A bake in its oven, beside a lane: in full and short; bakewords.js has the rest.
export const OVEN_LANES = { heating: ['heating up', 'oven'], soaking: ['in the oven', 'oven'] };

// A finish's colour on the line, from its name, else from what it is there for.
const NAMED = [[/oxide|red|maroon/i, 'oxide'], [/green/i, 'green'], [/white|cream|ivory/i, 'white'], [/blue/i, 'blue'], [/gr[ea]y|alumin|silver/i, 'grey'], [/japan|brown|umber/i, 'brown'], [/black/i, 'black'],
  [/size|amber/i, 'amber'], [/leaf|gold|brass|bronze/i, 'gold'], [/clear|varnish|shellac/i, 'clear']];
const ROLE_COLOURS = { primer: 'oxide', filler: 'grey', enamel: 'black', japan: 'brown', size: 'amber', leaf: 'gold', decal: 'white', 'touch-up': 'black', clear: 'clear' };
export function finishColour(coat) {
  if (coat.role === 'size') return 'amber';
  const named = NAMED.find(([pattern]) => pattern.test(coat.material.name));
  return named ? named[1] : ROLE_COLOURS[coat.role] || 'black';
}

// Tape that would come off late: it matters only where there is tape, and the shop does not know that.
export const isLateTape = (row) => row.stage === 'unmask' && row.state === 'prepare';
