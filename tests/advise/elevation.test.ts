import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import { chooseElevation } from '../../src/advise/elevationLayer.ts';
import { zoneCandidates } from '../../src/advise/candidates.ts';
import { adviceOptionsSchema, prepareField } from '../../src/advise/index.ts';
import { elevationSurface, yieldSurface } from '../../src/advise/yieldLayer.ts';
import { spreadNodes } from '../../src/field/index.ts';
import { demoFiles, given } from './ask.ts';

const lines = (n: number, line: (i: number) => string) =>
  Array.from({ length: n }, (_, i) => line(i)).join('\n');
const [SIDE, STEP] = [30, 20];
const place = (i: number) => [500_000 + STEP * (i % SIDE), 4_500_000 + STEP * Math.floor(i / SIDE)] as const;
/** A combine's points over 36 ha: the northern half lies 5 m higher, and yield does not know of it. */
const yieldFile = (name: string, feet = false, every = 1) => {
  const random = seededRandom(3);
  const rows = lines(Math.floor((SIDE * SIDE) / every), (k) => {
    const [x, y] = place(k * every);
    const height = 210 + (y > 4_500_300 ? 5 : 0) + 0.2 * randomNormal(random);
    return `${x},${y},${(170 + 12 * randomNormal(random)).toFixed(1)},${(feet ? height / 0.3048 : height).toFixed(2)}`;
  });
  return given('yield', name, `Easting,Northing,Yield (bu/ac),Elevation (${feet ? 'ft' : 'm'})\n${rows}\n`);
};
const boundary = given(
  'boundary',
  'boundary.geojson',
  JSON.stringify({
    type: 'Polygon',
    coordinates: [
      [
        [500_000, 4_500_000],
        [500_580, 4_500_000],
        [500_580, 4_500_580],
        [500_000, 4_500_580],
        [500_000, 4_500_000],
      ],
    ],
  }),
);

describe('elevation on its way to zones', () => {
  it('from a yield file, in metres whatever its unit, and said', async () => {
    const read = await prepareField({ files: [boundary, yieldFile('y.csv', true)] });
    if (!read.ok) throw new Error(read.problems[0].problem);
    const { elevation, inputs } = read.value;
    expect(elevation!.file).toBe('y.csv');
    expect(elevation!.xy).toHaveLength(2 * elevation!.values.length);
    expect(Math.min(...elevation!.values)).toBeGreaterThan(208);
    expect(Math.max(...elevation!.values)).toBeLessThan(217);
    const column = inputs.find((i) => i.file === 'y.csv')!.columns[3];
    expect(column).toMatchObject({ role: 'elevation', unit: 'ft' });
    expect(inputs.flatMap((i) => i.notes).some((n) => /drifts between passes and days/.test(n.problem))).toBe(
      true,
    );
    // The surface is standardised, and knows the step.
    const [low, high] = elevationSurface(read.value, Float64Array.of(0, -200, 0, 200))!;
    expect(low).toBeLessThan(-0.8);
    expect(high).toBeGreaterThan(0.8);
  });

  it('of two files the one with more points, and the other is named', async () => {
    const read = await prepareField({ files: [boundary, yieldFile('a.csv', false, 2), yieldFile('b.csv')] });
    if (!read.ok) throw new Error(read.problems[0].problem);
    expect(read.value.elevation!.file).toBe('b.csv');
    const notes = read.value.inputs.find((i) => i.file === 'a.csv')!.notes;
    expect(notes.map((n) => n.problem).join()).toContain('not used: b.csv has it at more points');
  });

  const zonesOf = async (files: Parameters<typeof prepareField>[0]['files']) => {
    const read = await prepareField({ files });
    if (!read.ok) throw new Error(read.problems[0].problem);
    const nodes = spreadNodes(read.value.region, 220);
    const options = adviceOptionsSchema.parse({ maxZones: 3 });
    return {
      nodes,
      zones: zoneCandidates(read.value, nodes, yieldSurface(read.value, nodes), options, []),
    };
  };

  it('zones by elevation find the terrace; with yield they are told so', async () => {
    const { nodes, zones } = await zonesOf([boundary, yieldFile('y.csv')]);
    const two = zones.find((z) => z.id === 'zones-elevation-2')!;
    expect(two.label).toBe('2 zones by elevation');
    const right = two.map.labels.filter((l, i) => l === (nodes[2 * i + 1] > 10 ? 1 : 0)).length;
    expect(right / 220).toBeGreaterThan(0.93);
    const both = zones.filter((z) => z.map.from === 'covariates');
    for (const z of both) expect(z.label).toMatch(/^\d zones by yield and elevation$/);
    expect(both.length).toBeGreaterThan(0);
    expect(zones.some((z) => z.map.from === 'not drawn yet')).toBe(false);
  });

  it('all three covariates are named', async () => {
    const untested = demoFiles('three-benches').filter((f) => f.role !== 'points');
    const files = untested.map((f) => {
      if (f.role !== 'yield') return f;
      const [head, ...rows] = new TextDecoder().decode(f.bytes).trim().split(/\r?\n/);
      const text = rows.map(
        (r, i) => `${r},${((Number(r.split(',')[1]) - 41) * 4000 + (i % 7) / 50).toFixed(2)}`,
      );
      return given('yield', f.name, `${head},Altitude\n${text.join('\n')}\n`);
    });
    const { zones } = await zonesOf(files);
    expect(zones.filter((z) => z.map.from === 'covariates').map((z) => z.label)).toContain(
      '3 zones by yield, elevation and soil unit',
    );
    expect(zones.some((z) => z.map.from === 'elevation')).toBe(true);
  });

  it('from test points alone, from 20 places on', async () => {
    const points = (n: number) =>
      given(
        'points',
        'p.csv',
        `Easting,Northing,P (ppm),Elev (m)\n${lines(n, (i) => {
          const [x, y] = place(31 * i);
          return `${x},${y},${20 + ((7 * i) % 11)},${300 + (i % 5)}`;
        })}\n`,
      );
    const field = async (n: number) => {
      const read = await prepareField({ files: [boundary, points(n)] });
      if (!read.ok) throw new Error(read.problems[0].problem);
      return read.value;
    };
    expect((await field(24)).elevation!.values).toHaveLength(24);
    const few = await field(19);
    expect(few.elevation).toBeUndefined();
    expect(
      few.inputs
        .flatMap((i) => i.notes)
        .map((n) => n.problem)
        .join(),
    ).toContain('Elevation at 19 places is too little');
  });

  it('ground flatter than a receiver’s drift draws no zones', () => {
    const xy = Float64Array.from(
      { length: 200 },
      (_, i) => 15 * (i & 1 ? Math.floor(i / 20) : (i >> 1) % 10),
    );
    const values = Float64Array.from({ length: 100 }, (_, i) => 100 + 0.1 * (i % 3));
    const { elevation, notes } = chooseElevation([{ file: 'y.csv', xy, values }]);
    expect(elevation).toBeUndefined();
    expect(notes[0].problem).toContain('no more than a receiver’s own drift');
  });

  it('without an elevation nothing is said of one', async () => {
    const read = await prepareField({ files: demoFiles('three-benches') });
    if (!read.ok) throw new Error(read.problems[0].problem);
    expect(read.value.elevation).toBeUndefined();
    expect(read.value.inputs.flatMap((i) => i.notes).some((n) => /levation/.test(n.problem))).toBe(false);
  });
});
