import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { adviseFromFiles, type AdviceReply, type AdviceRequest } from '../../src/advise/index.ts';
import { sayProblem } from '../../src/read/index.ts';
import { farmCommand, type FarmReply } from '../../server/farmCommand.ts';
import { readManifest } from '../../server/manifest.ts';

const demoFarm = fileURLToPath(new URL('../../demo-data/farm.csv', import.meta.url));
const bytes = (text: string) => new TextEncoder().encode(text);
const read = (text: string, year = 2026) => readManifest('farm.csv', bytes(text), year);
const said = (problems: readonly Parameters<typeof sayProblem>[0][]) => problems.map(sayProblem).join('\n');

describe('the list of fields', () => {
  it('the demo farm’s', () => {
    const m = readManifest('farm.csv', readFileSync(demoFarm), 2026);
    expect([m.problems, m.notes]).toEqual([[], []]);
    expect(m.fields).toHaveLength(16);
    expect(m.fields[3]).toMatchObject({
      name: 'Three Benches',
      lastSampled: 2023,
      files: [
        { role: 'points', path: 'three-benches/points.csv' },
        { role: 'boundary', path: 'three-benches/boundary.geojson' },
        { role: 'soilUnits', path: 'three-benches/soil-units.geojson' },
        { role: 'yield', path: 'three-benches/yield-2025.csv' },
      ],
    });
    const home = m.fields.find((f) => f.name === 'Home Place')!;
    expect(home.answers).toMatchObject({ slope: 'rolling', manure: 'regular', crop: 'corn-soybean' });
    expect(home.answers.areaHa).toBeCloseTo(74 * 0.40468564224, 9);
    expect(home.lastSampled).toBeUndefined();
  });

  it('areas in either unit, years as dates, answers however they are cased, decimal commas', () => {
    const m = read(
      'Field;Area;Last sampled;Slope;soil units;labPrice;fixed\n' +
        'A;26,3 ha;2023-10-14;Rolling;I don’t know;27,50;must\n' +
        'B;65 acres;never;;many;;leave out\n' +
        'C;12;04/10/2021;;;;\n',
    );
    expect(said(m.problems)).toBe('');
    expect(m.fields).toMatchObject([
      { lastSampled: 2023, answers: { areaHa: 26.3, slope: 'rolling', labPrice: 27.5 }, fixed: 'sample' },
      { answers: { soilUnits: 'many' }, fixed: 'leave out' },
      { lastSampled: 2021, answers: { areaHa: 12 } },
    ]);
    expect(m.fields[0].answers.soilUnits).toBeUndefined();
    expect(m.fields[1].answers.areaHa).toBeCloseTo(26.3046, 4);
    expect(said(m.notes)).toMatch(/column Area: 1 area has no unit; taken as hectares/);
  });

  it.each([
    ['name,area\nA,big\nB,3 ha\n', /^farm\.csv, row 2, column area: “big” is not an area/],
    ['name,area\nA,-4 ha\nB,3 ha\n', /row 2, column area/],
    ['name,area\nA,\nB,3 ha\n', /row 2: Nothing says how large/],
    ['name,area,slope\nA,3 ha,steep\nB,3 ha,flat\n', /row 2, column slope: .* one of flat, rolling, eroded/],
    ['name,area,last_sampled\nA,3 ha,2031\nB,3 ha,\n', /row 2, column last_sampled: 2031 is after/],
    ['name,area,last_sampled\nA,3 ha,soon\nB,3 ha,\n', /row 2, column last_sampled: “soon” is not a year/],
    ['name,area,fixed\nA,3 ha,perhaps\nB,3 ha,\n', /row 2, column fixed: “perhaps”/],
    ['name,area\nA,3 ha,x,y\nB,3 ha\nC,2 ha\n', /row 2: The row holds more values/],
  ])('%j: the row is set aside, the next stands', (text, word) => {
    const m = read(text);
    expect(said(m.problems)).toMatch(word);
    expect(m.fields.map((f) => f.name)).toContain('B');
    expect(m.fields.map((f) => f.name)).not.toContain('A');
  });

  it('a column it doesn’t know is passed over and named; two fields of one name are told apart', () => {
    const m = read('name,area,tenant\nA,3 ha,x\nA,4 ha,y\n');
    expect(said(m.notes)).toMatch(/column tenant: The column is not known/);
    expect(m.fields.map((f) => f.name)).toEqual(['A', 'A (row 3)']);
  });

  it('no column that gives a field’s ground', () => {
    expect(said(read('name,slope\nA,flat\n').problems)).toMatch(/No column gives the area/);
  });
});

