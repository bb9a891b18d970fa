import { mkdir, readdir, writeFile } from 'node:fs/promises';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { createFarmJobs } from '../../server/farmJobs.ts';
import { listColumns } from '../../server/farmColumns.ts';
import { cleanPath, matchFile } from '../../server/farmUpload.ts';
import { readManifest } from '../../server/manifest.ts';
import { formOf, openSite, type Site } from './helpers.ts';

const LIST =
  'name,area,last_sampled,fixed\nRidge,60 ac,never,\nMeadow <b>,40 ac,2019,\nShut,30 ac,,leave out\n';

let site: Site;
beforeAll(async () => {
  site = await openSite();
  const demo = path.join(site.dataDir, 'demo');
  await mkdir(path.join(demo, 'east'), { recursive: true });
  await writeFile(path.join(demo, 'farm.csv'), 'name,area,points\nEast,50 ac,east/points.csv\n');
  await writeFile(path.join(demo, 'east', 'points.csv'), 'lon,lat,P\n');
});
afterAll(() => site.close());

type Given = readonly (readonly [string, string, string])[];

const post = (files: Given, fields: Record<string, string> = {}) =>
  site.get('/farm', { method: 'POST', body: formOf(files, fields) });

/** A page's text without the marks that keep a number and its unit together. */
const textOf = async (reply: Response) => (await reply.text()).replaceAll('\u00a0', ' ');

/** Sends a farm and waits for its plan. */
async function farm(
  files: Given,
  fields: Record<string, string> = {},
): Promise<{ here: string; text: string }> {
  const reply = await post(files, fields);
  expect(reply.status, await reply.clone().text()).toBe(303);
  const here = reply.headers.get('location') ?? '';
  expect(here).toMatch(/^\/farm\/[0-9a-f]{20}$/);
  for (;;) {
    const page = await site.get(here);
    if (page.status !== 202) return { here, text: await textOf(page) };
    await new Promise((done) => setTimeout(done, 50));
  }
}

describe('the form', () => {
  it('is reached from the start and from every page’s head, and explains the list', async () => {
    const start = await (await site.get('/')).text();
    expect(start).toContain('<a href="/farm">Several fields, one budget:</a>');
    const text = await (await site.get('/farm?budget=900&years=2')).text();
    expect(text).toContain('<a href="/farm">Several fields</a>');
    for (const { name } of listColumns) expect(text).toContain(`<th scope="row">${name}</th>`);
    expect(text).toContain('value="900"');
    expect(text).toMatch(/<option value="2" selected/);
    expect(text).toContain('name="demo"');
    expect(text).not.toContain('Kept from before');
  });

  it('offers a list to fill in that is read without a word', async () => {
    const reply = await site.get('/farm/template.csv');
    expect(reply.headers.get('content-type')).toContain('text/csv');
    const m = readManifest('fields.csv', new Uint8Array(await reply.arrayBuffer()), 2026);
    expect([m.problems, m.notes]).toEqual([[], []]);
    expect(m.fields.map((f) => f.name)).toEqual(['Home Field', 'Lower Meadow']);
  });
});

