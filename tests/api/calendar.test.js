// The calendar that a calendar program fetches, read by two of the libraries that such programs rest on: they must agree with each other, and with the shop.
'use strict';
const assert = require('node:assert/strict');
const { spawnSync } = require('node:child_process');
const http = require('node:http');
const path = require('node:path');
const { test } = require('node:test');
const ICAL = require('ical.js');
const { BUILD } = require('./daemon');
const { openShop, expect, refused, stage, at } = require('./scene');

const calendarChannel = async (shop, name = 'phone') => expect(shop.post('/api/v1/channels', { name, kind: 'calendar' }), 201);
const targetOf = (channel) => channel.calendar_link.slice(channel.calendar_link.indexOf('/calendar.ics'));

async function fetchText(shop, target) {
  const answer = await shop.raw('GET', target);
  assert.equal(answer.status, 200, answer.text);
  assert.equal(answer.headers.get('content-type'), 'text/calendar; charset=utf-8');
  for (const line of answer.text.split('\r\n')) assert.ok(Buffer.byteLength(line) <= 75, `a line of more than 75 octets: ${line}`);
  assert.ok(answer.text.endsWith('END:VCALENDAR\r\n'));
  assert.doesNotMatch(answer.text, /[^\r]\n/, 'each line ends in CR LF');
  return answer.text;
}

// As ical.js reads it, in the shape in which tests/http/ical_read prints what libical read.
function readByScript(text) {
  const calendar = new ICAL.Component(ICAL.parse(text));
  return calendar.getAllSubcomponents('vevent').map((event) => ({
    uid: event.getFirstPropertyValue('uid'),
    start: event.getFirstPropertyValue('dtstart').toICALString(),
    sequence: event.getFirstPropertyValue('sequence'),
    tentative: event.getFirstPropertyValue('status') === 'TENTATIVE',
    summary: event.getFirstPropertyValue('summary'),
    description: event.getFirstPropertyValue('description'),
    location: event.getFirstPropertyValue('location'),
    alarms: event.getAllSubcomponents('valarm').map((alarm) => ({
      trigger_s: alarm.getFirstPropertyValue('trigger').toSeconds(), description: alarm.getFirstPropertyValue('description'),
    })),
  }));
}

function readByLibrary(text) {
  const read = spawnSync(path.join(BUILD, 'tests/ical_read'), { input: text, encoding: 'utf8', timeout: 10000 });
  assert.equal(read.status, 0, read.stderr);
  return JSON.parse(read.stdout);
}

// fetch sets the Host itself.
const statusFor = (shop, target, host) => new Promise((resolve, reject) => {
  http.get({ port: shop.port, host: '127.0.0.1', path: target, headers: { host } }, (answer) => { answer.resume(); resolve(answer.statusCode); }).on('error', reject);
});

// The events of a calendar, by what they are about: "recoat-1" is the first boundary of recoat.
async function fetchEvents(shop, target) {
  const text = await fetchText(shop, target);
  const events = readByScript(text);
  assert.deepEqual(events, readByLibrary(text), 'two readers see the same');
  assert.equal(new Set(events.map((event) => event.uid)).size, events.length, 'each has a name of its own');
  return events.map((event) => ({ ...event, moment: new Date(Date.parse(event.start.replace(/(....)(..)(..)T(..)(..)(..)Z/, '$1-$2-$3T$4:$5:$6Z'))) }));
}
const about = (events, what) => events.filter((event) => event.uid.includes(`-${what}@`));
const one = (events, what) => { const found = about(events, what); assert.equal(found.length, 1, `${what}: ${found.length}`); return found[0]; };

async function openShed(t, options) {
  const shop = await openShop(t, options);
  const shed = await shop.addPlace('shed');
  await shop.air(shed, 20, 50);
  return { shop, shed };
}
const hang = (shop, place, name) => shop.addPiece(name, { place: place.id });
const seconds = (moment) => Math.floor(Date.parse(moment) / 1000);

