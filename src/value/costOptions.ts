/** What a user may set of the cost of a sampling: the list that option schemas and forms are made from. */
import { perAcreToPerHa } from '../units/index.ts';
import { usualCostRates, type CostRates } from './cost.ts';
import { labPackages } from './labPackages.ts';

/** What a number counts; money in the user's currency. Faces show `money/ha` by the acre where that is usual. */
export type CostUnit = 'money' | 'money/ha' | 'money/h' | 'minutes' | 'hours' | 'm/h' | 'samples';

type KeysOf<T> = { [K in keyof CostRates]: CostRates[K] extends T ? K : never }[keyof CostRates];

interface FieldBase {
  readonly label: string;
  /** Heading it stands under. */
  readonly group: 'laboratory' | 'in the field' | 'getting there' | 'who samples' | 'map';
  /** Where the default comes from. */
  readonly source: string;
}

export interface CostNumberField extends FieldBase {
  readonly kind: 'number';
  readonly key: KeysOf<number>;
  readonly unit: CostUnit;
  readonly min: number;
  readonly max: number;
  /** Counts of things are whole. */
  readonly whole: boolean;
  readonly default: number;
}

export interface CostChoiceField extends FieldBase {
  readonly kind: 'choice';
  /** `labPackage` sets `labPrice` (and says what is analysed); it is no rate itself. */
  readonly key: 'sampler' | 'labPackage';
  readonly choices: readonly { readonly value: string; readonly label: string }[];
  readonly default: string;
}

export interface CostYesNoField extends FieldBase {
  readonly kind: 'yes/no';
  readonly key: KeysOf<boolean>;
  readonly default: boolean;
}

export type CostField = CostNumberField | CostChoiceField | CostYesNoField;

const JUDGED = 'judgement of this project';

const number = (
  group: FieldBase['group'],
  key: CostNumberField['key'],
  unit: CostUnit,
  [min, max]: readonly [number, number],
  label: string,
  source: string,
): CostNumberField => ({
  ...{ kind: 'number', key, label, group, unit, min, max, source },
  whole: unit === 'samples',
  default: usualCostRates[key],
});

/** Every field of {@link CostRates}, and the laboratory's package, in the order of a form. */
export const costFields: readonly CostField[] = [
  {
    kind: 'choice',
    key: 'labPackage',
    label: 'Laboratory package',
    group: 'laboratory',
    choices: labPackages.map(({ id, label }) => ({ value: id, label })),
    default: 'complete',
    source: JUDGED,
  },
  number(
    'laboratory',
    'labPrice',
    'money',
    [0, 1000],
    'Laboratory price of a sample',
    'common practice, no source: 25 to 30 USD for a complete analysis',
  ),
  number('laboratory', 'shippingPerParcel', 'money', [0, 1000], 'Shipping of a parcel', JUDGED),
  number('laboratory', 'samplesPerParcel', 'samples', [1, 1000], 'Samples in a parcel', JUDGED),
  number('laboratory', 'shippingPerSample', 'money', [0, 100], 'Shipping by the sample', JUDGED),
  {
    kind: 'choice',
    key: 'sampler',
    label: 'Who pulls the samples',
    group: 'who samples',
    choices: [
      { value: 'own', label: 'I or my own people' },
      { value: 'hired', label: 'A hired sampler' },
    ],
    default: usualCostRates.sampler,
    source: JUDGED,
  },
  number('who samples', 'labourPerHour', 'money/h', [0, 1000], 'What an own hour is worth', JUDGED),
  {
    kind: 'yes/no',
    key: 'countOwnTime',
    label: 'Count own hours as money',
    group: 'who samples',
    default: usualCostRates.countOwnTime,
    source: JUDGED,
  },
  number(
    'who samples',
    'hiredPerHa',
    'money/ha',
    [0, perAcreToPerHa(100)],
    'A hired sampler, by area',
    'common practice, no source: 1 to 2 USD an acre',
  ),
  number('who samples', 'hiredPerSample', 'money', [0, 1000], 'A hired sampler, by the sample', JUDGED),
  number('in the field', 'minutesPerSample', 'minutes', [0, 60], 'Bagging and noting a sample', JUDGED),
  number('in the field', 'minutesPerPlace', 'minutes', [0, 60], 'Finding a place', JUDGED),
  number('in the field', 'minutesPerCore', 'minutes', [0, 60], 'Pulling a core', JUDGED),
  number(
    'in the field',
    'metresPerHour',
    'm/h',
    [500, 40_000],
    'Pace between places',
    `${JUDGED}: 4 to 5 km/h on foot, 12 km/h on a utility vehicle that stops often`,
  ),
  number('in the field', 'hoursPerVisit', 'hours', [0.5, 24], 'Longest day in the field', JUDGED),
  number(
    'getting there',
    'travelMinutesPerVisit',
    'minutes',
    [0, 1440],
    'There and back, getting started',
    JUDGED,
  ),
  number('getting there', 'travelCostPerVisit', 'money', [0, 10_000], 'Vehicle there and back', JUDGED),
  number('map', 'mappingPerHa', 'money/ha', [0, perAcreToPerHa(100)], 'Making and keeping the map', JUDGED),
];
