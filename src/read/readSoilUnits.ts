import { isProblem } from './fileText.ts';
import { readPolygonFile, type PolygonFeature } from './geometryFile.ts';
import type { Read } from './problem.ts';
import type { SoilUnitLayer } from './records.ts';
import type { Polygon } from './rings.ts';

export interface ReadSoilUnitsOptions {
  /** Property that labels the units, in any case; found by its name when not given. */
  readonly labelProperty?: string;
}

/** Property names that usually label a soil unit, the surest first (the first three are public soil-survey attributes). */
const LABEL_PROPERTIES = (
  'musym muname mukey soil_unit soilunit mapunit map_unit unit_name unit soil_name soilname soil series soil_type ' +
  'soiltype zone_name zone class type name label id'
).split(' ');

/**
 * Reads soil-unit polygons from GeoJSON, KML or a zipped shapefile. Polygons with one label make one unit.
 * Polygons that can't be used are left out with a note.
 *
 * @param file name for messages; the content tells the format
 */
export async function readSoilUnits(
  file: string,
  bytes: Uint8Array,
  options: ReadSoilUnitsOptions = {},
): Promise<Read<SoilUnitLayer>> {
  const read = await readPolygonFile(file, bytes);
  if (isProblem(read)) return { ok: false, problems: [read] };
  if (read.features.length === 0) return { ok: false, problems: read.faults.slice(0, 20) };
  const { notes } = read;
  const property = labelProperty(read.features, options.labelProperty);
  if (options.labelProperty !== undefined && property === undefined)
    return {
      ok: false,
      problems: [
        {
          file,
          column: options.labelProperty,
          problem: 'The soil units have no property of this name.',
          remedy: `They have: ${propertyNames(read.features).join(', ') || 'none'}.`,
        },
      ],
    };
  for (const fault of read.faults)
    notes.add('fault', {
      row: fault.row,
      problem: `${fault.problem} This polygon was left out.`,
      remedy: fault.remedy,
    });
  const units = new Map<string, Polygon[]>();
  let unnamed = 0;
  for (const feature of read.features) {
    const text = property === undefined ? '' : labelText(feature.properties[property]);
    const label = text || `unit ${++unnamed}`;
    if (text === '')
      notes.add('no label', {
        row: feature.row,
        column: property,
        problem: `The soil unit has no label; it was called “${label}”.`,
        remedy: 'Choose the property that names the units, or fill it in.',
      });
    const merged = units.get(label);
    if (merged) merged.push(...feature.polygons);
    else units.set(label, [...feature.polygons]);
  }
  return {
    ok: true,
    value: { file, kind: read.kind, units: [...units].map(([label, polygons]) => ({ label, polygons })) },
    notes: notes.all(),
  };
}

function propertyNames(features: readonly PolygonFeature[]): string[] {
  return [...new Set(features.flatMap((f) => Object.keys(f.properties)))];
}

function labelProperty(features: readonly PolygonFeature[], wanted?: string): string | undefined {
  const names = propertyNames(features);
  if (wanted !== undefined) return names.find((n) => n.toLowerCase() === wanted.trim().toLowerCase());
  for (const usual of LABEL_PROPERTIES) {
    const found = names.find(
      (n) => n.toLowerCase() === usual && features.some((f) => labelText(f.properties[n]) !== ''),
    );
    if (found !== undefined) return found;
  }
  return names.find((n) =>
    features.some((f) => typeof f.properties[n] === 'string' && labelText(f.properties[n]) !== ''),
  );
}

const labelText = (value: unknown): string =>
  typeof value === 'string' || typeof value === 'number' ? String(value).trim() : '';
