import { scaleLog, type ScaleLogarithmic } from 'd3';
import { bottomTicks } from './axes.ts';
import { plotBottom, plotRight, type Layout } from './layout.ts';
import { roughTextWidth } from './labels.ts';
import { label } from './svg.ts';

export type DensityScale = ScaleLogarithmic<number, number>;

/** Area per sample on a logarithmic scale, large areas (few samples) at the left, tighter to the right. */
export function densityScale(l: Layout, areas: readonly number[]): DensityScale {
  const most = Math.max(...areas);
  const least = Math.min(...areas);
  const room = most === least ? 2 : Math.pow(most / least, 0.04);
  return scaleLog([most * room, least / room], [l.left, plotRight(l)]);
}

const ROUND = [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000];

/** Round areas with, below each, the number of samples it makes in this field. */
export function densityAxis(l: Layout, x: DensityScale, fieldArea: number, areaUnit: string): string {
  const [most, least] = x.domain();
  const ticks: { value: number; rows: string[] }[] = [];
  const short = areaUnit === 'acres' ? 'acres' : 'ha';
  const rowNamesEnd = 4 + roughTextWidth('samples', l.fontSize);
  let edge = Infinity;
  for (const value of ROUND) {
    if (value < least || value > most || value > fieldArea * 1.001) continue;
    const rows = [String(value), String(Math.max(1, Math.round(fieldArea / value)))];
    const half = Math.max(...rows.map((r) => roughTextWidth(r, l.fontSize))) / 2 + 4;
    if (x(value) + half > edge || x(value) - half < rowNamesEnd) continue;
    edge = x(value) - half;
    ticks.push({ value, rows });
  }
  const bottom = plotBottom(l);
  const row = (i: number) => bottom + 5 + i * (l.fontSize + 4);
  return [
    bottomTicks(l, x, ticks),
    label(4, row(1), short, { class: 'tick' }),
    label(4, row(2), 'samples', { class: 'tick minor' }),
    label(
      plotRight(l),
      row(3) + 1,
      l.size === 'wide' ? 'more samples, closer together →' : 'more samples →',
      {
        class: 'axis-title',
        'text-anchor': 'end',
      },
    ),
  ].join('');
}
