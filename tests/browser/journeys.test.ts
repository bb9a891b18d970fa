import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { chromium, type Browser, type Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { chromiumArguments, findChromium } from '../../server/chromium.ts';
import { startBuiltSite, type BuiltSite } from './site.ts';

const demo = (file: string) =>
  fileURLToPath(new URL(`../../demo-data/three-benches/${file}`, import.meta.url));
const widths = [1280, 390];

let site: BuiltSite;
let browser: Browser;
beforeAll(async () => {
  const executablePath = findChromium();
  if (!executablePath) throw new Error('No Chromium was found: install one or set CHROMIUM to its path.');
  site = await startBuiltSite();
  browser = await chromium.launch({ executablePath, args: [...chromiumArguments] });
}, 60_000);
afterAll(async () => {
  await browser?.close();
  await site?.stop();
});

async function verdict(page: Page): Promise<string> {
  await page.waitForSelector('.verdict h1', { timeout: 120_000 });
  return page.locator('.verdict h1').innerText();
}

async function downloadText(page: Page, name: string): Promise<string> {
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('link', { name }).first().click(),
  ]);
  return readFile(await download.path(), 'utf8');
}

const sideways = (page: Page) =>
  page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

/** Height in CSS pixels of the smallest text in the charts that are shown. */
const smallestChartText = (page: Page) =>
  page.evaluate(() => {
    const sizes = [...document.querySelectorAll<SVGTextElement>('svg.chart text')].flatMap((t) => {
      const svg = t.ownerSVGElement;
      const shown = svg?.getBoundingClientRect().width ?? 0;
      if (!svg || shown === 0) return [];
      return [(Number.parseFloat(getComputedStyle(t).fontSize) * shown) / svg.viewBox.baseVal.width];
    });
    return Math.min(...sizes);
  });

/** Pairs of chart labels lying over one another, within the charts that are shown. */
const overlappingLabels = (page: Page) =>
  page.evaluate(() => {
    const found: string[] = [];
    for (const svg of document.querySelectorAll('svg.error-chart, svg.cost-chart, svg.variogram-chart')) {
      if (svg.getBoundingClientRect().width === 0) continue;
      const labels = [...svg.querySelectorAll('text')].map((t) => ({
        t: t.textContent,
        b: t.getBoundingClientRect(),
      }));
      labels.forEach(({ t, b }, i) => {
        for (const other of labels.slice(i + 1)) {
          const wide = Math.min(b.right, other.b.right) - Math.max(b.left, other.b.left);
          const high = Math.min(b.bottom, other.b.bottom) - Math.max(b.top, other.b.top);
          if (wide > 1 && high > 4) found.push(`${svg.getAttribute('aria-label')}: ${t} / ${other.t}`);
        }
      });
    }
    return found;
  });

