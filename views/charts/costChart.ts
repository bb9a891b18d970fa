import { scaleLinear } from 'd3';
import type { DesignKind, Interval } from '../../src/advise/advice.ts';
import { valueAxis } from './axes.ts';
import { densityPaths } from './densityCurve.ts';
import { densityAxis, densityScale, type DensityScale } from './densityScale.ts';
import { placeLabels } from './labels.ts';
import { chartLayout, plotBottom, plotRight, type ChartSize, type Layout } from './layout.ts';
import { advisedLine, designMark, endLabels, nameRoom, otherNames, readable } from './marks.ts';
import { element, picture } from './svg.ts';

/** What one design costs a year on one acre or hectare, in the units of the screen. */
export interface CostPoint {
  readonly id: string;
  readonly kind: DesignKind;
  readonly label: string;
  readonly samples: number;
  readonly areaPerSample: number;
  readonly sampling: number;
  readonly loss: number;
  readonly total: Interval;
  readonly chosen: boolean;
  readonly nearBest: boolean;
  readonly says: string;
}

export interface CostChartData {
  readonly axisTitle: string;
  readonly shortAxisTitle: string;
  readonly description: string;
  readonly areaUnit: string;
  readonly fieldArea: number;
  readonly advised: string;
  readonly points: readonly CostPoint[];
}

type Y = (value: number) => number;

/**
 * Top of the money axis: room for the bands, but never so high that the lowest total and its neighbours
 * can't be told apart. What is dearer runs out of the picture; its figures stand in the table.
 */
function ceiling(points: readonly CostPoint[]): number {
  const totals = points.map((p) => p.total.mid);
  const bands = Math.max(...points.map((p) => p.total.high));
  return 1.05 * (Math.min(bands, Math.max(...totals) * 1.35, Math.min(...totals) * 6) || 1);
}

/**
 * Cost against density: what the sampling costs, what wrong rates are expected to cost, and their sum with the
 * belief's 80 % band. Designs as good as the best within the tolerance are filled, and their grids shaded.
 */
export function costChart(
  data: CostChartData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const l = chartLayout(options.size);
  const x = densityScale(
    l,
    data.points.map((p) => p.areaPerSample),
  );
  const y = scaleLinear([0, ceiling(data.points)], [plotBottom(l), nameRoom(l)]);
  const inside = (value: number) => Math.max(y(value), l.top);
  const grids = data.points.filter((p) => p.kind === 'grid');
  const cells = data.points.filter((p) => p.kind === 'cells');
  const others = data.points.filter((p) => p.kind !== 'grid' && p.kind !== 'cells');
  const chosen = data.points.find((p) => p.chosen);
  const clip = `${options.id}-clip`;
  return picture(
    {
      id: options.id,
      width: l.width,
      height: l.height,
      title: 'Yearly cost against samples',
      description: data.description,
      className: 'cost-chart',
    },
    plateau(grids, l, x),
    valueAxis(l, y, l.size === 'wide' ? data.axisTitle : data.shortAxisTitle),
    densityAxis(l, x, data.fieldArea, data.areaUnit),
    element(
      'clipPath',
      { id: clip },
      element('rect', { x: l.left, y: l.top, width: plotRight(l) - l.left, height: plotBottom(l) - l.top }),
    ),
    element('g', { 'clip-path': `url(#${clip})` }, curves(grids, x, y), cellsCurve(cells, x, y)),
    chosen ? advisedLine(l, x(chosen.areaPerSample), data.advised) : '',
    ...others.map((p) => {
      const at = x(p.areaPerSample);
      return element('line', {
        class: `spread ${p.kind}`,
        x1: at,
        x2: at,
        y1: y(p.total.low),
        y2: y(p.total.high),
      });
    }),
    otherNames(
      others.map((p) => ({
        ...p,
        x: x(p.areaPerSample),
        top: inside(p.total.high),
        bottom: inside(p.total.low),
      })),
      l,
      chosen && x(chosen.areaPerSample),
    ),
    ...data.points
      .filter((p) => y(p.total.mid) >= l.top)
      .map((p) => {
        const classes = ['point', 'total', p.kind, p.chosen ? 'chosen' : '', p.nearBest ? 'near-best' : ''];
        return readable(
          x(p.areaPerSample),
          y(p.total.mid),
          p.says,
          p.id,
          designMark(
            p.kind,
            x(p.areaPerSample),
            y(p.total.mid),
            p.chosen ? 6.5 : p.kind === 'cells' ? 2.2 : 4,
            classes.filter(Boolean).join(' '),
          ),
        );
      }),
    curveNames(grids, l, y),
  );
}

function curves(grids: readonly CostPoint[], x: DensityScale, y: Y): string {
  if (grids.length < 2) return '';
  const { band, curve } = densityPaths(grids, x, y);
  return [
    element('path', { class: 'band total', d: band((p) => p.total) }),
    element('path', { class: 'curve loss', d: curve((p) => p.loss) }),
    element('path', { class: 'curve sampling', d: curve((p) => p.sampling) }),
    element('path', { class: 'curve total', d: curve((p) => p.total.mid) }),
  ].join('');
}

/** Whole cells stand here when one of them is advised, and named so in the strip above. */
function cellsCurve(cells: readonly CostPoint[], x: DensityScale, y: Y): string {
  if (cells.length < 2) return '';
  return element('path', { class: 'curve cells', d: densityPaths(cells, x, y).curve((p) => p.total.mid) });
}

/** The run of neighbouring grids round the advised or cheapest one that are as good within the tolerance. */
function plateau(grids: readonly CostPoint[], l: Layout, x: DensityScale): string {
  const near = grids.flatMap((p, i) => (p.nearBest ? [i] : []));
  if (near.length === 0) return '';
  const edge = (i: number, j: number) => {
    const here = x(grids[i].areaPerSample);
    const there = grids[j] ? x(grids[j].areaPerSample) : here;
    return (here + there) / 2;
  };
  const first = near[0];
  const last = near[near.length - 1];
  const from = Math.min(edge(first, first - 1), x(grids[first].areaPerSample) - 5);
  const to = Math.max(edge(last, last + 1), x(grids[last].areaPerSample) + 5);
  return element('rect', {
    class: 'plateau',
    x: from,
    y: l.top,
    width: to - from,
    height: plotBottom(l) - l.top,
  });
}

function curveNames(grids: readonly CostPoint[], l: Layout, y: Y): string {
  if (grids.length < 2) return '';
  const end = grids[grids.length - 1];
  const wide = l.size === 'wide';
  const name = (value: number, text: string, className: string) => {
    const above = className === 'total' && y(value) < l.top;
    return { y: Math.max(y(value), l.top), lines: [above ? `${text} ↑` : text], className };
  };
  return endLabels(
    l,
    placeLabels(
      [
        name(end.total.mid, 'total', 'total'),
        name(end.sampling, wide ? 'sampling cost' : 'sampling', 'sampling'),
        { ...name(end.loss, 'wrong rates', 'loss'), ...(wide ? {} : { lines: ['wrong', 'rates'] }) },
      ],
      l.fontSize + 2,
      l.top,
      plotBottom(l),
    ),
  );
}
