import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { adviseFromFiles, type Advice, type AdviceRequest, type FileRole } from '../../src/advise/index.ts';
import { regionContains } from '../../src/field/index.ts';
import { sayProblem } from '../../src/read/index.ts';
import { expectRelative } from '../reference/near.ts';
import { adviceOn, chosenOf, given, notesOf, notFinite, problemsOf } from './ask.ts';

const [lon0, lat0] = [-38.5, 41.2];
/** A square field of 5.4 ha in the open ocean. */
const square = (lon = lon0, lat = lat0, d = 0.0012) =>
  JSON.stringify({
    type: 'Polygon',
    coordinates: [
      [
        [lon - d, lat - d],
        [lon + d, lat - d],
        [lon + d, lat + d],
        [lon - d, lat + d],
        [lon - d, lat - d],
      ],
    ],
  });
const boundary = given('boundary', 'field.geojson', square());

/** 25 points of a grid in that field, each row made from its place and number. */
const table = (
  row: (i: number, lon: number, lat: number) => string,
  header = 'Longitude,Latitude,P (ppm),K (ppm)',
) =>
  [
    header,
    ...Array.from({ length: 25 }, (_, i) =>
      row(
        i,
        Number((lon0 - 0.001 + 0.0005 * (i % 5)).toFixed(6)),
        Number((lat0 - 0.001 + 0.0005 * Math.floor(i / 5)).toFixed(6)),
      ),
    ),
  ].join('\n') + '\n';
const phosphorus = (i: number) => (12 + ((i * 7) % 11) + 3 * Math.sin(i)).toFixed(1);
const potassium = (i: number) => String(100 + ((i * 13) % 60));
const plain = table((i, lon, lat) => `${lon},${lat},${phosphorus(i)},${potassium(i)}`);
const points = (text: string | Uint8Array, name = 'points.csv') => given('points', name, text);

const mean = (text: (i: number) => string) =>
  Array.from({ length: 25 }, (_, i) => Number(text(i))).reduce((s, v) => s + v, 0) / 25;
const summaryOf = (advice: Advice, id: string) => advice.analytes.find((a) => a.id === id)?.summary;
const said = (advice: Advice) =>
  notesOf(advice)
    .map((n) => n.problem)
    .join(' ');

let usual: Advice;
beforeAll(async () => {
  usual = await adviceOn({ files: [boundary, points(plain)] });
}, 60_000);

