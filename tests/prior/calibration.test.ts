import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom, type Scale } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { makePrior, overMembers, sillOfCv, updateBelief, type Normal } from '../../src/prior/index.ts';

const FIELDS = 40;
const POINTS = 60;

// Calibration of a Bayesian belief: when the truth is drawn from the prior, 80 % intervals hold it 80 times in 100
// (Cook, Gelman & Rubin 2006, J. Comput. Graph. Stat. 15: 675-692; from memory).
describe('truths drawn from the prior lie in 80 % intervals about 80 times in 100', () => {
  const cases: readonly (readonly [string, Scale, number])[] = [
    ['P', 'log', 1],
    ['pH', 'raw', 2],
    ['OM', 'raw', 3],
  ];
  const pooled: number[] = [];

  it.each(cases)('%s, %s scale', (id, scale, seed) => {
    const prior = makePrior(id, scale, {});
    const random = seededRandom(seed);
    const draw = ({ mean, sd }: Normal) => mean + sd * randomNormal(random);
    const held = { cv: 0, range: 0, nugget: 0 };
    for (let k = 0; k < FIELDS; k++) {
      const xy = Float64Array.from({ length: 2 * POINTS }, () => 600 * random());
      const cv = Math.exp(draw(prior.logCv));
      const effectiveRangeM = Math.exp(draw(prior.logRangeM));
      const nuggetShare = 1 / (1 + Math.exp(-draw(prior.logitNugget)));
      const mean = draw(prior.mean);
      const sill = sillOfCv(cv, scale, mean);
      const model = {
        kind: k % 2 ? ('exponential' as const) : ('spherical' as const),
        effectiveRangeM,
        nugget: sill * nuggetShare,
        partialSill: sill * (1 - nuggetShare),
      };
      const z = simulateField(xy, model, random, { neighbours: POINTS }).map((v) => v + mean);
      const belief = updateBelief(prior, scale, { xy, z }, { seed: k + 1 });
      expect(belief.effectiveSampleSize).toBeGreaterThan(20);
      const inside = (value: number, of: Parameters<typeof overMembers>[1]) => {
        const { low, high } = overMembers(belief, of);
        return low <= value && value <= high ? 1 : 0;
      };
      held.cv += inside(cv, (m) => m.cv);
      held.range += inside(effectiveRangeM, (m) => m.effectiveRangeM);
      held.nugget += inside(nuggetShare, (m) => m.nuggetShare);
    }
    for (const [name, count] of Object.entries(held)) {
      expect(count / FIELDS, name).toBeGreaterThanOrEqual(0.65);
      expect(count / FIELDS, name).toBeLessThanOrEqual(0.95);
      pooled.push(count / FIELDS);
    }
  });

  it('over all of them', () => {
    expect(pooled).toHaveLength(9);
    const share = pooled.reduce((s, v) => s + v, 0) / pooled.length;
    // 360 intervals: three standard errors either way.
    expect(share).toBeGreaterThan(0.735);
    expect(share).toBeLessThan(0.865);
  });
});
