import { element, label } from './svg.ts';
import type { DesignKind } from '../../src/advise/advice.ts';
import { plotBottom, plotRight, type Layout } from './layout.ts';
import { roughTextWidth, type PlacedLabel } from './labels.ts';

/** A design's mark: a square for the whole field, a diamond for zones, a triangle for infill, a disc for a grid. */
export function designMark(kind: DesignKind, x: number, y: number, r: number, className: string): string {
  if (kind === 'whole')
    return element('rect', {
      class: className,
      x: x - r * 0.9,
      y: y - r * 0.9,
      width: r * 1.8,
      height: r * 1.8,
    });
  if (kind === 'infill') {
    const d = r * 1.2;
    const corners = `${(x - d).toFixed(2)},${(y + d * 0.8).toFixed(2)} ${(x + d).toFixed(2)},${(y + d * 0.8).toFixed(2)} ${x.toFixed(2)},${(y - d).toFixed(2)}`;
    return element('polygon', { class: className, points: corners });
  }
  if (kind === 'zones') {
    const d = r * 1.25;
    const points = [
      [x, y - d],
      [x + d, y],
      [x, y + d],
      [x - d, y],
    ];
    return element('polygon', {
      class: className,
      points: points.map((p) => p.map((v) => v.toFixed(2)).join(',')).join(' '),
    });
  }
  return element('circle', { class: className, cx: x, cy: y, r });
}

/** A place the reader can point at or step to: `says` is read out, the disc only catches the pointer. */
export function readable(
  x: number,
  y: number,
  says: string,
  id: string,
  ...drawn: readonly string[]
): string {
  return element(
    'g',
    { class: 'mark', 'data-say': says, 'data-x': x, 'data-id': id },
    ...drawn,
    element('circle', { class: 'hit', cx: x, cy: y, r: 12 }),
  );
}

/** The advised design: a line down through the plot with its name in the strip above. */
export function advisedLine(l: Layout, x: number, text: string): string {
  const y = l.top - 12;
  const half = roughTextWidth(text, l.fontSize) / 2 + 4;
  const middle = Math.min(Math.max(x, half), l.width - half);
  return element(
    'g',
    { class: 'advised' },
    element('line', { x1: x, x2: x, y1: l.top - 7, y2: plotBottom(l) }),
    label(middle, y, text, { class: 'advised-label', 'text-anchor': 'middle' }),
  );
}

/** Top of the drawing proper: between it and the plot's upper edge stands the whole-field sample's name. */
export const nameRoom = (l: Layout): number => l.top + l.fontSize + 8;

/** A design that is no grid, where it stands in the picture. */
export interface PlacedDesign {
  readonly kind: DesignKind;
  readonly samples: number;
  readonly x: number;
  readonly top: number;
  readonly bottom: number;
  /** Named in the strip above already. */
  readonly chosen: boolean;
}

type Anchor = 'start' | 'middle' | 'end';

interface Name {
  readonly x: number;
  readonly y: number;
  readonly text: string;
  readonly anchor: Anchor;
  readonly kind: DesignKind;
}

/**
 * The names of the marks that are no grids: the whole field's above it, one for all zones below or above them, and
 * those of infill and of whole cells below theirs, moved where they would lie over another name.
 * @param advisedX where the line of the advised design stands
 */
export function otherNames(designs: readonly PlacedDesign[], l: Layout, advisedX?: number): string {
  const whole = designs.find((d) => d.kind === 'whole' && !d.chosen);
  const zones = designs.filter((d) => d.kind === 'zones');
  const placed: Name[] = zones.length > 0 ? [zonesName(zones, l)] : [];
  if (whole) {
    const y = Math.max(whole.top, nameRoom(l)) - 7;
    const name: Name = { x: whole.x - 5, y, text: 'whole field', anchor: 'start', kind: 'whole' };
    const clash = placed.find((p) => overlap(p, name, l));
    placed.push(clash ? { ...name, y: clash.y - lineHeight(l) } : name);
  }
  const texts = [
    { kind: 'infill', text: 'new stops added' },
    { kind: 'cells', text: l.size === 'wide' ? 'whole cells mixed' : 'whole cells' },
  ] as const;
  for (const { kind, text } of texts) {
    const own = designs.filter((d) => d.kind === kind);
    if (own.length === 0) continue;
    const top = Math.min(...own.map((d) => d.top));
    placed.push(clearOfOthers(besideLine(own, text, kind, l, advisedX), top, placed, l));
  }
  return placed
    .map((n) => label(n.x, n.y, n.text, { class: `name ${n.kind}`, 'text-anchor': n.anchor }))
    .join('');
}

