import { describe, expect, it } from 'vitest';
import { ordinaryKriging, pointSamples } from '../../src/krige/index.ts';

/** Samples of a lattice with steps (ax, 0) and (bx, by), all within nine steps of the origin. */
function lattice(ax: number, bx: number, by: number): Float64Array {
  const xy: number[] = [];
  for (let j = -9; j <= 9; j++)
    for (let i = -14; i <= 14; i++) {
      const [x, y] = [i * ax + j * bx, j * by];
      if (Math.hypot(x, y) < 8.5 * ax) xy.push(x, y);
    }
  return Float64Array.from(xy);
}

/** Places over the cell at the origin. */
function cell(ax: number, bx: number, by: number): Float64Array {
  const xy: number[] = [];
  const steps = 24;
  for (let j = 0; j <= steps; j++)
    for (let i = 0; i <= steps; i++) xy.push((i * ax + j * bx) / steps, (j * by) / steps);
  return Float64Array.from(xy);
}

// McBratney, Webster & Burgess 1981, Computers & Geosciences 7: 331-334: for a spherical variogram with little nugget
// the triangular grid's greatest kriging variance is below the square's of equal density, by a tenth or less.
describe('triangular against square grids of one sample per hectare', () => {
  const square = 100;
  const triangle = square * Math.sqrt(2 / Math.sqrt(3));
  const high = (triangle * Math.sqrt(3)) / 2;

  it('the two grids are equally dense', () => {
    expect(triangle * high).toBeCloseTo(square * square, 8);
  });

  it.each([
    [0, 250],
    [0, 400],
    [0.05, 300],
    [0.1, 400],
    [0.1, 700],
  ])('spherical, nugget %d of the sill, range %d m', (nugget, effectiveRangeM) => {
    const cov = pointSamples({ kind: 'spherical', nugget, partialSill: 1 - nugget, effectiveRangeM });
    const greatest = (ax: number, bx: number, by: number) => {
      const { variances } = ordinaryKriging(lattice(ax, bx, by), undefined, cell(ax, bx, by), cov, {
        neighbours: 48,
      });
      return Math.max(...variances);
    };
    const ratio = greatest(triangle, triangle / 2, high) / greatest(square, 0, square);
    expect(ratio).toBeLessThan(1);
    expect(ratio).toBeGreaterThan(0.85);
  });
});
