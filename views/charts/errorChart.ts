import { line, scaleLinear } from 'd3';
import type { DesignKind, Interval } from '../../src/advise/advice.ts';
import { valueAxis } from './axes.ts';
import { densityPaths } from './densityCurve.ts';
import { densityAxis, densityScale, type DensityScale } from './densityScale.ts';
import { placeLabels } from './labels.ts';
import { chartLayout, plotBottom, type ChartSize, type Layout } from './layout.ts';
import { advisedLine, designMark, endLabels, nameRoom, otherNames, readable } from './marks.ts';
import { element, picture } from './svg.ts';

/** One design's error for one analyte, in the units of the screen. */
export interface ErrorPoint {
  readonly id: string;
  readonly kind: DesignKind;
  readonly label: string;
  readonly samples: number;
  /** What zones are drawn from. */
  readonly zonesFrom?: string;
  readonly areaPerSample: number;
  readonly typical: Interval;
  readonly badSpot: number;
  readonly chosen: boolean;
  /** What is read out. */
  readonly says: string;
}

export interface ErrorChartData {
  readonly analyte: string;
  /** Above the axis: what the error is of, and its unit. */
  readonly axisTitle: string;
  readonly shortAxisTitle: string;
  readonly description: string;
  readonly areaUnit: string;
  readonly fieldArea: number;
  readonly advised: string;
  readonly points: readonly ErrorPoint[];
  /** Typical error of square grids without end, coarsest first. */
  readonly endless?: readonly EndlessError[];
}

export interface EndlessError {
  readonly areaPerSample: number;
  readonly typical: number;
}

/**
 * Sampling error against density for one analyte: the grids as a curve with the belief's 80 % band and the
 * worst tenth of the field as a dashed line; composites of whole cells as a thin line; zones, infill and the
 * whole-field sample as marks with their bands. Beside the grids, thin, what they would come to without edges.
 */
export function errorChart(
  data: ErrorChartData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const l = chartLayout(options.size);
  const x = densityScale(
    l,
    data.points.map((p) => p.areaPerSample),
  );
  const grids = data.points.filter((p) => p.kind === 'grid');
  const endless = grids.length > 1 ? (data.endless ?? []) : [];
  const most = Math.max(
    ...data.points.flatMap((p) => [p.typical.high, p.badSpot]),
    ...endless.map((p) => p.typical),
  );
  const y = scaleLinear([0, most * 1.05], [plotBottom(l), nameRoom(l)]);
  const chosen = data.points.find((p) => p.chosen);
  // Infill lies where the cells do: both together can't be told apart, and the table has the cells' figures.
  const crowded = chosen?.kind !== 'cells' && data.points.some((p) => p.kind === 'infill');
  const shown = data.points.filter((p) => !crowded || p.kind !== 'cells');
  const cells = shown.filter((p) => p.kind === 'cells');
  const others = shown.filter((p) => p.kind !== 'grid' && p.kind !== 'cells');
  return picture(
    {
      id: options.id,
      width: l.width,
      height: l.height,
      title: `${data.analyte}: error against samples`,
      description: data.description,
      className: 'error-chart',
    },
    valueAxis(l, y, l.size === 'wide' ? data.axisTitle : data.shortAxisTitle),
    densityAxis(l, x, data.fieldArea, data.areaUnit),
    endlessCurve(endless, x, y),
    gridCurve(grids, x, y),
    cellsCurve(cells, x, y),
    chosen ? advisedLine(l, x(chosen.areaPerSample), data.advised) : '',
    zoneLines(others, x, y),
    ...others.map((p) => spread(p, x, y)),
    otherNames(
      [
        ...others.map((p) => ({
          ...p,
          x: x(p.areaPerSample),
          top: y(Math.max(p.badSpot, p.typical.high)),
          bottom: y(p.typical.low),
        })),
        ...cells.map((p) => ({
          ...p,
          x: x(p.areaPerSample),
          top: y(p.typical.mid),
          bottom: y(p.typical.mid),
        })),
      ],
      l,
      chosen && x(chosen.areaPerSample),
    ),
    ...shown.map((p) =>
      readable(
        x(p.areaPerSample),
        y(p.typical.mid),
        p.says,
        p.id,
        designMark(
          p.kind,
          x(p.areaPerSample),
          y(p.typical.mid),
          p.chosen ? 6.5 : p.kind === 'cells' ? 2.2 : 4,
          `point ${p.kind}${p.chosen ? ' chosen' : ''}`,
        ),
      ),
    ),
    curveNames(grids, endless, l, y),
  );
}

