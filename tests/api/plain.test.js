// The shop as one plain page: what stands there is what the API tells, in the shop's zone and units, and nothing that people typed is taken for HTML.
'use strict';
const assert = require('node:assert/strict');
const { test } = require('node:test');
const { startDaemon } = require('./daemon');
const { openShop, expect, at } = require('./scene');

const ZONE = 'America/Chicago'; // six hours behind
const ENTITIES = { '&lt;': '<', '&gt;': '>', '&quot;': '"', '&amp;': '&' };
const read = (html) => html.replace(/<[^>]*>/g, '').replace(/&(?:lt|gt|quot|amp);/g, (entity) => ENTITIES[entity]).replace(/\s+/g, ' ').trim();

async function fetchPlain(shop, target = '/plain') {
  const answer = await shop.get(target);
  assert.equal(answer.status, 200, answer.text);
  assert.equal(answer.headers.get('content-type'), 'text/html; charset=utf-8');
  assert.doesNotMatch(answer.text, /<script|<iframe|<[^>]*\s(?:style|on\w+)=/, 'nothing that the policy of the page would stop');
  return answer.text;
}

const part = (html, heading) => new RegExp(`<h2 id="${heading}">([^]*?)(?=<h2|</main>)`).exec(html)[1];
const items = (html) => [...html.matchAll(/<li[^>]*>([^]*?)<\/li>/g)].map(([, inner]) => read(inner));

// What stands of a piece: its heading and its coats, each with its heading, its condition and the rows of its stages.
function pieceOf(html, id) {
  const section = new RegExp(`<section class="piece" aria-labelledby="piece-${id}">([^]*?)</section>`).exec(html);
  assert.ok(section, `piece ${id} does not stand there`);
  const coats = section[1].split('<h4>').slice(1).map((text) => ({
    head: read(text.slice(0, text.indexOf('</h4>'))), is: read(/<p class="is">(.*)<\/p>/.exec(text)[1]), all: read(text),
    rows: [...text.matchAll(/<li class="(\S+)"><b>(\S+)<\/b> <span class="state">([^<]*)<\/span> <span class="when">([^<]*)<\/span><\/li>/g)]
      .map(([, state, name, said, sentence]) => ({ state, name, said, sentence: read(sentence) })),
  }));
  return { head: read(/<h3[^>]*>(.*)<\/h3>/.exec(section[1])[1]), coats, text: read(section[1]) };
}

