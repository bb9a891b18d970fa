import { describe, expect, it } from 'vitest';
import { logSdOfCv, moments, randomNormal, seededRandom } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import {
  makePrior,
  overMembers,
  priorBelief,
  sillOfCv,
  thin,
  updateBelief,
  type Belief,
  type Sample,
} from '../../src/prior/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const cvOf = (b: Belief) => overMembers(b, (m) => m.cv);
const rangeOf = (b: Belief) => overMembers(b, (m) => m.effectiveRangeM);
const nuggetOf = (b: Belief) => overMembers(b, (m) => m.nuggetShare);

/** Places at random; their seeds are kept apart from the values', which would follow the places otherwise. */
const scatter = (n: number, sideM: number, seed: number) => {
  const random = seededRandom(1000 + seed);
  return Float64Array.from({ length: 2 * n }, () => sideM * random());
};

describe('the belief before data', () => {
  it.each(['log', 'raw'] as const)('on the %s scale its percentiles are the prior’s', (scale) => {
    const belief = priorBelief(makePrior('P', scale, {}), scale);
    expect(belief.members).toHaveLength(256);
    const [cv, range, nugget] = [cvOf(belief), rangeOf(belief), nuggetOf(belief)];
    // Mulla & McBratney (from memory): P CV 39-157 %, range 68-260 m. 256 quasi-random draws.
    expectRelative(cv.low, 0.39, 0.06);
    expectRelative(cv.high, 1.57, 0.06);
    expectRelative(range.low, 68, 0.04);
    expectRelative(range.high, 260, 0.04);
    expectWithin(nugget.low, 0.08, 0.02);
    expectWithin(nugget.high, 0.65, 0.03);
    for (const m of belief.members) expectRelative(m.sill, sillOfCv(m.cv, scale, m.mean), 1e-12);
    expect(belief.members.filter((m) => m.kind === 'spherical')).toHaveLength(128);
  });

  it.each([20260901, 20260902, 20260903])(
    'seed %d: range, nugget and CV are drawn independently, about one level',
    (seed) => {
      const { members } = priorBelief(makePrior('P', 'log', {}), 'log', { seed });
      const columns = [
        members.map((m) => Math.log(m.effectiveRangeM)),
        members.map((m) => Math.log(m.nuggetShare / (1 - m.nuggetShare))),
        members.map((m) => Math.log(m.cv)),
      ].map((v) => {
        const { mean, sd } = moments(v);
        return v.map((x) => (x - mean) / sd);
      });
      // Two standard errors of a correlation of 256 independent draws.
      for (let a = 1; a < 3; a++)
        for (let b = 0; b < a; b++)
          expectWithin(columns[a].reduce((s, x, i) => s + x * columns[b][i], 0) / members.length, 0, 0.125);
      // On the log scale the level is the field's mean, exp(mean + sill/2) of a lognormal, the same for every member.
      const level = makePrior('P', 'log', {}).mean;
      for (const m of members) {
        expectRelative(m.mean + m.sill / 2, level.mean, 1e-12);
        expect(m.meanSd).toBe(level.sd);
      }
    },
  );

  it('one seed, one belief', () => {
    const prior = makePrior('K', 'log', {});
    expect(priorBelief(prior, 'log', { seed: 5 })).toEqual(priorBelief(prior, 'log', { seed: 5 }));
    expect(priorBelief(prior, 'log', { seed: 5 })).not.toEqual(priorBelief(prior, 'log', { seed: 6 }));
  });
});

