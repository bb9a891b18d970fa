import { describe, expect, it } from 'vitest';
import { reviewSpacing } from '../../src/review/index.ts';

const call = (last: number, advised: number, nearBest: readonly number[] = []) =>
  reviewSpacing(last, advised, nearBest).call;

describe('last time’s spacing held against the advised', () => {
  it('wider than all that is as good: tighten', () => {
    expect(call(4, 2)).toBe('tighten');
    expect(call(4, 2, [1, 2, 3])).toBe('tighten');
  });

  it('tighter than all that is as good: relax', () => {
    expect(call(0.5, 2)).toBe('relax');
    expect(call(0.5, 2, [1, 2, 3])).toBe('relax');
  });

  it('among those that are as good: keep', () => {
    expect(call(1, 2, [1, 2, 3])).toBe('keep');
    expect(call(2.5, 2, [1, 2, 3])).toBe('keep');
    expect(call(3, 2, [3, 1])).toBe('keep');
    expect(call(2, 2)).toBe('keep');
  });

  it('a tenth either way is the same spacing, more is not', () => {
    expect(call(2.19, 2)).toBe('keep');
    expect(call(2.21, 2)).toBe('tighten');
    expect(call(1.82, 2)).toBe('keep');
    expect(call(1.81, 2)).toBe('relax');
  });

  it('hands the two spacings on', () => {
    expect(reviewSpacing(3, 1.5, [1.5])).toEqual({
      call: 'tighten',
      lastHaPerSample: 3,
      advisedHaPerSample: 1.5,
    });
  });
});
