// A coat as a film seen from the side: how deep it is when, what its edge looks like, and where its gates stand.
import { at } from './clock.js';

const WET = 13, BAKED = 3.5;
const STEP_MS = 10e3; // a tenth of a pixel

// Made once for a coat of a document: a line that is moved asks frame by frame.
const known = new WeakMap();
function once(coat, key, make) {
  if (!known.has(coat)) known.set(coat, new Map());
  const mine = known.get(coat);
  if (!mine.has(key)) mine.set(key, make());
  return mine.get(key);
}

// A film is in a phase from the moment that one of these stages is reached.
const PHASES = [
  { name: 'tacky', stages: ['touch'], depth: 10 },
  { name: 'dry', stages: ['tack-free', 'handle', 'dust-free'], depth: 6.5 },
  { name: 'hard', stages: ['cure'], depth: 3.5 },
];

export const stageOf = (coat, name) => coat.stages.find((stage) => stage.stage === name) || null;

// {passed, earliest, likely, latest} in ms; a likely of null means: not in the air it has.
export function band(moment) {
  if (!moment) return null;
  const likely = at(moment.likely_at);
  return { passed: moment.passed, likely, earliest: at(moment.earliest_at) ?? likely, latest: at(moment.latest_at) ?? likely, sure: moment.latest_at !== null, floor: at(moment.label_floor_at) };
}

// The first opening of a stage; null where it has none or was open from the start.
export function opening(stage) {
  if (!stage) return null;
  const i = stage.spans.findIndex((span, n) => n + 1 < stage.spans.length && ['go', 'test'].includes(stage.spans[n + 1].do));
  return i < 0 ? null : band(stage.spans[i].until);
}

function phaseBand(coat, names) {
  for (const name of names) {
    const found = opening(stageOf(coat, name));
    if (found) return found;
  }
  return null;
}

/* {points: [{t, depth}], rings: [{t}], parts: [{name, from, to}]} ; parts name the edge, one to come with its `ramp` from
 * earliest to latest; the last part's `to` is null; one that stood still tells `why`. `stalledFrom` is since when it
 * stands still now, where it does. */
export function profile(coat, now, stalledFrom = now) {
  const tenth = Math.floor(now / STEP_MS);
  const kept = once(coat, 'profile', () => ({}));
  if (kept.tenth !== tenth || kept.stalledFrom !== stalledFrom) Object.assign(kept, { tenth, stalledFrom, shape: makeProfile(coat, now, stalledFrom) });
  return kept.shape;
}

function makeProfile(coat, now, stalledFrom) {
  const first = at(coat.first_at);
  const out = { points: [{ t: first, depth: 0 }, { t: first, depth: WET }], rings: [], parts: [{ name: 'wet', from: first, to: null }] };
  let depth = WET, before = at(coat.last_at) ?? first;
  for (const phase of PHASES) {
    const found = phaseBand(coat, phase.stages);
    if (!found) continue;
    if (found.likely === null) break;
    const start = Math.max(before, found.passed ? found.likely : Math.max(found.earliest, now));
    const end = found.passed ? start : Math.max(start + 60e3, found.latest);
    const likely = Math.min(end, Math.max(start, found.likely));
    out.points.push({ t: start, depth }, { t: end, depth: phase.depth });
    if (!found.passed) out.rings.push({ t: likely, depth: (depth + phase.depth) / 2 });
    out.parts[out.parts.length - 1].to = likely;
    out.parts.push({ name: phase.name, from: likely, to: null, ramp: found.passed ? null : { from: start, to: end } });
    depth = phase.depth;
    before = end;
  }
  bakeIt(coat, out);
  stall(coat, out, now, stalledFrom);
  return out;
}

