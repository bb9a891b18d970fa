import { lagsOf, type LagOptions, type Lags } from './lags.ts';
import { eachNearRun, intoStrips, type Strips } from './nearPairs.ts';
import { qn } from './qn.ts';

/**
 * Experimental variograms. Classical: Matheron 1962, half the mean squared difference. Cressie-Hawkins 1980:
 * fourth power of the mean root difference with their bias term. Dowd 1984: 2γ is 2.198 times the squared median
 * absolute difference. Genton 1998 (Mathematical Geology 30: 213-221): 2γ is the square of the differences' Qn.
 * Bins are (k·width, (k+1)·width], as gstat's, or end at the user's boundaries. Pairs at one place are left out.
 */
export type Estimator = 'classical' | 'cressieHawkins' | 'dowd' | 'genton';

export interface VariogramBin {
  readonly pairs: number;
  /** Mean distance of the bin's pairs, m. */
  readonly distanceM: number;
  readonly gamma: number;
}

export interface ExperimentalOptions extends LagOptions {
  readonly estimator?: Estimator;
  /** Direction in degrees clockwise from north, with its half-tolerance in degrees (22.5 by default). */
  readonly directionDeg?: number;
  readonly toleranceDeg?: number;
  /** With a direction: how far off its line, m, the second point of a pair may lie. No limit by default. */
  readonly bandwidthM?: number;
}

/**
 * Differences of a bin that the rank estimators (Dowd, Genton) look at. Of more, as many spread evenly through the bin's
 * pairs are taken: the quantile then errs by some 0.3 %, far less than the bin itself does, and memory stays bounded.
 */
export const RANKED_PAIRS = 100_000;

/**
 * Experimental variogram of values at positions.
 * @param xy x0, y0, x1, y1, … in metres, length 2n
 * @param z n values on the working scale
 * @returns the bins that have pairs (for Genton's, two or more), by distance
 * @throws RangeError on lag boundaries that do not ascend
 */
export function experimentalVariogram(
  xy: Float64Array,
  z: Float64Array,
  options: ExperimentalOptions = {},
): VariogramBin[] {
  const lags = lagsOf(xy, options);
  if (!lags) return [];
  const strips = intoStrips(xy, lags.cutoffM);
  const values = Float64Array.from(strips.order, (i) => z[i]);
  const direction = directionOf(options);
  const { estimator = 'classical' } = options;
  if (estimator === 'classical') {
    const sums = direction
      ? directedSums(strips, values, lags, direction, false)
      : squaredSums(strips, values, lags);
    return binsOf(sums, (b, pairs) => sums.total[b] / (2 * pairs));
  }
  if (estimator === 'cressieHawkins') {
    const sums = direction
      ? directedSums(strips, values, lags, direction, true)
      : rootSums(strips, values, lags);
    return binsOf(sums, (b, pairs) => Math.pow(sums.total[b] / pairs, 4) / (2 * (0.457 + 0.494 / pairs)));
  }
  const sums = directedSums(strips, values, lags, direction ?? EVERY_DIRECTION, false);
  const differences = gather(strips, values, lags, direction ?? EVERY_DIRECTION, sums.pairs);
  if (estimator === 'dowd') return binsOf(sums, (b) => 1.099 * medianAbsolute(differences[b]) ** 2);
  return binsOf(sums, (b) => 0.5 * qn(differences[b]) ** 2).filter((b) => b.pairs > 1);
}

/** A pair counts when its line, either way round, is within the tolerance of the direction and inside the band. */
interface Direction {
  readonly ux: number;
  readonly uy: number;
  readonly minCos: number;
  readonly bandwidthM: number;
}

const EVERY_DIRECTION: Direction = { ux: 0, uy: 1, minCos: -1, bandwidthM: Infinity };

function directionOf({
  directionDeg,
  toleranceDeg = 22.5,
  bandwidthM = Infinity,
}: ExperimentalOptions): Direction | undefined {
  if (directionDeg === undefined) return undefined;
  const alpha = (directionDeg * Math.PI) / 180;
  const minCos = Math.cos((Math.min(90, toleranceDeg) * Math.PI) / 180) - 1e-12;
  return { ux: Math.sin(alpha), uy: Math.cos(alpha), minCos, bandwidthM: bandwidthM * (1 + 1e-12) };
}

/** Per bin: number of pairs, sum of their distances, and sum of what the estimator averages. */
interface Sums {
  readonly pairs: Float64Array;
  readonly distance: Float64Array;
  readonly total: Float64Array;
}

function emptySums(bins: number): Sums {
  return {
    pairs: new Float64Array(bins),
    distance: new Float64Array(bins),
    total: new Float64Array(bins),
  };
}

function binsOf({ pairs, distance }: Sums, gamma: (b: number, pairs: number) => number): VariogramBin[] {
  const out: VariogramBin[] = [];
  pairs.forEach((np, b) => {
    if (np > 0) out.push({ pairs: np, distanceM: distance[b] / np, gamma: gamma(b, np) });
  });
  return out;
}

// The four loops below differ in what they do with a pair; each is kept free of the others' branches.

