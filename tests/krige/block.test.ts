import { describe, expect, it } from 'vitest';
import {
  blockPoints,
  blockVariance,
  blockVarianceByPoints,
  compositeSamples,
  meanOverSquare,
  pointSamples,
  targetOf,
} from '../../src/krige/index.ts';
import { gaussHermite, gaussLegendre } from '../../src/krige/gauss.ts';
import { correlationOf, stretched, type ModelKind } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const kinds: readonly ModelKind[] = ['spherical', 'exponential', 'gaussian', 'matern'];
/** Range over side. */
const ranges = [0.1, 0.3, 0.9, 1.4, 3, 10];
const inSquare = gaussLegendre(6);

/** Mean of f(u, v) over offsets of two places in a unit square, density (1 − |u|)(1 − |v|), by 60 × 60 panels of 6 × 6. */
function overOffsets(f: (u: number, v: number) => number): number {
  const panels = 60;
  let sum = 0;
  for (let i = 0; i < panels; i++)
    for (let a = 0; a < 6; a++) {
      const u = (i + inSquare.at[a]) / panels;
      for (let j = 0; j < panels; j++)
        for (let b = 0; b < 6; b++) {
          const v = (j + inSquare.at[b]) / panels;
          const w = (2 * inSquare.weight[a] * inSquare.weight[b]) / panels ** 2;
          sum += w * (1 - u) * (1 - v) * (f(u, v) + f(u, -v));
        }
    }
  return sum;
}

/** Mean of f over places in the unit square about the origin seen from (ox, oy), panels halving towards that place. */
function fromPlace(f: (u: number, v: number) => number, ox: number, oy: number): number {
  const ends = (o: number) => {
    const all = new Set<number>(Array.from({ length: 17 }, (_, i) => i / 16 - 0.5));
    if (Math.abs(o) < 0.5) all.add(o);
    for (let k = 1; k < 14; k++)
      for (const x of [o - 2 ** -k, o + 2 ** -k]) if (Math.abs(x) < 0.5) all.add(x);
    return [...all].sort((a, b) => a - b);
  };
  const [xs, ys] = [ends(ox), ends(oy)];
  let sum = 0;
  for (let i = 1; i < xs.length; i++)
    for (let j = 1; j < ys.length; j++)
      for (let a = 0; a < 6; a++)
        for (let b = 0; b < 6; b++) {
          const [w, h] = [xs[i] - xs[i - 1], ys[j] - ys[j - 1]];
          sum +=
            w *
            h *
            inSquare.weight[a] *
            inSquare.weight[b] *
            f(xs[i - 1] + w * inSquare.at[a] - ox, ys[j - 1] + h * inSquare.at[b] - oy);
        }
  return sum;
}

// Journel & Huijbregts 1978: regularisation; Ghosh 1951: the distance of two places in a square.
describe('mean covariance within a block', () => {
  it.each(kinds)('%s: as a very fine rule has it, for a range of any length', (kind) => {
    for (const range of ranges) {
      const rho = correlationOf({ kind, effectiveRangeM: range });
      const fine = overOffsets((u, v) => rho(Math.hypot(u, v)));
      const known = blockVariance(rho, blockPoints(1), kind === 'spherical' ? [range] : []);
      expectWithin(known, fine, 1e-7, `range ${range}`);
      // Not knowing the spherical's range costs little.
      expectWithin(blockVariance(rho, blockPoints(1)), fine, 1e-5, `range ${range}, kink not known`);
    }
  });

  it('the density of the distance: mass 1, mean (2 + √2 + 5·ln(1 + √2))/15, mean square 1/3', () => {
    expectRelative(
      meanOverSquare(() => 1, 7),
      1,
      1e-13,
    );
    expectRelative(
      meanOverSquare((h) => h, 1),
      (2 + Math.SQRT2 + 5 * Math.log(1 + Math.SQRT2)) / 15,
      1e-13,
    );
    expectRelative(
      meanOverSquare((h) => h * h, 1),
      1 / 3,
      1e-13,
    );
  });

  it.each([0.8, 0.4, 0.2])('anisotropic, ratio %d', (ratio) => {
    for (const directionDeg of [0, 35, 90, 170]) {
      const anisotropy = { ratio, directionDeg };
      for (const kind of ['exponential', 'spherical'] as const) {
        const rho = correlationOf({ kind, effectiveRangeM: 1.3 });
        const fine = overOffsets((u, v) => {
          const [x, y] = stretched(Float64Array.of(u, v), anisotropy);
          return rho(Math.hypot(x, y));
        });
        expectWithin(meanOverSquare(rho, 1, kind === 'spherical' ? [1.3] : [], anisotropy), fine, 1e-5);
      }
    }
    expectRelative(
      meanOverSquare(() => 1, 3, [], { ratio, directionDeg: 20 }),
      1,
      1e-9,
    );
  });

  it('sixteen points overstate it: by 1 to 2 % of the mean semivariance, and by 7 % of the sill at a short range', () => {
    for (const range of [3, 10]) {
      const rho = correlationOf({ kind: 'exponential', effectiveRangeM: range });
      const known = blockVariance(rho, blockPoints(1));
      const over = (blockVarianceByPoints(rho, blockPoints(1)) - known) / (1 - known);
      expect(over).toBeGreaterThan(0.01);
      expect(over).toBeLessThan(0.02);
    }
    const rho = correlationOf({ kind: 'exponential', effectiveRangeM: 0.05 });
    expectWithin(
      blockVarianceByPoints(rho, blockPoints(1)) - blockVariance(rho, blockPoints(1)),
      0.073,
      1e-3,
    );
  });
});

