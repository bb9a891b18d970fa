import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import { kriging, pointSamples } from '../../src/krige/index.ts';
import {
  correlationOf,
  prepareReduction,
  prepareTrendLikelihood,
  reducedScratch,
  restrictedLogLikelihood,
  trendLogLikelihood,
  type LinearTarget,
  type ModelKind,
} from '../../src/variogram/index.ts';
import {
  drawPlane,
  middleOf,
  planeBasis,
  planeParts,
  planeVariance,
  spreadOf,
} from '../../src/variogram/planeMean.ts';
import { fitDataOf, glsFits, glsParameters } from '../reference/likelihoods.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { oxfordValues, oxfordXy } from '../reference/reference.ts';

const z = oxfordValues('OM1');
const basis = planeBasis(oxfordXy)!;
const columns = [1, 2] as const;
const spreadCases: readonly (readonly [ModelKind, number, number])[] = [
  ['spherical', 400, 0.3],
  ['exponential', 900, 0.1],
  ['exponential', 150, 0.95],
];

describe('a plane’s basis', () => {
  it('is orthonormal and orthogonal to a constant; its slope and its values are those of the plane', () => {
    const dot = (u: Float64Array, v: Float64Array) => u.reduce((s, a, i) => s + a * v[i], 0);
    const [p, q] = basis.columns;
    expectWithin(dot(p, p), 1, 1e-12);
    expectWithin(dot(q, q), 1, 1e-12);
    expectWithin(dot(p, q), 0, 1e-12);
    for (const c of [p, q])
      expectWithin(
        c.reduce((s, v) => s + v, 0),
        0,
        1e-10,
      );
    const slope = basis.slopeOf(3, -2);
    const level = (x: number, y: number) => {
      const [a, b] = basis.at(x, y);
      return 3 * a - 2 * b;
    };
    expectRelative(level(70, 0) - level(0, 0), 70 * slope.eastPerM, 1e-9);
    expectRelative(level(0, 50) - level(0, 0), 50 * slope.northPerM, 1e-9);
  });

  it('places on a line have none', () => {
    expect(
      planeBasis(Float64Array.from({ length: 40 }, (_, i) => (i % 2 ? 3 * (i - 1) + 7 : i))),
    ).toBeUndefined();
    expect(planeBasis(Float64Array.from({ length: 40 }, (_, i) => (i % 2 ? i : 5)))).toBeUndefined();
  });

  it('variance of a plane over places is that of its values there', () => {
    const slope = { eastPerM: 0.02, northPerM: -0.05 };
    const [mx, my] = middleOf(oxfordXy);
    const n = oxfordXy.length / 2;
    let sum = 0;
    for (let i = 0; i < n; i++)
      sum += (0.02 * (oxfordXy[2 * i] - mx) - 0.05 * (oxfordXy[2 * i + 1] - my)) ** 2;
    expectRelative(planeVariance(spreadOf(oxfordXy), slope), sum / n, 1e-12);
  });
});

