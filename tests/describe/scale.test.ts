import { describe, expect, it } from 'vitest';
import {
  chooseScale,
  moments,
  randomNormal,
  seededRandom,
  SKEWNESS_DECIDES_FROM,
} from '../../src/describe/index.ts';
import { expectRelative } from '../reference/near.ts';
import { oxfordValues } from '../reference/reference.ts';

const normals = (n: number, seed: number) => {
  const random = seededRandom(seed);
  return Array.from({ length: n }, () => randomNormal(random));
};

// Webster & Oliver 2007, ch. 2 (from memory): logarithms where the skewness is above 1.
describe('raw or logarithm', () => {
  it('few values: what is usual for the property', () => {
    const few = normals(SKEWNESS_DECIDES_FROM - 1, 1).map((v) => 10 + v);
    expect(chooseScale(few, 'log').scale).toBe('log');
    expect(chooseScale(few, 'raw').scale).toBe('raw');
    expect(chooseScale([], 'log').scale).toBe('log');
  });

  it('a value at zero or below has no logarithm, however few there are', () => {
    expect(chooseScale([0, 4, 9], 'log').scale).toBe('raw');
    expect(chooseScale([-1, 4, 9], 'log').scale).toBe('raw');
    const skewed = normals(60, 2).map((v) => Math.exp(v));
    expect(chooseScale([...skewed, 0], 'log').scale).toBe('raw');
    expect(chooseScale([...skewed, 0], 'raw').scale).toBe('raw');
  });

  it('many values with a long upper tail: logarithm, whatever is usual', () => {
    const skewed = normals(80, 3).map((v) => Math.exp(0.8 * v));
    expect(moments(skewed).skewness).toBeGreaterThan(1);
    for (const usual of ['raw', 'log'] as const) {
      const choice = chooseScale(skewed, usual);
      expect(choice.scale).toBe('log');
      expect(choice.why).toMatch(/\d\.\d\d/);
    }
  });

  it('many symmetrical values of a property that is usually symmetrical: raw', () => {
    expect(
      chooseScale(
        normals(80, 4).map((v) => 6.5 + 0.3 * v),
        'raw',
      ).scale,
    ).toBe('raw');
  });

  it('a long lower tail: raw, since a logarithm would lengthen it', () => {
    const tail = normals(80, 5).map((v) => 50 - Math.exp(v));
    expect(moments(tail).skewness).toBeLessThan(-1);
    expect(chooseScale(tail, 'raw').scale).toBe('raw');
  });

  // Burrough & McDonnell 1998, oxford data: adjusted skewness of POT1 is 3.75.
  it('oxford potassium: logarithm', () => {
    const values = [...oxfordValues('POT1')];
    expectRelative(moments(values).skewness, 3.75111, 1e-5);
    expect(chooseScale(values, 'log').scale).toBe('log');
  });
});

describe('moments', () => {
  // Deviations of 2, 4, 4, 10: mean 5, sum of squares 36, sum of cubes 96; adjusted skewness n²·m₃/((n−1)(n−2)·s³).
  it('by hand', () => {
    const m = moments([2, 4, 4, 10]);
    expect(m).toMatchObject({ n: 4, mean: 5, median: 4, min: 2, max: 10 });
    expectRelative(m.sd, Math.sqrt(12), 1e-14);
    expectRelative(m.skewness, (16 * (96 / 4)) / (3 * 2 * 12 ** 1.5), 1e-12);
  });

  it('what cannot be had is 0, and nothing is refused', () => {
    expect(moments([3])).toMatchObject({ sd: 0, skewness: 0 });
    expect(moments([3, 3, 3])).toMatchObject({ sd: 0, skewness: 0 });
    expect(() => moments([])).toThrow(RangeError);
  });
});
