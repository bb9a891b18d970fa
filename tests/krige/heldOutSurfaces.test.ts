import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { heldOutSurfaces } from '../../src/krige/heldOutSurfaces.ts';
import { kriging, pointSamples, simulateField } from '../../src/krige/index.ts';
import type { VariogramModel } from '../../src/variogram/index.ts';
import { expectWithin } from '../reference/near.ts';

describe('surfaces kriged without each part of the samples', () => {
  const random = seededRandom(31);
  const n = 45;
  const xy = Float64Array.from({ length: 2 * n }, () => 500 * random());
  const nodes = Float64Array.from({ length: 60 }, () => 500 * random());
  const folds = Int32Array.from({ length: n }, () => Math.floor(4 * random()));
  const models: readonly VariogramModel[] = [
    { kind: 'spherical', nugget: 0.3, partialSill: 1, effectiveRangeM: 220 },
    {
      kind: 'exponential',
      nugget: 0.05,
      partialSill: 1,
      effectiveRangeM: 400,
      anisotropy: { directionDeg: 30, ratio: 0.4 },
    },
  ];

  // Kriging itself is held against gstat in kriging.test.ts.
  const cases = models.flatMap((model) =>
    (['constant', 'linear'] as const).map((trend) => ({ model, trend, kind: model.kind })),
  );
  it.each(cases)('$kind, $trend mean: each is kriging from the others', ({ model, trend }) => {
    const z = simulateField(xy, { ...model, anisotropy: undefined }, random).map(
      (v, i) => 20 + v + (trend === 'linear' ? 0.02 * xy[2 * i] : 0),
    );
    const cov = pointSamples(model);
    const made = heldOutSurfaces(xy, z, nodes, cov, folds, 4, trend);
    const whole = kriging(xy, z, nodes, cov, { trend }).predictions;
    made.whole.forEach((v, i) => expectWithin(v, whole[i], 1e-9, 'whole'));
    expect(made.without).toHaveLength(4);
    made.without.forEach((surface, fold) => {
      const kept = [...folds.keys()].filter((i) => folds[i] !== fold);
      const direct = kriging(
        Float64Array.from(kept.flatMap((i) => [xy[2 * i], xy[2 * i + 1]])),
        Float64Array.from(kept, (i) => z[i]),
        nodes,
        cov,
        { trend },
      ).predictions;
      surface.forEach((v, i) => expectWithin(v, direct[i], 1e-9, `without ${fold}`));
      expect(Math.max(...surface.map((v, i) => Math.abs(v - whole[i])))).toBeGreaterThan(0.01);
    });
  });

  it('a fold that nobody is in changes nothing', () => {
    const z = Float64Array.from({ length: n }, random);
    const { whole, without } = heldOutSurfaces(xy, z, nodes, pointSamples(models[0]), folds, 5);
    expect([...without[4]]).toEqual([...whole]);
  });

  it('samples that cannot tell the trend are refused', () => {
    const z = Float64Array.from({ length: n }, random);
    const line = Float64Array.from({ length: 2 * n }, (_, i) => (i & 1 ? 0 : 10 * (i >> 1)));
    const run = (at: Float64Array, held: ArrayLike<number>) => () =>
      heldOutSurfaces(at, z, nodes, pointSamples(models[0]), held, 2, 'linear');
    expect(run(line, folds)).toThrow('cannot tell the trend');
    expect(
      run(
        xy,
        Int32Array.from({ length: n }, (_, i) => (i < 2 ? 1 : 0)),
      ),
    ).toThrow('cannot tell the trend');
  });

  it('samples without noise at one place are refused', () => {
    const twice = Float64Array.of(0, 0, 0, 0, 10, 10);
    const exact = pointSamples({ ...models[0], nugget: 0 });
    expect(() => heldOutSurfaces(twice, Float64Array.of(1, 2, 3), nodes, exact, [0, 1, 2], 3)).toThrow(
      'one place',
    );
  });
});
