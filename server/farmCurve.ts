import { concaveOptions, type FieldOption } from '../src/value/index.ts';
import { NOT_NOW, type FarmPlan } from './farmPlan.ts';

/** One purchase along the way from nothing to all that pays. */
export interface CurveStep {
  readonly field: string;
  readonly from: string;
  readonly to: string;
  /** Money spent so far, or samples taken. */
  readonly spent: number;
  /** Money saved a year so far, before the sampling's own cost. */
  readonly gain: number;
  /** The same after it. */
  readonly net: number;
}

/** What a farm saves against what is spent on it this autumn, each further step bringing less for its money. */
export interface FarmCurve {
  readonly per: 'money' | 'samples';
  /** What has to be sampled whatever it brings; all nought as a rule. */
  readonly start: Pick<CurveStep, 'spent' | 'gain' | 'net'>;
  readonly steps: readonly CurveStep[];
}

/**
 * The upper hull of the farm's gain over its spending: steps along the hulls of all fields in order of what they bring
 * per unit spent, as {@link allocate} buys them. Over samples where only samples are limited, else over money.
 */
export function farmCurve({ fields, budget, options }: FarmPlan): FarmCurve {
  const per = budget.money === undefined && budget.samples !== undefined ? 'samples' : 'money';
  const gainOf = (o: FieldOption) => o.benefit + o.cost / options.yearsBetween;
  const start = { spent: 0, gain: 0, net: 0 };
  const steps: (Omit<CurveStep, 'spent' | 'gain' | 'net'> & {
    readonly more: number;
    readonly gain: number;
    readonly net: number;
  })[] = [];
  for (const { name, choices } of fields) {
    const open = choices.options.filter((o) =>
      choices.fixed === undefined
        ? true
        : choices.fixed === 'leave out'
          ? o.id === NOT_NOW
          : o.id !== NOT_NOW,
    );
    const weightOf = (o: FieldOption) => (per === 'money' ? o.cost : o.samples);
    const byId = new Map(open.map((o) => [o.id, o]));
    const hull = concaveOptions(open.map((o) => ({ ...o, cost: weightOf(o) }))).map((o) => byId.get(o.id)!);
    start.spent += weightOf(hull[0]);
    start.gain += gainOf(hull[0]);
    start.net += hull[0].benefit;
    for (let k = 1; k < hull.length; k++)
      steps.push({
        field: name,
        from: hull[k - 1].id,
        to: hull[k].id,
        more: weightOf(hull[k]) - weightOf(hull[k - 1]),
        gain: gainOf(hull[k]) - gainOf(hull[k - 1]),
        net: hull[k].benefit - hull[k - 1].benefit,
      });
  }
  steps.sort((a, b) => b.net / b.more - a.net / a.more);
  let [spent, gain, net] = [start.spent, start.gain, start.net];
  return {
    per,
    start,
    steps: steps.map(({ more, ...s }) => ({
      ...s,
      spent: (spent += more),
      gain: (gain += s.gain),
      net: (net += s.net),
    })),
  };
}
