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

interface Name {
  readonly x: number;
  readonly y: number;
  readonly text: string;
}

/** The names of the marks that are no grids: the whole field's above it, one for all zones below or above them. */
export function otherNames(designs: readonly PlacedDesign[], l: Layout): string {
  const whole = designs.find((d) => d.kind === 'whole' && !d.chosen);
  const zones = designs.filter((d) => d.kind === 'zones');
  const infill = designs.filter((d) => d.kind === 'infill');
  const zonesAt = zones.length > 0 ? zonesName(zones, l) : undefined;
  const wholeAt = whole && { x: whole.x - 5, y: Math.max(whole.top, nameRoom(l)) - 7, text: 'whole field' };
  const lineHeight = l.fontSize + 3;
  const clash =
    wholeAt && zonesAt && Math.abs(wholeAt.y - zonesAt.y) < lineHeight && reach(wholeAt, l) > zonesAt.left;
  return [
    wholeAt
      ? label(wholeAt.x, clash ? zonesAt.y - lineHeight : wholeAt.y, wholeAt.text, { class: 'name whole' })
      : '',
    zonesAt
      ? label(zonesAt.x, zonesAt.y, zonesAt.text, { class: 'name zones', 'text-anchor': 'middle' })
      : '',
    infill.length > 0 ? infillName(infill, l) : '',
  ].join('');
}

const reach = (name: Name, l: Layout): number => name.x + roughTextWidth(name.text, l.fontSize);

function zonesName(zones: readonly PlacedDesign[], l: Layout): Name & { readonly left: number } {
  const counts = zones.map((z) => z.samples);
  const [fewest, most] = [Math.min(...counts), Math.max(...counts)];
  const text = fewest === most ? `${most} zones` : `${fewest} to ${most} zones`;
  const x = zones.reduce((sum, z) => sum + z.x, 0) / zones.length;
  const below = Math.max(...zones.map((z) => z.bottom)) + l.fontSize + 4;
  const y = below < plotBottom(l) - 3 ? below : Math.min(...zones.map((z) => z.top)) - 10;
  return { x, y, text, left: x - roughTextWidth(text, l.fontSize) / 2 };
}

/** Below the infill designs, which stand lower than grids of as many samples. */
function infillName(infill: readonly PlacedDesign[], l: Layout): string {
  const x = infill.reduce((sum, d) => sum + d.x, 0) / infill.length;
  const y = Math.min(plotBottom(l) - 4, Math.max(...infill.map((d) => d.bottom)) + l.fontSize + 4);
  return label(x, y, 'new stops added', { class: 'name infill', 'text-anchor': 'middle' });
}

/** Names of lines at the right edge of the plot. */
export function endLabels(l: Layout, placed: readonly PlacedLabel[]): string {
  const lineHeight = l.fontSize + 2;
  return placed
    .map((p) =>
      p.lines
        .map((line, i) =>
          label(
            plotRight(l) + 8,
            p.y + (i - (p.lines.length - 1) / 2) * lineHeight + l.fontSize * 0.35,
            line,
            { class: `end-label ${p.className}` },
          ),
        )
        .join(''),
    )
    .join('');
}
