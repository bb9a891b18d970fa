import { expect, it } from 'vitest';
import { toWorld } from '../../src/field/index.ts';
import { follow, type Track } from '../../views/walk/course.ts';
import type { Fix } from '../../views/walk/position.ts';

const frame = { kind: 'geographic', lon0: -93.5, lat0: 42.1 } as const;
const fixAt = (second: number, x: number, y: number, accuracyM = 4): Fix => ({
  at: toWorld(frame, [x, y]),
  accuracyM,
  timeMs: 1000 * second,
});
const courses = (fixes: readonly Fix[]): (number | undefined)[] => {
  let track: Track = {};
  return fixes.map((fix) => (track = follow(track, fix)).courseDeg);
};
/** A walker eastward at 1.2 m/s, a position a second, from some second on standing. */
const walk = (until: number, stands: number) =>
  Array.from({ length: stands }, (_, s) => fixAt(s, 1.2 * Math.min(s, until), 0));

it('is there from the first five metres on and does not flicker between', () => {
  const all = courses(walk(60, 60));
  expect(all.slice(0, 5)).toEqual(Array(5).fill(undefined));
  for (const course of all.slice(5)) expect(course).toBeCloseTo(90, 3);
});

it('is gone some seconds after one stands, and a wandering position does not bring it back', () => {
  const standing = walk(20, 40);
  const wandering = Array.from({ length: 60 }, (_, s) =>
    fixAt(40 + s, 24 + 3 * Math.sin(s), 2 * Math.cos(3 * s)),
  );
  const all = courses([...standing, ...wandering]);
  expect(all[25]).toBeCloseTo(90, 3);
  expect(all.slice(35).every((course) => course === undefined)).toBe(true);
});

it('turns with the walker', () => {
  const there = walk(20, 20);
  const back = Array.from({ length: 20 }, (_, s) => fixAt(20 + s, 24, -1.2 * s));
  expect(courses([...there, ...back]).at(-1)).toBeCloseTo(180, 3);
});

it('is the receiver’s own where it gives one', () => {
  expect(follow({}, fixAt(0, 0, 0), 312).courseDeg).toBe(312);
});
