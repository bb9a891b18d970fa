import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { guessRole, prepareField, type Advice, type AdviceRequest } from '../../src/advise/index.ts';
import { readGuidance } from '../../src/advise/guidanceFile.ts';
import { sayProblem } from '../../src/read/index.ts';
import { guidanceTables } from '../../src/value/index.ts';
import { adviceOn, demoFiles, demoPath, given, problemsOf } from './ask.ts';
import { ownGuidance, phosphorusUpTo } from './ownGuidance.ts';

const bytesOf = (text: string) => new TextEncoder().encode(text);
const own = (text: string, name = 'mine.json') => given('guidance', name, text);
const saidOf = (text: string) => {
  const read = readGuidance(own(text));
  return read.ok ? read.notes.map(sayProblem) : read.problems.map(sayProblem);
};

describe('what a JSON file is taken for', () => {
  it('a guidance table, by its parts and under any name', () => {
    for (const table of guidanceTables)
      expect(guessRole('soil map.json', bytesOf(JSON.stringify(table)))).toBe('guidance');
    expect(guessRole('MINE.JSON', bytesOf(ownGuidance()))).toBe('guidance');
    expect(guessRole('mine.json', bytesOf(`\ufeff${ownGuidance()}`))).toBe('guidance');
  });

  it('one with a slip too: its reader says where', () => {
    const broken = ownGuidance().replace('"removal": [', '"removal": [,');
    expect(guessRole('mine.json', bytesOf(broken))).toBe('guidance');
    const misspelt = ownGuidance().replace('"responses"', '"response"');
    expect(guessRole('mine.json', bytesOf(misspelt))).toBe('guidance');
    expect(saidOf(misspelt).join(' ')).toMatch(/responses is missing/);
  });

  it('not GeoJSON, a table of another ending, or an answer of the tool', () => {
    const boundary = readFileSync(demoPath('long-reach', 'boundary.geojson'));
    expect(guessRole('field.json', boundary)).toBe('boundary');
    const rows = { type: 'Feature', properties: { rows: [1], responses: 2, removal: 'no' }, geometry: null };
    expect(guessRole('field.json', bytesOf(JSON.stringify(rows)))).not.toBe('guidance');
    expect(guessRole('mine.csv', bytesOf(ownGuidance()))).not.toBe('guidance');
    expect(guessRole('mine.json', bytesOf('{"rows": [], "name": "x"}'))).not.toBe('guidance');
    expect(guessRole('mine.json', bytesOf(''))).not.toBe('guidance');
  });
});

