import { afterAll, beforeAll, expect, it } from 'vitest';
import { openSite, type Site } from './helpers.ts';

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const ask = (body: unknown) =>
  site.get('/api/advise', {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: typeof body === 'string' ? body : JSON.stringify(body),
  });

it('answers a question with the advice', async () => {
  const reply = await ask({
    fieldName: 'West',
    answers: { areaHa: 40, slope: 'unknown', manure: 'past' },
    options: { unitSystem: 'metric' },
  });
  expect(reply.status).toBe(200);
  expect(await reply.json()).toMatchObject({ tool: { name: 'lagstep' }, options: { unitSystem: 'metric' } });
  expect(site.asked.at(-1)).toMatchObject({ answers: { areaHa: 40, manure: 'past' } });
  expect(site.asked.at(-1)?.answers).not.toHaveProperty('slope');
});

it('takes files as text or base64', async () => {
  await ask({
    files: [
      {
        name: 'points.csv',
        text: 'lon,lat,P',
        columns: { P: { role: 'analyte', analyte: 'P', unit: 'ppm' } },
      },
      { name: 'a.zip', role: 'boundary', base64: Buffer.from('zip').toString('base64') },
    ],
  });
  const files = site.asked.at(-1)?.files ?? [];
  expect(files.map((f) => [f.role, new TextDecoder().decode(f.bytes)])).toEqual([
    ['points', 'lon,lat,P'],
    ['boundary', 'zip'],
  ]);
});

it('lists problems with what to do', async () => {
  const reply = await ask({ files: [{ name: 'points.csv', text: 'bad' }] });
  expect(reply.status).toBe(422);
  const { problems } = (await reply.json()) as { problems: { said: string }[] };
  expect(problems[0].said).toContain('row 14');
});

it.each([
  [{ answers: { slope: 'steep' } }],
  [{ answers: { area: 160 } }],
  [{ surprise: 1 }],
  [{ files: 'x' }],
])('refuses %j and says why', async (body) => {
  const reply = await ask(body);
  expect(reply.status).toBe(422);
  const { problems } = (await reply.json()) as { problems: { said: string }[] };
  expect(problems[0].said).toMatch(/^request(?:, column [\w.]+)?: \S+/);
});

it('says when it is no JSON, and keeps failures short', async () => {
  const broken = await ask('{"a":');
  expect(broken.status).toBe(400);
  expect(await broken.json()).toEqual({ error: 'What was sent could not be read.' });
  const crash = await ask({ files: [{ name: 'points.csv', text: 'crash' }] });
  expect(crash.status).toBe(500);
  expect(Object.keys((await crash.json()) as object)).toEqual(['error']);
});
