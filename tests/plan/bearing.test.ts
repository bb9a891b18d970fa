import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { toWorld } from '../../src/field/index.ts';
import { sayTurn, sayWind, turnTo, wayTo } from '../../src/plan/bearing.ts';
import { readGeodesics } from '../reference/geodesics.ts';

const between = (a: number, b: number) => Math.abs(((a - b + 540) % 360) - 180);

describe('the way to a place', () => {
  it('is that of PROJ’s geod (Karney 2013) up to 20 km, also over the 180th meridian', () => {
    const ways = readGeodesics();
    expect(ways.length).toBe(150);
    for (const { from, to, distanceM, bearingDeg } of ways) {
      const way = wayTo(from, to);
      const what = `from ${from} to ${to}`;
      expect(Math.abs(way.distanceM / distanceM - 1), what).toBeLessThan(1e-5);
      expect(between(way.bearingDeg ?? NaN, bearingDeg), what).toBeLessThan(0.01);
    }
  });

  it('is that of the field’s own plane within a thousandth', () => {
    const frame = { kind: 'geographic', lon0: -93.5, lat0: 42.1 } as const;
    const metres = fc.double({ min: -1500, max: 1500, noNaN: true });
    fc.assert(
      fc.property(metres, metres, metres, metres, (x0, y0, x1, y1) => {
        const flatM = Math.hypot(x1 - x0, y1 - y0);
        fc.pre(flatM > 1);
        const { distanceM, bearingDeg = NaN } = wayTo(toWorld(frame, [x0, y0]), toWorld(frame, [x1, y1]));
        expect(Math.abs(distanceM / flatM - 1)).toBeLessThan(1e-3);
        expect(between(bearingDeg, (Math.atan2(x1 - x0, y1 - y0) * 180) / Math.PI)).toBeLessThan(0.06);
      }),
      { seed: 2026, numRuns: 200 },
    );
  });

  it('has no bearing where one already stands', () => {
    expect(wayTo([-93.5, 42.1], [-93.5, 42.1])).toEqual({ distanceM: 0 });
  });
});

describe('in words', () => {
  it.each([
    [0, 'north'],
    [22.4, 'north'],
    [22.6, 'north-east'],
    [180, 'south'],
    [337.4, 'north-west'],
    [337.6, 'north'],
    [-90, 'west'],
    [720, 'north'],
  ])('%d° is %s', (deg, words) => expect(sayWind(deg)).toBe(words));

  it.each([
    [10, 350, 20, 'half right'],
    [350, 10, -20, 'half left'],
    [5, 355, 10, 'straight ahead'],
    [90, 0, 90, 'right'],
    [0, 90, -90, 'left'],
    [180, 0, 180, 'behind you'],
    [130, 0, 130, 'sharp right'],
    [0, 130, -130, 'sharp left'],
  ])('to go %d° when facing %d° one turns %d°: %s', (bearing, heading, turn, words) => {
    expect(turnTo(bearing, heading)).toBe(turn);
    expect(sayTurn(turn)).toBe(words);
  });
});
