import type { Anisotropy } from './anisotropy.ts';
import type { VariogramBin } from './experimental.ts';
import { minimiseOnInterval, minimiseSimplex } from './minimise.ts';
import {
  correlation,
  semivariance,
  type ModelKind,
  type NestedVariogram,
  type Shape,
  type VariogramModel,
} from './structure.ts';

/** N(h)/h² (gstat's default, `fit.method = 7`), N(h) (1), or every lag alike (6). */
export type LagWeights = 'pairsPerDistanceSquared' | 'pairs' | 'equal';

export interface LeastSquaresOptions {
  readonly weights?: LagWeights;
  /** ν of the Matérn model: a number (1.5 by default), or 'free' to have it fitted within {@link FREE_SMOOTHNESS}. */
  readonly smoothness?: number | 'free';
  /** Least and greatest effective range, m. Default: half the least lag to ten times the greatest. */
  readonly rangesM?: readonly [number, number];
}

interface Fitted {
  /** Σ w · (γ̂ − γ)², with the weights asked for. */
  readonly weightedSse: number;
  /** How many numbers were fitted. */
  readonly parameters: number;
}

export interface LeastSquaresFit extends VariogramModel, Fitted {}
export interface NestedFit extends NestedVariogram, Fitted {}

/**
 * Limits of a fitted smoothness. Lags tell little of it (Zhang 2004, J. Am. Stat. Assoc. 99: 250-261, on what a single
 * field can tell), so that wider ones would only let it run off; judgement of this project.
 */
export const FREE_SMOOTHNESS = [0.2, 5] as const;

/**
 * Weighted least squares fit of a nugget and one structure.
 * For a given range the model is linear in nugget and partial sill, which are solved exactly with both kept
 * at or above zero; the range is then searched alone (variable projection, Golub & Pereyra 1973), and smoothness with it
 * if that is free.
 * @returns undefined with fewer than three bins, or four if smoothness is free
 */
export function fitLeastSquares(
  bins: readonly VariogramBin[],
  kind: ModelKind,
  options: LeastSquaresOptions = {},
): LeastSquaresFit | undefined {
  if (bins.length < 3) return undefined;
  const { smoothness } = options;
  if (kind === 'matern' && smoothness === 'free') return fitSmoothness(bins, options);
  const rows = rowsOf(bins, options.weights);
  const [low, high] = logRanges(bins, options);
  const given = kind === 'matern' && typeof smoothness === 'number' ? { smoothness } : {};
  const shape = (logRange: number): Shape => ({ kind, effectiveRangeM: Math.exp(logRange), ...given });
  const best = minimiseOnInterval((u) => solve(rows, [shape(u)]).sse, low, high, 120);
  return oneStructure(rows, shape(best.x), 3);
}

/** The nugget alone: the weighted mean of the bins. @returns undefined without bins */
export function fitPureNugget(
  bins: readonly VariogramBin[],
  { weights }: LeastSquaresOptions = {},
): LeastSquaresFit | undefined {
  if (bins.length === 0) return undefined;
  const { coefficients, sse } = solve(rowsOf(bins, weights), []);
  const effectiveRangeM = Math.max(...bins.map((b) => b.distanceM));
  return {
    kind: 'spherical',
    effectiveRangeM,
    nugget: coefficients[0],
    partialSill: 0,
    weightedSse: sse,
    parameters: 1,
  };
}

/** Scouts along the log range in two dimensions, and how many of the dips they find are gone into. */
const SCOUT_RANGES = 32;
const DIPS_REFINED = 4;

/**
 * Weighted least squares fit of a nugget and two structures, the first the shorter: linear part as in
 * {@link fitLeastSquares}, the two ranges searched by a scan and downhill simplices from its best dips. A structure that
 * does not help comes out with partialSill 0.
 * @returns undefined with fewer than five bins
 */