/** Answers as they came, by what was asked; asking again is free, so that the tests are quick. */
const answered = new Map<string, Promise<AdviceReply>>();
const asked: string[] = [];

function farm(...args: string[]): Promise<FarmReply> {
  asked.length = 0;
  return farmCommand(args, {
    advise: async (request: AdviceRequest) => {
      asked.push(request.fieldName!);
      const key = JSON.stringify([
        request.answers,
        request.files.map((f) => [f.name, f.bytes.length]),
        request.options,
      ]);
      const reply = answered.get(key) ?? adviseFromFiles(request);
      answered.set(key, reply);
      return { kind: 'reply', reply: await reply };
    },
    most: 2,
    setOptions: (pairs) => Object.fromEntries(pairs.map((p) => p.split('='))) as Record<string, string>,
    progress: () => undefined,
    thisYear: 2026,
  });
}

interface FarmJson {
  readonly fields: readonly {
    readonly name: string;
    readonly chosen: string;
    readonly cost: number;
    readonly samples: number;
    readonly gainPerYear: number;
    readonly netPerYear: number;
    readonly plan?: { readonly years: readonly number[]; readonly reason: string };
  }[];
  readonly total: { readonly cost: number; readonly samples: number; readonly net: number };
  readonly allocation?: { readonly bound: number; readonly benefit: number; readonly gap: number };
  readonly schedule?: { readonly years: readonly { readonly cost: number }[]; readonly gap: number };
}

