import { beforeAll, describe, expect, it } from 'vitest';
import { adviceOptionsSchema, prepareField, type Advice, type Stop } from '../../src/advise/index.ts';
import { layingIn } from '../../src/advise/laying.ts';
import { layStops } from '../../src/advise/stops.ts';
import { isStart, startPlace } from '../../src/advise/startPlace.ts';
import { wholeField, type GridStops } from '../../src/design/index.ts';
import { clearGroundTest, clearStops } from '../../src/design/clearStops.ts';
import {
  distanceToEdgeM,
  spreadNodes,
  toWorld,
  type Frame,
  type Position,
  type Region,
} from '../../src/field/index.ts';
import type { Candidate } from '../../src/advise/candidates.ts';
import { adviceOn, demoFiles, given, problemsOf } from './ask.ts';

/** Long Reach of the demo farm, which is advised a grid. */
const files = demoFiles('long-reach');

describe('stops where one can sample', () => {
  let plain: Advice;
  let ditch: Advice;
  beforeAll(async () => {
    plain = await adviceOn({ files, options: { setbackM: 0 } });
    // A ditch through three of the stops as designed, and a well upon another.
    const [a, b, c] = plain.stops.slice(4, 7).map((s) => s.world);
    const keepOut = {
      type: 'FeatureCollection',
      features: [
        {
          type: 'Feature',
          properties: { width_m: 8 },
          geometry: { type: 'LineString', coordinates: [a, b, c] },
        },
        {
          type: 'Feature',
          properties: { name: 'well', radius_m: 20 },
          geometry: { type: 'Point', coordinates: plain.stops[12].world },
        },
        { type: 'Feature', properties: {}, geometry: { type: 'Point', coordinates: [-38, 41] } },
      ],
    };
    ditch = await adviceOn({
      files: [...files, given('keepOut', 'ditch.geojson', JSON.stringify(keepOut))],
      options: { setbackM: 0, keepOutSetbackM: 10 },
    });
  });

  it('nothing to keep from: every stop stands as designed', () => {
    expect(plain.stopsMoved).toBeUndefined();
    expect(plain.stops.some((s) => s.movedM !== undefined || s.noClearGround)).toBe(false);
  });

  it('off a ditch and a well by the setback beyond what each reaches; the others stay', () => {
    expect(ditch.verdict.designId).toBe(plain.verdict.designId);
    expect(ditch.stopsMoved).toMatchObject({ moved: 4, of: plain.stops.length, noClearGround: 0 });
    const ways = ditch.stops.flatMap((s) => s.movedM ?? []).sort((p, q) => p - q);
    expect(ways).toHaveLength(4);
    // Half the ditch's width and the setback, the well's radius and the setback: at the end of a line straight off it.
    expect(ways[3]).toBeCloseTo(30, 1);
    for (const way of ways.slice(0, 3)) expect(way).toBeGreaterThan(14 - 0.1);
    expect(ditch.stopsMoved!.greatestM).toBe(ways[3]);
    expect(ditch.stopsMoved!.medianM).toBeCloseTo((ways[1] + ways[2]) / 2, 9);
    const same = (s: Stop) => plain.stops.some((p) => Math.hypot(p.xM - s.xM, p.yM - s.yM) < 1e-6);
    expect(ditch.stops.filter((s) => s.movedM === undefined).every(same)).toBe(true);
    expect(ditch.stops.filter((s) => s.movedM !== undefined).some(same)).toBe(false);
  });

  it('says how many, how far, and what it does to the error', () => {
    const { sentence, errorRatio } = ditch.stopsMoved!;
    expect(sentence).toMatch(/^4 of \d+ stops were moved off/);
    expect(sentence).toContain('100 ft at most');
    expect(sentence).toContain('The errors stated are those of the stops as designed');
    // A few metres in a spacing of 140 change an error little.
    expect(Math.abs(errorRatio! - 1)).toBeLessThan(0.03);
    expect(errorRatio).not.toBe(1);
  });

  it('the answer carries what is kept out, and the file’s report what was passed over', () => {
    expect(ditch.field.keepOut?.map((k) => [k.label, k.extentM])).toEqual([
      ['', 4],
      ['well', 20],
    ]);
    const report = ditch.inputs.find((i) => i.what === 'ground to keep out of')!;
    expect([report.read, report.setAside]).toEqual([3, 1]);
    expect(report.notes.map((n) => `${n.problem} ${n.remedy}`).join(' ')).toMatch(
      /far from this field.*local rules/s,
    );
  });

  it('off the headland by default, by whatever is asked, and not in a square that stands in for a field', async () => {
    const field = await prepareField({ files });
    const square = await prepareField({ files: [], answers: { areaHa: 16 } });
    if (!field.ok || !square.ok) throw new Error('not read');
    const { region, frame } = field.value;
    const stops = Float64Array.from(plain.stops.flatMap((s) => [s.xM, s.yM]));
    const least = (options: object) => {
      const { clear } = layingIn(field.value, adviceOptionsSchema.parse(options));
      const moved = clearStops(stops, clear!, 70).xy;
      return Math.min(
        ...Array.from(plain.stops, (_, i) => distanceToEdgeM(region, [moved[2 * i], moved[2 * i + 1]])),
      );
    };
    expect(frame.kind).toBe('geographic');
    expect(least({})).toBeGreaterThan(15 - 1e-3);
    expect(least({ setbackM: 60 })).toBeGreaterThan(60 - 1e-3);
    expect(least({ setbackM: 60 })).toBeLessThan(60.05);
    // 400 m wide about the origin.
    const { clear } = layingIn(square.value, adviceOptionsSchema.parse({ setbackM: 100 }));
    expect([clear!(199, 0), clear!(201, 0)]).toEqual([true, false]);
  });

  it('files in other coordinates, and places that are none, are refused in words', async () => {
    const metres = JSON.stringify({ type: 'Point', coordinates: [512_000, 4_561_000] });
    const [other] = await problemsOf({ files: [...files, given('keepOut', 'well.geojson', metres)] });
    expect(other.problem).toMatch(/metres of a map projection, the field is not/);
    const [start] = await problemsOf({ files, options: { startAt: 'the gate' } });
    expect(start.remedy).toMatch(/side or corner such as SW/);
  });
});

