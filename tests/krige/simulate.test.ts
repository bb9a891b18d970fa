import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { experimentalVariogram, semivariance, type VariogramModel } from '../../src/variogram/index.ts';
import { expectWithin } from '../reference/near.ts';

const random = seededRandom(21);
const xy = new Float64Array(400).map(() => 500 * random());
const models: readonly VariogramModel[] = [
  { kind: 'spherical', nugget: 0.2, partialSill: 0.8, effectiveRangeM: 200 },
  { kind: 'exponential', nugget: 0, partialSill: 2, effectiveRangeM: 300 },
];
const bins = { cutoffM: 250, widthM: 25 };

describe('simulated fields', () => {
  it.each(models)('$kind, nugget $nugget: the mean variogram of 60 fields is the model', (model) => {
    const fields = 60;
    const draw = seededRandom(5);
    const gammas = Array.from({ length: fields }, () =>
      experimentalVariogram(xy, simulateField(xy, model, draw), bins).map((b) => b.gamma),
    );
    // The model averaged over the pairs of each bin.
    const sums = gammas[0].map(() => ({ gamma: 0, pairs: 0 }));
    for (let i = 1; i < 200; i++)
      for (let j = 0; j < i; j++) {
        const h = Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
        if (h > bins.cutoffM) continue;
        const sum = sums[Math.ceil(h / bins.widthM) - 1];
        sum.gamma += semivariance(model, h);
        sum.pairs++;
      }
    expect(gammas[0]).toHaveLength(10);
    sums.forEach(({ gamma, pairs }, b) => {
      const mean = gammas.reduce((s, g) => s + g[b], 0) / fields;
      const variance = gammas.reduce((s, g) => s + (g[b] - mean) ** 2, 0) / (fields - 1);
      // Ten bins, two models: four standard errors are passed by chance once in eight hundred seeds.
      expectWithin(mean, gamma / pairs, 4 * Math.sqrt(variance / fields), `bin ${b}`);
    });
  });

  it('the values have no mean and the sill for variance', () => {
    const model = models[0];
    const draw = seededRandom(8);
    // Positions far apart are independent.
    const apart = Float64Array.from(
      { length: 400 },
      (_, i) => 1000 * (i % 2 ? Math.floor(i / 40) : (i / 2) % 20),
    );
    const values = Array.from({ length: 10 }, () => Array.from(simulateField(apart, model, draw))).flat();
    const n = values.length;
    const mean = values.reduce((s, v) => s + v, 0) / n;
    const variance = values.reduce((s, v) => s + (v - mean) ** 2, 0) / (n - 1);
    expectWithin(mean, 0, 4 * Math.sqrt(1 / n));
    expectWithin(variance, 1, 4 * Math.sqrt(2 / n));
  });

  it('one seed, one field', () => {
    const field = (seed: number) => simulateField(xy, models[0], seededRandom(seed));
    expect(field(3)).toEqual(field(3));
    expect(field(3)).not.toEqual(field(4));
  });

  it('two places at one spot take one value: the nugget belongs to the place', () => {
    for (const model of models) {
      const [a, b] = simulateField(Float64Array.of(5, 5, 5, 5), model, seededRandom(1));
      expectWithin(a, b, 1e-6);
    }
  });
});
