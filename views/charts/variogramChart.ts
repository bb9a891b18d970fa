import { area, line, scaleLinear, scaleSqrt } from 'd3';
import { bottomTicks, valueAxis } from './axes.ts';
import { placeLabels, type WantedLabel } from './labels.ts';
import { chartLayout, plotBottom, plotRight, type ChartSize, type Layout } from './layout.ts';
import { endLabels, readable } from './marks.ts';
import { element, label, picture } from './svg.ts';

export interface FitCurve {
  readonly name: string;
  readonly shortName: string;
  readonly className: 'least-squares' | 'reml';
  /** Semivariance of the fitted model at a distance in the screen's unit. */
  readonly at: (distance: number) => number;
  /** Effective range in the screen's unit, marked on the axis; none without a structured part. */
  readonly range?: number;
}

export interface VariogramChartData {
  readonly analyte: string;
  readonly axisTitle: string;
  readonly shortAxisTitle: string;
  readonly distanceUnit: string;
  readonly description: string;
  readonly bins: readonly {
    readonly distance: number;
    readonly gamma: number;
    readonly pairs: number;
    readonly says: string;
  }[];
  readonly fits: readonly FitCurve[];
  readonly band: readonly {
    readonly distance: number;
    readonly low: number;
    readonly mid: number;
    readonly high: number;
  }[];
}

/**
 * Experimental variogram (area of a disc in proportion to its pairs) with the fitted models and the belief's
 * 80 % band. The band may run out of the picture; it is cut so that the points keep their room.
 */
export function variogramChart(
  data: VariogramChartData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const base = chartLayout(options.size);
  const l: Layout = {
    ...base,
    top: base.fontSize + 22,
    height: base.size === 'wide' ? 360 : 290,
    bottom: 50,
  };
  const farthest = extent(data);
  const highest = height(data, farthest);
  const x = scaleLinear([0, farthest], [l.left, plotRight(l)]);
  const y = scaleLinear([0, highest], [plotBottom(l), l.top]);
  const clip = `${options.id}-clip`;
  const ticks = x.ticks(l.size === 'wide' ? 8 : 4);
  return picture(
    {
      id: options.id,
      width: l.width,
      height: l.height,
      title: `${data.analyte}: variogram`,
      description: data.description,
      className: 'variogram-chart',
    },
    element(
      'clipPath',
      { id: clip },
      element('rect', { x: l.left, y: l.top, width: plotRight(l) - l.left, height: plotBottom(l) - l.top }),
    ),
    valueAxis(l, y, l.size === 'wide' ? data.axisTitle : data.shortAxisTitle),
    bottomTicks(
      l,
      x,
      ticks.map((value) => ({ value, rows: [value.toLocaleString('en-US')] })),
    ),
    label(plotRight(l), l.height - 6, `distance between two samples, ${data.distanceUnit}`, {
      class: 'axis-title',
      'text-anchor': 'end',
    }),
    element(
      'g',
      { 'clip-path': `url(#${clip})` },
      band(data, farthest, x, y),
      ...data.fits.map((f) => curve(f, farthest, x, y)),
    ),
    ...data.fits.map((f) => rangeMark(f, farthest, l, x)),
    ...bins(data, x, y, l),
    names(data, farthest, l, y),
  );
}

type Scale = (value: number) => number;

function extent(data: VariogramChartData): number {
  const lastBin = Math.max(0, ...data.bins.map((b) => b.distance));
  const lastBand = Math.max(0, ...data.band.map((b) => b.distance));
  return lastBin > 0 ? lastBin * 1.08 : lastBand || 1;
}

function height(data: VariogramChartData, farthest: number): number {
  const inside = data.band.filter((b) => b.distance <= farthest);
  const firm = Math.max(
    1e-9,
    ...data.bins.map((b) => b.gamma),
    ...data.fits.map((f) => f.at(farthest)),
    ...inside.map((b) => b.mid),
  );
  const band = Math.max(firm, ...inside.map((b) => b.high));
  return Math.min(band, firm * (data.bins.length > 0 ? 1.35 : 2.2)) * 1.06;
}

function band(data: VariogramChartData, farthest: number, x: Scale, y: Scale): string {
  // The nugget makes the curve jump at zero distance: it is drawn from just beside it.
  const inside = data.band.filter((b) => b.distance > 0 && b.distance <= farthest * 1.1);
  if (inside.length < 2) return '';
  type Row = (typeof inside)[number];
  const shape = area<Row>()
    .x((b) => x(b.distance))
    .y0((b) => y(b.low))
    .y1((b) => y(b.high))
    .digits(2);
  const middle = line<Row>()
    .x((b) => x(b.distance))
    .y((b) => y(b.mid))
    .digits(2);
  return [
    element('path', { class: 'band belief', d: shape(inside) ?? '' }),
    element('path', { class: 'curve belief', d: middle(inside) ?? '' }),
  ].join('');
}

function curve(fit: FitCurve, farthest: number, x: Scale, y: Scale): string {
  const steps = Array.from({ length: 81 }, (_, i) => (farthest * Math.max(i, 0.02)) / 80);
  const path = line<number>()
    .x((h) => x(h))
    .y((h) => y(fit.at(h)))
    .digits(2);
  return element('path', { class: `curve fit ${fit.className}`, d: path(steps) ?? '' });
}

function rangeMark(fit: FitCurve, farthest: number, l: Layout, x: Scale): string {
  if (fit.range === undefined || fit.range > farthest) return '';
  const at = x(fit.range);
  const bottom = plotBottom(l);
  return element('path', {
    class: `range-mark ${fit.className}`,
    d: `M${at.toFixed(2)},${bottom - 12}V${bottom}`,
  });
}

function bins(data: VariogramChartData, x: Scale, y: Scale, l: Layout): string[] {
  const most = Math.max(1, ...data.bins.map((b) => b.pairs));
  const radius = scaleSqrt([0, most], [0, l.size === 'wide' ? 8 : 6.5]);
  return data.bins.map((b, i) =>
    readable(
      x(b.distance),
      y(b.gamma),
      b.says,
      `bin-${i}`,
      element('circle', {
        class: 'bin',
        cx: x(b.distance),
        cy: y(b.gamma),
        r: Math.max(1.8, radius(b.pairs)),
      }),
    ),
  );
}

function names(data: VariogramChartData, farthest: number, l: Layout, y: Scale): string {
  const wide = l.size === 'wide';
  const last = data.band.filter((b) => b.distance <= farthest).at(-1);
  const wanted: WantedLabel[] = data.fits.map((f) => ({
    y: y(f.at(farthest)),
    lines: [wide ? f.name : f.shortName],
    className: f.className,
  }));
  if (last)
    wanted.push({
      y: y(last.mid),
      lines: wide ? ['belief, middle', 'and 80 % band'] : ['belief', '80 %'],
      className: 'belief',
    });
  return endLabels(l, placeLabels(wanted, l.fontSize + 2, l.top, plotBottom(l)));
}
