import { scaleLinear } from 'd3';
import { fixed } from '../format.ts';
import { bottomTicks } from './axes.ts';
import { roughTextWidth, wrapped } from './labels.ts';
import type { ChartSize, Layout } from './layout.ts';
import { plotBottom, plotRight } from './layout.ts';
import { readable } from './marks.ts';
import { element, label, picture } from './svg.ts';

/** One end of a bar: the level there, in words, and what the rival gains at it. */
export interface BarEnd {
  readonly gain: number;
  readonly level: string;
  readonly says: string;
}

export interface TornadoBar {
  readonly id: string;
  readonly label: string;
  readonly low: BarEnd;
  readonly high: BarEnd;
  /** "breaks even at 12 USD"; absent when the bar doesn't reach zero. */
  readonly breakEven?: string;
}

export interface TornadoChartData {
  readonly title: string;
  readonly description: string;
  readonly axisTitle: string;
  readonly shortAxisTitle: string;
  /** Gain of the rival as things stand. */
  readonly now: number;
  readonly bars: readonly TornadoBar[];
}

interface Row {
  readonly bar: TornadoBar;
  readonly nameLines: readonly string[];
  readonly top: number;
  /** Upper edge of the bar itself. */
  readonly barTop: number;
  readonly barHeight: number;
  readonly oneSided: boolean;
  readonly height: number;
}

type X = (gain: number) => number;

/** Height of a bar; of two halves where both ends lie on one side of how things stand. */
const BAR = { wide: 20, narrow: 16 } as const;
const HALVES = { wide: 34, narrow: 30 } as const;

/**
 * What a rival design would gain over the advised one at the ends of each factor, a bar a factor, widest first. What lies
 * right of the zero line is filled: there the rival pays. The level at each end stands beside it.
 */
export function tornadoChart(
  data: TornadoChartData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const wide = options.size === 'wide';
  const fontSize = wide ? 14 : 12;
  const rows = rowsOf(data, options.size, fontSize);
  const end = rows.at(-1);
  const top = 2 * (fontSize + 5) + 2;
  const bottom = 2 * (fontSize + 6) + 6;
  const l: Layout = {
    ...{ size: options.size, width: wide ? 780 : 344, fontSize, top, bottom },
    height: top + (end ? end.top + end.height : 0) + bottom,
    left: wide ? 196 : 0,
    right: 0,
  };
  const room =
    Math.max(14, ...data.bars.flatMap((b) => [b.low, b.high]).map((e) => textWidth(e.level, l))) + 10;
  const gains = [0, data.now, ...data.bars.flatMap((b) => [b.low.gain, b.high.gain])];
  const [least, most] = [Math.min(...gains), Math.max(...gains)];
  const spare = most === least ? 1 : 0;
  const x = scaleLinear([least - spare, most + spare], [l.left + room, plotRight(l) - room]);
  const turns = data.bars.map((b) => textWidth(b.breakEven ?? '', l));
  const turnsAfter = x(0) + 7 + Math.max(0, ...turns) < l.width;
  const ticks = x.ticks(wide ? 6 : 4);
  const decimals = ticks.length > 1 ? Math.max(0, Math.ceil(-Math.log10(ticks[1] - ticks[0]) - 1e-9)) : 1;
  return picture(
    {
      id: options.id,
      width: l.width,
      height: l.height,
      title: data.title,
      description: data.description,
      className: 'tornado-chart in-rows',
    },
    bottomTicks(
      l,
      x,
      ticks.map((value) => ({ value, rows: [fixed(value, decimals)] })),
    ),
    label(plotRight(l) - 2, l.height - 4, wide ? data.axisTitle : data.shortAxisTitle, {
      class: 'axis-title',
      'text-anchor': 'end',
    }),
    lines(data.now, l, x),
    ...rows.map((r) => rowDrawn(r, { now: data.now, turnsAfter }, l, x)),
  );
}

function rowsOf({ bars, now }: TornadoChartData, size: ChartSize, fontSize: number): readonly Row[] {
  const lineStep = fontSize + 3;
  const wide = size === 'wide';
  const rows: Row[] = [];
  let top = 0;
  for (const bar of bars) {
    const nameLines = wrapped(bar.label, wide ? 176 : 330, fontSize);
    const names = nameLines.length * lineStep;
    const oneSided = (bar.low.gain - now) * (bar.high.gain - now) > 0;
    const barHeight = (oneSided ? HALVES : BAR)[size];
    const below = bar.breakEven === undefined ? 0 : lineStep + 2;
    const barTop = wide ? Math.max(0, (names - barHeight) / 2) : names + 3;
    const height = Math.max(barTop + barHeight + below, names) + 14;
    rows.push({ bar, nameLines, top, barTop, barHeight, oneSided, height });
    top += height;
  }
  return rows;
}

