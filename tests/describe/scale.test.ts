import { describe, expect, it } from 'vitest';
import {
  chooseScale,
  chooseWorkingScale,
  moments,
  NORMAL_SCORE_FROM,
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

describe('raw, logarithm or normal scores', () => {
  const skewed = normals(80, 3).map((v) => Math.exp(0.8 * v));
  // A long lower tail, longer still as logarithm.
  const lowerTail = normals(80, 5).map((v) => 50 - 4 * Math.exp(0.7 * v));

  it('few values: what is usual', () => {
    expect(chooseWorkingScale([3, 4, 9], 'log').scale).toBe('log');
    expect(chooseWorkingScale([3, 4, 9], 'raw').scale).toBe('raw');
    expect(chooseWorkingScale([0, 4, 9], 'log').scale).toBe('raw');
  });

  it('skewness up to 1 either way: raw, unless the logarithm is usual and nearer', () => {
    const near = normals(80, 4).map((v) => 6.5 + 0.3 * v);
    expect(chooseWorkingScale(near, 'raw').scale).toBe('raw');
    const mild = normals(200, 6).map((v) => Math.exp(0.25 * v));
    expect(Math.abs(moments(mild).skewness)).toBeLessThan(1);
    expect(chooseWorkingScale(mild, 'raw').scale).toBe('raw');
    expect(chooseWorkingScale(mild, 'log').scale).toBe('log');
  });

  it('a long upper tail: logarithm, and oxford potassium with it where its logarithm serves', () => {
    expect(chooseWorkingScale(skewed, 'raw').scale).toBe('log');
    const potassium = [...oxfordValues('POT1')];
    const log = Math.abs(moments(potassium.map(Math.log)).skewness);
    expect(chooseWorkingScale(potassium, 'log').scale).toBe(log <= 1 ? 'log' : 'normalScore');
  });

  it('neither serves: normal scores from fifty values on, the less skewed below', () => {
    expect(moments(lowerTail).skewness).toBeLessThan(-1);
    const choice = chooseWorkingScale(lowerTail, 'raw');
    expect(choice.scale).toBe('normalScore');
    expect(choice.why).toMatch(/-\d\.\d\d as measured; .*normal scores are used/);
    const fewer = [...lowerTail].sort((a, b) => a - b).slice(0, NORMAL_SCORE_FROM - 1);
    expect(moments(fewer).skewness).toBeLessThan(-1);
    const { scale, why } = chooseWorkingScale(fewer, 'log');
    expect(scale).toBe('raw');
    expect(why).toContain('normal scores need 50 values');
  });

  it('a heap at one value has no normal scores', () => {
    const heaped = lowerTail.map((v, i) => (i < 30 ? 50 : v));
    expect(chooseWorkingScale(heaped, 'raw').why).toContain('too many values are alike');
    const zeros = skewed.map((v, i) => (i < 10 ? 0 : v));
    expect(chooseWorkingScale(zeros, 'log')).toMatchObject({ scale: 'normalScore' });
  });

  it('the scale asked for wins, and is refused with a sentence where it cannot be', () => {
    expect(chooseWorkingScale(skewed, 'log', 'raw')).toEqual({ scale: 'raw', why: 'Chosen by you.' });
    expect(chooseWorkingScale(skewed, 'raw', 'normalScore').scale).toBe('normalScore');
    const zero = chooseWorkingScale([0, -1, 9], 'raw', 'log');
    expect(zero).toMatchObject({ scale: 'raw', refused: expect.stringContaining('2 of 3 values are zero') });
    const few = chooseWorkingScale([3, 4, 9], 'log', 'normalScore');
    expect(few).toMatchObject({ scale: 'log', refused: 'Normal scores need 50 values; there are 3.' });
    expect(chooseWorkingScale(new Array<number>(60).fill(7), 'raw', 'normalScore').refused).toContain(
      'alike',
    );
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
