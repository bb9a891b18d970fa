import { eachNearRun, intoStrips } from './nearPairs.ts';

/**
 * The lags (distance bins) of an experimental variogram. Bin b holds distances in (edge b−1, edge b], as gstat's;
 * the first starts above 0.
 */
export interface Lags {
  readonly cutoffM: number;
  /** Upper edges, m, ascending, the last infinite (the cutoff ends it). */
  readonly edges: Float64Array;
  /** The first bin that distances of each cell of {@link LOOKUP_CELLS} equal cells up to the cutoff can be in. */
  readonly lookup: Uint16Array;
  /** Cells per metre. */
  readonly lookupScale: number;
}

/** Cells a distance is looked up in; many against the bins, so that seldom a cell has an edge in it. */
const LOOKUP_CELLS = 4096;

/** What the lags may be given as: the user's own boundaries, or a width and a cutoff. */
export interface LagOptions {
  /** Greatest distance, m. Default: a third of the bounding box's diagonal (as gstat's, which takes 0.33333 of it). */
  readonly cutoffM?: number;
  /** Bin width, m. Default: cutoff / 15. */
  readonly widthM?: number;
  /** Upper edges of the bins, m, ascending; then cutoff and width are not used. */
  readonly boundariesM?: readonly number[];
}

/** A third of the diagonal of the box around the points, m. @param xy 2n metres */
export function defaultCutoffM(xy: Float64Array): number {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < xy.length; i += 2) {
    minX = Math.min(minX, xy[i]);
    maxX = Math.max(maxX, xy[i]);
    minY = Math.min(minY, xy[i + 1]);
    maxY = Math.max(maxY, xy[i + 1]);
  }
  return Math.hypot(maxX - minX, maxY - minY) / 3;
}

/**
 * The lags asked for.
 * @returns undefined where they have no extent (a cutoff or width that is not above zero)
 * @throws RangeError on boundaries that do not ascend
 */
export function lagsOf(xy: Float64Array, options: LagOptions): Lags | undefined {
  const { boundariesM } = options;
  if (boundariesM) {
    boundariesM.forEach((b, i) => {
      if (!(b >= 0 && b < Infinity) || (i > 0 && b <= boundariesM[i - 1]))
        throw new RangeError(`Lag boundaries must be distances that ascend, not ${boundariesM.join(', ')}.`);
    });
    const upper = boundariesM.filter((b) => b > 0);
    return upper.length ? withLookup(Float64Array.from(upper), upper[upper.length - 1]) : undefined;
  }
  const cutoffM = options.cutoffM ?? defaultCutoffM(xy);
  const widthM = options.widthM ?? cutoffM / 15;
  if (!(cutoffM > 0 && cutoffM < Infinity) || !(widthM > 0)) return undefined;
  const bins = Math.max(1, Math.ceil(cutoffM / widthM - 1e-9));
  return withLookup(
    Float64Array.from({ length: bins }, (_, b) => edgeOf(b + 1, widthM)),
    cutoffM,
  );
}

/** The greatest distance whose quotient by the width is not above k, so that comparing is the same as dividing. */
function edgeOf(k: number, widthM: number): number {
  let edge = k * widthM;
  // A little over half the spacing of doubles at most, so that adding it moves to the next one.
  const ulp = 1.01 * edge * 2 ** -53;
  while (edge / widthM > k) edge -= ulp;
  while ((edge + ulp) / widthM <= k) edge += ulp;
  return edge;
}

function withLookup(edges: Float64Array, cutoffM: number): Lags {
  edges[edges.length - 1] = Infinity;
  // One cell more, for the cutoff itself.
  const lookup = new Uint16Array(LOOKUP_CELLS + 2);
  const lookupScale = LOOKUP_CELLS / cutoffM;
  let b = 0;
  for (let i = 0; i < lookup.length; i++) {
    // A hair short, lest rounding put a distance in a cell that starts beyond its bin.
    while (edges[b] < ((i - 1e-6) * cutoffM) / LOOKUP_CELLS) b++;
    lookup[i] = b;
  }
  return { cutoffM, edges, lookup, lookupScale };
}

