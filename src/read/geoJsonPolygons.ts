import type { NoteBook } from './notes.ts';
import type { Problem } from './problem.ts';
import type { Polygon, Pair } from './rings.ts';

/** A feature's polygons as they stand in the file, not yet checked. */
export interface RawFeature {
  readonly row: number;
  readonly properties: Readonly<Record<string, unknown>>;
  readonly polygons: readonly Polygon[];
}

export type Loose = Readonly<Record<string, unknown>>;

/**
 * Polygons of a FeatureCollection, Feature or bare geometry, also inside GeometryCollections.
 * Closed lines are taken as polygons with a note; other geometries are passed over with a note.
 * Positions that aren't pairs of finite numbers are a problem.
 */
export function polygonsFromGeoJson(file: string, json: object, notes: NoteBook): RawFeature[] | Problem {
  const features = featuresOf(asLoose(json));
  if (!features)
    return { file, problem: 'The JSON is not GeoJSON.', remedy: 'Export a FeatureCollection of polygons.' };
  const found: RawFeature[] = [];
  const passedOver = new Set<string>();
  for (const [i, feature] of features.entries()) {
    const polygons: Polygon[] = [];
    for (const geometry of flatten(asLoose(feature.geometry))) {
      const coordinates = nestedRings(geometry, i + 1, notes);
      if (coordinates === undefined) {
        passedOver.add(String(geometry.type ?? 'nothing'));
        continue;
      }
      for (const polygon of coordinates) {
        const read = readPolygon(polygon);
        if (!read)
          return {
            file,
            row: i + 1,
            problem: 'A polygon has a position that is not two finite numbers.',
            remedy: 'Export the file again.',
          };
        if (read.length > 0) polygons.push(read);
      }
    }
    if (polygons.length > 0) found.push({ row: i + 1, properties: asLoose(feature.properties), polygons });
  }
  if (found.length === 0)
    return {
      file,
      problem:
        passedOver.size > 0
          ? `The file holds no polygon, only ${[...passedOver].join(', ')}.`
          : 'The file holds no polygon.',
      remedy: 'Draw the outline as a closed polygon and export it again.',
    };
  if (passedOver.size > 0)
    notes.add('passed over', {
      problem: `Besides polygons the file holds ${[...passedOver].join(', ')}; that was passed over.`,
      remedy: 'Nothing to do if only the polygons matter.',
    });
  return found;
}

export function featuresOf(root: Loose): readonly Loose[] | undefined {
  if (root.type === 'FeatureCollection')
    return Array.isArray(root.features) ? root.features.map(asLoose) : undefined;
  if (root.type === 'Feature') return [root];
  return typeof root.type === 'string' && ('coordinates' in root || 'geometries' in root)
    ? [{ type: 'Feature', geometry: root, properties: {} }]
    : undefined;
}

export function flatten(geometry: Loose): readonly Loose[] {
  if (geometry.type !== 'GeometryCollection') return [geometry];
  return Array.isArray(geometry.geometries) ? geometry.geometries.map(asLoose).flatMap(flatten) : [];
}

/** The geometry's polygons as nested arrays of unknown positions; undefined when it has none. */
function nestedRings(geometry: Loose, row: number, notes: NoteBook): readonly unknown[] | undefined {
  const { type, coordinates } = geometry;
  if (!Array.isArray(coordinates)) return undefined;
  if (type === 'Polygon') return [coordinates];
  if (type === 'MultiPolygon') return coordinates;
  const lines: readonly unknown[] =
    type === 'LineString' ? [coordinates] : type === 'MultiLineString' ? coordinates : [];
  const closed = lines.filter(isClosed);
  if (closed.length === 0) return undefined;
  notes.add('closed line', {
    row,
    problem: 'The shape is a closed line, not a polygon; the ground inside it was taken.',
    remedy: 'Nothing to do if that is what it bounds.',
  });
  return closed.map((line) => [line]);
}

export function isClosed(line: unknown): boolean {
  if (!Array.isArray(line) || line.length < 4) return false;
  const [first, last]: [unknown, unknown] = [line[0], line[line.length - 1]];
  return Array.isArray(first) && Array.isArray(last) && first[0] === last[0] && first[1] === last[1];
}

/** Rings with heights dropped; undefined when a position isn't two finite numbers. Empty rings are left out. */
export function readPolygon(polygon: unknown): Polygon | undefined {
  if (!Array.isArray(polygon)) return undefined;
  const rings: Pair[][] = [];
  for (const ring of polygon as readonly unknown[]) {
    if (!Array.isArray(ring)) return undefined;
    const pairs: Pair[] = [];
    for (const position of ring as readonly unknown[]) {
      if (!Array.isArray(position)) return undefined;
      const [x, y]: readonly unknown[] = position;
      if (typeof x !== 'number' || typeof y !== 'number' || !Number.isFinite(x) || !Number.isFinite(y))
        return undefined;
      pairs.push([x, y]);
    }
    if (pairs.length > 0) rings.push(pairs);
  }
  return rings;
}

export const asLoose = (value: unknown): Loose =>
  typeof value === 'object' && value !== null ? (value as Loose) : {};
