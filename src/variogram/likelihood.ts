import type { CorrelationParameters } from './correlationParameters.ts';
import { minimiseSimplex } from './minimise.ts';
import type { ModelKind } from './structure.ts';
import { prepareGram, type GramOptions } from './whitenedGram.ts';

export type { CorrelationParameters } from './correlationParameters.ts';
export { EXACT_POINTS, VECCHIA_NEIGHBOURS } from './whitenedGram.ts';

/**
 * What the Gaussian likelihood with unknown constant mean and variance needs of the correlation matrix R:
 * its log determinant, 1ᵀR⁻¹1, the generalised least-squares mean and the residual sum of squares
 * S = (z − μ̂)ᵀR⁻¹(z − μ̂). With these the variance is profiled or integrated without touching R again.
 */
export interface LikelihoodParts {
  readonly n: number;
  readonly logDet: number;
  readonly oneRone: number;
  readonly mean: number;
  readonly residualSS: number;
}

/** A reusable likelihood of one set of points: `(parameters) => parts`, or undefined where R is not positive definite. */
export type Likelihood = (parameters: CorrelationParameters) => LikelihoodParts | undefined;

/**
 * Prepares the likelihood of values at positions, with a constant mean; `prepareTrendLikelihood` takes any linear one.
 * Up to `exactPoints` points by a Cholesky factor of R; above by Vecchia 1988 (J. R. Stat. Soc. B 50: 297-312).
 * @param xy 2n metres; no two points at one place
 * @param z n values on the working scale
 */
export function prepareLikelihood(xy: Float64Array, z: Float64Array, options: GramOptions = {}): Likelihood {
  const n = z.length;
  // Centring first keeps zᵀR⁻¹z − μ̂·1ᵀR⁻¹z from cancelling.
  const shift = z.reduce((s, v) => s + v, 0) / n;
  const gramOf = prepareGram(xy, [new Float64Array(n).fill(1), z.map((v) => v - shift)], options);
  return (parameters) => {
    const whitened = gramOf(parameters);
    if (!whitened) return undefined;
    const [oneRone, oneRz, , zRz] = whitened.gram;
    const mean = oneRz / oneRone;
    return {
      n,
      logDet: whitened.logDet,
      oneRone,
      mean: mean + shift,
      residualSS: Math.max(zRz - mean * oneRz, 1e-300),
    };
  };
}

/**
 * Restricted log-likelihood with variance σ² given, mean integrated out (Patterson & Thompson 1971):
 * −½[(n−1)·ln(2πσ²) + ln|R| + ln(1ᵀR⁻¹1) + S/σ²].
 */
export function restrictedLogLikelihood(p: LikelihoodParts, variance: number): number {
  return (
    -0.5 *
    ((p.n - 1) * Math.log(2 * Math.PI * variance) + p.logDet + Math.log(p.oneRone) + p.residualSS / variance)
  );
}

/** Full log-likelihood at the generalised least-squares mean: −½[n·ln(2πσ²) + ln|R| + S/σ²]. */
export function logLikelihood(p: LikelihoodParts, variance: number): number {
  return -0.5 * (p.n * Math.log(2 * Math.PI * variance) + p.logDet + p.residualSS / variance);
}

export interface LikelihoodFit extends CorrelationParameters {
  readonly sill: number;
  readonly mean: number;
  readonly logLikelihood: number;
}

export interface FitOptions {
  /** Restricted (REML) by default; full likelihood otherwise. */
  readonly restricted?: boolean;
  /** A cheaper likelihood of the same points to look for peaks with. */
  readonly scout?: Likelihood;
}

/** Nugget logits and number of ranges that peaks are looked for at. */
const SCOUT_LOGITS = [-4, -2.2, -1.1, -0.3, 0.7];
const SCOUT_RANGES = 41;
const PEAKS_REFINED = 5;

/**
 * Maximises the (restricted) likelihood over effective range and nugget share, the sill profiled out
 * (σ̂² = S/(n−1) restricted, S/n full). A spherical likelihood has many peaks along the range (Mardia & Watkins 1989),
 * so ranges are scanned first and the best five peaks refined by simplex.
 * @param rangesM least and greatest effective range to consider, m
 */
export function fitLikelihood(
  likelihood: Likelihood,
  kind: ModelKind,
  rangesM: readonly [number, number],
  { restricted = true, scout = likelihood }: FitOptions = {},
): LikelihoodFit | undefined {
  const [low, high] = [Math.log(rangesM[0]), Math.log(rangesM[1])];
  const profile = (by: Likelihood, logRange: number, logitNugget: number) => {
    const p = by({
      kind,
      effectiveRangeM: Math.exp(logRange),
      nuggetShare: 1 / (1 + Math.exp(-logitNugget)),
    });
    if (!p) return undefined;
    const sill = p.residualSS / (restricted ? p.n - 1 : p.n);
    return { p, sill, value: restricted ? restrictedLogLikelihood(p, sill) : logLikelihood(p, sill) };
  };
  const objective = ([a, b]: readonly number[]) =>
    a < low || a > high || Math.abs(b) > 12 ? Infinity : -(profile(likelihood, a, b)?.value ?? -Infinity);
  const row = Array.from({ length: SCOUT_RANGES }, (_, i) => {
    const a = low + ((high - low) * i) / (SCOUT_RANGES - 1);
    return SCOUT_LOGITS.map((b) => ({
      x: [a, b],
      value: -(profile(scout, a, b)?.value ?? -Infinity),
    })).reduce((p, q) => (q.value < p.value ? q : p));
  });
  const peaks = row
    .filter(
      (p, i) => p.value <= (row[i - 1]?.value ?? Infinity) && p.value <= (row[i + 1]?.value ?? Infinity),
    )
    .sort((p, q) => p.value - q.value)
    .slice(0, PEAKS_REFINED);
  const inwards = (a: number) => (a > (low + high) / 2 ? -0.02 : 0.02);
  const step = (high - low) / (SCOUT_RANGES - 1);
  const found = peaks
    .map(({ x: [a, b] }) => {
      // On a lattice of points the likelihood has cusps a few per cent of the range wide: look between the scouts.
      const close = Array.from({ length: 13 }, (_, i) => [a + step * (i / 6 - 1), b]);
      return close.map((x) => ({ x, value: objective(x) })).reduce((p, q) => (q.value < p.value ? q : p));
    })
    .map(({ x }) => minimiseSimplex(objective, x, [inwards(x[0]), x[1] > 0 ? -0.4 : 0.4]))
    .reduce((p, q) => (q.value < p.value ? q : p));
  const best = profile(likelihood, found.x[0], found.x[1]);
  if (!best) return undefined;
  return {
    kind,
    effectiveRangeM: Math.exp(found.x[0]),
    nuggetShare: 1 / (1 + Math.exp(-found.x[1])),
    sill: best.sill,
    mean: best.p.mean,
    logLikelihood: best.value,
  };
}
