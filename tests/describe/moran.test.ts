import { describe, expect, it } from 'vitest';
import { moranTest, randomNormal, seededRandom } from '../../src/describe/index.ts';
import { describeReference } from '../reference/describe.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { meuseLogZinc } from '../reference/reference.ts';

/** A square lattice of `side` × `side` points 50 m apart. */
const lattice = (side: number) =>
  Float64Array.from({ length: 2 * side * side }, (_, k) => {
    const i = k >> 1;
    return 50 * (k % 2 ? Math.floor(i / side) : i % side);
  });

const valuesAt = (xy: Float64Array, f: (x: number, y: number) => number) =>
  Float64Array.from({ length: xy.length / 2 }, (_, i) => f(xy[2 * i], xy[2 * i + 1]));

// Moran 1950, Biometrika 37: 17-23; Cliff & Ord 1981, Spatial Processes.
describe('Moran’s I', () => {
  const xy = lattice(7);

  // Nearest neighbours at distances 1, 1, 1, 1 and 4: I = (5 / 4.25) · (2 + 2 + 0 + 0 + 0.25 · 2) / 10.
  it('five points on a line, by hand', () => {
    const line = Float64Array.of(0, 0, 1, 0, 3, 0, 4, 0, 8, 0);
    const test = moranTest(line, Float64Array.of(1, 2, 3, 4, 5), seededRandom(1), { neighbours: 1 })!;
    expectWithin(test.i, (5 / 4.25) * 0.45, 1e-12);
  });

  // Base R, the weights and the sums written out (describe.R).
  it('meuse log zinc: R’s value', () => {
    const { xy: places, z } = meuseLogZinc;
    expectRelative(moranTest(places, z, seededRandom(1))!.i, describeReference.moran.i, 1e-12);
  });

  it('a trend: high, and no permutation comes near it', () => {
    const test = moranTest(
      xy,
      valuesAt(xy, (x, y) => x + 0.3 * y),
      seededRandom(1),
    )!;
    expect(test.i).toBeGreaterThan(0.6);
    expect(test.p).toBe(1 / 500);
  });

  it('a chessboard: below 0, and the one-sided p is near 1', () => {
    const test = moranTest(
      xy,
      valuesAt(xy, (x, y) => ((x + y) / 50) % 2),
      seededRandom(1),
      { neighbours: 4 },
    )!;
    expect(test.i).toBeLessThan(-0.5);
    expect(test.p).toBeGreaterThan(0.95);
  });

  it('is the same for values shifted and stretched', () => {
    const random = seededRandom(4);
    const z = valuesAt(xy, () => randomNormal(random));
    const one = moranTest(xy, z, seededRandom(2))!;
    const other = moranTest(
      xy,
      z.map((v) => 300 + 7 * v),
      seededRandom(2),
    )!;
    expectWithin(other.i, one.i, 1e-10);
    expect(other.p).toBe(one.p);
  });

  it('no pattern: p is uniform, and I has its expectation −1/(n − 1)', () => {
    const random = seededRandom(77);
    const fields = 300;
    const results = Array.from({ length: fields }, () => {
      const places = Float64Array.from({ length: 80 }, () => 500 * random());
      return moranTest(
        places,
        valuesAt(places, () => randomNormal(random)),
        random,
        { permutations: 99 },
      )!;
    });
    const sorted = results.map((r) => r.p).sort((a, b) => a - b);
    const gap = Math.max(
      ...sorted.map((p, k) => Math.max(Math.abs(p - (k + 1) / fields), Math.abs(p - k / fields))),
    );
    // Kolmogorov's distance at 0.1 %: 1.95/√n; p comes in steps of a hundredth.
    expect(gap).toBeLessThan(1.95 / Math.sqrt(fields) + 0.01);
    const mean = results.reduce((s, r) => s + r.i, 0) / fields;
    const variance = results.reduce((s, r) => s + (r.i - mean) ** 2, 0) / (fields - 1);
    expectWithin(mean, -1 / 39, 4 * Math.sqrt(variance / fields));
  });

  it('too few points, or none that differ: no answer', () => {
    const four = Float64Array.of(0, 0, 1, 0, 0, 1, 1, 1);
    expect(moranTest(four, Float64Array.of(1, 2, 3, 4), seededRandom(1))).toBeUndefined();
    expect(
      moranTest(
        xy,
        valuesAt(xy, () => 6.5),
        seededRandom(1),
      ),
    ).toBeUndefined();
  });
});
