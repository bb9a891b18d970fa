import { describe, expect, it } from 'vitest';
import { nuggetWidthRatio, pairDistanceM, trigamma, withClosePairs } from '../../src/advise/closePairs.ts';
import type { Stop } from '../../src/advise/index.ts';
import { normalQuantile, seededRandom } from '../../src/describe/index.ts';
import { bagsOf } from '../../src/plan/index.ts';
import { adviceOn, demoFiles } from './ask.ts';

const frame = { kind: 'projected', x0: 0, y0: 0 } as const;
const stops = Array.from({ length: 10 }, (_, i): Stop => {
  const label = String(i + 1);
  return { order: i + 1, label, xM: 100 * i, yM: 0, world: [100 * i, 0], cores: 8, sample: label };
});

describe('close pairs', () => {
  it('lie behind their stops, evenly along the walk, at the distance asked, in bags of their own', () => {
    const all = withClosePairs(stops, 3, 10, frame, () => true);
    expect(all.map((s) => s.order)).toEqual(Array.from({ length: 13 }, (_, i) => i + 1));
    expect(new Set(all.map((s) => s.sample)).size).toBe(13);
    const partners = all.filter((s) => s.pairOf !== undefined);
    expect(partners).toHaveLength(3);
    for (const p of partners) {
      const own = all.find((s) => s.label === p.pairOf)!;
      expect(own.order).toBe(p.order - 1);
      expect(Math.hypot(p.xM - own.xM, p.yM - own.yM)).toBeCloseTo(10, 9);
      expect(p.world).toEqual([p.xM, p.yM]);
    }
    // Of stops 2, 6 and 9 of the ten.
    expect(partners.map((p) => Math.round(p.xM / 100))).toEqual([1, 5, 8]);
  });

  it('keep to clear ground: another direction, else another stop; never more than there are stops', () => {
    const north = withClosePairs(stops, 4, 10, frame, (_, y) => y > 9).filter((s) => s.pairOf);
    expect(north).toHaveLength(4);
    expect(north.every((s) => s.yM > 9)).toBe(true);
    const few = withClosePairs(stops, 4, 10, frame, (x) => x < 150).filter((s) => s.pairOf);
    expect(few.map((s) => Math.abs(Math.round(s.xM / 100)))).toEqual([0, 1]);
    expect(withClosePairs(stops, 99, 10, frame, () => true)).toHaveLength(20);
  });

  it('the circles of cores don’t meet', () => {
    expect([0, 2, 5, 8].map((stopRadiusM) => pairDistanceM({ stopRadiusM }))).toEqual([5, 5, 10, 16]);
  });
});

describe('what pairs buy', () => {
  it('ψ′ at one, a half and ten: π²/6, π²/2 and the series Σ 1/(x + k)²', () => {
    expect(trigamma(1)).toBeCloseTo(Math.PI ** 2 / 6, 9);
    expect(trigamma(0.5)).toBeCloseTo(Math.PI ** 2 / 2, 9);
    let sum = 0;
    for (let k = 0; k < 2_000_000; k++) sum += 1 / (10 + k) ** 2;
    // The rest of the series from there on is an integral.
    expect(trigamma(10)).toBeCloseTo(sum + 1 / 2_000_010, 9);
  });

  it('the logarithm of the mean of k halved squared differences varies by ψ′(k/2), as simulated', () => {
    const random = seededRandom(5);
    const pairs = 6;
    const logs = Array.from({ length: 8000 }, () => {
      let sum = 0;
      for (let p = 0; p < pairs; p++) {
        const d = normalQuantile(random()) - normalQuantile(random());
        sum += (d * d) / 2;
      }
      return Math.log(sum / pairs);
    });
    const mean = logs.reduce((s, v) => s + v, 0) / logs.length;
    const variance = logs.reduce((s, v) => s + (v - mean) ** 2, 0) / (logs.length - 1);
    // The standard error of the variance is some 2 %.
    expect(variance / trigamma(pairs / 2)).toBeGreaterThan(0.93);
    expect(variance / trigamma(pairs / 2)).toBeLessThan(1.07);
  });

  it('a wide interval shrinks, more with more pairs, less where neighbours already differ by pattern', () => {
    const wide = { low: 0.1, mid: 0.3, high: 0.7 };
    const ratios = [0, 2, 5, 10, 20].map((k) => nuggetWidthRatio(wide, 0.95, k));
    expect(ratios[0]).toBe(1);
    for (let i = 1; i < ratios.length; i++) expect(ratios[i]).toBeLessThan(ratios[i - 1]);
    expect(nuggetWidthRatio(wide, 0.7, 5)).toBeGreaterThan(nuggetWidthRatio(wide, 0.95, 5));
    expect(nuggetWidthRatio({ low: 0.29, mid: 0.3, high: 0.31 }, 0.95, 5)).toBeGreaterThan(0.99);
    // By hand: log sd ln 7 / 2.5631, pairs ψ′(5)·(0.335/0.3)², ψ′(5) = π²/6 − 205/144.
    const ofPairs = (Math.PI ** 2 / 6 - 205 / 144) * (0.335 / 0.3) ** 2;
    const logSd = Math.log(7) / 2.5631;
    expect(nuggetWidthRatio(wide, 0.95, 10)).toBeCloseTo(1 / Math.sqrt(1 + logSd ** 2 / ofPairs), 6);
  });

  it('an answer carries them, with their cost and a sentence; the design stays', async () => {
    const advice = await adviceOn({ files: demoFiles('long-reach'), options: { closePairs: 3 } });
    const chosen = advice.designs.find((d) => d.id === advice.verdict.designId)!;
    expect(advice.stops).toHaveLength(chosen.samples + 3);
    expect(bagsOf(advice, 'LRH')).toHaveLength(chosen.samples + 3);
    // Three analyses, and some work.
    expect(advice.closePairs!.cost).toBeGreaterThan(3 * 27.5);
    expect(advice.closePairs!.cost).toBeLessThan(3 * 27.5 + 60);
    expect(advice.closePairs!.widthRatio).toBeLessThan(1);
    expect(advice.closePairs!.sentence).toMatch(/^3 stops get a second sample 35 ft away.*not this map\.$/s);
  });
});
