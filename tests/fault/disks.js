// Disks that fill up. One is a file system of its own, small and filled to the last block, where this user may mount one; the other is a limit on the size of the
// files that the service may write, which every user may set, and which stops its writes as surely.
'use strict';

const assert = require('node:assert/strict');
const { execFileSync } = require('node:child_process');
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');
const { startDaemon } = require('../api/daemon.js');

const SMALL = '4m';
const LEAST = 1; // bytes: less than any of its files has

class Disk {
  constructor() {
    this.folder = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-disk-'));
    this.isFull = false;
    this.daemon = null;
  }

  async start(options = {}) {
    this.daemon = await startDaemon({ db: path.join(this.folder, 'shop.coat'), ...options });
    return this.daemon;
  }

  async close() {
    await this.daemon?.stop();
    this.release();
    fs.rmSync(this.folder, { recursive: true, force: true });
  }

  release() {}
}

class LimitedDisk extends Disk {
  start(options) {
    return super.start({ ...options, ...(this.isFull && { before: ['prlimit', `--fsize=${LEAST}:unlimited`] }) });
  }

  setRoom(bytes) {
    execFileSync('prlimit', ['--pid', String(this.daemon.pid), `--fsize=${bytes}:unlimited`]);
  }

  fill() { this.setRoom(LEAST); this.isFull = true; }
  empty() { this.setRoom('unlimited'); this.isFull = false; }
}

class MountedDisk extends Disk {
  mount() {
    execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${SMALL},mode=700`, 'tmpfs', this.folder], { stdio: 'ignore' });
    this.filler = path.join(this.folder, 'somebody-elses');
  }

  // What others write to the disk, until nothing more goes on it.
  fill() {
    const file = fs.openSync(this.filler, 'a');
    for (const size of [65536, 4096, 1]) {
      try { for (;;) fs.writeSync(file, Buffer.alloc(size)); } catch (error) { assert.equal(error.code, 'ENOSPC'); }
    }
    fs.closeSync(file);
    this.isFull = true;
  }

  empty() { fs.rmSync(this.filler); this.isFull = false; }
  release() { execFileSync('umount', ['-l', this.folder]); }
}

// null where this user may not mount one.
function mountDisk() {
  const disk = new MountedDisk();
  try { disk.mount(); } catch { fs.rmdirSync(disk.folder); return null; }
  return disk;
}

module.exports = { LimitedDisk, mountDisk };
