import { kml } from '@tmcw/togeojson';
import { DOMParser, onErrorStopParsing, type Document } from '@xmldom/xmldom';
import type { Problem } from './problem.ts';

/**
 * A KML document (OGC KML 2.2) as GeoJSON. A document type declaration is refused: KML needs none, and entities
 * declared in one can be made to grow without end.
 */
export function parseKml(file: string, text: string): object | Problem {
  if (/<!DOCTYPE/i.test(text))
    return {
      file,
      problem: 'The file has a document type declaration (DOCTYPE), which is not accepted.',
      remedy: 'Export plain KML without it.',
    };
  let document: Document;
  try {
    document = new DOMParser({ onError: onErrorStopParsing }).parseFromString(text, 'text/xml');
  } catch {
    return {
      file,
      problem: 'The file is not well-formed XML.',
      remedy: 'Export the KML again; it may be cut short.',
    };
  }
  const root = document.documentElement?.localName;
  if (root !== 'kml')
    return {
      file,
      problem: `The file is XML but not KML (${root ?? 'no root'}).`,
      remedy: 'Give GeoJSON, KML or a zipped shapefile.',
    };
  return kml(document);
}
