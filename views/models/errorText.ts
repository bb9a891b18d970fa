import type { AnalyteAdvice, DesignError, Interval } from '../../src/advise/advice.ts';
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

/** Whether the worst tenth reads otherwise than a typical place; one value for a whole field or zone has no worse tenth. */
export function worstDiffers(analyte: Scaled, e: DesignError): boolean {
  return bare(analyte, e.badSpot) !== bare(analyte, e.typical.mid);
}

/** Typical place and worst tenth: `31 / 38 %`, or one figure where they read alike. */
export function formatErrorPair(analyte: Scaled, e: DesignError, units: UnitSystem): string {
  const typical = bare(analyte, e.typical.mid);
  const shown = worstDiffers(analyte, e) ? `${typical} / ${bare(analyte, e.badSpot)}` : typical;
  return withUnit(shown.replace(/ /g, '\u00a0'), errorUnitShown(analyte, units));
}