test('an empty shop has a calendar that can be read, and its name', async (t) => {
  const shop = await openShop(t);
  const text = await fetchText(shop, targetOf(await calendarChannel(shop, 'Küche; "oben", links')));
  assert.deepEqual(readByLibrary(text), []);
  const calendar = new ICAL.Component(ICAL.parse(text));
  assert.equal(calendar.getFirstPropertyValue('version'), '2.0');
  for (const name of ['name', 'x-wr-calname']) { // the script knows neither as a text, and leaves the escapes in
    assert.equal(calendar.getFirstPropertyValue(name).replace(/\\([,;\\])/g, '$1'), 'Coatwright: Küche; "oben", links');
  }
  assert.match(calendar.getFirstPropertyValue('prodid'), /Coatwright/);
  assert.equal(calendar.getFirstPropertyValue('refresh-interval').toSeconds(), 900);
});

test('given a coat, then its openings stand at the latest moment and its closings at the earliest, with the cautions that apply', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  const [logged] = await shop.log(await hang(shop, shed, 'mill wheel'), await shop.builtin('spray-enamel'));
  const coat = await shop.coat(logged.id);
  const recoat = stage(coat, 'recoat');
  const events = await fetchEvents(shop, target);
  let told = 0;
  recoat.spans.slice(0, -1).forEach((span, i) => {
    const opens = span.do === 'wait' || recoat.spans[i + 1].do === 'go';
    const moment = span.until.passed ? span.until.likely_at : opens ? span.until.latest_at : span.until.earliest_at;
    if (moment === null) return;
    const event = one(events, `recoat-${i + 1}`);
    told += 1;
    const off = event.moment.getTime() / 1000 - seconds(moment);
    assert.ok(opens ? off === 0 || off === 1 : off === 0, `boundary ${i + 1} of recoat: ${event.start}, ${moment}`);
    assert.match(event.summary, /^mill wheel: recoat/);
    assert.equal(/not before/.test(event.summary), opens, event.summary);
    assert.equal(event.location, 'shed');
  });
  assert.ok(told >= 2, 'openings and closings');
  assert.ok(events.length > 3);
  const shown = await expect(shop.get(`/api/v1/coats/${coat.id}`), 200);
  for (const event of events) {
    for (const code of coat.cautions) assert.ok(event.description.includes(shown.cautions[code].act), `${event.summary}: without the caution ${code}`);
    assert.ok(event.description.endsWith(shown.deferral), 'the sentence that defers');
    for (const alarm of event.alarms) for (const code of coat.cautions) assert.ok(alarm.description.includes(shown.cautions[code].act));
  }
  assert.equal(about(events, 'touch-1').length + about(events, 'dust-free-1').length, 0, 'what nobody plans by');
});

test('an alarm lies at an opening, and the lead before a closing; a material has a lead of its own', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  const spray = await shop.builtin('spray-enamel');
  await shop.log(await hang(shop, shed, 'fan'), spray);
  const closings = (events) => events.filter((event) => event.alarms.length > 0 && !/not before/.test(event.summary));
  const openings = (events) => events.filter((event) => event.alarms.length > 0 && /not before/.test(event.summary));
  let events = await fetchEvents(shop, target);
  assert.ok(openings(events).length > 0 && closings(events).length > 0);
  for (const event of openings(events)) assert.deepEqual(event.alarms.map((alarm) => alarm.trigger_s), [0], event.summary);
  for (const event of closings(events)) assert.deepEqual(event.alarms.map((alarm) => alarm.trigger_s), [-3600], event.summary);
  await expect(shop.post(`/api/v1/materials/${spray.id}/lead`, { lead_closing_min: 150 }), 200);
  events = await fetchEvents(shop, target);
  for (const event of closings(events)) assert.deepEqual(event.alarms.map((alarm) => alarm.trigger_s), [-9000], event.summary);
  assert.equal((await expect(shop.post(`/api/v1/materials/${spray.id}/lead`, { lead_closing_min: null }), 200)).lead_closing_min, null);
  assert.deepEqual(closings(await fetchEvents(shop, target))[0].alarms[0].trigger_s, -3600);
});

