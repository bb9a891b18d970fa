import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { averageByPlace } from '../../src/clean/averageByPlace.ts';
import { substituteBelowDetection } from '../../src/clean/belowDetection.ts';
import { checkPoints, type CheckedPoints } from '../../src/clean/checkPoints.ts';
import { cleanYield } from '../../src/clean/cleanYield.ts';
import { medianInPlace } from '../../src/clean/robust.ts';
import type { Region } from '../../src/field/geometry.ts';
import type { Read } from '../../src/read/problem.ts';
import type { AnalyteColumn } from '../../src/read/records.ts';

const FIELD: Region = [
  [
    [
      [0, 0],
      [400, 0],
      [400, 400],
      [0, 400],
      [0, 0],
    ],
  ],
];
const rowsFor = (n: number) => Uint32Array.from({ length: n }, (_, i) => i + 2);
const check = (xy: number[], region?: Region) =>
  checkPoints(Float64Array.from(xy), rowsFor(xy.length / 2), 'p.csv', region);
function valueOf(read: Read<CheckedPoints>): CheckedPoints {
  if (!read.ok) throw new Error(read.problems[0].problem);
  return read.value;
}
const column = (values: number[], below: number[] = values.map(() => 0)): AnalyteColumn => ({
  id: 'P',
  label: 'Phosphorus',
  unit: 'mg/kg',
  values: Float64Array.from(values),
  belowDetection: Uint8Array.from(below),
});

describe('checkPoints', () => {
  it('keeps clean points without a note', () => {
    const read = check([10, 10, 20, 20, 30, 30], FIELD);
    expect(valueOf(read)).toMatchObject({ rows: Uint32Array.of(2, 3, 4), placeOf: Int32Array.of(0, 1, 2) });
    expect(read.ok && read.notes).toEqual([]);
  });
  it('joins points within half a metre at their mean', () => {
    const read = check([10, 10, 50, 50, 10.4, 10, 10.2, 10.1], FIELD);
    const checked = valueOf(read);
    expect([...checked.placeOf]).toEqual([0, 1, 0, 0]);
    expect([...checked.rows]).toEqual([2, 3]);
    expect(checked.xy[0]).toBeCloseTo(10.2, 10);
    expect(read.ok && read.notes[0]).toMatchObject({ file: 'p.csv', row: 4 });
    expect(read.ok && read.notes[0].problem).toContain('2 points are at the same place');
  });
  it('sets aside points more than 20 m outside, keeps those on the margin', () => {
    const read = check([10, 10, -19, 10, -21, 10, 900, 900], FIELD);
    expect([...valueOf(read).placeOf]).toEqual([0, 1, -1, -1]);
    expect(read.ok && read.notes[0].problem).toContain(
      '2 points lie more than 20 m outside the boundary and were set aside (rows 4, 5)',
    );
  });
  it('sets aside points deep in a hole', () => {
    const holed: Region = [
      [
        ...FIELD[0],
        [
          [100, 100],
          [300, 100],
          [300, 300],
          [100, 300],
          [100, 100],
        ],
      ],
    ];
    expect([...valueOf(check([200, 200, 50, 50], holed)).placeOf]).toEqual([-1, 0]);
  });
  it('stops when all are outside or at one place, but not at a single point', () => {
    expect(check([900, 900, 950, 950], FIELD).ok).toBe(false);
    const same = check([10, 10, 10, 10.1, 10.1, 10], FIELD);
    expect(!same.ok && same.problems[0].problem).toContain('All 3 points are at one place');
    expect(check([10, 10], FIELD).ok).toBe(true);
    expect(check([]).ok).toBe(false);
  });
  it('loses no point and keeps places apart', () => {
    const xy = fc.array(fc.double({ min: 0, max: 5, noNaN: true }), { minLength: 8, maxLength: 80 });
    fc.assert(
      fc.property(xy, (numbers) => {
        const read = check(numbers.slice(0, numbers.length & ~1));
        if (!read.ok) return;
        const { first, placeOf } = read.value;
        expect(placeOf.every((p) => p >= 0 && p < first.length)).toBe(true);
        for (const a of first)
          for (const b of first)
            if (a < b)
              expect(
                Math.hypot(numbers[2 * a] - numbers[2 * b], numbers[2 * a + 1] - numbers[2 * b + 1]),
              ).toBeGreaterThan(0.5);
      }),
    );
  });
});

describe('averageByPlace', () => {
  const checked = valueOf(check([10, 10, 50, 50, 10, 10, 50, 50, 90, 90]));
  it('averages what is there', () => {
    const averaged = averageByPlace(column([10, 5, 20, NaN, NaN]), checked);
    expect([...averaged.values]).toEqual([15, 5, NaN]);
  });
  it('keeps the flag only where all are below detection', () => {
    const averaged = averageByPlace(column([4, 5, 4, 8, 1], [1, 1, 1, 0, 0]), checked);
    expect([...averaged.belowDetection]).toEqual([1, 0, 0]);
    expect(averaged.values[0]).toBe(4);
    expect(averaged.values[1]).toBeCloseTo((5 / Math.SQRT2 + 8) / 2, 12);
  });
});

