import type { Advice, AnalyteAdvice, DesignOutcome } from '../../src/advise/advice.ts';
import {
  areaUnitShort,
  capital,
  DASH,
  fixed,
  formatDistance,
  formatHours,
  formatMoney,
  toPerArea,
} from '../format.ts';
import { leadFirst } from './chartData.ts';
import { formatErrorPair } from './errorText.ts';

export interface DesignTable {
  /** `extra` columns are left out on paper. */
  readonly columns: readonly { readonly title: string; readonly note: string; readonly extra?: boolean }[];
  readonly rows: readonly DesignRow[];
  /** Mixed samples of whole cells, in a table of their own. */
  readonly cellRows: readonly DesignRow[];
  readonly cellsTitle: string;
  /** Whether that table may hold the advice, so that it stands open. */
  readonly cellsOpen: boolean;
}

interface DesignRow {
  readonly label: string;
  readonly cells: readonly string[];
  readonly chosen: boolean;
  readonly nearBest: boolean;
  readonly note: string;
}

/** All designs with all their figures: what the two charts show, as a table. */
export function designTable(advice: Advice): DesignTable {
  const { unitSystem: units, currency } = advice.options;
  const per = areaUnitShort(units);
  const analytes = leadFirst(advice).filter((a) => advice.designs.some((d) => d.errors[a.id]));
  const money = (perHa: number) => (Number.isFinite(perHa) ? fixed(toPerArea(perHa, units), 2) : DASH);
  const errorColumns = analytes.map((a, i) => ({
    title: `${a.label} error`,
    note: 'typical / worst tenth',
    extra: i > 0,
  }));
  const error = (d: DesignOutcome, a: AnalyteAdvice) => {
    const e = d.errors[a.id];
    return e ? formatErrorPair(a, e, units) : DASH;
  };
  const row = (d: DesignOutcome): DesignRow => ({
    label: capital(d.label),
    chosen: d.id === advice.verdict.designId,
    nearBest: d.nearBest && d.admissible,
    note: noteOf(d, advice),
    cells: [
      String(d.samples),
      money(d.totalPerHaYear.mid),
      money(d.cost.perHaYear),
      money(d.lossPerHaYear.mid),
      ...analytes.slice(0, 1).map((a) => error(d, a)),
      formatMoney(d.cost.total, currency).replace(`\u00a0${currency}`, ''),
      formatHours(d.cost.hours),
      d.spacingM === undefined ? DASH : formatDistance(d.spacingM, units),
      ...analytes.slice(1).map((a) => error(d, a)),
    ],
  });
  const wholeCells = (d: DesignOutcome) => d.kind === 'cells';
  const mayBeAdvised = advice.options.cells === 'choose';
  return {
    columns: [
      { title: 'Samples', note: '' },
      { title: 'Together', note: `${currency}/${per} a year` },
      { title: 'Sampling', note: `${currency}/${per} a year` },
      { title: 'Wrong rates', note: `${currency}/${per} a year` },
      ...errorColumns.slice(0, 1),
      { title: 'One sampling', note: currency },
      { title: 'Work', note: '' },
      { title: 'Apart', note: '' },
      ...errorColumns.slice(1),
    ],
    rows: advice.designs.filter((d) => !wholeCells(d)).map(row),
    cellRows: advice.designs.filter(wholeCells).map(row),
    cellsTitle: `Mixed samples of whole cells${mayBeAdvised ? '' : ', for comparison'}`,
    cellsOpen: mayBeAdvised,
  };
}

function noteOf(d: DesignOutcome, advice: Advice): string {
  if (d.id === advice.verdict.designId) return 'advised';
  // The table of cells says it in its heading.
  if (d.kind === 'cells' && advice.options.cells === 'compare') return '';
  if (!d.admissible) return d.whyNot ?? 'left out by your limits';
  if (d.nearBest) return 'as good';
  return d.zonesFrom === 'not drawn yet' ? 'zones not drawn yet' : '';
}
