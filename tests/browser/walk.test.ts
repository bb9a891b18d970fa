import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { chromium, type Browser, type BrowserContext, type Page } from 'playwright-core';
import { afterAll, beforeAll, beforeEach, describe, expect, it } from 'vitest';
import { chromiumArguments, findChromium } from '../../server/chromium.ts';
import { readBagNumber, writeBagNumber } from '../../src/plan/bagNumber.ts';
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';
import { formOf, openSite, type Site } from '../server/helpers.ts';

let site: Site;
let browser: Browser;
let plan: WalkPlan;

beforeAll(async () => {
  const executablePath = findChromium();
  if (!executablePath) throw new Error('No Chromium was found: install one or set CHROMIUM to its path.');
  site = await openSite();
  browser = await chromium.launch({ executablePath, args: [...chromiumArguments] });
});
afterAll(async () => {
  await browser?.close();
  await site?.close();
});

beforeEach(async () => {
  const form = formOf([['points', 'points.csv', 'lon,lat,P\n-93.5,42.1,20\n']]);
  const kept = await site.get('/files', { method: 'POST', body: form });
  const id = kept.headers.get('location')?.split('/').at(-1) ?? '';
  const reply = await site.get('/walks', { method: 'POST', body: new URLSearchParams({ case: id }) });
  expect(reply.status).toBe(303);
  const address = reply.headers.get('location') ?? '';
  plan = (await (await site.get(`${address}/plan.json`)).json()) as WalkPlan;
});

const eventsAtDesk = async (): Promise<readonly WalkEvent[]> =>
  ((await (await site.get(`/walks/${plan.id}/events`)).json()) as { events: WalkEvent[] }).events;

/** A phone, so many degrees north and east of a stop. */
async function openPhone(atStop = 0, north = 0.001, east = 0): Promise<[BrowserContext, Page]> {
  const [lon, lat] = plan.stops[atStop].world;
  const context = await browser.newContext({
    viewport: { width: 390, height: 844 },
    hasTouch: true,
    isMobile: true,
    permissions: ['geolocation'],
    geolocation: { longitude: lon + east, latitude: lat + north, accuracy: 4 },
    acceptDownloads: true,
  });
  const page = await context.newPage();
  page.on('pageerror', (error) => expect.soft(error.message).toBe(''));
  await page.goto(`${site.url}/walk/${plan.id}`);
  await page.getByRole('button', { name: 'Lines are located' }).click();
  return [context, page];
}

const moveTo = (context: BrowserContext, [longitude, latitude]: readonly [number, number]) =>
  context.setGeolocation({ longitude, latitude, accuracy: 4 });

const title = (page: Page) => page.locator('#stop').innerText();
const keptOnPhone = (page: Page) => page.getByText('This walk is on this phone and works without signal.');