test('nobody is woken in quiet hours: an opening waits for their end, a closing is told before they begin', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  await expect(shop.patch('/api/v1/shop', { zone: 'Europe/Vienna', quiet_from: '22:00', quiet_to: '07:00' }), 200);
  await shop.log(await hang(shop, shed, 'fan'), await shop.builtin('spray-enamel'));
  await shop.log(await hang(shop, shed, 'mill body'), await shop.builtin('alkyd-enamel'));
  const events = (await fetchEvents(shop, target)).filter((event) => event.alarms.length > 0);
  let moved = 0;
  for (const event of events) {
    const rings = new Date(event.moment.getTime() + event.alarms[0].trigger_s * 1000);
    const hour = (rings.getUTCHours() + 1) % 24; // Vienna in winter
    assert.ok(hour >= 7 && hour < 22, `${event.summary} at ${event.start} rings at ${rings.toISOString()}`);
    moved += ![0, -3600].includes(event.alarms[0].trigger_s);
  }
  assert.ok(events.length > 1);
  assert.ok(moved > 0, 'one of them falls into the night');
});

// Vienna in winter is an hour ahead: quiet from 21:00 to 06:00 UTC.
const quietNights = (shop) => expect(shop.patch('/api/v1/shop', { zone: 'Europe/Vienna', quiet_from: '22:00', quiet_to: '07:00' }), 200);
const ringsAt = (event) => event.alarms.map((alarm) => new Date(event.moment.getTime() + alarm.trigger_s * 1000).toISOString());

test('what opened in the night rings in the morning, though the calendar was fetched since; what is over by then does not', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  await quietNights(shop);
  await shop.log(await hang(shop, shed, 'mill body'), await shop.builtin('alkyd-primer'));
  await shop.passMeasured(shed, at('09:00'), at('20:50'), 20, 50);
  await shop.log(await hang(shop, shed, 'fan'), await shop.builtin('spray-enamel')); // its tape comes off for less than two hours
  const eventsOf = async (name) => (await fetchEvents(shop, target)).filter((event) => event.summary.startsWith(`${name}: `));
  const fan = await eventsOf('fan');
  assert.deepEqual(one(fan, 'unmask-1').alarms, []);
  assert.deepEqual(one(fan, 'unmask-2').alarms.length, 1, 'that it ends is told before');
  await shop.passMeasured(shed, at('21:00'), at('05:30', 1), 24, 50);
  const opened = one(await eventsOf('mill body'), 'recoat-1');
  assert.match(opened.summary, /recoat may be done$/);
  assert.ok(opened.moment >= new Date(at('21:00')) && opened.moment < new Date(at('05:30', 1)), opened.start);
  assert.deepEqual(ringsAt(opened).map((moment) => moment.slice(0, 16)), ['2026-11-29T06:00']); // the next whole minute
  await shop.goTo(at('06:02', 1));
  assert.deepEqual(one(await eventsOf('mill body'), 'recoat-1').alarms, []);
});

test('whoever mixed in quiet hours is there: its moments ring when they come', async (t) => {
  const { shop, shed } = await openShed(t, { testClock: at('22:00') });
  const target = targetOf(await calendarChannel(shop));
  await quietNights(shop);
  await expect(shop.post('/api/v1/mixes', { material: (await shop.builtin('epoxy-primer')).id, place: shed.id }), 201);
  const events = await fetchEvents(shop, target);
  const [ready, ends] = [one(events, 'ready'), one(events, 'use-by')];
  assert.deepEqual(ready.alarms.map((alarm) => alarm.trigger_s), [0]);
  assert.ok(ends.alarms[0].trigger_s < 0 && ends.alarms[0].trigger_s >= -1800, `${ends.alarms[0].trigger_s} s`);
  assert.ok(ringsAt(ends)[0] > at('22:00'));
});

