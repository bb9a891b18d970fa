import { describe, expect, it } from 'vitest';
import { minimiseOnInterval, minimiseSimplex } from '../../src/variogram/index.ts';
import { expectWithin } from '../reference/near.ts';

describe('least value on an interval', () => {
  it('finds the lowest of several dips', () => {
    // Dips near π, 3π and 5π, the lowest near 3π: where sin x = 0.02·(x − 7).
    const f = (x: number) => Math.cos(x) + 0.01 * (x - 7) ** 2;
    const found = minimiseOnInterval(f, 0, 20, 60);
    expectWithin(Math.sin(found.x), 0.02 * (found.x - 7), 1e-7);
    expect(found.x).toBeGreaterThan(8);
    expect(found.x).toBeLessThan(10.5);
    for (let x = 0; x <= 20; x += 0.01) expect(found.value).toBeLessThanOrEqual(f(x) + 1e-12);
  });

  it('stays in the interval when the least value is at an end', () => {
    expectWithin(minimiseOnInterval((x) => x, 2, 5, 30).x, 2, 1e-8);
    expectWithin(minimiseOnInterval((x) => -x, 2, 5, 30).x, 5, 1e-8);
  });
});

// Nelder & Mead 1965, Computer J. 7: 308-313.
describe('downhill simplex', () => {
  it('Rosenbrock’s valley from (−1.2, 1)', () => {
    const f = ([x, y]: readonly number[]) => 100 * (y - x * x) ** 2 + (1 - x) ** 2;
    const found = minimiseSimplex(f, [-1.2, 1], [0.5, 0.5]);
    expectWithin(found.x[0], 1, 1e-4);
    expectWithin(found.x[1], 1, 1e-4);
    expect(found.evaluations).toBeLessThan(300);
  });

  it('a bowl of four numbers, with a wall it may not cross', () => {
    const f = (x: readonly number[]) =>
      x[0] < 0.5 ? Infinity : x.reduce((s, v, i) => s + (i + 1) * (v - i) ** 2, 0);
    const found = minimiseSimplex(f, [2, 2, 2, 2], [1, 1, 1, 1]);
    // The unconstrained minimum (0, 1, 2, 3) is behind the wall at x0 = 0.5.
    [0.5, 1, 2, 3].forEach((v, i) => expectWithin(found.x[i], v, 5e-3));
  });

  it('stops at the stated number of evaluations', () => {
    const found = minimiseSimplex(([x]) => -x, [0], [1], { maxEvaluations: 20 });
    expect(found.evaluations).toBeLessThanOrEqual(22);
  });

  it('treats what is not a number as worst', () => {
    const found = minimiseSimplex(([x]) => (x < 1 ? NaN : (x - 2) ** 2), [4], [-0.5]);
    expectWithin(found.x[0], 2, 1e-4);
  });
});
