import { readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { sayProblem } from '../../src/read/problem.ts';
import { cropPlans } from '../../src/value/crops.ts';
import { findGuidance, guidanceTables, parseGuidance } from '../../src/value/guidance.ts';

const folder = new URL('../../src/value/guidance/', import.meta.url);
const files = readdirSync(folder);
const textOf = (file: string) => readFileSync(new URL(file, folder), 'utf8');

/** A table of the project as plain data, changed; what is then said of it. */
function saidOf(change: (table: Draft) => void, file = 'tri-state-1995.json'): readonly string[] {
  const table = JSON.parse(textOf(file)) as Draft;
  change(table);
  const read = parseGuidance('mine.json', table);
  return read.ok ? [] : read.problems.map(sayProblem);
}
interface Draft {
  [key: string]: unknown;
  rows: {
    [key: string]: unknown;
    crops: string[];
    rate: { of: string; unit: string };
    equation: { [key: string]: unknown };
  }[];
  removal: unknown[];
  responses: { [key: string]: unknown }[];
}

describe('guidance tables that come with the tool', () => {
  it('every file is read as it stands, and is offered under its name', () => {
    expect(files.length).toBeGreaterThanOrEqual(3);
    for (const file of files) {
      const read = parseGuidance(file, textOf(file));
      expect(read.ok, read.ok ? '' : read.problems.map(sayProblem).join('\n')).toBe(true);
      expect(findGuidance(file.replace('.json', ''))?.id).toBe(file.replace('.json', ''));
    }
    expect(new Set(guidanceTables.map((g) => g.id)).size).toBe(files.length);
    expect(findGuidance('nowhere')).toBeUndefined();
  });

  it('two regions, the extractants of the trade, and every crop of every plan for P, K and lime', () => {
    expect(new Set(guidanceTables.map((g) => g.region)).size).toBeGreaterThanOrEqual(2);
    const extractants = new Set(guidanceTables.flatMap((g) => g.rows.flatMap((r) => r.extractants)));
    for (const known of ['Bray-P1', 'Mehlich-3', 'Olsen', 'ammonium acetate', 'DTPA', '0.1 N HCl'])
      expect(extractants).toContain(known);
    for (const g of guidanceTables)
      for (const analyte of ['P', 'K', 'pH', 'bufferPH'])
        for (const { crop } of cropPlans.flatMap((p) => p.crops))
          expect(
            g.rows.some((r) => r.analyte === analyte && r.crops.includes(crop)),
            `${g.id} ${analyte} ${crop}`,
          ).toBe(true);
  });

  it('every number stands beside a source; one that is not printed says so', () => {
    const walk = (node: unknown, path: string): void => {
      if (Array.isArray(node)) node.forEach((n, i) => walk(n, `${path}[${i}]`));
      else if (node !== null && typeof node === 'object') {
        const keys = Object.keys(node);
        const number = keys.find((k) => typeof (node as Record<string, unknown>)[k] === 'number');
        // A response's form and a row's range of capacities have the source of the block they are part of.
        if (number && !/\.(form|cec)$/.test(path)) expect(keys, `${path}.${number}`).toContain('source');
        for (const k of keys) walk((node as Record<string, unknown>)[k], `${path}.${k}`);
      }
    };
    for (const file of files) walk(JSON.parse(textOf(file)), file);
    const iowa = findGuidance('iowa-2013')!;
    for (const r of iowa.rows) expect(r.source).toMatch(/from memory/);
  });
});

describe('a table with a slip in it: one sentence with the place, and what to do', () => {
  it.each([
    [
      'no JSON at all',
      () => {
        const read = parseGuidance('mine.json', '{ "id": "a", }');
        return read.ok ? [] : read.problems.map(sayProblem);
      },
      /^mine\.json: This is not JSON .*Start from one of the tables/,
    ],
    [
      'a text for a number',
      () => saidOf((t) => (t.rows[0].equation.critical = { value: '15', source: 'x' })),
      /^mine\.json: rows\[0\]\.equation\.critical\.value is "15"\. Give a number there\.$/,
    ],
    [
      'a number without source',
      () => saidOf((t) => (t.rows[0].equation.years = { value: 4 })),
      /^mine\.json: rows\[0\]\.equation\.years\.source is missing\. Give a text in quotes there\.$/,
    ],
    [
      'years of 0',
      () => saidOf((t) => (t.rows[0].equation.years = { value: 0, source: 'x' })),
      /rows\[0\]\.equation\.years\.value is 0\. Give a number above 0\./,
    ],
    [
      'a key misspelt',
      () => saidOf((t) => (t.rows[1].croops = ['corn'])),
      /rows\[1\]\.croops is not known in such a table\. Mend the spelling/,
    ],
    [
      'a unit that is not known',
      () => saidOf((t) => (t.rows[0].rate = { of: 'P2O5', unit: 'cwt/ac' })),
      /rows\[0\]\.rate\.unit is "cwt\/ac"\. Give one of lb\/ac, kg\/ha, ton\/ac, t\/ha\./,
    ],
    [
      'a kind that is not known',
      () => saidOf((t) => (t.rows[0].equation.kind = 'guess')),
      /rows\[0\]\.equation\.kind is "guess"\. Give one of buildup-maintenance, class-table/,
    ],
    ['no rows', () => saidOf((t) => (t.rows = [])), /rows is an empty list\. Give at least 1 of them\./],
    [
      'potash for phosphorus',
      () => saidOf((t) => (t.rows[0].rate.of = 'K2O')),
      /rows\[0\]\.rate\.of has to be P2O5 or P for P\./,
    ],
    [
      'no removal',
      () => saidOf((t) => (t.removal = [])),
      /rows\[0\]\.crops\[0\] needs what corn takes away of P2O5 under `removal`/,
    ],
    [
      'no response',
      () => saidOf((t) => (t.responses = t.responses.filter((r) => r.analyte !== 'K'))),
      /rows\[2\]\.crops\[0\] needs a response of corn to K/,
    ],
    [
      'lime by buffer without a row for pH',
      () => saidOf((t) => (t.rows = t.rows.filter((r) => r.analyte !== 'pH'))),
      /needs corn in the row for pH too/,
    ],
    [
      'a capacity at which nothing lifts the test',
      () => saidOf((t) => (t.rows[2].equation.perUnit = { value: 4, perCec: -0.2, source: 'x' })),
      /rows\[2\]\.equation\.perUnit has to be above 0 at every cation exchange capacity/,
    ],
    [
      'rows of two kinds for one test',
      () => saidOf((t) => (t.rows[1].rate.unit = 'kg/ha')),
      /rows\[1\]\.equation has to be of the same kind, units and classes/,
    ],
    [
      'classes that fall',
      () =>
        saidOf((t) => ((t.rows[0].equation.classes as { below: number }[])[1].below = 5), 'iowa-2013.json'),
      /rows\[0\]\.equation\.classes has to rise from class to class/,
    ],
    ['not a block', () => saidOf((t) => (t.rows[0] = 3 as never)), /rows\[0\] is 3\. Give a block in \{ \}/],
  ])('%s', (_, said, expected) => {
    expect(said()[0]).toMatch(expected);
  });

  it('says a handful at once, not a flood', () => {
    const all = saidOf((t) => t.rows.forEach((r) => delete (r as Record<string, unknown>).source));
    expect(all.length).toBe(5);
  });
});
