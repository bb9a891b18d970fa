/** The numbers among the assumptions a user may set, as form fields in the user's own units. */
import { adviceOptionsSchema, type AdviceOptions } from '../../src/advise/options.ts';
import { cmToInches, feetToMetres, inchesToCm, metresToFeet } from '../../src/units/index.ts';
import { formatNumber, type UnitSystem } from '../format.ts';

type NumberOption = {
  [K in keyof AdviceOptions]-?: AdviceOptions[K] extends number ? K : never;
}[keyof AdviceOptions];

interface OptionField {
  readonly id: NumberOption;
  readonly label: string;
  readonly help: string;
  readonly kind: 'money' | 'count' | 'years' | 'length' | 'depth';
  /** Usual value, shown when the field is left empty: US and metric. */
  readonly usual: readonly [us: string, metric: string];
}

export const optionFields: readonly OptionField[] = [
  {
    id: 'labPrice',
    label: 'Laboratory price of one sample',
    help: 'A complete analysis.',
    kind: 'money',
    usual: ['27.50', '27.50'],
  },
  {
    id: 'labourPerHour',
    label: 'Price of an hour’s work',
    help: 'Your own or hired.',
    kind: 'money',
    usual: ['45', '45'],
  },
  {
    id: 'yearsBetween',
    label: 'Years until the next sampling',
    help: 'The cost is spread over them.',
    kind: 'years',
    usual: ['4', '4'],
  },
  {
    id: 'budget',
    label: 'Most to spend on one sampling',
    help: 'For the whole field; empty for no limit.',
    kind: 'money',
    usual: ['no limit', 'no limit'],
  },
  { id: 'minSamples', label: 'Fewest samples wanted', help: '', kind: 'count', usual: ['1', '1'] },
  {
    id: 'coresPerStop',
    label: 'Cores at a grid stop',
    help: 'Mixed in one bag.',
    kind: 'count',
    usual: ['10', '10'],
  },
  {
    id: 'stopRadiusM',
    label: 'Cores are pulled within',
    help: 'Of the stop, all round.',
    kind: 'length',
    usual: ['16 ft', '5 m'],
  },
  {
    id: 'coresPerZone',
    label: 'Cores in a zone',
    help: 'Mixed in one bag.',
    kind: 'count',
    usual: ['18', '18'],
  },
  { id: 'maxZones', label: 'Most zones to consider', help: '', kind: 'count', usual: ['5', '5'] },
  {
    id: 'blockM',
    label: 'Width the spreader can treat alone',
    help: 'Side of the block one rate is for.',
    kind: 'length',
    usual: ['60 ft', '18 m'],
  },
  {
    id: 'setbackM',
    label: 'Stops keep from the field’s edges',
    help: 'Off the headland.',
    kind: 'length',
    usual: ['50 ft', '15 m'],
  },
  {
    id: 'keepOutSetbackM',
    label: 'Stops keep from ground to keep out of',
    help: 'If you bring any. For wells local rules set it.',
    kind: 'length',
    usual: ['33 ft', '10 m'],
  },
  {
    id: 'closePairs',
    label: 'Close pairs of a grid',
    help: 'Stops with a second sample beside them, to learn what varies at one place.',
    kind: 'count',
    usual: ['0', '0'],
  },
  { id: 'depthCm', label: 'Depth of the cores', help: '', kind: 'depth', usual: ['6 in', '15 cm'] },
];

/** Unit behind a field in one unit system. */
export function unitOfField(kind: OptionField['kind'], units: UnitSystem, currency: string): string {
  if (kind === 'money') return currency;
  if (kind === 'years') return 'years';
  if (kind === 'length') return units === 'us' ? 'ft' : 'm';
  if (kind === 'depth') return units === 'us' ? 'in' : 'cm';
  return '';
}

/** A typed number in the user's unit to the option's own. */
export function toInside(kind: OptionField['kind'], value: number, units: UnitSystem): number {
  if (units === 'us' && kind === 'length') return feetToMetres(value);
  if (units === 'us' && kind === 'depth') return inchesToCm(value);
  return value;
}

function toScreen(kind: OptionField['kind'], value: number, units: UnitSystem): number {
  if (units === 'us' && kind === 'length') return metresToFeet(value);
  if (units === 'us' && kind === 'depth') return cmToInches(value);
  return value;
}

/** The option's value as it is typed: a usual length or depth as the trade says it, `60` ft for 18 m; empty for no budget. */
export function typedOption(field: OptionField, options: AdviceOptions): string {
  const value = options[field.id];
  if (field.id === 'budget' && value === 0) return '';
  const { unitSystem } = options;
  if (field.kind === 'length' || field.kind === 'depth') {
    const usual = adviceOptionsSchema.parse({ unitSystem })[field.id];
    if (value === usual) return String(Number.parseFloat(field.usual[unitSystem === 'us' ? 0 : 1]));
  }
  return formatNumber(toScreen(field.kind, value, unitSystem)).replace(/,/g, '');
}
