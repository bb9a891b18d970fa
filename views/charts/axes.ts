import type { ScaleContinuousNumeric, ScaleLinear } from 'd3';
import { fixed } from '../format.ts';
import { element, label } from './svg.ts';
import { plotBottom, plotRight, type Layout } from './layout.ts';

/** Horizontal grid lines with their values, and the axis title lying flat above them. */
export function valueAxis(l: Layout, y: ScaleLinear<number, number>, title: string): string {
  const ticks = y.ticks(l.size === 'wide' ? 6 : 5);
  const decimals = decimalsOf(ticks);
  const lines = ticks.map((t) =>
    element('line', {
      class: t === 0 ? 'axis' : 'gridline',
      x1: l.left,
      x2: plotRight(l),
      y1: y(t),
      y2: y(t),
    }),
  );
  const labels = ticks.map((t) =>
    label(l.left - 8, y(t) + l.fontSize * 0.35, fixed(t, decimals), { class: 'tick', 'text-anchor': 'end' }),
  );
  const heading = label(6, l.fontSize + 2, title, { class: 'axis-title' });
  return element('g', { class: 'value-axis' }, ...lines, ...labels, heading);
}

/** Decimals enough to tell evenly spaced ticks apart. */
function decimalsOf(ticks: readonly number[]): number {
  const step = ticks.length > 1 ? ticks[1] - ticks[0] : 1;
  return Math.max(0, Math.min(5, Math.ceil(-Math.log10(step) - 1e-9)));
}

/** Ticks under the plot at given values. */
export function bottomTicks(
  l: Layout,
  x: ScaleContinuousNumeric<number, number>,
  ticks: readonly { readonly value: number; readonly rows: readonly string[] }[],
): string {
  const bottom = plotBottom(l);
  return element(
    'g',
    { class: 'bottom-axis' },
    ...ticks.map(({ value, rows }) =>
      element(
        'g',
        {},
        element('line', { class: 'axis', x1: x(value), x2: x(value), y1: bottom, y2: bottom + 5 }),
        ...rows.map((row, i) =>
          label(x(value), bottom + 5 + (i + 1) * (l.fontSize + 4), row, {
            class: i === 0 ? 'tick' : 'tick minor',
            'text-anchor': 'middle',
          }),
        ),
      ),
    ),
  );
}
