import type { KeepOut } from '../../src/design/clearStops.ts';
import type { Position, Region } from '../../src/field/geometry.ts';
import { regionBounds, regionContains, type Bounds } from '../../src/field/region.ts';
import { roughTextWidth } from './labels.ts';
import type { ChartSize } from './layout.ts';
import { readable } from './marks.ts';
import { element, label, picture } from './svg.ts';

export interface MapStop {
  readonly order: number;
  readonly xM: number;
  readonly yM: number;
  /** A second sample close to the stop before: a dot without a number. */
  readonly partner?: boolean;
  readonly says: string;
}

/** A square of the lattice a zone is drawn on, by its centre. */
export interface ZoneCell {
  readonly xM: number;
  readonly yM: number;
  readonly sizeM: number;
}

export interface FieldMapData {
  readonly title: string;
  readonly description: string;
  readonly region: Region;
  readonly soilUnits: readonly { readonly label: string; readonly region: Region }[];
  /** Ground that no stop may lie on. */
  readonly keepOut?: readonly KeepOut[];
  readonly oldPoints: readonly number[];
  /** Zones of the advised design; empty when it has none. */
  readonly zones: readonly { readonly name: string; readonly cells: readonly ZoneCell[] }[];
  readonly stops: readonly MapStop[];
  /** A length worth showing on a scale bar, longest first: metres and its name. */
  readonly scaleBars: readonly { readonly metres: number; readonly name: string }[];
  /** False for a field that stands in for one whose boundary is not known. */
  readonly north: boolean;
}

interface Ground {
  readonly x: (m: number) => number;
  readonly y: (m: number) => number;
  readonly pxPerM: number;
  readonly width: number;
  readonly height: number;
  readonly bottom: number;
  readonly fontSize: number;
}

/** The field from above: soil units or zones, old points, and the stops with the way between them. */
export function fieldMap(
  data: FieldMapData,
  options: { readonly size: ChartSize; readonly id: string },
): string {
  const g = ground(regionBounds(data.region), options.size);
  const clip = `${options.id}-field`;
  return picture(
    {
      id: options.id,
      width: g.width,
      height: g.height,
      title: data.title,
      description: data.description,
      className: 'field-map',
    },
    element(
      'clipPath',
      { id: clip },
      element('path', { 'clip-rule': 'evenodd', d: regionPath(data.region, g) }),
    ),
    element('path', { class: 'field-ground', 'fill-rule': 'evenodd', d: regionPath(data.region, g) }),
    element(
      'g',
      { 'clip-path': `url(#${clip})` },
      ...data.zones.flatMap(({ cells }, i) => cells.map((c) => zoneCell(c, i, g))),
      ...(data.zones.length > 0 ? [] : data.soilUnits.map((u, i) => soilUnit(u.region, i, g))),
      ...(data.keepOut ?? []).map((k) => keptOut(k, g)),
    ),
    element('path', { class: 'field-edge', 'fill-rule': 'evenodd', d: regionPath(data.region, g) }),
    element('path', { class: 'old-points', d: crosses(data.oldPoints, g) }),
    element('path', { class: 'route', d: route(data.stops, g) }),
    data.zones.length > 0 ? zoneNames(data, g) : unitNames(data, g),
    ...stopMarks(data.stops, g, options.size),
    scaleBar(data, g),
    data.north ? northArrow(g) : '',
  );
}

function ground(b: Bounds, size: ChartSize): Ground {
  const width = size === 'wide' ? 760 : 344;
  const margin = size === 'wide' ? 14 : 10;
  const foot = 44;
  const tallest = size === 'wide' ? 620 : 440;
  const spanX = Math.max(1, b.maxX - b.minX);
  const spanY = Math.max(1, b.maxY - b.minY);
  const pxPerM = Math.min((width - 2 * margin) / spanX, tallest / spanY);
  const left = (width - spanX * pxPerM) / 2;
  const bottom = margin + spanY * pxPerM;
  return {
    x: (m) => left + (m - b.minX) * pxPerM,
    y: (m) => bottom - (m - b.minY) * pxPerM,
    pxPerM,
    width,
    height: bottom + foot,
    bottom,
    fontSize: size === 'wide' ? 14 : 12,
  };
}

function regionPath(region: Region, g: Ground): string {
  return region
    .flatMap((polygon) =>
      polygon.map(
        (ring) => `M${ring.map(([x, y]) => `${g.x(x).toFixed(1)},${g.y(y).toFixed(1)}`).join('L')}Z`,
      ),
    )
    .join('');
}

