import { createStore } from '../../server/store.ts';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { formOf, openSite, type Site } from './helpers.ts';

let site: Site;
beforeAll(async () => {
  site = await openSite();
});
afterAll(() => site.close());

const post = (form: FormData) => site.get('/files', { method: 'POST', body: form });
const sendForm = (address: string, fields: Record<string, string>) =>
  site.get(address, { method: 'POST', body: new URLSearchParams(fields) });

async function newCase(content = 'lon,lat,P\n', fields: Record<string, string> = {}): Promise<string> {
  const reply = await post(formOf([['points', 'points.csv', content]], fields));
  expect(reply.status).toBe(303);
  return reply.headers.get('location') ?? '';
}

describe('bringing files', () => {
  it('keeps them and leads to the answer', async () => {
    const here = await newCase('lon,lat,P\n', { units: 'metric', name: 'West' });
    expect(here).toMatch(/^\/cases\/[0-9a-f]{20}$/);
    const reply = await site.get(here);
    expect(reply.status).toBe(200);
    expect(await reply.text()).toContain('one sample per 2 ha');
    expect(site.asked.at(-1)).toMatchObject({
      fieldName: 'West',
      files: [{ role: 'points', name: 'points.csv' }],
    });
    const store = createStore(site.dataDir);
    const { files } = await store.read((await store.load(here.replace('/cases/', '')))!);
    expect(new TextDecoder().decode(files[0].bytes)).toBe('lon,lat,P\n');
  });

  it('takes the role from the page, else guesses it; a file’s own input decides', async () => {
    const form = formOf([
      ['files', 'first.csv', 'a'],
      ['files', 'bound.geojson', '{}'],
      ['yield', 'harvest.csv', 'b'],
    ]);
    form.append('roles', 'soilUnits');
    await post(form);
    expect(site.asked.at(-1)?.files.map((f) => [f.name, f.role])).toEqual([
      ['first.csv', 'soilUnits'],
      ['bound.geojson', 'boundary'],
      ['harvest.csv', 'yield'],
    ]);
  });

  it('never lets a file’s name become part of a path', async () => {
    await post(formOf([['points', '../../etc/passwd', 'a']]));
    expect(site.asked.at(-1)?.files[0].name).toBe('passwd');
  });

  it('guesses a role on its own', async () => {
    const reply = await site.get('/files/role?name=my-bound.geojson', { method: 'POST', body: '{}' });
    expect(await reply.json()).toEqual({ role: 'boundary' });
  });

  it('says when nothing was brought', async () => {
    const reply = await post(formOf([], { name: 'West', area: '20' }));
    const text = await reply.text();
    expect(reply.status).toBe(422);
    expect(text).toContain('No file was brought');
    expect(text).toContain('value="West"');
  });

  it('lists what is wrong, keeps the files and what was typed', async () => {
    const reply = await post(
      formOf([['points', 'points.csv', 'east,north,P\n1,2,bad\n']], { name: 'West', labPrice: '31' }),
    );
    const text = await reply.text();
    expect(reply.status).toBe(422);
    expect(text).toContain('points.csv, row 14, column P: The value “x” is not a number. Type a number.');
    expect(text).toContain('value="31"');
    const id = /name="case" value="([0-9a-f]+)"/.exec(text)?.[1] ?? '';
    expect(text).toContain('Say what the columns are');
    const mended = formOf([['boundary', 'bound.geojson', '{}']], { case: id, keep: '0' });
    expect((await post(mended)).status).toBe(422);
    const without = formOf([['boundary', 'bound.geojson', '{}']], { case: id });
    expect((await post(without)).status).toBe(303);
    const replaced = formOf([['points', 'points.csv', 'good']], { case: id, keep: '0' });
    expect((await post(replaced)).status).toBe(303);
    expect(site.asked.at(-1)?.files).toHaveLength(1);
  });

  it('refuses a wrong number before anything is computed, and keeps the files', async () => {
    const before = site.asked.length;
    const reply = await post(formOf([['points', 'points.csv', 'a']], { labPrice: 'much' }));
    expect(reply.status).toBe(422);
    expect(await reply.text()).toContain('Kept from before');
    expect(site.asked).toHaveLength(before);
  });

  it('says when a file is too large, too many come, or one has a strange field', async () => {
    const large = new FormData();
    large.append('points', new Blob([new Uint8Array(61 * 1024 * 1024)]), 'large.csv');
    const tooLarge = await post(large);
    expect(tooLarge.status).toBe(413);
    expect(await tooLarge.text()).toContain('larger than 60 MB');
    const many = formOf(Array.from({ length: 13 }, (_, i) => ['files', `${i}.csv`, 'a'] as const));
    const tooMany = await post(many);
    expect(tooMany.status).toBe(413);
    expect(await tooMany.text()).toContain('More than 12 files');
    expect((await post(formOf([['strange', 'a.csv', 'a']]))).status).toBe(400);
  });

  it('shows a failure as a sentence without a stack, and tries again when asked', async () => {
    const reply = await post(formOf([['points', 'points.csv', 'crash']]));
    const text = await reply.text();
    expect(reply.status).toBe(500);
    expect(text).toContain('The calculation broke off on this input.');
    expect(text).not.toMatch(/\bat .*\.ts:\d+|node_modules/);
    const again = /href="(\/cases\/[0-9a-f]+)"/.exec(text)?.[1] ?? '';
    const before = site.asked.length;
    await site.get(again);
    expect(site.asked).toHaveLength(before + 1);
  });

  it('shows that it is working, then the answer', async () => {
    const here = await newCase('slow');
    const waiting = await site.get(here);
    expect(waiting.status).toBe(202);
    const text = await waiting.text();
    expect(text).toContain('http-equiv="refresh"');
    expect(text).toContain('Comparing designs');
    expect(text).toContain('value="40"');
    await new Promise((resolve) => setTimeout(resolve, 1000));
    expect((await site.get(here)).status).toBe(200);
  });
});

