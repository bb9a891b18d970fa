import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import {
  defaultCutoffM,
  experimentalVariogram,
  type ExperimentalOptions,
  type VariogramBin,
} from '../../src/variogram/index.ts';
import { expectRelative } from '../reference/near.ts';
import { everyVariable, fromBins, meuseDefault, meuseLogZinc, oxfordXy } from '../reference/reference.ts';

function expectBins(actual: readonly VariogramBin[], expected: readonly VariogramBin[], what: string): void {
  expect(
    actual.map((b) => b.pairs),
    what,
  ).toEqual(expected.map((b) => b.pairs));
  actual.forEach((b, i) => {
    expectRelative(b.distanceM, expected[i].distanceM, 1e-9, `${what}, bin ${i} distance`);
    expectRelative(b.gamma, expected[i].gamma, 1e-9, `${what}, bin ${i} gamma`);
  });
}

// gstat 2.1.0 `variogram()` on oxford and meuse (tests/reference/make_reference.R).
describe('experimental variogram against gstat', () => {
  it.each(everyVariable)('$name: classical, Cressie-Hawkins and four directions', ({ xy, z, reference }) => {
    const options: ExperimentalOptions = { cutoffM: reference.cutoff, widthM: reference.width };
    expectBins(experimentalVariogram(xy, z, options), fromBins(reference.classical), 'classical');
    expectBins(
      experimentalVariogram(xy, z, { ...options, estimator: 'cressieHawkins' }),
      fromBins(reference.cressie_hawkins),
      'Cressie-Hawkins',
    );
    for (const directionDeg of [0, 45, 90, 135])
      expectBins(
        experimentalVariogram(xy, z, { ...options, directionDeg }),
        fromBins(reference.directional.filter((b) => b['dir.hor'] === directionDeg)),
        `direction ${directionDeg}`,
      );
  });

  it('takes gstat’s defaults: a third of the diagonal in 15 bins', () => {
    const bins = experimentalVariogram(meuseLogZinc.xy, meuseLogZinc.z);
    expect(bins).toHaveLength(15);
    expectBins(bins, fromBins(meuseDefault.bins), 'default');
  });
});