describe('the likelihood with a plane, from a reduction', () => {
  const reduce = prepareReduction(oxfordXy, [z, ...basis.columns]);
  const scratch = reducedScratch(z.length);

  it.each(spreadCases)(
    '%s, %d m, nugget share %d: as by a Cholesky factor',
    (kind, effectiveRangeM, nuggetShare) => {
      const parts = planeParts(reduce(kind, effectiveRangeM), 0, columns, nuggetShare, scratch)!;
      const named = basis.columns.map((values, i) => ({ name: `q${i}`, values }));
      const whole = prepareTrendLikelihood(oxfordXy, z, { covariates: named })({
        kind,
        effectiveRangeM,
        nuggetShare,
      })!;
      expectRelative(parts.residualSS, whole.residualSS, 1e-9);
      expectRelative(parts.logDetR, whole.logDet, 1e-9);
      expectRelative(parts.mean, whole.beta[0], 1e-9);
      expectRelative(parts.beta[0], whole.beta[1], 1e-8);
      expectRelative(parts.beta[1], whole.beta[2], 1e-8);
      expectRelative(1 / parts.oneRone, whole.betaShape[0], 1e-9);
      const sill = 1.7;
      expectWithin(restrictedLogLikelihood(parts, sill), trendLogLikelihood(whole, sill, true), 1e-8);
    },
  );

  // nlme's gls with a plane (tests/reference/likelihoods.R).
  const theirs = glsFits.filter(
    (g) => g.trend === 'linear' && g.model !== 'Gau' && g.data.startsWith('oxford'),
  );
  it.each(theirs.map((g) => [`${g.data} ${g.method} ${g.model}`, g] as const))(
    '%s: nlme’s coefficients',
    (_, g) => {
      const data = fitDataOf(g);
      const p = glsParameters(g);
      const own = planeBasis(data.xy)!;
      const parts = planeParts(
        prepareReduction(data.xy, [data.z, ...own.columns])(p.kind as ModelKind, p.effectiveRangeM),
        0,
        columns,
        p.nuggetShare,
        reducedScratch(data.z.length),
      )!;
      const slope = own.slopeOf(...parts.beta);
      expectRelative(slope.eastPerM, g.beta[1], 2e-4);
      expectRelative(slope.northPerM, g.beta[2], 2e-4);
    },
  );
  it('there are some of nlme’s', () => expect(theirs.length).toBeGreaterThanOrEqual(4));

  it.each(spreadCases)(
    '%s, %d m, nugget share %d: a place is predicted as by universal kriging',
    (kind, range, share) => {
      const at = Float64Array.of(middleOf(oxfordXy)[0] + 610, middleOf(oxfordXy)[1] + 333);
      const target: LinearTarget = {
        withSamples: (k, r) => {
          const rho = correlationOf({ kind: k, effectiveRangeM: r });
          return Float64Array.from(z, (_, i) =>
            rho(Math.hypot(oxfordXy[2 * i] - at[0], oxfordXy[2 * i + 1] - at[1])),
          );
        },
        own: () => 1,
      };
      const sill = 2.3;
      const reduced = prepareReduction(oxfordXy, [z, ...basis.columns], target)(kind, range);
      const parts = planeParts(reduced, 0, columns, share, scratch, basis.at(at[0], at[1]))!;
      const cov = pointSamples({
        kind,
        effectiveRangeM: range,
        nugget: sill * share,
        partialSill: sill * (1 - share),
      });
      const kriged = kriging(oxfordXy, z, at, cov, { trend: 'linear' });
      expectRelative(parts.target!.mean, kriged.predictions[0], 1e-8);
      expectRelative(sill * parts.target!.varianceOverSill, kriged.variances[0], 1e-8);
    },
  );

  it('drawn planes scatter as generalised least squares says', () => {
    const [kind, effectiveRangeM, nuggetShare] = spreadCases[0];
    const parts = planeParts(reduce(kind, effectiveRangeM), 0, columns, nuggetShare, scratch)!;
    const named = basis.columns.map((values, i) => ({ name: `q${i}`, values }));
    const { betaShape } = prepareTrendLikelihood(oxfordXy, z, { covariates: named })({
      kind,
      effectiveRangeM,
      nuggetShare,
    })!;
    const random = seededRandom(11);
    const sill = 1.4;
    const draws = 20_000;
    const sums = new Float64Array(9);
    for (let k = 0; k < draws; k++) {
      const d = drawPlane(parts, sill, () => randomNormal(random));
      const e = [d.mean - parts.mean, d.beta[0] - parts.beta[0], d.beta[1] - parts.beta[1]];
      for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) sums[3 * i + j] += e[i] * e[j];
    }
    for (let i = 0; i < 3; i++)
      for (let j = 0; j < 3; j++) {
        const scale = sill * Math.sqrt(betaShape[4 * i] * betaShape[4 * j]);
        // A correlation of 20,000 draws has a standard error of 0.007 or less; a variance of 0.01.
        expectWithin(sums[3 * i + j] / draws / scale, (sill * betaShape[3 * i + j]) / scale, 0.04);
      }
  });
});
