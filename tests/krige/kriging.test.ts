import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { kriging, ordinaryKriging, pointSamples, type KrigingTrend } from '../../src/krige/index.ts';
import { stretched, type ModelKind, type VariogramModel } from '../../src/variogram/index.ts';
import {
  krigingCases,
  meuseNodes,
  meuseSamples,
  nearest32,
  nestedFrom,
  type ReferenceTrend,
} from '../reference/kriging.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const { xy, z } = meuseSamples;
const nodes = meuseNodes.xy;
const random = seededRandom(31);
const scattered = (n: number, sideM: number) => new Float64Array(2 * n).map(() => sideM * random());

function trendOf(trend: ReferenceTrend): KrigingTrend {
  return trend === 'covariate'
    ? { samples: meuseSamples.rootDistance, nodes: meuseNodes.rootDistance }
    : trend;
}

// gstat's variance of a point counts the nugget as part of what is predicted; ours is of the ground, theirs less the nugget.
describe('kriging of meuse log zinc against gstat', () => {
  it.each(krigingCases)('$name', (c) => {
    const model = nestedFrom(c.model);
    const { predictions, variances } = kriging(xy, z, nodes, pointSamples(model), {
      trend: trendOf(c.trend),
      blockM: c.block,
      quadrature: 'sixteenPoints',
      neighbours: c.nmax || undefined,
      maxDistanceM: c.maxdist || undefined,
    });
    // A Matérn without closed form is interpolated to within 1e-8 of its covariance.
    const tolerance = c.name.endsWith('matern 1') ? 1e-6 : 1e-8;
    const nugget = c.block > 0 ? 0 : model.nugget;
    expect(c.pred).toHaveLength(10);
    c.pred.forEach((pred, i) => {
      if (pred === null) {
        expect([predictions[i], variances[i]]).toEqual([NaN, NaN]);
        return;
      }
      expectRelative(predictions[i], pred, tolerance, 'prediction');
      // gstat's own Gauss points seem rounded, to judge by a misfit of 2e-8 of the sill in a block's own variance.
      expectRelative(variances[i] + nugget, c.var[i]!, c.block > 0 ? 2e-7 : tolerance, 'variance');
    });
  });

  it('the nearest 32 of 500 points', () => {
    const { predictions, variances } = ordinaryKriging(
      nearest32.xy,
      nearest32.z,
      nearest32.nodes,
      pointSamples(nearest32.model),
      { neighbours: 32 },
    );
    nearest32.pred.forEach((pred, i) => {
      expectRelative(predictions[i], pred, 1e-8, 'prediction');
      expectRelative(variances[i] + nearest32.model.nugget, nearest32.var[i], 1e-8, 'variance');
    });
  });
});

/** Solves a dense system by elimination with row exchanges. */
function eliminate(a: number[][], b: number[]): number[] {
  const n = b.length;
  const rows = a.map((row, i) => [...row, b[i]]);
  for (let i = 0; i < n; i++) {
    let best = i;
    for (let r = i; r < n; r++) if (Math.abs(rows[r][i]) > Math.abs(rows[best][i])) best = r;
    [rows[i], rows[best]] = [rows[best], rows[i]];
    for (let r = 0; r < n; r++) {
      if (r === i) continue;
      const f = rows[r][i] / rows[i][i];
      for (let k = i; k <= n; k++) rows[r][k] -= f * rows[i][k];
    }
  }
  return rows.map((row, i) => row[n] / row[i]);
}

