import { describe, expect, it } from 'vitest';
import { meanCovariance, krigedFieldMean, pointSamples } from '../../src/krige/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import {
  correlation,
  factorTridiagonal,
  prepareLikelihood,
  prepareReduction,
  reducedParts,
  reducedScratch,
  tridiagonalise,
} from '../../src/variogram/index.ts';
import { meuseLogZinc, oxfordValues, oxfordXy } from '../reference/reference.ts';

describe('tridiagonalise', () => {
  it('keeps the trace, the determinant and the quadratic forms of a random symmetric matrix', () => {
    const random = seededRandom(5);
    for (const n of [1, 2, 3, 8, 21]) {
      const a = new Float64Array(n * n);
      for (let i = 0; i < n; i++)
        for (let j = 0; j <= i; j++) a[i * n + j] = a[j * n + i] = random() - 0.5 + (i === j ? n : 0);
      const b = Float64Array.from({ length: n }, () => random() - 0.5);
      const reduced = b.slice();
      const t = tridiagonalise(a.slice(), n, [reduced]);
      let [trace, aTrace, form, tForm] = [0, 0, 0, 0];
      for (let i = 0; i < n; i++) {
        trace += t.diagonal[i];
        aTrace += a[i * n + i];
        for (let j = 0; j < n; j++) form += b[i] * a[i * n + j] * b[j];
        tForm += t.diagonal[i] * reduced[i] ** 2;
        if (i > 0) tForm += 2 * t.offDiagonal[i] * reduced[i] * reduced[i - 1];
      }
      expect(trace).toBeCloseTo(aTrace, 10);
      expect(tForm).toBeCloseTo(form, 10);
    }
  });

  it('leaves a diagonal matrix as it is', () => {
    const a = Float64Array.of(2, 0, 0, 0, 3, 0, 0, 0, 5);
    const t = tridiagonalise(a, 3, []);
    expect([...t.diagonal]).toEqual([2, 3, 5]);
    expect([...t.offDiagonal]).toEqual([0, 0, 0]);
    const logDet = factorTridiagonal(t, 1, 1, new Float64Array(3), new Float64Array(3));
    expect(logDet).toBeCloseTo(Math.log(3 * 4 * 6), 12);
  });

  it('says when a matrix is not positive definite', () => {
    const t = tridiagonalise(Float64Array.of(1, 0, 2, 1), 2, []);
    expect(factorTridiagonal(t, 1, 0, new Float64Array(2), new Float64Array(2))).toBeNaN();
  });
});

describe('reducedParts', () => {
  const z = [oxfordValues('PHOS1'), oxfordValues('OM1')];
  const reduce = prepareReduction(oxfordXy, z);
  const scratch = reducedScratch(z[0].length);

  it.each(['spherical', 'exponential'] as const)(
    'equals the exact likelihood of each variable, %s',
    (kind) => {
      for (const effectiveRangeM of [90, 350, 900]) {
        const reduced = reduce(kind, effectiveRangeM);
        z.forEach((values, v) => {
          const exact = prepareLikelihood(oxfordXy, values);
          for (const nuggetShare of [0, 0.05, 0.4, 0.95, 1]) {
            const want = exact({ kind, effectiveRangeM, nuggetShare })!;
            const got = reducedParts(reduced, v, nuggetShare, scratch)!;
            expect(got.logDet).toBeCloseTo(want.logDet, 8);
            expect(got.oneRone / want.oneRone).toBeCloseTo(1, 9);
            expect(got.mean / want.mean).toBeCloseTo(1, 9);
            expect(got.residualSS / want.residualSS).toBeCloseTo(1, 9);
          }
        });
      }
    },
  );

  it('predicts a linear target as ordinary kriging of the field mean does', () => {
    const { xy, z: logZinc } = meuseLogZinc;
    const nodes = Float64Array.from({ length: 60 }, (_, i) =>
      i % 2 ? 330_000 + 71 * (i % 17) : 179_000 + 53 * (i % 23),
    );
    const n = logZinc.length;
    const reduceMeuse = prepareReduction(xy, [logZinc], {
      withSamples: (kind, range) =>
        Float64Array.from({ length: n }, (_, i) => {
          let sum = 0;
          for (let q = 0; q < 30; q++)
            sum += correlation(
              kind,
              range,
              Math.hypot(xy[2 * i] - nodes[2 * q], xy[2 * i + 1] - nodes[2 * q + 1]),
            );
          return sum / 30;
        }),
      own: (kind, range) => meanCovariance(nodes, (h) => correlation(kind, range, h)),
    });
    const sill = 0.7;
    const got = reducedParts(reduceMeuse('spherical', 700), 0, 0.2, reducedScratch(n))!.target!;
    const want = krigedFieldMean(
      xy,
      logZinc,
      nodes,
      pointSamples({ kind: 'spherical', nugget: 0.2 * sill, partialSill: 0.8 * sill, effectiveRangeM: 700 }),
    );
    expect(got.mean).toBeCloseTo(want.mean, 9);
    expect(got.varianceOverSill * sill).toBeCloseTo(want.variance, 9);
  });
});
