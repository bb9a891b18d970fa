import { describe, expect, it } from 'vitest';
import { moments, randomNormal, seededRandom } from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import {
  makePrior,
  overMembers,
  sillOfCv,
  updateBelief,
  updateBeliefs,
  type Normal,
} from '../../src/prior/index.ts';
import { residualSillPrior } from '../../src/prior/residualSill.ts';
import { logSillPrior } from '../../src/prior/sillPosterior.ts';
import { stretched } from '../../src/variogram/index.ts';
import { planeVariance, spreadOf, type Slope } from '../../src/variogram/planeMean.ts';
import { compareMeans } from '../../src/variogram/trendChoice.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const SIDE_M = 800;
const nodes = Float64Array.from({ length: 2 * 225 }, (_, k) => {
  const i = k >> 1;
  return (((k % 2 ? Math.floor(i / 15) : i % 15) + 0.5) * SIDE_M) / 15;
});
const spread = spreadOf(nodes);
const scatter = (n: number, seed: number) => {
  const random = seededRandom(seed);
  return Float64Array.from({ length: 2 * n }, () => SIDE_M * random());
};
const slope: Slope = { eastPerM: 0.0008, northPerM: -0.0012 };
const planeOn = (xy: Float64Array, z: Float64Array, { eastPerM, northPerM }: Slope, level: number) =>
  z.map((v, i) => v + level + eastPerM * (xy[2 * i] - SIDE_M / 2) + northPerM * (xy[2 * i + 1] - SIDE_M / 2));

describe('a belief about what a plane leaves', () => {
  const prior = makePrior('pH', 'raw', {});
  const xy = scatter(90, 1);
  const model = { kind: 'spherical', effectiveRangeM: 140, nugget: 0.02, partialSill: 0.07 } as const;
  const noise = simulateField(xy, model, seededRandom(2));
  const z = planeOn(xy, noise, slope, 6.2);
  const variance = planeVariance(spread, slope);
  const update = (values: Float64Array, at = xy, anisotropy?: Parameters<typeof stretched>[1]) =>
    updateBeliefs(stretched(at, anisotropy), [{ prior, scale: 'raw', z: values, plane: { variance } }], {
      ground: { places: at, nodes },
      seed: 3,
    }).beliefs[0];
  const belief = update(z);

  it('each member has its plane, about the true one, and a level in the middle of the field', () => {
    const of = (value: (m: (typeof belief.members)[number]) => number) => overMembers(belief, value);
    for (const [name, { low, high }, truth] of [
      ['east', of((m) => m.plane!.eastPerM), slope.eastPerM],
      ['north', of((m) => m.plane!.northPerM), slope.northPerM],
      ['level', of((m) => m.mean), 6.2],
    ] as const) {
      const widened = 0.5 * (high - low);
      expect(truth, name).toBeGreaterThan(low - widened);
      expect(truth, name).toBeLessThan(high + widened);
    }
    for (const m of belief.members) {
      expectRelative(m.plane!.variance, planeVariance(spread, m.plane!), 1e-12);
      expectRelative(m.cv, Math.sqrt(m.sill + m.plane!.variance) / m.mean, 1e-12);
    }
  });

  // Error contrasts are free of the slopes (Harville 1974): another plane added changes nothing but the plane.
  it('another plane added to the values leaves the residual’s members as they are', () => {
    const added: Slope = { eastPerM: 0.002, northPerM: 0.001 };
    // About the places' own middle, so that the mean, which the prior of the sill looks at, stays.
    const rise = planeOn(xy, new Float64Array(z.length), added, 0);
    const moved = update(planeOn(xy, z, added, -moments([...rise]).mean));
    belief.members.forEach((m, i) => {
      const other = moved.members[i];
      expectRelative(other.sill, m.sill, 1e-6);
      expect(other.effectiveRangeM).toBe(m.effectiveRangeM);
      expectRelative(other.nuggetShare, m.nuggetShare, 1e-9);
      expectWithin(other.plane!.eastPerM, m.plane!.eastPerM + added.eastPerM, 1e-8);
      expectWithin(other.plane!.northPerM, m.plane!.northPerM + added.northPerM, 1e-8);
    });
  });

  it('in a stretched plane the slope is still that of the ground', () => {
    const { members } = update(z, xy, { ratio: 0.5, directionDeg: 30 });
    const mean = (value: (m: (typeof members)[number]) => number) => moments(members.map(value)).mean;
    expectWithin(
      mean((m) => m.plane!.eastPerM),
      slope.eastPerM,
      4e-4,
    );
    expectWithin(
      mean((m) => m.plane!.northPerM),
      slope.northPerM,
      4e-4,
    );
  });

  it('its range is shorter than with a constant mean, and its sill smaller', () => {
    const constant = updateBelief(prior, 'raw', { xy, z }, { seed: 3 });
    expect(constant.members[0].plane).toBeUndefined();
    const mid = (b: typeof belief, value: Parameters<typeof overMembers>[1]) => overMembers(b, value).mid;
    expect(mid(belief, (m) => m.effectiveRangeM)).toBeLessThan(mid(constant, (m) => m.effectiveRangeM));
    expect(mid(belief, (m) => m.sill)).toBeLessThan(mid(constant, (m) => m.sill));
  });

  it('properties with and without a plane share the reductions', () => {
    const flat = noise.map((v) => v + 6);
    const { beliefs } = updateBeliefs(
      xy,
      [
        { prior, scale: 'raw', z: flat },
        { prior, scale: 'raw', z, plane: { variance } },
      ],
      { ground: { places: xy, nodes }, seed: 3 },
    );
    expect(beliefs[0].members.every((m) => m.plane === undefined)).toBe(true);
    expect(beliefs[1].members.every((m) => m.plane !== undefined)).toBe(true);
  });

  it('a plane without ground to stand on is our own mistake', () => {
    expect(() => updateBeliefs(xy, [{ prior, scale: 'raw', z, plane: { variance } }])).toThrow(RangeError);
  });
});

