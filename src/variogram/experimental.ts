/**
 * Experimental variograms. Classical: Matheron 1962, half the mean squared difference. Cressie-Hawkins 1980:
 * fourth power of the mean root difference with their bias term. Dowd 1984: 2γ is 2.198 times the squared median
 * absolute difference. Bins are (k·width, (k+1)·width], as gstat's.
 */
export type Estimator = 'classical' | 'cressieHawkins' | 'dowd';

export interface VariogramBin {
  readonly pairs: number;
  /** Mean distance of the bin's pairs, m. */
  readonly distanceM: number;
  readonly gamma: number;
}

export interface ExperimentalOptions {
  /** Greatest distance, m. Default: a third of the bounding box's diagonal (gstat's default). */
  readonly cutoffM?: number;
  /** Bin width, m. Default: cutoff / 15. */
  readonly widthM?: number;
  readonly estimator?: Estimator;
  /** Direction in degrees clockwise from north, with its half-tolerance in degrees (22.5 by default). */
  readonly directionDeg?: number;
  readonly toleranceDeg?: number;
}

/** A third of the diagonal of the box around the points, m. */
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
 * Experimental variogram of values at positions.
 * @param xy x0, y0, x1, y1, … in metres, length 2n
 * @param z n values on the working scale
 * @returns the bins that have pairs, by distance
 */
export function experimentalVariogram(
  xy: Float64Array,
  z: Float64Array,
  options: ExperimentalOptions = {},
): VariogramBin[] {
  const { estimator = 'classical', directionDeg, toleranceDeg = 22.5 } = options;
  const cutoffM = options.cutoffM ?? defaultCutoffM(xy);
  const widthM = options.widthM ?? cutoffM / 15;
  if (!(cutoffM > 0) || !(widthM > 0)) return [];
  const bins = Math.ceil(cutoffM / widthM - 1e-9);
  const pairs = new Float64Array(bins);
  const distance = new Float64Array(bins);
  const sum = new Float64Array(bins);
  const differences: number[][] | undefined =
    estimator === 'dowd' ? Array.from({ length: bins }, () => [] as number[]) : undefined;
  // A pair counts when its line, either way round, is within the tolerance of the direction.
  const alpha = ((directionDeg ?? 0) * Math.PI) / 180;
  const [ux, uy] = [Math.sin(alpha), Math.cos(alpha)];
  const minCos = directionDeg === undefined ? -1 : Math.cos((toleranceDeg * Math.PI) / 180) - 1e-12;
  const n = z.length;
  const cutoff2 = cutoffM * cutoffM;
  for (let i = 1; i < n; i++) {
    const [xi, yi, zi] = [xy[2 * i], xy[2 * i + 1], z[i]];
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * j] - xi;
      const dy = xy[2 * j + 1] - yi;
      const d2 = dx * dx + dy * dy;
      if (d2 > cutoff2 || d2 === 0) continue;
      const d = Math.sqrt(d2);
      if (minCos > -1 && Math.abs(dx * ux + dy * uy) < minCos * d) continue;
      const b = Math.min(bins - 1, Math.ceil(d / widthM) - 1);
      const difference = z[j] - zi;
      pairs[b]++;
      distance[b] += d;
      if (estimator === 'classical') sum[b] += difference * difference;
      else if (estimator === 'cressieHawkins') sum[b] += Math.sqrt(Math.abs(difference));
      else differences![b].push(Math.abs(difference));
    }
  }
  const out: VariogramBin[] = [];
  for (let b = 0; b < bins; b++) {
    const np = pairs[b];
    if (np === 0) continue;
    let gamma: number;
    if (estimator === 'classical') gamma = sum[b] / (2 * np);
    else if (estimator === 'cressieHawkins') gamma = Math.pow(sum[b] / np, 4) / (2 * (0.457 + 0.494 / np));
    else gamma = 1.099 * Math.pow(median(differences![b]), 2);
    out.push({ pairs: np, distanceM: distance[b] / np, gamma });
  }
  return out;
}

function median(values: number[]): number {
  const sorted = values.sort((a, b) => a - b);
  const mid = sorted.length >> 1;
  return sorted.length % 2 ? sorted[mid] : (sorted[mid - 1] + sorted[mid]) / 2;
}