describe('a farm', () => {
  it('says what to sample, what waits and why, and what more would bring', async () => {
    const { text } = await farm([['list', 'my fields.csv', LIST]], { budget: '1,500' });
    expect(text).toMatch(
      /<h1>Spend [\d,]+ of 1,500 USD on \d of 3 fields this autumn: about [\d,]+ USD a year saved\.<\/h1>/,
    );
    expect(text).toContain('my fields.csv');
    expect(text).toMatch(
      /<dt><a href="\/answer\?name=Shut&amp;[^"]*area=30\.00[^"]*">Shut<\/a><\/dt><dd>left out, as the list says/,
    );
    expect(text).toContain('Meadow &lt;b&gt;');
    expect(text).not.toContain('Meadow <b>');
    expect(text).toMatch(/Over the 4 years (no other plan|at most)/);
    expect(text).toMatch(/At the budget the curve rises by [\d.,]+ USD a year for a further 100 USD/);
    expect(text).toContain('more this autumn would save');
    expect(text.match(/class="chart farm-chart"/g)).toHaveLength(2);
    const thisYear = new Date().getFullYear();
    for (let y = thisYear; y < thisYear + 4; y++) expect(text).toContain(`<th scope="col">${y}</th>`);
    expect(text).not.toMatch(/NaN|undefined|Infinity/);
  });

  it('keeps to one autumn and to a number of samples when asked', async () => {
    const { here, text } = await farm([['list', 'fields.csv', LIST]], {
      samples: '20',
      years: '1',
      year: '2031',
    });
    expect(text).toMatch(
      /<h1>Take \d+ of 20 samples on \d of 3 fields in autumn 2031, for [\d,]+ USD: about/,
    );
    expect(text).not.toContain('id="years"');
    expect(text).toContain('samples in autumn 2031');
    const json = (await (await site.get(`${here}/farm.json`)).json()) as {
      year: number;
      total: { samples: number };
      fields: { name: string; samples: number }[];
    };
    expect(json.year).toBe(2031);
    expect(json.total.samples).toBeLessThanOrEqual(20);
    expect(json.fields.map((f) => f.name)).toEqual(['Ridge', 'Meadow <b>', 'Shut']);
    expect(json.fields[2].samples).toBe(0);
  });

  it('survives a reload and a new start of the program without working anew', async () => {
    const { here, text } = await farm([['list', 'fields.csv', LIST]], { budget: '800' });
    const before = site.asked.length;
    expect(await textOf(await site.get(here))).toBe(text);
    const other = await openSite({ dataDir: site.dataDir });
    expect(await textOf(await other.get(here))).toBe(text);
    expect(other.asked).toHaveLength(0);
    expect(site.asked).toHaveLength(before);
    // Closing it would delete the folder that both share.
    expect(await readdir(path.join(site.dataDir, here.replace('/farm/', 'farms/')))).toContain('result.json');
  });

  it('downloads as CSV with a row a field, no cell a formula', async () => {
    const { here } = await farm([['list', 'fields.csv', `${LIST}=1+1,20 ac,,\n`]], { budget: '800' });
    const reply = await site.get(`${here}/fields.csv`);
    expect(reply.headers.get('content-disposition')).toContain('fields.csv');
    const lines = (await reply.text()).trimEnd().split('\r\n');
    expect(lines[0]).toMatch(/^row,field,area_ac,last_sampled,design,samples,cost_USD,gain_a_year_USD/);
    expect(lines).toHaveLength(5);
    expect(lines[4]).toMatch(/^5,.?'=1\+1/);
    expect((await site.get(`${here}/case.json`)).status).toBe(404);
  });

  it('passes prices and units on to every field; areas without a unit are in the form’s', async () => {
    const before = site.asked.length;
    await farm([['list', 'fields.csv', 'name,area\nA,60\nB,40\n']], {
      units: 'metric',
      labPrice: '12',
      budget: '700',
    });
    const asked = site.asked.slice(before);
    expect(asked.map((a) => a.answers?.areaHa)).toEqual([60, 40]);
    for (const a of asked) expect(a.options).toMatchObject({ unitSystem: 'metric', labPrice: 12 });
    await farm([['list', 'fields.csv', 'name,area\nA,60\n']], { units: 'us' });
    expect(site.asked.at(-1)?.answers?.areaHa).toBeCloseTo(24.28, 2);
  });

  it('is tried with the demo farm by one button, its files with it', async () => {
    const { text } = await farm([], { demo: 'yes' });
    expect(text).toMatch(/of 3,000 USD on/);
    expect(site.asked.at(-1)).toMatchObject({
      fieldName: 'East',
      files: [{ role: 'points', name: 'points.csv' }],
    });
  });

  it('is deleted when asked', async () => {
    const { here } = await farm([['list', 'fields.csv', LIST]]);
    expect((await site.get(`${here}/delete`, { method: 'POST' })).status).toBe(303);
    expect((await site.get(here)).status).toBe(404);
    expect((await site.get('/farm/..%2fcases')).status).toBe(404);
  });

  it('shows how far it is while fields are worked on', async () => {
    const slow: Given = [
      ['list', 'fields.csv', 'name,area,points\nQuick,20 ac,\nSlow,20 ac,slow.csv\nAfter,30 ac,\n'],
      ['files', 'slow.csv', 'slow'],
    ];
    const reply = await post(slow, { budget: '500' });
    const here = reply.headers.get('location') ?? '';
    const waiting = await site.get(here);
    expect(waiting.status).toBe(202);
    const text = await waiting.text();
    expect(text).toContain('http-equiv="refresh"');
    expect(text).toMatch(/role="status">\d of 3: (Quick|After)</);
    expect((await site.get(`${here}/farm.json`)).status).toBe(404);
    await new Promise((done) => setTimeout(done, 1000));
    expect((await site.get(here)).status).toBe(200);
  });
});

describe('files that the list names', () => {
  const named =
    'name,area,points,boundary\nA,20 ac,A/points.csv,\nB,20 ac,B/points.csv,bound.geojson\nC,20 ac,,\n';

  it('are found by name and folder among those brought', async () => {
    const before = site.asked.length;
    const { text } = await farm([
      ['list', 'fields.csv', named],
      ['folder', 'farm/A/points.csv', 'of A'],
      ['folder', 'farm/B/points.csv', 'of B'],
      ['files', 'Bound.geojson', '{}'],
    ]);
    const given = Object.fromEntries(
      site.asked
        .slice(before)
        .map((a) => [a.fieldName, a.files.map((f) => new TextDecoder().decode(f.bytes))]),
    );
    expect(given).toEqual({ A: ['of A'], B: ['of B', '{}'], C: [] });
    expect(text).not.toContain('needs mending');
  });

  it('a missing one sets its field aside in one sentence, and the others stand', async () => {
    const { text } = await farm([
      ['list', 'fields.csv', named],
      ['files', 'A/points.csv', 'of A'],
      ['files', 'bound.geojson', '{}'],
    ]);
    expect(text).toContain('One row needs mending');
    expect(text).toContain(
      'fields.csv, row 3, column points: B/points.csv: No file of this name was brought along.',
    );
    expect(text).toMatch(/Autumn \d+: 2 fields, [\d,]+ acres, 1 more could not be used/);
  });

  it('never come from the server’s own disk', async () => {
    const before = site.asked.length;
    const reply = await post([
      ['list', 'l.csv', `name,area,points\nA,20 ac,${import.meta.filename}\nB,20 ac,../../farm.csv\n`],
    ]);
    expect(reply.status).toBe(422);
    const text = await reply.text();
    expect(text.match(/No file of this name was brought along/g)).toHaveLength(2);
    expect(site.asked).toHaveLength(before);
  });

  it('a field’s own trouble is named with its row, file and place', async () => {
    const { text } = await farm([
      ['list', 'fields.csv', 'name,area,points\nTorn,20 ac,points.csv\nWhole,30 ac,\n'],
      ['files', 'points.csv', 'bad'],
    ]);
    expect(text).toContain(
      'fields.csv, row 2, column points: Torn: points.csv, row 14, column P: The value “x” is not a number.',
    );
  });

  it.each([
    ['points.csv', ['farm/A/points.csv', 'farm/B/points.csv'], 'several'],
    ['A/points.csv', ['farm/A/points.csv', 'farm/B/points.csv'], 0],
    ['B\\Points.CSV', ['farm/A/points.csv', 'farm/B/points.csv'], 1],
    ['A/points.csv', ['points.csv'], 0],
    ['C/points.csv', ['farm/A/points.csv'], undefined],
    ['A/points.csv', ['points.csv', 'A/points.csv'], 1],
    ['./x.csv', ['x.csv'], 0],
    ['x.csv', ['xx.csv'], undefined],
  ])('%j among %j', (wanted, names, expected) => {
    const files = names.map((name, at) => ({ name, at }));
    const found = matchFile(wanted, files);
    expect(typeof found === 'object' ? found.at : found).toBe(expected);
  });

  it('names are stripped of what could lead elsewhere', () => {
    expect(cleanPath('../../etc/passwd')).toBe('etc/passwd');
    expect(cleanPath('C:\\farm\\a\u0000.csv')).toBe('C:/farm/a.csv');
    expect(cleanPath('..')).toBe('unnamed file');
  });
});

describe('what can’t be used', () => {
  it.each([
    [[], {}, /No list of fields was brought/],
    [[['list', 'l.csv', 'name,slope\nA,flat\n']], {}, /No column gives the area/],
    [[['list', 'l.csv', 'name,area\nA,big\n']], {}, /l\.csv, row 2, column area: “big” is not an area/],
    [[['list', 'l.csv', 'name,area\n']], {}, /in the way/],
    [[['list', 'l.csv', '']], {}, /in the way/],
    [[['list', 'l.csv', LIST]], { budget: 'much' }, /“Most to spend” needs a number, 0 or more, not “much”/],
    [[['list', 'l.csv', LIST]], { samples: '2.5' }, /“Most samples” needs a whole number/],
    [[['list', 'l.csv', LIST]], { years: '9' }, /“Years to plan” needs a whole number from 1 to 6/],
    [[['list', 'l.csv', LIST]], { labPrice: '-3' }, /Laboratory price/],
  ] as [Given, Record<string, string>, RegExp][])('%j with %j', async (files, fields, word) => {
    const before = site.asked.length;
    const reply = await post(files, { labourPerHour: '31', ...fields });
    const text = await textOf(reply);
    expect(reply.status).toBe(422);
    expect(text).toMatch(word);
    expect(text).toContain('value="31"');
    for (const value of Object.values(fields)) if (value !== '9') expect(text).toContain(`value="${value}"`);
    expect(site.asked).toHaveLength(before);
  });

  it('keeps the list and the files for the next try', async () => {
    const first = await post(
      [
        ['list', 'mine.csv', 'name,area,points\nA,20 ac,points.csv\n'],
        ['files', 'points.csv', 'of A'],
      ],
      { budget: 'x' },
    );
    const text = await first.text();
    expect(text).toContain('The list <strong>mine.csv</strong>');
    const id = /name="farm" value="([0-9a-f]+)"/.exec(text)?.[1] ?? '';
    await farm([], { farm: id, keepFiles: 'yes', budget: '400' });
    expect(site.asked.at(-1)?.files[0].name).toBe('points.csv');
    const without = await post([], { farm: id, budget: '400' });
    expect(without.status).toBe(422);
    expect(await without.text()).toContain('No file of this name');
    await farm([['files', 'POINTS.csv', 'newer one']], { farm: id, keepFiles: 'yes' });
    expect(new TextDecoder().decode(site.asked.at(-1)?.files[0].bytes)).toBe('newer one');
    expect((await post([], { farm: '0'.repeat(20) })).status).toBe(404);
  });

  it('bad rows are listed clearly beside the plan of the others', async () => {
    const { text } = await farm([['list', 'l.csv', 'name,area,slope\nA,20 ac,flat\nB,big,\nC,9 ac,steep\n']]);
    expect(text).toContain('2 things in the list need mending');
    expect(text).toMatch(/l\.csv, row 3, column area/);
    expect(text).toMatch(/l\.csv, row 4, column slope/);
    expect(text).toMatch(/on \d of 1 field this autumn|Sample nothing/);
  });

  it('leaves no half-received farm behind', async () => {
    const large = formOf([['list', 'l.csv', LIST]]);
    large.append('files', new Blob([new Uint8Array(61 * 1024 * 1024)]), 'large.csv');
    const reply = await site.get('/farm', { method: 'POST', body: large });
    expect(reply.status).toBe(413);
    expect(await reply.text()).toContain('larger than 60 MB');
    expect((await post([['strange', 'a.csv', 'a']])).status).toBe(400);
    expect((await readdir(path.join(site.dataDir, 'farms'))).filter((n) => n.startsWith('new-'))).toEqual([]);
  });

  it('a form from another site is refused', async () => {
    const body = formOf([['list', 'l.csv', LIST]]);
    const reply = await site.get('/farm', {
      method: 'POST',
      body,
      headers: { origin: 'http://elsewhere.example' },
    });
    expect(reply.status).toBe(403);
  });
});

describe('farms in line', () => {
  it('are worked on one after the other, and one that breaks off holds up no other', async () => {
    const noted = vi.spyOn(console, 'error').mockImplementation(() => undefined);
    const jobs = createFarmJobs<string>();
    const order: string[] = [];
    let go: () => void = () => undefined;
    const gate = new Promise<void>((open) => (go = open));
    const first = jobs.start('a', async (progress) => {
      order.push('a starts');
      progress(0.5, '1 of 2');
      await gate;
      order.push('a ends');
      throw new RangeError('broken, as the test wants');
    })!;
    const second = jobs.start('b', () => {
      order.push('b starts');
      return Promise.resolve('b');
    })!;
    expect(jobs.start('b', () => Promise.resolve('again'))).toBe(second);
    await Promise.resolve();
    await Promise.resolve();
    expect([first.share, first.doing, second.doing]).toEqual([
      0.5,
      '1 of 2',
      'Waiting for another farm to finish',
    ]);
    go();
    expect(await first.outcome).toEqual({ failed: true });
    expect(await second.outcome).toBe('b');
    expect(order).toEqual(['a starts', 'a ends', 'b starts']);
    expect([jobs.find('a'), jobs.find('b')]).toEqual([undefined, undefined]);
    expect(noted).toHaveBeenCalledOnce();
    noted.mockRestore();
  });

  it('no more than a dozen wait', async () => {
    const jobs = createFarmJobs<number>();
    const all = Array.from({ length: 20 }, (_, i) => jobs.start(String(i), () => Promise.resolve(i)));
    expect(all.filter((j) => j !== undefined)).toHaveLength(13);
    await Promise.all(all.map((j) => j?.outcome));
    expect(jobs.start('later', () => Promise.resolve(1))).toBeDefined();
  });
});
