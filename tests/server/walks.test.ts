import { appendFile, cp, mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { projectRoot } from '../../server/app.ts';
import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';
import { writeWalkFile } from '../../src/plan/walkEventSchema.ts';
import { eventOf } from '../plan/walks.ts';
import { formOf, openSite, type Site } from './helpers.ts';

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const take = (form: Readonly<Record<string, string>>, headers: Readonly<Record<string, string>> = {}) =>
  site.get('/walks', { method: 'POST', body: new URLSearchParams(form), headers });

async function planAt(reply: Response): Promise<WalkPlan> {
  expect(reply.status).toBe(303);
  const address = reply.headers.get('location') ?? '';
  expect(address).toMatch(/^\/walk\/[0-9a-f]{20}$/);
  return (await (await site.get(`${address}/plan.json`)).json()) as WalkPlan;
}

async function newWalk(): Promise<WalkPlan> {
  const form = formOf([['points', 'points.csv', 'lon,lat,P\n-93.5,42.1,20\n']]);
  const kept = await site.get('/files', { method: 'POST', body: form });
  return planAt(await take({ case: kept.headers.get('location')?.split('/').at(-1) ?? '' }));
}

const post = (plan: WalkPlan, body: unknown) =>
  site.get(`/walks/${plan.id}/events`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: typeof body === 'string' ? body : JSON.stringify(body),
  });

const since = async (plan: WalkPlan, from = 0) =>
  (await (await site.get(`/walks/${plan.id}/events?since=${from}`)).json()) as {
    events: WalkEvent[];
    next: number;
  };

const of = (plan: WalkPlan, n: number, stop: number, event: Partial<WalkEvent> = {}): WalkEvent =>
  eventOf(n, stop, { walkId: plan.id, ...event });

describe('taking a plan to the field', () => {
  it('keeps the stops of a field with their bags, and where they are', async () => {
    const plan = await newWalk();
    expect([plan.field, plan.places, plan.unitSystem]).toEqual(['Long Bottom', 'gps', 'us']);
    expect(plan.stops.length).toBeGreaterThan(20);
    expect(new Set(plan.stops.map((s) => s.bag)).size).toBe(plan.stops.length);
    expect(plan.region[0].length).toBe(2);
  });

  it('of an answer to the questions is a list, and asks for the answer once only', async () => {
    await site.get('/answer?area=77&units=metric');
    const asked = site.asked.length;
    const plan = await planAt(await take({ answer: 'area=77&units=metric' }));
    expect(site.asked).toHaveLength(asked);
    expect([plan.places, plan.unitSystem]).toEqual(['list', 'metric']);
    expect(plan.whyList).toContain('not a real place');
  });

  it('takes a demo field with its assumptions', async () => {
    const folder = path.join(site.dataDir, 'demo', 'north');
    await mkdir(folder, { recursive: true });
    await writeFile(path.join(folder, 'field.json'), JSON.stringify({ name: 'North', blurb: '' }));
    await writeFile(path.join(folder, 'points.csv'), 'lon,lat,P\n1,2,3\n');
    const plan = await planAt(
      await take({ demo: 'north', answer: 'stopRadiusM=30&setAside=P:1&setAside=P:2' }),
    );
    expect(site.asked.at(-1)?.options?.setAside).toEqual(['P:1', 'P:2']);
    expect(plan.stopRadiusM).toBeCloseTo(9.144, 3);
    expect((await take({ demo: '../secret' })).status).toBe(404);
  });

  it('says what is in the way', async () => {
    expect((await take({ case: '0'.repeat(20) })).status).toBe(404);
    expect((await take({ case: '../../etc' })).status).toBe(404);
    const empty = await take({});
    expect(empty.status).toBe(422);
    expect(await empty.text()).toContain('The size of the field is missing');
  });

  it('is refused when another site asks for it', async () => {
    const reply = await take({ answer: 'area=77' }, { Origin: 'http://elsewhere.example' });
    expect(reply.status).toBe(403);
  });
});

