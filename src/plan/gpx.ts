import type { Read } from '../read/index.ts';
import { stopProperties, type Plan } from './exports.ts';
import { needsDegrees } from './needsDegrees.ts';
import { xmlText } from './xmlText.ts';

/** Namespace of what GPX has no element for: order, sample, cores, depth, bag. */
export const GPX_STOPS_NAMESPACE = 'urn:lagstep:stops:1';

/**
 * Stops as GPX 1.1 (topografix.com/GPX/1/1): a waypoint each in walking order, then the walk as a route. Elements stand in
 * the order of the schema's sequences; what a receiver can't show stands in `extensions`.
 * Refused when the plan has no longitude and latitude.
 */
export function stopsToGpx(plan: Plan): Read<string> {
  const refused = needsDegrees(plan, 'GPX');
  if (refused) return { ok: false, problems: [refused] };
  const name = xmlText(plan.field.name);
  const lines = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<gpx version="1.1" creator="Lagstep" xmlns="http://www.topografix.com/GPX/1/1" ' +
      'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" ' +
      'xsi:schemaLocation="http://www.topografix.com/GPX/1/1 http://www.topografix.com/GPX/1/1/gpx.xsd" ' +
      `xmlns:lagstep="${GPX_STOPS_NAMESPACE}">`,
    '  <metadata>',
    `    <name>${name}: soil sampling stops</name>`,
    '  </metadata>',
    ...plan.stops.flatMap((stop) => waypoint(plan, stop)),
  ];
  if (plan.stops.length > 0)
    lines.push(
      '  <rte>',
      `    <name>${name}: walking order</name>`,
      ...plan.stops.map(
        (stop) => `    <rtept ${position(stop.world)}><name>${xmlText(stop.label)}</name></rtept>`,
      ),
      '  </rte>',
    );
  return { ok: true, value: [...lines, '</gpx>', ''].join('\n'), notes: [] };
}

function waypoint(plan: Plan, stop: Plan['stops'][number]): string[] {
  const said = [
    `bag ${stop.bag ?? stop.sample}`,
    `${stop.cores} ${stop.cores === 1 ? 'core' : 'cores'}`,
    `${plan.options.depthCm} cm deep`,
  ].join(', ');
  const own = Object.entries(stopProperties(plan, stop)).map(
    ([key, value]) => `<lagstep:${key}>${xmlText(String(value))}</lagstep:${key}>`,
  );
  return [
    `  <wpt ${position(stop.world)}>`,
    `    <name>${xmlText(stop.label)}</name>`,
    `    <desc>${xmlText(said)}</desc>`,
    '    <sym>Flag, Blue</sym>',
    '    <type>soil sampling stop</type>',
    `    <extensions>${own.join('')}</extensions>`,
    '  </wpt>',
  ];
}

/** Seven decimals keep a centimetre. The schema's longitudes end before 180, which is the same meridian as −180. */
function position([lon, lat]: readonly [number, number]): string {
  const fixed = lon.toFixed(7);
  return `lat="${lat.toFixed(7)}" lon="${fixed === '180.0000000' ? '-180.0000000' : fixed}"`;
}
