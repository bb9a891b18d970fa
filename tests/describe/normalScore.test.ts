import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { normalScore, randomNormal, seededRandom, workingTransform } from '../../src/describe/index.ts';
import { describeReference as r } from '../reference/describe.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { oxfordValues } from '../reference/reference.ts';

const potassium = normalScore(oxfordValues('POT1'));

describe('normal scores', () => {
  // R: qnorm((rank − 0.5)/n) with mean ranks for ties.
  it.each(['POT1', 'PHOS1'] as const)('oxford %s: the scores are R’s', (name) => {
    const values = oxfordValues(name);
    const { forward } = normalScore(values);
    r.scores[name].forEach((score, i) => expectWithin(forward(values[i]), score, 1e-9, `row ${i}`));
  });

  it('no ties: R’s qqnorm', () => {
    const { forward } = normalScore(r.qqnorm.x);
    r.qqnorm.score.forEach((score, i) => expectWithin(forward(r.qqnorm.x[i]), score, 1e-9));
  });

  it('there and back, rising, in bounds: any data', () => {
    const values = fc.array(fc.double({ min: 0, max: 500, noNaN: true }), { minLength: 3, maxLength: 80 });
    fc.assert(
      fc.property(values, (data) => {
        fc.pre(new Set(data.map((v) => v + 0)).size > 1 && Math.max(...data) - Math.min(...data) > 1e-6);
        const { forward, inverse, table } = normalScore(data);
        const size = Math.max(...data);
        for (const v of data) expectWithin(inverse(forward(v)), v, 1e-9 * size);
        let before = -Infinity;
        for (let y = -9; y <= 9; y += 0.25) {
          const v = inverse(y);
          expect(v).toBeGreaterThanOrEqual(Math.max(0, before));
          expect(Number.isFinite(v)).toBe(true);
          before = v;
        }
        for (let k = 1; k < table.scores.length; k++) {
          expect(table.scores[k]).toBeGreaterThan(table.scores[k - 1]);
          expect(table.values[k]).toBeGreaterThan(table.values[k - 1]);
        }
      }),
      { numRuns: 200 },
    );
  });

  it('the tails: as R works them out by the rule, and no further', () => {
    expectRelative(potassium.inverse(-4), r.backEnds.bottom, 1e-9);
    expectRelative(potassium.inverse(4), r.backEnds.top, 1e-9);
    expect(potassium.inverse(-60)).toBe(potassium.inverse(-4));
    expect(potassium.inverse(60)).toBe(potassium.inverse(4));
    expectWithin(potassium.forward(1e9), 4, 1e-12);
    expect(potassium.forward(NaN)).toBeNaN();
  });

  it('bounds given are kept, and values beyond them refused', () => {
    const bounded = normalScore([5, 6, 9, 14, 30], { lowest: 4.5, highest: 31 });
    expect(bounded.inverse(-99)).toBe(4.5);
    expect(bounded.inverse(99)).toBe(31);
    const at = normalScore([0, 0, 1, 5]);
    expect(at.inverse(-99)).toBe(0);
    expect(normalScore([-3, 0, 1, 5]).inverse(-99)).toBeLessThan(-3);
    expect(() => normalScore([5, 6, 9], { lowest: 5.5 })).toThrow(/5 to 9 don’t lie within 5.5/);
    expect(() => normalScore([5, 5, 5])).toThrow(RangeError);
    expect(() => normalScore([5, 6])).toThrow(RangeError);
    expect(() => normalScore([5, 6, NaN])).toThrow(RangeError);
  });
});

describe('unbiased back-transformation', () => {
  // R: adaptive integration between the knots.
  it.each(r.backMean)('oxford potassium, N($mean, $variance): R’s $value', ({ mean, variance, value }) => {
    expectRelative(workingTransform(potassium).meanOf(mean, variance), value, 1e-8);
  });

  it('kriged scores give back the field’s mean, where the inverse of the mean score does not', () => {
    const random = seededRandom(31);
    const transform = workingTransform(potassium);
    // Truth Y = M + E with var M + var E = 1: the estimate M leaves E open.
    const left = 0.6;
    const draws = 20_000;
    let [truth, unbiased, naive] = [0, 0, 0];
    for (let k = 0; k < draws; k++) {
      const m = Math.sqrt(1 - left) * randomNormal(random);
      truth += transform.inverse(m + Math.sqrt(left) * randomNormal(random)) / draws;
      unbiased += transform.meanOf(m, left) / draws;
      naive += transform.inverse(m) / draws;
    }
    const data = oxfordValues('POT1');
    const mean = data.reduce((s, v) => s + v, 0) / data.length;
    // Standard error of the simulated truth: sd 117 / √20,000 = 0.8, half a per cent.
    expectRelative(unbiased, truth, 0.02);
    expectRelative(unbiased, mean, 0.03);
    expect(naive / truth).toBeLessThan(0.92);
  });

  it('no variance: the inverse itself; means far out stay within the ends', () => {
    expect(potassium.meanOf(0.7, 0)).toBe(potassium.inverse(0.7));
    expectRelative(potassium.meanOf(0.7, 1e-10), potassium.inverse(0.7), 1e-4);
    expectRelative(potassium.meanOf(-40, 2), potassium.inverse(-40), 1e-9);
    expectRelative(potassium.meanOf(40, 2), potassium.inverse(40), 1e-9);
  });

  it('raw: the mean; logarithm: exp(m + v/2)', () => {
    expect(workingTransform('raw').meanOf(6.2, 0.3)).toBe(6.2);
    const log = workingTransform('log');
    expectRelative(log.meanOf(3, 0.5), Math.exp(3.25), 1e-14);
    expectRelative(log.inverse(log.forward(17)), 17, 1e-14);
  });
});
