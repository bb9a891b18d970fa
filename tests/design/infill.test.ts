import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { infillCandidates, infillStops } from '../../src/design/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { distanceToEdgeM, regionContains, spreadNodes } from '../../src/field/index.ts';
import {
  compositeSamples,
  ordinaryKriging,
  pointSamples,
  type SampleCovariance,
} from '../../src/krige/index.ts';
import { expectRelative } from '../reference/near.ts';
import { holeOnly, lShape, QUARTER_SECTION_M, quarterSection, withHole } from './shapes.ts';

const none = new Float64Array();
const joined = (...parts: readonly Float64Array[]) => Float64Array.from(parts.flatMap((p) => [...p]));
const at = (xy: Float64Array, i: number) => xy.slice(2 * i, 2 * i + 2);

/** The mean variance by kriging afresh from all stops: what the updates must come to. */
const krigedMean = (xy: Float64Array, nodes: Float64Array, cov: SampleCovariance, blockM: number) => {
  const { variances } = ordinaryKriging(xy, undefined, nodes, cov, { blockM });
  return variances.reduce((s, v) => s + v, 0) / variances.length;
};

const scattered = (n: number, seed: number, side = QUARTER_SECTION_M) => {
  const random = seededRandom(seed);
  return Float64Array.from({ length: 2 * n }, () => side * random());
};

const anyCovariance: fc.Arbitrary<SampleCovariance> = fc
  .record({
    kind: fc.constantFrom('spherical' as const, 'exponential' as const),
    effectiveRangeM: fc.double({ min: 40, max: 2500, noNaN: true }),
    nugget: fc.double({ min: 0.02, max: 0.8, noNaN: true }),
    radiusM: fc.constantFrom(0, 5, 15),
    anisotropy: fc.constantFrom(undefined, { ratio: 0.5, directionDeg: 30 }),
  })
  .map(({ kind, effectiveRangeM, nugget, radiusM, anisotropy }) => ({
    ...(radiusM === 0
      ? pointSamples({ kind, effectiveRangeM, nugget, partialSill: 1 - nugget })
      : compositeSamples(kind, effectiveRangeM, 1 - nugget, {
          radiusM,
          cores: 8,
          coreVariance: 8 * nugget,
          labVariance: 0.02,
        })),
    anisotropy,
  }));

