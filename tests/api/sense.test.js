// coatd --sense SOURCE: reads a device once, without a record and without a port.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const path = require('node:path');
const test = require('node:test');
const { runDaemon, scratchFolder } = require('./daemon.js');

// A sysfs with one hygrometer on the bus, as the kernel lays it out.
function fakeSysfs() {
  const root = scratchFolder();
  const device = path.join(root, 'devices/platform/i2c-1/1-005f/iio:device0');
  fs.mkdirSync(device, { recursive: true });
  fs.mkdirSync(path.join(root, 'bus/iio/devices'), { recursive: true });
  fs.symlinkSync('../../../devices/platform/i2c-1/1-005f/iio:device0', path.join(root, 'bus/iio/devices/iio:device0'));
  for (const [name, text] of Object.entries({ name: 'hygro7', in_temp_input: '19720', in_humidityrelative_input: '55000' })) {
    fs.writeFileSync(path.join(device, name), `${text}\n`);
  }
  return root;
}

async function sense(source) {
  const root = fakeSysfs();
  try {
    return await runDaemon(['--sense', source], { env: { ...process.env, COAT_SYSFS: root, HOME: root, XDG_DATA_HOME: '' } });
  } finally {
    assert.deepEqual(fs.readdirSync(root).sort(), ['bus', 'devices'], 'no record was begun');
    fs.rmSync(root, { recursive: true });
  }
}

test('a device is read by its name and told as one line', async () => {
  const { code, stdout, stderr } = await sense('iio:hygro7');
  assert.deepEqual(JSON.parse(stdout), {
    device: 'iio:hygro7@1-005f', temperature: { raw: '19720', value: 19.72 }, humidity: { raw: '55000', value: 55 },
  });
  assert.equal(stdout.split('\n').length, 2);
  assert.equal(stderr, '');
  assert.equal(code, 0);
});

test('a name that is not there is told with those that are', async () => {
  const { code, stdout } = await sense('iio:hygro8');
  assert.deepEqual(JSON.parse(stdout), { fault: 'there is no iio device named hygro8; there are hygro7@1-005f' });
  assert.equal(code, 1);
});
