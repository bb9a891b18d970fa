import { bench, describe } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import {
  anisotropyGuess,
  correlationOf,
  experimentalVariogram,
  fitLeastSquares,
  fitNested,
  maternCorrelation,
  maternOf,
  sensibleLags,
} from '../../src/variogram/index.ts';
import { meuseLogZinc } from '../reference/reference.ts';

/** Points over a square of 3000 m with values that differ; what they are does not change the time. */
function scatter(n: number) {
  const random = seededRandom(n);
  const xy = Float64Array.from({ length: 2 * n }, () => 3000 * random());
  return { xy, z: Float64Array.from({ length: n }, () => random()) };
}

const some = scatter(5000);
const many = scatter(100_000);
/** A thirtieth of the diagonal. */
const nearby = { cutoffM: 100 * Math.SQRT2, widthM: (100 * Math.SQRT2) / 15 };

describe('experimental variogram of 5000 points, default lags', () => {
  for (const estimator of ['classical', 'cressieHawkins', 'dowd', 'genton'] as const)
    bench(estimator, () => void experimentalVariogram(some.xy, some.z, { estimator }), { time: 1000 });
  bench('one direction', () => void experimentalVariogram(some.xy, some.z, { directionDeg: 30 }), {
    time: 1000,
  });
  bench('sensible lags', () => void sensibleLags(some.xy), { time: 500 });
});

describe('experimental variogram of 100 000 points, to a thirtieth of the diagonal', () => {
  bench('classical', () => void experimentalVariogram(many.xy, many.z, nearby), {
    time: 2000,
    iterations: 3,
  });
});

describe('fits of 15 bins', () => {
  const { xy, z } = meuseLogZinc;
  const bins = experimentalVariogram(xy, z);
  bench('spherical', () => void fitLeastSquares(bins, 'spherical'));
  bench('Matérn, free smoothness', () => void fitLeastSquares(bins, 'matern', { smoothness: 'free' }));
  bench('two spherical structures', () => void fitNested(bins, ['spherical', 'spherical']));
  bench('guess of anisotropy', () => void anisotropyGuess(xy, z, 'spherical'));
});

describe('1000 Matérn correlations of smoothness 0.8', () => {
  const fast = maternOf(0.8);
  const ofModel = correlationOf({ kind: 'matern', effectiveRangeM: 300, smoothness: 1.5 });
  const sum = (f: (x: number) => number) => {
    let total = 0;
    for (let i = 1; i <= 1000; i++) total += f(i * 0.005);
    return total;
  };
  bench('exact', () => void sum((x) => maternCorrelation(0.8, x)));
  bench('table', () => void sum(fast));
  bench('closed form of 1.5', () => void sum(ofModel));
});
