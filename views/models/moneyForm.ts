/** The form section for rates, prices, costs and limits. */
import type { Advice } from '../../src/advise/advice.ts';
import type { RateFigure } from '../../src/advise/moneyAdvice.ts';
import type { CostField } from '../../src/value/costOptions.ts';
import { guidanceTables } from '../../src/value/guidance.ts';
import { capital } from '../format.ts';
import { errorUnitShown } from './errorText.ts';
import {
  cropChoices,
  cropLabel,
  currencyLabel,
  guidanceChoices,
  guidanceLabel,
  isShareFigure,
  maxErrorFieldName,
  ownCostFields,
  rateFieldName,
  rightClassLabel,
  typedCost,
  typedRate,
  unitOfCost,
  usualCurrency,
  yesNo,
} from './moneyOptions.ts';
import { moneyCaution } from './moneyText.ts';

interface FieldBase {
  readonly name: string;
  readonly label: string;
  readonly help: string;
  /** Set by the user. */
  readonly own: boolean;
}

/** Typed: empty means `usual`. */
export interface NumberField extends FieldBase {
  readonly kind: 'number';
  readonly value: string;
  readonly usual: string;
  readonly unit: string;
}

export interface SelectField extends FieldBase {
  readonly kind: 'select';
  /** Long choices need the room of two fields. */
  readonly broad: boolean;
  readonly choices: readonly { readonly value: string; readonly label: string; readonly selected: boolean }[];
}

/** Any text; empty means `usual`. */
export interface TextField extends FieldBase {
  readonly kind: 'text';
  readonly value: string;
  readonly usual: string;
}

export type MoneyField = NumberField | SelectField | TextField;

export interface FieldGroup {
  readonly heading: string;
  readonly fields: readonly MoneyField[];
  /** Where the user set something, the group stands open. */
  readonly open: boolean;
}

export interface MoneyForm {
  /** Guidance and crop; empty where the answer knows no rates. */
  readonly basis: readonly SelectField[];
  readonly currency: TextField;
  /** Where the table in use is fetched to start one's own from; absent for the user's own, and where there are no rates. */
  readonly table?: { readonly href: string; readonly label: string };
  readonly rates: readonly FieldGroup[];
  readonly costs: readonly FieldGroup[];
  readonly limits: FieldGroup;
  readonly caution: string;
}

type Chosen = Readonly<Record<string, unknown>>;

export function moneyForm(advice: Advice): MoneyForm {
  const set: Chosen = advice.options;
  return {
    basis: basisFields(advice, set),
    currency: currencyField(advice),
    table: tableLink(advice),
    rates: rateGroups(advice),
    costs: costGroups(advice, set),
    limits: limitGroup(advice, set),
    caution: moneyCaution,
  };
}

const group = (heading: string, fields: readonly MoneyField[]): FieldGroup => ({
  heading,
  fields,
  open: fields.some((f) => f.own),
});

function select(
  base: FieldBase,
  choices: readonly { readonly value: string; readonly label: string }[],
  chosen: string,
  nameOfStranger = chosen,
): SelectField {
  // A choice that the list does not hold, such as a table of the user's own, stays chosen.
  const known = choices.some((c) => c.value === chosen);
  const all = known || chosen === '' ? choices : [{ value: chosen, label: nameOfStranger }, ...choices];
  return {
    ...base,
    kind: 'select',
    broad: all.some((c) => c.label.length > 28),
    choices: all.map((c) => ({ ...c, selected: c.value === chosen })),
  };
}

const text = (value: unknown): string => (typeof value === 'string' ? value : '');

function basisFields(advice: Advice, set: Chosen): readonly SelectField[] {
  const { money } = advice;
  if (!money) return [];
  const guidance = { name: 'guidance', label: guidanceLabel, own: false };
  const crop = { name: 'crop', label: cropLabel, help: '', own: false };
  const own = ownGuidanceFile(advice);
  return [
    own === undefined
      ? select(
          { ...guidance, help: money.guidance.title },
          guidanceChoices,
          text(set.guidance) || money.guidance.id,
          money.guidance.title,
        )
      : // The file goes before any choice: choosing is done by leaving it out.
        select(
          {
            ...guidance,
            help: `From ${own}. For a table that comes with the tool, leave the file out under “Change the files”.`,
            own: true,
          },
          [{ value: '', label: `your own: ${money.guidance.title}` }],
          '',
        ),
    select(crop, cropChoices, text(set.crop) || money.crop),
  ];
}

