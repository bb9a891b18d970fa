import { metresPerDegree } from '../field/frame.ts';

/** Longitude and latitude in degrees on WGS 84. */
export type LonLat = readonly [lonDeg: number, latDeg: number];

/** The way from one place to another. */
export interface Way {
  readonly distanceM: number;
  /** At its beginning, clockwise from true north, 0 to 360; absent when both places are one (within a centimetre). */
  readonly bearingDeg?: number;
}

const RADIANS = Math.PI / 180;

/**
 * Distance and first bearing on WGS 84 by the Gauss mid-latitude formula to its first terms (from memory; its azimuth at
 * the middle of the way is turned back by half the meridians’ convergence, Δλ·sin φ). Against PROJ's `geod` (Karney 2013)
 * distance is within 1 part in 100,000 and the bearing within 0.01° for ways up to 20 km and latitudes up to 65°
 * (`tests/plan/bearing.test.ts`); a field and the road to it are shorter.
 */
export function wayTo(from: LonLat, to: LonLat): Way {
  const middleLat = (from[1] + to[1]) / 2;
  const [perLonM, perLatM] = metresPerDegree(middleLat);
  const dLon = ((((to[0] - from[0] + 180) % 360) + 360) % 360) - 180;
  const [east, north] = [dLon * perLonM, (to[1] - from[1]) * perLatM];
  const distanceM = Math.hypot(east, north);
  if (distanceM < 0.01) return { distanceM };
  const middleDeg = Math.atan2(east, north) / RADIANS;
  return { distanceM, bearingDeg: turned(middleDeg - (dLon * Math.sin(middleLat * RADIANS)) / 2) };
}

/** Any angle as 0 to 360. */
const turned = (deg: number): number => ((deg % 360) + 360) % 360;

const WINDS = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'];

/** One of eight winds in words: `north-east`. */
export const sayWind = (bearingDeg: number): string => WINDS[Math.round(turned(bearingDeg) / 45) % 8];

/** How far to turn to go a bearing when one faces a heading: above −180 to 180, to the right above zero. */
export function turnTo(bearingDeg: number, headingDeg: number): number {
  const turn = turned(bearingDeg - headingDeg);
  return turn > 180 ? turn - 360 : turn;
}

/** A turn in words a walker follows without looking twice: `straight ahead`, `half right`, `left`, `behind you`. */
export function sayTurn(turnDeg: number): string {
  const size = Math.abs(turnDeg);
  if (size < 15) return 'straight ahead';
  if (size > 150) return 'behind you';
  const side = turnDeg > 0 ? 'right' : 'left';
  if (size < 60) return `half ${side}`;
  return size > 120 ? `sharp ${side}` : side;
}