/** Distance from a point to its nearest other, m: the median over at most this many points. */
const SPACING_POINTS = 500;

/**
 * The typical spacing of points, m: the median distance to the nearest neighbour elsewhere, over 500 points spread
 * evenly through the list when there are more. On a square grid it is the grid's spacing.
 * @returns undefined with fewer than two places
 */
export function typicalSpacingM(xy: Float64Array): number | undefined {
  const n = xy.length / 2;
  const count = Math.min(n, SPACING_POINTS);
  const nearest = new Float64Array(count);
  for (let k = 0; k < count; k++) {
    const i = Math.floor((k * n) / count);
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    let least = Infinity;
    for (let j = 0; j < n; j++) {
      const dx = xy[2 * j] - x;
      const dy = xy[2 * j + 1] - y;
      const d2 = dx * dx + dy * dy;
      if (d2 < least && d2 > 0) least = d2;
    }
    nearest[k] = least;
  }
  const middle = Math.sqrt(nearest.sort()[count >> 1]);
  return middle < Infinity ? middle : undefined;
}

export interface SensibleLags {
  readonly boundariesM: readonly number[];
  readonly spacingM: number;
}

/** Fewest pairs a lag should have: Journel & Huijbregts 1978, Mining Geostatistics, III.C. */
export const LEAST_PAIRS = 30;

/**
 * Lags that suit points on a regular (or jittered) grid as well as scattered ones. Lags are as wide as the typical
 * spacing (or a fifteenth of the cutoff where that is more) and *centred* on its multiples, ((k − ½)w, (k + ½)w], so that
 * a jittered grid's neighbours are not split between two lags; a lag with fewer than `leastPairs` is joined to the next.
 * Centring is common practice (Webster & Oliver 2007, ch. 4); the rest is a judgement of this project.
 * @param xy 2n metres
 * @returns undefined where no two places are within the cutoff
 */
export function sensibleLags(
  xy: Float64Array,
  { cutoffM = defaultCutoffM(xy), leastPairs = LEAST_PAIRS } = {},
): SensibleLags | undefined {
  const spacingM = typicalSpacingM(xy);
  if (spacingM === undefined || !(cutoffM > 0)) return undefined;
  const widthM = Math.max(spacingM, cutoffM / 15);
  const fine: number[] = [];
  for (let k = 0; (k + 0.5) * widthM < cutoffM + 0.5 * widthM; k++) fine.push((k + 0.5) * widthM);
  const counts = pairCounts(xy, fine);
  const boundariesM: number[] = [];
  let held = 0;
  fine.forEach((edge, b) => {
    held += counts[b];
    if (held < leastPairs) return;
    boundariesM.push(edge);
    held = 0;
  });
  // What is left over at the end is too few for a lag: the last one takes it in.
  const end = fine[fine.length - 1];
  if (held > 0) boundariesM[Math.max(0, boundariesM.length - 1)] = end;
  return boundariesM.length ? { boundariesM, spacingM } : undefined;
}

/** Pairs of points within each of the bins that these upper edges end. */
function pairCounts(xy: Float64Array, upper: readonly number[]): Float64Array {
  const counts = new Float64Array(upper.length);
  const lags = withLookup(Float64Array.from(upper), upper[upper.length - 1]);
  const { edges, lookup, lookupScale, cutoffM } = lags;
  const strips = intoStrips(xy, cutoffM);
  const { x, y } = strips;
  const cutoff2 = cutoffM * cutoffM;
  eachNearRun(strips, cutoffM, (i, from, to) => {
    const [xi, yi] = [x[i], y[i]];
    for (let j = from; j < to; j++) {
      const dx = x[j] - xi;
      const dy = y[j] - yi;
      const d2 = dx * dx + dy * dy;
      if (d2 > cutoff2 || d2 === 0) continue;
      const d = Math.sqrt(d2);
      let b = lookup[(d * lookupScale) | 0];
      while (d > edges[b]) b++;
      counts[b]++;
    }
  });
  return counts;
}
