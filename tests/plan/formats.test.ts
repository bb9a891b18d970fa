import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { DOMParser, onErrorStopParsing } from '@xmldom/xmldom';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { toLocal } from '../../src/field/index.ts';
import {
  stopsToGpx,
  stopsToKml,
  stopsToShapefile,
  withBags,
  bagsOf,
  type Plan,
} from '../../src/plan/index.ts';
import { xmlText } from '../../src/plan/xmlText.ts';
import { zipStored } from '../../src/plan/zipStored.ts';
import { parseKml } from '../../src/read/kml.ts';
import { noteBook } from '../../src/read/notes.ts';
import { readBoundary, readGpx } from '../../src/read/index.ts';
import { parseShapefileZip } from '../../src/read/shapefileZip.ts';
import { zipEntries } from '../../src/read/zipEntries.ts';
import { bytesOf, sentences, valueOf } from '../read/bytes.ts';
import {
  awkward,
  degrees,
  gdalFeatures,
  gdalSummary,
  metres,
  planOf,
  region,
  type GdalFeature,
} from './plans.ts';

let folder = '';
beforeAll(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'lagstep-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const keep = (name: string, content: string | Uint8Array): string => {
  const file = path.join(folder, name);
  writeFileSync(file, content);
  return file;
};

const plan = withBags(
  planOf(degrees, (i) => awkward[i]),
  bagsOf(
    planOf(degrees, (i) => awkward[i]),
    'NFD',
  ),
);
/** What a name is once its control characters are dropped. */
const clean = awkward.map((name) => name.replace('\u0007', ''));

/** Order, sample, cores, bag and place of each stop, as one reader or another gives them back. */
interface Back {
  readonly order: unknown;
  readonly stop: unknown;
  readonly sample: unknown;
  readonly cores: unknown;
  readonly depth: unknown;
  readonly bag: unknown;
  readonly at: readonly number[];
}
const backOf = (p: Readonly<Record<string, unknown>>, at: readonly number[], prefix = ''): Back => ({
  order: p[`${prefix}order`],
  stop: p[`${prefix}stop`],
  sample: p[`${prefix}sample`],
  cores: p[`${prefix}cores`],
  depth: p[`${prefix}depth_cm`],
  bag: p[`${prefix}bag`],
  at,
});

function expectAll(
  back: readonly Back[],
  samples: readonly string[],
  typed: boolean,
  from: Plan = plan,
): void {
  expect(back).toHaveLength(from.stops.length);
  back.forEach((b, i) => {
    const stop = from.stops[i];
    const value = (n: number) => (typed ? n : String(n));
    expect({ ...b, at: undefined }).toEqual({
      order: value(stop.order),
      stop: stop.label,
      sample: samples[i],
      cores: value(stop.cores),
      depth: value(15),
      bag: stop.bag,
      at: undefined,
    });
    expect(Math.abs(b.at[0] - stop.world[0])).toBeLessThanOrEqual(1e-7);
    expect(Math.abs(b.at[1] - stop.world[1])).toBeLessThanOrEqual(1e-7);
  });
}

const points = (features: readonly GdalFeature[]) => features.filter((f) => f.geometry.type === 'Point');

/** Well-formed to libxml2 too, where it is installed; GDAL’s own parser sees every file. */
const wellFormed = (file: string): void => {
  const { error, status, stderr } = spawnSync('xmllint', ['--noout', file], { encoding: 'utf8' });
  if (!error) expect([status, stderr]).toEqual([0, '']);
};

