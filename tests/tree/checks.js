// Checks of the source tree. Each takes the root of a tree and returns its findings as "file:line: what", so that the tests can
// hold them to a bad example as well.
'use strict';
const { execFileSync } = require('node:child_process');
const fs = require('node:fs');
const os = require('node:os');
const path = require('node:path');

const SKIPPED = new Set(['.git', 'build', 'build-san', 'node_modules']);

function filesUnder(root, folder, pattern) {
  const found = [];
  const walk = (relative) => {
    for (const entry of fs.readdirSync(path.join(root, relative), { withFileTypes: true })) {
      const name = path.posix.join(relative, entry.name);
      if (entry.isDirectory()) {
        if (!SKIPPED.has(entry.name)) walk(name);
      } else if (pattern.test(entry.name)) {
        found.push(name);
      }
    }
  };
  if (fs.existsSync(path.join(root, folder))) walk(folder);
  return found.sort();
}

const readLines = (root, file) => fs.readFileSync(path.join(root, file), 'utf8').split('\n');

// Comments blanked, strings kept, lines where they were.
function withoutComments(text) {
  return text.replace(/"(?:[^"\\\n]|\\.)*"|'(?:[^'\\\n]|\\.)+'|\/\*[^]*?\*\/|\/\/[^\n]*/g,
    (part) => (part.startsWith('/') ? part.replace(/[^\n]/g, ' ') : part));
}

function findLines(root, files, pattern, say, { comments = true } = {}) {
  const findings = [];
  for (const file of files) {
    const text = fs.readFileSync(path.join(root, file), 'utf8');
    (comments ? text : withoutComments(text)).split('\n').forEach((line, i) => {
      const match = pattern.exec(line);
      if (match) findings.push(`${file}:${i + 1}: ${say(match)}`);
    });
  }
  return findings;
}

// ---- arrows ----

const C_LIBRARY = ['assert', 'complex', 'ctype', 'errno', 'float', 'inttypes', 'limits', 'math', 'stdarg', 'stdbool', 'stddef',
  'stdint', 'stdio', 'stdlib', 'string', 'strings', 'sys/types'].map((name) => `<${name}.h>`);