describe('lagstep farm', () => {
  let folder = '';
  let list = '';
  beforeAll(() => {
    folder = mkdtempSync(path.join(tmpdir(), 'lagstep-'));
    mkdirSync(path.join(folder, 'files'));
    writeFileSync(path.join(folder, 'files', 'bad.csv'), 'a,b\n1,2\n');
    list = path.join(folder, 'list.csv');
    writeFileSync(
      list,
      'name,area,slope,soilUnits,phosphorus,points,last_sampled,fixed\n' +
        'Ridge,60 ac,eroded,many,low,,never,\n' +
        'Twin,60 ac,eroded,many,low,,,\n' +
        'Fresh,60 ac,eroded,many,low,,2025,\n' +
        'Shut,60 ac,eroded,many,low,,,leave out\n' +
        'Small,9 ac,flat,one,,,,\n' +
        'Torn,20 ac,,,,files/bad.csv,,\n' +
        'Lost,20 ac,,,,files/none.csv,,\n' +
        'Steep,20 ac,steep,,,,,\n',
    );
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  const plan = async (...args: string[]): Promise<FarmJson> => {
    const reply = await farm(list, '--json', ...args);
    if (!reply.ok) throw new Error(said(reply.problems));
    return JSON.parse(reply.text) as FarmJson;
  };

  it('bad rows are named with what to mend and stop nothing; fields alike are worked out once', async () => {
    const reply = await farm(list, '--budget', '500', '--years', '1');
    expect(reply.ok).toBe(true);
    const problems = said(reply.problems);
    expect(problems).toMatch(/^list\.csv, row 7, column points: Torn: bad\.csv/m);
    expect(problems).toMatch(/^list\.csv, row 8, column points: files\/none\.csv: There is no such file/m);
    expect(problems).toMatch(/^list\.csv, row 9, column slope/m);
    expect(asked.sort()).toEqual(['Ridge', 'Small', 'Torn']);
    if (!reply.ok) return;
    expect(reply.text).toMatch(
      /^list\.csv, autumn 2026: 5 fields; 3 more could not be used; at most 500 USD\./,
    );
    expect(reply.text).toMatch(/^field +acres +design +samples +cost +gain a year$/m);
    expect(reply.text).toMatch(/^Fresh +60 +not now/m);
    expect(reply.text).toMatch(/^Shut +60 +not now/m);
    expect(reply.text).toMatch(/within the limits/);
    expect(reply.text).toMatch(/A further 100 USD would bring about [\d.]+ USD a year/);
    expect(reply.text).toMatch(/Next would be bought, in this order:\n {2}(Ridge|Twin), /);
    expect(reply.text).not.toMatch(/NaN|undefined|Infinity|The years/);
  });

  it('one autumn: within the budget, benefit and bound in order, and more money never brings less', async () => {
    let before = -1;
    for (const budget of ['0', '200', '500', '5000']) {
      const j = await plan('--budget', budget, '--years', '1');
      expect(j.total.cost).toBeLessThanOrEqual(Number(budget) + 1e-6);
      expect(j.total.net).toBeCloseTo(j.allocation!.benefit, 6);
      expect(j.allocation!.gap).toBeCloseTo(j.allocation!.bound - j.total.net, 6);
      expect(j.total.net).toBeGreaterThanOrEqual(before - 1e-9);
      before = j.total.net;
      for (const f of j.fields) expect(f.gainPerYear - f.cost / 4).toBeCloseTo(f.netPerYear, 6);
    }
    expect(before).toBeGreaterThan(0);
    const few = await plan('--samples', '10', '--years', '1');
    expect(few.total.samples).toBeLessThanOrEqual(10);
    expect(few.total.samples).toBeGreaterThan(0);
  });

  it('the years: what this autumn has no money for waits for the next; what is fresh and what is shut is not sampled', async () => {
    const j = await plan('--budget', '200', '--years', '3');
    const yearsOf = (name: string) => j.fields.find((f) => f.name === name)!.plan!.years;
    expect([yearsOf('Ridge')[0], yearsOf('Twin')[0]].sort()).toEqual([0, 1]);
    expect(yearsOf('Shut')).toEqual([]);
    expect(yearsOf('Fresh')).not.toContain(0);
    for (const y of j.schedule!.years) expect(y.cost).toBeLessThanOrEqual(200 + 1e-6);
    expect(j.schedule!.gap).toBeGreaterThanOrEqual(0);
    // The table is the plan's first year.
    for (const f of j.fields) expect(f.samples > 0).toBe(f.plan!.years.includes(0));
    const text = await farm(list, '--budget', '200', '--years', '3');
    if (!text.ok) throw new Error(said(text.problems));
    expect(text.text).toMatch(/^ {2}2026 {2}(Ridge|Twin)/m);
    expect(text.text).toMatch(/^ {2}2027 {2}/m);
    expect(text.text).toMatch(/^ {2}(Ridge|Twin) +2027: waits/m);
    expect(text.text).toMatch(/^ {2}Shut +left out, as the list says$/m);
    expect(text.text).toMatch(/more this autumn would save/);
    expect(text.text).not.toMatch(/NaN|undefined|Infinity/);
  });

  it('as a shell runs it, in threads that stay from field to field', async () => {
    const few = path.join(folder, 'few.csv');
    writeFileSync(few, 'name,area\nA,6 ac\nB,8 ac\nC,7 ac\nD,x\n');
    const command = fileURLToPath(new URL('../../server/lagstep.mjs', import.meta.url));
    const run = await new Promise<{ code: number | null; out: string; err: string }>((resolve, reject) => {
      const child = spawn(process.execPath, [command, 'farm', few, '--budget', '300', '--year', '2026']);
      const [out, err]: [Buffer[], Buffer[]] = [[], []];
      child.stdout.on('data', (chunk: Buffer) => out.push(chunk));
      child.stderr.on('data', (chunk: Buffer) => err.push(chunk));
      child.on('error', reject);
      child.on('close', (code) =>
        resolve({ code, out: Buffer.concat(out).toString('utf8'), err: Buffer.concat(err).toString('utf8') }),
      );
    });
    expect(run.code, run.err).toBe(0);
    expect(run.err).toMatch(/^few\.csv, row 5, column area: “x” is not an area\./);
    expect(run.err.trimEnd().split('\n')).toHaveLength(1);
    expect(run.out).toMatch(
      /^few\.csv, autumn 2026: 3 fields; 1 more could not be used; at most 300 USD a year\./,
    );
    expect(run.out).toMatch(/^C +7 +/m);
  }, 120_000);

  it.each([
    [[], /No list of fields/],
    [['a.csv', 'b.csv'], /More than one list/],
    [['nowhere.csv'], /^nowhere\.csv: There is no such file/],
    [['a.csv', '--budget', 'much'], /^--budget: “much” will not do/],
    [['a.csv', '--budget', '-5'], /--budget/],
    [['a.csv', '--samples', '2.5'], /^--samples: .*whole number/],
    [['a.csv', '--years', '7'], /^--years: .*from 1 to 6/],
    [['a.csv', '--year', 'next'], /^--year/],
    [['a.csv', '--bogus'], /--bogus/],
    [['a.csv', '--set', 'labPrice=-1'], /labPrice/],
  ])('%j is refused in one sentence', async (args, word) => {
    const reply = await farm(...args);
    expect(reply.ok).toBe(false);
    expect(reply.problems).toHaveLength(1);
    expect(said(reply.problems)).toMatch(word);
  });
});
