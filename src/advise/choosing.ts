import {
  breachesOf,
  cheapestOf,
  fewestOnPlateau,
  type Limits,
  type Offer,
  type SamplingCost,
} from '../value/index.ts';
import type { DesignError } from './advice.ts';
import type { Candidate } from './candidates.ts';
import type { Judgement } from './judge.ts';
import type { AdviceOptions } from './options.ts';
import { toleranceOf, type VerdictInput } from './verdict.ts';
import { sayPercent } from './words.ts';

/** What a design is held against the user's limits by. */
export interface LimitedDesign {
  readonly cost: number;
  /** Typical error by property id. */
  readonly errors: Readonly<Record<string, DesignError>>;
  /** Chance of the right class of the property that leads. */
  readonly rightClass?: number;
}

export const limitsOf = (o: AdviceOptions): Limits => ({
  ...(o.budget > 0 && { budget: o.budget }),
  ...(o.minSamples > 1 && { minSamples: o.minSamples }),
  maxError: o.maxError,
  ...(o.minRightClass > 0 && { minRightClass: o.minRightClass / 100 }),
});

/** A design with what stands against it, if anything. */
export interface Choosable {
  readonly offer: Offer;
  readonly whyNot?: string;
}

/** Zones that nobody has drawn rest on judgement alone. */
const undrawn = (c: Candidate) => c.kind === 'zones' && c.map.from === 'not drawn yet';

/** What may be chosen among. @param totals money per ha and year by design */
export function choosables(
  candidates: readonly Candidate[],
  totals: readonly number[],
  limited: readonly LimitedDesign[],
  options: AdviceOptions,
): readonly Choosable[] {
  const limits = limitsOf(options);
  return candidates.map((c, d) => {
    const { cost, errors, rightClass } = limited[d];
    const typical = Object.fromEntries(Object.entries(errors).map(([id, e]) => [id, e.typical.mid]));
    const breaches = breachesOf({ cost, samples: c.samples, errors: typical, rightClass }, limits);
    // Walking whole cells is more work than most plan for, so it is advised only to those who say they would.
    const eligible = !(c.kind === 'cells' && options.cells === 'compare');
    const broken = breaches.map((b) => b.sentence).join('; ');
    const whyNot = broken || (eligible ? '' : 'shown for comparison');
    return {
      offer: {
        total: totals[d],
        samples: c.samples,
        eligible,
        lastResort: undrawn(c),
        beyond: breaches.reduce((s, b) => s + b.beyond, 0),
      },
      ...(whyNot && { whyNot }),
    };
  });
}

/** What totals may lie apart and still count as equal. @param whole index of the one mixed sample */
export const toleranceAmong = (offers: readonly Offer[], whole: number): number =>
  toleranceOf(offers[cheapestOf(offers)].total, offers[whole].total);

/**
 * The choice made again with less and more variation, and with a sample at half and at twice its price.
 * @param tolerance as in the choice itself, so that only the totals differ
 */
export function whatIfs(
  candidates: readonly Candidate[],
  offers: readonly Offer[],
  costs: readonly SamplingCost[],
  losses: readonly Float64Array[],
  leadMembers: Judgement['members'],
  hectares: number,
  chosen: number,
  tolerance: number,
  o: AdviceOptions,
): VerdictInput['whatIf'] {
  const byCv = leadMembers.map((m, i) => ({ cv: m.cv, i })).sort((p, q) => p.cv - q.cv);
  const third = Math.max(1, Math.round(byCv.length / 3));
  const chooseUnder = (members: readonly { readonly i: number }[], labFactor: number) =>
    fewestOnPlateau(
      offers.map((offer, d) => ({
        ...offer,
        total:
          (costs[d].total + (labFactor - 1) * costs[d].laboratory) / hectares / o.yearsBetween +
          members.reduce((s, { i }) => s + losses[d][i], 0) / members.length,
      })),
      tolerance,
    );
  const cvOf = (members: readonly { readonly cv: number }[]) =>
    sayPercent(members[Math.floor(members.length / 2)].cv);
  const calm = byCv.slice(0, third);
  const wild = byCv.slice(-third);
  const cases = [
    { when: `If the field turned out more even (CV about ${cvOf(calm)})`, pick: chooseUnder(calm, 1) },
    { when: `If it turned out more varied (CV about ${cvOf(wild)})`, pick: chooseUnder(wild, 1) },
    { when: 'If a laboratory analysis cost half as much', pick: chooseUnder(byCv, 0.5) },
    { when: 'If it cost twice as much', pick: chooseUnder(byCv, 2) },
  ];
  return cases.map(({ when, pick }) => ({
    when,
    designLabel: candidates[pick].label,
    same: pick === chosen,
  }));
}
