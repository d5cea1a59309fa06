// coat channel, coat material lead, coat shop set morning, coat ack of several: as a person types them.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const { test } = require('node:test');
const { coatAt, scratchFolder } = require('./daemon');
const { openShop, at } = require('./scene');

async function open(t) {
  const shop = await openShop(t);
  const coat = coatAt(shop.url);
  const folder = scratchFolder();
  t.after(() => fs.rmSync(folder, { recursive: true }));
  return { shop, coat, folder };
}
const done = async (run) => { const { code, stdout, stderr } = await run; assert.equal(code, 0, stderr + stdout); return stdout; };
const fails = async (run, status, text) => { const { code, stderr, stdout } = await run; assert.equal(code, status, stderr + stdout); assert.match(stderr.replace(/\s+/g, ' '), text); };

test('a channel is entered once a test went over it, shown, changed and taken out of use', async (t) => {
  const { shop, coat } = await open(t);
  assert.match(await done(coat('channel')), /No channel yet/);
  assert.match(await done(coat('channel', 'add', 'desk', '--command', '--', '/bin/sh', '-c', 'echo taken')), /delivered: .*taken[^]*desk entered, command: \/bin\/sh -c echo taken/);
  await fails(coat('channel', 'add', 'deaf', '--command', '--', '/bin/false'), 1, /was not delivered: .*--untested it is entered all the same\. Nothing was entered\./);
  assert.match(await done(coat('channel', 'add', 'deaf', '--untested', '--command', '--', '/bin/false')), /deaf entered/);
  assert.match(await done(coat('channel', 'test', 'desk')), /delivered: .*taken/);
  assert.equal((await coat('channel', 'test', 'deaf')).code, 1);
  assert.match(await done(coat('channel', 'list')), /desk +command +\/bin\/sh -c echo taken +nothing was sent yet/);
  assert.match(await done(coat('channel', 'edit', 'desk', '--name', 'bench', '--link', 'https://shop.example:8262')), /bench changed/);
  assert.match(await done(coat('channel', 'show', 'bench')), /links lead to +https:\/\/shop\.example:8262/);
  assert.match(await done(coat('channel', 'add', 'long', '--untested', '--command', '--', '/bin/echo', `a${'ß'.repeat(60)} > /dev/null`)), /: \/bin\/echo\s+aß{28}\.\.\.$/m, 'cut between letters, and that is seen');
  assert.match(await done(coat('channel', 'remove', 'bench')), /out of use/);
  await fails(coat('channel', 'show', 'bench'), 2, /no channel "bench"/);
  assert.deepEqual(JSON.parse(await done(coat('channel', '--json'))), (await shop.get('/api/v1/channels')).body);
});

test('a key and a link are told once; a password comes from a file, never from the command line', async (t) => {
  const { shop, coat, folder } = await open(t);
  const hook = await done(coat('channel', 'add', 'hook', '--untested', '--webhook', 'https://hook.example/'));
  assert.match(hook, /told this once[^]*^ {2}[A-Za-z0-9_-]{43}$/m);
  const link = /^ {2}(http\S+)$/m.exec(await done(coat('channel', 'add', 'phone', '--calendar')))[1];
  assert.equal((await shop.raw('GET', link.slice(shop.url.length))).status, 200);
  const renewed = /^ {2}(http\S+)$/m.exec(await done(coat('channel', 'edit', 'phone', '--new-key')))[1];
  assert.notEqual(renewed, link);
  const file = path.join(folder, 'password');
  fs.writeFileSync(file, 'hammer and tongs\n');
  const mail = ['--untested', '--mail', 'smith@shop.example', '--server-url', 'smtps://mail.example', '--user', 'shop@shop.example'];
  assert.match(await done(coat('channel', 'add', 'post', ...mail, '--password-file', file)), /post entered, mail: smith@shop\.example, through\s+smtps:\/\/mail\.example/);
  assert.match(await done(coat('channel', 'show', 'post')), /a password is kept/);
  await fails(coat('channel', 'add', 'other', ...mail, '--password', 'seen'), 2, /--password/);
  await fails(coat('channel', 'add', 'other', ...mail, '--password-file', '/nonexistent'), 2, /cannot be read/);
  await fails(coat('channel', 'add', 'other', ...mail, '--password-file', file, '--key-file', file), 2, /one of them/);
});

test('what cannot be is said with what would do', async (t) => {
  const { coat } = await open(t);
  await fails(coat('channel', 'add', 'desk'), 2, /--mail ADDRESS, --webhook URL/);
  await fails(coat('channel', 'add', 'desk', '--calendar', '--webhook', 'https://x.example'), 2, /a channel leads one way/);
  await fails(coat('channel', 'add', 'desk', '--command'), 2, /the program is missing/);
  await fails(coat('channel', 'add', 'post', '--mail', 'smith@shop.example'), 2, /through which mail server\? Write --server-url smtps:\/\/HOST as well\. Nothing was entered\./);
  await fails(coat('channel', 'add', 'desk', '--calendar', 'phone'), 2, /one word too many/);
  await done(coat('channel', 'add', 'phone', '--calendar'));
  await fails(coat('channel', 'edit', 'phone'), 2, /what is to be changed\?/);
  await fails(coat('channel', 'edit', 'phone', '--webhook', 'https://x.example'), 2, /of the kind calendar, and that stays/);
  await fails(coat('channel', 'test', 'phone'), 1, /fetches it/);
  await fails(coat('ack', '1', 'x'), 2, /"x" is no notice/);
  await fails(coat('shop', 'set', 'morning=seven'), 2, /write 07:00, or none/);
  await fails(coat('material', 'lead', 'spray', 'soon'), 2, /soon/);
});

test('the lead of a material, the hour of the morning list, and several notices at once', async (t) => {
  const { shop, coat } = await open(t);
  assert.match(await done(coat('material', 'lead', 'spray', '2h')), /told 2 h before they close$/m);
  assert.match(await done(coat('material', 'lead', 'spray', 'shop')), /told 1 h before they close, as\s+the\s+shop\s+has\s+it/);
  assert.match(await done(coat('shop', 'set', 'morning=7:30')), /morning +07:30/);
  assert.match(await done(coat('shop', 'set', 'morning=none')), /morning +none/);
  const shed = await shop.addPlace('shed');
  await shop.air(shed, 20, 50);
  await done(coat('shop', 'set', 'quiet=08:00-12:00'));
  await shop.log(await shop.addPiece('fan', { place: shed.id }), await shop.builtin('spray-enamel'));
  await shop.goTo(at('08:45'));
  assert.match(await done(coat('notices')), /fan[^]*\(held until\s+12:00\)/);
  const ids = (await shop.shop()).notices.slice(0, 2).map((notice) => String(notice.id));
  assert.equal(ids.length, 2);
  assert.match(await done(coat('ack', ...ids)), new RegExp(`^${ids[0]} acknowledged: [^]*^${ids[1]} acknowledged: `, 'm'));
});