function gridCurve(grids: readonly ErrorPoint[], x: DensityScale, y: (v: number) => number): string {
  if (grids.length < 2) return '';
  const { band, curve } = densityPaths(grids, x, y);
  return [
    element('path', { class: 'band grid', d: band((p) => p.typical) }),
    element('path', { class: 'curve grid bad-spot', d: curve((p) => p.badSpot) }),
    element('path', { class: 'curve grid typical', d: curve((p) => p.typical.mid) }),
  ].join('');
}

function endlessCurve(endless: readonly EndlessError[], x: DensityScale, y: (v: number) => number): string {
  if (endless.length < 2) return '';
  return element('path', {
    class: 'curve endless',
    d: densityPaths(endless, x, y).curve((p) => p.typical),
  });
}

function cellsCurve(cells: readonly ErrorPoint[], x: DensityScale, y: (v: number) => number): string {
  if (cells.length < 2) return '';
  return element('path', { class: 'curve cells', d: densityPaths(cells, x, y).curve((p) => p.typical.mid) });
}

/** Zones drawn from one source are joined; two sources are two lines. */
function zoneLines(others: readonly ErrorPoint[], x: DensityScale, y: (v: number) => number): string {
  const sources = new Set(others.flatMap((p) => p.zonesFrom ?? []));
  const path = line<ErrorPoint>()
    .x((p) => x(p.areaPerSample))
    .y((p) => y(p.typical.mid))
    .digits(2);
  return [...sources]
    .map((source) => others.filter((p) => p.zonesFrom === source))
    .filter((zones) => zones.length > 1)
    .map((zones) => element('path', { class: 'curve zones', d: path(zones) ?? '' }))
    .join('');
}

/** The belief's band as an upright bar, and the worst tenth as a short stroke. */
function spread(p: ErrorPoint, x: DensityScale, y: (v: number) => number): string {
  const at = x(p.areaPerSample);
  return [
    element('line', {
      class: `spread ${p.kind}`,
      x1: at,
      x2: at,
      y1: y(p.typical.low),
      y2: y(p.typical.high),
    }),
    element('line', { class: `worst ${p.kind}`, x1: at - 6, x2: at + 6, y1: y(p.badSpot), y2: y(p.badSpot) }),
  ].join('');
}

function curveNames(
  grids: readonly ErrorPoint[],
  endless: readonly EndlessError[],
  l: Layout,
  y: (v: number) => number,
): string {
  if (grids.length < 2) return '';
  const end = grids[grids.length - 1];
  const wide = l.size === 'wide';
  return endLabels(
    l,
    placeLabels(
      [
        {
          y: y(end.badSpot),
          lines: [wide ? 'grid, worst tenth' : 'worst'],
          className: 'grid minor',
        },
        {
          y: y(end.typical.mid),
          lines: [wide ? 'grid, typical place' : 'typical'],
          className: 'grid',
        },
        ...endless.slice(-1).map((last) => ({
          y: y(last.typical),
          lines: wide ? ['endless grid,', 'no edges'] : ['no edges'],
          className: 'endless',
        })),
      ],
      l.fontSize + 2,
      l.top,
      plotBottom(l),
    ),
  );
}
