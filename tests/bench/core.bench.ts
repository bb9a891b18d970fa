import { bench, describe } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { compositeSamples, ordinaryKriging, pointSamples, simulateField } from '../../src/krige/index.ts';
import {
  experimentalVariogram,
  fitLeastSquares,
  fitLikelihood,
  orderedNeighbours,
  prepareLikelihood,
  type VariogramModel,
} from '../../src/variogram/index.ts';
import { meuseLogZinc, oxfordValues, oxfordXy } from '../reference/reference.ts';

const model: VariogramModel = { kind: 'spherical', nugget: 0.2, partialSill: 0.8, effectiveRangeM: 300 };

function scatter(n: number, sideM: number) {
  const random = seededRandom(n);
  const xy = new Float64Array(2 * n).map(() => sideM * random());
  return { xy, z: simulateField(xy, model, random) };
}

const some = scatter(1000, 1500);
const many = scatter(5000, 3000);
const oxford = { xy: oxfordXy, z: oxfordValues('PHOS1') };

describe('experimental variogram', () => {
  bench('126 points', () => void experimentalVariogram(oxford.xy, oxford.z));
  bench('1000 points', () => void experimentalVariogram(some.xy, some.z));
  bench('5000 points', () => void experimentalVariogram(many.xy, many.z), { time: 1500 });
  const bins = experimentalVariogram(oxford.xy, oxford.z);
  bench('least squares of 15 bins', () => void fitLeastSquares(bins, 'spherical'));
});

describe('likelihood', () => {
  const parameters = { kind: 'spherical', effectiveRangeM: 300, nuggetShare: 0.2 } as const;
  const of126 = prepareLikelihood(oxford.xy, oxford.z);
  const of200 = prepareLikelihood(some.xy.slice(0, 400), some.z.slice(0, 200));
  const of1000 = prepareLikelihood(some.xy, some.z);
  bench('exact, 126 points', () => void of126(parameters));
  bench('exact, 200 points', () => void of200(parameters));
  bench('Vecchia, 1000 points', () => void of1000(parameters));
  bench('order and neighbours, 1000 points', () => void orderedNeighbours(some.xy, 30));
  bench('restricted fit, 126 points', () => void fitLikelihood(of126, 'spherical', [50, 4000]), {
    time: 1500,
  });
});

describe('kriging of 155 points to 10 000 nodes', () => {
  const { xy, z } = meuseLogZinc;
  const nodes = Float64Array.from({ length: 20_000 }, (_, i) =>
    i % 2 ? 329_700 + 40 * ((i >> 1) % 100) : 178_500 + 30 * Math.floor((i >> 1) / 100),
  );
  const points = pointSamples({ kind: 'spherical', nugget: 0.06, partialSill: 0.59, effectiveRangeM: 942 });
  const composites = compositeSamples('spherical', 942, 0.59, {
    radiusM: 5,
    cores: 10,
    coreVariance: 0.06,
    labVariance: 0.01,
  });
  bench('points, all samples', () => void ordinaryKriging(xy, z, nodes, points), { time: 2000 });
  bench('points, 36 nearest', () => void ordinaryKriging(xy, z, nodes, points, { neighbours: 36 }), {
    time: 2000,
  });
  bench(
    'blocks of 18 m, composites, all samples, variances only',
    () => void ordinaryKriging(xy, undefined, nodes, composites, { blockM: 18 }),
    { time: 2000 },
  );
});