describe('infill', () => {
  it('after each addition, and at the end, the mean variance is that of kriging from all stops', () => {
    fc.assert(
      fc.property(
        anyCovariance,
        fc.integer({ min: 0, max: 14 }),
        fc.integer({ min: 1, max: 7 }),
        fc.constantFrom(0, 18, 60),
        fc.integer({ min: 1, max: 1e6 }),
        (cov, old, count, blockM, seed) => {
          const oldXy = scattered(old, seed);
          const nodes = spreadNodes(quarterSection, 40);
          const candidates = scattered(30, seed + 1);
          const greedy = infillStops(oldXy, candidates, nodes, count, cov, { blockM, exchange: false });
          if (old > 0) expectRelative(greedy.before, krigedMean(oldXy, nodes, cov, blockM), 1e-8);
          else expect(greedy.before).toBe(Infinity);
          for (let i = 0; i < count; i++) {
            const xy = joined(oldXy, greedy.xy.slice(0, 2 * i + 2));
            expectRelative(greedy.meanVariance[i], krigedMean(xy, nodes, cov, blockM), 1e-8, `stop ${i}`);
          }
          expect(greedy.finalMeanVariance).toBe(greedy.meanVariance[count - 1]);

          const full = infillStops(oldXy, candidates, nodes, count, cov, { blockM });
          expect(full.meanVariance).toEqual(greedy.meanVariance);
          const end = krigedMean(joined(oldXy, full.xy), nodes, cov, blockM);
          expectRelative(full.finalMeanVariance, end, 1e-8, 'after the exchange');
          expect(full.finalMeanVariance).toBeLessThanOrEqual(greedy.finalMeanVariance * (1 + 1e-12));
          if (full.swaps > 0) expect(full.finalMeanVariance).toBeLessThan(greedy.finalMeanVariance);
          else expect(full.chosen).toEqual(greedy.chosen);
          expect(new Set(full.chosen).size).toBe(count);
          full.chosen.forEach((s, i) => expect(at(full.xy, i)).toEqual(at(candidates, s)));
        },
      ),
      { numRuns: 40 },
    );
  });

  it('each greedy stop is the best of all candidates by kriging afresh', () => {
    fc.assert(
      fc.property(
        anyCovariance,
        fc.integer({ min: 0, max: 10 }),
        fc.integer({ min: 1, max: 1e6 }),
        (cov, old, seed) => {
          const nodes = spreadNodes(lShape, 30);
          const candidates = scattered(18, seed);
          let taken = scattered(old, seed + 5);
          const { chosen, meanVariance } = infillStops(taken, candidates, nodes, 3, cov, {
            blockM: 18,
            exchange: false,
          });
          chosen.forEach((s, i) => {
            const all = Array.from({ length: 18 }, (_, c) =>
              chosen.subarray(0, i).includes(c)
                ? Infinity
                : krigedMean(joined(taken, at(candidates, c)), nodes, cov, 18),
            );
            expectRelative(meanVariance[i], Math.min(...all), 1e-8);
            taken = joined(taken, at(candidates, s));
          });
        },
      ),
      { numRuns: 15 },
    );
  });

  it('after the exchange no single swap helps', () => {
    fc.assert(
      fc.property(
        anyCovariance,
        fc.integer({ min: 0, max: 8 }),
        fc.integer({ min: 1, max: 1e6 }),
        (cov, old, seed) => {
          const nodes = spreadNodes(quarterSection, 25);
          const candidates = scattered(16, seed);
          const oldXy = scattered(old, seed + 9);
          const { chosen, finalMeanVariance } = infillStops(oldXy, candidates, nodes, 4, cov);
          for (let i = 0; i < 4; i++)
            for (let c = 0; c < 16; c++) {
              if (chosen.includes(c)) continue;
              const swapped = Array.from(chosen, (s, j) => at(candidates, i === j ? c : s));
              const mean = krigedMean(joined(oldXy, ...swapped), nodes, cov, 0);
              expect(mean).toBeGreaterThan(finalMeanVariance * (1 - 1e-7));
            }
        },
      ),
      { numRuns: 15 },
    );
  });

  const cov = pointSamples({ kind: 'spherical', nugget: 0.1, partialSill: 0.9, effectiveRangeM: 400 });

  it('uneven old points: the empty part is filled first', () => {
    // A 100 m lattice over the quarter section but for its north-east quarter.
    const old: number[] = [];
    const half = QUARTER_SECTION_M / 2;
    for (let x = 50; x < QUARTER_SECTION_M; x += 100)
      for (let y = 50; y < QUARTER_SECTION_M; y += 100) if (x < half || y < half) old.push(x, y);
    const nodes = spreadNodes(quarterSection, 220);
    const { xy, meanVariance, before } = infillStops(
      Float64Array.from(old),
      infillCandidates(quarterSection, 400, 5),
      nodes,
      8,
      cov,
    );
    for (let i = 0; i < xy.length; i++) expect(xy[i]).toBeGreaterThan(half);
    // Each addition gains, and in a hole of one shape ever less on the whole.
    const all = [before, ...meanVariance];
    for (let i = 1; i < all.length; i++) expect(all[i]).toBeLessThan(all[i - 1]);
    expect(before - all[2]).toBeGreaterThan(all[6] - all[8]);
  });

  it('no old points: the stops are spread over the whole field', () => {
    const nodes = spreadNodes(quarterSection, 220);
    const candidates = infillCandidates(quarterSection, 400, 5);
    for (const effectiveRangeM of [300, 1500]) {
      const wide = pointSamples({ kind: 'spherical', nugget: 0.05, partialSill: 0.95, effectiveRangeM });
      const { xy, meanVariance } = infillStops(none, candidates, nodes, 16, wide);
      expect(meanVariance.every(Number.isFinite)).toBe(true);
      let least = Infinity;
      const quarters = [0, 0, 0, 0];
      for (let i = 0; i < 16; i++) {
        const [x, y] = at(xy, i);
        quarters[(x > QUARTER_SECTION_M / 2 ? 1 : 0) + (y > QUARTER_SECTION_M / 2 ? 2 : 0)]++;
        for (let j = 0; j < i; j++) least = Math.min(least, Math.hypot(x - at(xy, j)[0], y - at(xy, j)[1]));
      }
      for (const q of quarters) expect(Math.abs(q - 4)).toBeLessThanOrEqual(1);
      // Sixteen in a square lie 201 m apart on a lattice.
      expect(least).toBeGreaterThan(0.6 * (QUARTER_SECTION_M / 4));
    }
  });

  it('the first stop of all lies near the middle', () => {
    const nodes = spreadNodes(quarterSection, 220);
    const candidates = infillCandidates(quarterSection, 400);
    const wide = pointSamples({ kind: 'exponential', nugget: 0.1, partialSill: 0.9, effectiveRangeM: 1500 });
    const [x, y] = infillStops(none, candidates, nodes, 1, wide).xy;
    expect(Math.hypot(x - QUARTER_SECTION_M / 2, y - QUARTER_SECTION_M / 2)).toBeLessThan(60);
  });

  it('no chance is involved', () => {
    const nodes = spreadNodes(lShape, 60);
    const candidates = infillCandidates(lShape, 80, 5);
    const run = () => infillStops(scattered(12, 4, 400), candidates, nodes, 6, cov);
    expect(run()).toEqual(run());
  });

  it('candidates lie inside, clear of the edge and of the hole', () => {
    const candidates = infillCandidates(withHole, 300, 12);
    expect(candidates.length / 2).toBeGreaterThan(250);
    for (let i = 0; i < candidates.length / 2; i++) {
      const p = [candidates[2 * i], candidates[2 * i + 1]] as const;
      expect(regionContains(withHole, p)).toBe(true);
      expect(regionContains(holeOnly, p)).toBe(false);
      expect(distanceToEdgeM(withHole, p)).toBeGreaterThanOrEqual(12 * (1 - 1e-6));
    }
  });

  it('noiseless samples: a place already sampled tells nothing and is not chosen; two old ones there are refused', () => {
    const exact = pointSamples({ kind: 'exponential', nugget: 0, partialSill: 1, effectiveRangeM: 300 });
    const nodes = spreadNodes(quarterSection, 30);
    const old = scattered(4, 3);
    const fresh = Float64Array.of(700, 700, 60, 500);
    const { chosen } = infillStops(old, joined(old, fresh), nodes, 2, exact);
    expect([...chosen].sort()).toEqual([4, 5]);
    expect(() => infillStops(old, joined(old, fresh), nodes, 3, exact)).toThrow(RangeError);
    expect(() => infillStops(joined(old, at(old, 2)), fresh, nodes, 1, exact)).toThrow(RangeError);
    expect(() => infillStops(old, fresh, nodes, 3, exact)).toThrow('3 stops cannot be chosen from 2');
  });

  it('none asked for, none given', () => {
    const nodes = spreadNodes(quarterSection, 30);
    const r = infillStops(scattered(5, 1), scattered(5, 2), nodes, 0, cov);
    expect(r.xy).toHaveLength(0);
    expect(r.finalMeanVariance).toBe(r.before);
  });
});
