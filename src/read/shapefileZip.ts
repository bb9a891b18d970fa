import { parseZip } from 'shpjs';
import type { NoteBook } from './notes.ts';
import type { Problem } from './problem.ts';
import { zipEntries } from './zipEntries.ts';

/** An archive that unpacks to more than this is refused, bytes. */
const MAX_UNPACKED = 300_000_000;

/**
 * A zipped shapefile as GeoJSON. With a .prj inside, coordinates come out as WGS 84 degrees; without one they stay
 * as they are.
 */
export async function parseShapefileZip(
  file: string,
  bytes: Uint8Array,
  notes: NoteBook,
): Promise<object | Problem> {
  const entries = zipEntries(bytes);
  const damaged = {
    file,
    problem: 'The zip archive is damaged or cut short.',
    remedy: 'Zip the files again.',
  };
  if (!entries) return damaged;
  const names = entries.map((e) => e.name).filter((n) => !n.includes('__MACOSX'));
  const having = (extension: string) => names.filter((n) => n.toLowerCase().endsWith(extension));
  const shapes = having('.shp');
  if (shapes.length === 0) return noShapefile(file, having('.kml').length > 0);
  if (shapes.length > 1)
    return {
      file,
      problem: `The zip archive holds ${shapes.length} shapefiles: ${shapes.join(', ')}.`,
      remedy: 'Zip only the one that is meant, with its .shx, .dbf and .prj.',
    };
  if (entries.reduce((sum, e) => sum + e.size, 0) > MAX_UNPACKED)
    return {
      file,
      problem: 'The zip archive unpacks to more than 300 MB.',
      remedy: 'Cut the shapefile to this field before zipping it.',
    };
  if (having('.prj').length === 0)
    notes.add('no prj', {
      problem: 'The shapefile has no .prj, so its map projection is not known.',
      remedy: 'Zip the .prj with it, or check that the coordinates are degrees or metres.',
    });
  try {
    const layers = await parseZip(tightCopy(bytes));
    return Array.isArray(layers) ? layers[0] : layers;
  } catch {
    // The parser's own words speak of its insides.
    return {
      ...damaged,
      problem: 'The shapefile in the zip archive can’t be read: a part (.shx, .dbf) is missing or damaged.',
      remedy: 'Export it again in WGS 84 and zip all its parts.',
    };
  }
}

/** The parser takes the whole underlying buffer of a view, which may hold more than the file. */
const tightCopy = (bytes: Uint8Array): ArrayBuffer => Uint8Array.from(bytes).buffer as ArrayBuffer;

function noShapefile(file: string, holdsKml: boolean): Problem {
  return holdsKml
    ? {
        file,
        problem: 'The zip archive holds a KML file (a .kmz).',
        remedy: 'Unpack it and give the .kml inside.',
      }
    : {
        file,
        problem: 'The zip archive holds no shapefile (.shp).',
        remedy: 'Zip the .shp with its .shx, .dbf and .prj, or give GeoJSON or KML.',
      };
}