describe('marks at the desk', () => {
  it('are there once, however often they are sent, and can be read on from any point', async () => {
    const plan = await newWalk();
    const [a, b, c] = [of(plan, 1, 1), of(plan, 2, 2), of(plan, 3, 3, { walker: 'B' })];
    expect(await (await post(plan, { events: [a, b] })).json()).toEqual({ refused: [] });
    const first = await since(plan);
    expect(first.events).toEqual([a, b]);
    await post(plan, { events: [b, c, { ...a, walker: 'Z' }] });
    expect(await since(plan, first.next)).toMatchObject({ events: [c] });
    const all = await since(plan);
    expect(all.events).toEqual([a, b, c]);
    expect(await since(plan, all.next)).toEqual({ events: [], next: all.next });
  });

  it('of two walks don’t mix, even with one id', async () => {
    const [one, two] = [await newWalk(), await newWalk()];
    await post(one, { events: [of(one, 1, 1)] });
    await post(two, { events: [of(two, 1, 2)] });
    expect((await since(one)).events).toEqual([of(one, 1, 1)]);
    expect((await since(two)).events).toEqual([of(two, 1, 2)]);
  });

  it('that can’t be taken are named, and hold up none of the others', async () => {
    const plan = await newWalk();
    const [good, far] = [of(plan, 1, 1), of(plan, 2, 4000)];
    const reply = await post(plan, { events: [far, good, { id: 7 }] });
    expect(await reply.json()).toEqual({
      refused: [
        { id: far.id, why: 'this walk has no stop 4000' },
        { why: expect.stringContaining('not as it should be') as string },
      ],
    });
    expect((await since(plan)).events).toEqual([good]);
  });

  it.each([
    [
      'too many at once',
      (plan: WalkPlan) => ({ events: Array.from({ length: 501 }, (_, i) => of(plan, i, 1)) }),
      400,
    ],
    ['more than is read', () => ({ events: ['x'.repeat(600_000)] }), 413],
    ['no list', () => ({ marks: [] }), 400],
    ['no JSON', () => '{', 400],
  ])('are refused in a sentence when they are %s', async (_, body, status) => {
    const plan = await newWalk();
    const reply = await post(plan, body(plan));
    expect(reply.status).toBe(status);
    expect(((await reply.json()) as { error: string }).error).toMatch(/\.$/);
    expect((await since(plan)).events).toEqual([]);
  });

  it('of a walk that isn’t there are answered with 404, which tells a phone that it is gone', async () => {
    const plan = { ...(await newWalk()), id: 'f'.repeat(20) };
    expect((await post(plan, { events: [] })).status).toBe(404);
    const reply = await site.get(`/walks/${plan.id}/events`);
    expect([reply.status, reply.headers.get('content-type')]).toEqual([
      404,
      'application/json; charset=utf-8',
    ]);
    expect((await site.get('/walks/x/events')).status).toBe(404);
    expect((await site.get(`/walks/${(await newWalk()).id}/events?since=-1`)).status).toBe(400);
  });
});

describe('the desk’s page', () => {
  it('shows what came of each stop, with what was typed escaped', async () => {
    const plan = await newWalk();
    const [lon, lat] = plan.stops[0].world;
    await post(plan, {
      events: [
        of(plan, 1, 1, { lon, lat: lat + 0.0003, accuracyM: 4, cores: 3, walker: '<b>A</b>' }),
        of(plan, 2, 2, { kind: 'skipped', reason: '<script>alert(1)</script>' }),
      ],
    });
    const text = await (await site.get(`/walks/${plan.id}`)).text();
    expect(text).toContain(`1 of ${plan.stops.length} stops done, 1 skipped`);
    // 0.0003° of latitude are 33.3 m, 109 ft.
    expect(text).toMatch(/110\sft \(± 13\sft\) <strong>outside/);
    expect(text).toContain('3 of 10 <strong>fewer');
    expect(text).toContain('&lt;script&gt;alert(1)');
    expect(text).not.toContain('<script>alert');
    expect(text).not.toContain('<b>A');
    expect(text).toContain('have buried lines located');
    expect(await (await site.get('/walks')).text()).toContain(`href="/walks/${plan.id}"`);
  });

  it('gives the actual places as CSV and GeoJSON', async () => {
    const plan = await newWalk();
    const [lon, lat] = plan.stops[0].world;
    await post(plan, { events: [of(plan, 1, 1, { lon, lat })] });
    const csv = await site.get(`/walks/${plan.id}/walked.csv`);
    expect(csv.headers.get('content-disposition')).toContain('long-bottom-walked.csv');
    expect((await csv.text()).trim().split('\r\n')).toHaveLength(plan.stops.length + 1);
    const geojson = (await (await site.get(`/walks/${plan.id}/walked.geojson`)).json()) as {
      features: unknown[];
    };
    expect(geojson.features).toHaveLength(1);
    expect((await site.get(`/walks/${plan.id}/walked.exe`)).status).toBe(404);
  });

  it('takes the file that a phone saved', async () => {
    const plan = await newWalk();
    const file = writeWalkFile(plan.id, plan.field, [of(plan, 1, 1), of(plan, 2, 2)]);
    for (let time = 0; time < 2; time++) {
      const body = formOf([['marks', 'marks.json', file]]);
      const reply = await site.get(`/walks/${plan.id}/file`, { method: 'POST', body });
      expect([reply.status, reply.headers.get('location')]).toEqual([303, `/walks/${plan.id}`]);
      expect((await since(plan)).events).toHaveLength(2);
    }
    const wrong = formOf([['marks', 'photo.jpg', '\u0000\u0001']]);
    const reply = await site.get(`/walks/${plan.id}/file`, { method: 'POST', body: wrong });
    expect(reply.status).toBe(422);
    expect(await reply.text()).toContain('not a file of marks');
  });

  it('deletes the walk with its marks, and no other', async () => {
    const [plan, other] = [await newWalk(), await newWalk()];
    for (const walk of [plan, other]) await post(walk, { events: [of(walk, 1, 1)] });
    const reply = await site.get(`/walks/${plan.id}/delete`, { method: 'POST' });
    expect(reply.status).toBe(303);
    expect((await site.get(`/walks/${plan.id}`)).status).toBe(404);
    expect((await since(other)).events).toHaveLength(1);
  });
});