test('pieces that were done together are one event; one that was done apart has its own', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  const spray = await shop.builtin('spray-enamel');
  const pieces = [await hang(shop, shed, 'body'), await hang(shop, shed, 'lid'), await hang(shop, shed, 'hopper'), await hang(shop, shed, 'crank')];
  const coats = await shop.log(pieces, spray);
  const last = about(await fetchEvents(shop, target), 'handle-1');
  assert.equal(last.length, 1);
  assert.match(last[0].summary, /^4 pieces: handle/);
  for (const name of ['body', 'lid', 'hopper', 'crank']) assert.ok(last[0].description.includes(name));
  assert.ok(last[0].uid.includes(`-coat-${coats[0].id}-`), 'named by the first of them');
  await shop.goTo(at('09:00'));
  await shop.log(await hang(shop, shed, 'handle'), spray);
  assert.equal(about(await fetchEvents(shop, target), 'handle-1').length, 2);
  await expect(shop.post(`/api/v1/coats/${coats[3].id}/strike`, { why: 'another piece' }), 200);
  assert.match(about(await fetchEvents(shop, target), 'handle-1')[0].summary, /^body; lid; hopper: handle/);
});

test('a moment that moves keeps its name, and SEQUENCE rises', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  await shop.goTo(at('08:30'));
  await shop.air(shed, 27, 50);
  await shop.log(await hang(shop, shed, 'mill wheel'), await shop.builtin('spray-enamel'));
  const before = one(await fetchEvents(shop, target), 'handle-1');
  const tag = (await shop.raw('GET', target)).headers.get('etag');
  assert.equal((await shop.raw('GET', target, undefined, { 'if-none-match': tag })).status, 304);
  await shop.goTo(at('12:00'));
  await shop.air(shed, 21, 60);
  const after = one(await fetchEvents(shop, target), 'handle-1');
  assert.equal(after.uid, before.uid);
  assert.ok(after.moment > before.moment, 'colder air moves it on');
  assert.ok(after.sequence > before.sequence);
  assert.equal(after.sequence, await shop.revision());
  assert.equal((await shop.raw('GET', target, undefined, { 'if-none-match': tag })).status, 200);
});

test('what rests on assumed air is tentative and says so', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  await shop.log(await hang(shop, shed, 'base plate'), await shop.builtin('spray-enamel'));
  const measured = one(await fetchEvents(shop, target), 'handle-1');
  assert.equal(measured.tentative, false);
  assert.doesNotMatch(measured.description, /assumed air/);
  await shop.goTo(at('20:00'));
  const assumed = one(await fetchEvents(shop, target), 'handle-1');
  assert.equal(assumed.tentative, true);
  assert.match(assumed.description, /On assumed air: test first\./);
  assert.equal(measured.uid, assumed.uid);
  await shop.air(shed, 20, 50);
  assert.equal(one(await fetchEvents(shop, target), 'handle-1').tentative, false, 'measured again');
});

test('what has come rings no more, and leaves after a week; a coat that is covered leaves at once', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  const wheel = await hang(shop, shed, 'mill wheel');
  const spray = await shop.builtin('spray-enamel');
  await shop.log(wheel, spray);
  await shop.passMeasured(shed, at('09:00'), at('20:00', 2), 20, 50);
  const come = one(await fetchEvents(shop, target), 'handle-1');
  assert.deepEqual(come.alarms, []);
  assert.match(come.summary, /handle reached$/);
  assert.ok(come.moment < new Date(at('20:00', 2)));
  await shop.goTo(at('20:00', 10));
  assert.deepEqual(about(await fetchEvents(shop, target), 'handle-1'), []);
  const [second] = await shop.log(wheel, spray);
  for (const event of await fetchEvents(shop, target)) assert.ok(event.uid.includes(`-coat-${second.id}-`), event.uid);
});

