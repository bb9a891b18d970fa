import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import {
  defaultCutoffM,
  experimentalVariogram,
  LEAST_PAIRS,
  qn,
  RANKED_PAIRS,
  sensibleLags,
  typicalSpacingM,
  type ExperimentalOptions,
  type VariogramBin,
} from '../../src/variogram/index.ts';
import { expectRelative } from '../reference/near.ts';
import { everyVariable, fromBins, meuseDefault, meuseLogZinc, oxfordXy } from '../reference/reference.ts';
import { experimentalCases } from '../reference/variograms.ts';

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

// tests/reference/variograms.R: gstat 2.1.0 for boundaries and a tolerance; the rest by its definition in plain R.
describe('experimental variogram, more of its options', () => {
  it.each(experimentalCases)('$name: the user’s own boundaries (gstat)', ({ xy, z, expected }) => {
    const boundariesM = expected.boundaries;
    expectBins(experimentalVariogram(xy, z, { boundariesM }), fromBins(expected.by_boundaries), 'boundaries');
    expectBins(
      experimentalVariogram(xy, z, { boundariesM: [0, ...boundariesM], cutoffM: 5, widthM: 1 }),
      fromBins(expected.by_boundaries),
      'a boundary at 0 and a width that does not count',
    );
  });

  it.each(experimentalCases)('$name: a narrow tolerance (gstat)', ({ xy, z, expected }) => {
    for (const directionDeg of [30, 120])
      expectBins(
        experimentalVariogram(xy, z, {
          cutoffM: expected.cutoff,
          widthM: expected.width,
          directionDeg,
          toleranceDeg: expected.narrow_tolerance,
        }),
        fromBins(expected.narrow.filter((b) => b['dir.hor'] === directionDeg)),
        `direction ${directionDeg}`,
      );
  });

  it.each(experimentalCases)('$name: a band about the direction (plain R)', ({ xy, z, expected }) => {
    expect(expected.banded).toHaveLength(3);
    for (const { direction, tolerance, band, bins } of expected.banded)
      expectBins(
        experimentalVariogram(xy, z, {
          cutoffM: expected.cutoff,
          widthM: expected.width,
          directionDeg: direction,
          toleranceDeg: tolerance,
          bandwidthM: band,
        }),
        fromBins(bins),
        `direction ${direction}`,
      );
  });

  it.each(experimentalCases)('$name: Dowd and Genton (plain R)', ({ xy, z, expected }) => {
    const options: ExperimentalOptions = { cutoffM: expected.cutoff, widthM: expected.width };
    const by = (more: ExperimentalOptions) => experimentalVariogram(xy, z, { ...options, ...more });
    expectBins(by({ estimator: 'dowd' }), fromBins(expected.dowd), 'Dowd');
    expectBins(by({ estimator: 'genton' }), fromBins(expected.genton), 'Genton');
    expectBins(by({ estimator: 'genton', directionDeg: 0 }), fromBins(expected.genton_north), 'northwards');
  });
});

describe('many points', () => {
  const random = seededRandom(3);
  const n = 1500;
  const xy = Float64Array.from({ length: 2 * n }, () => 2000 * random());
  const z = Float64Array.from({ length: n }, (_, i) => xy[2 * i] / 400 + random());

  /** Every pair, one by one. */
  function byBruteForce(cutoffM: number, widthM: number): VariogramBin[] {
    const sums = Array.from({ length: Math.ceil(cutoffM / widthM) }, () => [0, 0, 0]);
    for (let i = 0; i < n; i++)
      for (let j = 0; j < i; j++) {
        const d = Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
        if (d > cutoffM) continue;
        const s = sums[Math.ceil(d / widthM) - 1];
        s[0]++;
        s[1] += d;
        s[2] += (z[i] - z[j]) ** 2;
      }
    return sums
      .filter(([pairs]) => pairs > 0)
      .map(([pairs, d, s]) => ({ pairs, distanceM: d / pairs, gamma: s / (2 * pairs) }));
  }

  it.each([
    [3000, 130],
    [900, 60],
    [120, 8],
    [15, 1],
  ])('no pair is lost or met twice: cutoff %s m, width %s m', (cutoffM, widthM) => {
    expectBins(
      experimentalVariogram(xy, z, { cutoffM, widthM }),
      byBruteForce(cutoffM, widthM),
      `${cutoffM} m`,
    );
  });

  it('of more pairs than are ranked, an even choice comes close to the whole', () => {
    // One bin of 1.1 million pairs; a normal sample, whose Qn and median have known values.
    const normal = Float64Array.from(
      { length: n },
      () => Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random()),
    );
    const [classical] = experimentalVariogram(xy, normal, { cutoffM: 3000, widthM: 3000 });
    expect(classical.pairs).toBeGreaterThan(10 * RANKED_PAIRS);
    for (const estimator of ['dowd', 'genton'] as const) {
      const [bin] = experimentalVariogram(xy, normal, { cutoffM: 3000, widthM: 3000, estimator });
      expect(bin.pairs).toBe(classical.pairs);
      expectRelative(bin.gamma, classical.gamma, 0.06, estimator);
    }
  });
});

