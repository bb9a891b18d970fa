import { findCropPlan } from '../../src/value/crops.ts';
import type { EditableFigure } from '../../src/value/editableFigure.ts';
import { findGuidance } from '../../src/value/guidance.ts';
import type { TestedSeries } from '../../src/value/guidanceRows.ts';
import { makeRateCase, type MadeRateCase, type RateGround } from '../../src/value/makeRateCase.ts';
import { usualPrices } from '../../src/value/prices.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { kgPerHaToLbPerAc } from '../../src/units/index.ts';

type Edits = Readonly<Record<string, number>>;

/** What a table, a plan and a test (`P`, or `P by Bray-P1`) come to. */
export function make(
  guidance: string,
  plan: string,
  test: string,
  ground: RateGround = {},
  edits: Edits = {},
): MadeRateCase {
  const [id, extractant] = test.split(' by ') as [string, string | undefined];
  const series: TestedSeries = extractant === undefined ? { id } : { id, extractant };
  return makeRateCase(findGuidance(guidance)!, findCropPlan(plan)!, series, ground, usualPrices, edits);
}

/** The same where there has to be a case. */
export function made(...asked: Parameters<typeof make>): Extract<MadeRateCase, { readonly case: RateCase }> {
  const answer = make(...asked);
  if ('missing' in answer) throw new Error(answer.missing);
  return answer;
}

export const caseOf = (...asked: Parameters<typeof make>): RateCase => made(...asked).case;

/** lb an acre and year at a test value. */
export const poundsAt = (c: RateCase, test: number): number => kgPerHaToLbPerAc(c.annualRate(test));

/** The one figure of a key. */
export function figureOf(
  { figures }: { readonly figures: readonly EditableFigure[] },
  key: string,
): EditableFigure {
  const found = figures.filter((f) => f.key === key);
  if (found.length !== 1) throw new Error(`${found.length} figures ${key}`);
  return found[0];
}
