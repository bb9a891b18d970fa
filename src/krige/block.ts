import type { SampleCovariance } from './support.ts';

/** Gauss-Legendre abscissas and weights on [−½, ½], four points (Abramowitz & Stegun 1964, table 25.4). */
const GAUSS4 = [
  [-0.430568155797026, 0.173927422568727],
  [-0.169990521792428, 0.326072577431273],
  [0.169990521792428, 0.326072577431273],
  [0.430568155797026, 0.173927422568727],
] as const;

/** Points and weights that stand for a square block about the origin: offsets in metres, weights summing to 1. */
export interface BlockPoints {
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  readonly weight: Float64Array;
}

/** A square of side `sideM` as 4 × 4 Gauss points; a single point when the side is 0. */
export function blockPoints(sideM: number): BlockPoints {
  if (sideM === 0) return { dx: Float64Array.of(0), dy: Float64Array.of(0), weight: Float64Array.of(1) };
  const dx = new Float64Array(16);
  const dy = new Float64Array(16);
  const weight = new Float64Array(16);
  GAUSS4.forEach(([u, wu], i) =>
    GAUSS4.forEach(([v, wv], j) => {
      dx[4 * i + j] = u * sideM;
      dy[4 * i + j] = v * sideM;
      weight[4 * i + j] = wu * wv;
    }),
  );
  return { dx, dy, weight };
}

/** Mean covariance within a block: the variance of a block's mean about the process mean. */
export function blockVariance(ground: (h: number) => number, block: BlockPoints): number {
  const { dx, dy, weight } = block;
  let sum = 0;
  for (let i = 0; i < dx.length; i++)
    for (let j = 0; j < dx.length; j++)
      sum += weight[i] * weight[j] * ground(Math.hypot(dx[i] - dx[j], dy[i] - dy[j]));
  return sum;
}

/** Mean covariance of a sample with a block whose centre is (ox, oy) metres from the sample's. */
export function sampleToBlock(
  cov: SampleCovariance,
  ox: number,
  oy: number,
  sideM: number,
  block: BlockPoints,
): number {
  // Far from the block a 2 × 2 Gauss rule is already exact to the fourth order.
  if (sideM > 0 && ox * ox + oy * oy > 16 * sideM * sideM) {
    const g = sideM * 0.28867513459481287;
    const right = (ox + g) * (ox + g);
    const left = (ox - g) * (ox - g);
    const upper = (oy + g) * (oy + g);
    const lower = (oy - g) * (oy - g);
    return (
      0.25 *
      (cov.toPoint(Math.sqrt(right + upper)) +
        cov.toPoint(Math.sqrt(right + lower)) +
        cov.toPoint(Math.sqrt(left + upper)) +
        cov.toPoint(Math.sqrt(left + lower)))
    );
  }
  let sum = 0;
  for (let k = 0; k < block.dx.length; k++) {
    const dx = ox + block.dx[k];
    const dy = oy + block.dy[k];
    sum += block.weight[k] * cov.toPoint(Math.sqrt(dx * dx + dy * dy));
  }
  return sum;
}