describe('a phone in the field', () => {
  it('leads to the first stop by bearing and distance, and says when it is reached', async () => {
    const [context, page] = await openPhone();
    expect(await title(page)).toBe(`Stop ${plan.stops[0].label}`);
    // A thousandth of a degree of latitude is 111 m, 364 ft.
    await expect.poll(() => page.locator('#distance').innerText()).toMatch(/^36[05]\sft$/);
    expect(await page.locator('#bearing').innerText()).toBe('to the south, 180°');
    expect(await page.locator('#accuracy').innerText()).toMatch(/^± 13\sft · arrow: north is up$/);
    expect(await page.locator('#circle').isVisible()).toBe(false);
    await moveTo(context, plan.stops[0].world);
    await expect.poll(() => page.locator('#circle').innerText()).toContain('You are in the circle');
    await context.close();
  });

  it('goes on without signal through reloads, and brings its marks home with the signal', async () => {
    const opened = await openPhone();
    const [context] = opened;
    let [, page] = opened;
    await keptOnPhone(page).waitFor();
    await context.setOffline(true);
    for (let pulled = 0; pulled < 3; pulled++) await page.locator('#core').click();
    await expect.poll(() => page.locator('#cores').innerText()).toBe(String(plan.stops[0].cores - 3));
    await page.reload();
    await expect.poll(() => page.locator('#cores').innerText()).toBe(String(plan.stops[0].cores - 3));
    for (let pulled = 3; pulled < plan.stops[0].cores; pulled++) await page.locator('#core').click();
    await moveTo(context, plan.stops[0].world);
    await page.locator('#circle').waitFor();
    await page.locator('#done').click();
    await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[1].label}`);
    await page.locator('#skip').click();
    await page.getByRole('button', { name: 'Standing water or too wet' }).click();
    await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[2].label}`);

    await page.close();
    page = await context.newPage();
    await page.goto(`${site.url}/walk/${plan.id}`);
    await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[2].label}`);
    expect(await page.locator('#progress').innerText()).toBe(`1 of ${plan.stops.length} done, 1 skipped`);
    expect(await page.locator('#net').innerText()).toBe('2 kept here, waiting for signal');
    expect(await eventsAtDesk()).toEqual([]);

    await context.setOffline(false);
    await expect.poll(async () => (await eventsAtDesk()).length, { timeout: 15_000 }).toBe(2);
    const [done, skipped] = await eventsAtDesk();
    expect(done).toMatchObject({ kind: 'done', stop: 1, cores: plan.stops[0].cores, accuracyM: 4 });
    expect([done.lon, done.lat]).toEqual(plan.stops[0].world);
    expect(skipped).toMatchObject({ kind: 'skipped', stop: 2, reason: 'Standing water or too wet' });
    await expect.poll(() => page.locator('#net').innerText()).toBe('all sent');
    await context.close();
  });

  it('takes back the last mark, with its cores and bag', async () => {
    const [context, page] = await openPhone();
    await page.locator('#core').click();
    await page.getByLabel('Bag', { exact: true }).fill(plan.stops[0].bag.toLowerCase());
    await expect.poll(() => page.locator('#bag-says').innerText()).toBe('This is the stop’s bag.');
    expect(await page.locator('#done').innerText()).toBe(`Done with 1 of ${plan.stops[0].cores}`);
    await page.locator('#done').click();
    await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[1].label}`);
    await page.getByRole('button', { name: `Undo ${plan.stops[0].label}` }).click();
    await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[0].label}`);
    expect(await page.locator('#cores').innerText()).toBe(String(plan.stops[0].cores - 1));
    expect(await page.locator('#progress').innerText()).toBe(`0 of ${plan.stops.length} done`);
    await expect
      .poll(async () => (await eventsAtDesk()).map((event) => event.kind))
      .toEqual(['done', 'undone']);
    await context.close();
  });

  it('says when a bag is another stop’s, or its number is wrong', async () => {
    const [context, page] = await openPhone();
    const bag = page.getByLabel('Bag', { exact: true });
    await bag.fill(plan.stops[4].bag);
    await expect
      .poll(() => page.locator('#bag-says').innerText())
      .toContain(`belongs to stop ${plan.stops[4].label}`);
    expect(await page.locator('#done').innerText()).toBe('Done with this bag anyway');
    const { fieldCode, sample } = readBagNumber(plan.stops[0].bag) ?? { fieldCode: '', sample: 0 };
    const wrong = writeBagNumber({ fieldCode, sample }).replace(/.$/, (d) => String((Number(d) + 1) % 10));
    await bag.fill(wrong);
    await expect.poll(() => page.locator('#bag-says').innerText()).toContain('a character is wrong');
    await context.close();
  });

  it('saves its marks as a file, which another phone takes without any signal', async () => {
    const [first, page] = await openPhone();
    await keptOnPhone(page).waitFor();
    await first.setOffline(true);
    await page.locator('#done').click();
    await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[1].label}`);
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Save marks as a file' }).click(),
    ]);
    const file = {
      name: 'marks.json',
      mimeType: 'application/json',
      buffer: await readFile(await download.path()),
    };
    await first.close();
    const [second, other] = await openPhone(1);
    await keptOnPhone(other).waitFor();
    await second.setOffline(true);
    for (let time = 0; time < 2; time++) {
      await other.locator('#load').setInputFiles(file);
      await expect.poll(() => other.locator('#file-says').innerText()).toBe('1 marks taken from the file.');
    }
    expect(await other.locator('#progress').innerText()).toBe(`1 of ${plan.stops.length} done`);
    await second.close();
  });
});

it('two phones share a field from both ends', async () => {
  const [first, one] = await openPhone();
  const [second, two] = await openPhone(plan.stops.length - 1);
  await two.getByLabel('Name on your marks').fill('Second');
  await two.getByLabel('Go on with').selectOption('last');
  await expect.poll(() => title(two)).toBe(`Stop ${plan.stops.at(-1)?.label}`);
  await two.locator('#done').click();
  await one.locator('#done').click();
  await expect.poll(async () => (await eventsAtDesk()).length).toBe(2);
  // Whoever sent first hears of the other at the next asking; coming back to the page asks at once.
  for (const page of [one, two]) {
    await page.evaluate(() => dispatchEvent(new Event('online')));
    await expect.poll(() => page.locator('#progress').innerText()).toBe(`2 of ${plan.stops.length} done`);
  }
  const last = one.locator(`#list button[data-stop="${plan.stops.length}"]`);
  await last.click();
  await expect.poll(() => one.locator('#state').innerText()).toMatch(/^Done by Second/);
  await Promise.all([first.close(), second.close()]);
  const desk = await (await site.get(`/walks/${plan.id}`)).text();
  expect(desk).toContain(`2 of ${plan.stops.length} stops done`);
});