export function fitNested(
  bins: readonly VariogramBin[],
  kinds: readonly [ModelKind, ModelKind],
  options: LeastSquaresOptions = {},
): NestedFit | undefined {
  if (bins.length < 5) return undefined;
  const rows = rowsOf(bins, options.weights);
  const [low, high] = logRanges(bins, options);
  const smoothness = typeof options.smoothness === 'number' ? options.smoothness : undefined;
  const shapes = (u: readonly number[]): Shape[] =>
    kinds.map((kind, i) => ({
      kind,
      effectiveRangeM: Math.exp(u[i]),
      ...(kind === 'matern' && smoothness !== undefined && { smoothness }),
    }));
  const objective = relative(rows, (u) => (u[0] < low || u[1] > high || u[0] > u[1] ? undefined : shapes(u)));
  const at = (i: number) => low + ((high - low) * i) / (SCOUT_RANGES - 1);
  const starts: number[][] = [];
  for (let i = 0; i < SCOUT_RANGES; i++) for (let j = i; j < SCOUT_RANGES; j++) starts.push([at(i), at(j)]);
  // Each kind alone, so that two structures never do worse than one.
  kinds.forEach((kind, i) => {
    const one = fitLeastSquares(bins, kind, { ...options, smoothness });
    if (one) starts.push(i ? [low, Math.log(one.effectiveRangeM)] : [Math.log(one.effectiveRangeM), high]);
  });
  const step = (high - low) / (SCOUT_RANGES - 1);
  const found = minimiseFromBest(objective, starts, [step / 2, step / 2], step);
  const best = shapes(found);
  const { coefficients, sse } = solve(rows, best);
  return {
    nugget: coefficients[0],
    structures: best.map((s, i) => ({ ...s, partialSill: coefficients[i + 1] })),
    weightedSse: sse,
    parameters: 5,
  };
}

/** A bin of a directional variogram. */
export interface DirectionalBin extends VariogramBin {
  /** Clockwise from north. */
  readonly directionDeg: number;
}

/**
 * Weighted least squares fit of a nugget and one geometrically anisotropic structure to the bins of several directions;
 * range, ratio and direction are searched by a scan and downhill simplices.
 * @returns undefined with fewer than five bins or fewer than three directions
 */
export function fitAnisotropic(
  bins: readonly DirectionalBin[],
  kind: ModelKind,
  options: LeastSquaresOptions = {},
): (LeastSquaresFit & { readonly anisotropy: Anisotropy }) | undefined {
  if (bins.length < 5 || new Set(bins.map((b) => b.directionDeg)).size < 3) return undefined;
  const rows = rowsOf(bins, options.weights);
  const [low, high] = logRanges(bins, options);
  const smoothness = typeof options.smoothness === 'number' ? options.smoothness : undefined;
  const given = kind === 'matern' && smoothness !== undefined ? { smoothness } : {};
  const at = ([logRange, logRatio, angle]: readonly number[]) => ({
    shape: { kind, effectiveRangeM: Math.exp(logRange), ...given },
    // How many metres along the direction of greatest range a metre in each bin's direction is worth.
    rows: {
      ...rows,
      h: rows.h.map((h, i) => {
        const off = (bins[i].directionDeg * Math.PI) / 180 - angle;
        return h * Math.hypot(Math.cos(off), Math.sin(off) / Math.exp(logRatio));
      }),
    },
  });
  const flat = solve(rows, []).sse || 1;
  const objective = (u: readonly number[]): number => {
    if (u[0] < low || u[0] > high || u[1] > 0 || u[1] < Math.log(0.05)) return Infinity;
    const { shape, rows: seen } = at(u);
    return solve(seen, [shape]).sse / flat;
  };
  const starts: number[][] = [];
  for (let d = 0; d < 12; d++)
    for (const ratio of [1, 0.75, 0.55, 0.4, 0.25])
      for (let i = 0; i < 24; i++)
        starts.push([low + ((high - low) * i) / 23, Math.log(ratio), (d * Math.PI) / 12]);
  const found = minimiseFromBest(objective, starts, [0.1, -0.1, 0.1], 0.3);
  const { shape, rows: seen } = at(found);
  const directionDeg = ((((found[2] * 180) / Math.PI) % 180) + 180) % 180;
  return { ...oneStructure(seen, shape, 5), anisotropy: { ratio: Math.exp(found[1]), directionDeg } };
}

