import {
  driftModelOf,
  GUIDANCE_LONGEST_YEARS,
  LONGEST_CORRECTION,
  resamplingPlan,
  sayPlan,
  type SampledProperty,
} from '../value/index.ts';
import type { HowOftenAdvice } from './moneyAdvice.ts';
import { coarseLeastLoss, withMean } from './losses.ts';
import type { AdviceOptions } from './options.ts';
import type { JudgedDecision } from './sensitivity.ts';
import { inSentence, sayPerArea } from './words.ts';

/** Members that stand for the belief, from those it is most even under to those it varies most under. */
const MEMBERS = 3;

/**
 * How often to sample by the advised design: yearly cost of every interval, now and once the field is corrected.
 * @param costPerHa of one sampling; @param tolerance money per ha and year within which intervals are as good
 */
export function howOften(
  judged: readonly JudgedDecision[],
  design: number,
  costPerHa: number,
  tolerance: number,
  options: AdviceOptions,
): HowOftenAdvice | undefined {
  const properties = judged.flatMap((j) => propertyOf(j, design) ?? []);
  if (properties.length === 0) return undefined;
  const plan = resamplingPlan(properties, {
    samplingCostPerHa: costPerHa,
    freshYears: options.yearsBetween,
    sameCostPerHaYear: tolerance,
  });
  const next = plan.whileCorrecting ?? plan.after;
  const labelOf = (id: string) => judged.find((j) => j.study.id === id)?.study.advice.label ?? id;
  return {
    correctingYears: plan.correctingYears,
    everyWhileCorrecting: plan.nextYears,
    everyAfter: plan.after.advisedYears,
    choices: next.options.map(({ years, samplingPerHa, lossPerHa, totalPerHa }) => ({
      years,
      sampling: samplingPerHa,
      loss: lossPerHa,
      total: totalPerHa,
      nearBest: next.sameCostYears.includes(years),
    })),
    sentences: [
      sayPlan(
        plan,
        (perHa) => sayPerArea(perHa, options),
        (id) => inSentence(labelOf(id)),
      ),
      ...(plan.correctingYears >= LONGEST_CORRECTION
        ? [`At the rates reckoned with, correction takes ${LONGEST_CORRECTION} years or more.`]
        : []),
    ],
    assumptions: [
      `The designs are compared as if kept ${options.yearsBetween} year${options.yearsBetween === 1 ? '' : 's'}, without the ageing of tests that is counted here and that raises the loss of all of them; set another number of years to see them so.`,
      `Guidance asks for a test at least every ${GUIDANCE_LONGEST_YEARS} years (Bulletin 974, 2020).`,
      ...properties.map((p) => `${labelOf(p.rateCase.analyte)}: ${p.driftSource}.`),
    ],
  };
}

function propertyOf(
  { study, judgement, losses }: JudgedDecision,
  design: number,
): (SampledProperty & { readonly driftSource: string }) | undefined {
  const drift = driftModelOf(study.id);
  if (!drift) return undefined;
  const { members, means, accuracies } = judgement;
  const { decision, toUser } = losses;
  const byVariance = members.map((_, i) => i).sort((a, b) => members[a].sill - members[b].sill);
  const some = Array.from(
    { length: MEMBERS },
    (_, k) => byVariance[Math.floor(((k + 0.5) * byVariance.length) / MEMBERS)],
  );
  return {
    rateCase: decision.rateCase,
    working: study.working,
    drift,
    driftSource: drift.source,
    leastFor: (years) => coarseLeastLoss(decision, judgement, toUser, years),
    members: some.map((i) => ({
      mean: means[i].mean,
      accuracy: withMean(accuracies[design][i], means[i].variance),
    })),
  };
}
