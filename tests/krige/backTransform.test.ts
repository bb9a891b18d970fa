import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import {
  backTransformMean,
  lognormalKriging,
  lognormalKrigingError,
  ordinaryKriging,
  pointSamples,
} from '../../src/krige/index.ts';
import { choleskyInPlace, type VariogramModel } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

describe('back-transform in closed form', () => {
  it('exp by quadrature is the lognormal mean, with and without a multiplier', () => {
    for (const [prediction, variance, lagrange] of [
      [1, 0.3, 0],
      [-2, 1.5, 0.2],
      [3, 0.04, -0.01],
      [0, 4, 0.5],
    ])
      expectRelative(
        backTransformMean(prediction, variance, Math.exp, lagrange),
        lognormalKriging(prediction, variance, lagrange),
        1e-12,
      );
  });

  it('polynomials: the moments of a normal', () => {
    expectRelative(
      backTransformMean(2, 0.5, (y) => y * y),
      4.5,
      1e-13,
    );
    expectRelative(
      backTransformMean(2, 0.5, (y) => y ** 3),
      8 + 3 * 2 * 0.5,
      1e-13,
    );
    expectRelative(
      backTransformMean(2, 0.5, (y) => 10 - 3 * y),
      4,
      1e-13,
    );
    expect(backTransformMean(1.7, 0, Math.exp)).toBe(Math.exp(1.7));
  });

  it('one sample: ŷ is the sample, whose spread is the ground’s, so that exp(ŷ) stands as it is', () => {
    const cov = pointSamples({ kind: 'exponential', nugget: 0, partialSill: 0.6, effectiveRangeM: 100 });
    const k = ordinaryKriging(Float64Array.of(0, 0), Float64Array.of(1.2), Float64Array.of(40, 0), cov, {
      lagrange: true,
    });
    // Weight 1: Var ŷ = C₀, hence σ² = 2m.
    expectRelative(k.variances[0], 2 * k.lagrange![0], 1e-12);
    expectRelative(lognormalKriging(k.predictions[0], k.variances[0], k.lagrange![0]), Math.exp(1.2), 1e-12);
  });
});

describe('back-transform of simulated fields', () => {
  const model: VariogramModel = { kind: 'exponential', nugget: 0.15, partialSill: 0.8, effectiveRangeM: 150 };
  const cov = pointSamples(model);
  const random = seededRandom(52);
  const samples = 12;
  const nodes = 3;
  const xy = new Float64Array(2 * (samples + nodes)).map(() => 160 * random());
  const mean = 0.7;

  // The ground at samples and nodes from one Cholesky factor; samples are measured with the nugget as noise.
  const n = samples + nodes;
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++)
      l[i * n + j] = cov.ground(Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]));
  expect(choleskyInPlace(l, n)).toBe(true);
  const at = xy.slice(2 * samples);
  const places = xy.slice(0, 2 * samples);
  const fields = 6000;

  const draw = () => {
    const e = Float64Array.from({ length: n }, () => randomNormal(random));
    const ground = new Float64Array(n).fill(mean);
    for (let i = 0; i < n; i++) for (let j = 0; j <= i; j++) ground[i] += l[i * n + j] * e[j];
    const measured = ground.slice(0, samples).map((v) => v + Math.sqrt(model.nugget) * randomNormal(random));
    return { ground: ground.slice(samples), measured };
  };
  const worked = Array.from({ length: fields }, () => {
    const { ground, measured } = draw();
    return { ground, kriged: ordinaryKriging(places, measured, at, cov, { lagrange: true }) };
  });

  const inverses: readonly [string, (y: number) => number][] = [
    ['exp', Math.exp],
    ['square', (y) => (y + 4) ** 2],
    ['logistic', (y) => 1 / (1 + Math.exp(-2 * y))],
  ];

  it.each(inverses)('%s: predictions and truth have the same mean', (_, inverse) => {
    for (let p = 0; p < nodes; p++) {
      let [sum, squares, naive] = [0, 0, 0];
      for (const { ground, kriged } of worked) {
        const { predictions, variances, lagrange } = kriged;
        const miss =
          backTransformMean(predictions[p], variances[p], inverse, lagrange![p]) - inverse(ground[p]);
        sum += miss;
        squares += miss * miss;
        naive += inverse(predictions[p]) - inverse(ground[p]);
      }
      const error = Math.sqrt(squares) / fields;
      expectWithin(sum / fields, 0, 4 * error, `node ${p}`);
      // What is unbiased here is biased without the correction.
      if (inverse === Math.exp) expect(Math.abs(naive / fields)).toBeGreaterThan(5 * error);
    }
  });

  it('lognormal: the mean squared error is as stated', () => {
    for (let p = 0; p < nodes; p++) {
      const { variances, lagrange } = worked[0].kriged;
      const stated = lognormalKrigingError(mean, model.partialSill, variances[p], lagrange![p]);
      let [sum, squares] = [0, 0];
      for (const { ground, kriged } of worked) {
        const e2 =
          (lognormalKriging(kriged.predictions[p], variances[p], lagrange![p]) - Math.exp(ground[p])) ** 2;
        sum += e2 / fields;
        squares += (e2 * e2) / fields;
      }
      expectWithin(sum, stated, 4 * Math.sqrt((squares - sum * sum) / fields), `node ${p}`);
    }
  });
});
