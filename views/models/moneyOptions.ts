/** The assumptions about money, and the limits, as they come from a form or an address: guidance, crop, rates, costs. */
import { adviceOptionsSchema } from '../../src/advise/options.ts';
import { metresToMiles, milesToMetres, perAcreToPerHa, perHaToPerAcre } from '../../src/units/index.ts';
import { costFields, type CostField, type CostNumberField } from '../../src/value/costOptions.ts';
import { cropPlans } from '../../src/value/crops.ts';
import { guidanceTables } from '../../src/value/guidance.ts';
import { areaUnitShort, capital, formatNumber, type UnitSystem } from '../format.ts';
import { optionFields } from './optionFields.ts';
import type { Typed } from './questionForm.ts';

interface NamedChoice {
  readonly value: string;
  readonly label: string;
}

export const guidanceChoices: readonly NamedChoice[] = guidanceTables.map((g) => ({
  value: g.id,
  label: `${g.short} (${g.region})`,
}));

export const cropChoices: readonly NamedChoice[] = cropPlans.map((p) => ({
  value: p.id,
  label: capital(p.name),
}));

const typedElsewhere = new Set<string>(optionFields.map((f) => f.id));

/** Costs that have no field among the other assumptions. */
export const ownCostFields: readonly CostField[] = costFields.filter((f) => !typedElsewhere.has(f.key));

const rateField = /^rate\.([\w-]+(?:\.[\w-]+)+)$/;
const maxErrorField = /^maxError\.([\w-]+)$/;
const named = new Set<string>([
  'guidance',
  'crop',
  'currency',
  'minRightClass',
  ...ownCostFields.map((f) => f.key),
]);

/** Name of the field of a rate figure, and of a property's largest error. */
export const rateFieldName = (key: string): string => `rate.${key}`;
export const maxErrorFieldName = (id: string): string => `maxError.${id}`;

/** Whether a form field is one of these. */
export const isMoneyField = (name: string): boolean =>
  named.has(name) || rateField.test(name) || maxErrorField.test(name);

/** Figures that are shares inside and per cent on the screen. */
export const isShareFigure = (key: string): boolean => /\.(?:discountRate|availableShare)$/.test(key);

/** A rate figure as it is typed. */
export const typedRate = (key: string, value: number): string =>
  plain(isShareFigure(key) ? 100 * value : value);

/** Six figures at most, without thousands set apart, as one types them. */
const plain = (value: number): string => String(Number(value.toPrecision(6)));

/** Unit behind a cost in one unit system. */
export function unitOfCost({ unit }: CostNumberField, units: UnitSystem, currency: string): string {
  if (unit === 'money') return currency;
  if (unit === 'money/h') return `${currency}/h`;
  if (unit === 'money/ha') return `${currency}/${areaUnitShort(units)}`;
  if (unit === 'm/h') return units === 'us' ? 'mph' : 'km/h';
  return unit;
}

/** A cost inside (money a hectare, metres an hour) as the screen counts it, and back. */
function costOnScreen({ unit }: CostNumberField, value: number, units: UnitSystem): number {
  if (unit === 'money/ha' && units === 'us') return perHaToPerAcre(value);
  if (unit === 'm/h') return units === 'us' ? metresToMiles(value) : value / 1000;
  return value;
}

export function costInside({ unit }: CostNumberField, shown: number, units: UnitSystem): number {
  if (unit === 'money/ha' && units === 'us') return perAcreToPerHa(shown);
  if (unit === 'm/h') return units === 'us' ? milesToMetres(shown) : shown * 1000;
  return shown;
}

/** A cost as it is typed. */
export const typedCost = (field: CostNumberField, value: number, units: UnitSystem): string =>
  formatNumber(costOnScreen(field, value, units)).replace(/,/g, '');

export interface MoneyRead {
  readonly options: Readonly<Record<string, unknown>>;
  /** What stands in the way in plain sentences, and the fields they are about. */
  readonly problems: readonly string[];
  readonly wrong: readonly string[];
}

/**
 * These options of a form. Empty fields and usual values are left out.
 * @param toNumber a number as people type it, undefined for what is none
 */