/** A line through all rows with its name in the strip above, its middle as near the line as there is room. */
function line(l: Layout, x: number, className: string, text: string, y: number, middle = x): string {
  const half = textWidth(text, l) / 2 + 2;
  return element(
    'g',
    { class: `level-line ${className}` },
    element('line', { x1: x, x2: x, y1: y + 4, y2: plotBottom(l) }),
    label(Math.min(Math.max(middle, half), l.width - half), y, text, {
      class: 'line-name',
      'text-anchor': 'middle',
    }),
  );
}

const PAYS = 'pays above here →';
const NOW = 'as it stands';

/** The line where the rival begins to pay, and the one where things stand; their names keep clear of each other's line. */
function lines(now: number, l: Layout, x: X): string {
  const [zero, at] = [x(0), x(now)];
  const half = textWidth(NOW, l) / 2 + 5;
  const clear = at <= zero ? Math.min(at, zero - half) : Math.max(at, zero + half);
  return [
    line(l, zero, 'zero', PAYS, l.fontSize + 1, zero + textWidth(PAYS, l) / 2),
    line(l, at, 'now', NOW, 2 * (l.fontSize + 4), clear),
  ].join('');
}

/** Paper behind a text, so that the lines don't run through it. */
function paper(x: number, baseline: number, text: string, anchor: 'start' | 'end', l: Layout): string {
  const width = textWidth(text, l) + 5;
  return element('rect', {
    class: 'paper',
    x: anchor === 'start' ? x - 1 : x - width + 1,
    y: baseline - l.fontSize,
    width,
    height: l.fontSize + 4,
  });
}

/** What rows have in common: how things stand, and whether break-even levels are written after the zero line or before. */
interface Common {
  readonly now: number;
  readonly turnsAfter: boolean;
}

function rowDrawn(row: Row, { now, turnsAfter }: Common, l: Layout, x: X): string {
  const { bar, barHeight, oneSided } = row;
  const top = l.top + row.top;
  const barTop = top + row.barTop;
  const lineStep = l.fontSize + 3;
  const thick = oneSided ? barHeight / 2 - 2 : barHeight;
  const ends = [bar.low, bar.high].map((end, i) => {
    const y = oneSided && i === 1 ? barTop + barHeight / 2 + 2 : barTop;
    const other = i === 0 ? bar.high : bar.low;
    const left = end.gain < now || (end.gain === now && other.gain > now);
    const anchor = left ? ('end' as const) : ('start' as const);
    const baseline = y + thick / 2 + l.fontSize * 0.35;
    return { end, y, anchor, baseline, textX: x(end.gain) + (left ? -6 : 6), id: i === 0 ? 'low' : 'high' };
  });
  const nameTop =
    l.size === 'wide' ? barTop + (barHeight - row.nameLines.length * lineStep) / 2 - 1 : top - 1;
  const nameLines = row.nameLines.map((text, i) => ({ text, y: nameTop + (i + 1) * lineStep - 3 }));
  return element(
    'g',
    { class: 'row' },
    ...(l.size === 'narrow' ? nameLines.map((n) => paper(6, n.y, n.text, 'start', l)) : []),
    ...ends.map((e) => paper(e.textX, e.baseline, e.end.level, e.anchor, l)),
    ...nameLines.map((n) => label(l.size === 'wide' ? 4 : 6, n.y, n.text, { class: 'row-name' })),
    ...ends.map((e) => span(x, now, e.end.gain, e.y, thick)),
    ...ends.map((e) =>
      readable(
        x(e.end.gain),
        e.y + thick / 2,
        e.end.says,
        `${bar.id}-${e.id}`,
        label(e.textX, e.baseline, e.end.level, { class: 'level', 'text-anchor': e.anchor }),
      ),
    ),
    bar.breakEven === undefined ? '' : breakEvenMark(bar.breakEven, x(0), barTop, barHeight, turnsAfter, l),
  );
}

/** From how things stand to one end, in two parts where zero lies between. */
function span(x: X, now: number, gain: number, y: number, height: number): string {
  const from = Math.min(now, gain);
  const to = Math.max(now, gain);
  const part = (a: number, b: number, className: string) =>
    b > a
      ? element('rect', { class: `bar ${className}`, x: x(a), y, width: Math.max(0.5, x(b) - x(a)), height })
      : '';
  return part(from, Math.min(to, 0), 'short-of') + part(Math.max(from, 0), to, 'pays');
}

/** Where the bar crosses zero, with the level written below, before or after the line. */
function breakEvenMark(
  text: string,
  x: number,
  barTop: number,
  barHeight: number,
  after: boolean,
  l: Layout,
): string {
  const y = barTop + barHeight / 2;
  const r = 5;
  const anchor = after ? 'start' : 'end';
  const textX = after ? x + 7 : x - 7;
  const baseline = barTop + barHeight + l.fontSize + 2;
  return element(
    'g',
    { class: 'break-even' },
    paper(textX, baseline, text, anchor, l),
    element('path', { d: `M${x - r},${y}L${x},${y - r}L${x + r},${y}L${x},${y + r}Z` }),
    label(textX, baseline, text, { class: 'break-even-name', 'text-anchor': anchor }),
  );
}

const textWidth = (text: string, l: Layout): number => roughTextWidth(text, l.fontSize);
