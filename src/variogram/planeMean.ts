import type { LikelihoodParts } from './likelihood.ts';
import type { ReducedCorrelation, ReducedScratch, TargetPrediction } from './reducedCorrelation.ts';
import { factorTridiagonal } from './tridiagonal.ts';

/** Rise of a plane per metre east and per metre north, in the unit of the working scale. */
export interface Slope {
  readonly eastPerM: number;
  readonly northPerM: number;
}

/** Second moments of places about a centre, m²: east-east, east-north, north-north. */
export type SecondMoments = readonly [ee: number, en: number, nn: number];

/** Mean square of slope · offset over places whose offsets have these moments. */
export const planeVariance = ([ee, en, nn]: SecondMoments, { eastPerM, northPerM }: Slope): number =>
  ee * eastPerM * eastPerM + 2 * en * eastPerM * northPerM + nn * northPerM * northPerM;

/** Mean of places. @param xy 2n metres, n ≥ 1 */
export function middleOf(xy: Float64Array): readonly [x: number, y: number] {
  let [x, y] = [0, 0];
  const n = xy.length / 2;
  for (let i = 0; i < n; i++) {
    x += xy[2 * i];
    y += xy[2 * i + 1];
  }
  return [x / n, y / n];
}

/** Second moments of places about their mean. @param xy 2n metres, n ≥ 1 */
export function spreadOf(xy: Float64Array): SecondMoments {
  const [mx, my] = middleOf(xy);
  const n = xy.length / 2;
  let [ee, en, nn] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    const [dx, dy] = [xy[2 * i] - mx, xy[2 * i + 1] - my];
    ee += dx * dx;
    en += dx * dy;
    nn += dy * dy;
  }
  return [ee / n, en / n, nn / n];
}

/** Two orthonormal columns, both orthogonal to a constant, that span every plane over the places together with it. */
export interface PlaneBasis {
  readonly columns: readonly [Float64Array, Float64Array];
  /** The columns' values at any place, metres. */
  readonly at: (x: number, y: number) => readonly [number, number];
  /** The slope of a plane given by its two coefficients. */
  readonly slopeOf: (first: number, second: number) => Slope;
}

/** Places whose spread across their line is less than this of that along it tell no plane. */
const ON_A_LINE = 1e-6;

/** @returns undefined where all places lie on one line */
export function planeBasis(xy: Float64Array): PlaneBasis | undefined {
  const n = xy.length / 2;
  const [mx, my] = middleOf(xy);
  const [ee, en, nn] = spreadOf(xy);
  const across = nn - (en * en) / ee;
  if (!(ee > ON_A_LINE * nn) || !(across > ON_A_LINE * (ee + nn))) return undefined;
  const shear = en / ee;
  const [first, second] = [Math.sqrt(n * ee), Math.sqrt(n * across)];
  const at = (x: number, y: number): readonly [number, number] => [
    (x - mx) / first,
    (y - my - shear * (x - mx)) / second,
  ];
  const columns: readonly [Float64Array, Float64Array] = [new Float64Array(n), new Float64Array(n)];
  for (let i = 0; i < n; i++) [columns[0][i], columns[1][i]] = at(xy[2 * i], xy[2 * i + 1]);
  return {
    columns,
    at,
    slopeOf: (a, b) => ({ eastPerM: a / first - (shear * b) / second, northPerM: b / second }),
  };
}

/**
 * The likelihood's parts with a plane for the mean. As {@link LikelihoodParts} they are those of the n − 2 error contrasts that
 * are free of the plane's slopes (Harville 1974, Biometrika 61: 383-385): ln|KᵀRK| = ln|R| + ln|QᵀR⁻¹Q| for orthonormal columns
 * Q of the slopes, and `oneRone` is the precision of the mean with the slopes unknown. So `restrictedLogLikelihood` of them
 * is the restricted likelihood of the plane.
 */
export interface PlaneParts extends LikelihoodParts {
  /** ln|R| alone, for the full likelihood. */
  readonly logDetR: number;
  /** Generalised least-squares coefficients of the two columns; `mean` is the plane's where both columns are zero. */
  readonly beta: readonly [number, number];
  /** Lower Cholesky factor, row by row, of XᵀR⁻¹X with X the two columns and then the constant. */
  readonly factor: readonly [number, number, number, number, number, number];
  readonly target?: TargetPrediction;
}

/**
 * The likelihood's parts of one variable at a nugget share, its mean a plane, in O(n). The reduction carries the
 * columns of {@link planeBasis} as two more of its variables.
 * The target is predicted by universal kriging: mean s·cᵀR⁻¹z + dᵀβ̂ and variance over the sill
 * s·c̄ − s²·cᵀR⁻¹c + dᵀ(XᵀR⁻¹X)⁻¹d, with d = x₀ − s·XᵀR⁻¹c and s the structured share (Cressie 1993, sec. 3.4).
 * @param columns where among the reduction's variables the plane's columns are
 * @param targetAt the columns' values at the target, where the reduction carries one
 * @returns undefined when the correlation is not positive definite
 */
