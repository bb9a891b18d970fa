/** The economic half of the result page as strings in the order they stand. */
import type { Advice, DesignOutcome, Interval } from '../../src/advise/advice.ts';
import type { DecisionAdvice } from '../../src/advise/moneyAdvice.ts';
import { formatSoilTest } from './soilTestText.ts';
import {
  areaUnitShort,
  capital,
  DASH,
  fixed,
  formatHours,
  formatMoney,
  formatPercent,
  formatWay,
  perArea,
  toPerArea,
} from '../format.ts';
import { chosenDesign } from './chartData.ts';
import { figures, type Figure } from './figure.ts';
import { howOftenChartData, tornadoChartData } from './moneyData.ts';
import {
  costItems,
  lossWithAdvised,
  moneyCaution,
  netGain,
  sayLeadingDecision,
  sayWorth,
} from './moneyText.ts';

export interface SmallTable {
  /** `wideOnly` columns repeat the notes of the cell before, which a phone shows instead. */
  readonly columns: readonly { readonly title: string; readonly note: string; readonly wideOnly?: boolean }[];
  readonly rows: readonly {
    readonly label: string;
    readonly note: string;
    readonly chosen: boolean;
    readonly cells: readonly Cell[];
  }[];
}

interface Cell {
  readonly value: string;
  readonly note?: string;
  /** Shown only where a column has been left out for want of room. */
  readonly narrowNote?: boolean;
}

export interface WorthModel {
  readonly sentences: readonly string[];
  /** Absent when no design says what its tests are worth. */
  readonly designs?: SmallTable;
  readonly decisions: SmallTable;
  readonly details: readonly { readonly heading: string; readonly sentences: readonly string[] }[];
  readonly missing: readonly string[];
  readonly caution: string;
}

export interface ItemisedCost {
  readonly heading: string;
  readonly items: readonly { readonly label: string; readonly note: string; readonly amount: string }[];
  readonly total: string;
  readonly perArea: string;
}

export interface MoneyModel {
  readonly worth?: WorthModel;
  readonly pay?: {
    readonly heading: string;
    readonly figure?: Figure;
    readonly caption: string;
    readonly sentences: readonly string[];
  };
  readonly often?: {
    readonly figure?: Figure;
    readonly caption: string;
    readonly sentences: readonly string[];
    readonly assumptions: readonly string[];
  };
  readonly itemised?: ItemisedCost;
}

/** Sections about money; each absent when the answer holds nothing for it. */
export function moneyModel(advice: Advice): MoneyModel {
  return {
    worth: worthModel(advice),
    pay: payModel(advice),
    often: oftenModel(advice),
    itemised: itemisedCost(advice),
  };
}

function worthModel(advice: Advice): WorthModel | undefined {
  const { money } = advice;
  if (!money) return undefined;
  const { title, region } = money.guidance;
  return {
    sentences: [sayWorth(advice), sayLeadingDecision(advice), `Reckoned with ${title} (${region}).`].filter(
      (s) => s !== '',
    ),
    designs: worthByDesign(advice),
    decisions: worthByDecision(advice),
    details: money.decisions.map((d) => ({
      heading: `${d.label}: ${d.input}`,
      sentences: [sayClasses(d, advice), ...d.assumptions, d.source].filter((s) => s !== ''),
    })),
    missing: money.missing,
    caution: moneyCaution,
  };
}

const bareMoney = (perHa: number, { options }: Advice): string =>
  Number.isFinite(perHa) ? fixed(toPerArea(perHa, options.unitSystem), 2) : DASH;

const bareRange = (i: Interval, advice: Advice): string =>
  `${bareMoney(i.low, advice)} to ${bareMoney(i.high, advice)}`;

/** `USD/ac a year`. */
const perYear = ({ options }: Advice): string =>
  `${options.currency}/${areaUnitShort(options.unitSystem)} a year`;

function worthByDesign(advice: Advice): SmallTable | undefined {
  const { cells } = advice.options;
  const rows = advice.designs
    .filter((d) => d.kind !== 'cells' || cells === 'choose' || d.id === advice.verdict.designId)
    .flatMap((d) => {
      const net = netGain(d);
      if (!net) return [];
      return [
        {
          label: capital(d.label),
          note: noteOf(d, advice),
          chosen: d.id === advice.verdict.designId,
          cells: [
            { value: bareMoney(d.valueOfInformation?.mid ?? NaN, advice) },
            { value: bareMoney(d.cost.perHaYear, advice) },
            { value: bareMoney(net.mid, advice), note: bareRange(net, advice), narrowNote: true },
            { value: bareRange(net, advice) },
          ],
        },
      ];
    });
  if (rows.length === 0) return undefined;
  const note = perYear(advice);
  return {
    columns: [
      { title: 'Tests save', note },
      { title: 'Sampling costs', note },
      { title: 'Net gain', note },
      { title: '80 % interval', note: 'of the net gain', wideOnly: true },
    ],
    rows,
  };
}