test('names come through whole, whatever they are written with', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  const names = ['Mühle Nr. 5; groß, "rot"', '漆塗りの歯車 🎨🎨🎨🎨🎨', 'a\\b,c;d:e — ½'];
  for (const name of names) await shop.log(await hang(shop, shed, name), await shop.builtin('spray-enamel'), {});
  await shop.goTo(at('08:30'));
  const events = await fetchEvents(shop, target);
  const said = events.map((event) => `${event.summary}\n${event.description}`).join('\n');
  for (const name of names) assert.ok(said.includes(name), name);
});

test('a mixed batch tells when it is ready and when its pot life ends', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  const mix = await expect(shop.post('/api/v1/mixes', { material: (await shop.builtin('epoxy-primer')).id, place: shed.id }), 201);
  const events = await fetchEvents(shop, target);
  const ends = events.find((event) => event.uid.startsWith(`mix-${mix.id}-use-by@`));
  assert.equal(ends.moment.getTime() / 1000, seconds(mix.use_by_at), 'rounded down: a pot life is not told too long');
  assert.ok(ends.alarms[0].trigger_s < 0);
  const ready = events.find((event) => event.uid.startsWith(`mix-${mix.id}-ready@`));
  assert.equal(ready === undefined, mix.ready_at === null);
  if (ready) assert.ok(ready.moment.getTime() / 1000 >= seconds(mix.ready_at));
});

test('two shops give their events different names', async (t) => {
  const uids = [];
  for (let i = 0; i < 2; i++) {
    const { shop, shed } = await openShed(t);
    const target = targetOf(await calendarChannel(shop));
    await shop.log(await hang(shop, shed, 'fan'), await shop.builtin('spray-enamel'));
    uids.push(one(await fetchEvents(shop, target), 'handle-1').uid);
  }
  assert.notEqual(uids[0], uids[1]);
});

test('a wrong key, none, and that of a calendar out of use find nothing; a new key ends the old one', async (t) => {
  const shop = await openShop(t);
  const channel = await calendarChannel(shop);
  const target = targetOf(channel);
  const key = target.split('key=')[1];
  assert.match(key, /^[A-Za-z0-9_-]{43}$/);
  for (const wrong of ['/calendar.ics', '/calendar.ics?key=', `/calendar.ics?key=${key.slice(0, -1)}`, `/calendar.ics?key=${key}x`, `/calendar.ics?key=${key.toLowerCase()}`])
    await refused(shop, shop.get(wrong), 404, { field: 'key' });
  assert.equal(await statusFor(shop, target, 'shop.example'), 421, 'the host is looked at here too');
  const changed = await expect(shop.patch(`/api/v1/channels/${channel.id}`, { new_secret: true }), 200);
  assert.equal((await shop.raw('GET', target)).status, 404);
  assert.equal((await shop.raw('GET', targetOf(changed))).status, 200);
  await expect(shop.del(`/api/v1/channels/${channel.id}`), 200);
  assert.equal((await shop.raw('GET', targetOf(changed))).status, 404);
});

test('tape that comes off late is scored, and a size that is late is not to be relied on', async (t) => {
  const { shop, shed } = await openShed(t);
  const target = targetOf(await calendarChannel(shop));
  await shop.log(await hang(shop, shed, 'mill wheel'), await shop.builtin('spray-enamel'));
  await shop.log(await hang(shop, shed, 'scale pan'), await shop.builtin('oil-size-quick'));
  const events = await fetchEvents(shop, target);
  assert.match(one(events, 'unmask-2').summary, /mill wheel: unmask ends; after this score along the tape first/);
  assert.match(one(events, 'leaf-2').summary, /scale pan: leaf ends; after this do not rely on it/);
});
