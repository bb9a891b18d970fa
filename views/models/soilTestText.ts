import type { Advice } from '../../src/advise/advice.ts';
import { analyteCatalogue } from '../../src/read/analyteCatalogue.ts';
import { formatNumber, formatTestUnit, withUnit } from '../format.ts';

/** A test value of a property with its unit as the user's trade writes it. */
export function formatSoilTest(analyte: string, value: number, { options }: Advice): string {
  const unit = analyteCatalogue.find((a) => a.id === analyte)?.unit ?? '';
  return withUnit(formatNumber(value), formatTestUnit(unit, options.unitSystem));
}