// The kriging system with its unbiasedness rows (Cressie 1993, eq. 3.4.1) written out for one node.
describe('against the kriging system solved by elimination', () => {
  const points = scattered(60, 400);
  const values = new Float64Array(60).map(() => 10 * random());
  const at = scattered(40, 400);
  const kinds: readonly ModelKind[] = ['spherical', 'exponential', 'gaussian', 'matern'];

  it.each(
    kinds.flatMap((kind) =>
      (['constant', 'linear'] as const).flatMap((trend) =>
        ([undefined, 12, 25] as const).map((neighbours) => ({ kind, trend, neighbours })),
      ),
    ),
  )('$kind, $trend, nearest $neighbours', ({ kind, trend, neighbours }) => {
    const cov = pointSamples({ kind, nugget: 0.2, partialSill: 1.3, effectiveRangeM: 150 });
    const ours = kriging(points, values, at, cov, { trend, neighbours, lagrange: true });
    for (let p = 0; p < 40; p++) {
      const [px, py] = [at[2 * p], at[2 * p + 1]];
      const far = (i: number) => Math.hypot(points[2 * i] - px, points[2 * i + 1] - py);
      const used = Array.from({ length: 60 }, (_, i) => i)
        .sort((i, j) => far(i) - far(j))
        .slice(0, neighbours ?? 60);
      const f = (x: number, y: number) =>
        trend === 'constant' ? [1] : [1, (x - 200) / 200, (y - 200) / 200];
      const q = f(0, 0).length;
      const k = used.length;
      const trendAt = used.map((i) => f(points[2 * i], points[2 * i + 1]));
      const rows = used.map((i, a) => [
        ...used.map((j) =>
          i === j
            ? cov.variance
            : cov.between(Math.hypot(points[2 * i] - points[2 * j], points[2 * i + 1] - points[2 * j + 1])),
        ),
        ...trendAt[a].map((v) => -v),
      ]);
      for (let e = 0; e < q; e++) rows.push([...trendAt.map((t) => t[e]), ...new Array<number>(q).fill(0)]);
      const right = [...used.map((i) => cov.toPoint(far(i))), ...f(px, py)];
      const w = eliminate(rows, right);
      let [prediction, variance, lagrange] = [0, cov.ground(0), 0];
      used.forEach((i, a) => {
        prediction += w[a] * values[i];
        variance -= w[a] * right[a];
      });
      for (let e = 0; e < q; e++) lagrange += w[k + e] * f(px, py)[e];
      expectWithin(ours.predictions[p], prediction, 1e-8, 'prediction');
      expectWithin(ours.variances[p], variance + lagrange, 1e-9, 'variance');
      expectWithin(ours.lagrange![p], lagrange, 1e-9, 'multiplier');
    }
  });
});

describe('trends', () => {
  const cov = pointSamples({ kind: 'spherical', nugget: 0.1, partialSill: 1, effectiveRangeM: 120 });
  const points = scattered(50, 300);
  const at = Float64Array.of(20, 30, 250, 140, 600, -200);
  const plane = (x: number, y: number) => 4 + 0.03 * x - 0.02 * y;
  const onPlane = Float64Array.from({ length: 50 }, (_, i) => plane(points[2 * i], points[2 * i + 1]));

  it.each([undefined, 15])('a plane is continued without error, nearest %s', (neighbours) => {
    for (const blockM of [0, 40]) {
      const { predictions } = kriging(points, onPlane, at, cov, { trend: 'linear', neighbours, blockM });
      for (let p = 0; p < 3; p++) expectRelative(predictions[p], plane(at[2 * p], at[2 * p + 1]), 1e-9);
    }
  });

  it('coordinates as covariates are the linear trend', () => {
    const given = kriging(points, onPlane, at, cov, { trend: { samples: points, nodes: at } });
    const linear = kriging(points, onPlane, at, cov, { trend: 'linear' });
    linear.predictions.forEach((v, i) => expectRelative(given.predictions[i], v, 1e-11));
    linear.variances.forEach((v, i) => expectRelative(given.variances[i], v, 1e-11));
  });

  it('an unknown trend costs: the variance is above ordinary kriging’s', () => {
    const ordinary = ordinaryKriging(points, undefined, at, cov).variances;
    kriging(points, undefined, at, cov, { trend: 'linear' }).variances.forEach((v, i) =>
      expect(v).toBeGreaterThan(ordinary[i]),
    );
  });

  it('refuses a trend that the samples cannot tell, and covariates that do not fit', () => {
    const onLine = Float64Array.of(0, 0, 10, 10, 20, 20, 30, 30);
    const four = new Float64Array(4);
    expect(() => kriging(onLine, four, at, cov, { trend: 'linear' })).toThrow(RangeError);
    expect(() =>
      kriging(onLine, four, at, cov, { trend: { samples: new Float64Array(5), nodes: new Float64Array(3) } }),
    ).toThrow(/4 samples and 3 nodes/);
    // In a neighbourhood it is that node alone that has no answer.
    const near = kriging(points, onPlane, at, cov, { trend: 'linear', neighbours: 2 });
    expect(Array.from(near.variances)).toEqual([NaN, NaN, NaN]);
  });
});