function currencyField({ options: { currency } }: Advice): TextField {
  const own = currency !== usualCurrency;
  return {
    kind: 'text',
    name: 'currency',
    label: currencyLabel,
    help: 'Nothing is converted: the usual prices and costs are US figures, so set your own below.',
    own,
    value: own ? currency : '',
    usual: usualCurrency,
  };
}

/** Name of the file with the user's own guidance, where one was given. */
const ownGuidanceFile = ({ inputs }: Advice): string | undefined =>
  inputs.find((i) => i.what === 'guidance')?.file;

function tableLink(advice: Advice): MoneyForm['table'] {
  const used = guidanceTables.find((g) => g.id === advice.money?.guidance.id);
  if (!used || ownGuidanceFile(advice) !== undefined) return undefined;
  return {
    href: `/guidance/${used.id}.json`,
    label: `${used.short} as a file (JSON)`,
  };
}

function rateGroups({ money, options }: Advice): readonly FieldGroup[] {
  const decisions = money?.decisions ?? [];
  const uses = new Map<string, number>();
  for (const { key } of decisions.flatMap((d) => d.figures)) uses.set(key, (uses.get(key) ?? 0) + 1);
  const field = (f: RateFigure): NumberField => ({
    kind: 'number',
    name: rateFieldName(f.key),
    label: f.label,
    help: capital(f.source),
    own: f.own,
    value: f.own ? typedRate(f.key, f.value) : '',
    usual: typedRate(f.key, f.value),
    unit: isShareFigure(f.key) ? '%' : f.unit.startsWith('per ') ? `${options.currency} ${f.unit}` : f.unit,
  });
  const shared = new Map(
    decisions.flatMap((d) => d.figures.filter((f) => uses.get(f.key) !== 1)).map((f) => [f.key, f]),
  );
  const own = decisions.map((d) =>
    group(`${d.label}: ${d.input}`, d.figures.filter((f) => uses.get(f.key) === 1).map(field)),
  );
  return [...own, group('Crops and interest', [...shared.values()].map(field))].filter(
    (g) => g.fields.length > 0,
  );
}

const groupNames: Readonly<Record<CostField['group'], string>> = {
  laboratory: 'Laboratory',
  'who samples': 'Who samples',
  'in the field': 'In the field',
  'getting there': 'Getting there',
  map: 'Map',
};

function costGroups({ options }: Advice, set: Chosen): readonly FieldGroup[] {
  const { unitSystem: units, currency } = options;
  const field = (f: CostField): MoneyField => {
    const value = set[f.key] ?? f.default;
    const base: FieldBase = {
      name: f.key,
      label: f.label,
      help: capital(f.source),
      own: value !== f.default,
    };
    if (f.kind === 'choice')
      return select(
        base,
        f.choices.map((c) => ({ ...c, label: capital(c.label) })),
        text(value),
      );
    if (f.kind === 'yes/no') return select(base, yesNo, value === true ? 'yes' : 'no');
    return {
      ...base,
      kind: 'number',
      value: base.own && typeof value === 'number' ? typedCost(f, value, units) : '',
      usual: typedCost(f, f.default, units),
      unit: unitOfCost(f, units, currency),
    };
  };
  const groups = [...new Set(ownCostFields.map((f) => f.group))];
  return groups.map((name) =>
    group(groupNames[name], ownCostFields.filter((f) => f.group === name).map(field)),
  );
}

function limitGroup({ analytes, options, money }: Advice, set: Chosen): FieldGroup {
  const most = (set.maxError ?? {}) as Readonly<Record<string, number>>;
  const least =
    typeof set.minRightClass === 'number' && set.minRightClass > 0 ? set.minRightClass : undefined;
  const limit = (name: string, label: string, help: string, unit: string, value?: number): NumberField => ({
    ...{ kind: 'number', name, label, help, unit },
    own: value !== undefined,
    value: value === undefined ? '' : String(Number(value.toPrecision(6))),
    usual: 'no limit',
  });
  return group('Limits on error', [
    ...analytes.map((a) =>
      limit(
        maxErrorFieldName(a.id),
        `Largest error of ${a.label}`,
        'In a typical place.',
        errorUnitShown(a, options.unitSystem),
        most[a.id],
      ),
    ),
    ...(money ? [limit('minRightClass', rightClassLabel, 'Of the property that leads.', '%', least)] : []),
  ]);
}
