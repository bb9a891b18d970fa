import { choleskyInPlace, solveLowerInPlace } from './cholesky.ts';
import { orderedNeighbours, type OrderedNeighbours } from './neighbours.ts';
import { correlation, type ModelKind } from './structure.ts';
import { minimiseSimplex } from './minimise.ts';

/** The correlation of the samples: structured share 1 − ν with effective range a, and nugget share ν. */
export interface CorrelationParameters {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly nuggetShare: number;
}

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
 * Points up to which R is factored whole; above, Vecchia's approximation with {@link VECCHIA_NEIGHBOURS}.
 * With 50 neighbours its error varies by under one log unit over spherical parameters on `meuse`
 * (tests/variogram/vecchia.test.ts); below some 400 points the exact factor is as quick.
 */
export const EXACT_POINTS = 400;
export const VECCHIA_NEIGHBOURS = 50;

/**
 * Prepares the likelihood of values at positions.
 * Up to {@link EXACT_POINTS} points by a Cholesky factor of R; above by Vecchia 1988 (J. R. Stat. Soc. B 50:
 * 297-312): each point given its nearest earlier ones in a spread-out order, at a cost linear in n.
 * @param xy 2n metres; no two points at one place
 * @param z n values on the working scale
 */
export function prepareLikelihood(
  xy: Float64Array,
  z: Float64Array,
  { exactPoints = EXACT_POINTS, neighbours = VECCHIA_NEIGHBOURS } = {},
): Likelihood {
  return z.length <= exactPoints
    ? exactLikelihood(xy, z)
    : vecchiaLikelihood(xy, z, orderedNeighbours(xy, neighbours));
}

function distance(xy: Float64Array, p: number, q: number): number {
  const dx = xy[2 * p] - xy[2 * q];
  const dy = xy[2 * p + 1] - xy[2 * q + 1];
  return Math.sqrt(dx * dx + dy * dy);
}

function parts(n: number, logDet: number, oneRone: number, oneRz: number, zRz: number): LikelihoodParts {
  const mean = oneRz / oneRone;
  return { n, logDet, oneRone, mean, residualSS: Math.max(zRz - mean * oneRz, 1e-300) };
}

function exactLikelihood(xy: Float64Array, z: Float64Array): Likelihood {
  const n = z.length;
  const apart = new Float64Array(n * n);
  for (let i = 0; i < n; i++) for (let j = 0; j < i; j++) apart[i * n + j] = distance(xy, i, j);
  const r = new Float64Array(n * n);
  const u1 = new Float64Array(n);
  const uz = new Float64Array(n);
  // Centring first keeps zᵀR⁻¹z − μ̂·1ᵀR⁻¹z from cancelling.
  const shift = z.reduce((s, v) => s + v, 0) / n;
  return ({ kind, effectiveRangeM, nuggetShare }) => {
    const structured = 1 - nuggetShare;
    for (let i = 0; i < n; i++) {
      for (let j = 0; j < i; j++)
        r[i * n + j] = structured * correlation(kind, effectiveRangeM, apart[i * n + j]);
      r[i * n + i] = 1;
      u1[i] = 1;
      uz[i] = z[i] - shift;
    }
    if (!choleskyInPlace(r, n)) return undefined;
    solveLowerInPlace(r, n, u1);
    solveLowerInPlace(r, n, uz);
    let [logDet, oneRone, oneRz, zRz] = [0, 0, 0, 0];
    for (let i = 0; i < n; i++) {
      logDet += 2 * Math.log(r[i * n + i]);
      oneRone += u1[i] * u1[i];
      oneRz += u1[i] * uz[i];
      zRz += uz[i] * uz[i];
    }
    const p = parts(n, logDet, oneRone, oneRz, zRz);
    return { ...p, mean: p.mean + shift };
  };
}

function vecchiaLikelihood(xy: Float64Array, z: Float64Array, ordered: OrderedNeighbours): Likelihood {
  const n = z.length;
  const { order, neighbours, starts } = ordered;
  let most = 0;
  for (let i = 0; i < n; i++) most = Math.max(most, starts[i + 1] - starts[i]);
  const r = new Float64Array(most * most);
  const c = new Float64Array(most);
  const one = new Float64Array(most);
  const v = new Float64Array(most);
  const shift = z.reduce((s, x) => s + x, 0) / n;
  return ({ kind, effectiveRangeM, nuggetShare }) => {
    const structured = 1 - nuggetShare;
    let [logDet, oneRone, oneRz, zRz] = [0, 0, 0, 0];
    for (let i = 0; i < n; i++) {
      const p = order[i];
      const from = starts[i];
      const m = starts[i + 1] - from;
      for (let a = 0; a < m; a++) {
        const qa = neighbours[from + a];
        for (let b = 0; b < a; b++) {
          const qb = neighbours[from + b];
          const h = distance(xy, qa, qb);
          r[a * m + b] = structured * correlation(kind, effectiveRangeM, h);
        }
        r[a * m + a] = 1;
        const h = distance(xy, qa, p);
        c[a] = structured * correlation(kind, effectiveRangeM, h);
        one[a] = 1;
        v[a] = z[qa] - shift;
      }
      if (!choleskyInPlace(r, m)) return undefined;
      solveLowerInPlace(r, m, c);
      solveLowerInPlace(r, m, one);
      solveLowerInPlace(r, m, v);
      let [left, e1, ez] = [1, 1, z[p] - shift];
      for (let a = 0; a < m; a++) {
        left -= c[a] * c[a];
        e1 -= c[a] * one[a];
        ez -= c[a] * v[a];
      }
      if (!(left > 0)) return undefined;
      logDet += Math.log(left);
      oneRone += (e1 * e1) / left;
      oneRz += (e1 * ez) / left;
      zRz += (ez * ez) / left;
    }
    const p = parts(n, logDet, oneRone, oneRz, zRz);
    return { ...p, mean: p.mean + shift };
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
