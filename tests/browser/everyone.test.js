// The page for everyone, where a checker of rules sees nothing: the size of what a thumb takes, 320 px and 400 % zoom, the keyboard, forced colours,
// reduced motion. Every view, on a shop that has a bit of everything.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { startDaemon } = require('../api/daemon.js');
const { launch, made, openPage, settled, visitView } = require('./browser.js');

const THUMB_PX = 44;
const VIEWS = ['', 'line', 'log', 'log?piece=1&material=2', 'piece?id=1', 'piece?id=2', 'air?place=1&enter=1', 'air?place=1', 'notices', 'material', 'shop', 'more', 'check', 'check?material=2&place=1', 'mix', 'tins', 'tell', 'vapour?place=1',
  'bake', 'bake?new=1', 'bake?id=1', 'place', 'newpiece', 'hangtag?piece=1', 'record?piece=1', 'finished'];

let browser, daemon;
before(async () => {
  browser = await launch();
  daemon = await startDaemon({ testClock: '2026-11-28T06:00:00Z' });
  const shed = await made(daemon.post('/api/v1/places', { name: 'shed', volume_m3: 60, airflow_m3h: 300 }));
  const oven = await made(daemon.post('/api/v1/places', { name: 'oven', kind: 'oven', volume_m3: 0.1 }));
  const { items } = await made(daemon.get('/api/v1/materials'));
  const version = (name) => items.find((one) => one.class === name).id;
  const air = () => made(daemon.post(`/api/v1/places/${shed.id}/readings`, { temp_c: 20, rh_pct: 50 }));
  await air();
  const body = await made(daemon.post('/api/v1/pieces', { name: 'mill body', place: shed.id, wall_mm: 6 }));
  const wheel = await made(daemon.post('/api/v1/pieces', { name: 'mill wheel with a long name that has to break somewhere', place: shed.id, wall_mm: 6 }));
  await made(daemon.post('/api/v1/coats', { pieces: [body.id], material: version('spray-enamel'), amount_ml: 60 }));
  const japan = (await made(daemon.post('/api/v1/coats', { pieces: [wheel.id], material: version('baking-japan') }))).items[0];
  for (let hour = 0; hour < 3; hour++) { await made(daemon.advance(3600)); await air(); }
  await made(daemon.post('/api/v1/bakes', { place: oven.id, parts: [{ coat: japan.id }], steps: [{ target_c: 149 }] }));
  await made(daemon.post('/api/v1/mixes', { material: version('epoxy-primer'), place: shed.id }));
  await made(daemon.post('/api/v1/tins', { material: version('spray-enamel'), name: 'black 2' }));
});
after(async () => { await browser.close(); await daemon.stop(); });

async function visit(page, hash) {
  await visitView(page, `${daemon.url}/`, hash);
  await page.waitForFunction(() => { const view = document.getElementById('view'); return view.querySelector('h1') && view.textContent.trim().length > 20 && !/Asking the shop/.test(view.textContent); });
  await settled(page);
}

// What a thumb takes and is too small for it. A link within a sentence is as high as its line (WCAG 2.5.8 excepts it).
const tooSmall = (least) => {
  const boxOf = (el) => (el.matches('.choice input, input[type=checkbox], input[type=radio]') ? el.closest('label') || el : el).getBoundingClientRect();
  const inSentence = (el) => el.matches('a, .link') && getComputedStyle(el).display === 'inline';
  return [...document.querySelectorAll('a[href], button, input:not([type=hidden]), select, textarea, summary')].filter((el) => el.checkVisibility({ visibilityProperty: true }) && !el.matches('.skip') && !inSentence(el))
    .map((el) => [el, boxOf(el)]).filter(([, box]) => box.width > 0 && (box.height < least - 0.5 || box.width < least - 0.5)).map(([el, box]) => `${el.outerHTML.slice(0, 90)} ${box.width.toFixed(0)}x${box.height.toFixed(0)}`);
};

test('what a thumb takes is 44 px at least', async () => {
  const { page, close } = await openPage(browser, daemon.url, { size: 'phone' });
  const found = [];
  for (const hash of VIEWS) {
    await visit(page, hash);
    for (const one of await page.evaluate(tooSmall, THUMB_PX)) found.push(`${hash || 'home'}: ${one}`);
  }
  await close();
  assert.deepEqual(found, []);
});

