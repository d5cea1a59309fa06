// The shape of the source tree: what DEVELOPERS.md promises about parts and arrows holds in the files.
'use strict';
const assert = require('node:assert/strict');
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');
const test = require('node:test');
const checks = require('./checks.js');

const ROOT = path.resolve(process.env.COAT_ROOT || path.join(__dirname, '../..'));

// A rule, the check that keeps it, and a small tree that breaks it: files, and the findings that must come.
const RULES = [
  {
    rule: 'arrows between the parts point one way',
    check: checks.arrowFindings,
    bad: {
      'daemon/core/a.c': '#include "daemon/shop/model.h"\n#include <unistd.h>\n',
      'daemon/store/a.c': '#include "daemon/shop/model.h"\n#include <sqlite3.h>\n',
      'daemon/http/a.c': '#include "daemon/store/store.h"\n#include <sqlite3.h>\n',
      'daemon/shop/a.c': '#include "daemon/store/sql.h"\n#include "daemon/store/store.h"\n',
      'daemon/courier/a.c': '#include "daemon/sense/mqtt.h"\n#include "daemon/courier/lines.h"\n',
      'daemon/notify/a.c': '#include "daemon/sense/child.h"\n#include "daemon/notify/sender.h"\n#include "coat/child.h"\n',
      'daemon/link.c': '#include "daemon/ear.h"\n#include "coat/link.h"\n',
      'daemon/loop.c': '#include "daemon/main.h"\n',
      'cli/a.c': '#include "daemon/http/json_out.h"\n#include "cli/doc.h"\n',
      'include/coat/a.h': '#include "daemon/clock.h"\n',
    },
    finds: ['include/coat/a.h:1:', 'daemon/courier/a.c:1:', 'daemon/core/a.c:1:', 'daemon/core/a.c:2:', 'daemon/http/a.c:1:', 'daemon/http/a.c:2:', 'daemon/link.c:1:', 'daemon/loop.c:1:',
      'daemon/notify/a.c:1:',
      'daemon/shop/a.c:1:', 'daemon/store/a.c:1:', 'cli/a.c:1:'],
  },
  {
    rule: 'only the store speaks to the database',
    check: checks.sqlFindings,
    bad: { 'daemon/store/a.c': 'sqlite3 *db;\n', 'daemon/shop/a.c': '\nstruct sqlite3;\n' },
    finds: ['daemon/shop/a.c:2:'],
  },
  {
    rule: 'the core calls no file, no clock and no memory',
    check: checks.impureCalls,
    bad: { 'daemon/core/a.c': '/* time() is not asked */\nint a(void)\n{\n    return (int)time(NULL) + printf("malloc(");\n}\n', 'daemon/core/b.c': 'x = snprintf(a, 1, "");\n' },
    finds: ['daemon/core/a.c:4:'],
  },
  {
    rule: 'the core keeps no variable and takes nothing from outside but arithmetic and text',
    check: checks.coreSymbolFindings,
    bad: {
      'daemon/core/a.c': '#include <time.h>\nstatic int calls;\nint kept = 3;\nstatic const char *const words[] = {"a"};\nstatic const char *moved[] = {"b"};\n'
        + 'const char *a(int i)\n{\n    calls++;\n    kept += i;\n    moved[0] = words[0] + i;\n    return time(0) > kept + calls ? words[i] : moved[i];\n}\n',
    },
    finds: ['daemon/core/a.c: calls', 'daemon/core/a.c: kept', 'daemon/core/a.c: moved', 'daemon/core/a.c: time'],
  },
  {
    rule: 'no function is longer than 80 lines',
    check: checks.longFunctions,
    bad: { 'cli/a.c': `int a(void)\n{\n${'    b();\n'.repeat(79)}}\n\nint c(void)\n{\n${'    b();\n'.repeat(78)}}\n` },
    finds: ['cli/a.c:1:'],
  },
  {
    rule: 'no path of one machine is written down',
    check: checks.machinePaths,
    bad: { 'README.md': 'See /home/someone/shop.\n', 'daemon/a.c': '"/tmp/coat-XXXXXX" and /api/v1/home/a and ~/shop/x\n' },
    finds: ['README.md:1:'],
  },
  {
    rule: 'nothing is left to be done later',
    check: checks.marks,
    bad: { 'web/a.js': '// TODO\n', 'web/b.js': '// mkdtemp("coat-XXXXXX")\n' },
    finds: ['web/a.js:1:'],
  },
  {
    rule: 'every shared header has an include guard',
    check: checks.guardFindings,
    bad: { 'include/coat/a.h': 'int a;\n', 'include/coat/b.h': '/* b */\n#ifndef COAT_B_H\n#define COAT_B_H\nint b;\n#endif\n' },
    finds: ['include/coat/a.h:1:'],
  },
  {
    rule: 'the page requests nothing outside',
    check: checks.outsideRequests,
    bad: {
      'web/a.html': '<svg xmlns="http://www.w3.org/2000/svg">\n<script src="//cdn.example/x.js"></script>\n',
      'web/a.css': '@import url(https://fonts.example/x.css);\n',
      'web/a.js': 'const a = 1; // a comment\nfetch("/api/v1/shop");\n',
    },
    finds: ['web/a.css:1:', 'web/a.html:2:'],
  },
  {
    rule: 'the top folder holds the parts and little else',
    check: checks.topLevel,
    bad: { 'README.md': '', 'notes.txt': '', '.gitignore': '', 'demo/demo.sh': '' },
    finds: ['notes.txt:'],
  },
];

function badTree(files) {
  const root = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-tree-'));
  for (const [name, text] of Object.entries(files)) {
    fs.mkdirSync(path.dirname(path.join(root, name)), { recursive: true });
    fs.writeFileSync(path.join(root, name), text);
  }
  return root;
}

for (const { rule, check, bad, finds } of RULES) {
  test(rule, () => {
    assert.deepEqual(check(ROOT), []);
  });
  test(`a tree that breaks it is found: ${rule}`, () => {
    const root = badTree(bad);
    try {
      const found = check(root);
      assert.equal(found.length, finds.length, found.join('\n'));
      for (const finding of finds) assert.ok(found.some((line) => line.startsWith(finding)), `${finding} in\n${found.join('\n')}`);
    } finally {
      fs.rmSync(root, { recursive: true, force: true });
    }
  });
}

test('functions are found, and most are short', (t) => {
  const lengths = checks.functionLengths(ROOT);
  const median = checks.medianLength(ROOT);
  t.diagnostic(`${lengths.length} functions, median ${median} lines, longest ${Math.max(...lengths.map(({ lines }) => lines))}`);
  assert.ok(lengths.length > 500);
  assert.ok(median <= 20, `the median function has ${median} lines`);
});
