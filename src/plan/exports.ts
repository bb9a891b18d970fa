import papaparse from 'papaparse';
import type { Frame, Region } from '../field/index.ts';

/** The part of an answer that stops are written from. */
export interface Plan {
  readonly field: { readonly name: string; readonly frame: Frame; readonly region: Region };
  readonly options: { readonly depthCm: number };
  readonly stops: readonly {
    readonly order: number;
    readonly label: string;
    readonly world: readonly [number, number];
    readonly xM: number;
    readonly yM: number;
    readonly cores: number;
    readonly sample: string;
    /** Number of the bag the cores go into, once bags are numbered (`withBags`). */
    readonly bag?: string;
  }[];
}

/** What every export says of a stop beside its place; names fit a shapefile's ten characters. */
export function stopProperties(
  plan: Plan,
  stop: Plan['stops'][number],
): Readonly<Record<string, string | number>> {
  return {
    order: stop.order,
    stop: stop.label,
    sample: stop.sample,
    cores: stop.cores,
    depth_cm: plan.options.depthCm,
    ...(stop.bag !== undefined && { bag: stop.bag }),
  };
}

const round = (value: number, digits: number) => Number(value.toFixed(digits));

/** Decimals that keep a centimetre. */
const digitsOf = (frame: Frame) => (frame.kind === 'geographic' ? 7 : 2);

/**
 * Stops as GeoJSON points in walking order. Longitude and latitude on WGS 84 (RFC 7946) when the input had them;
 * otherwise the input's own eastings and northings, which the member `coordinate_note` then says (RFC 7946, section 4,
 * allows another reference system by prior arrangement).
 */
export function stopsToGeoJSON(plan: Plan): object {
  const digits = digitsOf(plan.field.frame);
  return {
    type: 'FeatureCollection',
    name: `${plan.field.name}: stops`,
    ...(plan.field.frame.kind === 'projected' && {
      coordinate_note: 'eastings and northings in metres, as in the files given',
    }),
    features: plan.stops.map((s) => ({
      type: 'Feature',
      geometry: { type: 'Point', coordinates: [round(s.world[0], digits), round(s.world[1], digits)] },
      properties: stopProperties(plan, s),
    })),
  };
}

/** Stops as CSV (RFC 4180) in walking order. Cells that a spreadsheet would take for a formula are quoted with an apostrophe. */
export function stopsToCsv(plan: Plan): string {
  const digits = digitsOf(plan.field.frame);
  const names =
    plan.field.frame.kind === 'geographic' ? ['longitude', 'latitude'] : ['easting_m', 'northing_m'];
  const numbered = plan.stops.some((s) => s.bag !== undefined);
  return (
    papaparse.unparse(
      {
        fields: ['order', 'stop', 'sample', ...names, 'cores', 'depth_cm', ...(numbered ? ['bag'] : [])],
        data: plan.stops.map((s) => [
          s.order,
          s.label,
          s.sample,
          round(s.world[0], digits),
          round(s.world[1], digits),
          s.cores,
          plan.options.depthCm,
          ...(numbered ? [s.bag ?? ''] : []),
        ]),
      },
      { escapeFormulae: /^[=+\-@\t\r]/ },
    ) + '\r\n'
  );
}