it('the home screen leads to the walks on the phone; one taken off comes back with all its marks', async () => {
  const [context, page] = await openPhone();
  await page.locator('#done').click();
  await expect.poll(async () => (await eventsAtDesk()).length).toBe(1);
  await expect.poll(() => page.locator('#net').innerText()).toBe('all sent');
  await keptOnPhone(page).waitFor();
  await context.setOffline(true);
  await page.getByRole('link', { name: 'All walks on this phone' }).click();
  await page.getByRole('link', { name: 'Long Bottom' }).click();
  await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[1].label}`);
  page.on('dialog', (dialog) => void dialog.accept());
  await page.getByRole('button', { name: 'Take this walk off the phone' }).click();
  await page.getByText('None yet.').waitFor();
  await page.goto(`${site.url}/walk/${plan.id}`);
  await expect
    .poll(() => page.getByRole('alert').innerText())
    .toBe('This walk is not on this phone yet, and there is no signal to fetch it.');
  await context.setOffline(false);
  await page.reload();
  await expect.poll(() => page.locator('#progress').innerText()).toBe(`1 of ${plan.stops.length} done`);
  await context.close();
});

it('what was tapped outlasts a browser that is cut off', async () => {
  const folder = await mkdtemp(path.join(tmpdir(), 'lagstep-phone-'));
  const open = () =>
    chromium.launchPersistentContext(folder, {
      executablePath: findChromium(),
      args: [...chromiumArguments],
      viewport: { width: 390, height: 844 },
    });
  const first = await open();
  const page = await first.newPage();
  await page.goto(`${site.url}/walk/${plan.id}`);
  await page.getByRole('button', { name: 'Lines are located' }).click();
  await keptOnPhone(page).waitFor();
  await first.setOffline(true);
  await page.locator('#done').click();
  await expect.poll(() => title(page)).toBe(`Stop ${plan.stops[1].label}`);
  await page.locator('#core').click();
  await expect.poll(() => page.locator('#cores').innerText()).toBe(String(plan.stops[1].cores - 1));
  const ended = new Promise((resolve) => first.once('close', resolve));
  const devtools = await first.newCDPSession(page);
  devtools.send('Browser.crash').catch(() => undefined);
  await ended;

  const second = await open();
  await second.setOffline(true);
  const again = await second.newPage();
  await again.goto(`${site.url}/walk/${plan.id}`);
  await expect.poll(() => title(again)).toBe(`Stop ${plan.stops[1].label}`);
  expect(await again.locator('#cores').innerText()).toBe(String(plan.stops[1].cores - 1));
  await second.close();
  await rm(folder, { recursive: true, force: true });
});

it('a bag’s code is read with the camera where the browser can', async () => {
  const executablePath = findChromium();
  const withCamera = await chromium.launch({
    executablePath,
    args: [...chromiumArguments, '--use-fake-ui-for-media-stream', '--use-fake-device-for-media-stream'],
  });
  const page = await withCamera.newPage({ viewport: { width: 390, height: 844 } });
  // The browser of the tests has no reader of its own; this one reads the stop's bag from any picture.
  await page.addInitScript((bag) => {
    const detect = () => Promise.resolve([{ rawValue: bag }]);
    Object.assign(globalThis, {
      BarcodeDetector: class {
        detect = detect;
      },
    });
  }, plan.stops[0].bag);
  await page.goto(`${site.url}/walk/${plan.id}`);
  await page.getByRole('button', { name: 'Scan' }).click();
  await expect.poll(() => page.locator('#bag-says').innerText()).toBe('This is the stop’s bag.');
  await withCamera.close();
});

describe.each([390, 360])('at %i px wide', (width) => {
  it.each(['light', 'dark'] as const)('fits one hand in the %s', async (colorScheme) => {
    const context = await browser.newContext({
      viewport: { width, height: width === 390 ? 844 : 640 },
      colorScheme,
      permissions: ['geolocation'],
      geolocation: {
        longitude: plan.stops[0].world[0] + 0.02,
        latitude: plan.stops[0].world[1],
        accuracy: 12,
      },
    });
    const page = await context.newPage();
    await page.goto(`${site.url}/walk/${plan.id}`);
    await page.getByRole('button', { name: 'Lines are located' }).click();
    await page.locator('#way').waitFor({ timeout: 5000 });
    const sideways = () =>
      page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    expect(await sideways()).toBe(0);
    await moveTo(context, [plan.stops[0].world[0] + 0.005, plan.stops[0].world[1]]);
    await expect.poll(() => page.locator('#distance').innerText()).toMatch(/^1,35\d\sft$/);
    expect(await sideways()).toBe(0);
    // What is tapped at a stop is on the screen without scrolling, and wide enough for a gloved thumb.
    for (const id of ['core', 'done', 'skip', 'undo']) {
      const box = await page.locator(`#${id}`).boundingBox();
      expect(box && box.y + box.height).toBeLessThanOrEqual(width === 390 ? 844 : 640);
      expect(Math.min(box?.width ?? 0, box?.height ?? 0)).toBeGreaterThanOrEqual(60);
    }
    const small = await page.evaluate(() =>
      [
        ...document.querySelectorAll<HTMLElement>(
          '#walk button, #walk select, #walk input:not([type="file"])',
        ),
      ]
        .filter((e) => e.offsetParent !== null && e.getBoundingClientRect().height < 44 && e.id !== 'awake')
        .map((e) => e.id || e.className),
    );
    expect(small).toEqual([]);
    await page.locator('#skip').click();
    expect(await sideways()).toBe(0);
    await context.close();
  });
});
