import {
  findCropPlan,
  findGuidance,
  guidanceTables,
  makeRateCase,
  usualPrices,
  withTabulatedResponse,
  cropPlans,
  type CropPlan,
  type Guidance,
  type MadeRateCase,
  type RateCase,
} from '../value/index.ts';
import type { RateFigure } from './moneyAdvice.ts';
import type { AdviceOptions } from './options.ts';
import type { PreparedSeries } from './series.ts';

/** A property whose test sets a rate. */
export interface Decision {
  readonly analyte: string;
  readonly rateCase: RateCase;
  readonly figures: readonly RateFigure[];
  readonly assumptions: readonly string[];
}

export interface Decisions {
  readonly guidance: Guidance;
  readonly plan: CropPlan;
  /** One a property, absent where its test sets no rate. */
  readonly of: readonly (Decision | undefined)[];
  /** Why a property that usually sets a rate sets none here, a sentence each. */
  readonly missing: readonly string[];
}

/** Properties that guidance usually has rates for: where one of these is missing, the user is told why. */
const USUALLY = ['P', 'K', 'pH', 'bufferPH', 'Zn'];

/**
 * What each property's test decides under the guidance, the crops and the prices given. Lime is decided by one test only:
 * by the buffer's where it asks for any, by pH otherwise.
 * @param crop id of a crop plan; the usual plan when it is not said
 * @param own the user's own guidance, before the one that the options name
 */
export function decisionsOf(
  series: readonly PreparedSeries[],
  crop: string | undefined,
  options: Pick<AdviceOptions, 'guidance' | 'rates'>,
  own?: Guidance,
): Decisions {
  const guidance = own ?? findGuidance(options.guidance) ?? guidanceTables[0];
  const plan = (crop && findCropPlan(crop)) || cropPlans[0];
  const meanOf = (id: string) => series.find((s) => s.id === id)?.summary?.mean;
  const ground = { cec: meanOf('CEC'), pH: meanOf('pH') };
  const made = series.map((s): MadeRateCase =>
    makeRateCase(guidance, plan, s, ground, usualPrices, options.rates),
  );
  const lime = limeDecision(series, made);
  const missing: string[] = [];
  const of = series.map(({ id }, i): Decision | undefined => {
    const m = made[i];
    if ('missing' in m) {
      if (USUALLY.includes(id)) missing.push(m.missing);
      return undefined;
    }
    if (m.case.input === 'lime' && i !== lime) return undefined;
    return {
      analyte: id,
      rateCase: withTabulatedResponse(m.case),
      figures: m.figures.map(({ key, label, value, usual, unit, source }) => ({
        ...{ key, label, value, unit, source },
        own: value !== usual,
      })),
      assumptions: m.assumptions,
    };
  });
  return { guidance, plan, of, missing };
}

/** Index of the property that lime is decided by. */
function limeDecision(series: readonly PreparedSeries[], made: readonly MadeRateCase[]): number {
  const asks = (i: number) => {
    const m = made[i];
    if (i < 0 || 'missing' in m) return false;
    const { summary } = series[i];
    return summary !== undefined && m.case.annualRate(summary.min) > 0;
  };
  const at = (id: string) => series.findIndex((s, i) => s.id === id && !('missing' in made[i]));
  const buffer = at('bufferPH');
  return asks(buffer) || at('pH') < 0 ? buffer : at('pH');
}