function zoneCell(c: ZoneCell, zone: number, g: Ground): string {
  const side = c.sizeM * g.pxPerM + 0.4;
  return element('rect', {
    class: `zone zone-${(zone % 8) + 1}`,
    x: g.x(c.xM - c.sizeM / 2),
    y: g.y(c.yM + c.sizeM / 2),
    width: side,
    height: side,
  });
}

function soilUnit(region: Region, index: number, g: Ground): string {
  return element('path', {
    class: `soil soil-${(index % 6) + 1}`,
    'fill-rule': 'evenodd',
    d: regionPath(region, g),
  });
}

/** Polygons filled, lines and points as wide as they reach. */
function keptOut({ polygons, lines, points, extentM }: KeepOut, g: Ground): string {
  const path = (line: readonly Position[]) =>
    `M${line.map(([x, y]) => `${g.x(x).toFixed(1)},${g.y(y).toFixed(1)}`).join('L')}`;
  return element(
    'g',
    { class: 'keep-out' },
    polygons.length > 0 ? element('path', { 'fill-rule': 'evenodd', d: regionPath(polygons, g) }) : '',
    lines.length > 0
      ? element('path', {
          class: 'line',
          'stroke-width': Math.max(2, 2 * extentM * g.pxPerM),
          d: lines.map(path).join(''),
        })
      : '',
    ...points.map(([x, y]) =>
      element('circle', { cx: g.x(x), cy: g.y(y), r: Math.max(3.5, extentM * g.pxPerM) }),
    ),
  );
}

interface NamePlace {
  readonly text: string;
  readonly x: number;
  readonly y: number;
  readonly score: number;
}

/** Room in px that a name wants between it and the middle of the nearest stop. */
const CLEAR = 9;

/** The first of some names that stands clear of the stops, or else the one with most room; nothing if none fits. */
function roomyName(
  texts: readonly string[],
  b: Bounds,
  inside: (xM: number, yM: number) => boolean,
  stops: readonly MapStop[],
  g: Ground,
): string {
  const places = texts.flatMap((text) => placeName(text, b, inside, stops, g) ?? []);
  const best = places.find((p) => p.score >= CLEAR) ?? places.sort((p, q) => q.score - p.score)[0];
  if (!best) return '';
  return label(best.x, best.y + g.fontSize * 0.35, best.text, {
    class: 'unit-name',
    'text-anchor': 'middle',
  });
}

/** Tries a lattice of places: most room first, nearer to the middle when the room is alike. */
function placeName(
  text: string,
  b: Bounds,
  inside: (xM: number, yM: number) => boolean,
  stops: readonly MapStop[],
  g: Ground,
): NamePlace | undefined {
  const half = roughTextWidth(text, g.fontSize) / 2;
  const steps = 24;
  let best: NamePlace | undefined;
  for (let i = 1; i < steps; i++)
    for (let j = 1; j < steps; j++) {
      const xM = b.minX + ((b.maxX - b.minX) * i) / steps;
      const yM = b.minY + ((b.maxY - b.minY) * j) / steps;
      if (![-1, 0, 1].every((end) => inside(xM + (end * half) / g.pxPerM, yM))) continue;
      const [x, y] = [g.x(xM), g.y(yM)];
      const room = Math.min(
        14,
        ...stops.map((s) =>
          Math.max(Math.abs(g.x(s.xM) - x) - half, Math.abs(g.y(s.yM) - y) - g.fontSize / 2),
        ),
      );
      const offCentre = Math.hypot(xM - (b.minX + b.maxX) / 2, yM - (b.minY + b.maxY) / 2) * g.pxPerM;
      const score = room - offCentre / 50;
      if (!best || score > best.score) best = { text, x, y, score };
    }
  return best;
}

function unitNames(data: FieldMapData, g: Ground): string {
  return data.soilUnits
    .map((u) => {
      const inside = (x: number, y: number) =>
        regionContains(u.region, [x, y]) && regionContains(data.region, [x, y]);
      return roomyName([u.label], regionBounds(u.region), inside, data.stops, g);
    })
    .join('');
}

