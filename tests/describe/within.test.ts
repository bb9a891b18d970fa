import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { oneWay } from '../../src/describe/index.ts';
import { expectRelative } from '../reference/near.ts';
import { oxfordValues } from '../reference/reference.ts';
import oxford from '../reference/oxford.json';

/** The soil map unit of each profile as a number. */
const mapClasses: readonly number[] = (() => {
  const rows = readFileSync(new URL('../reference/oxford.csv', import.meta.url), 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split(',').map((cell) => cell.replace(/"/g, '')));
  const at = rows[0].indexOf('MAPCLASS');
  const names = rows.slice(1).map((row) => row[at]);
  const known = [...new Set(names)];
  return names.map((name) => known.indexOf(name));
})();

const byClass: Readonly<Record<string, { between_ms: number; within_ms: number; F: number; df: number[] }>> =
  oxford.by_mapclass;

// R 4.2.2 `aov` of each property by the map class of the oxford data (tests/reference/make_reference.R).
describe('one-way analysis of variance against R', () => {
  it('covers six properties', () => {
    expect(Object.keys(byClass)).toHaveLength(6);
  });

  it.each(Object.keys(byClass))('%s by map class', (variable) => {
    const theirs = byClass[variable];
    const ours = oneWay(oxfordValues(variable), mapClasses)!;
    expect([ours.classes - 1, ours.n - ours.classes]).toEqual(theirs.df);
    expectRelative(ours.betweenMs, theirs.between_ms, 1e-9, 'between');
    expectRelative(ours.withinMs, theirs.within_ms, 1e-9, 'within');
    expectRelative(ours.f, theirs.F, 1e-9, 'F');
  });
});

describe('one-way analysis of variance by hand', () => {
  // Means 2 and 8, MSB = 3·(3² + 3²) = 54, MSW = 1; intraclass (54 − 1)/(54 + 2·1) (Searle 1971).
  it('two classes of three', () => {
    const a = oneWay([1, 2, 3, 7, 8, 9], [0, 0, 0, 1, 1, 1])!;
    expect(a).toMatchObject({ classes: 2, n: 6, betweenMs: 54, withinMs: 1, f: 54 });
    expectRelative(a.intraclass, 53 / 56, 1e-14);
  });

  it('values of no class are left out', () => {
    expect(oneWay([1, 2, 3, 999, 7, 8, 9], [0, 0, 0, -1, 1, 1, 1])).toEqual(
      oneWay([1, 2, 3, 7, 8, 9], [0, 0, 0, 1, 1, 1]),
    );
  });

  it('classes that explain nothing: an intraclass correlation of 0, not below', () => {
    expect(oneWay([1, 9, 1, 9], [0, 0, 1, 1])!.intraclass).toBe(0);
  });

  it('one class, or a class for each value: no answer', () => {
    expect(oneWay([1, 2, 3], [4, 4, 4])).toBeUndefined();
    expect(oneWay([1, 2, 3], [0, 1, 2])).toBeUndefined();
  });
});