describe('stops as GPX 1.1', () => {
  const text = valueOf(stopsToGpx(plan));

  it('our own reader gives all back: order, sample, cores, bag, place', () => {
    const { waypoints, routes } = valueOf(readGpx('stops.gpx', bytesOf(text)));
    expectAll(
      waypoints.map((w) => backOf(w.extensions, [w.lon, w.lat])),
      clean,
      false,
    );
    expect(routes).toHaveLength(1);
    expect(Array.from(routes[0].world)).toEqual(waypoints.flatMap((w) => [w.lon, w.lat]));
  });

  it('GDAL opens it and reads waypoints with their extensions, and the route in the same order', () => {
    const file = keep('stops.gpx', text);
    wellFormed(file);
    const features = gdalFeatures(file, 'waypoints');
    expect(features.map((f) => f.properties.name)).toEqual(plan.stops.map((s) => s.label));
    const back = features.map((f) => backOf(f.properties, f.geometry.coordinates, 'lagstep_'));
    expectAll(
      back.map((b) => ({ ...b, order: String(b.order), cores: String(b.cores), depth: String(b.depth) })),
      clean,
      false,
    );
    const route = gdalFeatures(file, 'route_points');
    expect(route.map((f) => f.geometry.coordinates)).toEqual(features.map((f) => f.geometry.coordinates));
    expect(gdalFeatures(file, 'routes')).toHaveLength(1);
  });

  // The sequences of gpx.xsd 1.1 (topografix.com/GPX/1/1), from memory.
  it('elements stand in the order of the schema, attributes in its ranges', () => {
    const order: Readonly<Record<string, string>> = {
      gpx: 'metadata wpt rte trk extensions',
      metadata: 'name desc author copyright link time keywords bounds extensions',
      rte: 'name cmt desc src link number type extensions rtept',
      wpt: 'ele time magvar geoidheight name cmt desc src link sym type fix sat hdop vdop pdop ageofdgpsdata dgpsid extensions',
      rtept: 'ele time magvar geoidheight name cmt desc src link sym type extensions',
    };
    const root = new DOMParser().parseFromString(text, 'text/xml').documentElement!;
    expect(root.namespaceURI).toBe('http://www.topografix.com/GPX/1/1');
    expect([root.getAttribute('version'), root.getAttribute('creator')]).toEqual(['1.1', 'Lagstep']);
    for (const [name, sequence] of Object.entries(order)) {
      const elements = [root, ...Array.from(root.getElementsByTagName('*'))].filter(
        (e) => e.tagName === name,
      );
      expect(elements.length, name).toBeGreaterThan(0);
      for (const element of elements) {
        const places = Array.from(element.childNodes)
          .filter((n) => n.nodeType === 1)
          .map((n) => sequence.split(' ').indexOf(n.nodeName));
        expect(places).not.toContain(-1);
        expect(places).toEqual([...places].sort((a, b) => a - b));
        if (name === 'gpx' || name === 'metadata' || name === 'rte') continue;
        for (const attribute of ['lat', 'lon'])
          expect(element.getAttribute(attribute)).toMatch(/^-?\d{1,3}\.\d{7}$/);
      }
    }
    // Elements of other namespaces may only stand in extensions.
    for (const element of Array.from(root.getElementsByTagName('*')))
      if (element.namespaceURI !== root.namespaceURI) expect(element.parentNode?.nodeName).toBe('extensions');
  });

  it('the meridian of 180° is written as −180, since the schema’s longitudes end before it', () => {
    const at180: Plan = { ...plan, stops: [{ ...plan.stops[0], world: [180, -17.5] }] };
    expect(valueOf(stopsToGpx(at180))).toContain('<wpt lat="-17.5000000" lon="-180.0000000">');
  });

  it('no stops: an empty document that GDAL still opens', () => {
    const empty = valueOf(stopsToGpx(planOf(degrees, undefined, 0)));
    expect(gdalSummary(keep('empty.gpx', empty))).toMatch(/using driver `GPX' successful/);
  });
});

describe('a user’s text in XML', () => {
  it('whatever it is, the document parses, and all but control characters come back', () => {
    fc.assert(
      fc.property(
        fc.string({ unit: 'binary' }),
        fc.string({ unit: fc.constantFrom(...'<>&\'"\u0000\n\ud83c;[]a') }),
        (a, b) => {
          const text = xmlText(a + b);
          const root = new DOMParser({ onError: onErrorStopParsing }).parseFromString(
            `<a b="${text}">${text}</a>`,
            'text/xml',
          ).documentElement!;
          const kept = (a + b)
            .replace(/[\t\n\r\u0085\u2028\u2029]+/g, ' ')
            .replace(/[\p{Cc}\ufffe\uffff]/gu, '');
          const whole = Array.from(kept)
            .filter((c) => !/^[\ud800-\udfff]$/.test(c))
            .join('');
          expect(root.textContent).toBe(whole);
          expect(root.getAttribute('b')).toBe(whole);
        },
      ),
    );
  });
});

describe('a zip archive', () => {
  it('holds each file’s CRC-32, whose check value is CBF43926 for “123456789”', () => {
    const zip = zipStored([{ name: 'a.txt', bytes: bytesOf('123456789') }]);
    expect(new DataView(zip.buffer).getUint32(14, true)).toBe(0xcbf43926);
    expect(zipEntries(zip)).toEqual([{ name: 'a.txt', size: 9 }]);
  });
});

describe('stops as KML 2.2', () => {
  const text = valueOf(stopsToKml(plan));

  it('our own reader gives all back, numbers as numbers', () => {
    const json = parseKml('stops.kml', text) as { features: GdalFeature[] };
    const back = points(json.features).map((f) => backOf(f.properties, f.geometry.coordinates));
    expectAll(back, clean, true);
  });

  it('the boundary is read as this field’s, hole and all', async () => {
    const { polygons } = valueOf(await readBoundary('stops.kml', bytesOf(text)));
    expect(polygons).toHaveLength(1);
    expect(polygons[0]).toHaveLength(2);
    const corners = polygons[0].map((ring) => ring.map((corner) => toLocal(degrees, corner)));
    const farthest = (ring: readonly (readonly [number, number])[]) =>
      Math.max(...ring.map(([x, y]) => Math.max(Math.abs(x), Math.abs(y))));
    expect(farthest(corners[0])).toBeCloseTo(farthest(region[0][0]), 1);
    expect(farthest(corners[1])).toBeCloseTo(farthest(region[0][1]), 1);
  });

  it('GDAL opens it: one polygon and the stops with typed fields', () => {
    const file = keep('stops.kml', text);
    wellFormed(file);
    const features = gdalFeatures(file, 'North Field: soil sampling stops');
    expect(features.filter((f) => f.geometry.type !== 'Point')).toHaveLength(1);
    const stops = points(features);
    expect(stops.map((f) => f.properties.Name)).toEqual(plan.stops.map((s) => s.label));
    expectAll(
      stops.map((f) => backOf(f.properties, f.geometry.coordinates)),
      clean,
      true,
    );
  });

  it('a field without a boundary has only its stops', () => {
    const bare: Plan = { ...plan, field: { ...plan.field, region: [] } };
    expect(valueOf(stopsToKml(bare))).not.toContain('Polygon');
  });
});

describe('GPX and KML hold only longitude and latitude', () => {
  it.each([
    ['GPX', stopsToGpx],
    ['KML', stopsToKml],
  ] as const)(
    '%s: a field in metres of an unnamed projection is refused in one sentence',
    (format, write) => {
      const refused = write(planOf(metres));
      expect(refused.ok).toBe(false);
      expect(sentences(refused)).toContain(`${format} holds only longitude and latitude`);
      expect(sentences(refused)).toContain('WGS 84');
      expect(refused.ok ? '' : refused.problems[0].file).toBe(`North Field.${format.toLowerCase()}`);
    },
  );
});

describe('stops as a zipped shapefile', () => {
  const cut = clean.map((name) => (name.startsWith('ä') ? 'ä'.repeat(127) : name));
  /** A table’s text holds no control characters either; they become a space. */
  const inTable = cut.map((name, i) => (i === 3 ? 'bell in it' : name));

  it('holds the parts that belong together, and the same plan gives the same bytes', async () => {
    const zip = await stopsToShapefile(plan);
    expect(zipEntries(zip)?.map((e) => e.name)).toEqual([
      'stops.shp',
      'stops.shx',
      'stops.dbf',
      'stops.cpg',
      'stops.prj',
    ]);
    expect(await stopsToShapefile(plan)).toEqual(zip);
  });

  it('our own reader gives all back', async () => {
    const notes = noteBook('stops.zip');
    const json = (await parseShapefileZip('stops.zip', await stopsToShapefile(plan), notes)) as {
      features: GdalFeature[];
    };
    expectAll(
      json.features.map((f) => backOf(f.properties, f.geometry.coordinates)),
      inTable,
      true,
    );
    expect(notes.all()).toEqual([]);
  });

  it('GDAL opens it: WGS 84, whole numbers as integers, text in UTF-8', async () => {
    const file = `/vsizip/${keep('stops.zip', await stopsToShapefile(plan))}`;
    const summary = gdalSummary(file);
    expect(summary).toMatch(/using driver `ESRI Shapefile' successful/);
    expect(summary).toMatch(/WGS[ _]84|WGS_1984/);
    expect(summary).toMatch(/order: Integer/);
    expect(summary).toMatch(/cores: Integer/);
    expect(summary).toMatch(/sample: String/);
    expectAll(
      gdalFeatures(file, 'stops').map((f) => backOf(f.properties, f.geometry.coordinates)),
      inTable,
      true,
    );
  });

  it('a depth that is no whole number keeps its decimals', async () => {
    const inches: Plan = { ...planOf(degrees), options: { depthCm: 15.24 } };
    const file = `/vsizip/${keep('inches.zip', await stopsToShapefile(inches))}`;
    expect(gdalFeatures(file, 'stops').map((f) => f.properties.depth_cm)).toEqual(Array(7).fill(15.24));
  });

  it('metres of an unnamed projection stay as they came, without a .prj', async () => {
    const zip = await stopsToShapefile(planOf(metres));
    expect(zipEntries(zip)?.map((e) => e.name)).not.toContain('stops.prj');
    const features = gdalFeatures(`/vsizip/${keep('metres.zip', zip)}`, 'stops');
    features.forEach((f, i) => expect(f.geometry.coordinates).toEqual([...planOf(metres).stops[i].world]));
  });

  it('no stops: an empty layer', async () => {
    const zip = await stopsToShapefile(planOf(degrees, undefined, 0));
    expect(gdalSummary(`/vsizip/${keep('none.zip', zip)}`)).toMatch(/Feature Count: 0/);
  });
});
