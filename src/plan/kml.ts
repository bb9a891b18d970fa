import { toWorld, type Frame, type Ring } from '../field/index.ts';
import type { Read } from '../read/index.ts';
import { stopProperties, type Plan } from './exports.ts';
import { needsDegrees } from './needsDegrees.ts';
import { xmlText } from './xmlText.ts';

/** Types of `stopProperties` in a KML schema; the others are text. */
const NUMBER_TYPES: Readonly<Record<string, 'int' | 'double'>> = {
  order: 'int',
  cores: 'int',
  depth_cm: 'double',
};

/**
 * Stops as KML (OGC 2.2): the boundary as a placemark with polygons, then a placemark for each stop in walking order with
 * its typed ExtendedData. Refused when the plan has no longitude and latitude.
 */
export function stopsToKml(plan: Plan): Read<string> {
  const refused = needsDegrees(plan, 'KML');
  if (refused) return { ok: false, problems: [refused] };
  const numbered = plan.stops.some((s) => s.bag !== undefined);
  const fields = ['order', 'stop', 'sample', 'cores', 'depth_cm', ...(numbered ? ['bag'] : [])];
  const lines = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<kml xmlns="http://www.opengis.net/kml/2.2">',
    '<Document>',
    `  <name>${xmlText(plan.field.name)}: soil sampling stops</name>`,
    '  <Style id="boundary"><LineStyle><color>ff00ffff</color><width>2</width></LineStyle><PolyStyle><fill>0</fill></PolyStyle></Style>',
    '  <Schema name="stop" id="stop">',
    ...fields.map((field) => `    <SimpleField type="${NUMBER_TYPES[field] ?? 'string'}" name="${field}"/>`),
    '  </Schema>',
    ...boundary(plan),
    ...plan.stops.flatMap((stop) => [
      '  <Placemark>',
      `    <name>${xmlText(stop.label)}</name>`,
      '    <ExtendedData><SchemaData schemaUrl="#stop">',
      ...Object.entries(stopProperties(plan, stop)).map(
        ([field, value]) => `      <SimpleData name="${field}">${xmlText(String(value))}</SimpleData>`,
      ),
      '    </SchemaData></ExtendedData>',
      `    <Point><coordinates>${tuple(stop.world)}</coordinates></Point>`,
      '  </Placemark>',
    ]),
    '</Document>',
    '</kml>',
    '',
  ];
  return { ok: true, value: lines.join('\n'), notes: [] };
}

function boundary({ field }: Plan): string[] {
  if (field.region.length === 0) return [];
  return [
    '  <Placemark>',
    `    <name>${xmlText(field.name)}</name>`,
    '    <styleUrl>#boundary</styleUrl>',
    '    <MultiGeometry>',
    ...field.region.map(([outer, ...holes]) => {
      const inner = holes.map((hole) => ring('innerBoundaryIs', field.frame, hole));
      return `      <Polygon>${ring('outerBoundaryIs', field.frame, outer)}${inner.join('')}</Polygon>`;
    }),
    '    </MultiGeometry>',
    '  </Placemark>',
  ];
}

function ring(element: 'outerBoundaryIs' | 'innerBoundaryIs', frame: Frame, corners: Ring): string {
  const tuples = corners.map((corner) => tuple(toWorld(frame, corner))).join(' ');
  return `<${element}><LinearRing><coordinates>${tuples}</coordinates></LinearRing></${element}>`;
}

const tuple = ([lon, lat]: readonly [number, number]): string => `${lon.toFixed(7)},${lat.toFixed(7)}`;
