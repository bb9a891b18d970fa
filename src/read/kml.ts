import { kml } from '@tmcw/togeojson';
import { parsePlainXml } from './plainXml.ts';
import type { Problem } from './problem.ts';

/** A KML document (OGC KML 2.2) as GeoJSON. */
export function parseKml(file: string, text: string): object | Problem {
  const document = parsePlainXml(file, text, 'KML', 'Give GeoJSON, KML or a zipped shapefile.');
  return 'problem' in document ? document : kml(document);
}
