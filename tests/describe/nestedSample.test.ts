import { describe, expect, it } from 'vitest';
import { proposeNestedSample, randomNormal, seededRandom } from '../../src/describe/index.ts';
import { expectRelative } from '../reference/near.ts';

// Youden & Mehlich 1937; Webster & Oliver 2007, ch. 6; relative standard error of a variance √(2/m) (χ² on m degrees).
describe('a nested sample below the present spacing', () => {
  it('90 m: eight pairs 30 m apart and eight 10 m, sixteen extra samples', () => {
    const { sentence, ...figures } = proposeNestedSample(90)!;
    expect(figures).toEqual({
      distancesM: [30, 10],
      pairsAtEach: 8,
      pairs: 16,
      extraSamples: 16,
      relativeSe: 0.5,
    });
    expect(sentence).toBe(
      'At 8 of the stops take 2 more samples in a chain, 30 m (98 ft), then 10 m (33 ft) further on, each in a direction drawn at random: 16 extra samples, which tell how much two samples differ at each distance to within about 50 %.',
    );
  });

  it('a surer answer costs more pairs, more levels more distances in one progression', () => {
    const sure = proposeNestedSample(200, { targetRelativeSe: 0.25, levels: 3, ratio: 2 })!;
    expect(sure.distancesM).toEqual([100, 50, 25]);
    expect(sure.pairsAtEach).toBe(32);
    expect(sure.extraSamples).toBe(96);
    for (const targetRelativeSe of [0.2, 0.3, 0.4, 0.7]) {
      const { relativeSe, pairsAtEach } = proposeNestedSample(200, { targetRelativeSe })!;
      expect(relativeSe).toBeLessThanOrEqual(targetRelativeSe);
      expect(Math.sqrt(2 / (pairsAtEach - 1))).toBeGreaterThan(targetRelativeSe);
    }
  });

  it('no distance below the shortest; a close spacing has none', () => {
    expect(proposeNestedSample(30)!.distancesM).toEqual([10]);
    expect(proposeNestedSample(12)!.distancesM).toEqual([5]);
    expect(proposeNestedSample(9)).toBeUndefined();
    expect(() => proposeNestedSample(90, { targetRelativeSe: 0 })).toThrow(RangeError);
    expect(() => proposeNestedSample(90, { ratio: 1 })).toThrow(RangeError);
  });

  it('the stated error is the error of that many pairs', () => {
    const random = seededRandom(6);
    const { pairsAtEach, relativeSe } = proposeNestedSample(90)!;
    const found = Array.from({ length: 8000 }, () => {
      let gamma = 0;
      for (let k = 0; k < pairsAtEach; k++)
        gamma += (randomNormal(random) - randomNormal(random)) ** 2 / (2 * pairsAtEach);
      return gamma;
    });
    const mean = found.reduce((s, v) => s + v, 0) / found.length;
    const variance = found.reduce((s, v) => s + (v - mean) ** 2, 0) / found.length;
    expectRelative(mean, 1, 0.03);
    expectRelative(Math.sqrt(variance) / mean, relativeSe, 0.05);
  });
});
