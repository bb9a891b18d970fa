import geodesics from './geodesics.json';

/** A way on WGS 84 as PROJ's `geod` has it (`geodesics.mjs` beside this file). */
export interface Geodesic {
  readonly from: readonly [lonDeg: number, latDeg: number];
  readonly to: readonly [lonDeg: number, latDeg: number];
  readonly bearingDeg: number;
  readonly distanceM: number;
}

export const readGeodesics = (): readonly Geodesic[] => geodesics as unknown as readonly Geodesic[];
