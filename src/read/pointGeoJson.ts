import { noteBook } from './notes.ts';
import type { Problem } from './problem.ts';
import type { Table } from './table.ts';

/** Header given to the coordinates of a point feature, recognised as plain x and y. */
const X_HEADER = 'geometry x';
const Y_HEADER = 'geometry y';

interface LooseFeature {
  readonly geometry?: unknown;
  readonly properties?: unknown;
}

/**
 * A GeoJSON FeatureCollection of points (RFC 7946) as a table: a row for each feature, a column for each property.
 * Row numbers are feature numbers.
 */
export function tableFromPointGeoJson(file: string, text: string): Table | Problem {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return {
      file,
      problem: 'The file begins like JSON but can’t be parsed.',
      remedy: 'Export the GeoJSON again, or give CSV.',
    };
  }
  const features = featuresOf(json);
  if (!features)
    return {
      file,
      problem: 'The JSON is not a GeoJSON FeatureCollection.',
      remedy: 'Export the points as GeoJSON or CSV.',
    };
  const notes = noteBook(file);
  const points: { xy: readonly [unknown, unknown]; properties: Record<string, unknown>; row: number }[] = [];
  const others = new Set<string>();
  features.forEach((feature, i) => {
    const xy = pointOf(feature.geometry);
    if (xy) points.push({ xy, properties: asRecord(feature.properties), row: i + 1 });
    else {
      const type = String(asRecord(feature.geometry).type ?? 'no geometry');
      others.add(type);
      notes.add('not a point', {
        row: i + 1,
        problem: `The feature is not a point (${type}) and was set aside.`,
        remedy: 'Give boundaries and soil units as files of their own.',
      });
    }
  });
  if (points.length === 0)
    return {
      file,
      problem:
        features.length === 0
          ? 'The GeoJSON has no features.'
          : `The GeoJSON holds no points, only ${[...others].join(', ')}.`,
      remedy: 'Give the sample points here; boundaries and soil units go in their own place.',
    };
  const keys = [...new Set(points.flatMap((p) => Object.keys(p.properties)))];
  const rows = points.map((p) => [...p.xy.map(cellText), ...keys.map((k) => cellText(p.properties[k]))]);
  return {
    file,
    headers: [X_HEADER, Y_HEADER, ...keys],
    rows,
    rowNumbers: Uint32Array.from(points, (p) => p.row),
    delimiter: ',',
    notes,
  };
}

function featuresOf(json: unknown): readonly LooseFeature[] | undefined {
  const root = asRecord(json);
  if (root.type === 'Feature') return [root];
  return root.type === 'FeatureCollection' && Array.isArray(root.features)
    ? root.features.map(asRecord)
    : undefined;
}

function pointOf(geometry: unknown): readonly [unknown, unknown] | undefined {
  const { type, coordinates } = asRecord(geometry);
  if (!Array.isArray(coordinates)) return undefined;
  const list: readonly unknown[] = coordinates;
  if (type === 'Point' && list.length >= 2) return [list[0], list[1]];
  const only: unknown = list.length === 1 ? list[0] : undefined;
  return type === 'MultiPoint' && Array.isArray(only) && only.length >= 2 ? [only[0], only[1]] : undefined;
}

const asRecord = (value: unknown): Record<string, unknown> =>
  typeof value === 'object' && value !== null ? (value as Record<string, unknown>) : {};

const cellText = (value: unknown): string =>
  typeof value === 'number' || typeof value === 'string' || typeof value === 'boolean' ? String(value) : '';
