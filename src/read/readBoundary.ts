import { featureCollection, polygon as turfPolygon, union } from '@turf/turf';
import { isProblem } from './fileText.ts';
import { readPolygonFile } from './geometryFile.ts';
import type { NoteBook } from './notes.ts';
import type { Read } from './problem.ts';
import type { BoundaryLayer } from './records.ts';
import type { Polygon } from './rings.ts';

const NAME_PROPERTIES = ['field_name', 'fieldname', 'field', 'name', 'label', 'title'];

/**
 * Reads a field's boundary from GeoJSON, KML or a zipped shapefile. All polygons of the file make one field, with
 * their holes; where they overlap the ground is counted once.
 *
 * @param file name for messages; the content tells the format
 */
export async function readBoundary(file: string, bytes: Uint8Array): Promise<Read<BoundaryLayer>> {
  const read = await readPolygonFile(file, bytes);
  if (isProblem(read)) return { ok: false, problems: [read] };
  // A field with a part missing would be planned wrongly, so one bad polygon stops it.
  if (read.faults.length > 0) return { ok: false, problems: read.faults.slice(0, 20) };
  const parts = read.features.flatMap((f) => f.polygons);
  if (parts.length > 1)
    read.notes.add('parts', {
      problem: `The file holds ${parts.length} polygons; together they were taken as one field.`,
      remedy: 'If they are several fields, give each as a file of its own.',
    });
  const polygons = dissolve(parts, read.notes);
  const name = read.features.length === 1 ? nameOf(read.features[0].properties) : undefined;
  return { ok: true, value: { file, kind: read.kind, polygons, name }, notes: read.notes.all() };
}

/** Polygons whose boxes meet are joined, so that shared ground isn't counted twice. */
function dissolve(parts: readonly Polygon[], notes: NoteBook): readonly Polygon[] {
  const boxes = parts.map(([outer]) => boxOf(outer));
  const meet = boxes.some((a, i) =>
    boxes.slice(i + 1).some((b) => a[0] <= b[2] && b[0] <= a[2] && a[1] <= b[3] && b[1] <= a[3]),
  );
  if (!meet) return parts;
  const nested = unionOf(parts);
  if (!nested) {
    notes.add('not joined', {
      problem: 'Polygons that may overlap could not be joined; ground under two of them counts twice.',
      remedy: 'Redraw the boundary as one outline.',
    });
    return parts;
  }
  // A union of polygons that only came near each other is the same polygons: keep their corners as drawn.
  if (nested.length === parts.length) return parts;
  notes.add('joined', {
    problem: 'Polygons that touch or overlap were joined; ground under two of them counts once.',
    remedy: 'Nothing to do if the outline looks right.',
  });
  return nested;
}

/** The union of polygons; undefined when the library can't complete it. */
function unionOf(parts: readonly Polygon[]): readonly Polygon[] | undefined {
  try {
    const shapes = parts.map((p) => turfPolygon(p.map((ring) => ring.map(([x, y]) => [x, y]))));
    const joined = union(featureCollection(shapes));
    if (!joined) return undefined;
    const nested =
      joined.geometry.type === 'Polygon' ? [joined.geometry.coordinates] : joined.geometry.coordinates;
    return nested.map((p) => p.map((ring) => ring.map((position) => [position[0], position[1]] as const)));
  } catch {
    return undefined;
  }
}

function boxOf(ring: Polygon[number]): readonly [number, number, number, number] {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of ring) {
    minX = Math.min(minX, x);
    minY = Math.min(minY, y);
    maxX = Math.max(maxX, x);
    maxY = Math.max(maxY, y);
  }
  return [minX, minY, maxX, maxY];
}

function nameOf(properties: Readonly<Record<string, unknown>>): string | undefined {
  for (const wanted of NAME_PROPERTIES)
    for (const [key, value] of Object.entries(properties))
      if (key.toLowerCase() === wanted && typeof value === 'string' && value.trim() !== '')
        return value.trim();
  return undefined;
}
