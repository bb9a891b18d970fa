/**
 * Inside numbers (hectares, metres, money per hectare) as people read them.
 * The unit system and the currency are the user's; a value that isn't finite shows as a dash.
 */
import { sayHours } from '../src/advise/words.ts';
import { cmToInches, haToAcres, metresToFeet, metresToMiles, perHaToPerAcre } from '../src/units/index.ts';

export type UnitSystem = 'us' | 'metric';

/** What a missing value looks like. */
export const DASH = '–';
const NB = '\u00a0';

/** A number with about three significant digits and thousands set apart; no more decimals than help. */
export function formatNumber(value: number): string {
  if (!Number.isFinite(value)) return DASH;
  const size = Math.abs(value);
  const decimals = size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : size >= 0.1 ? 2 : 3;
  return trimZeros(fixed(value, decimals));
}

/** A number with a fixed count of decimals: for columns of figures that must line up. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return DASH;
  const text = value.toLocaleString('en-US', {
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
  });
  return text.replace(/^-/, '\u2212');
}

/** A fraction as per cent: 0.314 to `31 %`. */
export function formatPercent(fraction: number): string {
  if (!Number.isFinite(fraction)) return DASH;
  const percent = 100 * fraction;
  return `${fixed(percent, Math.abs(percent) < 10 && percent !== 0 ? 1 : 0)}${NB}%`;
}

/** Money with its currency: whole units from 20 on, else two decimals. */
export function formatMoney(amount: number, currency: string): string {
  if (!Number.isFinite(amount)) return DASH;
  return `${fixed(amount, Math.abs(amount) >= 20 ? 0 : 2)}${NB}${currency}`;
}

/** Hours as the verdict says them, on one line. */
export function formatHours(hours: number): string {
  return Number.isFinite(hours) ? sayHours(hours).replace(' ', NB) : DASH;
}

/** Hectares to the user's unit of area. */
export const toAreaUnit = (ha: number, units: UnitSystem): number => (units === 'us' ? haToAcres(ha) : ha);

/** `acres` or `hectares`. */
export const areaUnitWord = (units: UnitSystem): string => (units === 'us' ? 'acres' : 'hectares');

/** `ac` or `ha`, for denominators. */
export const areaUnitShort = (units: UnitSystem): string => (units === 'us' ? 'ac' : 'ha');

/** An area: `153 acres`, `61.9 ha`. */
export function formatArea(ha: number, units: UnitSystem): string {
  const shown = formatNumber(toAreaUnit(ha, units));
  if (units === 'metric') return `${shown}${NB}ha`;
  return `${shown}${NB}${shown === '1' ? 'acre' : 'acres'}`;
}

/** Metres to the user's unit of length. */
export const toLengthUnit = (metres: number, units: UnitSystem): number =>
  units === 'us' ? metresToFeet(metres) : metres;

/** `ft` or `m`. */
export const lengthUnit = (units: UnitSystem): string => (units === 'us' ? 'ft' : 'm');

/** A distance on the ground, in the user's unit and rounded as one would pace it. */
export function formatDistance(metres: number, units: UnitSystem): string {
  if (!Number.isFinite(metres)) return DASH;
  const value = toLengthUnit(metres, units);
  const step = value >= 50 ? 5 : value >= 10 ? 1 : 0.1;
  const rounded = step * Math.round(value / step);
  return `${trimZeros(fixed(rounded, rounded < 10 ? 1 : 0))}${NB}${lengthUnit(units)}`;
}

/** A long way: miles or kilometres with one decimal. */
export function formatWay(metres: number, units: UnitSystem): string {
  if (!Number.isFinite(metres)) return DASH;
  return units === 'us'
    ? `${fixed(metresToMiles(metres), 1)}${NB}miles`
    : `${fixed(metres / 1000, 1)}${NB}km`;
}

/** A depth: inches or centimetres. */
export function formatDepth(cm: number, units: UnitSystem): string {
  return units === 'us'
    ? `${formatNumber(Math.round(cmToInches(cm) * 2) / 2)}${NB}in`
    : `${formatNumber(cm)}${NB}cm`;
}

/** Money per hectare to money per the user's unit of area. */
export const toPerArea = (perHa: number, units: UnitSystem): number =>
  units === 'us' ? perHaToPerAcre(perHa) : perHa;

/** Money per area: `6.10 USD/ac`. */
export function perArea(perHa: number, units: UnitSystem, currency: string): string {
  if (!Number.isFinite(perHa)) return DASH;
  return `${fixed(toPerArea(perHa, units), 2)}${NB}${currency}/${areaUnitShort(units)}`;
}

/** A soil-test unit as the trade of that unit system writes it; nothing for pH. */
export function formatTestUnit(unit: string, units: UnitSystem): string {
  if (unit === 'pH') return '';
  if (units === 'us' && unit === 'mg/kg') return 'ppm';
  if (units === 'us' && unit === 'cmol(+)/kg') return 'meq/100 g';
  return unit;
}

/** A value with its unit behind it, if it has one. */
export function withUnit(shown: string, unit: string): string {
  return unit === '' || shown === DASH ? shown : `${shown}${NB}${unit}`;
}

/** First letter in upper case: labels come as they stand in a sentence. */
export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

function trimZeros(text: string): string {
  return text.includes('.') ? text.replace(/\.?0+$/, '') : text;
}
