import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { yieldResponse, type ResponseForm } from '../../src/value/yieldResponse.ts';
import { expectRelative } from '../reference/near.ts';

const mitscherlich: ResponseForm = { kind: 'mitscherlich', atCritical: 0.97 };
const plateau: ResponseForm = { kind: 'linear-plateau', atZero: 0.8 };
const table: ResponseForm = {
  kind: 'table',
  points: [
    [4.7, 0.34],
    [5.7, 0.83],
    [6.8, 1],
    [7.5, 0.85],
  ],
};

describe('relative yield by test', () => {
  it('Mitscherlich and Bray: 1 − 10^(−c·test), through the critical level', () => {
    const { at } = yieldResponse(mitscherlich, 20);
    const c = -Math.log10(0.03) / 20;
    for (const test of [0, 1, 7, 20, 33, 90]) expect(at(test)).toBeCloseTo(1 - 10 ** (-c * test), 12);
    expectRelative(at(20), 0.97, 1e-12);
    expect(at(-4)).toBe(0);
  });

  it('linear to a plateau, at the rate’s critical level or one of its own', () => {
    const { at, bends } = yieldResponse(plateau, 8);
    expect([at(-1), at(0), at(4), at(8), at(50)]).toEqual([0.8, 0.8, 0.9, 1, 1]);
    expect(bends).toEqual([8]);
    expect(yieldResponse({ ...plateau, critical: 2 }, 8).at(1)).toBeCloseTo(0.9, 12);
  });

  it('a table: straight between its points, level beyond', () => {
    const { at, bends } = yieldResponse(table, 6.5);
    expect([at(3), at(4.7), at(6.8), at(7.5), at(9)]).toEqual([0.34, 0.34, 1, 0.85, 0.85]);
    expect(at(5.2)).toBeCloseTo((0.34 + 0.83) / 2, 12);
    expect(at(7.15)).toBeCloseTo(0.925, 12);
    expect(bends).toEqual([4.7, 5.7, 6.8, 7.5]);
  });

  it('no critical level, no loss', () => {
    for (const form of [mitscherlich, plateau]) expect(yieldResponse(form, 0).at(0)).toBe(1);
  });

  it('stays between 0 and 1 for every finite test', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(mitscherlich, plateau, table),
        fc.double({ noNaN: true, noDefaultInfinity: true }),
        fc.double({ min: 0, max: 500, noNaN: true }),
        (form, test, critical) => {
          const y = yieldResponse(form, critical).at(test);
          expect(y).toBeGreaterThanOrEqual(0);
          expect(y).toBeLessThanOrEqual(1);
        },
      ),
    );
  });
});
