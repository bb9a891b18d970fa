import { describe, expect, it } from 'vitest';
import { decay } from '../../src/variogram/decay.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

describe('decay', () => {
  it('is e⁻ˣ', () => {
    for (let x = 0; x < 700; x = x * 1.003 + 1e-4) expectRelative(decay(x), Math.exp(-x), 1e-15, `x = ${x}`);
    // Beyond the least normal number few digits are left, and nothing depends on them.
    for (let x = 700; x < 800; x += 0.37) expectWithin(decay(x), Math.exp(-x), 1e-300, `x = ${x}`);
    expect(decay(0)).toBe(1);
    expect(decay(Infinity)).toBe(0);
  });
});
