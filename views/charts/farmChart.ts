import { line, scaleLinear, type ScaleLinear } from 'd3';
import { fixed } from '../format.ts';
import { bottomTicks, valueAxis } from './axes.ts';
import { placeLabels, roughTextWidth, wrapped } from './labels.ts';
import { chartLayout, plotBottom, plotRight, type ChartSize, type Layout } from './layout.ts';
import { endLabels, readable } from './marks.ts';
import { element, label, picture } from './svg.ts';

/** A place on the curve. */
export interface FarmPoint {
  readonly spent: number;
  readonly gain: number;
}

export interface FarmChartData {
  readonly description: string;
  /** `USD saved a year`. */
  readonly axisTitle: string;
  /** `USD spent this autumn`. */
  readonly bottomTitle: string;
  /** From nothing, or from what is settled, to all that pays; both rise. */
  readonly curve: readonly FarmPoint[];
  readonly curveName: string;
  /** Places that can be read off. */
  readonly marks: readonly (FarmPoint & { readonly id: string; readonly says: string })[];
  /** Yearly cost of each unit spent, for the line beneath; absent where it is taken off already. */
  readonly ownCost?: { readonly perSpent: number; readonly name: string };
  readonly budget?: { readonly spent: number; readonly name: string };
  readonly plan: FarmPoint & { readonly says: string };
}

type Scale = (value: number) => number;

/** Far to the right of all that pays there is nothing to see. */
const FURTHEST = 1.3;

/** What the farm saves a year against what is spent on sampling it, with the budget and the plan marked. */
export function farmChart(
  data: FarmChartData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const end = data.curve[data.curve.length - 1];
  const gains = [...data.curve.map((p) => p.gain), data.plan.gain];
  const top = Math.max(...gains, (data.ownCost?.perSpent ?? 0) * end.spent, 1);
  const l = farmLayout(options.size, top);
  const budget = data.budget?.spent;
  const reach = Math.max(end.spent, data.plan.spent, 1);
  const right = budget !== undefined && budget > reach ? Math.min(budget, FURTHEST * reach) : reach;
  const x = scaleLinear([0, 1.03 * right], [l.left, plotRight(l)]);
  const y = scaleLinear([Math.min(0, ...gains), top * 1.05], [plotBottom(l), l.top]);
  const path = line<FarmPoint>()
    .x((p) => x(p.spent))
    .y((p) => y(p.gain))
    .digits(2);
  const inside = budget === undefined || budget <= 1.03 * right;
  return picture(
    {
      id: options.id,
      width: l.width,
      height: l.height,
      title: 'What the farm saves against what is spent',
      description: data.description,
      className: 'farm-chart',
    },
    budget !== undefined && inside ? within(x(budget), l) : '',
    valueAxis(l, y, data.axisTitle),
    bottomTicks(
      l,
      x,
      roomyTicks(l, x).map((value) => ({ value, rows: [fixed(value, 0)] })),
    ),
    label(plotRight(l), l.height - 6, data.bottomTitle, { class: 'axis-title', 'text-anchor': 'end' }),
    data.budget ? budgetLine(data.budget, l, x, inside) : '',
    data.ownCost ? ownCostLine(data.ownCost.perSpent, end.spent, x, y) : '',
    element('path', { class: 'curve farm-gain', d: path(data.curve) ?? '' }),
    ...data.marks.map((m) =>
      readable(
        x(m.spent),
        y(m.gain),
        m.says,
        m.id,
        element('circle', { class: 'dot farm-gain', cx: x(m.spent), cy: y(m.gain), r: 3 }),
      ),
    ),
    readable(
      x(data.plan.spent),
      y(data.plan.gain),
      data.plan.says,
      'plan',
      element('circle', { class: 'point chosen', cx: x(data.plan.spent), cy: y(data.plan.gain), r: 6.5 }),
    ),
    names(data, l, x, y),
  );
}

/** Room on the left for the largest value. */
function farmLayout(size: ChartSize, top: number): Layout {
  const base = chartLayout(size);
  return {
    ...base,
    left: Math.max(base.left, roughTextWidth(fixed(top, 0), base.fontSize) + 16),
    top: 2 * base.fontSize + 22,
    bottom: 52,
    height: base.height - 30,
  };
}

/** Round values under the plot, as many as leave their labels apart. */
function roomyTicks(l: Layout, x: ScaleLinear<number, number>): readonly number[] {
  for (let n = l.size === 'wide' ? 8 : 6; n > 1; n--) {
    const ticks = x.ticks(n).filter(Number.isInteger);
    const widest = Math.max(...ticks.map((t) => roughTextWidth(fixed(t, 0), l.fontSize)));
    if (ticks.length < 2 || x(ticks[1]) - x(ticks[0]) > widest + 10) return ticks;
  }
  return [0];
}

/** What the budget reaches, shaded. */
const within = (to: number, l: Layout): string =>
  element('rect', {
    class: 'plateau',
    x: l.left,
    y: l.top,
    width: Math.max(0, to - l.left),
    height: plotBottom(l) - l.top,
  });

function budgetLine(
  { spent, name }: NonNullable<FarmChartData['budget']>,
  l: Layout,
  x: Scale,
  inside: boolean,
): string {
  const at = inside ? x(spent) : plotRight(l);
  const text = inside ? name : `${name} →`;
  const half = roughTextWidth(text, l.fontSize) / 2 + 4;
  const middle = Math.min(Math.max(at, half), l.width - half);
  const rule = element('line', { x1: at, x2: at, y1: l.top - 7, y2: plotBottom(l) });
  return element(
    'g',
    { class: 'advised' },
    inside ? rule : '',
    label(middle, l.top - 12, text, { class: 'advised-label', 'text-anchor': 'middle' }),
  );
}

const ownCostLine = (perSpent: number, to: number, x: Scale, y: Scale): string =>
  element('line', {
    class: 'curve sampling',
    x1: x(0),
    y1: y(0),
    x2: x(to),
    y2: y(perSpent * to),
  });

/** The lines at their ends; the plan beside its disc, on the side that the curve leaves free. */
function names(data: FarmChartData, l: Layout, x: Scale, y: Scale): string {
  const end = data.curve[data.curve.length - 1];
  const room = l.right - 10;
  const step = l.fontSize + 2;
  const ends = [
    { y: y(end.gain), lines: wrapped(data.curveName, room, l.fontSize), className: 'farm-gain' },
    ...(data.ownCost
      ? [
          {
            y: y(data.ownCost.perSpent * end.spent),
            lines: wrapped(data.ownCost.name, room, l.fontSize),
            className: 'sampling',
          },
        ]
      : []),
  ];
  const width = roughTextWidth('this plan', l.fontSize);
  const at = x(data.plan.spent);
  const onRight = at + 12 + width < plotRight(l);
  const plan = label(
    onRight ? at + 12 : at - 12,
    Math.min(y(data.plan.gain) + l.fontSize + 8, plotBottom(l) - 7),
    'this plan',
    {
      class: 'name plan',
      'text-anchor': onRight ? 'start' : 'end',
    },
  );
  return endLabels(l, placeLabels(ends, step, l.top, plotBottom(l))) + plan;
}
