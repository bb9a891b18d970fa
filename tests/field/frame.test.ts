import { describe, it } from 'vitest';
import { metresPerDegree, toLocal, toWorld, type Frame } from '../../src/field/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

describe('metres per degree on WGS 84', () => {
  // The usual table of a degree's length in km, rounded to a metre (from memory; Snyder 1987 gives the formulas).
  it.each([
    [0, 110.574, 111.32],
    [15, 110.649, 107.55],
    [30, 110.852, 96.486],
    [45, 111.132, 78.847],
    [60, 111.412, 55.8],
    [75, 111.618, 28.902],
    [90, 111.694, 0],
  ])('at %d°', (latitude, latitudeKm, longitudeKm) => {
    for (const sign of [1, -1]) {
      const [perLon, perLat] = metresPerDegree(sign * latitude);
      expectWithin(perLat / 1000, latitudeKm, 6e-4, 'latitude');
      expectWithin(perLon / 1000, longitudeKm, 6e-4, 'longitude');
    }
  });

  it('degrees of latitude add up to the quarter meridian, 10 001.966 km', () => {
    let sum = 0;
    for (let i = 0; i < 900; i++) sum += 0.1 * metresPerDegree((i + 0.5) / 10)[1];
    expectRelative(sum, 10_001_965.73, 1e-7);
  });
});

describe('frames', () => {
  const frames: readonly Frame[] = [
    { kind: 'geographic', lon0: -83.2, lat0: 41.7 },
    { kind: 'geographic', lon0: 147.3, lat0: -36.1 },
    { kind: 'projected', x0: 181_000, y0: 333_000 },
  ];

  it.each(frames)('$kind: there and back', (frame) => {
    for (const [x, y] of [
      [0, 0],
      [812.5, -344],
      [-1500, 990.25],
    ]) {
      const [u, v] = toLocal(frame, toWorld(frame, [x, y]));
      expectWithin(u, x, 1e-6);
      expectWithin(v, y, 1e-6);
    }
  });

  it('the origin is the origin, east is +x and north is +y', () => {
    for (const frame of frames) {
      const [lon, lat] = toWorld(frame, [0, 0]);
      const [x, y] = toLocal(frame, [lon + 1e-3, lat + 2e-3]);
      expectWithin(Math.sign(x) + Math.sign(y), 2, 0);
    }
  });

  it('a degree at the origin’s latitude is the degree’s length', () => {
    const frame: Frame = { kind: 'geographic', lon0: 10, lat0: 45 };
    const [x, y] = toLocal(frame, [10.01, 45.01]);
    expectWithin(x, 788.47, 0.01);
    expectWithin(y, 1111.32, 0.01);
  });
});