const clock = (moment) => new Intl.DateTimeFormat('en-GB', { timeZone: ZONE, hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(Date.parse(moment));

// The moments that a stage is told by: of the span that now is in, as its state asks for.
function momentsOf({ spans, current, state, stage: name }) {
  if (state === 'used') return [];
  const until = state === 'reached' && name !== 'recoat' ? spans[0].until : spans[current].until;
  if (!until) return [];
  if (until.passed) return [until.likely_at];
  return spans[current].do === 'wait' ? [until.likely_at, until.label_floor_at].filter(Boolean) : [until.earliest_at || until.label_ceiling_at].filter(Boolean);
}

function assertCoat(told, coat) {
  assert.match(told.head, new RegExp(`^Coat ${coat.id}\\b`));
  assert.ok(told.head.includes(coat.material.name) && told.head.includes(`applied`) && told.head.includes(clock(coat.last_at)), told.head);
  assert.ok(told.is.startsWith(coat.condition), told.is);
  assert.deepEqual(told.rows.map((row) => `${row.name} ${row.state}`), coat.stages.map((one) => `${one.stage} ${one.state}`));
  for (const [i, one] of coat.stages.entries()) {
    const { said, sentence } = told.rows[i], what = `${one.stage}: ${said} ${sentence}`;
    assert.ok(said.startsWith(one.state), what);
    if (one.progress !== null && one.progress < 1) assert.ok(said.endsWith(` ${Math.floor(one.progress * 100)} %`), what);
    for (const moment of momentsOf(one)) assert.ok(sentence.includes(clock(moment)), `${what} lacks ${clock(moment)}`);
    const over = ['used', 'missed'].includes(one.state);
    assert.equal(/on assumed air: test first/.test(sentence), one.air.basis === 'assumed' && !over, what);
    assert.equal(/held up: /.test(sentence), one.stalled !== null && !over, what);
  }
}

// Two coats on a wheel in the shed; a primer that a cold lean-to holds up; a body whose air nobody read for a day.
async function furnish(t) {
  const shop = await openShop(t, { testClock: at('06:00') });
  await expect(shop.patch('/api/v1/shop', { zone: ZONE, units: 'us' }), 200);
  const [shed, lean, far] = [await shop.addPlace('shed'), await shop.addPlace('lean-to'), await shop.addPlace('loft')];
  const [primer, enamel] = [await shop.builtin('alkyd-primer'), await shop.builtin('spray-enamel')];
  const hang = (name, place) => shop.addPiece(name, { place: place.id, old_finish: 'tested clear' });
  const [wheel, frame, body, idle] = [await hang('mill wheel', shed), await hang('scale frame', lean), await hang('mill body', far), await hang('fan hub', shed)];
  await shop.air(far, 20, 50);
  await shop.air(shed, 21, 50);
  await shop.air(lean, 20, 50);
  const [under] = await shop.log(wheel, primer);
  await shop.log(body, enamel);
  await shop.passMeasured(shed, at('06:00'), at('06:00', 1), 21, 50);
  await shop.air(lean, 20, 50);
  const [held] = await shop.log(frame, primer);
  const [top] = await shop.log(wheel, enamel);
  await shop.passMeasured(shed, at('06:00', 1), at('06:20', 1), 21, 50);
  await shop.air(lean, 2, 60);
  await shop.passMeasured(shed, at('06:20', 1), at('06:40', 1), 21, 50);
  return { shop, wheel, frame, body, idle, under, top, held };
}

test('each piece stands there with its place, its coat on top and each stage, as the API has them', async (t) => {
  const scene = await furnish(t), { shop } = scene;
  const html = await fetchPlain(shop), told = await shop.shop();
  for (const piece of told.pieces) {
    const said = pieceOf(html, piece.id), on = told.coats.filter((coat) => coat.piece === piece.id && coat.status === 'on');
    assert.equal(said.head, `${piece.name}, in ${told.places.find((place) => place.id === piece.place).name}`);
    assert.equal(said.coats.length, on.length, piece.name);
    for (const coat of on) assertCoat(said.coats.find((one) => one.head.startsWith(`Coat ${coat.id}:`)), coat);
  }
  assert.match(pieceOf(html, scene.idle.id).text, /no coats yet/);
  assert.match(pieceOf(html, scene.wheel.id).text, new RegExp(`Under coat ${scene.top.id}: coat ${scene.under.id}, `));
  assert.match(pieceOf(html, scene.frame.id).coats[0].is, /held up: too cold/);
  assert.match(pieceOf(html, scene.body.id).text, /h assumed/);
  assert.match(pieceOf(html, scene.wheel.id).coats[0].head, /\(69\.8 F 50 %, measured\)$/); // the shop's units
});

test('what must not be touched, the notices, the air and the moment of it all', async (t) => {
  const { shop } = await furnish(t);
  const html = await fetchPlain(shop), told = await shop.shop();
  const off = items(part(html, 'not-yet'));
  assert.ok(told.lists.not_yet.length >= 2);
  assert.equal(off.length, told.lists.not_yet.length);
  for (const [i, row] of told.lists.not_yet.entries()) {
    const name = told.pieces.find((piece) => piece.id === row.piece).name;
    assert.ok(off[i].startsWith(`${name}: `) && /do not (touch|handle)/.test(off[i]), off[i]);
    assert.ok(off[i].includes(row.until.likely_at ? clock(row.until.likely_at) : 'not in this air'), off[i]);
    assert.equal(off[i].includes('test first'), row.assumed, off[i]);
  }
  const notices = items(part(html, 'notices'));
  assert.ok(told.notices.length > 1);
  assert.equal(notices.length, told.notices.length);
  for (const notice of told.notices) assert.ok(notices.some((said) => said.startsWith(read(notice.text)) && said.endsWith(`coat ack ${notice.id}`)), notice.text);
  const air = items(part(html, 'air'));
  assert.deepEqual(air.map((said) => said.split(':')[0]), told.places.map((place) => place.name));
  assert.match(air[2], /assumed since .*test first/);
  assert.match(html, /As of <time datetime="2026-11-29T06:40:00Z">Sun 29 Nov 00:40<\/time> \(America\/Chicago\)/);
});

test('each caution of each coat and notice is told in full, once, with its source and what defers', async (t) => {
  const { shop } = await furnish(t);
  const html = await fetchPlain(shop), told = await shop.shop();
  const full = items(part(html, 'cautions'));
  const codes = new Set([...told.shop_cautions, ...told.coats.flatMap((coat) => coat.cautions), ...told.notices.flatMap((notice) => notice.cautions)]);
  assert.equal(full.length, codes.size);
  for (const code of codes) {
    const { act, text, source } = told.cautions[code];
    assert.equal(full.filter((said) => said === read(`${act}. ${text} (${source})`)).length, 1, code);
    assert.ok(read(html.slice(0, html.indexOf('id="not-yet"'))).includes(act) || !told.shop_cautions.includes(code), `${act} is not at the top`);
  }
  for (const coat of told.coats.filter((one) => one.status === 'on')) {
    const { text } = pieceOf(html, coat.piece);
    for (const code of coat.cautions) assert.ok(text.includes(`${told.cautions[code].act}.`), `coat ${coat.id}: ${code}`);
  }
  assert.ok(read(html).endsWith(read(told.deferral)));
});

test('what people typed stays text', async (t) => {
  const shop = await openShop(t);
  const nasty = (i) => `<b>&"'</b><img src=x onerror=y>${i}`;
  const place = await shop.addPlace(nasty(1));
  await shop.air(place, 20, 50);
  const piece = await shop.addPiece(nasty(2), { place: place.id, areas: [nasty(3).slice(0, 12)] });
  const own = await expect(shop.post('/api/v1/materials', { name: nasty(4), class: 'alkyd-enamel', role: 'enamel' }), 201);
  await shop.log(piece, own, { area: nasty(3).slice(0, 12) });
  await shop.goTo(at('08:00', 2));
  const html = await fetchPlain(shop);
  assert.doesNotMatch(html, /<b>&|<img|<b><\/b>/);
  for (const i of [1, 2, 4]) assert.ok(html.includes(`&lt;b&gt;&amp;&quot;'&lt;/b&gt;&lt;img src=x onerror=y&gt;${i}`), `name ${i} is not there`);
  assert.ok(pieceOf(html, piece.id).coats[0].head.includes(nasty(3).slice(0, 12)));
  assert.ok((await shop.shop()).notices.length > 0 && items(part(html, 'notices')).some((said) => said.startsWith(nasty(2))));
});

test('it is renewed each minute, or stands still where that is asked for; nothing is kept by a tag', async (t) => {
  const daemon = await startDaemon(); // on the wall clock
  t.after(() => daemon.stop());
  const answer = await daemon.get('/plain');
  assert.equal(answer.status, 200);
  assert.equal(answer.headers.get('refresh'), '60');
  assert.equal(answer.headers.get('cache-control'), 'no-cache');
  assert.equal(answer.headers.get('etag'), null);
  assert.match(answer.headers.get('content-security-policy'), /default-src 'none'; script-src 'self'/);
  assert.match(answer.text, /No piece is in the shop/);
  assert.match(answer.text, /Rags|Fan on|Label/);
  const still = await daemon.get('/plain?still=1');
  assert.equal(still.headers.get('refresh'), null);
  assert.match(still.text, /href="plain">renew it each minute/);
  assert.equal((await daemon.get('/nowhere')).headers.get('refresh'), null);
});
