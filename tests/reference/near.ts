import { expect } from 'vitest';

/** Asserts |actual − expected| ≤ tolerance · |expected|. */
export function expectRelative(actual: number, expected: number, tolerance: number, what = ''): void {
  const miss = Math.abs(actual - expected) / Math.max(Math.abs(expected), Number.MIN_VALUE);
  expect(miss, `${what}: ${actual} against ${expected}`).toBeLessThanOrEqual(tolerance);
}

/** Asserts |actual − expected| ≤ tolerance. */
export function expectWithin(actual: number, expected: number, tolerance: number, what = ''): void {
  expect(Math.abs(actual - expected), `${what}: ${actual} against ${expected}`).toBeLessThanOrEqual(
    tolerance,
  );
}