describe('where stops are laid', () => {
  const frame: Frame = { kind: 'projected', x0: 0, y0: 0 };
  const region: Region = [
    [
      [
        [0, 0],
        [400, 0],
        [400, 200],
        [0, 200],
        [0, 0],
      ],
    ],
  ];
  const grid: GridStops = {
    xy: Float64Array.of(50, 50, 150, 50, 250, 50, 350, 50, 50, 150, 150, 150, 250, 150, 350, 150),
    placed: 'lattice',
    shape: 'square',
    spacingM: 100,
  };
  const candidate: Candidate = {
    ...{ kind: 'grid', id: 'grid', label: '', samples: 8, cores: 10, places: 8, placements: [], grid },
    pulled: { kind: 'stops', xy: grid.xy, radiusM: 5, cores: 10 },
  };
  const strip = (minX: number, maxX: number) =>
    clearGroundTest(region, {
      setbackM: 0,
      keepOut: [
        {
          ...{ label: '', lines: [], points: [], extentM: 0 },
          polygons: [
            [
              [
                [minX, -9],
                [maxX, -9],
                [maxX, 209],
                [minX, 209],
                [minX, -9],
              ],
            ],
          ],
        },
      ],
      keepOutSetbackM: 0,
    });

  it('in its own soil unit when asked, at most half a spacing away, else it stays and is marked', () => {
    const clear = strip(130, 155);
    const east = layStops(candidate, region, frame, { clear }).stops.filter((s) => s.movedM);
    expect(east.map((s) => [Math.round(s.xM), Math.round(s.yM)]).sort()).toEqual([
      [155, 150],
      [155, 50],
    ]);
    const soilUnitAt = (x: number) => (x < 152 ? 0 : 1);
    const west = layStops(candidate, region, frame, { clear, soilUnitAt }).stops.filter((s) => s.movedM);
    expect(west.map((s) => Math.round(s.xM))).toEqual([130, 130]);
    const { stops } = layStops(candidate, region, frame, { clear: strip(90, 210) });
    expect(stops.filter((s) => s.noClearGround).map((s) => s.xM)).toEqual([150, 150]);
    expect(stops).toHaveLength(8);
  });

  it('cores of a zone or the whole field are spread over clear ground from the start', () => {
    const nodes = spreadNodes(region, 200);
    const whole: Candidate = {
      ...{ kind: 'whole', id: 'whole', label: '', samples: 1, cores: 21, places: 21 },
      map: wholeField(nodes),
    };
    const clear = strip(100, 250);
    const { stops } = layStops(whole, region, frame, { clear });
    expect(stops).toHaveLength(21);
    expect(stops.every((s) => clear(s.xM, s.yM) && !s.noClearGround)).toBe(true);
    const none = layStops(whole, region, frame, { clear: () => false }).stops;
    expect(none.every((s) => s.noClearGround)).toBe(true);
  });

  it('the walk begins at the gate', () => {
    const first = (startAt: string) =>
      layStops(candidate, region, frame, { startAt: startPlace(startAt, region, frame) }).stops[0];
    expect([first('SW').xM, first('SW').yM]).toEqual([50, 50]);
    expect([first('NE').xM, first('NE').yM]).toEqual([350, 150]);
    expect([first('260, 20').xM, first('260, 20').yM]).toEqual([250, 50]);
  });

  it('one bag is finished before the next', () => {
    const cells: Candidate = {
      ...candidate,
      kind: 'cells',
      pulled: {
        kind: 'cells',
        xy: grid.xy,
        coresOf: Array.from({ length: 8 }, (_, c) =>
          Float64Array.from([-30, -30, 30, -30, 30, 30, -30, 30], (d, i) => grid.xy[2 * c + (i % 2)] + d),
        ),
      },
    };
    const { stops } = layStops(cells, region, frame, { startAt: [400, 200] });
    const samples = stops.map((s) => s.sample);
    expect(samples).toEqual([...samples].sort());
    expect(new Set(samples).size).toBe(8);
    expect(stops[0].xM).toBeGreaterThan(300);
    expect(stops[0].yM).toBeGreaterThan(100);
  });
});