describe('experimental variogram by hand', () => {
  const transect = Float64Array.of(0, 0, 10, 0, 20, 0, 30, 0);

  // Dowd 1984: 2γ = 2.198 · (median absolute difference)².
  it('Dowd: the median of an odd, an even and a single set of differences', () => {
    const bins = experimentalVariogram(transect, Float64Array.of(1, 4, 2, 9), {
      cutoffM: 30,
      widthM: 10,
      estimator: 'dowd',
    });
    // Lag 10: 3, 2, 7. Lag 20: 1, 5. Lag 30: 8.
    expect(bins.map((b) => b.pairs)).toEqual([3, 2, 1]);
    [1.099 * 9, 1.099 * 9, 1.099 * 64].forEach((gamma, i) => expectRelative(bins[i].gamma, gamma, 1e-12));
  });

  // Matheron 1962: for z = b·x every difference at lag h is b·h, so γ = b²h²/2.
  it('a straight line gives a parabola', () => {
    const n = 25;
    const xy = new Float64Array(2 * n).map((_, i) => (i % 2 ? 7 : 4 * i));
    const z = new Float64Array(n).map((_, i) => 3 + 0.25 * 8 * i);
    const options: ExperimentalOptions = { cutoffM: 80, widthM: 8 };
    const classical = experimentalVariogram(xy, z, options);
    expect(classical).toHaveLength(10);
    classical.forEach((b, i) => {
      const h = 8 * (i + 1);
      expect(b.pairs).toBe(n - i - 1);
      expectRelative(b.distanceM, h, 1e-12);
      expectRelative(b.gamma, (0.25 * h) ** 2 / 2, 1e-12);
    });
    experimentalVariogram(xy, z, { ...options, estimator: 'dowd' }).forEach((b, i) =>
      expectRelative(b.gamma, 1.099 * (0.25 * 8 * (i + 1)) ** 2, 1e-12),
    );
    // Cressie & Hawkins 1980: the same with their bias term 0.457 + 0.494/N.
    experimentalVariogram(xy, z, { ...options, estimator: 'cressieHawkins' }).forEach((b, i) =>
      expectRelative(b.gamma, (0.25 * 8 * (i + 1)) ** 2 / (2 * (0.457 + 0.494 / b.pairs)), 1e-12),
    );
  });

  it('puts a pair at exactly k widths in bin k, and keeps the one at the cutoff', () => {
    const bins = experimentalVariogram(transect, Float64Array.of(0, 0, 0, 1), { cutoffM: 30, widthM: 15 });
    expect(bins.map((b) => b.pairs)).toEqual([3, 3]);
    expect(
      experimentalVariogram(transect, Float64Array.of(0, 0, 0, 1), { cutoffM: 29.9, widthM: 10 }),
    ).toHaveLength(2);
  });

  it('leaves out pairs at one place', () => {
    const bins = experimentalVariogram(Float64Array.of(0, 0, 0, 0, 5, 0), Float64Array.of(0, 9, 1), {
      cutoffM: 10,
      widthM: 10,
    });
    expect(bins).toEqual([{ pairs: 2, distanceM: 5, gamma: (1 + 64) / 4 }]);
  });

  it('is empty where there is no distance', () => {
    expect(experimentalVariogram(Float64Array.of(1, 2), Float64Array.of(3))).toEqual([]);
    expect(experimentalVariogram(new Float64Array(0), new Float64Array(0))).toEqual([]);
    expect(experimentalVariogram(Float64Array.of(1, 2, 1, 2), Float64Array.of(3, 4))).toEqual([]);
  });

  it('default cutoff is a third of the diagonal of the box', () => {
    expectRelative(defaultCutoffM(Float64Array.of(100, 0, 400, 400, 150, 50)), 500 / 3, 1e-14);
  });

  it('directions: north is 0, east 90, and a line counts both ways', () => {
    const z = Float64Array.of(0, 1, 3, 6);
    const options: ExperimentalOptions = { cutoffM: 30, widthM: 30 };
    const pairs = (xy: Float64Array, directionDeg: number) =>
      experimentalVariogram(xy, z, { ...options, directionDeg }).reduce((s, b) => s + b.pairs, 0);
    const northwards = Float64Array.of(0, 0, 0, 10, 0, 20, 0, 30);
    const southEast = Float64Array.of(0, 0, 5, -5, 10, -10, 15, -15);
    expect([0, 45, 90, 135].map((d) => pairs(transect, d))).toEqual([0, 0, 6, 0]);
    expect([0, 45, 90, 135, 180].map((d) => pairs(northwards, d))).toEqual([6, 0, 0, 0, 6]);
    expect([0, 45, 90, 135, 315].map((d) => pairs(southEast, d))).toEqual([0, 0, 0, 6, 6]);
  });
});

describe('experimental variogram laws', () => {
  const { z } = everyVariable[0];
  const options: ExperimentalOptions = { cutoffM: 1000, widthM: 100 };
  const estimators = ['classical', 'cressieHawkins', 'dowd'] as const;

  it.each(estimators)('%s does not depend on the order of the points', (estimator) => {
    const random = seededRandom(11);
    const order = Array.from(z, (_, i) => i)
      .map((i) => [random(), i])
      .sort((a, b) => a[0] - b[0])
      .map(([, i]) => i);
    const shuffled = Float64Array.from(order.flatMap((i) => [oxfordXy[2 * i], oxfordXy[2 * i + 1]]));
    expectBins(
      experimentalVariogram(
        shuffled,
        Float64Array.from(order, (i) => z[i]),
        { ...options, estimator },
      ),
      experimentalVariogram(oxfordXy, z, { ...options, estimator }),
      estimator,
    );
  });

  it.each(estimators)('%s: gamma of c·z + d is c² times the gamma of z', (estimator) => {
    const base = experimentalVariogram(oxfordXy, z, { ...options, estimator });
    expectBins(
      experimentalVariogram(
        oxfordXy,
        z.map((v) => -3 * v + 11),
        { ...options, estimator },
      ),
      base.map((b) => ({ ...b, gamma: 9 * b.gamma })),
      estimator,
    );
  });

  it('four directions share out every pair once', () => {
    const all = experimentalVariogram(oxfordXy, z, options).reduce((s, b) => s + b.pairs, 0);
    const shared = [0, 45, 90, 135]
      .flatMap((directionDeg) => experimentalVariogram(oxfordXy, z, { ...options, directionDeg }))
      .reduce((s, b) => s + b.pairs, 0);
    expect(shared).toBe(all);
  });
});