describe('mean covariance of a sample with a block', () => {
  const places = [
    [0, 0],
    [0.2, 0.1],
    [0.43, 0.169],
    [0.4999, 0.2],
    [0.5, 0.5],
    [0.501, 0.1],
    [0.7, 0.7],
    [0.95, 0.1],
    [1.05, 0],
    [1.5, 0.4],
    [2.6, 1],
    [4.2, 0],
    [7, 3],
  ] as const;

  it.each(kinds)('%s: as a very fine rule has it, in the block and out of it', (kind) => {
    for (const range of ranges) {
      const cov = pointSamples({ kind, nugget: 0.3, partialSill: 1, effectiveRangeM: range });
      const { withSample } = targetOf(cov, 1);
      for (const [x, y] of places) {
        const fine = fromPlace((u, v) => cov.toPoint(Math.hypot(u, v)), x, y);
        // Inside by the edge integral, from one side on by 4 × 4 Gauss points.
        const tolerance = Math.hypot(x, y) < 1 ? 1e-5 : 1e-4;
        expectWithin(withSample(x, y), fine, tolerance, `range ${range} at ${x}, ${y}`);
      }
    }
  });

  it('anisotropic: the block becomes a parallelogram on the stretched plane', () => {
    const anisotropy = { ratio: 0.4, directionDeg: 35 };
    const cov = pointSamples({
      kind: 'exponential',
      nugget: 0,
      partialSill: 1,
      effectiveRangeM: 2,
      anisotropy,
    });
    const { withSample } = targetOf(cov, 1, anisotropy);
    const far = (u: number, v: number) => {
      const [x, y] = stretched(Float64Array.of(u, v), anisotropy);
      return Math.hypot(x, y);
    };
    for (const [x, y] of places) {
      const [sx, sy] = stretched(Float64Array.of(x, y), anisotropy);
      expectWithin(
        withSample(sx, sy),
        fromPlace((u, v) => cov.toPoint(far(u, v)), x, y),
        2e-5,
        `${x}, ${y}`,
      );
    }
  });

  it('averaged over places in the block it is the mean covariance within the block', () => {
    const cov = pointSamples({ kind: 'exponential', nugget: 0, partialSill: 2, effectiveRangeM: 15 });
    const { own, withSample } = targetOf(cov, 18);
    const mean = fromPlace((u, v) => withSample(18 * u, 18 * v), 0, 0);
    expectRelative(mean, own, 1e-6);
  });

  it('composites: no step where the rules meet', () => {
    for (const kind of kinds)
      for (const rangeM of [15, 60, 300]) {
        const support = { radiusM: 3, cores: 8, coreVariance: 0.2, labVariance: 0.1 };
        const cov = compositeSamples(kind, rangeM, 1, support);
        const { withSample } = targetOf(cov, 18);
        for (const at of [18, 28.5, 72])
          expectWithin(
            withSample(at - 1e-6, 0),
            withSample(at + 1e-6, 0),
            1e-3,
            `${kind} ${rangeM} at ${at}`,
          );
      }
  });
});

describe('quadrature', () => {
  it('Gauss-Legendre of four points (Abramowitz & Stegun 1964, table 25.4), and degree 2n − 1', () => {
    const { at, weight } = gaussLegendre(4);
    [0.3399810435848563, 0.8611363115940526].forEach((x, i) => expectRelative(2 * at[2 + i] - 1, x, 1e-14));
    [0.6521451548625461, 0.3478548451374538].forEach((w, i) => expectRelative(2 * weight[2 + i], w, 1e-14));
    const rule = gaussLegendre(12);
    for (let power = 0; power < 24; power++)
      expectRelative(
        rule.at.reduce((s, x, i) => s + rule.weight[i] * x ** power, 0),
        1 / (power + 1),
        1e-13,
      );
  });

  it.each([2, 5, 20, 40, 60])('Gauss-Hermite of %d points: the moments of a standard normal', (n) => {
    const { at, weight } = gaussHermite(n);
    let moment = 1;
    for (let power = 0; power < Math.min(2 * n, 20); power += 2) {
      if (power > 0) moment *= power - 1;
      expectRelative(
        at.reduce((s, x, i) => s + weight[i] * x ** power, 0),
        moment,
        1e-12,
      );
    }
  });
});