/** Weighted sum of squares of a model against bins: Σ w · (γ̂ − γ)². */
export function weightedSse(
  bins: readonly VariogramBin[],
  model: VariogramModel | NestedVariogram,
  weights?: LagWeights,
): number {
  const { h, gamma, w } = rowsOf(bins, weights);
  let sse = 0;
  for (let i = 0; i < h.length; i++) sse += w[i] * (gamma[i] - semivariance(model, h[i])) ** 2;
  return sse;
}

/** The Matérn model with its smoothness fitted too; never worse than with ν = 1/2, 3/2 or 5/2. */
function fitSmoothness(
  bins: readonly VariogramBin[],
  options: LeastSquaresOptions,
): LeastSquaresFit | undefined {
  if (bins.length < 4) return undefined;
  const rows = rowsOf(bins, options.weights);
  const [low, high] = logRanges(bins, options);
  const [least, most] = FREE_SMOOTHNESS.map(Math.log);
  const shape = ([logRange, logNu]: readonly number[]): Shape => ({
    kind: 'matern',
    effectiveRangeM: Math.exp(logRange),
    smoothness: Math.exp(logNu),
  });
  const objective = relative(rows, (u) =>
    u[0] < low || u[0] > high || u[1] < least || u[1] > most ? undefined : [shape(u)],
  );
  const starts: number[][] = [];
  for (let k = 0; k < 6; k++)
    for (let i = 0; i < 24; i++)
      starts.push([low + ((high - low) * i) / 23, least + ((most - least) * k) / 5]);
  const closed = [0.5, 1.5, 2.5].map((smoothness) =>
    fitLeastSquares(bins, 'matern', { ...options, smoothness })!,
  );
  for (const c of closed) starts.push([Math.log(c.effectiveRangeM), Math.log(c.smoothness!)]);
  const found = minimiseFromBest(objective, starts, [0.2, 0.2], 0.25);
  const free = oneStructure(rows, shape(found), 4);
  const best = closed.reduce((a, b) => (b.weightedSse < a.weightedSse ? b : a));
  return best.weightedSse < free.weightedSse ? { ...best, parameters: 4 } : free;
}

/** Bins as columns: distance, semivariance, weight. */
interface Rows {
  readonly h: Float64Array;
  readonly gamma: Float64Array;
  readonly w: Float64Array;
}

function rowsOf(bins: readonly VariogramBin[], weights: LagWeights = 'pairsPerDistanceSquared'): Rows {
  return {
    h: Float64Array.from(bins, (b) => b.distanceM),
    gamma: Float64Array.from(bins, (b) => b.gamma),
    w: Float64Array.from(bins, (b) =>
      weights === 'equal' ? 1 : weights === 'pairs' ? b.pairs : b.pairs / (b.distanceM * b.distanceM),
    ),
  };
}

function logRanges(bins: readonly VariogramBin[], { rangesM }: LeastSquaresOptions): [number, number] {
  if (rangesM) return [Math.log(rangesM[0]), Math.log(rangesM[1])];
  const distances = bins.map((b) => b.distanceM);
  return [Math.log(Math.min(...distances) / 2), Math.log(Math.max(...distances) * 10)];
}

function oneStructure(rows: Rows, shape: Shape, parameters: number): LeastSquaresFit {
  const { coefficients, sse } = solve(rows, [shape]);
  return { ...shape, nugget: coefficients[0], partialSill: coefficients[1], weightedSse: sse, parameters };
}

/** The sum of squares as a share of the pure nugget's, so that a search's tolerance means the same for any data. */
function relative(
  rows: Rows,
  shapes: (u: readonly number[]) => readonly Shape[] | undefined,
): (u: readonly number[]) => number {
  const flat = solve(rows, []).sse || 1;
  return (u) => {
    const at = shapes(u);
    return at ? solve(rows, at).sse / flat : Infinity;
  };
}

