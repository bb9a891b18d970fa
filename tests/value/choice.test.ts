import { describe, expect, it } from 'vitest';
import { breachesOf, cheapestOf, fewestOnPlateau, plateauOf, type Offer } from '../../src/value/choice.ts';

const offer = (total: number, samples: number, more: Partial<Offer> = {}): Offer => ({
  total,
  samples,
  eligible: true,
  lastResort: false,
  beyond: 0,
  ...more,
});

describe('limits', () => {
  const design = { cost: 500, samples: 8, errors: { P: 30, K: 12 }, rightClass: 0.6 };

  it('none are broken where none are set', () => {
    expect(breachesOf(design, {})).toEqual([]);
  });

  it.each([
    [{ budget: 400 }, 'budget', 0.25],
    [{ minSamples: 16 }, 'samples', 0.5],
    [{ maxError: { P: 20 } }, 'error', 0.5],
    [{ minRightClass: 0.8 }, 'class', 0.25],
  ] as const)('%j is broken', (limits, limit, beyond) => {
    const [breach, ...rest] = breachesOf(design, limits);
    expect(rest).toEqual([]);
    expect(breach.limit).toBe(limit);
    expect(breach.beyond).toBeCloseTo(beyond, 12);
  });

  it('are kept at their very value, and for properties that have no error', () => {
    expect(
      breachesOf(design, {
        budget: 500,
        minSamples: 8,
        maxError: { P: 30, pH: 0.1 },
        minRightClass: 0.6,
      }),
    ).toEqual([]);
  });

  it('all that are broken are named', () => {
    const broken = breachesOf(design, { budget: 1, maxError: { P: 1, K: 1 } });
    expect(broken.map((b) => b.sentence)).toEqual([
      'over the budget',
      'error of P above what you allow',
      'error of K above what you allow',
    ]);
  });
});

describe('the choice', () => {
  it('is the fewest samples among totals that are about the cheapest', () => {
    const offers = [offer(20, 1), offer(11, 8), offer(10, 16), offer(10.5, 32), offer(15, 64)];
    expect(cheapestOf(offers)).toBe(2);
    expect(plateauOf(offers, 1)).toEqual([1, 2, 3]);
    expect(fewestOnPlateau(offers, 1)).toBe(1);
    expect(fewestOnPlateau(offers, 0)).toBe(2);
  });

  it('leaves the last resort for where nothing else is near', () => {
    const offers = [offer(20, 1), offer(10, 3, { lastResort: true }), offer(10.4, 16)];
    expect(fewestOnPlateau(offers, 1)).toBe(2);
    expect(fewestOnPlateau(offers, 0.1)).toBe(1);
  });

  it('keeps to limits, and where nothing does goes least beyond them', () => {
    const limited = [offer(20, 1), offer(11, 8, { beyond: 0.2 }), offer(10, 16, { beyond: 1 })];
    expect(fewestOnPlateau(limited, 5)).toBe(0);
    expect(fewestOnPlateau(limited.slice(1), 5)).toBe(0);
  });

  it('never takes what may not be advised', () => {
    const offers = [offer(20, 1), offer(3, 8, { eligible: false })];
    expect(fewestOnPlateau(offers, 30)).toBe(0);
  });
});
