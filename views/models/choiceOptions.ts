/** The assumptions that are chosen or ticked instead of typed: whole cells, old points, scales, values set aside. */
import type { Advice } from '../../src/advise/advice.ts';
import { adviceOptionsSchema, type AdviceOptions } from '../../src/advise/options.ts';
import { isMoneyField } from './moneyOptions.ts';
import type { Typed } from './questionForm.ts';
import { isStopField, readStopOptions, stopForm, type StopForm } from './stopOptions.ts';

type Cells = AdviceOptions['cells'];
type Mean = AdviceOptions['mean'];
type Scale = AdviceOptions['scales'][string];

export interface Choice<V extends string> {
  readonly value: V;
  readonly label: string;
}

/** What can be done with mixed samples of whole grid cells. */
export const cellsChoices: readonly Choice<Cells>[] = [
  { value: 'compare', label: 'show for comparison' },
  { value: 'choose', label: 'may be advised' },
  { value: 'leave out', label: 'leave out' },
];

/** How the mean of a property may go over the field. */
export const meanChoices: readonly Choice<Mean>[] = [
  { value: 'choose', label: 'a linear trend where it is clear' },
  { value: 'constant', label: 'always constant' },
  { value: 'linear', label: 'always a linear trend' },
];

export const scaleWords: Readonly<Record<Scale, string>> = {
  raw: 'as measured',
  log: 'logarithm',
  normalScore: 'normal scores',
};

const scaleField = /^scale\.(.+)$/;

/** Name of the select for a property's scale. */
export const scaleFieldName = (id: string): string => `scale.${id}`;

/** Whether a form field is one of these, or of those about money. */
export const isChoiceField = (name: string): boolean =>
  name === 'cells' ||
  name === 'mean' ||
  name === 'reuseOldPoints' ||
  name === 'setAside' ||
  scaleField.test(name) ||
  isStopField(name) ||
  isMoneyField(name);

/** Values set aside as they come from a form or an address: `P:17 K:40`, also with commas. */
export function setAsideKeys(text: string): { readonly keys: readonly string[]; readonly strange: string } {
  const key = /([^\s,;:][^,;:]*):(\d+)(?=[\s,;]|$)/g;
  const keys = [...text.matchAll(key)].map((m) => `${m[1]}:${m[2]}`);
  return {
    keys: [...new Set(keys)],
    strange: text
      .replace(key, '')
      .replace(/[\s,;]+/g, ' ')
      .trim(),
  };
}

/** These options of a form, and what stands in the way in plain sentences. */
export function readChoices(typed: Typed): {
  readonly options: Partial<Record<keyof AdviceOptions, unknown>>;
  readonly problems: readonly string[];
} {
  const options: Partial<Record<keyof AdviceOptions, unknown>> = {};
  const problems: string[] = [];
  const usual = adviceOptionsSchema.parse({});
  const { cells, mean, reuseOldPoints, setAside } = typed;
  const refuse = (what: string, text: string) =>
    problems.push(`“${what}” has no choice “${text}”: choose one of those shown.`);
  if (cells && !cellsChoices.some((c) => c.value === cells)) refuse(cellsLabel, cells);
  else if (cells && cells !== usual.cells) options.cells = cells;
  if (mean && !meanChoices.some((c) => c.value === mean)) refuse(meanLabel, mean);
  else if (mean && mean !== usual.mean) options.mean = mean;
  const reuse = adviceOptionsSchema.shape.reuseOldPoints.safeParse(reuseOldPoints || undefined);
  if (!reuse.success) refuse(reuseLabel, reuseOldPoints);
  else if (reuse.data !== usual.reuseOldPoints) options.reuseOldPoints = reuse.data;
  const scales = Object.entries(typed).flatMap(([name, value]) => {
    const id = scaleField.exec(name)?.[1];
    if (id === undefined || value === '') return [];
    if (!Object.hasOwn(scaleWords, value)) refuse(`Scale of ${id}`, value);
    return [[id, value] as const];
  });
  if (scales.length > 0) options.scales = Object.fromEntries(scales);
  const { keys, strange } = setAsideKeys(setAside ?? '');
  if (strange !== '')
    problems.push(`Values are set aside by property and row, such as P:17; “${strange}” names none.`);
  else if (!adviceOptionsSchema.shape.setAside.safeParse(keys).success)
    problems.push('More values are set aside than can be reckoned with; correct the file instead.');
  if (keys.length > 0) options.setAside = keys;
  const stops = readStopOptions(typed);
  problems.push(...stops.problems);
  Object.assign(options, stops.options);
  return { options, problems };
}

