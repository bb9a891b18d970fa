import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { kriging, leaveOneOut, pointSamples, simulateField } from '../../src/krige/index.ts';
import type { VariogramModel } from '../../src/variogram/index.ts';
import { leaveOneOutCases, meuseSamples, nestedFrom } from '../reference/kriging.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { fromGstat, oxfordKrige, oxfordValues, oxfordXy } from '../reference/reference.ts';

describe('leave-one-out against gstat’s krige.cv', () => {
  it.each(leaveOneOutCases)('$name', (c) => {
    const trend = c.trend === 'covariate' ? { samples: meuseSamples.rootDistance } : c.trend;
    const ours = leaveOneOut(meuseSamples.xy, meuseSamples.z, pointSamples(nestedFrom(c.model)), { trend });
    expect(c.residual).toHaveLength(155);
    c.residual.forEach((residual, i) => {
      expectWithin(ours.residuals[i], residual, 1e-8, 'residual');
      expectRelative(ours.variances[i], c.var[i], 1e-8, 'variance');
      expectWithin(ours.standardised[i], c.zscore[i], 1e-8, 'standardised');
    });
  });

  it('oxford phosphorus: summary', () => {
    const { summary } = leaveOneOut(
      oxfordXy,
      oxfordValues(oxfordKrige.variable),
      pointSamples(fromGstat(oxfordKrige.model)),
    );
    expectRelative(summary.rmse, oxfordKrige.loo.rmse, 1e-9);
    expectRelative(summary.meanError, oxfordKrige.loo.mean_error, 1e-9);
    expectRelative(summary.msdr, oxfordKrige.loo.msdr, 1e-9);
  });
});

describe('leave-one-out', () => {
  const random = seededRandom(15);
  const xy = new Float64Array(160).map(() => 400 * random());
  const model: VariogramModel = { kind: 'exponential', nugget: 0.3, partialSill: 1, effectiveRangeM: 150 };
  const z = simulateField(xy, model, random);

  it.each([
    ['constant', undefined],
    ['constant', 9],
    ['linear', undefined],
    ['linear', 12],
  ] as const)('%s, nearest %s: each sample left out in turn', (trend, neighbours) => {
    const cov = pointSamples(model);
    const ours = leaveOneOut(xy, z, cov, { trend, neighbours });
    for (let i = 0; i < 80; i += 7) {
      const others = Float64Array.from(xy.filter((_, k) => k >> 1 !== i));
      const node = xy.slice(2 * i, 2 * i + 2);
      const k = kriging(
        others,
        z.filter((_, j) => j !== i),
        node,
        cov,
        { trend, neighbours },
      );
      expectWithin(ours.residuals[i], z[i] - k.predictions[0], 1e-9);
      expectRelative(ours.variances[i], k.variances[0] + model.nugget, 1e-9);
    }
  });

  it('under the true model the squared standardised residuals have mean 1 and median 0.455', () => {
    // 0.455 is the median of chi-squared with one degree of freedom.
    const fields = Array.from(
      { length: 40 },
      () => leaveOneOut(xy, simulateField(xy, model, random), pointSamples(model)).summary,
    );
    const mean = (f: (s: (typeof fields)[number]) => number) =>
      fields.reduce((s, x) => s + f(x), 0) / fields.length;
    // Standard errors of 3200 squared normals: √(2/3200) = 0.025 and 1.2533²·… = 0.02, more for their dependence.
    expectWithin(
      mean((s) => s.msdr),
      1,
      0.1,
    );
    expectWithin(
      mean((s) => s.medianSdr),
      0.455,
      0.06,
    );
    expectWithin(
      mean((s) => s.meanError),
      0,
      0.03,
    );
  });

  it('a sample that alone tells the trend has no answer; nor do samples too few', () => {
    const cov = pointSamples(model);
    const covariate = { samples: Float64Array.of(0, 0, 0, 0, 1) };
    const five = leaveOneOut(xy.slice(0, 10), z.slice(0, 5), cov, { trend: covariate });
    expect(five.residuals[4]).toBeNaN();
    expect(Number.isFinite(five.residuals[0])).toBe(true);
    expect(leaveOneOut(xy.slice(0, 2), z.slice(0, 1), cov).residuals[0]).toBeNaN();
  });
});