describe('what a phone keeps', () => {
  it('is named by the worker, each file of it there', async () => {
    const worker = await site.get('/walk/worker.js');
    expect(worker.headers.get('content-type')).toContain('text/javascript');
    const said = /^self\.walkShell=(.*);$/m.exec(await worker.text())?.[1] ?? '';
    const { version, files } = JSON.parse(said) as { version: string; files: string[] };
    expect(version).toMatch(/^[0-9a-f]{16}$/);
    const page = await (await site.get(`/walk/${'0'.repeat(20)}`)).text();
    const wanted = [...page.matchAll(/(?:href|src)="(\/(?:assets|walk)\/[^"]*)"/g)].map((m) => m[1]);
    expect(wanted.length).toBeGreaterThan(4);
    for (const address of wanted) expect(files, address).toContain(address);
    for (const file of files) expect((await site.get(file)).status, file).toBe(200);
    expect(await (await site.get('/walk/worker.js')).text()).toContain(version);
  });

  it('has another version as soon as anything of it changes, and the same until then', async () => {
    const root = await mkdtemp(path.join(tmpdir(), 'lagstep-root-'));
    for (const folder of ['views/pages', 'views/styles', 'dist/assets'])
      await cp(path.join(projectRoot, folder), path.join(root, folder), { recursive: true });
    const copy = await openSite({ root });
    const first = async () => (await (await copy.get('/walk/worker.js')).text()).split('\n')[0];
    const seen = [await first()];
    expect(await first()).toBe(seen[0]);
    for (const file of ['views/styles/walk.css', 'dist/assets/walk.js', 'dist/assets/walkWorker.js']) {
      await appendFile(path.join(root, file), '\n');
      seen.push(await first());
    }
    expect(new Set(seen).size).toBe(4);
    await copy.close();
    await rm(root, { recursive: true, force: true });
  });

  it('is installable: a manifest with a name, a start within its scope, and icons that are there', async () => {
    const reply = await site.get('/walk/manifest.webmanifest');
    expect(reply.headers.get('content-type')).toContain('application/manifest+json');
    const manifest = (await reply.json()) as {
      name: string;
      start_url: string;
      scope: string;
      icons: { src: string; sizes: string }[];
    };
    expect(manifest).toMatchObject({
      name: 'Lagstep walk',
      display: 'standalone',
      start_url: '/walk/',
      scope: '/walk/',
    });
    expect(manifest.icons.map((i) => i.sizes)).toEqual(['any', '192x192', '512x512']);
    for (const { src } of manifest.icons) expect((await site.get(src)).status).toBe(200);
  });

  it('comes under the same strict policy as every page: nothing inline', async () => {
    const reply = await site.get('/walk/');
    expect(reply.headers.get('content-security-policy')).toMatch(/^default-src 'self';/);
    const text = await reply.text();
    expect(text).not.toMatch(/<script(?![^>]*src=)|<style|\sstyle=|\son\w+=/);
    const short = await site.get('/walk');
    expect([short.status, short.headers.get('location')]).toEqual([308, '/walk/']);
  });
});
