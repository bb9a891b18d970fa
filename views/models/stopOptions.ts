/** The assumptions about where stops may lie and where the walk begins that are chosen, ticked or typed as text. */
import { adviceOptionsSchema, type AdviceOptions } from '../../src/advise/options.ts';
import { gates, isGate, type Gate } from '../../src/advise/startPlace.ts';
import type { Advice } from '../../src/advise/advice.ts';
import type { Typed } from './questionForm.ts';

const sides: Readonly<Record<Gate, string>> = {
  N: 'north side',
  NE: 'north-east corner',
  E: 'east side',
  SE: 'south-east corner',
  S: 'south side',
  SW: 'south-west corner',
  W: 'west side',
  NW: 'north-west corner',
};

export const startLabel = 'Where you come into the field';
export const startPlaceLabel = 'Or the gate’s coordinates';
export const lastLabel = 'Places of a grid’s stops';
const lastChoices = {
  new: 'new ones',
  same: 'last time’s again',
  offset: 'half a spacing from last time’s',
} as const satisfies Readonly<Record<AdviceOptions['lastPositions'], string>>;

export const stayLabel = 'A stop moved off the headland or other ground stays in its soil unit';

/** Whether a form field is one of these. */
export const isStopField = (name: string): boolean =>
  name === 'startAt' || name === 'startPlace' || name === 'lastPositions' || name === 'stayInSoilUnit';

/** These options of a form, and what stands in the way in plain sentences. Coordinates go before the side chosen. */
export function readStopOptions(typed: Typed): {
  readonly options: Partial<Record<keyof AdviceOptions, unknown>>;
  readonly problems: readonly string[];
} {
  const options: Partial<Record<keyof AdviceOptions, unknown>> = {};
  const problems: string[] = [];
  const { shape } = adviceOptionsSchema;
  const startAt = typed.startPlace || typed.startAt || '';
  if (startAt !== '' && !shape.startAt.safeParse(startAt).success)
    problems.push(
      typed.startPlace
        ? `“${startPlaceLabel}” needs two numbers such as -93.5012, 42.1033, not “${startAt}”.`
        : `“${startLabel}” has no choice “${startAt}”: choose one of those shown.`,
    );
  else if (startAt !== '') options.startAt = startAt;
  const stay = shape.stayInSoilUnit.safeParse(typed.stayInSoilUnit || undefined);
  if (!stay.success)
    problems.push(`“${stayLabel}” has no choice “${typed.stayInSoilUnit}”: choose one of those shown.`);
  else if (stay.data) options.stayInSoilUnit = true;
  const last = typed.lastPositions ?? '';
  if (last !== '' && !Object.hasOwn(lastChoices, last))
    problems.push(`“${lastLabel}” has no choice “${last}”: choose one of those shown.`);
  else if (last !== '' && last !== 'new') options.lastPositions = last;
  return { options, problems };
}

/** What the form of assumptions offers about stops besides its numbers. */
export interface StopForm {
  readonly label: string;
  readonly choices: readonly { readonly value: string; readonly label: string; readonly selected: boolean }[];
  readonly place: { readonly label: string; readonly value: string; readonly help: string };
  /** Only where there are points of last time. */
  readonly last?: { readonly label: string; readonly choices: StopForm['choices'] };
  /** Only where there are soil units. */
  readonly stay?: { readonly label: string; readonly checked: boolean };
}

export function stopForm({ options, field }: Pick<Advice, 'options' | 'field'>): StopForm {
  const { startAt, stayInSoilUnit } = options;
  return {
    label: startLabel,
    choices: [
      { value: '', label: 'no matter (south-west)', selected: !isGate(startAt) },
      ...(Object.keys(gates) as Gate[]).map((g) => ({
        value: g,
        label: sides[g],
        selected: g === startAt,
      })),
    ],
    place: {
      label: startPlaceLabel,
      value: isGate(startAt) ? '' : startAt,
      help:
        field.frame.kind === 'geographic'
          ? 'Longitude, latitude.'
          : 'Easting, northing in metres, as in your files.',
    },
    last:
      field.oldPoints.length > 0
        ? {
            label: lastLabel,
            choices: Object.entries(lastChoices).map(([value, label]) => ({
              ...{ value, label, selected: value === options.lastPositions },
            })),
          }
        : undefined,
    stay: field.soilUnits.length > 1 ? { label: stayLabel, checked: stayInSoilUnit } : undefined,
  };
}
