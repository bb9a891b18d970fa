import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { effectOf, widestFirst } from '../../src/value/breakEven.ts';

describe('break-even', () => {
  it('of a straight line is its root', () => {
    const e = effectOf({ id: 'price', now: 27.5, low: 5, high: 100, gainAt: (p) => 12 - 0.3 * p });
    expect(e.breakEven).toBeCloseTo(40, 3);
    expect(e.gainAtLow).toBeCloseTo(10.5, 9);
    expect(e.gainAtHigh).toBeCloseTo(-18, 9);
  });

  it('is absent where the decision never turns', () => {
    const e = effectOf({ id: 'price', now: 2, low: 1, high: 4, gainAt: (p) => 1 + p });
    expect(e).not.toHaveProperty('breakEven');
  });

  it('of two is the nearer to now', () => {
    // Positive between 0.5 and 3 only.
    const e = effectOf({ id: 'range', now: 1, low: 0.25, high: 8, gainAt: (x) => (x - 0.5) * (3 - x) });
    expect(e.breakEven).toBeCloseTo(0.5, 3);
  });

  it('lies at the root of any monotone gain that has one between the ends', () => {
    fc.assert(
      fc.property(
        fc.double({ min: 0.15, max: 7, noNaN: true }),
        fc.double({ min: 0.3, max: 3, noNaN: true }),
        fc.boolean(),
        (root, power, rising) => {
          const gainAt = (x: number) => (rising ? 1 : -1) * ((x / root) ** power - 1);
          const { breakEven } = effectOf({ id: 'x', now: 1, low: 0.1, high: 10, gainAt });
          expect(breakEven! / root).toBeGreaterThan(0.97);
          expect(breakEven! / root).toBeLessThan(1.03);
        },
      ),
    );
  });

  it('refuses levels out of order', () => {
    expect(() => effectOf({ id: 'cv', now: 1, low: 2, high: 3, gainAt: () => 0 })).toThrow(/cv: levels/);
  });

  it('the widest bar comes first', () => {
    const bar = (id: string, gainAtLow: number, gainAtHigh: number) => ({
      id,
      now: 1,
      low: 0.5,
      high: 2,
      gainAtLow,
      gainAtHigh,
    });
    expect(widestFirst([bar('a', 1, 2), bar('b', 5, -5), bar('c', 0, 3)]).map((e) => e.id)).toEqual([
      'b',
      'c',
      'a',
    ]);
  });
});
