// The README's walk, run as it stands there: each command against a shop on a test clock, each answer word for word.
//
// A block of it is a comment with the moment, then a ```console block. "[...]" stands for lines that the README leaves out.
// When the wording of an answer changes: COAT_WRITE_README=1 node --test tests/api/readme.test.js, and read the difference.
'use strict';
const test = require('node:test');
const assert = require('node:assert');
const { spawnSync } = require('node:child_process');
const fs = require('node:fs');
const path = require('node:path');
const { startDaemon, BUILD } = require('./daemon.js');

const README = path.resolve(__dirname, '../../README.md');
const BLOCK = /<!-- walk (\S+) -->\n```console\n([\s\S]*?)```/g;
const LEFT_OUT = '[...]';

// "$ coat ..." with the lines that go on after a backslash, and the answer that stands below it.
function readSteps(body) {
  const steps = [];
  let goesOn = false;
  for (const line of body.replace(/\n$/, '').split('\n')) {
    if (goesOn) steps.at(-1).command.push(line);
    else if (line.startsWith('$ ')) steps.push({ command: [line], answer: [] });
    else steps.at(-1).answer.push(line);
    goesOn = line.endsWith('\\') && (goesOn || line.startsWith('$ '));
  }
  return steps;
}

function run(step, url) {
  const command = step.command.join('\n').slice(2);
  const child = spawnSync('sh', ['-c', `exec 2>&1\n${command}`], {
    encoding: 'utf8',
    timeout: 10000,
    env: { PATH: `${BUILD}:${process.env.PATH}`, COAT_SERVER: url, HOME: '/nonexistent', LC_ALL: 'C' },
  });
  assert.ifError(child.error);
  return child.stdout.replace(/\n$/, '').split('\n').map((line) => line.trimEnd());
}

// What the README would say: the answer, less as many lines as it leaves out.
function shorten(found, told) {
  const gap = told.indexOf(LEFT_OUT);
  if (gap < 0 || found.length <= told.length) return found;
  const after = told.length - gap - 1;
  return [...found.slice(0, gap), LEFT_OUT, ...(after > 0 ? found.slice(-after) : [])];
}

// A line that is left empty between two commands belongs to the look, not to the answer.
function splitLook(answer) {
  const look = answer.at(-1) === '' ? [''] : [];
  return { told: answer.slice(0, answer.length - look.length), look };
}

async function walk(text, onStep) {
  const blocks = [...text.matchAll(BLOCK)];
  assert.notStrictEqual(blocks.length, 0);
  const daemon = await startDaemon({ testClock: blocks[0][1] });
  try {
    for (const [, at, body] of blocks) {
      const moved = await daemon.advance(at);
      assert.strictEqual(moved.status, 200, moved.text);
      for (const step of readSteps(body)) {
        const { told, look } = splitLook(step.answer);
        onStep(step, told, shorten(run(step, daemon.url), told), look);
      }
    }
  } finally {
    await daemon.stop();
  }
}

test('each command of the README answers what the README says', async () => {
  let text = fs.readFileSync(README, 'utf8');
  if (process.env.COAT_WRITE_README) {
    const written = [];
    await walk(text, (step, told, found, look) => written.push([...step.command, ...found, ...look].join('\n')));
    text = text.replace(BLOCK, (block, at, body) => {
      const steps = written.splice(0, readSteps(body).length);
      return `<!-- walk ${at} -->\n\`\`\`console\n${steps.join('\n')}\n\`\`\``;
    });
    fs.writeFileSync(README, text);
  }
  await walk(text, (step, told, found) => assert.deepStrictEqual(found, told, step.command.join('\n')));
});
