import { bench, describe } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import {
  indexSamples,
  kriging,
  leaveOneOut,
  meanOverSquare,
  nearestInto,
  ordinaryKriging,
  pointSamples,
  targetOf,
} from '../../src/krige/index.ts';
import { correlationOf } from '../../src/variogram/index.ts';
import { meuseLogZinc } from '../reference/reference.ts';

const NODES = 100_000;
const once = { iterations: 3, time: 0, warmupIterations: 1, warmupTime: 0 };

/** 316 columns of nodes, by rows. */
function raster(x0: number, y0: number, dx: number, dy: number): Float64Array {
  return Float64Array.from({ length: 2 * NODES }, (_, i) => {
    const k = i >> 1;
    return i % 2 ? y0 + dy * Math.floor(k / 316) : x0 + dx * (k % 316);
  });
}

describe('155 samples, all used, to 100 000 nodes', () => {
  const { xy, z } = meuseLogZinc;
  const nodes = raster(178_500, 329_700, 9, 12.7);
  for (const kind of ['spherical', 'exponential', 'matern'] as const) {
    const cov = pointSamples({ kind, nugget: 0.06, partialSill: 0.59, effectiveRangeM: 942 });
    bench(`ordinary, ${kind}`, () => void ordinaryKriging(xy, z, nodes, cov), once);
    bench(`with a plane, ${kind}`, () => void kriging(xy, z, nodes, cov, { trend: 'linear' }), once);
  }
});

describe('10 000 samples, the nearest 32, to 100 000 nodes', () => {
  const random = seededRandom(1);
  const xy = new Float64Array(20_000).map(() => 3000 * random());
  const z = new Float64Array(10_000).map(() => random());
  const nodes = raster(0, 0, 9.4, 9.4);
  for (const kind of ['spherical', 'exponential'] as const) {
    const cov = pointSamples({ kind, nugget: 0.2, partialSill: 0.8, effectiveRangeM: 300 });
    const neighbours = 32;
    bench(`points, ${kind}`, () => void ordinaryKriging(xy, z, nodes, cov, { neighbours }), once);
    bench(
      `blocks of 18 m, ${kind}`,
      () => void ordinaryKriging(xy, z, nodes, cov, { neighbours, blockM: 18 }),
      once,
    );
  }
  const tree = indexSamples(xy);
  const index = new Uint32Array(32);
  const distance2 = new Float64Array(32);
  bench(
    'the search alone',
    () => {
      for (let p = 0; p < NODES; p++)
        nearestInto(tree, nodes[2 * p], nodes[2 * p + 1], 32, Infinity, index, distance2);
    },
    once,
  );
});

describe('cross-validation and blocks', () => {
  const { xy, z } = meuseLogZinc;
  const cov = pointSamples({ kind: 'spherical', nugget: 0.06, partialSill: 0.59, effectiveRangeM: 942 });
  bench('leave one out of 155', () => void leaveOneOut(xy, z, cov));
  const rho = correlationOf({ kind: 'exponential', effectiveRangeM: 60 });
  bench('variance of a block', () => void meanOverSquare(rho, 18));
  bench(
    'variance of a block, anisotropic',
    () => void meanOverSquare(rho, 18, [], { ratio: 0.5, directionDeg: 30 }),
  );
  const { withSample } = targetOf(cov, 18);
  bench('a sample in a block', () => void withSample(3, 4));
});