test('320 px, and 400 % zoom of a small screen: nothing stands out sideways, and there is room to read', async () => {
  const found = [];
  for (const viewport of [{ width: 320, height: 640 }, { width: 320, height: 256 }]) { // 1280 x 1024 at 400 %
    const { page, close } = await openPage(browser, daemon.url, { size: 'small', context: { viewport } });
    for (const hash of VIEWS) {
      await visit(page, hash);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      if (over > 0) found.push(`${viewport.height}, ${hash || 'home'}: ${over} px too wide`);
      const stuck = await page.evaluate(() => [...document.querySelectorAll('body *')].filter((el) => ['fixed', 'sticky'].includes(getComputedStyle(el).position) && el.checkVisibility()).reduce((sum, el) => sum + Math.min(el.getBoundingClientRect().height, innerHeight), 0));
      if (stuck > viewport.height * 0.6) found.push(`${viewport.height}, ${hash || 'home'}: ${stuck} px stand still`);
    }
    await close();
  }
  assert.deepEqual(found, []);
});

// Tabs through a view: each stop shows that it has the focus, and is not hidden under what stands still.
async function walk(page, what, found) {
  const seen = new Set();
  for (let i = 0; i < 80; i++) {
    await page.keyboard.press('Tab');
    const stop = await page.evaluate(() => {
      const el = document.activeElement;
      if (!el || el === document.body) return null;
      const own = el.matches('.choice input') ? el.nextElementSibling || el : el, style = getComputedStyle(own), box = own.getBoundingClientRect();
      const shows = (style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0) || style.boxShadow !== 'none' || el.closest('svg') !== null;
      const x = Math.min(Math.max(box.left + box.width / 2, 0), innerWidth - 1), middle = Math.min(Math.max(box.top + Math.min(box.height, innerHeight) / 2, 0), innerHeight - 1);
      const over = document.elementFromPoint(x, middle);
      const hidden = !(over && (own.contains(over) || over.contains(own) || el.contains(over)));
      el.dataset.walked ??= String(Math.random());
      return { key: el.dataset.walked, html: el.outerHTML.slice(0, 100), shows, hidden: hidden ? over?.outerHTML.slice(0, 80) || 'out of sight' : '' };
    });
    if (stop === null || seen.has(stop.key)) break;
    seen.add(stop.key);
    if (!stop.shows) found.push(`${what}: no sign of the focus on ${stop.html}`);
    if (stop.hidden) found.push(`${what}: ${stop.html} is hidden by ${stop.hidden}`);
  }
  return seen.size;
}

test('the keyboard gets everywhere, and one sees where it is', async () => {
  const { page, close } = await openPage(browser, daemon.url, { size: 'tablet' });
  const found = [];
  for (const hash of VIEWS) {
    await visit(page, hash);
    await page.evaluate(() => document.activeElement?.blur());
    if (await walk(page, hash || 'home', found) < 5) found.push(`${hash || 'home'}: too few stops`);
  }
  await close();
  assert.deepEqual(found, []);
});

test('reduced motion: nothing moves by itself; forced colours: what can be taken keeps an edge or a line under it', async () => {
  const { page, close } = await openPage(browser, daemon.url, { size: 'wall', context: { forcedColors: 'active', reducedMotion: 'reduce' } });
  const found = [];
  for (const hash of VIEWS) {
    await visit(page, hash);
    if (await page.evaluate(() => document.getAnimations().length) > 0) found.push(`${hash || 'home'}: something moves`);
    const bare = await page.evaluate(() => [...document.querySelectorAll('a[href], button, select, input:not([type=radio]):not([type=checkbox]):not([type=hidden])')].filter((el) => el.checkVisibility() && !el.matches('.skip')).filter((el) => {
      const style = getComputedStyle(el);
      return !(style.borderTopStyle !== 'none' && parseFloat(style.borderTopWidth) > 0) && !style.textDecorationLine.includes('underline') && !el.querySelector('svg') && ![...el.children].some((kid) => parseFloat(getComputedStyle(kid).borderTopWidth) > 0) && !el.matches('.row .name, nav a') && !(style.outlineStyle !== 'none');
    }).map((el) => el.outerHTML.slice(0, 100)));
    for (const one of bare) found.push(`${hash || 'home'}: ${one}`);
  }
  await close();
  assert.deepEqual(found, []);
});
