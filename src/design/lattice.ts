import { regionBounds, type FlatPositions, type Region } from '../field/index.ts';

/** Two steps of a lattice as [east, north] in metres: its points are all whole sums of them. */
export interface LatticeBasis {
  readonly u: readonly [number, number];
  readonly v: readonly [number, number];
}

/** A compass bearing (degrees clockwise from north) as the angle of plane geometry (radians from east, anticlockwise). */
export function angleOfBearing(directionDeg: number): number {
  return ((90 - directionDeg) * Math.PI) / 180;
}

/** Square lattice, rows along `angleRad`. */
export function squareBasis(spacingM: number, angleRad: number): LatticeBasis {
  const [x, y] = [spacingM * Math.cos(angleRad), spacingM * Math.sin(angleRad)];
  return { u: [x, y], v: [-y, x] };
}

/** A lattice drawn out by one factor along `angleRad` and by another across it. */
export function scaledBasis(
  basis: LatticeBasis,
  along: number,
  across: number,
  angleRad: number,
): LatticeBasis {
  const [c, s] = [Math.cos(angleRad), Math.sin(angleRad)];
  const pull = ([x, y]: readonly [number, number]): readonly [number, number] => {
    const p = (c * x + s * y) * along;
    const q = (c * y - s * x) * across;
    return [c * p - s * q, s * p + c * q];
  };
  return { u: pull(basis.u), v: pull(basis.v) };
}

/** A lattice `factor` times as long as wide, along `angleRad`, with as many points to the area as before. */
export function elongated(basis: LatticeBasis, factor: number, angleRad: number): LatticeBasis {
  return scaledBasis(basis, Math.sqrt(factor), 1 / Math.sqrt(factor), angleRad);
}

/** Nearer an edge than this, in steps, rounding decides which side of it a point lies on. */
const EDGE_STEPS = 1e-7;

/**
 * How many points {@link pointsOfLattice} gives, without looking at each: along every row an edge adds the points before it
 * when it runs up and takes them off when it runs down.
 * @returns undefined where a point lies too near an edge to tell
 */
export function countOnLattice(
  region: Region,
  { u, v }: LatticeBasis,
  offsetU: number,
  offsetV: number,
): number | undefined {
  const b = regionBounds(region);
  const cx = (b.minX + b.maxX) / 2 + offsetU * u[0] + offsetV * v[0];
  const cy = (b.minY + b.maxY) / 2 + offsetU * u[1] + offsetV * v[1];
  const det = u[0] * v[1] - u[1] * v[0];
  let count = 0;
  for (const rings of region)
    for (let r = 0; r < rings.length; r++) {
      const ring = rings[r];
      let ofRing = 0;
      let [px, py] = ring[ring.length - 1];
      let i0 = ((px - cx) * v[1] - (py - cy) * v[0]) / det;
      let j0 = ((py - cy) * u[0] - (px - cx) * u[1]) / det;
      for (let q = 0; q < ring.length; q++) {
        px = ring[q][0];
        py = ring[q][1];
        const i1 = ((px - cx) * v[1] - (py - cy) * v[0]) / det;
        const j1 = ((py - cy) * u[0] - (px - cx) * u[1]) / det;
        if (Math.abs(j1 - Math.round(j1)) < EDGE_STEPS) return undefined;
        const last = Math.floor(Math.max(j0, j1));
        for (let j = Math.ceil(Math.min(j0, j1)); j <= last; j++) {
          const at = i0 + ((i1 - i0) * (j - j0)) / (j1 - j0);
          if (Math.abs(at - Math.round(at)) < EDGE_STEPS) return undefined;
          ofRing += j1 > j0 ? Math.floor(at) : -Math.floor(at);
        }
        i0 = i1;
        j0 = j1;
      }
      count += r === 0 ? Math.abs(ofRing) : -Math.abs(ofRing);
    }
  return count;
}

/**
 * Points of a lattice inside a region, row by row. The lattice goes through the middle of the region's bounding box,
 * moved by the offsets (shares of the two steps).
 * @param inside whether a place counts, as {@link insideTest} of the region
 */
export function pointsOfLattice(
  region: Region,
  { u, v }: LatticeBasis,
  offsetU: number,
  offsetV: number,
  inside: (x: number, y: number) => boolean,
): FlatPositions {
  const b = regionBounds(region);
  const cx = (b.minX + b.maxX) / 2 + offsetU * u[0] + offsetV * v[0];
  const cy = (b.minY + b.maxY) / 2 + offsetU * u[1] + offsetV * v[1];
  const det = u[0] * v[1] - u[1] * v[0];
  let [minI, maxI, minJ, maxJ] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const [outer] of region)
    for (const [x, y] of outer) {
      const i = ((x - cx) * v[1] - (y - cy) * v[0]) / det;
      const j = ((y - cy) * u[0] - (x - cx) * u[1]) / det;
      if (i < minI) minI = i;
      if (i > maxI) maxI = i;
      if (j < minJ) minJ = j;
      if (j > maxJ) maxJ = j;
    }
  const out: number[] = [];
  // One step more on each side: rounding must not lose a point on the very edge.
  for (let j = Math.floor(minJ); j <= Math.ceil(maxJ); j++)
    for (let i = Math.floor(minI); i <= Math.ceil(maxI); i++) {
      const x = cx + i * u[0] + j * v[0];
      const y = cy + i * u[1] + j * v[1];
      if (inside(x, y)) out.push(x, y);
    }
  return Float64Array.from(out);
}
