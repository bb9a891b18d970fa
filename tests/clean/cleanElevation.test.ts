import { describe, expect, it } from 'vitest';
import { cleanElevation } from '../../src/clean/index.ts';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';

describe('elevations cleaned', () => {
  const side = 40;
  const xy = Float64Array.from({ length: 2 * side * side }, (_, i) => {
    const p = i >> 1;
    return 8 * (i & 1 ? Math.floor(p / side) : p % side);
  });
  const random = seededRandom(12);

  it('single jumps go; a bank and everything on both sides of it stays, below sea level too', () => {
    const heights = Float64Array.from(
      { length: side * side },
      (_, p) => (p % side < 8 ? -6 : 0) + 0.004 * Math.floor(p / side) + 0.05 * randomNormal(random),
    );
    const jumps = [210, 777, 1333];
    for (const p of jumps) heights[p] += 40;
    heights[5] = NaN;
    const kept = cleanElevation(xy, heights);
    for (const p of [...jumps, 5]) expect(kept).not.toContain(p);
    expect(kept.length).toBeGreaterThan(0.97 * side * side);
    expect(kept.filter((p) => p % side < 8).length).toBeGreaterThan(0.97 * 8 * side);
  });

  it('level ground is kept whole', () => {
    expect(cleanElevation(xy, new Float64Array(side * side).fill(300))).toHaveLength(side * side);
  });
});
