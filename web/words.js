// The shop's words as a person at the bench says them.
export const STALLS = { 'too-cold': 'too cold', 'too-damp': 'too damp', 'air-unknown': 'air not known' };

// What a hand does when the stage lets it.
const ACTS = { touch: 'set to touch', 'dust-free': 'free of dust', 'tack-free': 'no longer tacky', handle: 'handle it', tape: 'put tape on', unmask: 'pull the tape', sand: 'sand it',
  recoat: 'next coat', leaf: 'lay the leaf', seal: 'seal the leaf', bake: 'into the oven', cure: 'cured through' };
const BEFORE = { scuff: 'scuff, then ', wipe: 'wipe, then ', strip: 'strip and start again' };

// Late tape is scored, not scuffed. It matters only where there is tape, and the shop does not know that.
const lateTape = (stage, does) => stage === 'unmask' && (does === 'scuff' || does === 'wipe');
export const isLateTape = (row) => row.stage === 'unmask' && row.state === 'prepare';
const LATE_SIZE = 'too late to rely on'; // it may still have tack

export function act(stage, does) {
  if (lateTape(stage, does)) return 'score its edge, then pull the tape';
  if (does === 'strip') return stage === 'leaf' ? 'try it with a finger, or wash off and size again' : BEFORE.strip;
  if (does === 'test') return stage === 'leaf' ? 'finger test the size' : `test, then ${ACTS[stage] || stage}`;
  return (BEFORE[does] || '') + (ACTS[stage] || stage);
}

// What a span of a stage asks.
const DOES = { wipe: 'wipe first', scuff: 'scuff first', strip: 'too late', test: 'finger test' };
export function doWord(stage, does) {
  if (lateTape(stage, does)) return 'score its edge first';
  return does === 'strip' && stage === 'leaf' ? LATE_SIZE : DOES[does] || does;
}

// The one bold word of a state.
export function stateWord(state, does, stage) {
  if (does === 'test' && state !== 'used') return DOES.test;
  if (state === 'missed' && stage === 'leaf') return LATE_SIZE;
  if (isLateTape({ stage, state })) return 'late';
  if (state === 'reached') return { tape: 'takes tape', handle: 'handle it', cure: 'cured', bake: 'may be baked', sand: 'may be sanded' }[stage] || state;
  return { waiting: 'wait', open: 'go', closing: 'go', prepare: DOES[does === 'wipe' ? does : 'scuff'] }[state] || state;
}

// What follows the end of a span: "shut from 14:55".
export function afterwards(then, stage) {
  if (lateTape(stage, then)) return 'late from';
  return { wait: 'shut', go: 'open from' }[then] || (DOES[then] ? `${doWord(stage, then)} from` : 'until');
}

export function gateOf(state, does, extra = {}) {
  if (extra.stalled && extra.stalled !== 'none') return 'stalled';
  if (extra.inspect) return 'inspect';
  if (does === 'test' && state !== 'used' && state !== 'missed') return 'finger';
  return state === 'prepare' ? (does === 'wipe' ? does : 'scuff') : state; // signs are called like the states
}

export const CONDITIONS = { handle: 'dry' }; // the others are their own words

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
