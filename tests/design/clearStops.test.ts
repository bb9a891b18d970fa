import { describe, expect, it } from 'vitest';
import { clearGroundTest, clearStops, type KeepOut } from '../../src/design/clearStops.ts';
import { distanceToEdgeM, regionContains, type Region } from '../../src/field/index.ts';
import { seededRandom } from '../../src/describe/index.ts';

const ring = (minX: number, minY: number, maxX: number, maxY: number) =>
  [
    [minX, minY],
    [maxX, minY],
    [maxX, maxY],
    [minX, maxY],
    [minX, minY],
  ] as const;
const holed: Region = [[ring(0, 0, 600, 400), ring(250, 150, 350, 250)]];
const nothing: Omit<KeepOut, 'label'> = { polygons: [], lines: [], points: [], extentM: 0 };
const ditch: KeepOut = {
  ...nothing,
  label: 'ditch',
  lines: [
    [
      [100, -50],
      [100, 450],
    ],
  ],
  extentM: 3,
};
const well: KeepOut = { ...nothing, label: 'well', points: [[500, 200]], extentM: 12 };
const yard: KeepOut = {
  ...nothing,
  label: 'yard',
  polygons: [[ring(400, 0, 480, 60), ring(420, 20, 440, 40)]],
};

const clear = clearGroundTest(holed, { setbackM: 15, keepOut: [ditch, well, yard], keepOutSetbackM: 10 });

/** Distance to a segment from its definition, for the check. */
function toSegment(x: number, y: number, [a, b]: readonly (readonly [number, number])[]): number {
  let least = Infinity;
  for (let k = 0; k <= 20_000; k++) {
    const t = k / 20_000;
    least = Math.min(least, Math.hypot(x - a[0] - t * (b[0] - a[0]), y - a[1] - t * (b[1] - a[1])));
  }
  return least;
}

describe('clear ground', () => {
  it('is inside, off the edges and the hole, and off what is kept out by its setback and extent', () => {
    expect(clear(200, 300)).toBe(true);
    expect([clear(-1, 200), clear(14, 200), clear(16, 200), clear(300, 200), clear(240, 200)]).toEqual([
      false,
      false,
      true,
      false,
      false,
    ]);
    expect([clear(112, 200), clear(114, 200), clear(86, 200)]).toEqual([false, true, true]);
    expect([clear(500, 221), clear(500, 223)]).toEqual([false, true]);
    // In the yard, in the hole of it (nearer than the setback to its edge), beside it.
    expect([clear(450, 50), clear(432, 30), clear(440, 69), clear(440, 71)]).toEqual([
      false,
      false,
      false,
      true,
    ]);
  });

  it('a setback of nothing leaves the whole field but what is kept out', () => {
    const open = clearGroundTest(holed, { setbackM: 0, keepOut: [yard], keepOutSetbackM: 0 });
    expect([open(1, 1), open(300, 200), open(410, 10), open(430, 30)]).toEqual([true, false, false, true]);
  });
});

describe('stops moved off forbidden ground', () => {
  it('a stop on clear ground stays; one on the headland goes straight in to the setback', () => {
    const moved = clearStops(Float64Array.of(200, 300, 200, 4), clear, 70);
    expect([...moved.xy.slice(0, 2)]).toEqual([200, 300]);
    expect(moved.movedM[0]).toBe(0);
    expect(moved.xy[2]).toBeCloseTo(200, 6);
    expect(moved.xy[3]).toBeGreaterThanOrEqual(15 - 1e-6);
    expect(moved.xy[3]).toBeLessThan(15.02);
    expect([...moved.stuck]).toEqual([0, 0]);
  });

  it('no clear place is nearer than the one found, by more than the step of the search', () => {
    const random = seededRandom(11);
    const xy = Float64Array.from({ length: 120 }, (_, i) => random() * (i % 2 ? 400 : 600));
    const moved = clearStops(xy, clear, 120);
    let forbidden = 0;
    for (let i = 0; i < 60; i++) {
      const [x, y] = [xy[2 * i], xy[2 * i + 1]];
      if (clear(x, y)) continue;
      forbidden++;
      expect(moved.stuck[i]).toBe(0);
      const [u, v] = [moved.xy[2 * i], moved.xy[2 * i + 1]];
      // Each distance from its own definition, not from the test under test.
      expect(regionContains(holed, [u, v])).toBe(true);
      expect(distanceToEdgeM(holed, [u, v])).toBeGreaterThan(15 - 1e-3);
      expect(toSegment(u, v, ditch.lines[0])).toBeGreaterThan(13 - 1e-3);
      expect(Math.hypot(u - 500, v - 200)).toBeGreaterThan(22 - 1e-3);
      // All places on a fine lattice that are nearer by more than the step are forbidden.
      const reach = moved.movedM[i] - 0.8;
      for (let a = -reach; a <= reach; a += 1.7)
        for (let b = -reach; b <= reach; b += 1.7)
          if (a * a + b * b < reach * reach) expect(clear(x + a, y + b)).toBe(false);
    }
    expect(forbidden).toBeGreaterThan(10);
  });

  it('none goes farther than it may: it stays and is marked', () => {
    const moved = clearStops(Float64Array.of(200, 4, 200, 12), clear, 5);
    expect([...moved.stuck]).toEqual([1, 0]);
    expect([...moved.xy.slice(0, 2)]).toEqual([200, 4]);
    expect(moved.movedM[0]).toBe(0);
    expect(moved.movedM[1]).toBeLessThan(3.02);
  });

  it('stays on its own side of a line when asked: here west of the ditch though east is nearer', () => {
    const at = Float64Array.of(102, 200);
    expect(clearStops(at, clear, 70).xy[0]).toBeGreaterThan(112);
    const west = clearStops(at, clear, 70, (_, x) => x < 101);
    expect(west.xy[0]).toBeLessThanOrEqual(87 + 1e-9);
    expect(west.movedM[0]).toBeCloseTo(15, 1);
  });
});