describe('the belief after data', () => {
  const prior = makePrior('P', 'log', {});
  const truth = { cv: 0.8, effectiveRangeM: 150, nuggetShare: 0.25, mean: Math.log(24) };
  const sampleOf = (xy: Float64Array, seed: number): Sample => {
    const sill = logSdOfCv(truth.cv) ** 2;
    const model = {
      kind: 'spherical' as const,
      effectiveRangeM: truth.effectiveRangeM,
      nugget: sill * truth.nuggetShare,
      partialSill: sill * (1 - truth.nuggetShare),
    };
    const z = simulateField(xy, model, seededRandom(seed), { neighbours: 60 });
    return { xy, z: z.map((v) => v + truth.mean) };
  };

  it.each([1, 2, 3])(
    'field %d of 180 points over 900 m: near the truth, and much surer than before',
    (seed) => {
      const belief = updateBelief(prior, 'log', sampleOf(scatter(180, 900, seed), seed));
      const before = priorBelief(prior, 'log');
      expectRelative(cvOf(belief).mid, truth.cv, 0.25, 'CV');
      expectRelative(rangeOf(belief).mid, truth.effectiveRangeM, 0.4, 'range');
      expectWithin(nuggetOf(belief).mid, truth.nuggetShare, 0.2, 'nugget share');
      for (const of of [cvOf, rangeOf]) {
        const width = ({ low, high }: { low: number; high: number }) => Math.log(high / low);
        expect(width(of(belief))).toBeLessThan(0.75 * width(of(before)));
      }
      expect(belief.effectiveSampleSize).toBeGreaterThan(20);
      expect(belief.members).toHaveLength(256);
      for (const m of belief.members) expect(Object.values(m).slice(1).every(Number.isFinite)).toBe(true);
      expectWithin(overMembers(belief, (m) => m.mean).mid, truth.mean, 0.35, 'mean');
    },
  );

  it('four points that vary as expected hardly move it', () => {
    const before = priorBelief(prior, 'log');
    const sd = logSdOfCv(Math.exp(prior.logCv.mean));
    const after = updateBelief(prior, 'log', {
      xy: Float64Array.of(0, 0, 400, 20, 30, 380, 410, 400),
      z: Float64Array.of(-1.162, 0.387, 1.162, -0.387).map((v) => prior.mean.mean + sd * v),
    });
    expectRelative(cvOf(after).mid, cvOf(before).mid, 0.15);
    for (const end of ['low', 'mid', 'high'] as const)
      expectRelative(rangeOf(after)[end], rangeOf(before)[end], 0.2, end);
    expectWithin(nuggetOf(after).mid, nuggetOf(before).mid, 0.08);
    const width = ({ low, high }: { low: number; high: number }) => Math.log(high / low);
    expect(width(cvOf(after))).toBeGreaterThan(0.5 * width(cvOf(before)));
    expect(after.effectiveSampleSize).toBeGreaterThan(80);
    expect(after.rounds).toBe(1);
  });

  it('more points of one field make the range surer', () => {
    const xy = scatter(160, 800, 8);
    const whole = sampleOf(xy, 8);
    const width = (n: number) => {
      const part = { xy: xy.slice(0, 2 * n), z: whole.z.slice(0, n) };
      const { low, high } = rangeOf(updateBelief(prior, 'log', part));
      return Math.log(high / low);
    };
    expect(width(160)).toBeLessThan(width(10));
  });

  it('one seed, one belief', () => {
    const sample = sampleOf(scatter(50, 600, 6), 6);
    const again = updateBelief(prior, 'log', sample, { seed: 9 });
    expect(updateBelief(prior, 'log', sample, { seed: 9 })).toEqual(again);
    expect(updateBelief(prior, 'log', sample, { seed: 10 })).not.toEqual(again);
  });

  it('the seed moves an interval’s ends little', () => {
    const sample = sampleOf(scatter(60, 600, 7), 7);
    const beliefs = [1, 2, 3, 4].map((seed) => updateBelief(prior, 'log', sample, { seed }));
    for (const of of [cvOf, rangeOf])
      for (const end of ['low', 'mid', 'high'] as const) {
        const values = beliefs.map((b) => of(b)[end]);
        expect(Math.max(...values) / Math.min(...values), end).toBeLessThan(1.35);
      }
  });

  it('values on the raw scale: CV is √sill over the mean', () => {
    const random = seededRandom(14);
    const sample = {
      xy: scatter(40, 500, 14),
      z: Float64Array.from({ length: 40 }, () => 6.4 + 0.4 * randomNormal(random)),
    };
    const belief = updateBelief(makePrior('pH', 'raw', {}), 'raw', sample);
    for (const m of belief.members) expectRelative(m.cv, Math.sqrt(m.sill) / m.mean, 1e-12);
    const { mean, sd } = moments([...sample.z]);
    expectRelative(cvOf(belief).mid, sd / mean, 0.15);
    // No pattern was put in: what is between neighbours is mostly nugget or a short range.
    expect(rangeOf(belief).low).toBeLessThan(60);
  });

  // Two levels a field apart look like a range of many hundred metres, where the tables say 112 to 250 m.
  it('data that the prior hardly allows still rest on more than 20 draws', () => {
    const random = seededRandom(18);
    const xy = scatter(66, 700, 18);
    const z = Float64Array.from(
      { length: 66 },
      (_, i) => [4.2, 3.1, 1.9][Math.floor(xy[2 * i + 1] / 234)] + 0.25 * randomNormal(random),
    );
    for (const seed of [1, 2, 3, 4]) {
      const belief = updateBelief(makePrior('OM', 'raw', {}), 'raw', { xy, z }, { seed });
      expect(belief.effectiveSampleSize, `seed ${seed}`).toBeGreaterThan(20);
    }
  });

  it('an even subset of the members', () => {
    const belief = priorBelief(prior, 'log');
    const few = thin(belief, 32);
    expect(new Set(few).size).toBe(32);
    expect(few.every((m) => belief.members.includes(m))).toBe(true);
    expect(thin(belief, 1000)).toEqual(belief.members);
  });
});