function noteOf(d: DesignOutcome, advice: Advice): string {
  if (d.id === advice.verdict.designId) return 'advised';
  if (!d.admissible) return d.whyNot ?? 'left out by your limits';
  return d.nearBest ? 'as good' : '';
}

function worthByDecision(advice: Advice): SmallTable {
  const note = perYear(advice);
  const range = (i: Interval | undefined): Cell =>
    i && Number.isFinite(i.mid)
      ? { value: bareMoney(i.mid, advice), note: bareRange(i, advice) }
      : { value: DASH };
  return {
    columns: [
      { title: 'Lost without tests', note },
      { title: 'Lost with the best single rate', note },
      { title: 'Lost with the advised design', note },
      { title: 'Blocks in their right class', note: 'advised design' },
    ],
    rows: (advice.money?.decisions ?? []).map((d) => {
      const right = d.rightClass[advice.verdict.designId];
      return {
        label: capital(d.input),
        note: `by ${d.label}`,
        chosen: false,
        cells: [
          range(d.noSampling),
          range(d.singleRate),
          range(lossWithAdvised(advice, d)),
          right
            ? {
                value: formatPercent(right.mid),
                note: `${fixed(100 * right.low, 0)} to ${formatPercent(right.high)}`,
              }
            : { value: DASH },
        ],
      };
    }),
  };
}

/** `Classes: low below 15 ppm, maintenance to 30 ppm, high above.` */
function sayClasses({ analyte, classes }: DecisionAdvice, advice: Advice): string {
  const bounded = classes.flatMap((c) => (c.below === undefined || !Number.isFinite(c.below) ? [] : [c]));
  const top = classes.find((c) => c.below === undefined || !Number.isFinite(c.below));
  if (bounded.length === 0) return '';
  const shown = (below: number | undefined) => formatSoilTest(analyte, below ?? NaN, advice);
  const listed = bounded.map((c, i) => `${c.label} ${i === 0 ? 'below' : 'to'} ${shown(c.below)}`);
  return `Classes: ${[...listed, ...(top ? [`${top.label} above`] : [])].join(', ')}.`;
}

function payModel(advice: Advice): MoneyModel['pay'] {
  const s = advice.money?.sensitivity;
  if (!s) return undefined;
  const data = tornadoChartData(advice);
  const per = advice.options.unitSystem === 'us' ? 'an acre' : 'a hectare';
  return {
    heading: `What would have to be true for ${s.rivalLabel} to pay?`,
    figure: data && figures.tornado(data, 'pay-chart'),
    caption: `Each bar changes one thing and leaves the rest as it stands. Its length is the money ${per} and year that ${s.rivalLabel} would gain or lose against what is advised, between the two levels written at its ends; the strong colour is where it would pay.`,
    sentences: s.sentences,
  };
}

function oftenModel(advice: Advice): MoneyModel['often'] {
  const often = advice.money?.howOften;
  if (!often) return undefined;
  const data = howOftenChartData(advice);
  return {
    figure: data && figures.howOften(data, 'often-chart'),
    caption:
      'Sampling more often costs more each year; waiting longer lets the tests stray from what they were, so that rates are wrong by more. The shaded years are as good as the best within the tolerance.',
    sentences: often.sentences,
    assumptions: often.assumptions,
  };
}

function itemisedCost(advice: Advice): ItemisedCost | undefined {
  const d = chosenDesign(advice);
  const items = d ? costItems(d) : [];
  if (items.length === 0) return undefined;
  const { unitSystem: units, currency, yearsBetween } = advice.options;
  const notes: Readonly<Record<string, string>> = {
    Laboratory: `${d.samples} ${d.samples === 1 ? 'sample' : 'samples'}`,
    'Work in the field': `${formatWay(d.cost.walkM, units)} between stops`,
  };
  return {
    heading: `One sampling, item by item: ${d.label}`,
    items: items.map(({ label, amount }) => ({
      label,
      note: notes[label] ?? '',
      amount: formatMoney(amount, currency),
    })),
    total: formatMoney(d.cost.total, currency),
    perArea: `${formatHours(d.cost.hours)} in all; ${perArea(d.cost.perHa, units, currency)}, or ${perArea(d.cost.perHaYear, units, currency)} a year over ${yearsBetween} ${yearsBetween === 1 ? 'year' : 'years'}`,
  };
}
