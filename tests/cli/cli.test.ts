import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { adviceOptionsSchema, VERSION, type Advice } from '../../src/advise/index.ts';
import { demoPath } from '../advise/ask.ts';

const command = fileURLToPath(new URL('../../server/lagstep.mjs', import.meta.url));
let folder = '';

interface Run {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs the command in the test's own folder, as a shell would. */
function lagstep(...args: readonly string[]): Promise<Run> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [command, ...args], { cwd: folder });
    const [out, err]: [Buffer[], Buffer[]] = [[], []];
    child.stdout.on('data', (chunk: Buffer) => out.push(chunk));
    child.stderr.on('data', (chunk: Buffer) => err.push(chunk));
    child.on('error', reject);
    child.on('close', (code) =>
      resolve({ code, out: Buffer.concat(out).toString('utf8'), err: Buffer.concat(err).toString('utf8') }),
    );
  });
}

const put = (name: string, text: string) => {
  writeFileSync(path.join(folder, name), text);
  return name;
};

/** What a mistake of the user's must come to: code 2, nothing on standard output, one line with what to mend. */
function expectRefusal(run: Run, ...words: readonly RegExp[]): void {
  expect(run.code, run.err).toBe(2);
  expect(run.out).toBe('');
  expect(run.err.trimEnd().split('\n')).toHaveLength(1);
  expect(run.err).toMatch(/^\S.*: .*\.\n$/);
  expect(run.err).not.toMatch(/^\s+at |node:internal|Error:|undefined|\.js:\d+/m);
  for (const word of words) expect(run.err).toMatch(word);
}

