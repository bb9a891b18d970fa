import { describe, expect, it } from 'vitest';
import {
  errorSurfaces,
  evenAxis,
  gridStops,
  mapErrors,
  type MapGround,
  type MapSamples,
} from '../../src/design/index.ts';
import { spreadNodes } from '../../src/field/index.ts';
import {
  blockPoints,
  compositeSamples,
  meanCovariance,
  ordinaryKriging,
  sampleToBlock,
} from '../../src/krige/index.ts';
import { correlation, type ModelKind } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { lShape, quarterSection, withHole } from './shapes.ts';

const ground = (region = quarterSection, blocks = 60): MapGround => ({
  blocks: spreadNodes(region, blocks),
  fieldNodes: spreadNodes(region, 150),
  blockM: 18,
});
const support = { radiusM: 5, cores: 10 };
const stopsAt = (xy: Float64Array, by = support): MapSamples => ({ kind: 'stops', xy, ...by });
const kinds = ['spherical', 'exponential'] as const;

describe('errors of a map', () => {
  it.each([
    [quarterSection, 8],
    [lShape, 20],
    [withHole, 48],
    [quarterSection, 107],
  ] as const)('are those of ordinary block kriging, region %#, %d stops', (region, count) => {
    const { xy } = gridStops(region, count);
    const g = ground(region);
    for (const kind of kinds)
      for (const effectiveRangeM of [60, 240, 900]) {
        const errors = mapErrors(stopsAt(xy), g, kind, effectiveRangeM);
        for (const nuggetShare of [0.05, 0.4, 0.9]) {
          const noise = nuggetShare / (1 - nuggetShare);
          const samples = compositeSamples(kind, effectiveRangeM, 1, {
            ...support,
            coreVariance: 0,
            labVariance: noise,
          });
          const { variances } = ordinaryKriging(xy, undefined, g.blocks, samples, {
            blockM: 18,
            neighbours: count > 64 ? 32 : undefined,
          });
          const sorted = variances.slice().sort();
          const got = errors(noise, 'interpolated');
          expectRelative(got.meanSquaredError, variances.reduce((s, v) => s + v, 0) / variances.length, 2e-3);
          expectRelative(got.median, sorted[sorted.length >> 1], 2e-3);
          expectRelative(got.p90, sorted[Math.floor(0.9 * (sorted.length - 1))], 2e-3);
        }
      }
  });

  it('covariance of estimate and truth: by the weights themselves', () => {
    const { xy } = gridStops(lShape, 9);
    const g = ground(lShape, 14);
    const [kind, range, noise] = ['exponential' as ModelKind, 300, 0.5];
    const cov = compositeSamples(kind, range, 1, { ...support, coreVariance: 0, labVariance: 0 });
    const structured = (h: number) => correlation(kind, range, h);
    const n = xy.length / 2;
    const apart = (a: Float64Array, i: number, b: Float64Array, j: number) =>
      Math.hypot(a[2 * i] - b[2 * j], a[2 * i + 1] - b[2 * j + 1]);
    const q = g.fieldNodes.length / 2;
    let total = 0;
    for (let p = 0; p < 14; p++) {
      // The ordinary kriging system with its Lagrange row, by elimination.
      const rows = Array.from({ length: n + 1 }, (_, i) => {
        const row = Array.from({ length: n + 1 }, (_, j) =>
          i === n && j === n
            ? 0
            : i === n || j === n
              ? 1
              : i === j
                ? cov.variance + noise
                : cov.between(apart(xy, i, xy, j)),
        );
        row.push(
          i === n
            ? 1
            : sampleToBlock(
                cov,
                g.blocks[2 * p] - xy[2 * i],
                g.blocks[2 * p + 1] - xy[2 * i + 1],
                18,
                blockPoints(18),
              ),
        );
        return row;
      });
      const right = rows.map((r) => r[n + 1]);
      const w = eliminate(rows);
      let covariance = meanCovariance(g.fieldNodes, structured);
      for (let i = 0; i < n; i++) {
        covariance += w[i] * right[i];
        for (let f = 0; f < q; f++) covariance -= (w[i] * cov.toPoint(apart(xy, i, g.fieldNodes, f))) / q;
      }
      for (let f = 0; f < q; f++) covariance -= structured(apart(g.blocks, p, g.fieldNodes, f)) / q;
      total += covariance / 14;
    }
    expectWithin(mapErrors(stopsAt(xy), g, kind, range)(noise, 'interpolated').covariance, total, 2e-4);
  });

  it('the cell’s own sample: block, sample and covariance between them', () => {
    const { xy } = gridStops(quarterSection, 16);
    const g = ground();
    const errors = mapErrors(stopsAt(xy), g, 'spherical', 250);
    const [interpolated, own] = [errors(0.3, 'interpolated'), errors(0.3, 'own cell')];
    expect(own.meanSquaredError).toBeGreaterThan(interpolated.meanSquaredError);
    // Noise of the sample comes through whole.
    expectWithin(errors(0.8, 'own cell').meanSquaredError - own.meanSquaredError, 0.5, 1e-9);
    // Far stops: the two are one when each block is its own sample's.
    const at = { ...g, blocks: xy };
    const long = mapErrors(stopsAt(xy), at, 'spherical', 1e6)(0, 'own cell');
    expectWithin(long.meanSquaredError, 0, 1e-3);
  });

  it('a cell sampled by one core at its stop is that stop sampled by one core', () => {
    const { xy } = gridStops(lShape, 12);
    const g = ground(lShape, 30);
    const coresOf = Array.from({ length: 12 }, (_, i) => xy.slice(2 * i, 2 * i + 2));
    for (const use of ['interpolated', 'own cell'] as const) {
      const cell = mapErrors({ kind: 'cells', xy, coresOf }, g, 'exponential', 200)(0.2, use);
      const stop = mapErrors(stopsAt(xy, { radiusM: 0, cores: 1 }), g, 'exponential', 200)(0.2, use);
      for (const [key, value] of Object.entries(cell)) expectWithin(value, stop[key as 'p90'], 1e-12, key);
    }
  });

  it('cores spread over a cell tell more of its own value than cores about its stop', () => {
    const { xy, spacingM } = gridStops(quarterSection, 16);
    const coresOf = Array.from({ length: 16 }, (_, i) =>
      Float64Array.from(
        [-0.33, 0, 0.33].flatMap((u) => [-0.33, 0, 0.33].flatMap((v) => [u, v])),
        (t, k) => xy[2 * i + (k % 2)] + t * spacingM,
      ),
    );
    const cells = mapErrors({ kind: 'cells', xy, coresOf }, ground(), 'spherical', 250)(0.05, 'own cell');
    const stops = mapErrors(
      stopsAt(xy, { radiusM: 5, cores: 9 }),
      ground(),
      'spherical',
      250,
    )(0.05, 'own cell');
    expect(cells.meanSquaredError).toBeLessThan(stops.meanSquaredError);
  });

  it('stretched ground: as isotropic ground with stretched stops', () => {
    const anisotropy = { ratio: 0.5, directionDeg: 0 };
    const stretch = (xy: Float64Array) => xy.map((v, i) => (i % 2 ? v : 2 * v));
    const { xy } = gridStops(lShape, 20);
    const g = ground(lShape, 30);
    const point = { radiusM: 0, cores: 1 };
    const got = mapErrors(stopsAt(xy, point), { ...g, blockM: 0.001, anisotropy }, 'spherical', 400);
    const want = mapErrors(
      stopsAt(stretch(xy), point),
      { blocks: stretch(g.blocks), fieldNodes: stretch(g.fieldNodes), blockM: 0.001 },
      'spherical',
      400,
    );
    for (const use of ['interpolated', 'own cell'] as const)
      for (const [key, value] of Object.entries(got(0.4, use)))
        expectWithin(value, want(0.4, use)[key as 'p90'], 1e-5, key);
  });
});

