import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import {
  anisotropyGuess,
  directionalVariograms,
  experimentalVariogram,
  fitAnisotropic,
  fitLeastSquares,
  semivariance,
  stretched,
  weightedSse,
  type DirectionalBin,
  type VariogramModel,
} from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const model: VariogramModel = { kind: 'spherical', nugget: 0.1, partialSill: 0.9, effectiveRangeM: 400 };

/** Angle between two lines, 0 to 90 degrees. */
function between(a: number, b: number): number {
  const apart = Math.abs(a - b) % 180;
  return Math.min(apart, 180 - apart);
}

describe('stretched plane', () => {
  it('leaves distances along the direction and lengthens those across it', () => {
    const [s, c] = [Math.sin(Math.PI / 6), Math.cos(Math.PI / 6)];
    const at = stretched(Float64Array.of(0, 0, 50 * s, 50 * c, 50 * c, -50 * s), {
      ratio: 0.25,
      directionDeg: 30,
    });
    expectRelative(Math.hypot(at[2] - at[0], at[3] - at[1]), 50, 1e-12);
    expectRelative(Math.hypot(at[4] - at[0], at[5] - at[1]), 200, 1e-12);
  });

  it('is the plane itself without anisotropy', () => {
    const xy = Float64Array.of(1, 2, 3, 4);
    expect(stretched(xy, undefined)).toBe(xy);
    expect(stretched(xy, { ratio: 1, directionDeg: 77 })).toBe(xy);
  });
});

describe('anisotropic least squares', () => {
  /** Bins that are the model exactly. */
  function binsOf(ratio: number, directionDeg: number): DirectionalBin[] {
    return [0, 45, 90, 135].flatMap((direction) =>
      Array.from({ length: 10 }, (_, i) => {
        const distanceM = 50 * (i + 1);
        const angle = (direction * Math.PI) / 180;
        const [x, y] = stretched(Float64Array.of(distanceM * Math.sin(angle), distanceM * Math.cos(angle)), {
          ratio,
          directionDeg,
        });
        return {
          directionDeg: direction,
          pairs: 100,
          distanceM,
          gamma: semivariance(model, Math.hypot(x, y)),
        };
      }),
    );
  }

  it.each([
    [0.5, 20],
    [0.3, 110],
    [0.8, 165],
  ])('finds ratio %s at %s° again from exact bins', (ratio, directionDeg) => {
    const fit = fitAnisotropic(binsOf(ratio, directionDeg), 'spherical')!;
    expectRelative(fit.anisotropy.ratio, ratio, 1e-3, 'ratio');
    expectWithin(between(fit.anisotropy.directionDeg, directionDeg), 0, 0.1, 'direction');
    expectRelative(fit.effectiveRangeM, model.effectiveRangeM, 1e-3, 'range');
    expectWithin(fit.nugget, model.nugget, 1e-3);
    expect(fit.parameters).toBe(5);
  });

  it('is never worse than the isotropic fit, and needs three directions', () => {
    const bins = binsOf(0.6, 70);
    const one = fitLeastSquares(bins, 'exponential')!;
    expect(fitAnisotropic(bins, 'exponential')!.weightedSse).toBeLessThan(weightedSse(bins, one));
    const two = bins.filter((b) => b.directionDeg < 50);
    expect(fitAnisotropic(two, 'exponential')).toBeUndefined();
  });
});

describe('guess of anisotropy', () => {
  // One field's own ratio differs from the truth by some 16 % (1 s.d.), so several are averaged.
  it('sees stretched fields of known ratio and direction', () => {
    const truth = { ratio: 0.4, directionDeg: 60 };
    const seeds = [1, 2, 3, 4, 5, 6];
    let logRatio = 0;
    for (const seed of seeds) {
      const random = seededRandom(seed);
      const xy = Float64Array.from({ length: 1200 }, () => 1500 * random());
      const z = simulateField(stretched(xy, truth), model, random);
      const guess = anisotropyGuess(xy, z, 'spherical', { cutoffM: 700, widthM: 50 })!;
      logRatio += Math.log(guess.ratio) / seeds.length;
      expectWithin(between(guess.directionDeg, truth.directionDeg), 0, 25, 'direction');
      expect(guess.sseShare).toBeLessThan(0.7);
    }
    expectWithin(logRatio, Math.log(truth.ratio), 0.25, 'mean log ratio');
  });

  it('shares out every pair once over its eight directions', () => {
    const random = seededRandom(5);
    const xy = Float64Array.from({ length: 400 }, () => 900 * random());
    const z = xy.slice(0, 200);
    const options = { cutoffM: 500, widthM: 100 };
    const count = (rows: readonly { readonly pairs: number }[]) => rows.reduce((s, b) => s + b.pairs, 0);
    const bins = directionalVariograms(xy, z, options);
    expect(new Set(bins.map((b) => b.directionDeg)).size).toBe(8);
    expect(count(bins)).toBe(count(experimentalVariogram(xy, z, options)));
  });

  it('is left open where there are too few points', () => {
    const xy = Float64Array.of(0, 0, 10, 0, 0, 10);
    expect(anisotropyGuess(xy, Float64Array.of(1, 2, 3), 'spherical')).toBeUndefined();
  });
});
