import { feetToMetres } from '../units/index.ts';
import { isDegrees, spanIsTooWideForDegrees } from './coordinateKind.ts';
import { isProblem } from './fileText.ts';
import { asLoose, featuresOf, flatten, isClosed, readPolygon, type Loose } from './geoJsonPolygons.ts';
import { MAX_POSITIONS, toGeoJson } from './geometryFile.ts';
import { noteBook, type NoteBook } from './notes.ts';
import type { Problem, Read } from './problem.ts';
import type { CoordinateKind } from './records.ts';
import { cleanPolygon, type Pair, type Polygon } from './rings.ts';

/** One feature of ground to keep out of, in the file's coordinates. */
export interface KeepOutShape {
  /** Name or kind as the file has it; empty when it has none. */
  readonly label: string;
  readonly polygons: readonly Polygon[];
  /** Each two positions or more. */
  readonly lines: readonly (readonly Pair[])[];
  readonly points: readonly Pair[];
  /** How far lines and points reach to all sides, m: half the width or the radius that the file gives, else 0. */
  readonly extentM: number;
}

/** Waterways, terraces, old fence lines, yards, drains and wells that no sample should come from. */
export interface KeepOutLayer {
  readonly file: string;
  readonly kind: CoordinateKind;
  readonly shapes: readonly KeepOutShape[];
}

const LABELS = ['name', 'label', 'title', 'type', 'kind', 'feature', 'class', 'description'];
/** Properties that say how far a point or a line reaches, with metres in one of their units. */
const EXTENTS: readonly (readonly [name: string, toMetres: (value: number) => number])[] = [
  ['radius_m', (v) => v],
  ['radius_ft', feetToMetres],
  ['radius', (v) => v],
  ['width_m', (v) => v / 2],
  ['width_ft', (v) => feetToMetres(v) / 2],
  ['width', (v) => v / 2],
];
/** A well's pad or a waterway is no wider than this: beyond, the unit is wrong, m. Judgement of this project. */
const MOST_EXTENT_M = 500;

/**
 * Reads ground to keep out of from GeoJSON (RFC 7946), KML (OGC 2.2) or a zipped shapefile: polygons, lines and points. A
 * closed line is taken for the ground inside it. Shapes that can't be used are left out with a note.
 *
 * @param file name for messages; the content tells the format
 */
export async function readKeepOut(file: string, bytes: Uint8Array): Promise<Read<KeepOutLayer>> {
  const notes = noteBook(file);
  const json = await toGeoJson(file, bytes, notes);
  if (isProblem(json)) return { ok: false, problems: [json] };
  const features = featuresOf(asLoose(json));
  if (!features)
    return refuse(
      file,
      'The JSON is not GeoJSON.',
      'Export a FeatureCollection of polygons, lines or points.',
    );
  const raw = features.map((f, i) => rawShape(f, i + 1, notes));
  const all = raw.flatMap((s) => [...s.polygons.flat(2), ...s.lines.flat(), ...s.points]);
  if (all.length === 0)
    return refuse(
      file,
      'The file holds no polygon, line or point that can be used.',
      'Draw what is to be kept out and export it again.',
    );
  if (all.length > MAX_POSITIONS)
    return refuse(
      file,
      `The file has ${all.length.toLocaleString('en')} corners; at most ${MAX_POSITIONS.toLocaleString('en')} can be used.`,
      'Simplify the lines to about a metre, or cut the file to this field.',
    );
  const kind = kindOf(all, notes);
  const shapes = raw
    .map((s, i) => ({ ...s, polygons: soundPolygons(file, i + 1, s.polygons, kind, notes) }))
    .filter((s) => s.polygons.length + s.lines.length + s.points.length > 0);
  if (shapes.length === 0)
    return refuse(file, 'None of the shapes can be used.', 'Redraw them so that no lines cross.');
  return { ok: true, value: { file, kind, shapes }, notes: notes.all() };
}

const refuse = (file: string, problem: string, remedy: string): Read<never> => ({
  ok: false,
  problems: [{ file, problem, remedy }],
});

