// The clock face of a screen: 24 hours until somebody chooses 12, and each screen for itself.
'use strict';

const assert = require('node:assert/strict');
const { after, before, test } = require('node:test');
const { launch, openPage } = require('./browser.js');
const { serveFixture } = require('./fixture-server.js');

let browser, full;
before(async () => { browser = await launch(); full = await serveFixture(); });
after(async () => { await browser.close(); await full.close(); });

test('times are told on the face that the screen chose, and it stays', async () => {
  const { page, context, close } = await openPage(browser, `${full.url}#shop`, { size: 'wall' });
  const clock = () => page.locator('h1 [data-clock=hm]').innerText();
  await page.getByRole('button', { name: '12-hour clock' }).click();
  await page.getByRole('button', { name: '24-hour clock' }).waitFor();
  await page.goto(`${full.url}#`);
  await page.locator('h1 [data-clock=hm]').waitFor();
  const twelve = await clock();
  assert.match(twelve, /^([1-9]|1[0-2]):\d\d (am|pm)$/i);
  assert.doesNotMatch(await page.locator('.now').innerText(), /\b(1[3-9]|2[0-3]):\d\d\b/);
  const again = await context.newPage();
  await again.goto(`${full.url}#`);
  await again.locator('h1 [data-clock=hm]').waitFor();
  assert.match(await again.locator('h1 [data-clock=hm]').innerText(), /(am|pm)$/i);
  await page.goto(`${full.url}#shop`);
  await page.getByRole('button', { name: '24-hour clock' }).click();
  await page.goto(`${full.url}#`);
  await page.locator('h1 [data-clock=hm]').waitFor();
  const [hour, minute, half] = /^(\d+):(\d\d) (am|pm)$/i.exec(twelve).slice(1);
  const same = `${String((Number(hour) % 12) + (/pm/i.test(half) ? 12 : 0)).padStart(2, '0')}:${minute}`;
  assert.equal((await clock()).slice(0, 2), same.slice(0, 2));
  await close();
});

for (const size of ['small', 'phone']) {
  test(`given a line with time down on a ${size} and 12 hours on its face, then no hour beside it is cut: 12 pm is not read as 2 pm`, async () => {
    const { page, close } = await openPage(browser, `${full.url}#shop`, { size });
    await page.getByRole('button', { name: '12-hour clock' }).click();
    await page.goto(`${full.url}#line`);
    await page.locator('.axis text', { hasText: /m$/ }).first().waitFor();
    const hours = await page.locator('.axis text').evaluateAll((all) => all.map((el) => ({ text: el.textContent, left: el.getBoundingClientRect().left })));
    assert.ok(hours.some(({ text }) => text === '12 pm'), hours.map(({ text }) => text).join());
    for (const { text, left } of hours) assert.ok(left >= 0, `${text} is cut`);
    await close();
  });
}
