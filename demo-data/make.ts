/**
 * Makes the demo farm's files from `truth.ts`: seeded, so that the same files come out each time.
 * Run with `npm run demo-data`.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import papaparse from 'papaparse';
import { logSdOfCv, randomNormal, seededRandom, type Random } from '../src/describe/index.ts';
import { gridStops } from '../src/design/index.ts';
import { rasterNodes, regionContains, toWorld, type Frame, type Region } from '../src/field/index.ts';
import { simulateField } from '../src/krige/index.ts';
import { areaHa } from '../src/field/index.ts';
import { HA_PER_ACRE } from '../src/units/index.ts';
import { FARM_LON_LAT, farm, unmapped, type FieldTruth, type PropertyTruth } from './truth.ts';

const here = path.resolve(process.argv[2] ?? 'demo-data');

function writeField(truth: FieldTruth, index: number): void {
  const frame: Frame = { kind: 'geographic', lon0: FARM_LON_LAT[0] + 0.02 * index, lat0: FARM_LON_LAT[1] };
  const region: Region = [truth.rings];
  const random = seededRandom(truth.seed);
  const folder = path.join(here, truth.folder);
  mkdirSync(folder, { recursive: true });
  const save = (name: string, text: string) => writeFileSync(path.join(folder, name), text);

  save(
    'field.json',
    JSON.stringify({ name: truth.name, blurb: truth.blurb, areaHa: round(areaHa(region), 2) }, null, 2) +
      '\n',
  );
  save(
    'truth.json',
    JSON.stringify(
      {
        note: 'Invented. The variograms the values were drawn from; CV about the middle, nugget included.',
        properties: truth.properties,
      },
      null,
      2,
    ) + '\n',
  );
  save('boundary.geojson', geojson([feature(region, frame, { name: truth.name })]));
  if (truth.benches) save('soil-units.geojson', geojson(benchFeatures(truth, frame)));
  save('points.csv', pointsCsv(truth, region, frame, random));
  if (truth.yields) save('yield-2025.csv', yieldCsv(truth, region, frame, random));
}

function pointsCsv(truth: FieldTruth, region: Region, frame: Frame, random: Random): string {
  const stops = gridStops(region, Math.round(areaHa(region) / truth.haPerSample)).xy;
  const places: [number, number][] = [];
  for (let i = 0; i < stops.length; i += 2)
    places.push([stops[i] + 4 * randomNormal(random), stops[i + 1] + 4 * randomNormal(random)]);
  const step = Math.max(1, Math.floor(places.length / truth.pairs));
  for (let k = 0, i = 1; k < truth.pairs && i < stops.length / 2; k++, i += step) {
    const turn = 2 * Math.PI * random();
    const [x, y] = [places[i][0] + 25 * Math.cos(turn), places[i][1] + 25 * Math.sin(turn)];
    if (regionContains(region, [x, y])) places.push([x, y]);
  }
  const xy = Float64Array.from(places.flat());
  const columns = truth.properties.map((p) => drawProperty(p, truth, xy, random));
  const rows = places.map((at, i) => {
    const [lon, lat] = toWorld(frame, at);
    return [
      `S${i + 1}`,
      round(lon, 7),
      round(lat, 7),
      ...columns.map((c, q) => c[i].toFixed(truth.properties[q].digits)),
    ];
  });
  return (
    papaparse.unparse({
      fields: ['Sample', 'Longitude', 'Latitude', ...truth.properties.map((p) => p.column)],
      data: rows,
    }) + '\r\n'
  );
}

/** One realisation of a property at positions. */
function drawProperty(p: PropertyTruth, truth: FieldTruth, xy: Float64Array, random: Random): number[] {
  const middleAt = (i: number) =>
    typeof p.middle === 'number' ? p.middle : p.middle[benchOf(truth, xy[2 * i + 1])];
  const reference =
    typeof p.middle === 'number' ? p.middle : p.middle.reduce((s, v) => s + v, 0) / p.middle.length;
  const sill = p.scale === 'log' ? logSdOfCv(p.cv) ** 2 : (p.cv * reference) ** 2;
  const model = {
    kind: p.kind,
    effectiveRangeM: p.effectiveRangeM,
    nugget: sill * p.nuggetShare,
    partialSill: sill * (1 - p.nuggetShare),
  };
  const z = simulateField(xy, model, random);
  return Array.from(z, (v, i) => (p.scale === 'log' ? middleAt(i) * Math.exp(v) : middleAt(i) + v));
}

