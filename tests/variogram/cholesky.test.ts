import { describe, expect, it } from 'vitest';
import { choleskyInPlace, solveLowerInPlace, solveUpperInPlace } from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

/** The textbook's loops (Golub & Van Loan 2013, Matrix Computations, algorithm 4.2.2), which the quick ones must equal. */
function textbook(a: Float64Array, n: number): Float64Array {
  const l = a.slice();
  for (let i = 0; i < n; i++)
    for (let j = 0; j <= i; j++) {
      let s = l[i * n + j];
      for (let k = 0; k < j; k++) s -= l[i * n + k] * l[j * n + k];
      l[i * n + j] = i === j ? Math.sqrt(s) : s / l[j * n + j];
    }
  return l;
}

const matrix = (n: number) =>
  Float64Array.from({ length: n * n }, (_, at) => {
    const [i, j] = [Math.floor(at / n), at % n];
    return i === j ? 1.3 : Math.exp(-Math.abs(i - j) / 5) * Math.cos((i - j) / 3);
  });

describe('Cholesky factor', () => {
  it.each([1, 2, 3, 4, 5, 7, 8, 9, 13, 34])('of order %i is the textbook’s to the bit', (n) => {
    const a = matrix(n);
    expect(choleskyInPlace(a, n)).toBe(true);
    expect(a).toEqual(textbook(matrix(n), n));
  });

  it.each([1, 3, 4, 6, 11, 34])('of order %i solves', (n) => {
    const l = matrix(n);
    choleskyInPlace(l, n);
    const b = Float64Array.from({ length: n }, (_, i) => Math.sin(i) + 2);
    const x = b.slice();
    solveLowerInPlace(l, n, x);
    solveUpperInPlace(l, n, x);
    const a = matrix(n);
    b.forEach((v, i) =>
      expectRelative(
        x.reduce((s, xj, j) => s + a[i * n + j] * xj, 0),
        v,
        1e-11,
      ),
    );
  });

  it('leaves the upper triangle alone and says where there is no factor', () => {
    const a = Float64Array.of(4, 99, 2, 5);
    expect(choleskyInPlace(a, 2)).toBe(true);
    expect(Array.from(a)).toEqual([2, 99, 1, 2]);
    for (const n of [2, 6, 9]) {
      const alike = new Float64Array(n * n).fill(1);
      expect(choleskyInPlace(alike, n)).toBe(false);
      const indefinite = matrix(n);
      indefinite[n * n - 1] = -1;
      expect(choleskyInPlace(indefinite, n)).toBe(false);
    }
    expectWithin(a[2], 1, 0);
  });
});