describe('files that can be used, with a word on what was done', () => {
  it('a plain file needs none', () => {
    expect(notesOf(usual)).toEqual([]);
    expectRelative(summaryOf(usual, 'P')!.mean, mean(phosphorus), 1e-9);
    expectRelative(summaryOf(usual, 'K')!.mean, mean(potassium), 1e-9);
  });

  it('longitude and latitude the wrong way round are exchanged', async () => {
    const advice = await adviceOn({
      files: [boundary, points(table((i, lon, lat) => `${lat},${lon},${phosphorus(i)},${potassium(i)}`))],
    });
    expect(said(advice)).toMatch(/other way round/);
    expect(advice.designs).toEqual(usual.designs);
    expect(advice.field.oldPoints).toEqual(usual.field.oldPoints);
  });

  it('points outside the boundary are set aside', async () => {
    const advice = await adviceOn({
      files: [
        boundary,
        points(table((i, lon, lat) => `${i < 2 ? lon - 0.01 : lon},${lat},${phosphorus(i)},${potassium(i)}`)),
      ],
    });
    expect(said(advice)).toMatch(/2 points lie more than 20 m outside .* \(rows 2, 3\)/);
    expect(summaryOf(advice, 'P')!.n).toBe(23);
    expect(advice.inputs.find((i) => i.what === 'test points')).toMatchObject({ read: 25, setAside: 2 });
  });

  // Hornung & Reed 1990, Applied Occupational and Environmental Hygiene 5: 46-51: the limit over √2.
  it('values below detection are counted and taken as the limit over √2', async () => {
    const low = (i: number) => i % 3 === 0;
    const advice = await adviceOn({
      files: [
        boundary,
        points(table((i, lon, lat) => `${lon},${lat},${low(i) ? '<5' : phosphorus(i)},${potassium(i)}`)),
      ],
    });
    expect(summaryOf(advice, 'P')).toMatchObject({ n: 25, belowDetection: 9 });
    expectRelative(
      summaryOf(advice, 'P')!.mean,
      mean((i) => (low(i) ? String(5 / Math.SQRT2) : phosphorus(i))),
      1e-9,
    );
    expect(said(advice)).toMatch(/36 % of the values are below detection/);
    expect(summaryOf(advice, 'K')!.belowDetection).toBe(0);
  });

  it('decimal commas are decimals', async () => {
    const advice = await adviceOn({
      files: [boundary, points(plain.replace(/,/g, ';').replace(/\./g, ','))],
    });
    expect(advice.designs).toEqual(usual.designs);
  });

  it('three points make a field and move the belief a little', async () => {
    const advice = await adviceOn({ files: [points('x,y,P,K\n0,0,10,100\n150,0,20,140\n0,150,15,90\n')] });
    expect(advice.field.boundarySource).toBe('drawn around the points');
    expect(summaryOf(advice, 'P')!.n).toBe(3);
    expect(advice.analytes[0].structure.kind).toBe('too few to tell');
    expect(advice.analytes[0].belief.rangeM.high / advice.analytes[0].belief.rangeM.low).toBeGreaterThan(2.5);
    expect(said(advice)).toMatch(/No boundary was given/);
    for (const s of advice.stops) expect(regionContains(advice.field.region, [s.xM, s.yM])).toBe(true);
  });

  it('three wild values: every number of the answer is finite, as JSON needs it', async () => {
    const advice = await adviceOn({
      files: [
        boundary,
        points('Longitude,Latitude,OM %\n-38.5005,41.2,0.5\n-38.4995,41.2,3\n-38.5,41.2005,9\n'),
      ],
    });
    expect(summaryOf(advice, 'OM')!.n).toBe(3);
    expect(notFinite(advice)).toEqual([]);
  });

  it('one point is too few, and that is said', async () => {
    const advice = await adviceOn({ files: [boundary, points('Longitude,Latitude,P\n-38.5005,41.2,15\n')] });
    expect(advice.analytes[0].belief.restsOn.join(' ')).toMatch(/1 test point is too few/);
    expect(notFinite(advice)).toEqual([]);
  });

  it('values all alike say nothing of variation: no more samples than with none', async () => {
    const blank = chosenOf(await adviceOn({ files: [boundary] }));
    for (const value of ['20,120', '0,0']) {
      const advice = await adviceOn({
        files: [boundary, points(table((_, lon, lat) => `${lon},${lat},${value}`))],
      });
      expect(advice.analytes[0].belief.restsOn.join(' ')).toMatch(/All 25 values are alike/);
      expect(notFinite(advice)).toEqual([]);
      expect(chosenOf(advice).samples, value).toBeLessThanOrEqual(blank.samples);
    }
  });
});

const noise = Uint8Array.from({ length: 3000 }, (_, i) => (i * 7919 + 13 * i * i) % 256);
const nameOf: Readonly<Record<FileRole, string>> = {
  points: 'points.csv',
  boundary: 'field.geojson',
  soilUnits: 'soils.zip',
  yield: 'yield.csv',
  guidance: 'rates.json',
  keepOut: 'waterways.geojson',
};

