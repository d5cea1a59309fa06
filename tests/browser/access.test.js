// What a machine can check of WCAG 2.1 AA: names, roles, contrast, in every view, light and dark.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const axe = require('axe-core');
const { launch, openPage, settled, visitView } = require('./browser.js');
const { serveFixture } = require('./fixture-server.js');

let browser, full, empty;
before(async () => { browser = await launch(); full = await serveFixture(); empty = await serveFixture({ empty: true }); });
after(async () => { await browser.close(); await full.close(); await empty.close(); });

const RULES = { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] }, CONTRAST = { type: 'rule', values: ['color-contrast'] };

async function findings(page, runOnly) {
  const { violations } = await page.evaluate((only) => globalThis.axe.run(document, { runOnly: only, resultTypes: ['violations'] }), runOnly);
  return violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 120)).join(' | ')} ${one.nodes[0].failureSummary.slice(0, 200)}`);
}

// Names and roles are the same in both schemes: in the dark the contrast is looked at again.
async function assertNone(page, what) {
  await page.evaluate(axe.source); // past the page's own policy: the policy holds for what the page loads
  assert.deepEqual(await findings(page, RULES), [], `${what}, light`);
  await page.emulateMedia({ colorScheme: 'dark' });
  await page.waitForFunction(() => matchMedia('(prefers-color-scheme: dark)').matches);
  assert.deepEqual(await findings(page, CONTRAST), [], `${what}, dark`);
  await page.emulateMedia({ colorScheme: 'light' });
}

const VIEWS = ['', 'line', 'log?piece=1&material=2', 'piece?id=3', 'air', 'notices', 'material', 'shop', 'more', 'check', 'check?material=4&place=1&piece=1', 'check?material=2&place=1', 'mix', 'tins'];
for (const size of ['wall', 'phone']) {
  test(`no finding on a ${size}, light and dark`, async () => {
    const { page, close } = await openPage(browser, full.url, { size, context: { bypassCSP: true } });
    for (const hash of VIEWS) {
      await visitView(page, full.url, hash);
      await settled(page);
      await assertNone(page, `view ${hash || 'home'}`);
    }
    await close();
    const bare = await openPage(browser, empty.url, { size, context: { bypassCSP: true } });
    await bare.page.getByText('Nothing hangs on the line yet').waitFor();
    await assertNone(bare.page, 'empty shop');
    await bare.close();
  });
}