function squaredSums(strips: Strips, z: Float64Array, lags: Lags): Sums {
  const { x, y } = strips;
  const { edges, lookup, lookupScale, cutoffM } = lags;
  const sums = emptySums(edges.length);
  const { pairs, distance, total } = sums;
  const cutoff2 = cutoffM * cutoffM;
  eachNearRun(strips, cutoffM, (i, from, to) => {
    const xi = x[i];
    const yi = y[i];
    const zi = z[i];
    for (let j = from; j < to; j++) {
      const dx = x[j] - xi;
      const dy = y[j] - yi;
      const d2 = dx * dx + dy * dy;
      if (d2 > cutoff2 || d2 === 0) continue;
      const d = Math.sqrt(d2);
      let b = lookup[(d * lookupScale) | 0];
      while (d > edges[b]) b++;
      const difference = z[j] - zi;
      pairs[b]++;
      distance[b] += d;
      total[b] += difference * difference;
    }
  });
  return sums;
}

function rootSums(strips: Strips, z: Float64Array, lags: Lags): Sums {
  const { x, y } = strips;
  const { edges, lookup, lookupScale, cutoffM } = lags;
  const sums = emptySums(edges.length);
  const { pairs, distance, total } = sums;
  const cutoff2 = cutoffM * cutoffM;
  eachNearRun(strips, cutoffM, (i, from, to) => {
    const xi = x[i];
    const yi = y[i];
    const zi = z[i];
    for (let j = from; j < to; j++) {
      const dx = x[j] - xi;
      const dy = y[j] - yi;
      const d2 = dx * dx + dy * dy;
      if (d2 > cutoff2 || d2 === 0) continue;
      const d = Math.sqrt(d2);
      let b = lookup[(d * lookupScale) | 0];
      while (d > edges[b]) b++;
      pairs[b]++;
      distance[b] += d;
      total[b] += Math.sqrt(Math.abs(z[j] - zi));
    }
  });
  return sums;
}

function directedSums(
  strips: Strips,
  z: Float64Array,
  lags: Lags,
  { ux, uy, minCos, bandwidthM }: Direction,
  root: boolean,
): Sums {
  const { x, y } = strips;
  const { edges, lookup, lookupScale, cutoffM } = lags;
  const sums = emptySums(edges.length);
  const { pairs, distance, total } = sums;
  const cutoff2 = cutoffM * cutoffM;
  eachNearRun(strips, cutoffM, (i, from, to) => {
    const xi = x[i];
    const yi = y[i];
    const zi = z[i];
    for (let j = from; j < to; j++) {
      const dx = x[j] - xi;
      const dy = y[j] - yi;
      const d2 = dx * dx + dy * dy;
      if (d2 > cutoff2 || d2 === 0) continue;
      const d = Math.sqrt(d2);
      if (Math.abs(dx * ux + dy * uy) < minCos * d || Math.abs(dx * uy - dy * ux) > bandwidthM) continue;
      let b = lookup[(d * lookupScale) | 0];
      while (d > edges[b]) b++;
      const difference = z[j] - zi;
      pairs[b]++;
      distance[b] += d;
      total[b] += root ? Math.sqrt(Math.abs(difference)) : difference * difference;
    }
  });
  return sums;
}

/** A row of multiples of the golden section, modulo 1, is spread evenly and falls in step with no grid. */
const GOLDEN = (Math.sqrt(5) - 1) / 2;

/**
 * The differences of each bin, or {@link RANKED_PAIRS} of them: the value further north less the other (further east,
 * where they lie level), so that their sign does not hang on the order of the points.
 */
function gather(
  strips: Strips,
  z: Float64Array,
  lags: Lags,
  { ux, uy, minCos, bandwidthM }: Direction,
  counts: Float64Array,
): Float64Array[] {
  const { x, y } = strips;
  const { edges, lookup, lookupScale, cutoffM } = lags;
  const cutoff2 = cutoffM * cutoffM;
  const differences = Array.from(counts, (n) => new Float64Array(Math.min(n, RANKED_PAIRS)));
  const share = counts.map((n) => (n > RANKED_PAIRS ? RANKED_PAIRS / n : 1));
  const phase = new Float64Array(edges.length);
  const held = new Uint32Array(edges.length);
  eachNearRun(strips, cutoffM, (i, from, to) => {
    const xi = x[i];
    const yi = y[i];
    const zi = z[i];
    for (let j = from; j < to; j++) {
      const dx = x[j] - xi;
      const dy = y[j] - yi;
      const d2 = dx * dx + dy * dy;
      if (d2 > cutoff2 || d2 === 0) continue;
      const d = Math.sqrt(d2);
      if (Math.abs(dx * ux + dy * uy) < minCos * d || Math.abs(dx * uy - dy * ux) > bandwidthM) continue;
      let b = lookup[(d * lookupScale) | 0];
      while (d > edges[b]) b++;
      phase[b] += GOLDEN;
      if (phase[b] >= 1) phase[b] -= 1;
      if (phase[b] >= share[b]) continue;
      // Writes past the end are dropped by a typed array: the thinning may come out a few over.
      differences[b][held[b]++] = dy > 0 || (dy === 0 && dx > 0) ? z[j] - zi : zi - z[j];
    }
  });
  return differences.map((d, b) => d.subarray(0, Math.min(held[b], d.length)));
}

function medianAbsolute(values: Float64Array): number {
  const sorted = values.map(Math.abs).sort();
  const mid = sorted.length >> 1;
  return sorted.length % 2 ? sorted[mid] : (sorted[mid - 1] + sorted[mid]) / 2;
}