describe('substituteBelowDetection', () => {
  it('takes limit/√2 and notes a large share', () => {
    const few = substituteBelowDetection(Float64Array.of(5, 9, 9, 9, 9, 9), Uint8Array.of(1, 0, 0, 0, 0, 0));
    expect(few.values[0]).toBeCloseTo(5 / Math.SQRT2, 12);
    expect(few.share).toBeCloseTo(1 / 6, 12);
    expect(few.notes).toEqual([]);
    const many = substituteBelowDetection(Float64Array.of(5, NaN, 9), Uint8Array.of(1, 0, 0), {
      file: 'p.csv',
      column: 'P',
    });
    expect(many.share).toBe(0.5);
    expect(many.values[1]).toBeNaN();
    expect(many.notes[0]).toMatchObject({
      file: 'p.csv',
      column: 'P',
      problem: expect.stringContaining('lower bound'),
    });
  });
});

/** Passes 6 m apart with a point every 2 m over a smooth yield, and some small spread from a fixed sequence. */
function harvest(): { xy: Float64Array; yields: Float64Array } {
  const xy: number[] = [];
  const yields: number[] = [];
  for (let x = 3; x < 400; x += 6)
    for (let y = 1; y < 400; y += 2) {
      xy.push(x, y);
      yields.push(
        160 + 25 * Math.sin(x / 90) + 15 * Math.cos(y / 120) + 6 * Math.sin(12.9898 * x + 78.233 * y),
      );
    }
  return { xy: Float64Array.from(xy), yields: Float64Array.from(yields) };
}

describe('cleanYield', () => {
  const dropped = (cleaned: ReturnType<typeof cleanYield>) =>
    Object.fromEntries(cleaned.steps.map((s) => [s.name, s.dropped]));

  it('leaves a sound harvest almost untouched', () => {
    const { xy, yields } = harvest();
    expect(cleanYield(xy, yields).kept.length).toBeGreaterThan(0.995 * yields.length);
  });
  it('takes each fault by its step, with its count', () => {
    const { xy, yields } = harvest();
    const speeds = new Float64Array(yields.length).fill(5).map((v, i) => v + 0.2 * Math.sin(i));
    yields[100] = 0;
    yields[101] = -3;
    yields[102] = NaN;
    yields[500] = 2000;
    yields[501] = 5000;
    // Within the field's range, but not there: the smooth part is near its top at this place.
    const top =
      xy.findIndex((v, i) => i % 2 === 0 && Math.abs(v - 141) < 3 && xy[i + 1] < 20 && xy[i + 1] > 10) / 2;
    yields[top] = 125;
    speeds[900] = 0;
    speeds[901] = 30;
    speeds[902] = NaN;
    const cleaned = cleanYield(xy, yields, { file: 'y.csv', speeds });
    expect(dropped(cleaned)).toMatchObject({ 'not positive': 3, speed: 2, 'far from the median': 2 });
    const kept = new Set(cleaned.kept);
    for (const i of [100, 101, 102, 500, 501, top, 900, 901]) expect(kept.has(i)).toBe(false);
    expect(kept.has(902)).toBe(true);
    expect(cleaned.notes.map((n) => n.problem)).toContain(
      `3 of ${yields.length} yield points were set aside: not positive.`,
    );
    const lost = cleaned.steps.reduce((sum, s) => sum + s.dropped, 0);
    expect(lost + cleaned.kept.length).toBe(yields.length);
  });
  it('copes with a flat field, with nothing and with a heap at one place', () => {
    const flat = new Float64Array(50).fill(100);
    expect(cleanYield(harvest().xy.slice(0, 100), flat).kept.length).toBe(50);
    expect(cleanYield(new Float64Array(), new Float64Array()).kept.length).toBe(0);
    const heap = Float64Array.from({ length: 50_000 }, (_, i) => 100 + (i % 10));
    expect(cleanYield(new Float64Array(100_000), heap).kept.length).toBe(50_000);
  });
  it('warns when little is left', () => {
    const yields = Float64Array.from({ length: 100 }, (_, i) => (i < 60 ? 0 : 100 + i));
    const cleaned = cleanYield(harvest().xy.slice(0, 200), yields, { file: 'y.csv' });
    expect(cleaned.notes.at(-1)?.problem).toContain('60 %');
  });
});

describe('medianInPlace', () => {
  it('is the sorted middle', () => {
    fc.assert(
      fc.property(fc.array(fc.integer(), { minLength: 1, maxLength: 100 }), (list) => {
        const sorted = [...list].sort((a, b) => a - b);
        expect(medianInPlace(Float64Array.from(list), list.length)).toBe(sorted[list.length >> 1]);
      }),
    );
  });
});