beforeAll(async () => {
  folder = mkdtempSync(path.join(tmpdir(), 'lagstep-'));
  // The first run may build.
  await lagstep('--version');
}, 120_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('help', () => {
  it.each([[[]], [['help']], [['advise', '--help']]])('%j', async (args) => {
    const { code, out, err } = await lagstep(...args);
    expect([code, err]).toEqual([0, '']);
    expect(out).toMatch(/Usage/);
    expect(out).toMatch(/Exit codes/);
    for (const option of [
      '--points',
      '--boundary',
      '--soil-units',
      '--yield',
      '--answers',
      '--column',
      '--set',
      '--json',
    ])
      expect(out).toContain(option);
    for (const name of Object.keys(adviceOptionsSchema.shape)) expect(out).toContain(name);
  });

  it('--version', async () => {
    expect(await lagstep('--version')).toEqual({ code: 0, out: `${VERSION}\n`, err: '' });
  });
});

interface Stops {
  readonly type: string;
  readonly features: readonly { readonly geometry: { readonly coordinates: readonly number[] } }[];
}
const stopsIn = (name: string) => JSON.parse(readFileSync(path.join(folder, name), 'utf8')) as Stops;

describe('answers', () => {
  it('demo long-reach: the verdict, the designs compared, and the stops in a file here', async () => {
    const { code, out, err } = await lagstep('demo', 'long-reach');
    expect([code, err]).toEqual([0, '']);
    expect(out).toMatch(/Long Reach, \d+ acres/);
    expect(out).toMatch(/Take one sample per [\d.]+ acres: \d+ samples/);
    expect(out).toMatch(/<- advised/);
    expect(out).toMatch(/Phosphorus: CV \d+ %/);
    expect(out).toMatch(/Stops written to long-reach-stops\.geojson/);
    expect(out).not.toMatch(/NaN|undefined|Infinity/);
    const { type, features } = stopsIn('long-reach-stops.geojson');
    expect(type).toBe('FeatureCollection');
    expect(out).toContain(`${features.length} stops`);
    expect(out).toMatch(new RegExp(`: ${features.length} samples`));
  });

  it('advise on files: JSON alone on standard output, stops where they were wanted, columns and options as said', async () => {
    const { code, out, err } = await lagstep(
      'advise',
      '--points',
      demoPath('kettle-flat', 'points.csv'),
      '--boundary',
      demoPath('kettle-flat', 'boundary.geojson'),
      '--column',
      'pH=ignored',
      '--column',
      'OM %=ignored',
      '--set',
      'labPrice=31',
      '--set',
      'unitSystem=metric',
      '--json',
      '--stops',
      'where.geojson',
    );
    expect([code, err]).toEqual([0, '']);
    const advice = JSON.parse(out) as Advice;
    expect(advice.tool).toEqual({ name: 'lagstep', version: VERSION });
    expect(advice.options).toMatchObject({ labPrice: 31, unitSystem: 'metric' });
    expect(advice.analytes.map((a) => a.id)).toEqual(['P', 'K']);
    expect(advice.analytes[0].summary!.n).toBe(71);
    expect(advice.field.boundarySource).toBe('given');
    expect(stopsIn('where.geojson').features).toHaveLength(advice.stops.length);
    expect(readdirSync(folder).filter((f) => f.includes('kettle'))).toEqual([]);
  });

  it('advise on answers alone, as text', async () => {
    const answers = put('answers.json', '{"areaHa": 4, "slope": "rolling", "manure": "unknown"}');
    const { code, out, err } = await lagstep('advise', '--answers', answers, '--stops', 'few.geojson');
    expect([code, err]).toEqual([0, '']);
    expect(out).toMatch(/9\.9 acres|10 acres/);
    expect(out).toMatch(/rests on what is published/);
    expect(stopsIn('few.geojson').features.length).toBeGreaterThan(0);
  });
});

describe('mistakes: code 2 and one line that names what to mend', () => {
  it('a file that is not what it should be', async () => {
    expectRefusal(await lagstep('advise', '--points', put('bad.csv', 'a,b\n1,2\n')), /^bad\.csv\b/);
    expectRefusal(
      await lagstep('advise', '--points', put('empty.csv', '')),
      /^empty\.csv: The file is empty\./,
    );
    expectRefusal(
      await lagstep('advise', '--boundary', put('bad.geojson', '{"type":"Poin')),
      /^bad\.geojson\b/,
    );
    expect(existsSync(path.join(folder, 'bad-stops.geojson'))).toBe(false);
  });

  it('a file that is not there, or is a folder', async () => {
    expectRefusal(
      await lagstep('advise', '--points', 'nowhere.csv'),
      /^nowhere\.csv: There is no such file\./,
    );
    expectRefusal(await lagstep('advise', '--points', '.'), /folder/);
  });

  it('nothing to advise on', async () => {
    expectRefusal(await lagstep('advise'), /--points/);
  });

  it('an unknown command, demo field or option', async () => {
    expectRefusal(await lagstep('advice'), /advice/);
    expectRefusal(await lagstep('demo', 'nowhere'), /nowhere/, /long-reach/);
    expectRefusal(await lagstep('advise', '--point', 'x.csv'), /--point\b/);
    expectRefusal(await lagstep('advise', '--points'), /--points/);
  });

  it('an option that demo does not have', async () => {
    expectRefusal(await lagstep('demo', 'nowhere', '--bogus'), /--bogus/);
  });

  it('a setting that is unknown, without a value or out of range', async () => {
    const answers = put('small.json', '{"areaHa": 2}');
    const set = (pair: string) => lagstep('advise', '--answers', answers, '--set', pair);
    expectRefusal(await set('labprice=3'), /labprice=3.*Write --set labPrice=3/);
    expectRefusal(await set('labPrice'), /labPrice/);
    expectRefusal(await set('labPrice=-3'), /labPrice/);
    expectRefusal(await set('unitSystem=imperial'), /unitSystem/);
  });

  it('a setting with nothing after the =, which is no price of 0', async () => {
    const answers = put('small.json', '{"areaHa": 2}');
    expectRefusal(await lagstep('advise', '--answers', answers, '--set', 'labPrice='), /labPrice/);
  });

  it('answers that are no JSON, or say what no question asks', async () => {
    expectRefusal(
      await lagstep('advise', '--answers', put('torn.json', '{"areaHa": ')),
      /^torn\.json\b.*JSON/,
    );
    expectRefusal(
      await lagstep('advise', '--answers', put('odd.json', '{"slope": "steep"}')),
      /^odd\.json\b/,
      /slope/,
    );
    expectRefusal(await lagstep('advise', '--answers', put('list.json', '[1, 2]')), /^list\.json\b/);
  });

  it('a column without its analyte', async () => {
    const points = put('points.csv', 'x,y,P\n0,0,10\n100,0,20\n0,100,30\n');
    expectRefusal(await lagstep('advise', '--points', points, '--column', 'P'), /--column/);
  });

  it('a place for the stops that cannot be written', async () => {
    const answers = put('small.json', '{"areaHa": 2}');
    expectRefusal(
      await lagstep('advise', '--answers', answers, '--stops', 'no/such/folder/stops.geojson'),
      /no\/such\/folder/,
    );
  });
});

describe('lagstep variogram', () => {
  const oxford = fileURLToPath(new URL('../reference/oxford.csv', import.meta.url));

  it('compares models of a property, with intervals and a check', async () => {
    const run = await lagstep(
      'variogram',
      '--points',
      oxford,
      '--analyte',
      'OM',
      '--models',
      'nugget,exponential',
    );
    expect(run.code, run.err).toBe(0);
    expect(run.out).toMatch(/^Organic matter \(%\), 126 points/);
    expect(run.out).toMatch(/exponential +3 +-17\.8\d/);
    expect(run.out).toMatch(/effective range, m/);
    expect(run.out).toMatch(/mean squared standardised error \d/);
  });

  it('takes own lags and gives plain numbers as JSON', async () => {
    const run = await lagstep(
      ...['variogram', '--points', oxford, '--analyte', 'P', '--models', 'nugget,spherical'],
      ...['--lags', '150,300,600', '--estimator', 'dowd', '--json'],
    );
    expect(run.code, run.err).toBe(0);
    const [study] = JSON.parse(run.out) as { bins: unknown[]; choice: { chosen: { beta: unknown } } }[];
    expect(study.bins).toHaveLength(3);
    expect(Array.isArray(study.choice.chosen.beta)).toBe(true);
  });

  it.each([
    [[], /No test points/],
    [['--points', oxford, '--analyte', 'Q'], /no property “Q”/],
    [['--points', oxford, '--models', 'cubic'], /“cubic” is not known/],
    [['--points', oxford, '--lags', '100,x'], /“x” will not do/],
    [['--points', oxford, '--direction', 'north'], /“north” will not do/],
    [['--points', 'missing.csv'], /no such file/],
  ] as const)('%j is refused in one sentence', async (args, word) => {
    expectRefusal(await lagstep('variogram', ...args), word);
  });

  it('too few values are refused', async () => {
    const name = put(
      'few.csv',
      `x,y,P ppm\n${Array.from({ length: 9 }, (_, i) => `${500000 + 40 * i},${4500000 + 30 * (i % 3)},${20 + i}`).join('\n')}\n`,
    );
    expectRefusal(await lagstep('variogram', '--points', name), /20 values/);
  });
});
