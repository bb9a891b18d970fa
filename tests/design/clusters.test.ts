import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import { fuzzyKMeans, kmeansPlusPlus, standardise, type Covariates } from '../../src/design/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { clusteredColumns, fuzzyReference, kmeansReference } from '../reference/zones.ts';

const oxford = standardise(clusteredColumns)!;

const rows = (p: number, ...data: readonly number[]): Covariates => ({
  names: Array.from({ length: p }, (_, j) => `c${j}`),
  n: data.length / p,
  p,
  data: Float64Array.from(data),
});

describe('covariates brought to one measure', () => {
  const column = (x: Covariates, j: number) => Array.from({ length: x.n }, (_, i) => x.data[i * x.p + j]);
  const variance = (v: readonly number[]) => v.reduce((s, a) => s + (a * a) / v.length, 0);

  it('each column has mean 0 and variance 1, times its weight', () => {
    const x = standardise([
      { kind: 'number', name: 'a', values: [1, 2, 3, 10] },
      { kind: 'number', name: 'b', values: [1000, 400, 300, 100], weight: 0.5 },
    ])!;
    expect(x).toMatchObject({ names: ['a', 'b'], n: 4, p: 2 });
    expectWithin(
      column(x, 0).reduce((s, v) => s + v, 0),
      0,
      1e-12,
    );
    expectRelative(variance(column(x, 0)), 1, 1e-12);
    expectRelative(variance(column(x, 1)), 0.25, 1e-12);
  });

  it('a class of many units weighs as one column', () => {
    const x = standardise([{ kind: 'class', name: 'soil', labels: [0, 0, 1, 2, 3, 3, 3, -1] }])!;
    expect(x.p).toBe(4);
    expectRelative(
      [0, 1, 2, 3].reduce((s, j) => s + variance(column(x, j)), 0),
      1,
      1e-12,
    );
    // The node of no unit sits in the middle.
    expect(column(x, 0)[7]).toBe(0);
  });

  it('missing values take the mean, constant columns are left out, nothing left is undefined', () => {
    const x = standardise([
      { kind: 'number', name: 'flat', values: [0.1, 0.1, 0.1] },
      { kind: 'number', name: 'gap', values: [1, Number.NaN, 3] },
    ])!;
    expect(x.names).toEqual(['gap']);
    expect(x.data[1]).toBe(0);
    expect(standardise([{ kind: 'number', name: 'flat', values: [0.1, 0.1, 0.1] }])).toBeUndefined();
    expect(standardise([])).toBeUndefined();
  });

  it('columns of unlike length are refused by name', () => {
    expect(() =>
      standardise([
        { kind: 'number', name: 'a', values: [1, 2] },
        { kind: 'number', name: 'elevation', values: [1, 2, 3] },
      ]),
    ).toThrow(/elevation has 3 values/);
  });
});

