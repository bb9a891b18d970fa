import { mkdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { questions } from '../../src/prior/questions.ts';
import { formOf, openSite, type Site } from './helpers.ts';

let site: Site;
beforeAll(async () => {
  site = await openSite();
  const field = path.join(site.dataDir, 'demo', 'north');
  await mkdir(field, { recursive: true });
  await writeFile(
    path.join(field, 'field.json'),
    JSON.stringify({ name: 'North <b>', blurb: 'A clear pattern.' }),
  );
  await writeFile(path.join(field, 'points.csv'), 'lon,lat,P\n1,2,3\n');
  await writeFile(path.join(field, 'boundary.geojson'), '{}');
  await writeFile(path.join(field, 'truth.json'), '{}');
});
afterAll(() => site.close());

describe('start and questionnaire', () => {
  it('offers two ways in and the demo fields, with their names escaped', async () => {
    const text = await (await site.get('/')).text();
    expect(text).toContain('Answer a few questions');
    expect(text).toContain('Bring last year’s files');
    expect(text).toContain('href="/demo/north"');
    expect(text).toContain('North &lt;b&gt;');
  });

  it('asks every question with “I don’t know” chosen', async () => {
    const text = await (await site.get('/questions')).text();
    for (const q of questions) expect(text).toContain(`name="${q.id}"`);
    const unknown = questions.filter((q) => q.kind === 'choice').length;
    expect(text.match(/value="unknown" checked/g)).toHaveLength(unknown);
    expect(text).toContain('action="/answer" method="get"');
  });

  it('keeps what the address holds', async () => {
    const text = await (await site.get('/questions?area=77&slope=eroded&units=metric')).text();
    expect(text).toContain('value="77"');
    expect(text).toContain('value="eroded" checked');
    expect(text).toContain('value="metric" checked');
  });
});

describe('the answer without files', () => {
  it('shows the verdict and offers the stops', async () => {
    const reply = await site.get('/answer?area=160&units=us');
    const text = await reply.text();
    expect(reply.status).toBe(200);
    expect(text).toContain('<h1>Take one sample per 5 acres');
    expect(text).toContain('/answer/stops.csv?area=160&amp;units=us');
    expect(site.asked.at(-1)?.answers?.areaHa).toBeCloseTo(64.75, 2);
  });

  it('computes once for the same address', async () => {
    await site.get('/answer?area=50');
    const before = site.asked.length;
    await site.get('/answer?area=50');
    const stops = await site.get('/answer/stops.geojson?area=50');
    expect(site.asked).toHaveLength(before);
    expect(stops.headers.get('content-disposition')).toContain('long-bottom-stops.geojson');
    expect((await stops.json()) as object).toMatchObject({ type: 'FeatureCollection' });
  });

  it('takes hectares as hectares and numbers as people type them', async () => {
    await site.get('/answer?area=1,200.5&units=metric&labPrice=%2427.5&blockM=60');
    expect(site.asked.at(-1)).toMatchObject({
      answers: { areaHa: 1200.5, labPrice: 27.5 },
      options: { unitSystem: 'metric', labPrice: 27.5, blockM: 60 },
    });
    await site.get('/answer?area=10&blockM=90');
    expect(site.asked.at(-1)?.options?.blockM).toBeCloseTo(27.432, 6);
  });

  it.each([
    ['1,200 ac', 'us', 485.623],
    ['160 acres', 'metric', 64.75],
    ['65 ha', 'us', 65],
    ['65', 'metric', 65],
    ['1,300', 'us', 526.091],
  ])('takes an area typed as “%s” (%s)', async (area, units, ha) => {
    const reply = await site.get(`/answer?area=${encodeURIComponent(area)}&units=${units}`);
    expect(reply.status).toBe(200);
    expect(site.asked.at(-1)?.answers?.areaHa).toBeCloseTo(ha, 2);
  });

  it.each([
    ['', 'The size of the field is missing'],
    ['area=big', '“How big is the field?” needs a number, not “big”.'],
    ['area=-5', 'needs a number above zero'],
    ['area=5&slope=steep', 'has no answer “steep”'],
    ['area=5&coresPerStop=2.5', 'a whole number is needed'],
    ['area=5&yearsBetween=400', 'more than can be reckoned with'],
  ])('says what is wrong with “%s” and keeps the rest', async (query, sentence) => {
    const reply = await site.get(`/answer?${query}&manure=past`);
    const text = await reply.text();
    expect(reply.status).toBe(422);
    expect(text).toContain(sentence);
    expect(text).toContain('value="past" checked');
  });
});

describe('assumptions that are chosen or ticked', () => {
  it('come from the address', async () => {
    const reply = await site.get(
      '/demo/north?cells=choose&reuseOldPoints=no&reuseOldPoints=yes&scale.P=raw&scale.K=&setAside=&setAside=P:17&setAside=K:4',
    );
    expect(reply.status).toBe(200);
    expect(site.asked.at(-1)?.options).toEqual({
      unitSystem: 'us',
      cells: 'choose',
      reuseOldPoints: true,
      scales: { P: 'raw' },
      setAside: ['P:17', 'K:4'],
    });
    const text = await reply.text();
    expect(text).toContain('2 test values set aside by you');
    expect(text).toMatch(/value="P:17" form="assume" checked/);
    expect(text).toContain('<option value="choose" selected>');
    // Downloads hold the same assumptions.
    const stops = /href="(\/demo\/north\/stops\.csv[^"]*)"/.exec(text)?.[1].replaceAll('&amp;', '&') ?? '';
    const before = site.asked.length;
    expect((await site.get(stops)).status).toBe(200);
    expect(site.asked).toHaveLength(before);
  });

  it('are left out when they are the usual ones', async () => {
    await site.get('/demo/north?cells=compare&reuseOldPoints=no&scale.P=&setAside=');
    expect(site.asked.at(-1)?.options).toEqual({ unitSystem: 'us' });
  });

  it.each([
    ['cells=some', '“Mixed samples of whole cells” has no choice “some”'],
    ['scale.P=cubed', '“Scale of P” has no choice “cubed”'],
    ['setAside=P17', '“P17” names none'],
    ['reuseOldPoints=maybe', 'has no choice “maybe”'],
  ])('say what is wrong with %s', async (query, sentence) => {
    const reply = await site.get(`/demo/north?${query}`);
    expect(reply.status).toBe(422);
    expect(await reply.text()).toContain(sentence);
  });
});

