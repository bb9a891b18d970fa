import { describe, expect, it } from 'vitest';
import {
  fQuantile,
  intraclassInterval,
  oneWay,
  randomNormal,
  seededRandom,
} from '../../src/describe/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { oxfordValues } from '../reference/reference.ts';
import { balancedReference, fQuantileReference, mapClasses, withinReference } from '../reference/zones.ts';
import oxford from '../reference/oxford.json';

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

// R 4.2.2 `qf` (tests/reference/zones.R).
it('quantiles of F against R', () => {
  const { p, df1, df2, q } = fQuantileReference;
  p.forEach((at, i) =>
    expectRelative(fQuantile(at, df1[i], df2[i]), q[i], 1e-8, `${at} ${df1[i]} ${df2[i]}`),
  );
});

describe('interval of the intraclass correlation', () => {
  // Root finding in R on Wald's ratio (tests/reference/zones.R); the map classes differ much in size.
  it.each(Object.keys(withinReference))('%s by map class, unequal classes, against R', (variable) => {
    const anova = oneWay(oxfordValues(variable), mapClasses)!;
    const { wald80, wald95 } = withinReference[variable];
    for (const [level, ends] of [
      [0.8, wald80],
      [0.95, wald95],
    ] as const) {
      const { low, high } = intraclassInterval(anova, level);
      expectWithin(low, ends[0], 1e-8, 'low');
      expectWithin(high, ends[1], 1e-8, 'high');
    }
  });

  // nlme's REML weighs classes otherwise than the analysis of variance; of unequal classes both are estimates of one thing.
  it.each(Object.keys(withinReference))('%s: REML of nlme lies in the 80 %% interval', (variable) => {
    const anova = oneWay(oxfordValues(variable), mapClasses)!;
    const { low, high } = intraclassInterval(anova, 0.8);
    expect(withinReference[variable].reml).toBeGreaterThanOrEqual(low);
    expect(withinReference[variable].reml).toBeLessThanOrEqual(high);
    expectWithin(anova.intraclass, withinReference[variable].reml, 0.12);
  });

  // Searle 1971: the closed form from R's aov and qf.
  it('classes of one size: the F interval in closed form', () => {
    const anova = oneWay(
      balancedReference.values,
      balancedReference.values.map((_, i) => Math.floor(i / 4)),
    )!;
    expectRelative(anova.f, balancedReference.f, 1e-10);
    expect(anova.n0).toBeCloseTo(4, 12);
    const { low, high } = intraclassInterval(anova, 0.9);
    expectWithin(low, balancedReference.interval90[0], 1e-8);
    expectWithin(high, balancedReference.interval90[1], 1e-8);
  });

  it('covers the truth as often as it says, classes of 2 to 20 values', () => {
    const random = seededRandom(71);
    const sizes = [2, 3, 4, 6, 10, 20];
    const classes = sizes.flatMap((size, g) => Array.from({ length: size }, () => g));
    let covered = 0;
    for (let run = 0; run < 600; run++) {
      const effects = sizes.map(() => Math.sqrt(0.5) * randomNormal(random));
      const values = classes.map((g) => effects[g] + Math.sqrt(0.5) * randomNormal(random));
      const { low, high } = intraclassInterval(oneWay(values, classes)!, 0.8);
      if (low <= 0.5 && high >= 0.5) covered++;
    }
    // 480 expected, standard deviation 9.8.
    expect(covered).toBeGreaterThan(445);
    expect(covered).toBeLessThan(515);
  });

  it('classes that explain nothing reach 0; no variation within reaches 1', () => {
    expect(intraclassInterval(oneWay([1, 9, 1, 9, 2, 8], [0, 0, 1, 1, 2, 2])!).low).toBe(0);
    expect(intraclassInterval(oneWay([1, 1, 2, 2], [0, 0, 1, 1])!)).toEqual({ low: 1, high: 1 });
  });

  it('a wider level holds the narrower; a level outside 0 to 1 is refused', () => {
    const anova = oneWay([1, 2, 3, 4, 6, 5, 8, 7, 9], [0, 0, 0, 1, 1, 1, 2, 2, 2])!;
    const [narrow, wide] = [intraclassInterval(anova, 0.5), intraclassInterval(anova, 0.95)];
    expect(wide.low).toBeLessThan(narrow.low);
    expect(wide.high).toBeGreaterThan(narrow.high);
    expect(() => intraclassInterval(anova, 1)).toThrow(RangeError);
  });
});