export function planeParts(
  reduced: ReducedCorrelation,
  variable: number,
  columns: readonly [number, number],
  nuggetShare: number,
  { lower, pivots }: Pick<ReducedScratch, 'lower' | 'pivots'>,
  targetAt?: readonly [number, number],
): PlaneParts | undefined {
  const { t, ones, values, shifts, target } = reduced;
  const { n } = t;
  const structured = 1 - nuggetShare;
  const logDetR = factorTridiagonal(t, structured, nuggetShare, lower, pivots);
  if (Number.isNaN(logDetR)) return undefined;
  const [first, second] = [values[columns[0]], values[columns[1]]];
  const z = values[variable];
  const c = targetAt && target?.withSamples;
  // Solved and summed on the way: what a row leaves for the next is one number of each.
  let [ux, uy, u1, uz, uc] = [0, 0, 0, 0, 0];
  let [xx, xy, yy, x1, y1, one, xz, yz, z1, zz] = [0, 0, 0, 0, 0, 0, 0, 0, 0, 0];
  let [cc, cx, cy, c1, cz] = [0, 0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    const l = lower[i];
    const w = 1 / pivots[i];
    ux = first[i] - l * ux;
    uy = second[i] - l * uy;
    u1 = ones[i] - l * u1;
    uz = z[i] - l * uz;
    const [wx, wy, w1] = [ux * w, uy * w, u1 * w];
    xx += ux * wx;
    xy += uy * wx;
    yy += uy * wy;
    x1 += u1 * wx;
    y1 += u1 * wy;
    one += u1 * w1;
    xz += uz * wx;
    yz += uz * wy;
    z1 += uz * w1;
    zz += uz * uz * w;
    if (!c) continue;
    uc = c[i] - l * uc;
    cc += uc * uc * w;
    cx += uc * wx;
    cy += uc * wy;
    c1 += uc * w1;
    cz += uc * uz * w;
  }
  const l00 = Math.sqrt(xx);
  const l10 = xy / l00;
  const l11 = Math.sqrt(yy - l10 * l10);
  const l20 = x1 / l00;
  const l21 = (y1 - l20 * l10) / l11;
  const l22 = Math.sqrt(one - l20 * l20 - l21 * l21);
  if (!(l00 > 0 && l11 > 0 && l22 > 0)) return undefined;
  const w0 = xz / l00;
  const w1 = (yz - l10 * w0) / l11;
  const w2 = (z1 - l20 * w0 - l21 * w1) / l22;
  const mean = w2 / l22;
  const b1 = (w1 - l21 * mean) / l11;
  const b0 = (w0 - l10 * b1 - l20 * mean) / l00;
  const parts = {
    n: n - 2,
    logDet: logDetR + 2 * Math.log(l00 * l11),
    logDetR,
    oneRone: l22 * l22,
    mean: mean + shifts[variable],
    residualSS: Math.max(zz - w0 * w0 - w1 * w1 - w2 * w2, 1e-300),
    beta: [b0, b1] as const,
    factor: [l00, l10, l11, l20, l21, l22] as const,
  };
  if (!target || !targetAt) return parts;
  const [dx, dy, d1] = [targetAt[0] - structured * cx, targetAt[1] - structured * cy, 1 - structured * c1];
  const e0 = dx / l00;
  const e1 = (dy - l10 * e0) / l11;
  const e2 = (d1 - l20 * e0 - l21 * e1) / l22;
  return {
    ...parts,
    target: {
      mean: structured * cz + dx * b0 + dy * b1 + d1 * mean + shifts[variable],
      varianceOverSill: Math.max(
        0,
        structured * target.own - structured * structured * cc + e0 * e0 + e1 * e1 + e2 * e2,
      ),
    },
  };
}

/** A plane drawn from what the values leave open, for a given sill: mean where both columns are zero, and both coefficients. */
export function drawPlane(
  { mean, beta, factor: [l00, l10, l11, l20, l21, l22] }: PlaneParts,
  sill: number,
  normal: () => number,
): { readonly mean: number; readonly beta: readonly [number, number] } {
  const sd = Math.sqrt(sill);
  const e2 = (sd * normal()) / l22;
  const e1 = (sd * normal() - l21 * e2) / l11;
  const e0 = (sd * normal() - l10 * e1 - l20 * e2) / l00;
  return { mean: mean + e2, beta: [beta[0] + e0, beta[1] + e1] };
}