describe('the demo farm', () => {
  it('shows a field with its files, and not the truth beside them', async () => {
    const reply = await site.get('/demo/north');
    expect(reply.status).toBe(200);
    expect(site.asked.at(-1)?.files.map((f) => [f.role, f.name])).toEqual([
      ['boundary', 'boundary.geojson'],
      ['points', 'points.csv'],
    ]);
    const before = site.asked.length;
    expect((await site.get('/demo/north/stops.csv')).headers.get('content-type')).toContain('text/csv');
    expect(site.asked).toHaveLength(before);
  });

  it.each(['/demo/south', '/demo/..%2f..%2fetc', '/demo/north/truth.json'])(
    'has nothing at %s',
    async (address) => {
      expect((await site.get(address)).status).toBe(404);
    },
  );
});

describe('every answer', () => {
  it('carries the protective headers and no inline script or style', async () => {
    const reply = await site.get('/answer?area=160');
    const policy = reply.headers.get('content-security-policy') ?? '';
    expect(policy).toContain("default-src 'self'");
    expect(policy).not.toContain('unsafe');
    expect(reply.headers.get('x-content-type-options')).toBe('nosniff');
    expect(reply.headers.get('referrer-policy')).toBe('same-origin');
    expect(reply.headers.get('x-powered-by')).toBeNull();
    const text = await reply.text();
    expect(text).not.toMatch(/<script>|<style|\sstyle="|\son\w+="/);
    expect(text).not.toMatch(/(?:src|href)="(?:https?:)?\/\//);
  });

  it('says in words that there is nothing at an address', async () => {
    const reply = await site.get('/nowhere');
    expect(reply.status).toBe(404);
    expect(await reply.text()).toContain('There is no page at this address.');
  });

  it('refuses forms from other sites and foreign names for this computer', async () => {
    const init = { method: 'POST', body: formOf([['points', 'p.csv', 'a']]) };
    expect(
      (await site.get('/files', { ...init, headers: { origin: 'http://elsewhere.example' } })).status,
    ).toBe(403);
    expect((await site.get('/files', { ...init, headers: { origin: 'null' } })).status).toBe(403);
    expect((await site.get('/files', { ...init, headers: { origin: site.url } })).status).toBe(303);
  });

  it('keeps the dark colours off paper', async () => {
    for (const sheet of ['base.css', 'charts.css', 'result.css', 'forms.css', 'print.css']) {
      const text = await (await site.get(`/assets/${sheet}`)).text();
      for (const query of text.match(/@media[^{]*prefers-color-scheme: dark[^{]*/g) ?? [])
        expect(query).toContain('screen and');
    }
  });

  it('serves the style sheets', async () => {
    for (const sheet of ['base.css', 'charts.css', 'result.css', 'forms.css', 'print.css', 'mark.svg'])
      expect((await site.get(`/assets/${sheet}`)).status).toBe(200);
    expect((await site.get('/assets/..%2f..%2fpackage.json')).status).toBeGreaterThanOrEqual(400);
  });
});