describe('reading a table of the user’s own', () => {
  it('says nothing of one that is in order', () => {
    expect(saidOf(ownGuidance())).toEqual([]);
  });

  it('notes an id that a table of the tool has, and crops that no plan grows', () => {
    expect(saidOf(JSON.stringify(guidanceTables[0]))).toEqual([
      expect.stringMatching(
        /^mine\.json: Its id “tri-state-2020” is that of a table that comes with the tool/,
      ),
    ]);
    const said = saidOf(
      ownGuidance((t) => {
        t.rows[0].crops.push('canola');
        t.responses[0].crops.push('canola');
        t.removal.push({ crop: 'canola', nutrient: 'P2O5', value: 0.8, unit: 'lb/bu', source: 'made up' });
      }),
    );
    expect(said).toEqual([
      'mine.json: No plan of crops here grows canola; rows for it are not used. The plans grow corn, soybean, wheat, alfalfa, written like that.',
    ]);
  });

  it.each([
    ['no JSON', '{\n  "id": "a",\n  oops\n}', /^mine\.json: This is not JSON \(.+\)\. Start from/],
    ['an empty file', '', /^mine\.json: The file is empty\. Give the guidance as JSON/],
    ['a picture', '\u0000\u0000\u0000PNG', /^mine\.json: The file is not text\./],
    ['a list', '[]', /^mine\.json: The file as a whole is an empty list\./],
    [
      'a figure of the wrong kind',
      ownGuidance(phosphorusUpTo('twenty' as unknown as number)),
      /^mine\.json: rows\[0\]\.equation\.critical\.value is "twenty"\. Give a number there\.$/,
    ],
    [
      'a key that is not known',
      ownGuidance().replace('"region"', '"state"'),
      /^mine\.json: (region is missing|state is not known)/,
    ],
    [
      'parts that do not fit together',
      ownGuidance((t) => t.removal.splice(0)),
      /^mine\.json: rows\[0\]\.crops\[0\] needs what corn takes away of P2O5 under `removal`\./,
    ],
  ])('%s is refused in one line with its place', (_, text, said) => {
    const read = readGuidance(own(text));
    expect(read.ok).toBe(false);
    const lines = saidOf(text);
    expect(lines[0]).toMatch(said);
    for (const line of lines) expect(line).not.toMatch(/\n|undefined|\[object/);
  });
});

describe('an answer by a table of the user’s own', () => {
  const answers = { areaHa: 5 };
  const options = { maxZones: 2 };
  const ask = (text: string | undefined, more: Partial<AdviceRequest> = {}) =>
    adviceOn({ answers, options, files: text === undefined ? [] : [own(text)], ...more });
  const critical = (advice: Advice) =>
    advice.money!.decisions.find((d) => d.analyte === 'P')!.figures.find((f) => f.key === 'P.critical')!;

  let first: Advice;
  beforeAll(async () => {
    first = await ask(ownGuidance(phosphorusUpTo(33)), { options: { ...options, guidance: 'iowa-2013' } });
  });

  it('names it, shows it as read, takes its figures, and goes before the option', async () => {
    expect(first.money!.guidance).toEqual({
      id: 'river-plain',
      title: 'River plain rates',
      region: 'a plain',
    });
    expect(first.inputs).toEqual([
      {
        file: 'mine.json',
        what: 'guidance',
        read: guidanceTables[0].rows.length,
        setAside: 0,
        columns: [],
        notes: [],
      },
    ]);
    expect(critical(first)).toMatchObject({ value: 33, own: false });
    expect(first.money!.decisions[0].source).toMatch(/^River plain /);
    // Its file names no field.
    expect(first.field.name).toBe('Field');
  });

  it('comes to the same as the table of the tool where the user sets the one figure back, not before', async () => {
    const shipped = await ask(undefined);
    const setBack = await ask(ownGuidance(phosphorusUpTo(33)), {
      options: { ...options, rates: { 'P.critical': 20 } },
    });
    expect(critical(setBack)).toMatchObject({ value: 20, own: true });
    expect(setBack.designs).toEqual(shipped.designs);
    const losses = (advice: Advice) => advice.designs.map((d) => d.lossPerHaYear.mid);
    expect(losses(first)).not.toEqual(losses(shipped));
  });

  it('a second one is refused, and all that is wrong is said at once', async () => {
    const said = await problemsOf({ answers, files: [own(ownGuidance()), own(ownGuidance(), 'other.json')] });
    expect(said.map(sayProblem)).toEqual([
      'other.json: A second file of guidance was given. Give the one table that rates are to be taken from.',
    ]);
    const both = await problemsOf({ files: [given('points', 'points.csv', ''), own('{}')] });
    expect(new Set(both.map((p) => p.file))).toEqual(new Set(['points.csv', 'mine.json']));
    expect(both.length).toBeLessThanOrEqual(6);
  });

  it('stands beside the other files in the report', async () => {
    const field = await prepareField({ files: [own(ownGuidance()), ...demoFiles('kettle-flat')] });
    if (!field.ok) throw new Error(field.problems.map(sayProblem).join(' '));
    expect(field.value.guidance?.id).toBe('river-plain');
    expect(field.value.inputs.map((i) => i.what)).toContain('guidance');
    expect(field.value.inputs.length).toBeGreaterThan(2);
    expect(field.value.name).not.toBe('mine');
  });
});