// First row whose folder holds the file counts. `own`: what may be included with quotes; `system`: with angles (any, where not given).
const ARROWS = [
  { folder: 'include/coat/', own: [/^coat\//], system: C_LIBRARY },
  { folder: 'daemon/core/', own: [/^coat\//], system: C_LIBRARY },
  { folder: 'daemon/store/', own: [/^coat\//, /^daemon\/store\//] },
  { folder: 'daemon/notify/', own: [/^coat\//, /^daemon\/notify\//] },
  { folder: 'daemon/http/', own: [/^coat\//, /^daemon\/http\//] },
  { folder: 'daemon/sense/', own: [/^coat\//, /^daemon\/sense\//] },
  { folder: 'daemon/courier/', own: [/^coat\//, /^daemon\/courier\//] },
  { folder: 'daemon/shop/', own: [/^coat\//, /^daemon\/shop\//, /^daemon\/store\/store\.h$/] },
  { folder: 'daemon/child.c', own: [/^coat\//] }, // shared by sense and notify
  { folder: 'daemon/link.c', own: [/^coat\//] },
  { folder: 'daemon/', own: [/^coat\//, /^daemon\/(?!main\b)/] },
  { folder: 'cli/', own: [/^coat\//, /^cli\//] },
];

function arrowFindings(root) {
  const findings = [];
  const files = ['include', 'daemon', 'cli'].flatMap((folder) => filesUnder(root, folder, /\.[ch]$/));
  for (const file of files) {
    const rule = ARROWS.find((row) => file.startsWith(row.folder));
    readLines(root, file).forEach((line, i) => {
      const match = /^\s*#\s*include\s*(?:"([^"]+)"|(<[^>]+>))/.exec(line);
      if (!match) return;
      const allowed = match[1]
        ? rule.own.some((pattern) => pattern.test(match[1]))
        : (!rule.system || rule.system.includes(match[2])) && (file.startsWith('daemon/store/') || match[2] !== '<sqlite3.h>');
      if (!allowed) findings.push(`${file}:${i + 1}: ${rule.folder} must not include ${match[1] || match[2]}`);
    });
  }
  return findings;
}

function sqlFindings(root) {
  const files = ['include', 'daemon', 'cli'].flatMap((folder) => filesUnder(root, folder, /\.[ch]$/))
    .filter((file) => !file.startsWith('daemon/store/'));
  return findLines(root, files, /sqlite3/, () => 'only daemon/store speaks sqlite3');
}

// ---- the core is pure ----

const IMPURE = new RegExp('\\b(?:fopen|freopen|open|read|write|printf|fprintf|vprintf|vfprintf|sprintf|vsprintf|puts|putchar|fputs|'
  + 'fwrite|fread|scanf|sscanf|system|malloc|calloc|realloc|free|strdup|getenv|setenv|setlocale|time|gmtime|localtime|mktime|rand|'
  + 'random|srand|exit|abort|usleep|sleep|nanosleep|clock_\\w+|gettimeofday|pthread_\\w+)\\s*\\(');

function impureCalls(root) {
  return findLines(root, filesUnder(root, 'daemon/core', /\.[ch]$/), IMPURE,
    (match) => `the core must not call ${match[0].replace(/\s*\($/, '')}`, { comments: false });
}

// What pure code may take from outside: arithmetic, text in memory, reading numbers, bytes of a table for characters.
const PURE_SYMBOLS = new RegExp('^(?:(?:exp|log|log1p|log2|log10|exp2|expm1|pow|sqrt|cbrt|fabs|fmin|fmax|floor|ceil|round|trunc|rint|'
  + 'nearbyint|fmod|erf|erfc|hypot|sin|cos|lround|llround|lrint|llrint|nan|ldexp|frexp|modf)f?'
  + '|mem(?:cpy|move|set|cmp|chr)|str(?:n?len|n?cmp|n?casecmp|r?chr|str|c?spn|pbrk|cpy|ncpy|cat|ncat|tod|tol|toll|tou?ll?)|stpcpy'
  + '|v?snprintf|__v?snprintf_chk|__(?:mem|str)\\w+_chk|__stack_chk_fail|__isoc23_strto\\w+|__ctype_b_loc|__ctype_tolower_loc|__ctype_toupper_loc'
  + '|tolower|toupper|is(?:alpha|digit|space|alnum|upper|lower|print)|abs|labs|llabs|qsort|bsearch|_GLOBAL_OFFSET_TABLE_)$');

function compileCore(root) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), 'coat-tree-'));
  try {
    return filesUnder(root, 'daemon/core', /\.c$/).map((file) => {
      const object = path.join(folder, `${path.basename(file, '.c')}.o`);
      execFileSync(process.env.CC || 'cc', ['-std=gnu17', '-D_GNU_SOURCE', '-O1', '-fno-pic', '-I', path.join(root, 'include'), '-I', root, '-c',
        path.join(root, file), '-o', object]);
      const told = execFileSync('nm', ['--format=posix', object], { encoding: 'utf8' });
      return { file, symbols: told.split('\n').filter(Boolean).map((line) => line.split(' ')) };
    });
  } finally {
    fs.rmSync(folder, { recursive: true, force: true });
  }
}

// Variables that can change (nm says b, d, g, s or C; read-only tables are r), and calls out of the core. Compiled at a fixed place,
// a constant table of pointers is read-only too.
function coreSymbolFindings(root) {
  const findings = [];
  const objects = compileCore(root);
  const own = new Set(objects.flatMap(({ symbols }) => symbols.filter(([, kind]) => kind !== 'U').map(([name]) => name)));
  for (const { file, symbols } of objects) {
    for (const [name, kind] of symbols) {
      if (/^[bBdDgGsSC]$/.test(kind)) findings.push(`${file}: ${name} is a variable; the core has none`);
      if (kind === 'U' && !own.has(name) && !PURE_SYMBOLS.test(name)) findings.push(`${file}: ${name} is not for the core`);
    }
  }
  return findings;
}

// ---- functions ----

// Bodies as clang-format would lay them: "{" and "}" in the first column, after a line that ends a list of parameters.
function functionLengths(root) {
  const lengths = [];
  for (const file of ['daemon', 'cli'].flatMap((folder) => filesUnder(root, folder, /\.c$/))) {
    const lines = readLines(root, file);
    let begin = -1;
    lines.forEach((line, i) => {
      if (line === '{' && i > 0 && /\)\s*$/.test(lines[i - 1])) begin = i;
      if (line === '}' && begin >= 0) {
        lengths.push({ file, line: begin, lines: i - begin + 1 });
        begin = -1;
      }
    });
  }
  return lengths;
}

const FUNCTION_LINES_MAX = 80;

function longFunctions(root) {
  return functionLengths(root).filter(({ lines }) => lines > FUNCTION_LINES_MAX)
    .map(({ file, line, lines }) => `${file}:${line}: a function of ${lines} lines; at most ${FUNCTION_LINES_MAX}`);
}

function medianLength(root) {
  const lengths = functionLengths(root).map(({ lines }) => lines).sort((a, b) => a - b);
  return lengths[Math.floor(lengths.length / 2)];
}

// ---- texts ----

const TEXT = /\.(?:[ch]|js|mjs|css|html|json|md|sh|mk|csv|1|svg|txt)$|^Makefile$/;
const ownText = (root) => filesUnder(root, '.', TEXT).filter((file) => !file.startsWith('tests/tree/'));

const MACHINE = new RegExp('(?<![\\w.~])/(?:work|farm|root|mnt|Users|home)/[\\w.]');

function machinePaths(root) {
  return findLines(root, ownText(root), MACHINE, (match) => `a path of one machine: ${match[0]}`);
}

function marks(root) {
  return findLines(root, ownText(root), /\b(?:TODO|FIXME|XXX|HACK)\b/, (match) => `an open end: ${match[0]}`);
}

function guardFindings(root) {
  return filesUnder(root, 'include/coat', /\.h$/).flatMap((file) => {
    const text = withoutComments(fs.readFileSync(path.join(root, file), 'utf8')).trim();
    const guard = `COAT_${path.basename(file, '.h').toUpperCase()}_H`;
    const guarded = new RegExp(`^#ifndef ${guard}\\n#define ${guard}\\n[^]*\\n#endif$`).test(text);
    return guarded ? [] : [`${file}:1: has no include guard ${guard}`];
  });
}

// A namespace is a name, not an address that anything fetches.
function outsideRequests(root) {
  const files = filesUnder(root, 'web', /\.(?:js|css|html|svg|json|webmanifest)$/);
  return findLines(root, files, /(?:https?:|wss?:|["'(]\s*)\/\/(?!www\.w3\.org\/(?:2000\/svg|1999\/xhtml|1999\/xlink)["'])[\w[]/,
    () => 'the page asks nothing outside');
}

const TOP_LEVEL = new Set(['README.md', 'DEVELOPERS.md', 'SAFETY.md', 'Makefile', 'LICENSE', 'daemon', 'cli', 'include', 'tests', 'web',
  'demo', 'build', 'build-san']); // the last two are made, and not kept

function topLevel(root) {
  return fs.readdirSync(root).filter((name) => !name.startsWith('.') && !TOP_LEVEL.has(name))
    .map((name) => `${name}: does not belong in the top folder`);
}

module.exports = { arrowFindings, sqlFindings, impureCalls, coreSymbolFindings, longFunctions, medianLength, functionLengths, machinePaths,
  marks, guardFindings, outsideRequests, topLevel };
