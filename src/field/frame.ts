import type { Position } from './geometry.ts';

/**
 * How the file's coordinates become the field's local metres and back.
 * `geographic`: longitude and latitude in degrees on WGS 84, flattened about (lon0, lat0).
 * `projected`: easting and northing in metres of some map projection, moved to (x0, y0).
 */
export type Frame =
  | { readonly kind: 'geographic'; readonly lon0: number; readonly lat0: number }
  | { readonly kind: 'projected'; readonly x0: number; readonly y0: number };

const RADIANS = Math.PI / 180;
const WGS84_A_M = 6378137;
const WGS84_E2 = 0.00669437999014;

/** Metres per degree of longitude and of latitude at a latitude on WGS 84 (radii of curvature, Snyder 1987, USGS PP 1395, eqs 4-18 to 4-21). */
export function metresPerDegree(latDeg: number): readonly [perLonM: number, perLatM: number] {
  const sin = Math.sin(latDeg * RADIANS);
  const q = 1 - WGS84_E2 * sin * sin;
  const meridianRadiusM = (WGS84_A_M * (1 - WGS84_E2)) / Math.pow(q, 1.5);
  const normalRadiusM = WGS84_A_M / Math.sqrt(q);
  return [RADIANS * normalRadiusM * Math.cos(latDeg * RADIANS), RADIANS * meridianRadiusM];
}

/** World coordinates (degrees or projected metres) to local metres. */
export function toLocal(frame: Frame, world: readonly [number, number]): Position {
  if (frame.kind === 'projected') return [world[0] - frame.x0, world[1] - frame.y0];
  const [perLon, perLat] = metresPerDegree(frame.lat0);
  return [(world[0] - frame.lon0) * perLon, (world[1] - frame.lat0) * perLat];
}

/** Local metres back to world coordinates: the inverse of {@link toLocal}. */
export function toWorld(frame: Frame, local: Position): [number, number] {
  if (frame.kind === 'projected') return [local[0] + frame.x0, local[1] + frame.y0];
  const [perLon, perLat] = metresPerDegree(frame.lat0);
  return [frame.lon0 + local[0] / perLon, frame.lat0 + local[1] / perLat];
}
