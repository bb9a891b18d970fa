import { HA_PER_ACRE, KG_PER_LB, lbPerAcToKgPerHa } from '../units/index.ts';
import {
  cropRows,
  nutrientPricePerLb,
  rateRows,
  RELATIVE_YIELD_AT_CRITICAL,
  RESIDUAL_SHARE,
  type Crop,
  type RateRow,
} from './rates.ts';

/** A rate equation with a crop and prices, in SI: kg nutrient per ha, mg/kg, money per ha. */
export interface RateEquation {
  readonly analyte: 'P' | 'K';
  readonly critical: number;
  readonly maintenanceLimit: number;
  /** kg/ha of nutrient that lifts the test by 1 mg/kg. */
  readonly kgHaPerUnit: number;
  readonly buildupYears: number;
  readonly removalKgHa: number;
  readonly nutrientPricePerKg: number;
  readonly cropWorthPerHa: number;
  readonly residualShare: number;
  readonly source: string;
}

/**
 * The equation for an analyte, a crop and the extractant its test names (any, when it names none).
 * @returns undefined where none is held, since limits of one extractant do not serve another
 */
export function rateEquationOf(analyteId: string, crop: Crop, extractant?: string): RateEquation | undefined {
  const row: RateRow | undefined = rateRows.find(
    (r) =>
      r.analyte === analyteId &&
      r.crops.includes(crop) &&
      (extractant === undefined || r.extractants.includes(extractant)),
  );
  if (!row) return undefined;
  const grown = cropRows[crop];
  return {
    analyte: row.analyte,
    critical: row.criticalPpm,
    maintenanceLimit: row.maintenanceLimitPpm,
    kgHaPerUnit: lbPerAcToKgPerHa(row.lbPerPpm),
    buildupYears: row.buildupYears,
    removalKgHa: lbPerAcToKgPerHa(grown.removalLbPerAc[row.nutrient]),
    nutrientPricePerKg: nutrientPricePerLb[row.nutrient] / KG_PER_LB,
    cropWorthPerHa: grown.worthPerAc / HA_PER_ACRE,
    residualShare: RESIDUAL_SHARE,
    source: `${row.source}; ${row.region}; crop ${grown.name}: ${grown.source}`,
  };
}

/** Yearly rate for a test value, kg/ha: buildup and removal below the critical level, removal to the limit, none above. */
export function annualRate(e: RateEquation, test: number): number {
  if (test > e.maintenanceLimit) return 0;
  return e.removalKgHa + (Math.max(0, e.critical - test) * e.kgHaPerUnit) / e.buildupYears;
}

/**
 * Relative yield without fresh fertiliser: Mitscherlich's 1 − 10^(−c·test), through 97 % at the critical level
 * (Mitscherlich 1909; Bray 1944 for soil tests; form from memory).
 */
export function relativeYield(e: RateEquation, test: number): number {
  return 1 - Math.pow(1 - RELATIVE_YIELD_AT_CRITICAL, Math.max(0, test) / e.critical);
}

/**
 * Money lost per ha and year when the rate is set for `estimate` where the test is `truth`, over the years it is kept.
 * Too much: the price of the surplus less what it is worth later. Too little: the yield lost because the test,
 * lifted by what is applied, stays below where the right rate would have brought it; taken at the middle year.
 * Nutrient not bought is not counted as saved: it has to be bought later.
 */
export function rateLoss(e: RateEquation, estimate: number, truth: number, years: number): number {
  const right = annualRate(e, Math.max(0, truth));
  const off = annualRate(e, Math.max(0, estimate)) - right;
  if (off >= 0) return off * e.nutrientPricePerKg * (1 - e.residualShare);
  const middle = (years + 1) / 2;
  const meant = Math.max(0, truth) + ((right - e.removalKgHa) * middle) / e.kgHaPerUnit;
  const got = meant + (off * middle) / e.kgHaPerUnit;
  return e.cropWorthPerHa * Math.max(0, relativeYield(e, meant) - relativeYield(e, got));
}
