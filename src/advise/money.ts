import type { FieldInputKind } from '../value/index.ts';
import type { Candidate } from './candidates.ts';
import type { Decisions } from './decisions.ts';
import { intervalOf } from './judge.ts';
import type { DecisionAdvice, HowOftenAdvice, MoneyAdvice, SensitivityAdvice } from './moneyAdvice.ts';
import type { JudgedDecision } from './sensitivity.ts';

const inputNames: Readonly<Record<FieldInputKind, string>> = {
  P2O5: 'phosphate (P2O5)',
  K2O: 'potash (K2O)',
  lime: 'lime',
  Zn: 'zinc',
};

/** Sums over properties, member by member. */
export function summed(parts: readonly ArrayLike<number>[], count: number): Float64Array {
  return Float64Array.from({ length: count }, (_, m) => parts.reduce((s, p) => s + p[m], 0));
}

/** The economic half of the answer. */
export function moneyAdvice(
  decisions: Decisions,
  judged: readonly JudgedDecision[],
  candidates: readonly Candidate[],
  members: number,
  more: { readonly sensitivity?: SensitivityAdvice; readonly howOften?: HowOftenAdvice },
): MoneyAdvice | undefined {
  if (judged.length === 0) return undefined;
  const { guidance, plan, missing } = decisions;
  return {
    guidance: { id: guidance.id, title: guidance.name, region: guidance.region },
    crop: plan.id,
    decisions: judged.map(({ study, losses }): DecisionAdvice => {
      const { rateCase, figures, assumptions } = losses.decision;
      return {
        analyte: study.id,
        label: study.advice.label,
        input: inputNames[rateCase.input],
        source: rateCase.source,
        assumptions,
        figures,
        classes: rateCase.classes.map(({ label, below }) => ({
          label,
          ...(Number.isFinite(below) && { below }),
        })),
        noSampling: intervalOf(losses.before, true),
        singleRate: intervalOf(losses.singleRate, true),
        rightClass: Object.fromEntries(losses.rightClass.map((chance, d) => [candidates[d].id, chance])),
      };
    }),
    missing,
    noSampling: intervalOf(
      summed(
        judged.map((j) => j.losses.before),
        members,
      ),
      true,
    ),
    ...more,
  };
}