function rawShape(feature: Loose, row: number, notes: NoteBook): KeepOutShape {
  const polygons: Polygon[] = [];
  const lines: (readonly Pair[])[] = [];
  const points: Pair[] = [];
  const broken = (): void =>
    notes.add('broken', {
      row,
      problem: 'A shape has a position that is not two finite numbers; it was left out.',
      remedy: 'Export the file again.',
    });
  for (const { type, coordinates } of flatten(asLoose(feature.geometry))) {
    if (!Array.isArray(coordinates)) continue;
    const many = typeof type === 'string' && type.startsWith('Multi');
    const parts: readonly unknown[] = many ? coordinates : [coordinates];
    const simple = typeof type === 'string' ? type.replace('Multi', '') : '';
    for (const part of parts) {
      if (simple === 'Polygon' || (simple === 'LineString' && isClosed(part))) {
        const polygon = readPolygon(simple === 'Polygon' ? part : [part]);
        if (!polygon) broken();
        else if (polygon.length > 0) polygons.push(polygon);
      } else if (simple === 'LineString') {
        const path = readPolygon([part]);
        if (!path) broken();
        else if (path.length > 0 && path[0].length > 1) lines.push(path[0]);
        else if (path.length > 0) points.push(path[0][0]);
      } else if (simple === 'Point') {
        const path = readPolygon([[part]]);
        if (!path) broken();
        else points.push(path[0][0]);
      }
    }
  }
  const properties = asLoose(feature.properties);
  return { label: labelOf(properties), polygons, lines, points, extentM: extentOf(properties, row, notes) };
}

function labelOf(properties: Loose): string {
  for (const wanted of LABELS)
    for (const [key, value] of Object.entries(properties))
      if (key.toLowerCase() === wanted && typeof value === 'string' && value.trim() !== '')
        return value.trim().slice(0, 80);
  return '';
}

function extentOf(properties: Loose, row: number, notes: NoteBook): number {
  for (const [wanted, toMetres] of EXTENTS)
    for (const [column, given] of Object.entries(properties)) {
      if (column.toLowerCase() !== wanted || given === null || given === '') continue;
      const value = typeof given === 'string' ? Number(given) : given;
      const extentM = typeof value === 'number' ? toMetres(value) : NaN;
      if (extentM >= 0 && extentM <= MOST_EXTENT_M) {
        if (!wanted.includes('_') && extentM > 0)
          notes.add('unit', {
            column,
            row,
            problem: `No unit is named; “${value}” was taken as metres.`,
            remedy: `Name the property ${wanted}_m or ${wanted}_ft.`,
          });
        return extentM;
      }
      notes.add('extent', {
        row,
        column,
        problem: `“${sayGiven(given)}” is no ${wanted.split('_')[0]} up to ${MOST_EXTENT_M} m; nothing was added to the setback.`,
        remedy: 'Give it in metres as radius_m or width_m, in feet as radius_ft or width_ft.',
      });
    }
  return 0;
}

const sayGiven = (value: unknown): string =>
  typeof value === 'string' || typeof value === 'number' ? String(value).slice(0, 40) : 'This';

function soundPolygons(
  file: string,
  row: number,
  polygons: readonly Polygon[],
  kind: CoordinateKind,
  notes: NoteBook,
): readonly Polygon[] {
  return polygons.flatMap((polygon) => {
    const cleaned: Polygon | Problem = cleanPolygon(file, row, polygon, kind, notes);
    if (!isProblem(cleaned)) return [cleaned];
    notes.add('fault', {
      row,
      problem: `${cleaned.problem} This polygon was left out.`,
      remedy: cleaned.remedy,
    });
    return [];
  });
}

function kindOf(all: readonly Pair[], notes: NoteBook): CoordinateKind {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of all) {
    minX = Math.min(minX, x);
    minY = Math.min(minY, y);
    maxX = Math.max(maxX, x);
    maxY = Math.max(maxY, y);
  }
  if (isDegrees(minX, minY) && isDegrees(maxX, maxY) && !spanIsTooWideForDegrees(maxX - minX, maxY - minY))
    return 'lonlat';
  notes.add('projected', {
    problem: 'The coordinates were taken as metres of a map projection.',
    remedy: 'If the other files are in degrees, export this one in WGS 84 (EPSG:4326).',
  });
  return 'projected';
}