function zoneNames(data: FieldMapData, g: Ground): string {
  return data.zones
    .map(({ cells, name }, i) => {
      const holds = (x: number, y: number) =>
        cells.some((c) => Math.abs(c.xM - x) <= c.sizeM / 2 && Math.abs(c.yM - y) <= c.sizeM / 2);
      const [xs, ys] = [cells.map((c) => c.xM), cells.map((c) => c.yM)];
      const b = {
        minX: Math.min(...xs),
        maxX: Math.max(...xs),
        minY: Math.min(...ys),
        maxY: Math.max(...ys),
      };
      return roomyName([name, `zone ${i + 1}`], b, holds, data.stops, g);
    })
    .join('');
}

function crosses(points: readonly number[], g: Ground): string {
  let d = '';
  for (let i = 0; i + 1 < points.length; i += 2) {
    const [x, y] = [g.x(points[i]), g.y(points[i + 1])];
    d += `M${(x - 3).toFixed(1)},${(y - 3).toFixed(1)}l6,6m0,-6l-6,6`;
  }
  return d;
}

function route(stops: readonly MapStop[], g: Ground): string {
  if (stops.length < 2) return '';
  return `M${stops.map((s) => `${g.x(s.xM).toFixed(1)},${g.y(s.yM).toFixed(1)}`).join('L')}`;
}

function stopMarks(stops: readonly MapStop[], g: Ground, size: ChartSize): string[] {
  const gap = closestGapM(stops.filter((s) => !s.partner)) * g.pxPerM;
  const full = stops.length > 99 ? 14 : size === 'wide' ? 11.5 : 10.5;
  const numbered = gap >= 2 * full + 2;
  const radius = numbered ? full : Math.max(2.5, Math.min(6, gap / 3));
  // Partners first, so that the numbers of their stops stand above them.
  const drawn = [...stops].sort((a, b) => Number(b.partner ?? false) - Number(a.partner ?? false));
  return drawn.map((s) => {
    const [x, y] = [g.x(s.xM), g.y(s.yM)];
    const end = s.order === 1 || s.order === stops.length;
    const disc = element('circle', {
      class: `stop${s.order === 1 ? ' first' : ''}`,
      cx: x,
      cy: y,
      r: s.partner ? radius * 0.7 : radius,
    });
    if (s.partner) return readable(x, y, s.says, `stop-${s.order}`, disc, '');
    const inside = numbered
      ? label(x, y + 4, String(s.order), {
          class: s.order === 1 ? 'stop-number first' : 'stop-number',
          'text-anchor': 'middle',
        })
      : end || s.order % 10 === 0
        ? label(x, y - radius - 3, String(s.order), { class: 'stop-number outside', 'text-anchor': 'middle' })
        : '';
    return readable(x, y, s.says, `stop-${s.order}`, disc, inside);
  });
}

/** Smallest distance between two stops, leaving out the closest tenth; Infinity for a single one. */
function closestGapM(stops: readonly MapStop[]): number {
  const nearest = stops.map((s, i) =>
    Math.min(...stops.map((o, j) => (i === j ? Infinity : Math.hypot(o.xM - s.xM, o.yM - s.yM)))),
  );
  nearest.sort((a, b) => a - b);
  return nearest[Math.floor(nearest.length * 0.1)] ?? Infinity;
}

function scaleBar(data: FieldMapData, g: Ground): string {
  const bar = data.scaleBars.find((b) => b.metres * g.pxPerM <= g.width * 0.3) ?? data.scaleBars.at(-1);
  if (!bar) return '';
  const y = g.bottom + 20;
  const length = bar.metres * g.pxPerM;
  const left = 14;
  return element(
    'g',
    { class: 'scale-bar' },
    element('path', {
      d: `M${left},${(y - 5).toFixed(1)}V${y.toFixed(1)}H${(left + length).toFixed(1)}V${(y - 5).toFixed(1)}`,
    }),
    label(left + length + 8, y + 2, bar.name, { class: 'tick' }),
  );
}

function northArrow(g: Ground): string {
  const x = g.width - 24;
  const y = g.bottom + 10;
  const at = (dx: number, dy: number) => `${(x + dx).toFixed(1)},${(y + dy).toFixed(1)}`;
  return element(
    'g',
    { class: 'north' },
    element('path', { d: `M${at(0, 0)}L${at(6, 22)}L${at(0, 17)}L${at(-6, 22)}Z` }),
    label(x - 12, y + 18, 'N', { class: 'tick', 'text-anchor': 'end' }),
  );
}