export function readMoney(
  typed: Typed,
  units: UnitSystem,
  toNumber: (text: string) => number | undefined,
): MoneyRead {
  const options: Record<string, unknown> = {};
  const problems: string[] = [];
  const wrong: string[] = [];
  const usual: Readonly<Record<string, unknown>> = adviceOptionsSchema.parse({});
  const refuse = (name: string, sentence: string) => {
    problems.push(sentence);
    wrong.push(name);
  };
  const choose = (name: string, label: string, choices: readonly NamedChoice[], usualValue: unknown) => {
    const value = typed[name];
    // “I don’t know”, where the questionnaire asks the same.
    if (!value || value === 'unknown') return;
    if (!choices.some((c) => c.value === value))
      refuse(name, `“${label}” has no choice “${value}”: choose one of those shown.`);
    else if (value !== usualValue) options[name] = value;
  };
  /** A number from `least` to `most`; undefined when empty or refused. */
  const numberOf = (name: string, label: string, [least, most]: readonly [number, number], unit = '') => {
    const text = typed[name] ?? '';
    if (text === '') return undefined;
    const value = toNumber(text);
    if (value === undefined) refuse(name, `“${label}” needs a number, not “${text}”.`);
    // A limit that was rounded for the screen may be typed as it reads.
    else if (value < Math.min(least, asShown(least)) || value > Math.max(most, asShown(most))) {
      const range =
        most === Infinity
          ? `at least ${formatNumber(least)}`
          : `${formatNumber(least)} to ${formatNumber(most)}`;
      refuse(name, `“${label}” can’t be “${text}”: give ${range}${unit && ` ${unit}`}.`);
    } else return value;
    return undefined;
  };

  choose('guidance', guidanceLabel, guidanceChoices, usual.guidance);
  choose('crop', cropLabel, cropChoices, usual.crop);
  const currency = (typed.currency ?? '').trim();
  if (currency !== '' && !/^[\p{L}\p{Sc}][\p{L}\p{Sc}.]{0,7}$/u.test(currency))
    refuse(
      'currency',
      `“${currencyLabel}” can’t be “${currency}”: give its sign or up to eight letters, such as EUR.`,
    );
  else if (currency !== '' && currency !== usual.currency) options.currency = currency;
  for (const field of ownCostFields) {
    if (field.kind === 'choice') choose(field.key, field.label, field.choices, field.default);
    else if (field.kind === 'yes/no') choose(field.key, field.label, yesNo, field.default ? 'yes' : 'no');
    else {
      const ends = [field.min, field.max].map((v) => costOnScreen(field, v, units));
      const unit = unitOfCost(field, units, '').replace(/^\//, 'an ');
      const value = numberOf(field.key, field.label, [ends[0], ends[1]], /^an |^$/.test(unit) ? '' : unit);
      if (value === undefined) continue;
      if (field.whole && !Number.isInteger(value))
        refuse(field.key, `“${field.label}” can’t be “${typed[field.key]}”: a whole number is needed.`);
      // The usual value sent back as it was shown stays exactly what it is.
      else if (typed[field.key] !== typedCost(field, field.default, units)) {
        const inside = costInside(field, value, units);
        options[field.key] = Math.min(field.max, Math.max(field.min, inside));
      }
    }
  }
  const rates: [string, number][] = [];
  const errors: [string, number][] = [];
  for (const name of Object.keys(typed)) {
    const key = rateField.exec(name)?.[1];
    if (key !== undefined) {
      const share = isShareFigure(key);
      const value = numberOf(name, key, [0, share ? 100 : Infinity], share ? '%' : '');
      if (value !== undefined) rates.push([key, share ? value / 100 : value]);
    }
    const id = maxErrorField.exec(name)?.[1];
    if (id === undefined) continue;
    const most = numberOf(name, `Largest error of ${id}`, [0, Infinity]);
    if (most === 0) refuse(name, `“Largest error of ${id}” can’t be 0: no sampling is without error.`);
    else if (most !== undefined) errors.push([id, most]);
  }
  if (rates.length > 0) options.rates = Object.fromEntries(rates);
  if (errors.length > 0) options.maxError = Object.fromEntries(errors);
  const rightClass = numberOf('minRightClass', rightClassLabel, [0, 99], '%');
  if (rightClass !== undefined && rightClass > 0) options.minRightClass = rightClass;
  return { options, problems, wrong };
}

/** A number as it reads once it is rounded for the screen; no limit stays none. */
const asShown = (value: number): number =>
  value === Infinity ? value : Number(formatNumber(value).replace(/,/g, ''));

export const guidanceLabel = 'Guidance for rates';
export const cropLabel = 'What is grown';
export const currencyLabel = 'Currency';
export const usualCurrency = adviceOptionsSchema.parse({}).currency;
export const rightClassLabel = 'Least share of blocks in their right class';

export const yesNo: readonly NamedChoice[] = [
  { value: 'yes', label: 'yes' },
  { value: 'no', label: 'no' },
];
