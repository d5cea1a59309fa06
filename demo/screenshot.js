// Takes the picture of the page that the README shows: node demo/screenshot.js URL OUT.png [light|dark] [WIDTHxHEIGHT]
// Starts nothing itself: the shop must be running. Needs what `npm ci` in tests/ installs, and a chromium.
'use strict';

const path = require('node:path');
const { chromium } = require(path.join(__dirname, '..', 'tests', 'node_modules', 'playwright-core'));

async function main([url, out, scheme = 'light', size = '1280x800']) {
  if (!url || !out) throw new Error('usage: node demo/screenshot.js URL OUT.png [light|dark] [WIDTHxHEIGHT]');
  const [width, height] = size.split('x').map(Number);
  const browser = await chromium.launch({ executablePath: process.env.COAT_CHROMIUM || '/usr/bin/chromium', args: ['--no-sandbox'] });
  try {
    const page = await browser.newPage({ viewport: { width, height }, colorScheme: scheme });
    await page.goto(url);
    await page.locator('#view .rows, #view form, #view h1').first().waitFor();
    await page.waitForTimeout(500);
    await page.screenshot({ path: out });
  } finally { await browser.close(); }
}

main(process.argv.slice(2)).catch((error) => { console.error(error.message); process.exitCode = 1; });