describe('the prior of a residual sill', () => {
  const whole = logSillPrior(makePrior('P', 'log', {}), 'log', 3);
  const total = (density: (u: number) => number) => {
    let sum = 0;
    for (let u = -25; u < 6; u += 0.01) sum += 0.01 * Math.exp(density(u));
    return sum;
  };

  it('with no plane is the whole’s; with one it is a density of what is left above it', () => {
    const none = residualSillPrior(whole, 0);
    for (const u of [-2, -0.5, 0.7]) expectRelative(none.logDensity(u), whole.logDensity(u), 1e-12);
    // The part of the whole's prior that lies above the plane's variance.
    const variance = 0.2;
    let above = 0;
    for (let u = Math.log(variance); u < 6; u += 0.001) above += 0.001 * Math.exp(whole.logDensity(u));
    expectRelative(total(residualSillPrior(whole, variance).logDensity), above, 2e-3);
  });
});

// Calibration as in calibration.test.ts, with planes that explain up to 0.8 of the variance, where AICc calls them clear.
describe('with a plane, too, 80 % intervals hold the truth about 80 times in 100', () => {
  it('CV of the whole field and range of the rest', () => {
    const prior = makePrior('pH', 'raw', {});
    const random = seededRandom(8);
    const draw = ({ mean, sd }: Normal) => mean + sd * randomNormal(random);
    const held = { cv: 0, range: 0, plane: 0 };
    let fields = 0;
    for (let k = 0; k < 60; k++) {
      const xy = Float64Array.from({ length: 2 * 40 }, () => SIDE_M * random());
      const cv = Math.exp(draw(prior.logCv));
      const effectiveRangeM = Math.exp(draw(prior.logRangeM));
      const nuggetShare = 1 / (1 + Math.exp(-draw(prior.logitNugget)));
      const mean = draw(prior.mean);
      const sum = sillOfCv(cv, 'raw', mean);
      const variance = 0.8 * random() * sum;
      const towards = 2 * Math.PI * random();
      const unit = { eastPerM: Math.sin(towards), northPerM: Math.cos(towards) };
      const f = Math.sqrt(variance / planeVariance(spread, unit));
      const sill = sum - variance;
      const noise = simulateField(
        xy,
        {
          kind: 'exponential',
          effectiveRangeM,
          nugget: sill * nuggetShare,
          partialSill: sill * (1 - nuggetShare),
        },
        random,
      );
      const z = planeOn(xy, noise, { eastPerM: f * unit.eastPerM, northPerM: f * unit.northPerM }, mean);
      if (compareMeans(xy, [z])![0].deltaAicc <= 4) continue;
      fields++;
      const { beliefs } = updateBeliefs(xy, [{ prior, scale: 'raw', z, plane: { variance } }], {
        ground: { places: xy, nodes },
        seed: k + 1,
      });
      const inside = (value: number, of: Parameters<typeof overMembers>[1]) => {
        const { low, high } = overMembers(beliefs[0], of);
        return low <= value && value <= high ? 1 : 0;
      };
      held.cv += inside(cv, (m) => m.cv);
      held.range += inside(effectiveRangeM, (m) => m.effectiveRangeM);
      held.plane += inside(variance, (m) => m.plane!.variance);
    }
    expect(fields).toBeGreaterThan(30);
    for (const [name, count] of Object.entries(held)) {
      expect(count / fields, name).toBeGreaterThanOrEqual(0.65);
      expect(count / fields, name).toBeLessThanOrEqual(0.95);
    }
  });
});
