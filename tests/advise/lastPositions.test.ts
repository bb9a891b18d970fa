import { describe, expect, it } from 'vitest';
import { adviceOptionsSchema } from '../../src/advise/index.ts';
import type { MovedUnder } from '../../src/advise/movedStops.ts';
import { lastPositions, placesOfLastTime } from '../../src/advise/lastPositions.ts';
import type { Candidate } from '../../src/advise/candidates.ts';
import type { FieldInput } from '../../src/advise/fieldInput.ts';
import type { Region } from '../../src/field/index.ts';
import { adviceOn, demoFiles } from './ask.ts';

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
const lattice = Float64Array.of(50, 50, 150, 50, 250, 50, 350, 50, 50, 150, 150, 150, 250, 150, 350, 150);
const gridOf = (samples: number): Candidate => ({
  ...{ kind: 'grid', id: 'grid', label: '', samples, cores: 10, places: samples, placements: [] },
  grid: { xy: lattice, placed: 'lattice', shape: 'square', spacingM: 100 },
  pulled: { kind: 'stops', xy: lattice, radiusM: 5, cores: 10 },
});
const testsAt = (xy: Float64Array, places = xy.length / 2): FieldInput['tests'] => ({
  ...{ xy, places, series: [], rows: Uint32Array.from({ length: xy.length / 2 }, (_, i) => i + 2) },
});
const inField = (x: number, y: number) => x > 5 && x < 395 && y > 5 && y < 195;

describe('last time’s places', () => {
  const old = lattice.map((v, i) => v + (i % 3));

  it('are taken as they were when their number is near the design’s, and only then', () => {
    const same = (samples: number, tests = testsAt(old)) =>
      placesOfLastTime(gridOf(samples), tests, region, 'same', inField);
    expect(same(8)).toEqual(old);
    expect(same(7)).toEqual(old);
    const none = placesOfLastTime(gridOf(8), undefined, region, 'same', inField);
    expect([same(20), same(4), same(8, testsAt(old, 900)), none]).toEqual(Array(4).fill(undefined));
    expect(placesOfLastTime(gridOf(8), testsAt(old), region, 'new', inField)).toBeUndefined();
  });

  it('half a spacing aside: between the old ones, all in the field and apart from each other', () => {
    const aside = placesOfLastTime(gridOf(8), testsAt(lattice), region, 'offset', inField)!;
    const at = Array.from({ length: 8 }, (_, i) => [aside[2 * i], aside[2 * i + 1]] as const);
    const movedFar = at.filter(([x, y], i) => Math.hypot(x - lattice[2 * i], y - lattice[2 * i + 1]) > 1);
    // Half a spacing both ways is 70.7 m on the slant; in two rows of four only three gaps have a middle.
    expect(movedFar).toHaveLength(3);
    for (const [x, y] of movedFar) {
      expect(x % 100).toBeCloseTo(0, 6);
      expect(y).toBeCloseTo(100, 6);
    }
    for (const [x, y] of at) expect(inField(x, y)).toBe(true);
    for (let i = 0; i < 8; i++)
      for (let j = 0; j < i; j++)
        expect(Math.hypot(at[i][0] - at[j][0], at[i][1] - at[j][1])).toBeGreaterThan(49);
  });
});

describe('in an answer', () => {
  it('says why they are not taken when their number is far from the design’s, or the design is no grid', () => {
    const options = adviceOptionsSchema.parse({ lastPositions: 'same' });
    const said = (candidate: Candidate) =>
      lastPositions({ stops: [] }, undefined, candidate, testsAt(old), under, options);
    // Not looked at where nothing is taken.
    const under = {} as MovedUnder;
    const old = Float64Array.from({ length: 160 }, (_, i) => i);
    expect(said(gridOf(27))).toEqual({
      taken: false,
      sentence: 'Last time’s places are not taken again: there were 80, and this design has 27 stops.',
    });
    expect(said({ ...gridOf(27), kind: 'infill' } as Candidate)!.sentence).toContain('no grid of new stops');
    const usual = adviceOptionsSchema.parse({});
    expect(lastPositions({ stops: [] }, undefined, gridOf(27), testsAt(old), under, usual)).toBeUndefined();
  });

  it('takes them when the number is near, and tells what that does to the error', async () => {
    // The stops as advised become last time's places, each five metres east, and nothing was measured to move the advice.
    const [boundary] = demoFiles('long-reach').filter((f) => f.role === 'boundary');
    const blank = await adviceOn({ files: [boundary] });
    const rows = blank.stops.map(({ world: [lon, lat] }) => `${lon + 6e-5},${lat},20,150`);
    const points = {
      role: 'points' as const,
      name: 'last.csv',
      bytes: new TextEncoder().encode(`longitude,latitude,P ppm,K ppm\n${rows.join('\n')}\n`),
    };
    const again = await adviceOn({
      files: [boundary, points],
      options: { lastPositions: 'same', minSamples: rows.length, setbackM: 0 },
    });
    const { taken, errorRatio, sentence } = again.lastPositions!;
    expect(taken).toBe(true);
    expect(again.stops).toHaveLength(rows.length);
    const old = again.field.oldPoints;
    for (const s of again.stops)
      expect(old.some((x, i) => i % 2 === 0 && Math.hypot(x - s.xM, old[i + 1] - s.yM) < 0.01)).toBe(true);
    expect(errorRatio!).toBeGreaterThan(0.9);
    expect(errorRatio!).toBeLessThan(1.15);
    expect(sentence).toContain(`${rows.length} places are taken again`);
  });
});