describe('files that cannot be used', () => {
  const cases: readonly (readonly [string, AdviceRequest, string, RegExp])[] = [
    ['an empty file', { files: [points('')] }, 'points.csv', /empty/],
    ['a header without rows', { files: [points('x,y,P\n')] }, 'points.csv', /no rows/],
    [
      'no coordinates',
      { files: [points('Sample,P\nA,10\nB,12\n')] },
      'points.csv',
      /coordinate|longitude|position/i,
    ],
    [
      'no soil measure',
      { files: [points('x,y,Owner\n0,0,A\n9,0,B\n0,9,C\n')] },
      'points.csv',
      /No soil measure/,
    ],
    [
      'points at one place',
      { files: [points('x,y,P\n5,5,10\n5,5,12\n5,5,14\n')] },
      'points.csv',
      /one place/,
    ],
    [
      'points at one place of a field',
      { files: [boundary, points(table((i) => `${lon0},${lat0},${phosphorus(i)},${potassium(i)}`))] },
      'points.csv',
      /All 25 points are at one place/,
    ],
    [
      'two points and no boundary',
      { files: [points('x,y,P\n0,0,10\n100,0,12\n')] },
      'points.csv',
      /one line/,
    ],
    [
      'points of another field',
      { files: [given('boundary', 'field.geojson', square(lon0, 41.3)), points(plain)] },
      'points.csv',
      /None of the points lies/,
    ],
    [
      'points in metres, boundary in degrees',
      {
        files: [
          boundary,
          points('Easting,Northing,P\n512000,4561000,10\n512100,4561000,12\n512000,4561100,14\n'),
        ],
      },
      'points.csv',
      /metres of a map projection.*degrees/,
    ],
    [
      'a boundary that is no GeoJSON',
      { files: [given('boundary', 'field.geojson', '{"type":')] },
      'field.geojson',
      /./,
    ],
    [
      'a boundary without area',
      {
        files: [
          given(
            'boundary',
            'line.geojson',
            '{"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0.002,0],[0,0]]]}',
          ),
        ],
      },
      'line.geojson',
      /no area/,
    ],
    [
      'a boundary as large as a county',
      { files: [given('boundary', 'field.geojson', square(lon0, lat0, 0.5))] },
      'field.geojson',
      /more than one field/,
    ],
    ['two files of points', { files: [points(plain), points(plain, 'more.csv')] }, 'more.csv', /second file/],
    ...(Object.keys(nameOf) as FileRole[]).map(
      (role) =>
        [
          `bytes that mean nothing as ${role}`,
          { files: [given(role, nameOf[role], noise)] },
          nameOf[role],
          /not text|archive|zip/,
        ] as const,
    ),
  ];

  it.each(cases)('%s', async (_, request, file, problem) => {
    const problems = await problemsOf(request);
    expect(problems[0].file).toBe(file);
    expect(problems[0].problem).toMatch(problem);
    for (const p of problems) {
      expect(p.problem).toMatch(/^\S.*\.$/s);
      expect(p.remedy.length).toBeGreaterThan(10);
      expect(sayProblem(p)).not.toMatch(/undefined|NaN|\[object|Error|\bat \S+:\d+/);
    }
  });

  it('whatever the bytes: a problem, never an exception', async () => {
    const content = fc.oneof(
      fc.uint8Array({ maxLength: 300 }),
      fc.string({ maxLength: 300, unit: 'binary' }).map((s) => new TextEncoder().encode(s)),
      fc
        .array(
          fc.constantFrom(
            'x',
            'y',
            'P',
            ',',
            ';',
            '\n',
            '"',
            '1',
            '-',
            '.',
            '<',
            '{',
            '}',
            '[',
            'PK\u0003\u0004',
          ),
          {
            maxLength: 60,
          },
        )
        .map((parts) => new TextEncoder().encode(parts.join(''))),
    );
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom<FileRole>('points', 'boundary', 'soilUnits', 'yield', 'guidance'),
        content,
        async (role, bytes) => {
          const reply = await adviseFromFiles({
            files: [given(role, nameOf[role], bytes)],
            options: { maxZones: 2 },
          });
          if (reply.ok) return;
          expect(reply.problems.length).toBeGreaterThan(0);
          for (const p of reply.problems) {
            expect(p.file).toBe(nameOf[role]);
            expect(p.problem.length).toBeGreaterThan(10);
          }
        },
      ),
      { numRuns: 150, seed: 11 },
    );
  });
});