describe('k-means', () => {
  // R 4.2.2 stats::kmeans (Hartigan-Wong), best of 1000 starts, on four standardised oxford columns (tests/reference/zones.R).
  it.each(Object.keys(kmeansReference))('%s clusters: no more within than R’s best', (k) => {
    const ours = kmeansPlusPlus(oxford, Number(k), { random: seededRandom(1), restarts: 60 })!;
    expect(ours.withinSs).toBeLessThanOrEqual(kmeansReference[k].withinss * (1 + 1e-9));
    expect(new Set(ours.labels).size).toBe(Number(k));
  });

  it('the sum reported is that of its labels about their means', () => {
    const { labels, centres, withinSs } = kmeansPlusPlus(oxford, 4, { random: seededRandom(2) })!;
    let sum = 0;
    for (let i = 0; i < oxford.n; i++)
      for (let j = 0; j < 4; j++) {
        const own = [...labels.keys()].filter((q) => labels[q] === labels[i]);
        const mean = own.reduce((s, q) => s + oxford.data[q * 4 + j], 0) / own.length;
        expectWithin(centres[labels[i] * 4 + j], mean, 1e-9);
        sum += (oxford.data[i * 4 + j] - mean) ** 2;
      }
    expectRelative(withinSs, sum, 1e-9);
  });

  it('one column: the exact optimum, whatever the chance', () => {
    const random = seededRandom(3);
    const values = Array.from({ length: 24 }, () => randomNormal(random));
    const x = rows(1, ...values);
    const found = kmeansPlusPlus(x, 3, { random: () => 0.5, restarts: 1 })!;
    // Every way to cut the sorted values in three.
    const sorted = [...values].sort((a, b) => a - b);
    const spread = (v: readonly number[]) => {
      const mean = v.reduce((s, a) => s + a, 0) / v.length;
      return v.reduce((s, a) => s + (a - mean) ** 2, 0);
    };
    let best = Infinity;
    for (let a = 1; a < 23; a++)
      for (let b = a + 1; b < 24; b++)
        best = Math.min(
          best,
          spread(sorted.slice(0, a)) + spread(sorted.slice(a, b)) + spread(sorted.slice(b)),
        );
    expectRelative(found.withinSs, best, 1e-10);
  });

  it('numbered upwards by the first column; the same seed gives the same', () => {
    const once = kmeansPlusPlus(oxford, 5, { random: seededRandom(4) })!;
    for (let c = 1; c < 5; c++) expect(once.centres[4 * c]).toBeGreaterThan(once.centres[4 * (c - 1)]);
    expect(kmeansPlusPlus(oxford, 5, { random: seededRandom(4) })).toEqual(once);
  });

  it('one cluster is the mean; as many as distinct rows leave nothing; more are not to be had', () => {
    const x = rows(2, 0, 0, 4, 0, 0, 4, 4, 4, 4, 4);
    kmeansPlusPlus(x, 1, { random: seededRandom(5) })!.centres.forEach((c) => expectRelative(c, 2.4, 1e-12));
    expectWithin(kmeansPlusPlus(x, 4, { random: seededRandom(5) })!.withinSs, 0, 1e-12);
    expect(kmeansPlusPlus(x, 5, { random: seededRandom(5) })).toBeUndefined();
    expect(() => kmeansPlusPlus(x, 0, { random: seededRandom(5) })).toThrow(/not 0/);
  });
});

describe('fuzzy k-means', () => {
  // e1071 1.7.13 cmeans, best of 20 starts, on the same columns; the indices by hand in R (tests/reference/zones.R).
  it.each(Object.keys(fuzzyReference))('clusters and fuzziness %s against e1071', (name) => {
    const [k, fuzziness] = name.split(' ').map(Number);
    const theirs = fuzzyReference[name];
    const ours = fuzzyKMeans(oxford, k, { fuzziness, random: seededRandom(6), restarts: 12 })!;
    expectRelative(ours.objective, theirs.objective, 1e-9, 'objective');
    theirs.centres.forEach((c, i) => expectWithin(ours.centres[i], c, 2e-5, `centre ${i}`));
    expectWithin(ours.fuzzinessPerformanceIndex, theirs.fpi, 1e-5, 'performance index');
    expectWithin(ours.normalisedClassificationEntropy, theirs.nce, 1e-5, 'entropy');
  });

  it('memberships add up to one, and the label is the greatest', () => {
    const { memberships, labels } = fuzzyKMeans(oxford, 3, { random: seededRandom(7) })!;
    for (let i = 0; i < oxford.n; i++) {
      const own = [...memberships.subarray(3 * i, 3 * i + 3)];
      expectRelative(
        own.reduce((s, v) => s + v, 0),
        1,
        1e-12,
      );
      expect(own[labels[i]]).toBe(Math.max(...own));
    }
  });

  it('clusters far apart are hard: both indices near 0', () => {
    const random = seededRandom(8);
    const x = rows(2, ...Array.from({ length: 40 }, (_, i) => (i % 4 < 2 ? 0 : 100) + randomNormal(random)));
    const { fuzzinessPerformanceIndex, normalisedClassificationEntropy } = fuzzyKMeans(x, 2, { random })!;
    expect(fuzzinessPerformanceIndex).toBeLessThan(0.01);
    expect(normalisedClassificationEntropy).toBeLessThan(0.01);
  });

  it('a node on a centre is of it alone; a fuzziness of 1 is refused', () => {
    const x = rows(1, 0, 0, 0, 5, 5, 5);
    expect([...fuzzyKMeans(x, 2, { random: seededRandom(9) })!.memberships]).toEqual([
      1, 0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1,
    ]);
    expect(() => fuzzyKMeans(x, 2, { fuzziness: 1, random: seededRandom(9) })).toThrow(/not 1/);
  });
});