const lineHeight = (l: Layout): number => l.fontSize + 3;

function span({ x, text, anchor }: Name, l: Layout): readonly [left: number, right: number] {
  const width = roughTextWidth(text, l.fontSize);
  const left = x - { start: 0, middle: width / 2, end: width }[anchor];
  return [left, left + width];
}

function overlap(a: Name, b: Name, l: Layout): boolean {
  const [[aLeft, aRight], [bLeft, bRight]] = [span(a, l), span(b, l)];
  return Math.abs(a.y - b.y) < lineHeight(l) && aLeft < bRight + 4 && bLeft < aRight + 4;
}

function zonesName(zones: readonly PlacedDesign[], l: Layout): Name {
  const counts = zones.map((z) => z.samples);
  const [fewest, most] = [Math.min(...counts), Math.max(...counts)];
  const text = fewest === most ? `${most} zones` : `${fewest} to ${most} zones`;
  const x = zones.reduce((sum, z) => sum + z.x, 0) / zones.length;
  const below = Math.max(...zones.map((z) => z.bottom)) + l.fontSize + 4;
  const y = below < plotBottom(l) - 3 ? below : Math.min(...zones.map((z) => z.top)) - 10;
  return { x, y, text, anchor: 'middle', kind: 'zones' };
}

/** Under a group of marks, and to one side of the advised design's line where that would run through the name. */
function besideLine(
  own: readonly PlacedDesign[],
  text: string,
  kind: DesignKind,
  l: Layout,
  advisedX: number | undefined,
): Name {
  const middle = own.reduce((sum, d) => sum + d.x, 0) / own.length;
  const y = Math.max(...own.map((d) => d.bottom)) + l.fontSize + 4;
  // The grids' curve runs down on the right of the cells', so their name keeps to the left.
  const leftOnly = kind === 'cells';
  const name: Name = leftOnly
    ? { x: Math.max(...own.map((d) => d.x)), y, text, anchor: 'end', kind }
    : { x: middle, y, text, anchor: 'middle', kind };
  const [left, right] = span(name, l);
  if (advisedX === undefined || advisedX < left - 4 || advisedX > right + 4) return name;
  const before: Name = { ...name, x: advisedX - 6, anchor: 'end' };
  const after: Name = { ...name, x: advisedX + 6, anchor: 'start' };
  const fits = (n: Name) => span(n, l)[0] > l.left && span(n, l)[1] < plotRight(l);
  const nearer = leftOnly || middle < advisedX ? before : after;
  return [nearer, before, after].find(fits) ?? nearer;
}

/** Moved down until it lies over no other name, or else up from above its marks; where nothing is free, it stays. */
function clearOfOthers(name: Name, top: number, placed: readonly Name[], l: Layout): Name {
  const lowest = plotBottom(l) - 4;
  const first = Math.min(name.y, lowest);
  const steps = (from: number, to: number, by: number) =>
    Array.from({ length: Math.max(0, Math.floor((to - from) / by) + 1) }, (_, i) => from + i * by);
  const tried = [...steps(first, lowest, 4), ...steps(top - 8, nameRoom(l), -4)];
  const y = tried.find((at) => !placed.some((p) => overlap(p, { ...name, y: at }, l)));
  return { ...name, y: y ?? first };
}

/** Names of lines at the right edge of the plot. */
export function endLabels(l: Layout, placed: readonly PlacedLabel[]): string {
  const lineStep = l.fontSize + 2;
  return placed
    .map((p) =>
      p.lines
        .map((line, i) =>
          label(plotRight(l) + 8, p.y + (i - (p.lines.length - 1) / 2) * lineStep + l.fontSize * 0.35, line, {
            class: `end-label ${p.className}`,
          }),
        )
        .join(''),
    )
    .join('');
}