describe('a case', () => {
  it('offers its downloads', async () => {
    const here = await newCase();
    expect((await site.get(`${here}/stops.csv`)).headers.get('content-type')).toContain('text/csv');
    expect(await (await site.get(`${here}/stops.geojson`)).json()).toMatchObject({
      type: 'FeatureCollection',
    });
    expect(await (await site.get(`${here}/advice.json`)).json()).toMatchObject({ tool: { name: 'lagstep' } });
    expect((await site.get(`${here}/case.json`)).status).toBe(404);
  });

  it('reads again with corrected columns, and only those', async () => {
    const here = await newCase();
    const before = site.asked.length;
    const reply = await sendForm(`${here}/columns`, {
      'c.0.3.file': 'points.csv',
      'c.0.3.header': 'P (M3) ppm',
      'c.0.3.was': 'analyte:P|ppm',
      'c.0.3.use': 'analyte:P',
      'c.0.3.unit': 'lb/ac',
      'c.0.5.file': 'points.csv',
      'c.0.5.header': 'pH',
      'c.0.5.was': 'analyte:pH|pH',
      'c.0.5.use': 'analyte:pH',
      'c.0.5.unit': 'pH',
      'c.0.6.file': 'points.csv',
      'c.0.6.header': 'P rec',
      'c.0.6.was': 'ignored|',
      'c.0.6.use': 'label',
      'c.0.6.unit': '',
    });
    expect([reply.status, reply.headers.get('location')]).toEqual([303, here]);
    expect(site.asked).toHaveLength(before + 1);
    expect(site.asked.at(-1)?.files[0].columns).toEqual({
      'P (M3) ppm': { role: 'analyte', analyte: 'P', unit: 'lb/ac' },
      'P rec': { role: 'label' },
    });
    await sendForm(`${here}/columns`, {
      'c.0.0.file': 'points.csv',
      'c.0.0.header': 'x',
      'c.0.0.was': 'x|',
      'c.0.0.use': 'x',
      'c.0.0.unit': '',
    });
    expect(site.asked).toHaveLength(before + 1);
  });

  it('offers to read columns again only where there are any', async () => {
    const button = 'Read again with these columns';
    expect(await (await site.get(await newCase())).text()).toContain(button);
    const reply = await post(formOf([['boundary', 'bound.geojson', '{}']]));
    const text = await (await site.get(reply.headers.get('location') ?? '')).text();
    expect(text).toContain('What was read');
    expect(text).not.toContain(button);
  });

  it('is deleted when asked', async () => {
    const here = await newCase();
    expect((await sendForm(`${here}/delete`, {})).status).toBe(303);
    expect((await site.get(here)).status).toBe(404);
  });

  it('works out anew with other assumptions', async () => {
    const here = await newCase('lon,lat,P\n', { units: 'us', name: 'West' });
    const reply = await sendForm(`${here}/options`, { units: 'us', labPrice: '12', blockM: '60' });
    expect(reply.status).toBe(303);
    expect(site.asked.at(-1)?.options).toEqual({ unitSystem: 'us', labPrice: 12 });
    expect((await sendForm(`${here}/options`, { units: 'us', labPrice: 'x' })).status).toBe(422);
  });

  it('sets values aside, takes them back, and forgets them with the file they were of', async () => {
    const here = await newCase('lon,lat,P\n1,2,newer\n');
    const keys = new URLSearchParams([
      ['units', 'us'],
      ['setAside', ''],
      ['setAside', 'P:10'],
      ['setAside', 'P:11'],
      ['scale.P', 'normalScore'],
      ['reuseOldPoints', 'no'],
    ]);
    const send = (body: URLSearchParams) => site.get(`${here}/options`, { method: 'POST', body });
    expect((await send(keys)).status).toBe(303);
    expect(site.asked.at(-1)?.options).toMatchObject({
      setAside: ['P:10', 'P:11'],
      scales: { P: 'normalScore' },
    });
    const page = await (await site.get(here)).text();
    expect(page).toContain('2 test values set aside by you');
    expect(page).toMatch(/name="setAside" value="P:12" form="assume">/);
    const id = here.replace('/cases/', '');
    const changed = await (await site.get(`/files?case=${id}`)).text();
    expect(changed).toContain('name="setAside" value="P:10 P:11"');
    const again = { case: id, keep: '0', setAside: 'P:10 P:11', 'scale.P': 'normalScore' };
    await post(formOf([['boundary', 'bound.geojson', '{}']], again));
    expect(site.asked.at(-1)?.options).toMatchObject({ setAside: ['P:10', 'P:11'] });
    await post(formOf([['points', 'points.csv', 'lon,lat,P\n']], again));
    expect(site.asked.at(-1)?.options).not.toHaveProperty('setAside');
    expect(site.asked.at(-1)?.options).toMatchObject({ scales: { P: 'normalScore' } });
    expect((await send(new URLSearchParams({ units: 'us', setAside: '', 'scale.P': '' }))).status).toBe(303);
    expect(site.asked.at(-1)?.options).not.toHaveProperty('setAside');
    expect(site.asked.at(-1)?.options).not.toHaveProperty('scales');
  });

  it.each(['/cases/zz', '/cases/00000000000000000000', '/cases/..%2f..', '/cases/new-0123456789abcdef0123'])(
    'is not found at %s',
    async (address) => {
      expect((await site.get(address)).status).toBe(404);
    },
  );
});
