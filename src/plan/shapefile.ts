import { write } from '@mapbox/shp-write';
import { stopProperties, type Plan } from './exports.ts';
import { zipStored } from './zipStored.ts';

/** Most bytes of a text field in a dBASE table. */
const MOST_BYTES = 254;

/** WGS 84 as a shapefile's .prj says it (ESRI well-known text of EPSG:4326). */
const WGS84_PRJ =
  'GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],' +
  'PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]';

/**
 * Stops as a zipped shapefile of points in walking order (ESRI Shapefile Technical Description 1998): .shp, .shx, .dbf
 * in UTF-8 with its .cpg, and .prj for longitude and latitude. Eastings and northings of an unnamed projection are
 * written as they came, without a .prj.
 */
export async function stopsToShapefile(plan: Plan): Promise<Uint8Array<ArrayBuffer>> {
  const rows = plan.stops.map((stop) =>
    Object.fromEntries(
      Object.entries(stopProperties(plan, stop)).map(([key, value]) => [
        key,
        typeof value === 'string' ? utf8Units(value) : value,
      ]),
    ),
  );
  const { shp, shx, dbf } = await writeParts(
    rows,
    plan.stops.map((stop) => [...stop.world]),
  );
  if (plan.stops.length === 0) for (const view of [shp, shx]) clearExtent(view);
  mendTable(dbf, rows);
  const text = (content: string) => new TextEncoder().encode(content);
  const bytes = (view: DataView) => new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  return zipStored([
    { name: 'stops.shp', bytes: bytes(shp) },
    { name: 'stops.shx', bytes: bytes(shx) },
    { name: 'stops.dbf', bytes: bytes(dbf) },
    { name: 'stops.cpg', bytes: text('UTF-8') },
    ...(plan.field.frame.kind === 'geographic' ? [{ name: 'stops.prj', bytes: text(WGS84_PRJ) }] : []),
  ]);
}

interface Parts {
  readonly shp: DataView;
  readonly shx: DataView;
  readonly dbf: DataView;
}

function writeParts(rows: readonly object[], points: readonly (readonly number[])[]): Promise<Parts> {
  return new Promise((resolve, reject) => {
    write([...rows], 'POINT', [...points], (error, parts) => {
      if (error) reject(error instanceof Error ? error : new Error(String(error)));
      else resolve(parts as Parts);
    });
  });
}

/** Text as one character for each byte of its UTF-8, which is what the writer stores; cut between characters when too long. */
function utf8Units(text: string): string {
  const encoder = new TextEncoder();
  let units = '';
  // eslint-disable-next-line no-control-regex -- a table's text holds no control characters
  for (const character of text.replace(/[\u0000-\u001f\u007f-\u009f]+/g, ' ')) {
    const bytes = encoder.encode(character);
    if (units.length + bytes.length > MOST_BYTES) break;
    units += String.fromCharCode(...bytes);
  }
  return units;
}

/** Box of a file without points: all zero. */
function clearExtent(view: DataView): void {
  for (let at = 36; at < 68; at += 8) view.setFloat64(at, 0, true);
}

const [HEADER, DESCRIPTOR] = [32, 32];

/**
 * Two things the writer can't be told: the date of the table, which it takes from the clock (1 January 1980 instead, so
 * that the same plan gives the same bytes), and that columns of whole numbers have no decimals.
 */
function mendTable(dbf: DataView, rows: readonly Readonly<Record<string, string | number>>[]): void {
  dbf.setUint8(1, 80);
  dbf.setUint8(2, 1);
  dbf.setUint8(3, 1);
  Object.keys(rows[0] ?? {}).forEach((key, i) => {
    if (rows.every((row) => Number.isInteger(row[key]))) dbf.setUint8(HEADER + i * DESCRIPTOR + 17, 0);
  });
}
