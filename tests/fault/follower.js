// Follows a shop as its page does, whoever is killed meanwhile: holds on to the stream of events, fetches the document when a revision is told, rings for what is
// new in it, and opens the stream again where it breaks off. It asks for nothing unless an event said that something changed.
'use strict';

const assert = require('node:assert/strict');
const http = require('node:http');

const AGAIN_MS = 20;
const CATCH_UP_MS = 10e3; // less than the beat of the stream, which tells what was missed
const SHOWN_MOST = 50; // notices in a document
const ROUNDING_MS = 1000; // of a moment that is reckoned again
const BEFORE = new Set(['window-closing', 'correction']); // what is told ahead, or of something that was told

const pause = (ms) => new Promise((done) => { setTimeout(done, ms); });

class Follower {
  // `service` tells where the shop is served now: a page has one address, a test a new port with each start.
  constructor(service) {
    Object.assign(this, { service, heard: 0, looked: 0, document: null, documents: 0, connections: 0, cursor: '0-0', told: [], rung: new Map(), newest: null, crowded: 0, failure: null, ended: false });
    this.aborting = new AbortController();
    this.running = this.run();
  }

  async run() {
    while (!this.ended) {
      try { await this.holdOn(); } catch (error) {
        if (error.code === 'ERR_ASSERTION') { this.failure = error; return; }
      }
      await pause(AGAIN_MS);
    }
  }

  async get(target) {
    const response = await fetch(this.service() + target, { signal: this.aborting.signal });
    const body = await response.json();
    assert.equal(response.status, 200, JSON.stringify(body));
    return body;
  }

  // One stream, to its end.
  async holdOn() {
    const request = http.get(`${this.service()}/api/v1/events`, { agent: false, signal: this.aborting.signal });
    const response = await new Promise((done, fail) => { request.on('response', done); request.on('error', fail); });
    assert.equal(response.statusCode, 200);
    this.connections += 1;
    this.heard = Math.max(this.heard, this.document?.revision ?? 0); // what a stream tells while a document is fetched may be older than that
    let text = '';
    for await (const chunk of response.setEncoding('utf8')) {
      text += chunk;
      const end = text.lastIndexOf('\n\n');
      if (end < 0) continue;
      const told = text.slice(0, end).split('\n\n').map((event) => this.hearEvent(event));
      text = text.slice(end + 2);
      if (told.some(Boolean)) await this.look();
    }
  }

  // Whether it tells a revision; else it is a beat.
  hearEvent(event) {
    const id = /^id: (\d+)$/m.exec(event);
    if (!id) return false;
    const revision = Number(id[1]);
    assert.deepEqual(JSON.parse(/^data: (.*)$/m.exec(event)[1]), { revision });
    assert.ok(revision >= this.heard, `revision ${revision} was told after ${this.heard}`);
    this.heard = revision;
    return true;
  }

  async look() {
    const document = await this.get('/api/v1/shop');
    assert.ok(document.revision >= this.heard && document.revision >= (this.document?.revision ?? 0), `a document of revision ${document.revision} came after ${this.heard}`);
    this.documents += 1;
    this.document = document;
    this.crowded += document.notices.length >= SHOWN_MOST;
    const told = document.notices.filter((notice) => notice.told_at !== null);
    for (const notice of told) checkNotEarly(notice, document);
    this.ring(told);
    await this.ask();
    this.looked = document.revision;
  }

  // By the page's rule: what was told at the newest moment that it knows or later, and did not ring yet. It never looks at what is older.
  ring(told) {
    const since = this.newest;
    for (const notice of told) {
      const at = Date.parse(notice.told_at);
      this.newest = Math.max(this.newest ?? 0, at);
      if ((since !== null && at < since) || this.rung.get(notice.id) === notice.told_at) continue;
      assert.ok(!this.rung.has(notice.id), `notice ${notice.id} rang as told at ${this.rung.get(notice.id)}, and again as told at ${notice.told_at}`);
      this.rung.set(notice.id, notice.told_at);
    }
  }

  // What a document may not show any more, since it is over: all that was told since the last that is known.
  async ask() {
    for (;;) {
      const { items } = await this.get(`/api/v1/notices?told_after=${this.cursor}`);
      if (items.length === 0) return;
      for (const notice of items) this.told.push([notice.id, notice.told_at]);
      this.cursor = items.at(-1).cursor;
    }
  }

  // Until it has seen a document of this revision or a later one; bounded.
  async reaches(revision) {
    for (const end = Date.now() + CATCH_UP_MS; Date.now() < end && !this.failure && this.looked < revision;) await pause(AGAIN_MS);
    if (this.failure) throw this.failure;
    assert.ok(this.looked >= revision, `revision ${revision} was never told: the page stands at ${this.looked}, the stream at ${this.heard}`);
  }

  // For the last time.
  async caughtUp(revision) {
    try { await this.reaches(revision); } finally { await this.end(); }
    assert.deepEqual([this.heard, this.looked], [revision, revision]);
  }

  end() {
    this.ended = true;
    this.aborting.abort();
    return this.running;
  }

  // `notices`: all of the record. `unheard`: ids of those that were put aside before the page could show them.
  check(notices, unheard) {
    const told = notices.filter((notice) => notice.told_at !== null);
    const byId = ([a], [b]) => a - b;
    assert.deepEqual([...this.told].sort(byId), told.map((notice) => [notice.id, notice.told_at]).sort(byId), 'who waits for events has missed what was told, or got it twice');
    for (let i = 1; i < this.told.length; i += 1) assert.ok(Date.parse(this.told[i][1]) >= Date.parse(this.told[i - 1][1]), 'it came in another order than it was told');
    for (const notice of told) {
      if (notice.withdrawn_at === null && !unheard.has(notice.id)) assert.ok(this.rung.has(notice.id), `the page never rang for notice ${notice.id}: ${notice.text}`);
      assert.ok([undefined, notice.told_at].includes(this.rung.get(notice.id)), `notice ${notice.id} rang as told at ${this.rung.get(notice.id)}, the record says ${notice.told_at}`);
    }
    for (const id of this.rung.keys()) assert.ok(told.some((notice) => notice.id === id), `notice ${id} rang, and was never told`);
  }
}

// By the same document: its moment has come, and each coat that it speaks of is past it.
function checkNotEarly(notice, document) {
  const what = JSON.stringify([notice.id, notice.kind, notice.stage, notice.due_at, notice.told_at, document.as_of_at]);
  if (BEFORE.has(notice.kind)) return;
  assert.ok(Date.parse(notice.told_at) >= Date.parse(notice.due_at), `told before its moment: ${what}`);
  if (!['window-opens', 'stage-reached'].includes(notice.kind)) return;
  for (const id of notice.coats) {
    const stage = document.coats.find((coat) => coat.id === id)?.stages.find((one) => one.stage === notice.stage);
    const opens = stage?.spans[0].until?.likely_at;
    const ahead = stage?.current === 0 && !(Date.parse(opens) <= Date.parse(document.as_of_at) + ROUNDING_MS);
    assert.ok(!ahead, `told, and coat ${id} is ${stage?.state} until ${opens}: ${what}`);
  }
}

module.exports = { Follower };
