import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import papaparse from 'papaparse';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Frame } from '../../src/field/index.ts';
import { toWorld } from '../../src/field/index.ts';
import { stopsToCsv, stopsToGeoJSON, type Plan } from '../../src/plan/index.ts';
import { gdalFeatures, gdalSummary } from './plans.ts';

const degrees: Frame = { kind: 'geographic', lon0: -38.5, lat0: 41.2 };
const metres: Frame = { kind: 'projected', x0: 512_300, y0: 4_561_200 };

const planOf = (frame: Frame, sample: (i: number) => string = (i) => String(i + 1), count = 7): Plan => ({
  field: { name: 'North Field', frame, region: [] },
  options: { depthCm: 15 },
  stops: Array.from({ length: count }, (_, i) => {
    const [xM, yM] = [37.5 * i - 100, 410 - 61.25 * i];
    return {
      order: i + 1,
      label: String(i + 1),
      xM,
      yM,
      world: toWorld(frame, [xM, yM]),
      cores: 10,
      sample: sample(i),
    };
  }),
});

interface Features {
  readonly type: string;
  readonly features: readonly {
    readonly type: string;
    readonly geometry: { readonly type: string; readonly coordinates: readonly number[] };
    readonly properties: Readonly<Record<string, string | number>>;
  }[];
}
const geoJson = (plan: Plan) => JSON.parse(JSON.stringify(stopsToGeoJSON(plan))) as Features;

// RFC 7946.
describe('stops as GeoJSON', () => {
  it('is a collection of points, longitude first, within a centimetre of where they are', () => {
    const plan = planOf(degrees);
    const { type, features } = geoJson(plan);
    expect(type).toBe('FeatureCollection');
    expect(features).toHaveLength(7);
    features.forEach((f, i) => {
      expect([f.type, f.geometry.type]).toEqual(['Feature', 'Point']);
      expect(f.geometry.coordinates).toHaveLength(2);
      const [lon, lat] = f.geometry.coordinates;
      // A degree of latitude is 111 km.
      expect(Math.abs(lon - plan.stops[i].world[0]) * 111_000).toBeLessThan(0.01);
      expect(Math.abs(lat - plan.stops[i].world[1]) * 111_000).toBeLessThan(0.01);
      expect(f.properties).toEqual({
        order: i + 1,
        stop: String(i + 1),
        sample: String(i + 1),
        cores: 10,
        depth_cm: 15,
      });
    });
  });

  // Section 7.1: a FeatureCollection must not have the members of other GeoJSON objects.
  it.each([
    ['degrees', degrees],
    ['metres', metres],
  ])('%s: no member that belongs to a geometry or a feature', (_, frame) => {
    const members = Object.keys(stopsToGeoJSON(planOf(frame)));
    for (const other of ['coordinates', 'geometries', 'geometry', 'properties'])
      expect(members).not.toContain(other);
  });

  it('projected input keeps its eastings and northings to the centimetre', () => {
    const plan = planOf(metres);
    geoJson(plan).features.forEach((f, i) => {
      expect(f.geometry.coordinates[0]).toBeCloseTo(plan.stops[i].world[0], 2);
      expect(f.geometry.coordinates[1]).toBeCloseTo(plan.stops[i].world[1], 2);
    });
  });

  it('no stops: an empty collection', () => {
    expect(geoJson(planOf(degrees, undefined, 0)).features).toEqual([]);
  });
});

// RFC 4180.
describe('stops as CSV', () => {
  const rowsOf = (text: string) => papaparse.parse<Record<string, string>>(text.trimEnd(), { header: true });

  it('one line a stop under the header, lines ended by CR LF', () => {
    const text = stopsToCsv(planOf(degrees));
    expect(text.endsWith('\r\n')).toBe(true);
    expect(text.split('\r\n')).toHaveLength(9);
    expect(text.replace(/\r\n/g, '')).not.toMatch(/[\r\n]/);
    const { data, errors } = rowsOf(text);
    expect(errors).toEqual([]);
    expect(Object.keys(data[0])).toEqual([
      'order',
      'stop',
      'sample',
      'longitude',
      'latitude',
      'cores',
      'depth_cm',
    ]);
    data.forEach((row, i) => {
      expect(Number(row.longitude)).toBeCloseTo(planOf(degrees).stops[i].world[0], 6);
      expect(Number(row.latitude)).toBeCloseTo(planOf(degrees).stops[i].world[1], 6);
    });
  });

  it('metres have headers that say so', () => {
    expect(stopsToCsv(planOf(metres))).toMatch(/^order,stop,sample,easting_m,northing_m,cores,depth_cm\r\n/);
  });

  it('names with commas, quotes and line breaks come back as they were', () => {
    const names = ['loam, deep', 'the "good" end', 'two\nlines', 'plain', ' spaced ', 'é 土', ''];
    const { data } = rowsOf(stopsToCsv(planOf(degrees, (i) => names[i])));
    expect(data.map((row) => row.sample)).toEqual(names);
  });

  // OWASP, CSV injection: cells that begin with = + - @, tab or carriage return are run as formulas.
  it.each(['=1+1', '+1+1', '@SUM(A1)', '\t=1', '\r=1', '-A1', '-1+cmd|calc', '-2+3', '=HYPERLINK("x","y")'])(
    'a name that a spreadsheet would run is disarmed: %j',
    (name) => {
      const { data } = rowsOf(stopsToCsv(planOf(degrees, () => name)));
      for (const row of data) expect(row.sample).toBe(`'${name}`);
    },
  );

  it('negative coordinates stay numbers', () => {
    const { data } = rowsOf(stopsToCsv(planOf(degrees)));
    for (const row of data) expect(row.longitude).toMatch(/^-\d/);
  });
});

describe('GDAL opens the stops', () => {
  let folder = '';
  beforeAll(() => {
    folder = mkdtempSync(path.join(tmpdir(), 'lagstep-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it.each([
    ['degrees', degrees, 6],
    ['metres', metres, 1],
  ])('%s: the same number, at the same places', (name, frame, digits) => {
    const plan = planOf(frame);
    const file = path.join(folder, `${name}.geojson`);
    writeFileSync(file, JSON.stringify(stopsToGeoJSON(plan)));
    const summary = gdalSummary(file);
    expect(summary).toMatch(/using driver `GeoJSON' successful/);
    expect(summary).toMatch(/Geometry: Point/);
    expect(summary).toMatch(/cores: Integer/);
    const features = gdalFeatures(file, 'North Field: stops');
    expect(features).toHaveLength(7);
    features.forEach(({ geometry, properties }, i) => {
      expect(geometry.coordinates[0]).toBeCloseTo(plan.stops[i].world[0], digits);
      expect(geometry.coordinates[1]).toBeCloseTo(plan.stops[i].world[1], digits);
      expect(properties.cores).toBe(10);
    });
  });

  it('CSV: every column, in order', () => {
    const plan = planOf(degrees);
    const file = path.join(folder, 'stops.csv');
    writeFileSync(file, stopsToCsv(plan));
    gdalFeatures(file, 'stops').forEach(({ properties }, i) => {
      expect(properties).toMatchObject({
        order: String(i + 1),
        sample: String(i + 1),
        cores: '10',
        depth_cm: '15',
      });
      expect(Math.abs(Number(properties.longitude) - plan.stops[i].world[0])).toBeLessThanOrEqual(1e-7);
      expect(Math.abs(Number(properties.latitude) - plan.stops[i].world[1])).toBeLessThanOrEqual(1e-7);
    });
  });
});
