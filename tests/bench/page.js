// The page in the browser's own tracing, on loopback, against the real service: how soon it is there and at rest, what it weighs, and what a frame of
// a drag along the line takes, with a few coats and with three hundred. Prints as the bench does, and adds its rows to the figures.
//
//   node tests/bench/page.js OUT.json
'use strict';

const fs = require('node:fs');
const { startDaemon } = require('../api/daemon.js');
const { launch, made, SIZES } = require('../browser/browser.js');

const RUNS = 5, MOVES = 60, LONG_TASK_MS = 50;
const CATEGORIES = ['devtools.timeline', 'disabled-by-default-devtools.timeline', 'disabled-by-default-devtools.timeline.frame', 'loading', 'blink.user_timing'];
const KINDS = ['epoxy-primer', 'alkyd-primer', 'alkyd-enamel', 'spray-enamel', 'oil-varnish'];

// ---- shops ----

// So many pieces, each with a coat of each of these kinds, a day apart, in air that was read every two hours.
async function furnish(pieces, kinds) {
  const daemon = await startDaemon({ testClock: '2026-11-20T08:00:00Z' });
  const place = await made(daemon.post('/api/v1/places', { name: 'shed' }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const ids = [];
  for (let i = 1; i <= pieces; i += 1) ids.push((await made(daemon.post('/api/v1/pieces', { name: `Drawer ${i}`, place: place.id }))).id);
  for (const kind of kinds) {
    const material = items.find((one) => one.class === kind).id;
    for (let hour = 0; hour < 24; hour += 2) {
      await made(daemon.post(`/api/v1/places/${place.id}/readings`, { temp_c: 19 + 3 * Math.sin(hour / 4), rh_pct: 55 }));
      if (hour < 6) for (const some of [ids.filter((id) => id % 3 === hour / 2)]) if (some.length) await made(daemon.post('/api/v1/coats', { pieces: some, material }));
      await made(daemon.advance(2 * 3600));
    }
  }
  return daemon;
}

// ---- traces ----

const median = (values) => [...values].sort((p, q) => p - q)[Math.floor(values.length / 2)];
const part = (values, share) => [...values].sort((p, q) => p - q)[Math.min(values.length - 1, Math.floor(values.length * share))];

async function traced(browser, page, act) {
  await browser.startTracing(page, { categories: CATEGORIES });
  await act();
  return JSON.parse((await browser.stopTracing()).toString()).traceEvents;
}

// What the main thread of the page did, and since when: of the renderers the one that worked most.
function mainTasks(events) {
  const threads = events.filter((one) => one.name === 'thread_name' && one.args.name === 'CrRendererMain');
  const of = (thread) => events.filter((one) => one.ph === 'X' && one.pid === thread.pid && one.tid === thread.tid);
  return threads.map(of).sort((p, q) => worked(q) - worked(p))[0];
}
const took = (one) => one.tdur || one.dur; // of the processor, where the trace tells it: what waits for the machine costs nothing
const worked = (mine) => mine.filter((one) => one.name === 'RunTask').reduce((sum, one) => sum + took(one), 0);
const firstOf = (events, test) => events.filter(test).sort((p, q) => p.ts - q.ts)[0];

// In ms after the page was asked for, and in bytes with what HTTP says around them; `files` are what was there by then.
function readLoad(events, url) {
  const asked = events.filter((one) => one.name === 'ResourceSendRequest'), begin = firstOf(asked, (one) => one.args.data.url === url).ts;
  const since = (event) => (event.ts - begin) / 1000;
  const there = since(firstOf(events, (one) => one.name === 'drawn' && one.ts > begin));
  const long = mainTasks(events).filter((one) => one.name === 'RunTask' && one.ts > begin && one.dur >= LONG_TASK_MS * 1000);
  const came = new Map(events.filter((one) => one.name === 'ResourceFinish' && since(one) <= there).map((one) => [one.args.data.requestId, one.args.data.encodedDataLength]));
  const view = asked.filter((one) => came.has(one.args.data.requestId)), weigh = (list) => list.reduce((sum, one) => sum + came.get(one.args.data.requestId), 0);
  const isShop = (one) => one.args.data.url.includes('/api/');
  return {
    files: view.filter((one) => !isShop(one)).map((one) => one.args.data.url),
    paint: since(firstOf(events, (one) => one.name === 'firstContentfulPaint' && one.ts > begin)), there,
    rest: Math.max(there, ...long.map((one) => since(one) + one.dur / 1000)), bytes: weigh(view.filter((one) => !isShop(one))), shop: weigh(view.filter(isShop)),
  };
}

// Each step of a frame by the events that make it; an event within another of its own kind counts once.
const STEPS = { script: /^(FunctionCall|EvaluateScript|FireAnimationFrame|EventDispatch)$/, style: /^UpdateLayoutTree$/, layout: /^Layout$/, paint: /^(PrePaint|Paint|Layerize|Commit)$/ };
function outermost(list) {
  let end = -Infinity, sum = 0;
  for (const one of [...list].sort((p, q) => p.ts - q.ts || q.dur - p.dur)) if (one.ts >= end) { sum += took(one); end = one.ts + one.dur; }
  return sum / 1000;
}

function readDrag(events) {
  const mine = mainTasks(events), frames = mine.filter((one) => one.name === 'FireAnimationFrame').length;
  const shown = events.filter((one) => one.name === 'DrawFrame').map((one) => one.ts / 1000).sort((p, q) => p - q);
  const out = { between: shown.slice(1).map((ts, i) => ts - shown[i]), work: worked(mine) / 1000 / frames };
  for (const [step, names] of Object.entries(STEPS)) out[step] = outermost(mine.filter((one) => names.test(one.name))) / frames;
  out.raster = events.filter((one) => one.name === 'RasterTask' && one.ph === 'X').reduce((sum, one) => sum + took(one), 0) / 1000 / frames;
  return out;
}

// ---- what is done ----

// Says when what can be done, or the line, stands there.
const markDrawn = () => new MutationObserver((_, watch) => { if (document.querySelector('.rows, svg.line .lane')) { performance.mark('drawn'); watch.disconnect(); } }).observe(document, { childList: true, subtree: true });

async function open(browser) {
  const context = await browser.newContext({ viewport: SIZES.wall });
  await context.addInitScript(markDrawn);
  return { context, page: await context.newPage() };
}

// A browser that runs, and has nothing of the page yet.
async function load(browser, url) {
  const { context, page } = await open(browser);
  await page.goto(`${url}plain?still=1`); // for a process of its own, which shares no file with the page but its icon
  const events = await traced(browser, page, async () => {
    await page.goto(url);
    await page.locator('svg.line .lane').first().waitFor({ state: 'attached' });
    await page.waitForLoadState('networkidle', { timeout: 3000 }).catch(() => {}); // the stream of events never ends
  });
  await context.close();
  return readLoad(events, url);
}

async function drag(browser, url) {
  const { context, page } = await open(browser);
  await page.goto(`${url}#line`);
  await page.locator('svg.line .lane').first().waitFor({ state: 'attached' });
  await page.waitForFunction(() => performance.getEntriesByType('resource').some((one) => one.name.endsWith('/linehand.js')));
  const box = await page.locator('svg.line').boundingBox();
  await page.mouse.click(box.x + 700, box.y + 20); // a browser wakes its sound at the first touch
  await page.mouse.move(box.x + 700, box.y + 120);
  await page.mouse.down();
  for (let i = 0; i < 5; i += 1) await page.mouse.move(box.x + 720 - i * 4, box.y + 120);
  const events = await traced(browser, page, async () => { for (let i = 0; i < MOVES; i += 1) await page.mouse.move(box.x + 700 - i * 6, box.y + 120); });
  await page.mouse.up();
  await context.close();
  return readDrag(events);
}

// ---- what is told ----

const rows = [];
const told = (value, unit) => (unit === 's' ? `${(value * 1000).toFixed(1)} ms` : `${Math.round(value)} ${unit}`);
function row(name, what, value, unit, aim) {
  rows.push({ name, ours: value, beside: aim, ratio: Number((value / aim).toFixed(4)), aim: 1, ok: value <= aim });
  console.log(`${name}\n    ${what.padEnd(36)} ${told(value, unit).padStart(12)}\n    ${'the aim'.padEnd(36)} ${told(aim, unit).padStart(12)}    ratio ${(value / aim).toFixed(2)}, aim 1.00: ${value <= aim ? 'ok' : 'missed'}`);
}

async function weigh(urls) {
  const heads = await Promise.all(urls.map((url) => fetch(url, { method: 'HEAD', headers: { 'accept-encoding': 'gzip' } })));
  return heads.reduce((sum, one) => sum + Number(one.headers.get('content-length')), 0);
}

async function tellLoads(browser, url, name) {
  const loads = [];
  for (let i = 0; i < RUNS; i += 1) loads.push(await load(browser, url));
  const of = (key) => median(loads.map((one) => one[key]));
  row(`${name}: first contentful paint`, 'empty cache, loopback', of('paint') / 1000, 's', 1);
  row(`${name}: what can be done stands there`, 'empty cache, loopback', of('there') / 1000, 's', 0.3);
  row(`${name}: at rest`, 'end of the last task over 50 ms', of('rest') / 1000, 's', 1);
  row(`${name}: first view`, 'its files, compressed', await weigh(loads[0].files), 'bytes', 50000);
  console.log(`    with their heads ${Math.round(of('bytes'))} bytes, and ${Math.round(of('shop'))} bytes of what the shop told`);
}

async function tellDrag(browser, url, name) {
  const drags = [];
  for (let i = 0; i < RUNS; i += 1) drags.push(await drag(browser, url));
  const of = (key) => median(drags.map((one) => one[key])), between = drags.flatMap((one) => one.between);
  row(`${name}: a frame of a drag, half of them`, 'from one shown to the next', median(between) / 1000, 's', 1 / 30);
  row(`${name}: a frame of a drag, nine of ten`, 'from one shown to the next', part(between, 0.9) / 1000, 's', 1 / 15);
  row(`${name}: a frame of a drag, work of the page`, 'main thread, processor', of('work') / 1000, 's', 1 / 60);
  console.log(`    of it ${Object.keys(STEPS).map((step) => `${step} ${of(step).toFixed(1)} ms`).join(', ')}; beside it raster ${of('raster').toFixed(1)} ms`);
}

async function tellShop(browser, name, pieces, kinds) {
  const daemon = await furnish(pieces, kinds);
  try {
    await tellLoads(browser, `${daemon.url}/`, name);
    await tellDrag(browser, `${daemon.url}/`, name);
  } finally { await daemon.stop(); }
}

// Rows of the same name give way.
function keep(out) {
  const before = fs.existsSync(out) ? JSON.parse(fs.readFileSync(out, 'utf8')) : [];
  const all = [...before.filter((one) => !rows.some((mine) => mine.name === one.name)), ...rows];
  fs.writeFileSync(out, `[\n${all.map((one) => `  ${JSON.stringify(one)}`).join(',\n')}\n]\n`);
}

async function main(out) {
  const browser = await launch();
  try {
    await tellShop(browser, 'page with 8 coats', 8, KINDS.slice(0, 1));
    await tellShop(browser, 'page with 300 coats', 60, KINDS);
  } finally { await browser.close(); }
  if (out) keep(out);
}

main(process.argv[2]).catch((error) => { console.error(error); process.exitCode = 1; });