/** Downhill simplices from the best starts that lie at least `apart` from a better one; the best end. */
function minimiseFromBest(
  objective: (u: readonly number[]) => number,
  starts: readonly (readonly number[])[],
  steps: readonly number[],
  apart: number,
): readonly number[] {
  const ranked = starts.map((u) => ({ u, value: objective(u) })).sort((p, q) => p.value - q.value);
  const chosen: (typeof ranked)[number][] = [];
  for (const s of ranked) {
    if (chosen.length === DIPS_REFINED) break;
    if (chosen.every((c) => Math.hypot(...c.u.map((v, i) => v - s.u[i])) > 2 * apart)) chosen.push(s);
  }
  const tight = { tolerance: 1e-14, maxEvaluations: 800 };
  const ends = chosen.map((s) => {
    const first = minimiseSimplex(objective, s.u, steps, tight);
    // Once more from where it ended: a simplex that has gone flat in a valley gets up again.
    const again = minimiseSimplex(
      objective,
      first.x,
      steps.map((v) => -v / 4),
      tight,
    );
    return again.value < first.value ? again : first;
  });
  return ends.reduce((p, q) => (q.value < p.value ? q : p)).x;
}

/** Which of nugget (bit 0) and structures (bits 1, 2) may be above zero, by number of structures; fewest first. */
const SUBSETS = [[1], [2, 1, 3], [4, 2, 1, 6, 5, 3, 7]] as const;

/**
 * Nugget and partial sills, all at or above zero, that fit best for given shapes (at most two): every subset that could
 * be above zero is solved by the normal equations and the best with no negative part kept, which with so few is exact.
 */
function solve({ h, gamma, w }: Rows, shapes: readonly Shape[]): { coefficients: number[]; sse: number } {
  const n = h.length;
  const columns = [
    new Float64Array(n).fill(1),
    ...shapes.map((s) => h.map((d) => 1 - correlation(s.kind, s.effectiveRangeM, d, s.smoothness))),
  ];
  const size = columns.length;
  const gram = columns.map((a) => columns.map((b) => weightedProduct(w, a, b)));
  const right = columns.map((a) => weightedProduct(w, a, gamma));
  let best = { coefficients: new Array<number>(size).fill(0), sse: Infinity };
  for (const subset of SUBSETS[shapes.length]) {
    const used = columns.map((_, i) => i).filter((i) => (subset >> i) & 1);
    const solved = normalEquations(
      used.map((i) => used.map((j) => gram[i][j])),
      used.map((i) => right[i]),
    );
    if (!solved) continue;
    // A lone part is set to zero where it would be negative; others leave that to the smaller subsets.
    if (used.length > 1 && solved.some((c) => c < 0)) continue;
    const coefficients = new Array<number>(size).fill(0);
    used.forEach((i, k) => (coefficients[i] = Math.max(0, solved[k])));
    let sse = 0;
    for (let r = 0; r < n; r++) {
      let miss = gamma[r];
      for (let i = 0; i < size; i++) miss -= coefficients[i] * columns[i][r];
      sse += w[r] * miss * miss;
    }
    if (sse <= best.sse) best = { coefficients, sse };
  }
  return best;
}

function weightedProduct(w: Float64Array, a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < w.length; i++) sum += w[i] * a[i] * b[i];
  return sum;
}

/** Solves a small symmetric system by elimination; undefined where it is singular to 1e-12 of its diagonal. */
function normalEquations(a: number[][], b: number[]): number[] | undefined {
  const n = b.length;
  const least = a.map((row, i) => 1e-12 * row[i]);
  for (let k = 0; k < n; k++) {
    if (!(a[k][k] > least[k])) return undefined;
    for (let i = k + 1; i < n; i++) {
      const f = a[i][k] / a[k][k];
      for (let j = k; j < n; j++) a[i][j] -= f * a[k][j];
      b[i] -= f * b[k];
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    for (let j = k + 1; j < n; j++) b[k] -= a[k][j] * b[j];
    b[k] /= a[k][k];
  }
  return b;
}
