// Starts build/coatd on a scratch file and a free port, and stops it by its pid. Used by the API, CLI and browser tests.
//
//   const d = await startDaemon({ testClock: '2026-11-28T08:00:00Z' });
//   const { status, body } = await d.post('/api/v1/places', { name: 'shed' });
//   await d.stop();
'use strict';
const { spawn } = require('node:child_process');
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');
const { after } = require('node:test');

const BUILD = path.resolve(__dirname, process.env.COAT_BUILD || '../../build');
const COATD = path.join(BUILD, 'coatd');

// Services that a test which failed left behind: they would hold its file up until the limit of a suite.
const running = new Set();
if (process.env.NODE_TEST_CONTEXT) queueMicrotask(() => after(() => Promise.all([...running].map((daemon) => daemon.stop('SIGKILL'))))); // after what the file itself does at its end

function scratchFolder() {
  return fs.mkdtempSync(path.join(os.tmpdir(), 'coat-test-'));
}

// Runs coatd to its end (bad usage, refused starts): { code, signal, stdout, stderr }.
function runDaemon(args, options = {}) {
  return new Promise((resolve, reject) => {
    const child = spawn(COATD, args, { stdio: ['ignore', 'pipe', 'pipe'], ...options });
    let stdout = '';
    let stderr = '';
    const limit = setTimeout(() => child.kill('SIGKILL'), options.limitMs || 5000);
    child.stdout.on('data', (chunk) => { stdout += chunk; });
    child.stderr.on('data', (chunk) => { stderr += chunk; });
    child.on('error', reject);
    child.on('close', (code, signal) => {
      clearTimeout(limit);
      resolve({ code, signal, stdout, stderr });
    });
  });
}

function waitForReady(child, log) {
  return new Promise((resolve, reject) => {
    let text = '';
    const fail = (why) => reject(new Error(`coatd did not get ready: ${why}\n${log.stderr}`));
    const limit = setTimeout(() => fail('no ready line in 10 s'), 10000);
    child.on('error', (error) => { clearTimeout(limit); fail(error.message); });
    child.on('exit', (code, signal) => { clearTimeout(limit); fail(`it ended with ${code ?? signal}`); });
    child.stdout.on('data', (chunk) => {
      text += chunk;
      log.stdout += chunk;
      const ready = /^coatd: ready on (http:\S+) \(file (.*)\)$/m.exec(text);
      if (ready) {
        clearTimeout(limit);
        resolve({ url: ready[1], file: ready[2], line: ready[0] });
      }
    });
  });
}

async function readAnswer(response) {
  const text = await response.text();
  const type = response.headers.get('content-type') || '';
  const body = /\bjson\b/.test(type) && text !== '' ? JSON.parse(text) : text;
  return { status: response.status, headers: response.headers, body, text };
}

// options: testClock ("START[,RATE]"), db (a file; else a scratch one), args (more arguments), env, before (words of a command that becomes the service).
async function startDaemon(options = {}) {
  const folder = options.db ? null : scratchFolder();
  const db = options.db || path.join(folder, 'shop.coat');
  const args = ['--db', db, '--listen', '127.0.0.1:0'];
  if (options.testClock) args.push('--test-clock', options.testClock);
  args.push(...(options.args || []));
  const [program, ...rest] = [...(options.before || []), COATD, ...args];
  const child = spawn(program, rest, { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ...options.env } });
  const log = { stdout: '', stderr: '' };
  child.stderr.on('data', (chunk) => { log.stderr += chunk; });
  const exited = new Promise((resolve) => child.on('close', (code, signal) => resolve({ code, signal })));
  const ready = await waitForReady(child, log);

  const send = async (method, target, document, headers = {}) => {
    const request = { method, headers: { ...headers } };
    if (document !== undefined) {
      request.headers['content-type'] ||= 'application/json';
      request.body = typeof document === 'string' ? document : JSON.stringify(document);
    }
    return readAnswer(await fetch(ready.url + target, request));
  };

  const daemon = {
    url: ready.url,
    port: Number(new URL(ready.url).port),
    pid: child.pid,
    db,
    log,
    readyLine: ready.line,
    exited,
    send,
    get: (target, headers) => send('GET', target, undefined, headers),
    post: (target, document = {}, headers) => send('POST', target, document, headers),
    put: (target, document, headers) => send('PUT', target, document, headers),
    patch: (target, document, headers) => send('PATCH', target, document, headers),
    del: (target, headers) => send('DELETE', target, undefined, headers),
    // Moves a test clock on, through every due moment: '2026-11-28T14:00:00Z' or seconds.
    advance: (to) => send('POST', '/api/v1/clock', typeof to === 'number' ? { advance_s: to } : { to_at: to }),
    // Ends the process (SIGTERM; SIGKILL after 3 s) and removes the scratch folder: { code, signal }.
    async stop(signal = 'SIGTERM', { keep = false } = {}) {
      if (child.exitCode === null && child.signalCode === null) child.kill(signal);
      const limit = setTimeout(() => child.kill('SIGKILL'), 3000);
      const end = await exited;
      clearTimeout(limit);
      running.delete(daemon);
      if (folder && !keep) fs.rmSync(folder, { recursive: true, force: true });
      return end;
    },
  };
  running.add(daemon);
  return daemon;
}

const COAT = path.join(BUILD, 'coat');

// The command line, asking the service at that address; ended after 20 s whatever it does.
function coatAt(url, env = {}, cwd = undefined) {
  return (...args) => new Promise((resolve, reject) => {
    const child = spawn(COAT, args, { cwd, stdio: ['ignore', 'pipe', 'pipe'], env: { PATH: process.env.PATH, TERM: 'xterm', COAT_SERVER: url, ...env } });
    const limit = setTimeout(() => child.kill('SIGKILL'), 20000);
    let stdout = '';
    let stderr = '';
    child.stdout.setEncoding('utf8').on('data', (chunk) => { stdout += chunk; });
    child.stderr.setEncoding('utf8').on('data', (chunk) => { stderr += chunk; });
    child.on('error', reject);
    child.on('close', (code, signal) => { clearTimeout(limit); resolve({ code: code ?? signal, stdout, stderr, args }); });
  });
}

module.exports = { startDaemon, runDaemon, scratchFolder, coatAt, BUILD, COAT, COATD };