describe('the table of errors', () => {
  it.each([6, 32, 107])('interpolates what is computed outright, %d stops', (count) => {
    const { xy } = gridStops(quarterSection, count);
    const g = ground(quarterSection, 50);
    const axes = {
      kinds,
      logRange: evenAxis(Math.log(25), Math.log(1500), 0.4),
      logNoise: evenAxis(-6, 5, 1),
    };
    const at = (kind: ModelKind, range: number) => mapErrors(stopsAt(xy), g, kind, range);
    const surface = errorSurfaces(axes, at).interpolated;
    for (const kind of kinds)
      for (const range of [40, 97, 333, 1200])
        for (const noise of [0.02, 0.4, 3]) {
          const want = at(kind, range)(noise, 'interpolated');
          const got = surface(kind, Math.log(range), Math.log(noise));
          expectRelative(got.meanSquaredError, want.meanSquaredError, 0.01);
          expectRelative(got.median, want.median, 0.02);
          expectRelative(got.p90, want.p90, 0.02);
          expectWithin(got.covariance, want.covariance, 0.01);
        }
  });
});

function eliminate(rows: number[][]): number[] {
  const n = rows.length;
  for (let i = 0; i < n; i++) {
    let pivot = i;
    for (let r = i + 1; r < n; r++) if (Math.abs(rows[r][i]) > Math.abs(rows[pivot][i])) pivot = r;
    [rows[i], rows[pivot]] = [rows[pivot], rows[i]];
    for (let r = 0; r < n; r++) {
      if (r === i) continue;
      const f = rows[r][i] / rows[i][i];
      for (let c = i; c <= n; c++) rows[r][c] -= f * rows[i][c];
    }
  }
  return rows.map((r, i) => r[n] / r[i]);
}