describe('where one comes in', () => {
  const frame: Frame = { kind: 'geographic', lon0: -38.5, lat0: 41.2 };
  const bent: Region = [
    [
      [
        [0, 0],
        [300, 0],
        [300, 100],
        [100, 100],
        [100, 300],
        [0, 300],
        [0, 0],
      ],
    ],
  ];

  it('is a corner, the middle of a side, or a place given', () => {
    const at = (text: string) => startPlace(text, bent, frame)?.map((v) => Math.round(v));
    expect([at('SW'), at('S'), at('E'), at('N')]).toEqual([
      [0, 0],
      [150, 0],
      [300, 50],
      [50, 300],
    ]);
    const place: Position = [120, 80];
    expect(at(toWorld(frame, place).join(', '))).toEqual([120, 80]);
    expect(at('')).toBeUndefined();
  });

  it('what is no place is told from what is', () => {
    expect(['', 'N', 'SW', '-93.5, 42.1', '512300 4561200'].map(isStart)).toEqual([
      true,
      true,
      true,
      true,
      true,
    ]);
    expect(['north', '42', '1,2,3', 'toString', '1e5, 2'].map(isStart)).toEqual([
      false,
      false,
      false,
      false,
      false,
    ]);
  });

  it('a field prepared without such files has nothing to keep out of', async () => {
    const field = await prepareField({ files: [], answers: { areaHa: 10 } });
    expect(field.ok && field.value.keepOut).toEqual([]);
  });
});