function benchOf(truth: FieldTruth, yM: number): number {
  return truth.benches ? truth.benches.findIndex((b) => yM <= b.upToM) : 0;
}

function yieldCsv(truth: FieldTruth, region: Region, frame: Frame, random: Random): string {
  const { nodes } = rasterNodes(region, 2200);
  const noise = simulateField(
    nodes,
    { kind: 'spherical', effectiveRangeM: 120, nugget: 40, partialSill: 40 },
    random,
    { neighbours: 25 },
  );
  const rows = Array.from(noise, (v, i) => {
    const [lon, lat] = toWorld(frame, [nodes[2 * i], nodes[2 * i + 1]]);
    const mean = [196, 172, 141][benchOf(truth, nodes[2 * i + 1])];
    return [round(lon, 7), round(lat, 7), round(mean + v, 1), round(15.5 + 0.6 * randomNormal(random), 1)];
  });
  return (
    papaparse.unparse({ fields: ['Longitude', 'Latitude', 'Yield (bu/ac)', 'Moisture (%)'], data: rows }) +
    '\r\n'
  );
}

function benchFeatures(truth: FieldTruth, frame: Frame): object[] {
  const [west, east] = [-360, 360];
  let south = -300;
  return truth.benches!.map((b) => {
    const north = Math.min(b.upToM, 300);
    const ring: [number, number][] = [
      [west, south],
      [east, south],
      [east, north],
      [west, north],
      [west, south],
    ];
    south = north;
    return feature([[ring]], frame, { soil: b.label });
  });
}

function feature(region: Region, frame: Frame, properties: object): object {
  return {
    type: 'Feature',
    properties,
    geometry: {
      type: 'Polygon',
      coordinates: region[0].map((ring) => ring.map((p) => toWorld(frame, p).map((v) => round(v, 7)))),
    },
  };
}

const geojson = (features: object[]) =>
  JSON.stringify({ type: 'FeatureCollection', features }, null, 1) + '\n';

function round(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}

/** The list of all fields for `lagstep farm`: those with files, then those known by their area and answers alone. */
function listCsv(): string {
  const answers = [
    ...['soilUnits', 'slope', 'manure', 'merged', 'fertiliser', 'yieldSpread', 'phosphorus', 'potassium'],
    'crop',
  ] as const;
  const fields = ['name', 'area', 'last_sampled', 'points', 'boundary', 'soils', 'yield', ...answers];
  const rows = [
    ...farm.map((f) => ({
      name: f.name,
      area: `${Math.round(areaHa([f.rings]) / HA_PER_ACRE)} ac`,
      last_sampled: String(f.lastSampled),
      points: `${f.folder}/points.csv`,
      boundary: `${f.folder}/boundary.geojson`,
      soils: f.benches ? `${f.folder}/soil-units.geojson` : '',
      yield: f.yields ? `${f.folder}/yield-2025.csv` : '',
    })),
    ...unmapped.map(({ name, acres, lastSampled, answers: said }) => ({
      name,
      area: `${acres} ac`,
      last_sampled: lastSampled === undefined ? 'never' : String(lastSampled),
      ...said,
    })),
  ] as readonly Readonly<Record<string, string>>[];
  return (
    'Sallow Farm is invented and so is every field of it\r\n' +
    papaparse.unparse({ fields, data: rows.map((r) => fields.map((f) => r[f] ?? '')) }) +
    '\r\n'
  );
}

farm.forEach((truth, i) => writeField(truth, i));
writeFileSync(path.join(here, 'farm.csv'), listCsv());
