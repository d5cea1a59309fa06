// What a machine can check of WCAG 2.1 AA: names, roles, contrast, in every view, light and dark.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const axe = require('axe-core');
const { launch, openPage, settled } = require('./browser.js');
const { serveFixture } = require('./fixture-server.js');

let browser, full, empty;
before(async () => { browser = await launch(); full = await serveFixture(); empty = await serveFixture({ empty: true }); });
after(async () => { await browser.close(); await full.close(); await empty.close(); });

async function findings(page) {
  await page.evaluate(axe.source); // past the page's own policy: the policy holds for what the page loads
  const { violations } = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
  return violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 120)).join(' | ')} ${one.nodes[0].failureSummary.slice(0, 200)}`);
}

for (const [size, scheme] of [['wall', 'light'], ['wall', 'dark'], ['phone', 'light'], ['phone', 'dark']]) {
  test(`no finding on a ${size} in ${scheme}`, async () => {
    const { page, close } = await openPage(browser, full.url, { size, scheme, context: { bypassCSP: true } });
    for (const hash of ['', '#line', '#log?piece=1&material=2', '#piece?id=3', '#air', '#notices', '#material', '#shop', '#more', '#check', '#check?material=4&place=1&piece=1', '#check?material=2&place=1', '#mix', '#tins']) {
      await page.goto(full.url + hash);
      await page.locator('#view h1').first().waitFor({ state: 'attached' });
      await settled(page);
      assert.deepEqual(await findings(page), [], `view ${hash || 'home'}`);
    }
    await close();
    const bare = await openPage(browser, empty.url, { size, scheme, context: { bypassCSP: true } });
    await bare.page.getByText('Nothing hangs on the line yet').waitFor();
    assert.deepEqual(await findings(bare.page), [], 'empty shop');
    await bare.close();
  });
}