// What an oven hardened is hard from then on, whatever the room would have made of it.
function bakeIt(coat, out) {
  const done = coat.bake && coat.bake.baked ? at(coat.bake.ended_at) : null;
  if (done === null || done <= out.points[0].t) return;
  const depth = depthAt(out.points, done);
  out.points = [...out.points.filter((p) => p.t < done), { t: done, depth }, { t: done, depth: BAKED }];
  out.rings = out.rings.filter((ring) => ring.t < done);
  out.parts = [...out.parts.filter((part) => part.from < done).map((part) => (part.to === null || part.to > done ? { ...part, to: done } : part)), { name: 'baked', from: done, to: null }];
}

export const isStalled = (coat) => Boolean(coat.stall && coat.stall !== 'none' && coat.status === 'on');

const PAST_STANDING = new Set(['hard', 'baked']); // what is hard through waits for nothing

// Puts a stretch of standing still into the parts that it lies over.
function stand(out, from, to, why) {
  out.parts = out.parts.flatMap((part) => {
    const begin = Math.max(part.from, from), end = Math.min(part.to ?? Infinity, to);
    if (PAST_STANDING.has(part.name) || begin >= end) return [part];
    const pieces = [{ ...part, to: begin }, { name: 'stalled', why, from: begin, to: end === Infinity ? null : end }, { ...part, ramp: null, from: end }];
    return pieces.filter((one) => one.from < (one.to ?? Infinity));
  });
}

// What the shop tells of hours that are over; then what holds it up now, until the part that is in would end.
function stall(coat, out, now, stalledFrom) {
  const part = isStalled(coat) && out.parts.find((one) => one.to === null || one.to > now);
  const until = part && part.from <= now ? part.to ?? Infinity : null;
  let since = Math.min(now, stalledFrom);
  for (const one of coat.stood_still || []) {
    const from = at(one.from_at), to = at(one.to_at);
    if (until !== null && to >= since) since = Math.min(since, from); // it goes on
    else stand(out, from, to, one.why);
  }
  if (until !== null) stand(out, since, until, coat.stall);
}

export function depthAt(points, t) {
  if (t < points[0].t) return 0;
  for (let i = points.length - 1; i >= 0; i -= 1) {
    if (t < points[i].t) continue;
    const next = points[i + 1];
    if (!next || next.t === points[i].t) return points[i].depth;
    return points[i].depth + ((next.depth - points[i].depth) * (t - points[i].t)) / (next.t - points[i].t);
  }
  return 0;
}

// The stage whose gates stand on the rail: what can be done now, else the window the coat is there for.
export function railStage(coat, row) {
  if (row && row.coat === coat.id && row.list === 'now' && stageOf(coat, row.stage)) return stageOf(coat, row.stage);
  return stageOf(coat, 'leaf') || stageOf(coat, 'recoat') || stageOf(coat, 'handle') || coat.stages[0] || null;
}

/* Spans as drawn: [{does, from, to, kind, fromBand}]. Openings stand at their likely moment, closings at their earliest; `to` is null where nothing
 * ends it. */
export function railSpans(coat, stage) {
  const spans = [];
  let from = at(coat.first_at), fromBand = null, opened = false;
  for (let i = 0; i < stage.spans.length; i += 1) {
    const span = stage.spans[i], next = stage.spans[i + 1];
    const until = band(span.until);
    const closing = next && !['go', 'test'].includes(next.do);
    const to = until === null ? null : closing ? until.earliest : until.likely;
    const kind = span.do === 'wait' && opened ? 'shut' : span.do;
    if (to === null || to > from) spans.push({ does: span.do, kind, from, to, fromBand, until, next: next ? next.do : null });
    if (span.do === 'go') opened = true;
    if (to === null) break;
    from = Math.max(from, to);
    fromBand = until;
  }
  return spans;
}

// The same, cut where the next coat ended it.
export const shownSpans = (coat, stage) => once(coat, stage.stage, () => cutSpans(coat, stage));
function cutSpans(coat, stage) {
  const ended = coat.ended_at ? at(coat.ended_at) : null;
  const cut = (span) => (ended !== null && (span.to === null || span.to > ended) ? { ...span, to: ended } : span);
  return railSpans(coat, stage).map(cut).filter((span) => span.to === null || span.to > span.from);
}