describe('neighbourhoods', () => {
  const points = scattered(300, 500);
  const values = new Float64Array(300).map(() => random());
  // Rows of a raster, so that nodes share neighbours, and one far away.
  const raster = Float64Array.from({ length: 242 }, (_, i) =>
    i < 240 ? (i % 2 ? 20 * Math.floor(i / 40) : 4 * ((i >> 1) % 20)) : 5000,
  );
  const model: VariogramModel = { kind: 'exponential', nugget: 0.1, partialSill: 1, effectiveRangeM: 200 };

  it.each([0, 12])('nodes taken in runs give what each gives alone, blocks of %d m', (blockM) => {
    for (const neighbours of [1, 2, 9, 24])
      for (const maxDistanceM of [Infinity, 40]) {
        const options = { neighbours, maxDistanceM, blockM, lagrange: true };
        const all = ordinaryKriging(points, values, raster, pointSamples(model), options);
        for (let p = 0; p < 121; p++) {
          const one = ordinaryKriging(
            points,
            values,
            raster.slice(2 * p, 2 * p + 2),
            pointSamples(model),
            options,
          );
          if (Number.isNaN(one.variances[0])) expect(all.variances[p]).toBeNaN();
          else {
            expectRelative(all.predictions[p], one.predictions[0], 1e-10);
            expectRelative(all.variances[p], one.variances[0], 1e-10);
            expectWithin(all.lagrange![p], one.lagrange![0], 1e-10);
          }
        }
      }
  });

  it('all samples by way of the neighbourhood are all samples', () => {
    for (const trend of ['constant', 'linear'] as const) {
      const whole = kriging(points, values, raster, pointSamples(model), { trend });
      const near = kriging(points, values, raster, pointSamples(model), { trend, maxDistanceM: 1e5 });
      whole.predictions.forEach((v, i) => expectWithin(near.predictions[i], v, 1e-9));
      whole.variances.forEach((v, i) => expectWithin(near.variances[i], v, 1e-9));
    }
  });

  it('no sample within the distance: no answer', () => {
    const { predictions, variances } = ordinaryKriging(points, values, raster, pointSamples(model), {
      maxDistanceM: 60,
    });
    expect([predictions[120], variances[120]]).toEqual([NaN, NaN]);
    expect(variances[0]).toBeGreaterThan(0);
  });
});

describe('anisotropy', () => {
  const anisotropy = { ratio: 0.4, directionDeg: 35 };
  const model: VariogramModel = { kind: 'spherical', nugget: 0.1, partialSill: 1, effectiveRangeM: 200 };
  const points = scattered(40, 300);
  const values = new Float64Array(40).map(() => random());
  const at = scattered(10, 300);

  it('is isotropic kriging on the stretched plane; an option is as good as the model’s own', () => {
    const turned = ordinaryKriging(
      stretched(points, anisotropy),
      values,
      stretched(at, anisotropy),
      pointSamples(model),
    );
    const own = ordinaryKriging(points, values, at, pointSamples({ ...model, anisotropy }));
    const asked = ordinaryKriging(points, values, at, pointSamples(model), { anisotropy });
    expect(own).toEqual(asked);
    turned.variances.forEach((v, i) => expectRelative(own.variances[i], v, 1e-12));
    turned.predictions.forEach((v, i) => expectRelative(own.predictions[i], v, 1e-12));
  });

  it('a block is the mean of its points: the kriging is linear', () => {
    const cov = pointSamples({ ...model, anisotropy });
    const centre = Float64Array.of(140, 170);
    const side = 60;
    const inside = Float64Array.from({ length: 2 * 2500 }, (_, i) => {
      const k = i >> 1;
      const step = i % 2 ? Math.floor(k / 50) : k % 50;
      return centre[i % 2] + ((step + 0.5) / 50 - 0.5) * side;
    });
    const ofPoints = ordinaryKriging(points, values, inside, cov).predictions;
    const mean = ofPoints.reduce((s, v) => s + v, 0) / 2500;
    const block = ordinaryKriging(points, values, centre, cov, { blockM: side });
    expectRelative(block.predictions[0], mean, 2e-4);
  });
});