export const cellsLabel = 'Mixed samples of whole cells';
export const meanLabel = 'Mean over the field, of properties with 20 tests or more';
export const reuseLabel = 'Last time’s points still stand: only add new stops beside them';

export interface ScaleSelect {
  readonly name: string;
  readonly choices: readonly (Choice<Scale | ''> & { readonly selected: boolean })[];
}

/** The select of a measured property's scale; the rule's own choice is named while the rule decides. */
export function scaleSelect(
  { id, scale }: { readonly id: string; readonly scale: Scale },
  options: AdviceOptions,
): ScaleSelect {
  const asked = options.scales[id];
  const rule = asked === undefined ? `by the rule (currently ${scaleWords[scale]})` : 'by the rule';
  return {
    name: scaleFieldName(id),
    choices: [
      { value: '', label: rule, selected: asked === undefined },
      ...(Object.keys(scaleWords) as Scale[]).map((value) => ({
        value,
        label: scaleWords[value],
        selected: asked === value,
      })),
    ],
  };
}

export interface AsideValue {
  readonly key: string;
  readonly row: string;
}

/** Values the user set aside of one property. */
export const setAsideOf = (options: AdviceOptions, id: string): readonly AsideValue[] =>
  options.setAside.filter((key) => propertyOf(key) === id).map((key) => ({ key, row: key.split(':')[1] }));

const propertyOf = (key: string): string => key.split(':')[0];

/** What the form of assumptions offers besides its numbers. */
export interface ChoiceForm {
  readonly cells: {
    readonly label: string;
    readonly choices: readonly (Choice<Cells> & { readonly selected: boolean })[];
  };
  /** Only where there are points of last time. */
  readonly mean?: {
    readonly label: string;
    readonly choices: readonly (Choice<Mean> & { readonly selected: boolean })[];
  };
  /** Only where there are points of last time. */
  readonly reuse?: { readonly label: string; readonly checked: boolean };
  /** Set aside of properties that have no section of their own any more: kept in the form, and shown. */
  readonly strayAside: readonly { readonly key: string; readonly label: string }[];
  readonly stops: StopForm;
}

export function choiceForm(advice: Advice): ChoiceForm {
  const { options } = advice;
  const known = new Set(advice.analytes.map((a) => a.id));
  return {
    cells: {
      label: cellsLabel,
      choices: cellsChoices.map((c) => ({ ...c, selected: c.value === options.cells })),
    },
    mean:
      advice.field.oldPoints.length > 0
        ? {
            label: meanLabel,
            choices: meanChoices.map((c) => ({ ...c, selected: c.value === options.mean })),
          }
        : undefined,
    reuse:
      advice.field.oldPoints.length > 0 ? { label: reuseLabel, checked: options.reuseOldPoints } : undefined,
    strayAside: options.setAside
      .filter((key) => !known.has(propertyOf(key)))
      .map((key) => ({ key, label: `${propertyOf(key)}, row ${key.split(':')[1]}` })),
    stops: stopForm(advice),
  };
}

/** `2 test values set aside by you`; nothing when there is none. */
export function sayAside(count: number): string {
  return count === 0 ? '' : `${count} test ${count === 1 ? 'value' : 'values'} set aside by you`;
}
