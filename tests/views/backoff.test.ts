import { expect, it } from 'vitest';
import { retryDelayMs } from '../../views/walk/backoff.ts';

it('a phone without signal asks ever more rarely, but at least every eight minutes', () => {
  const middle = Array.from({ length: 12 }, (_, i) => retryDelayMs(i + 1, 0.5));
  expect(middle.slice(0, 4)).toEqual([2000, 4000, 8000, 16_000]);
  expect(middle.at(-1)).toBe(300_000);
  for (const failures of [1, 5, 50]) {
    expect(retryDelayMs(failures, 1)).toBe(3 * retryDelayMs(failures, 0));
    expect(retryDelayMs(failures, 1)).toBeLessThanOrEqual(8 * 60_000);
  }
});
