import { isProblem, decodeText, startsWith } from './fileText.ts';
import { polygonsFromGeoJson } from './geoJsonPolygons.ts';
import { parseKml } from './kml.ts';
import { noteBook, type NoteBook } from './notes.ts';
import type { Problem } from './problem.ts';
import { cleanPolygon, type Polygon } from './rings.ts';
import { isDegrees, spanIsTooWideForDegrees } from './coordinateKind.ts';
import type { CoordinateKind } from './records.ts';
import { parseShapefileZip } from './shapefileZip.ts';

/** One feature of a GIS file with its polygons, rings closed and checked. */
export interface PolygonFeature {
  /** 1-based feature number. */
  readonly row: number;
  readonly properties: Readonly<Record<string, unknown>>;
  readonly polygons: readonly Polygon[];
}

/** The polygons of a GIS file. */
export interface PolygonFile {
  readonly file: string;
  readonly kind: CoordinateKind;
  readonly features: readonly PolygonFeature[];
  /** Polygons that can't be used (lines that cross, no area, …), each with what is wrong. */
  readonly faults: readonly Problem[];
  readonly notes: NoteBook;
}

/** More corners than this are refused. */
export const MAX_POSITIONS = 200_000;

/** A shapefile's main and index files begin with file code 9994, big-endian. */
const SHP_MAGIC = [0x00, 0x00, 0x27, 0x0a];
const ZIP_MAGIC = [0x50, 0x4b];

/**
 * Reads polygons from GeoJSON (RFC 7946), KML (OGC 2.2) or a zipped shapefile; the content tells which.
 * Polygons that can't be used are listed as faults: the caller decides whether it can go on without them.
 */
export async function readPolygonFile(file: string, bytes: Uint8Array): Promise<PolygonFile | Problem> {
  const notes = noteBook(file);
  const json = await toGeoJson(file, bytes, notes);
  if (isProblem(json)) return json;
  const raw = polygonsFromGeoJson(file, json, notes);
  if (isProblem(raw)) return raw;
  const positions = raw
    .flatMap((f) => f.polygons.flatMap((p) => p.map((ring) => ring.length)))
    .reduce((a, b) => a + b, 0);
  if (positions > MAX_POSITIONS)
    return {
      file,
      problem: `The file has ${positions.toLocaleString('en')} corners; at most ${MAX_POSITIONS.toLocaleString('en')} can be used.`,
      remedy: 'Simplify the lines to about a metre, or cut the file to this field.',
    };
  const kind = kindOf(raw, notes);
  const features: PolygonFeature[] = [];
  const faults: Problem[] = [];
  for (const feature of raw) {
    const polygons: Polygon[] = [];
    for (const polygon of feature.polygons) {
      const cleaned = cleanPolygon(file, feature.row, polygon, kind, notes);
      if (isProblem(cleaned)) faults.push(cleaned);
      else polygons.push(cleaned);
    }
    if (polygons.length > 0) features.push({ ...feature, polygons });
  }
  if (features.length === 0 && faults.length === 0)
    return {
      file,
      problem: 'The file holds no polygon.',
      remedy: 'Draw the outline as a closed polygon and export it again.',
    };
  return { file, kind, features, faults, notes };
}

export async function toGeoJson(file: string, bytes: Uint8Array, notes: NoteBook): Promise<object | Problem> {
  const extension = /\.([a-z0-9]+)$/i.exec(file)?.[1].toLowerCase();
  if (startsWith(bytes, SHP_MAGIC) || ['shp', 'shx', 'dbf', 'prj'].includes(extension ?? ''))
    return {
      file,
      problem: 'This is one part of a shapefile.',
      remedy: 'Zip the .shp with its .shx, .dbf and .prj and give the .zip file.',
    };
  if (startsWith(bytes, ZIP_MAGIC)) return parseShapefileZip(file, bytes, notes);
  const decoded = decodeText(file, bytes);
  if (isProblem(decoded))
    return bytes.length === 0
      ? decoded
      : { ...decoded, problem: 'The file is not text and not a zip archive.', remedy: FORMATS };
  const text = decoded.text.replace(/^\ufeff/, '').trimStart();
  if (text.startsWith('<')) return parseKml(file, text);
  if (!text.startsWith('{'))
    return { file, problem: 'The file is no GIS format known here.', remedy: FORMATS };
  try {
    return JSON.parse(text) as object;
  } catch {
    return {
      file,
      problem: 'The file begins like GeoJSON but can’t be parsed.',
      remedy: 'Export it again; it may be cut short.',
    };
  }
}

const FORMATS = 'Give GeoJSON, KML or a zipped shapefile.';

function kindOf(
  features: readonly { readonly polygons: readonly Polygon[] }[],
  notes: NoteBook,
): CoordinateKind {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const { polygons } of features)
    for (const polygon of polygons)
      for (const ring of polygon)
        for (const [x, y] of ring) {
          minX = Math.min(minX, x);
          minY = Math.min(minY, y);
          maxX = Math.max(maxX, x);
          maxY = Math.max(maxY, y);
        }
  const inRange = isDegrees(minX, minY) && isDegrees(maxX, maxY);
  // A survey area of soil units may span a county, so only a span that no county has speaks against degrees.
  if (inRange && !spanIsTooWideForDegrees(maxX - minX, maxY - minY)) return 'lonlat';
  notes.add('projected', {
    problem: inRange
      ? 'As degrees the shapes would span hundreds of kilometres; the coordinates were taken as metres.'
      : 'The coordinates go beyond longitude and latitude; they were taken as metres of a map projection.',
    remedy: 'If the other files are in degrees, export this one in WGS 84 (EPSG:4326).',
  });
  return 'projected';
}