describe.each(widths)('at %i px wide', (width) => {
  let page: Page;
  let complaints: string[];
  beforeEach(async () => {
    page = await browser.newPage({ viewport: { width, height: 900 }, acceptDownloads: true });
    complaints = [];
    page.on('console', (m) => m.type() === 'error' && complaints.push(m.text()));
    page.on('pageerror', (e) => complaints.push(e.message));
    page.on('request', (r) => r.url().startsWith(site.url) || complaints.push(`asked for ${r.url()}`));
  });
  afterEach(async () => {
    expect(complaints).toEqual([]);
    await page.close();
  });

  it('leads from the questions to a verdict and its stops', async () => {
    await page.goto(site.url);
    expect(await sideways(page)).toBe(0);
    await page.getByRole('link', { name: 'Answer a few questions' }).click();
    expect(await sideways(page)).toBe(0);
    await page.getByLabel('How big is the field?').fill('160');
    await page.getByLabel('Hilly, with pale or worn knolls').check();
    await page.getByRole('button', { name: 'Show how densely to sample' }).click();
    expect(await verdict(page)).toMatch(/USD/);
    expect(await sideways(page)).toBe(0);
    expect(page.url()).toContain('slope=eroded');
    const stops = JSON.parse(await downloadText(page, 'Stops as GeoJSON'));
    expect(stops.type).toBe('FeatureCollection');
    expect(stops.features.length).toBeGreaterThan(0);
    const before = await page.locator('.verdict h1').innerText();
    await page.reload();
    expect(await verdict(page)).toBe(before);
    await page.getByRole('link', { name: 'Change the answers' }).click();
    expect(await page.getByLabel('How big is the field?').inputValue()).toBe('160');
    expect(await page.getByLabel('Hilly, with pale or worn knolls').isChecked()).toBe(true);
  });

  it('leads from dropped files to a verdict and its stops', async () => {
    await page.goto(`${site.url}/files`);
    await page
      .locator('#files-all')
      .setInputFiles(['points.csv', 'boundary.geojson', 'soil-units.geojson', 'yield-2025.csv'].map(demo));
    const roles = page.locator('.dropped select');
    await expect.poll(() => roles.count()).toBe(4);
    expect(await roles.evaluateAll((all) => all.map((s) => (s as HTMLSelectElement).value))).toEqual([
      'points',
      'boundary',
      'soilUnits',
      'yield',
    ]);
    expect(await sideways(page)).toBe(0);
    await page.getByRole('button', { name: 'Read the files and advise' }).click();
    await verdict(page);
    expect(await sideways(page)).toBe(0);
    expect(await smallestChartText(page)).toBeGreaterThanOrEqual(10.9);
    expect(await overlappingLabels(page)).toEqual([]);
    expect((await downloadText(page, 'Stops as CSV')).trim().split('\n').length).toBeGreaterThan(1);
    await page.locator('table.columns select').first().focus();
    await page.getByLabel('K (ppm) is taken for').selectOption({ label: 'Leave out' });
    await page.getByRole('button', { name: 'Read again with these columns' }).click();
    const corrected = page.getByText('set aside by you');
    await expect.poll(() => corrected.count(), { timeout: 50_000 }).toBe(1);
    expect(await verdict(page)).toMatch(/USD/);
  });

  it('sets a value aside, counts new stops beside the old points, and takes it all back', async () => {
    await page.goto(`${site.url}/demo/three-benches`);
    const before = await verdict(page);
    const key = await page.locator('input[name="setAside"][type="checkbox"]').first().getAttribute('value');
    const tick = page.locator(`input[name="setAside"][value="${key}"]`);
    await tick.check();
    await page.locator('#assumptions').getByLabel('Last time’s points still stand').check();
    await page.getByRole('button', { name: 'Work it out with these' }).first().click();
    await expect
      .poll(() => page.locator('.field-line').innerText(), { timeout: 50_000 })
      .toContain('1 test value set aside by you');
    expect(await tick.isChecked()).toBe(true);
    expect(await page.locator('table.designs').first().innerText()).toContain('new stops beside');
    expect(await sideways(page)).toBe(0);
    expect(await overlappingLabels(page)).toEqual([]);
    await tick.uncheck();
    await page.locator('#assumptions').getByLabel('Last time’s points still stand').uncheck();
    await page.locator('#assumptions').getByRole('button').click();
    await expect
      .poll(() => page.locator('.field-line').innerText(), { timeout: 50_000 })
      .not.toContain('set aside');
    expect(await verdict(page)).toBe(before);
  });

  it('reads the values of a chart with the arrow keys', async () => {
    await page.goto(`${site.url}/demo/long-reach`);
    await verdict(page);
    expect(await sideways(page)).toBe(0);
    expect(await overlappingLabels(page)).toEqual([]);
    const chart = page.locator('#error svg.chart:visible').first();
    await chart.focus();
    await page.keyboard.press('End');
    const readout = page.locator('#error .readout').first();
    const last = await readout.innerText();
    expect(last).toMatch(/wrong by/);
    await page.keyboard.press('ArrowLeft');
    expect(await readout.innerText()).not.toBe(last);
  });
});

it('works without scripts', async () => {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(`${site.url}/files`);
  await page.getByLabel('Soil tests').setInputFiles(demo('points.csv'));
  await page.getByLabel('Boundary', { exact: true }).setInputFiles(demo('boundary.geojson'));
  await page.getByRole('button', { name: 'Read the files and advise' }).click();
  await verdict(page);
  expect(await page.locator('svg.chart').count()).toBeGreaterThan(3);
  await context.close();
});

it('says what is wrong with a file and keeps what was typed', async () => {
  const page = await browser.newPage();
  await page.goto(`${site.url}/files`);
  await page.getByLabel('What do you call the field?').fill('West field');
  await page.getByText('Or choose the files one by one').click();
  await page
    .getByLabel('Soil tests')
    .setInputFiles({ name: 'tests.csv', mimeType: 'text/csv', buffer: Buffer.from('name,colour\na,red\n') });
  await page.getByRole('button', { name: 'Read the files and advise' }).click();
  await page.waitForSelector('.problems');
  expect(await page.locator('.problems li').first().innerText()).toContain('tests.csv');
  expect(await page.getByLabel('What do you call the field?').inputValue()).toBe('West field');
  await page.close();
});