describe('laws (small random cases)', () => {
  const model = fc.record({
    kind: fc.constantFrom<ModelKind>('spherical', 'exponential', 'gaussian', 'matern'),
    nugget: fc.double({ min: 0.05, max: 2, noNaN: true }),
    partialSill: fc.double({ min: 0.1, max: 4, noNaN: true }),
    effectiveRangeM: fc.double({ min: 20, max: 500, noNaN: true }),
  });
  const places = fc.uniqueArray(fc.tuple(fc.integer({ min: 0, max: 30 }), fc.integer({ min: 0, max: 30 })), {
    minLength: 5,
    maxLength: 20,
    selector: ([i, j]) => 31 * i + j,
  });
  const place = fc.tuple(
    fc.double({ min: -50, max: 350, noNaN: true }),
    fc.double({ min: -50, max: 350, noNaN: true }),
  );
  const runs = { seed: 7, numRuns: 60 };
  const metres = (at: readonly (readonly [number, number])[]) =>
    Float64Array.from(at.flatMap(([i, j]) => [10 * i, 10 * j]));

  it('a further sample lowers the variance or leaves it, under any trend', () => {
    fc.assert(
      fc.property(places, place, model, fc.constantFrom(0, 25), (at, node, m, blockM) => {
        const cov = pointSamples(m);
        const samples = metres(at);
        // Three corners off the lattice keep the plane known.
        const few = Float64Array.from([-5, -5, 305, -5, -5, 305, ...samples.slice(2)]);
        const more = Float64Array.from([...few, samples[0], samples[1]]);
        for (const trend of ['constant', 'linear'] as const) {
          const [before] = kriging(few, undefined, Float64Array.from(node), cov, { trend, blockM }).variances;
          const [after] = kriging(more, undefined, Float64Array.from(node), cov, { trend, blockM }).variances;
          expect(after).toBeLessThanOrEqual(before + 1e-9);
        }
      }),
      runs,
    );
  });

  it('values all alike predict the same (weights sum to 1); values scale and shift the predictions alike', () => {
    fc.assert(
      fc.property(places, place, model, (at, node, m) => {
        const samples = metres(at);
        const values = Float64Array.from(at, ([i, j]) => Math.sin(3 * i + j));
        const predict = (v: Float64Array, neighbours?: number) =>
          ordinaryKriging(samples, v, Float64Array.from(node), pointSamples(m), { neighbours })
            .predictions[0];
        for (const neighbours of [undefined, 4]) {
          expectRelative(
            predict(
              values.map(() => -3.5),
              neighbours,
            ),
            -3.5,
            1e-11,
          );
          expectWithin(
            predict(
              values.map((v) => 2 * v + 100),
              neighbours,
            ),
            2 * predict(values, neighbours) + 100,
            1e-9,
          );
        }
      }),
      runs,
    );
  });

  it('halfway between two samples the prediction is their mean, whatever the model', () => {
    fc.assert(
      fc.property(model, fc.double({ min: 1, max: 400, noNaN: true }), (m, apart) => {
        const { predictions, variances } = ordinaryKriging(
          Float64Array.of(0, 0, apart, 0),
          Float64Array.of(2, 9),
          Float64Array.of(apart / 2, 0),
          pointSamples(m),
        );
        const cov = pointSamples(m);
        expectRelative(predictions[0], 5.5, 1e-12);
        expectWithin(
          variances[0],
          m.partialSill - 2 * cov.toPoint(apart / 2) + (cov.variance + cov.between(apart)) / 2,
          1e-11,
        );
      }),
      runs,
    );
  });
});

// With γ(h) = b·h the weights between two samples without nugget are those of straight interpolation (Cressie 1993, sec. 3.2).
it('a range far beyond the samples: a line between two of them', () => {
  const cov = pointSamples({ kind: 'exponential', nugget: 0, partialSill: 1e4, effectiveRangeM: 3e7 });
  const { predictions } = ordinaryKriging(
    Float64Array.of(0, 0, 100, 0),
    Float64Array.of(10, 20),
    Float64Array.of(25, 0, 50, 0, 90, 0),
    cov,
  );
  [12.5, 15, 19].forEach((v, i) => expectRelative(predictions[i], v, 1e-5));
});
