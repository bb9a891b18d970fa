import { haToAcres, metresToFeet } from '../units/index.ts';
import type { DesignOutcome } from './advice.ts';
import type { AdviceOptions } from './options.ts';

/** Whole numbers with thousands, small ones with two significant digits. */
export function sayNumber(value: number): string {
  const size = Math.abs(value);
  if (size >= 100) return Math.round(value).toLocaleString('en');
  if (size >= 10) return value.toFixed(0);
  return size >= 1 ? value.toFixed(1).replace(/\.0$/, '') : value.toFixed(2);
}

export const sayMoney = (value: number, o: AdviceOptions): string =>
  `${sayNumber(roundMoney(value))} ${o.currency}`;

/** To two or three significant figures: no cost here is known better. */
function roundMoney(value: number): number {
  if (Math.abs(value) < 100) return value;
  const unit = 10 ** (Math.floor(Math.log10(Math.abs(value))) - 2);
  return Math.round(value / unit) * unit;
}

export const perArea = (perHa: number, o: AdviceOptions): number =>
  o.unitSystem === 'us' ? perHa / haToAcres(1) : perHa;
export const areaUnit = (o: AdviceOptions): string => (o.unitSystem === 'us' ? 'acre' : 'hectare');
export const sayPerArea = (perHa: number, o: AdviceOptions): string =>
  `${perArea(perHa, o).toFixed(2)} ${o.currency} per ${areaUnit(o)}`;
export const sayArea = (ha: number, o: AdviceOptions): string => {
  const value = sayNumber(o.unitSystem === 'us' ? haToAcres(ha) : ha);
  return `${value} ${areaUnit(o)}${value === '1' ? '' : 's'}`;
};
/** Feet or metres, rounded to what is worth reading: fives below 100 feet, tens above; whole metres, fives above 100. */
export function sayDistance(m: number, o: AdviceOptions): string {
  const value = o.unitSystem === 'us' ? metresToFeet(m) : m;
  const unit = o.unitSystem === 'us' ? (value < 100 ? 5 : 10) : value < 100 ? 1 : 5;
  return `${(Math.round(value / unit) * unit).toLocaleString('en')} ${o.unitSystem === 'us' ? 'ft' : 'm'}`;
}

export function sayHours(hours: number): string {
  if (hours < 1) return `${Math.max(5, Math.round((hours * 60) / 5) * 5)} minutes`;
  const rounded = Math.round(hours * 2) / 2;
  return `${rounded} hour${rounded === 1 ? '' : 's'}`;
}

export const sayPercent = (share: number): string => `${Math.round(100 * share)} %`;

/** A property's name inside a sentence: pH keeps its capital. */
export const inSentence = (label: string): string =>
  /^.[A-Z]/.test(label) ? label : label.charAt(0).toLowerCase() + label.slice(1);

export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** "Take one sample per 5 acres: 32 samples, about 1,080 USD, 5 hours." */
export function headline(d: DesignOutcome, o: AdviceOptions, limited = false, unmapped = false): string {
  const bill = `about ${sayMoney(d.cost.total, o)}, ${sayHours(d.cost.hours)}`;
  if (d.kind === 'whole') {
    if (unmapped && !limited)
      return `No grid that pays can map this field: take one mixed sample of the whole field (${d.coresPerSample} cores, ${bill}) and a few close pairs of stops to learn its pattern.`;
    const start = limited
      ? 'Within your limits: one mixed sample of the whole field'
      : 'One mixed sample of the whole field is enough';
    return `${start}: ${d.coresPerSample} cores, ${bill}.`;
  }
  if (d.kind === 'zones')
    return `Sample by zone: ${d.label.replace('zones you draw', 'zones that you draw')}, one mixed sample of ${d.coresPerSample} cores each, ${bill}.`;
  return `Take ${d.label}: ${d.samples} samples, ${bill}.`;
}