// Rousseeuw & Croux 1993.
describe('Qn', () => {
  function byDefinition(v: Float64Array): number {
    const differences = new Float64Array((v.length * (v.length - 1)) / 2);
    let at = 0;
    for (let i = 0; i < v.length; i++) for (let j = 0; j < i; j++) differences[at++] = Math.abs(v[i] - v[j]);
    const half = (v.length >> 1) + 1;
    return 2.2191 * differences.sort()[(half * (half - 1)) / 2 - 1];
  }

  it('is the order statistic of its definition, ties and all', () => {
    const random = seededRandom(8);
    for (const n of [2, 3, 4, 5, 17, 60, 301, 2100])
      for (const step of [0, 0.5, 0.01])
        for (const power of [1, 6]) {
          const v = Float64Array.from({ length: n }, () => {
            const x = (random() - 0.4) ** power;
            return step ? step * Math.round(x / step) : x;
          });
          expect(qn(v), `${n} values in steps of ${step}`).toBe(byDefinition(v));
        }
  });

  it('is nothing of one value, and 0 of equal ones', () => {
    expect(qn(Float64Array.of(3))).toBeNaN();
    expect(qn(new Float64Array(5000).fill(7))).toBe(0);
  });

  it('stays put when a quarter of the values go wild', () => {
    const random = seededRandom(9);
    const v = Float64Array.from({ length: 400 }, () => random());
    const wild = v.map((x, i) => (i % 4 ? x : 1e6 * x));
    expect(qn(wild)).toBeLessThan(3 * qn(v));
  });
});

describe('lags', () => {
  it('refuses boundaries that do not ascend', () => {
    const at = (boundariesM: number[]) => () =>
      experimentalVariogram(Float64Array.of(0, 0, 1, 1), Float64Array.of(1, 2), { boundariesM });
    for (const b of [
      [10, 10],
      [20, 10],
      [-5, 10],
      [5, NaN],
    ])
      expect(at(b)).toThrow(RangeError);
    expect(at([])()).toEqual([]);
    expect(at([0])()).toEqual([]);
    expect(at([5])()).toHaveLength(1);
  });

  it('edges are where dividing by the width says', () => {
    for (const widthM of [0.1, 7.3, 1 / 3, 94.211_792_15]) {
      // A spacing whose multiples fall on edges up to rounding.
      const xy = Float64Array.from({ length: 400 }, (_, i) => (i % 2 ? 0 : (i / 2) * widthM));
      const bins = experimentalVariogram(xy, new Float64Array(200), { cutoffM: 30.5 * widthM, widthM });
      const counts = new Map<number, number>();
      for (let i = 0; i < 200; i++)
        for (let j = 0; j < i; j++) {
          const d = xy[2 * i] - xy[2 * j];
          if (d > 30.5 * widthM) continue;
          const b = Math.ceil(d / widthM) - 1;
          counts.set(b, (counts.get(b) ?? 0) + 1);
        }
      expect(bins.map((b) => b.pairs)).toEqual([...counts].sort((p, q) => p[0] - q[0]).map(([, c]) => c));
    }
  });

  it('typical spacing: the grid’s own, its scatter’s, and none of one place', () => {
    expectRelative(typicalSpacingM(oxfordXy)!, 100, 1e-12);
    const random = seededRandom(4);
    const scatter = Float64Array.from({ length: 4000 }, () => 1000 * random());
    // Clark & Evans 1954: mean ½/√density; the median of that Rayleigh distance is √(ln 2/π)/√density.
    expectRelative(typicalSpacingM(scatter)!, Math.sqrt(Math.LN2 / Math.PI) * Math.sqrt(1e6 / 2000), 0.08);
    expect(typicalSpacingM(Float64Array.of(1, 1, 1, 1))).toBeUndefined();
    expect(typicalSpacingM(new Float64Array(0))).toBeUndefined();
  });

  it('sensible lags keep a jittered grid’s neighbours together, and leave no lag empty or tiny', () => {
    const random = seededRandom(6);
    const side = 9;
    const jittered = Float64Array.from({ length: 2 * side * side }, (_, i) => {
      const k = i >> 1;
      return 100 * (i % 2 ? Math.floor(k / side) : k % side) + 20 * (random() - 0.5);
    });
    const z = Float64Array.from({ length: side * side }, () => random());
    for (const points of [jittered, oxfordXy]) {
      const values = points === jittered ? z : everyVariable[0].z;
      const { boundariesM, spacingM } = sensibleLags(points)!;
      expectRelative(spacingM, 100, 0.15);
      const bins = experimentalVariogram(points, values, { boundariesM });
      expect(bins).toHaveLength(boundariesM.length);
      for (const b of bins) expect(b.pairs).toBeGreaterThanOrEqual(LEAST_PAIRS);
      // The first lag has the neighbours along rows and columns and those across.
      expect(bins[0].distanceM).toBeGreaterThan(100);
      expect(bins[0].distanceM).toBeLessThan(130);
    }
  });

  it('sensible lags of few points: as many as have pairs enough, at least one', () => {
    const random = seededRandom(7);
    for (const n of [8, 15, 40]) {
      const xy = Float64Array.from({ length: 2 * n }, () => 500 * random());
      const { boundariesM } = sensibleLags(xy)!;
      expect(boundariesM.length).toBeGreaterThan(0);
      const bins = experimentalVariogram(xy, new Float64Array(n), { boundariesM });
      if (boundariesM.length > 1) for (const b of bins) expect(b.pairs).toBeGreaterThanOrEqual(LEAST_PAIRS);
    }
    expect(sensibleLags(Float64Array.of(1, 2))).toBeUndefined();
    // Three points a diagonal apart: none within a third of it.
    expect(sensibleLags(Float64Array.of(0, 0, 300, 0, 0, 300))).toBeUndefined();
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
  const estimators = ['classical', 'cressieHawkins', 'dowd', 'genton'] as const;

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
