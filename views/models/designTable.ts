import type { Advice, DesignOutcome } from '../../src/advise/advice.ts';
import {
  areaUnitShort,
  capital,
  DASH,
  fixed,
  formatArea,
  formatDistance,
  formatHours,
  formatMoney,
  toPerArea,
} from '../format.ts';
import { leadFirst } from './chartData.ts';
import { formatError } from './errorText.ts';

export interface DesignTable {
  /** `extra` columns are left out on paper. */
  readonly columns: readonly { readonly title: string; readonly note: string; readonly extra?: boolean }[];
  readonly rows: readonly {
    readonly label: string;
    readonly cells: readonly string[];
    readonly chosen: boolean;
    readonly nearBest: boolean;
    readonly note: string;
  }[];
}

/** All designs with all their figures: what the two charts show, as a table. */
export function designTable(advice: Advice): DesignTable {
  const { unitSystem: units, currency } = advice.options;
  const per = areaUnitShort(units);
  const analytes = leadFirst(advice).filter((a) => advice.designs.some((d) => d.errors[a.id]));
  const money = (perHa: number) => (Number.isFinite(perHa) ? fixed(toPerArea(perHa, units), 2) : DASH);
  return {
    columns: [
      { title: 'Samples', note: '' },
      { title: 'Area each', note: '' },
      { title: 'Apart', note: '' },
      { title: 'One sampling', note: currency },
      { title: 'Work', note: '' },
      { title: 'Sampling', note: `${currency}/${per} a year` },
      { title: 'Wrong rates', note: `${currency}/${per} a year` },
      { title: 'Together', note: `${currency}/${per} a year` },
      ...analytes.flatMap((a, i) => [
        { title: `${a.label} error`, note: 'typical place', extra: i > 0 },
        { title: `${a.label} error`, note: 'worst tenth', extra: i > 0 },
      ]),
    ],
    rows: advice.designs.map((d) => ({
      label: capital(d.label),
      chosen: d.id === advice.verdict.designId,
      nearBest: d.nearBest,
      note: noteOf(d, advice),
      cells: [
        String(d.samples),
        formatArea(d.haPerSample, units),
        d.spacingM === undefined ? DASH : formatDistance(d.spacingM, units),
        formatMoney(d.cost.total, currency).replace(`\u00a0${currency}`, ''),
        formatHours(d.cost.hours),
        money(d.cost.perHaYear),
        money(d.lossPerHaYear.mid),
        money(d.totalPerHaYear.mid),
        ...analytes.flatMap((a) => {
          const e = d.errors[a.id];
          return e ? [formatError(a, e.typical.mid, units), formatError(a, e.badSpot, units)] : [DASH, DASH];
        }),
      ],
    })),
  };
}

function noteOf(d: DesignOutcome, advice: Advice): string {
  if (d.id === advice.verdict.designId) return 'advised';
  if (!d.admissible) return d.whyNot ?? 'left out by your limits';
  if (d.nearBest) return 'as good';
  return d.zonesFrom === 'not drawn yet' ? 'zones not drawn yet' : '';
}
