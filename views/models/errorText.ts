import type { AnalyteAdvice, Interval } from '../../src/advise/advice.ts';
import { DASH, fixed, formatTestUnit, withUnit, type UnitSystem } from '../format.ts';

type Scaled = Pick<AnalyteAdvice, 'scale' | 'unit'>;

/** Unit of an analyte's errors on screen: per cent on the log scale, nothing for pH. */
export function errorUnitShown(analyte: Scaled, units: UnitSystem): string {
  return analyte.scale === 'log' ? '%' : formatTestUnit(analyte.unit, units);
}

/** Whole per cent on the log scale; two figures that matter on the raw one. */
function bare(analyte: Scaled, value: number): string {
  if (!Number.isFinite(value)) return DASH;
  if (analyte.scale === 'log') return fixed(value, 0);
  return fixed(value, value >= 10 ? 0 : value >= 1 ? 1 : 2);
}

/** An error with its unit: `31 %`, `0.24`, `6 ppm`. */
export function formatError(analyte: Scaled, value: number, units: UnitSystem): string {
  return withUnit(bare(analyte, value), errorUnitShown(analyte, units));
}

/** The band of an error: `26 to 37 %`. */
export function formatErrorRange(analyte: Scaled, e: Interval, units: UnitSystem): string {
  return withUnit(`${bare(analyte, e.low)} to ${bare(analyte, e.high)}`, errorUnitShown(analyte, units));
}
