/** Draws the pictures of the documentation anew from a demo field: `views/pictures/*.png`. */
import { mkdir, mkdtemp, rm } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { chromium, type Browser } from 'playwright-core';
import { createApp, projectRoot } from './app.ts';
import { chromiumArguments, findChromium } from './chromium.ts';
import { listDemoFields } from './demo.ts';
import { wholeCore } from './wholeCore.ts';

const pictures = path.join(projectRoot, 'views', 'pictures');
const demoDir = path.join(projectRoot, 'demo-data');

async function draw(browser: Browser, url: string, field: string): Promise<void> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 1150 }, colorScheme: 'light' });
  await page.goto(`${url}/`);
  await page.screenshot({ path: path.join(pictures, 'start.png') });
  await page.goto(`${url}/demo/${field}`);
  await page.waitForSelector('.verdict', { timeout: 120_000 });
  await page.screenshot({ path: path.join(pictures, 'result.png') });
  for (const part of ['error', 'cost', 'map'])
    await page.locator(`#${part}`).screenshot({ path: path.join(pictures, `${part}.png`) });
  await page
    .locator('.analyte')
    .first()
    .screenshot({ path: path.join(pictures, 'variogram.png') });
  await page.setViewportSize({ width: 390, height: 844 });
  await page.screenshot({ path: path.join(pictures, 'phone.png') });
  await page.close();
}

const executablePath = findChromium();
if (!executablePath) {
  console.error('No Chromium was found: install one or set CHROMIUM to its path.');
  process.exit(1);
}
const dataDir = await mkdtemp(path.join(tmpdir(), 'lagstep-pictures-'));
const core = wholeCore(new URL('./adviceWorker.js', import.meta.url));
const server = createApp({ core, dataDir, demoDir }).listen(0, '127.0.0.1');
await new Promise((resolve) => server.once('listening', resolve));
const url = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
const browser = await chromium.launch({ executablePath, args: [...chromiumArguments] });
const fields = await listDemoFields(demoDir);
const field = process.argv[2] ?? fields.find((f) => f.id === 'long-reach')?.id ?? fields[0]?.id;
await mkdir(pictures, { recursive: true });
try {
  await draw(browser, url, field);
  console.log(`The pictures of ${field} are in views/pictures.`);
} finally {
  await browser.close();
  server.closeAllConnections();
  server.close();
  await rm(dataDir, { recursive: true, force: true });
}
