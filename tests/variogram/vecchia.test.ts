import { describe, expect, it } from 'vitest';
import {
  orderedNeighbours,
  prepareLikelihood,
  restrictedLogLikelihood,
  vecchiaGram,
  type CorrelationParameters,
  type Likelihood,
  type ModelKind,
  type PointOrder,
} from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { meuseLogZinc } from '../reference/reference.ts';

// Vecchia 1988, J. R. Stat. Soc. B 50: 297-312.
describe('Vecchia’s approximation', () => {
  const { xy, z } = meuseLogZinc;
  const exact = prepareLikelihood(xy, z);
  const ranges = [150, 300, 600, 1000, 2000, 4000, 8000];
  const nuggets = [0.02, 0.05, 0.2, 0.5, 0.8];
  const restricted = (likelihood: Likelihood, parameters: CorrelationParameters) => {
    const p = likelihood(parameters)!;
    return restrictedLogLikelihood(p, p.residualSS / (p.n - 1));
  };
  const misses = (likelihood: Likelihood, kind: ModelKind, across = ranges) =>
    across.flatMap((range) =>
      nuggets.map((nuggetShare) => {
        const parameters = { kind, effectiveRangeM: range, nuggetShare };
        const value = restricted(exact, parameters);
        return { value, miss: restricted(likelihood, parameters) - value };
      }),
    );
  const greatest = (all: readonly { miss: number }[]) => Math.max(...all.map((m) => Math.abs(m.miss)));
  /** Spread of the miss among the parameters within `drop` of the best: what could move the fit. */
  const spread = (all: readonly { value: number; miss: number }[], drop: number) => {
    const top = Math.max(...all.map((m) => m.value));
    const near = all.filter((m) => m.value > top - drop).map((m) => m.miss);
    return Math.max(...near) - Math.min(...near);
  };

  it.each(['spherical', 'exponential'] as const)('%s: with n − 1 neighbours it is exact', (kind) => {
    const whole = prepareLikelihood(xy, z, { exactPoints: 0, neighbours: z.length - 1 });
    for (const [range, nuggetShare] of [
      [150, 0.5],
      [1000, 0.02],
    ]) {
      const parameters = { kind, effectiveRangeM: range, nuggetShare };
      const p = whole(parameters)!;
      const q = exact(parameters)!;
      expectWithin(restricted(whole, parameters), restricted(exact, parameters), 1e-8);
      expectRelative(p.logDet, q.logDet, 1e-8);
      expectRelative(p.oneRone, q.oneRone, 1e-8);
      expectRelative(p.mean, q.mean, 1e-8);
      expectRelative(p.residualSS, q.residualSS, 1e-8);
    }
  });

  // Measured with 50 of meuse's 154 possible neighbours. The spherical is screened poorly and is approximated worse.
  it('50 neighbours, exponential: 0.54 log units at most, 0.05 apart near the best', () => {
    const all = misses(prepareLikelihood(xy, z, { exactPoints: 0 }), 'exponential');
    expect(greatest(all)).toBeLessThan(0.7);
    expect(spread(all, 6)).toBeLessThan(0.1);
  });

  it('50 neighbours, spherical: 0.63 log units at most, 0.47 apart near the best', () => {
    const all = misses(prepareLikelihood(xy, z, { exactPoints: 0 }), 'spherical');
    expect(greatest(all)).toBeLessThan(0.8);
    expect(spread(all, 6)).toBeLessThan(0.6);
  });

  it('the maximin order comes closer than quadrants', () => {
    const ones = new Float64Array(z.length).fill(1);
    const by = (order: PointOrder): Likelihood => {
      const gramOf = vecchiaGram(xy, [ones, z], orderedNeighbours(xy, 50, { order }));
      return (parameters) => {
        const { gram, logDet } = gramOf(parameters)!;
        const [oneRone, oneRz, , zRz] = gram;
        return {
          n: z.length,
          logDet,
          oneRone,
          mean: oneRz / oneRone,
          residualSS: zRz - oneRz ** 2 / oneRone,
        };
      };
    };
    for (const kind of ['spherical', 'exponential'] as const)
      expect(greatest(misses(by('maximin'), kind))).toBeLessThan(
        0.8 * greatest(misses(by('quadrants'), kind)),
      );
  });

  it('more neighbours come closer', () => {
    for (const kind of ['spherical', 'exponential'] as const) {
      const [few, some, many] = [15, 40, 80].map((neighbours) =>
        greatest(misses(prepareLikelihood(xy, z, { exactPoints: 0, neighbours }), kind, [600, 1000, 4000])),
      );
      expect(some).toBeLessThan(few);
      expect(many).toBeLessThan(some);
      expect(many).toBeLessThan(0.5);
    }
  });

  it('takes over above the stated number of points', () => {
    const parameters = { kind: 'spherical', effectiveRangeM: 1000, nuggetShare: 0.05 } as const;
    const forced = prepareLikelihood(xy, z, { exactPoints: 154 });
    const asked = prepareLikelihood(xy, z, { exactPoints: 155 });
    expect(restricted(asked, parameters)).toBe(restricted(exact, parameters));
    expect(restricted(forced, parameters)).not.toBe(restricted(exact, parameters));
  });
});
