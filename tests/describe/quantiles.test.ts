import { describe, expect, it } from 'vitest';
import {
  chiSquareQuantile,
  normalQuantile,
  seededRandom,
  studentQuantile,
  weightedQuantile,
} from '../../src/describe/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

// NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7: tables of the normal, χ² and t distributions (from memory).
const NORMAL = [
  [0.9, 1.2816],
  [0.95, 1.6449],
  [0.975, 1.96],
  [0.99, 2.3263],
  [0.995, 2.5758],
] as const;
const CHI_SQUARE_P = [0.025, 0.05, 0.1, 0.9, 0.95, 0.975, 0.99] as const;
const CHI_SQUARE: readonly (readonly [df: number, ...values: number[]])[] = [
  [5, 0.831, 1.145, 1.61, 9.236, 11.07, 12.833, 15.086],
  [10, 3.247, 3.94, 4.865, 15.987, 18.307, 20.483, 23.209],
  [30, 16.791, 18.493, 20.599, 40.256, 43.773, 46.979, 50.892],
  [60, 40.482, 43.188, 46.459, 74.397, 79.082, 83.298, 88.379],
  [100, 74.222, 77.929, 82.358, 118.498, 124.342, 129.561, 135.807],
];
const STUDENT_P = [0.9, 0.95, 0.975, 0.99, 0.995] as const;
const STUDENT: readonly (readonly [df: number, ...values: number[]])[] = [
  [4, 1.533, 2.132, 2.776],
  [5, 1.476, 2.015, 2.571, 3.365],
  [10, 1.372, 1.812, 2.228, 2.764, 3.169],
  [20, 1.325, 1.725, 2.086, 2.528, 2.845],
  [30, 1.31, 1.697, 2.042, 2.457, 2.75],
  [60, 1.296, 1.671, 2, 2.39, 2.66],
];

describe('quantiles against the handbook’s tables', () => {
  it.each(NORMAL)('normal, %d', (p, tabled) => {
    expectRelative(normalQuantile(p), tabled, 3e-3);
    expectRelative(normalQuantile(1 - p), -tabled, 3e-3);
  });

  it('normal: the middle is 0 and the ends are finite', () => {
    expectWithin(normalQuantile(0.5), 0, 1e-12);
    expect(normalQuantile(0)).toBeLessThan(-5);
    expect(Number.isFinite(normalQuantile(0))).toBe(true);
    expect(Number.isFinite(normalQuantile(1))).toBe(true);
  });

  it.each(CHI_SQUARE)('χ² with %d degrees of freedom', (df, ...tabled) => {
    // Wilson & Hilferty's far lower tail is rougher at few degrees of freedom.
    tabled.forEach((v, k) => {
      const tolerance = df < 10 && CHI_SQUARE_P[k] < 0.1 ? 0.05 : 0.01;
      expectRelative(chiSquareQuantile(CHI_SQUARE_P[k], df), v, tolerance, `p ${CHI_SQUARE_P[k]}`);
    });
  });

  // The ends that an 80 % interval uses.
  it.each([
    [3, 0.584, 6.251],
    [4, 1.064, 7.779],
    [9, 4.168, 14.684],
  ])('χ² with %d degrees of freedom at 0.1 and 0.9', (df, low, high) => {
    expectRelative(chiSquareQuantile(0.1, df), low, 0.015);
    expectRelative(chiSquareQuantile(0.9, df), high, 0.015);
  });

  it.each(STUDENT)('t with %d degrees of freedom', (df, ...tabled) => {
    tabled.forEach((v, k) => expectRelative(studentQuantile(STUDENT_P[k], df), v, 0.01, `p ${STUDENT_P[k]}`));
  });
});

describe('weighted quantiles', () => {
  it('with even weights: the least value whose share reaches p', () => {
    const values = [5, 1, 4, 2, 3];
    const even = values.map(() => 1);
    expect(weightedQuantile(values, even, 0.2)).toBe(1);
    expect(weightedQuantile(values, even, 0.5)).toBe(3);
    expect(weightedQuantile(values, even, 1)).toBe(5);
  });

  it('a weight of 3 is the value three times', () => {
    const random = seededRandom(9);
    const values = Array.from({ length: 40 }, () => random());
    const weights = values.map(() => 1 + Math.floor(4 * random()));
    const spelt = values.flatMap((v, i) => new Array<number>(weights[i]).fill(v));
    for (const p of [0.03, 0.1, 0.37, 0.5, 0.9])
      expect(weightedQuantile(values, weights, p)).toBe(
        weightedQuantile(
          spelt,
          spelt.map(() => 1),
          p,
        ),
      );
  });
});
