import { line, scaleLinear } from 'd3';
import { bottomTicks, valueAxis } from './axes.ts';
import { placeLabels, roughTextWidth } from './labels.ts';
import { chartLayout, plotBottom, plotRight, type ChartSize, type Layout } from './layout.ts';
import { endLabels, readable } from './marks.ts';
import { element, label, picture } from './svg.ts';

/** Yearly figures of one way of timing, in the units of the screen. */
export interface HowOftenPoint {
  readonly years: number;
  readonly sampling: number;
  readonly loss: number;
  readonly total: number;
  readonly nearBest: boolean;
  readonly says: string;
}

export interface HowOftenChartData {
  readonly description: string;
  readonly axisTitle: string;
  readonly points: readonly HowOftenPoint[];
  /** What is advised, each under its name; more than one while tests are being corrected. */
  readonly advised: readonly { readonly years: number; readonly name: string; readonly shortName: string }[];
}

type Scale = (value: number) => number;

/** Yearly cost of sampling, of wrong rates and of both against the years between samplings. */
export function howOftenChart(
  data: HowOftenChartData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const base = chartLayout(options.size);
  const step = base.fontSize + 4;
  const l: Layout = {
    ...base,
    top: base.fontSize + 14 + step * data.advised.length,
    height: (base.size === 'wide' ? 330 : 280) + step * (data.advised.length - 1),
    bottom: 52,
  };
  const years = data.points.map((p) => p.years);
  const [first, last] = [Math.min(...years), Math.max(...years)];
  const most = Math.max(...data.points.flatMap((p) => [p.total, p.sampling, p.loss]));
  const x = scaleLinear([first - 0.4, last + 0.4], [l.left, plotRight(l)]);
  const y = scaleLinear([0, 1.06 * (most || 1)], [plotBottom(l), l.top]);
  const curve = (value: (p: HowOftenPoint) => number) =>
    line<HowOftenPoint>()
      .x((p) => x(p.years))
      .y((p) => y(value(p)))
      .digits(2)(data.points) ?? '';
  const chosen = new Set(data.advised.map((a) => a.years));
  return picture(
    {
      id: options.id,
      width: l.width,
      height: l.height,
      title: 'Yearly cost against years between samplings',
      description: data.description,
      className: 'how-often-chart',
    },
    ...data.points.filter((p) => p.nearBest).map((p) => plateauOf(p.years, l, x)),
    valueAxis(l, y, data.axisTitle),
    bottomTicks(
      l,
      x,
      data.points.map((p) => ({ value: p.years, rows: [String(p.years)] })),
    ),
    label(plotRight(l), l.height - 6, 'years between samplings', {
      class: 'axis-title',
      'text-anchor': 'end',
    }),
    ...data.advised.map((a, i) => advisedMark(a, l, x, l.fontSize + 2 + (i + 1) * step)),
    element('path', { class: 'curve loss', d: curve((p) => p.loss) }),
    element('path', { class: 'curve sampling', d: curve((p) => p.sampling) }),
    element('path', { class: 'curve total', d: curve((p) => p.total) }),
    ...data.points.flatMap((p) =>
      (['loss', 'sampling'] as const).map((part) =>
        element('circle', { class: `dot ${part}`, cx: x(p.years), cy: y(p[part]), r: 3 }),
      ),
    ),
    ...data.points.map((p) => {
      const classes = ['point', 'total', 'grid'];
      if (p.nearBest) classes.push('near-best');
      if (chosen.has(p.years)) classes.push('chosen');
      const r = chosen.has(p.years) ? 6.5 : 4;
      const mark = element('circle', { class: classes.join(' '), cx: x(p.years), cy: y(p.total), r });
      return readable(x(p.years), y(p.total), p.says, `every-${p.years}`, mark);
    }),
    names(data.points[data.points.length - 1], l, y),
  );
}

/** Half a year to either side of a choice as good as the best; neighbours join. */
function plateauOf(years: number, l: Layout, x: Scale): string {
  const from = Math.max(l.left, x(years - 0.5));
  const to = Math.min(plotRight(l), x(years + 0.5));
  return element('rect', {
    class: 'plateau',
    x: from,
    y: l.top,
    width: to - from,
    height: plotBottom(l) - l.top,
  });
}

function advisedMark(a: HowOftenChartData['advised'][number], l: Layout, x: Scale, y: number): string {
  const text = l.size === 'wide' ? a.name : a.shortName;
  const half = roughTextWidth(text, l.fontSize) / 2 + 4;
  const at = x(a.years);
  const middle = Math.min(Math.max(at, half), l.width - half);
  return element(
    'g',
    { class: 'advised' },
    element('line', { x1: at, x2: at, y1: y + 5, y2: plotBottom(l) }),
    label(middle, y, text, { class: 'advised-label', 'text-anchor': 'middle' }),
  );
}

function names(end: HowOftenPoint, l: Layout, y: Scale): string {
  const lossLines = l.size === 'wide' ? ['wrong rates'] : ['wrong', 'rates'];
  return endLabels(
    l,
    placeLabels(
      [
        { y: y(end.total), lines: ['total'], className: 'total' },
        { y: y(end.sampling), lines: ['sampling'], className: 'sampling' },
        { y: y(end.loss), lines: lossLines, className: 'loss' },
      ],
      l.fontSize + 2,
      l.top,
      plotBottom(l),
    ),
  );
}
