import {
  logLikelihood,
  restrictedLogLikelihood,
  type LikelihoodFit,
  type LikelihoodParts,
} from './likelihood.ts';
import { choleskyInPlace } from './cholesky.ts';
import { minimiseOnInterval } from './minimise.ts';
import { aicc } from './modelChoice.ts';
import { searchedRanges } from './fitModel.ts';
import { planeBasis, planeParts } from './planeMean.ts';
import {
  prepareReduction,
  reducedScratch,
  type ReducedCorrelation,
  type Reduction,
} from './reducedCorrelation.ts';
import type { ModelKind } from './structure.ts';
import { factorTridiagonal } from './tridiagonal.ts';

/** The best covariance found with one form of the mean, by full likelihood. */
export interface MeanFit {
  /** Pure nugget where no pattern earns its two parameters. */
  readonly kind: ModelKind | 'nugget';
  /** 0 of a pure nugget. */
  readonly effectiveRangeM: number;
  /** 1 of a pure nugget. */
  readonly nuggetShare: number;
  readonly sill: number;
  readonly logLikelihood: number;
  readonly aicc: number;
}

/** A constant mean held against a plane in the coordinates. */
export interface MeanComparison {
  readonly constant: MeanFit;
  readonly linear: MeanFit;
  /** AICc of the constant mean less that of the plane: above 0 where the plane is the better model. */
  readonly deltaAicc: number;
  /** A mean for each class, where classes were given that the places tell apart. */
  readonly classes?: MeanFit;
  /** Values used. */
  readonly n: number;
}

const KINDS: readonly ModelKind[] = ['spherical', 'exponential'];
/** Ranges looked at of each kind, evenly in their logarithm: closely where the correlation has an edge. */
const RANGES: Readonly<Record<string, number>> = { spherical: 24, exponential: 12 };
/** A plane is seen by as many points as this, however many there are: a reduction costs n³. */
const MOST_POINTS = 150;
const MOST_LOGIT = 9;
const NUGGET_STEPS = 9;

/**
 * Compares a constant mean with a plane in the coordinates for each of several variables measured at the same places, each with
 * the best of a spherical and an exponential correlation with nugget, and of pure nugget, by AICc of the full likelihood:
 * restricted likelihoods of different means are those of different contrasts of the values and cannot be
 * compared (Harville 1974, Biometrika 61: 383-385; Pinheiro & Bates 2000, Mixed-Effects Models in S and S-PLUS, sec. 2.4.1,
 * from memory). Every variable, both means and all nugget shares share one reduction a range.
 * Of more than 150 places every so-manieth is used.
 * @param xy 2n metres, distinct places; @param variables each n values, not all alike
 * @param classOf class of each place, such as its soil unit: a mean for each is then a third contender, if there are values enough
 * @returns one comparison a variable, in order; undefined where places lie on a line or are fewer than ten
 */
export function compareMeans(
  xy: Float64Array,
  variables: readonly Float64Array[],
  classOf?: ArrayLike<number>,
): readonly MeanComparison[] | undefined {
  const all = xy.length / 2;
  const n = Math.min(all, MOST_POINTS);
  const used = Int32Array.from({ length: n }, (_, i) => Math.floor(((i + 0.5) * all) / n));
  const places = new Float64Array(2 * n);
  used.forEach((from, i) => places.set(xy.subarray(2 * from, 2 * from + 2), 2 * i));
  const basis = n < 10 ? undefined : planeBasis(places);
  if (!basis) return undefined;
  const z = variables.map((v) => Float64Array.from(used, (i) => v[i]));
  const contrasts = classOf ? contrastsOf(Array.from(used, (i) => classOf[i])) : [];
  // AICc needs more values than parameters: sill, range, nugget share, and a mean for each class.
  const classColumns = contrasts.length + 6 <= n ? contrasts : [];
  const carried = [...basis.columns, ...classColumns];
  const reduce = prepareReduction(places, [...z, ...carried]);
  const [low, high] = searchedRanges(places).map(Math.log);
  const reductions = KINDS.map((kind) =>
    Array.from({ length: RANGES[kind] }, (_, k) =>
      reduce(kind, Math.exp(low + ((high - low) * k) / (RANGES[kind] - 1))),
    ),
  );
  const most = carried.length + 2;
  const scratch: FullScratch = {
    lower: new Float64Array(n),
    pivots: new Float64Array(n),
    row: new Float64Array(most),
    products: new Float64Array(most * most),
  };
  const plane = [0, 1];
  const classes = classColumns.map((_, c) => 2 + c);
  return z.map((values, v) => {
    const best = (own: readonly number[]): MeanFit => {
      const columns = own.map((c) => z.length + c);
      const parameters = 1 + own.length;
      const profile = (r: ReducedCorrelation) =>
        profileNugget(r, 0.02, (share) => fullParts(r, v, columns, share, scratch), logLikelihood, n);
      const rows = reductions.map((ofKind) => ofKind.flatMap(profile)).filter((row) => row.length > 0);
      const structured = rows
        .map((row) => ({ row, top: highest(row) }))
        .sort((a, b) => b.top.logLikelihood - a.top.logLikelihood)
        .slice(0, 1)
        .map(({ row, top }) => {
          const between = vertexOf(row, row.indexOf(top));
          const found = between === undefined ? [] : [profile(reduce(top.kind, Math.exp(between)))].flat();
          return highest([top, ...found]);
        })
        .map((f): MeanFit => ({ ...f, aicc: aicc(f.logLikelihood, 3 + parameters, n) }));
      const orthonormal = own.map((c) => carried[c]);
      return [...structured, pureNugget(values, orthonormal, n)].reduce((x, y) => (y.aicc < x.aicc ? y : x));
    };
    const [constant, linear] = [best([]), best(plane)];
    return {
      constant,
      linear,
      deltaAicc: constant.aicc - linear.aicc,
      n,
      ...(classes.length > 0 && { classes: best(classes) }),
    };
  });
}

/** Orthonormal columns, orthogonal to a constant, that tell classes apart: one fewer than there are (Helmert contrasts). */
function contrastsOf(classOf: readonly number[]): readonly Float64Array[] {
  const names = [...new Set(classOf)].sort((a, b) => a - b);
  const counts = names.map((name) => classOf.filter((c) => c === name).length);
  let before = 0;
  return names.flatMap((_, k) => {
    const seen = before;
    before += counts[k];
    if (k === 0) return [];
    // This class against all before it.
    const [own, others] = [seen, -counts[k]];
    const length = Math.sqrt(own * own * counts[k] + others * others * seen);
    const rank = new Map(names.map((c, i) => [c, i]));
    return [
      Float64Array.from(classOf, (c) => {
        const i = rank.get(c)!;
        return i === k ? own / length : i < k ? others / length : 0;
      }),
    ];
  });
}

const highest = (row: readonly LikelihoodFit[]): LikelihoodFit =>
  row.reduce((a, b) => (b.logLikelihood > a.logLikelihood ? b : a));

/** Scratch of {@link fullParts}: the reduction's pivots, a row of whitened columns and their products. */
interface FullScratch {
  readonly lower: Float64Array;
  readonly pivots: Float64Array;
  readonly row: Float64Array;
  readonly products: Float64Array;
}

/**
 * What the full likelihood takes from R for a mean that is linear in a constant and the given columns: ln|R| and the
 * residual sum of squares, by Cholesky of the whitened columns' products. `oneRone` and `mean` are not filled.
 */
function fullParts(
  { t, ones, values }: ReducedCorrelation,
  variable: number,
  columns: readonly number[],
  nuggetShare: number,
  { lower, pivots, row, products }: FullScratch,
): LikelihoodParts | undefined {
  const logDet = factorTridiagonal(t, 1 - nuggetShare, nuggetShare, lower, pivots);
  if (Number.isNaN(logDet)) return undefined;
  const used = [ones, ...columns.map((c) => values[c]), values[variable]];
  const q = used.length;
  row.fill(0);
  products.fill(0);
  for (let i = 0; i < t.n; i++) {
    const l = lower[i];
    const w = 1 / pivots[i];
    for (let a = 0; a < q; a++) {
      const u = (row[a] = used[a][i] - l * row[a]);
      const uw = u * w;
      for (let b = 0; b <= a; b++) products[a * q + b] += uw * row[b];
    }
  }
  // The last pivot of the products of [X, z] is what X leaves of z.
  if (!choleskyInPlace(products, q)) return undefined;
  return {
    n: t.n,
    logDet,
    oneRone: NaN,
    mean: NaN,
    residualSS: Math.max(products[q * q - 1] ** 2, 1e-300),
  };
}

/** Independent values about a constant and orthonormal columns that sum to zero. */
function pureNugget(z: Float64Array, columns: readonly Float64Array[], n: number): MeanFit {
  const mean = z.reduce((s, v) => s + v, 0) / n;
  let ss = z.reduce((s, v) => s + (v - mean) ** 2, 0);
  for (const q of columns) ss -= q.reduce((s, v, i) => s + v * (z[i] - mean), 0) ** 2;
  const sill = Math.max(ss, 1e-300) / n;
  const l = -0.5 * n * (Math.log(2 * Math.PI * sill) + 1);
  return {
    kind: 'nugget',
    effectiveRangeM: 0,
    nuggetShare: 1,
    sill,
    logLikelihood: l,
    aicc: aicc(l, 2 + columns.length, n),
  };
}

/** The best nugget share at one range. @param freedom what the profiled variance divides by */
function profileNugget(
  { kind, effectiveRangeM }: ReducedCorrelation,
  tolerance: number,
  parts: (nuggetShare: number) => LikelihoodParts | undefined,
  likelihood: (p: LikelihoodParts, variance: number) => number,
  freedom: number,
): LikelihoodFit | readonly [] {
  const at = (logit: number): LikelihoodFit | undefined => {
    const nuggetShare = 1 / (1 + Math.exp(-logit));
    const p = parts(nuggetShare);
    if (!p) return undefined;
    const sill = p.residualSS / freedom;
    return { kind, effectiveRangeM, nuggetShare, sill, mean: p.mean, logLikelihood: likelihood(p, sill) };
  };
  const { x } = minimiseOnInterval(
    (l) => -(at(l)?.logLikelihood ?? -Infinity),
    -MOST_LOGIT,
    MOST_LOGIT,
    NUGGET_STEPS,
    tolerance,
  );
  return at(x) ?? [];
}

/** ln(range) where a parabola through a fit and its neighbours by range has its top. */
function vertexOf(row: readonly LikelihoodFit[], i: number): number | undefined {
  if (i === 0 || i === row.length - 1) return undefined;
  const [a, b, c] = [row[i - 1], row[i], row[i + 1]];
  const [xa, xb, xc] = [a, b, c].map((f) => Math.log(f.effectiveRangeM));
  const left = (b.logLikelihood - a.logLikelihood) / (xb - xa);
  const right = (c.logLikelihood - b.logLikelihood) / (xc - xb);
  const curvature = (right - left) / (xc - xa);
  return curvature < 0 ? (xa + xb) / 2 - left / (2 * curvature) : undefined;
}

/** Steps towards the top of the likelihood from the ranges at hand; each costs a reduction. */
const REFINEMENTS = 3;
const MANY_POINTS = 200;

/**
 * The restricted fit with a plane for the mean, from reductions already made that carry the plane's columns: as `fitReduced`.
 * Its log-likelihood is that of the n − 2 contrasts of {@link planeParts}.
 * @returns the best fit of each kind, best first
 */
export function fitReducedPlane(
  reductions: readonly ReducedCorrelation[],
  reduce: Reduction,
  variable: number,
  columns: readonly [number, number],
): readonly LikelihoodFit[] {
  const n = reduce.n;
  const scratch = reducedScratch(n);
  const profile = (r: ReducedCorrelation) =>
    profileNugget(
      r,
      1e-3,
      (share) => planeParts(r, variable, columns, share, scratch),
      restrictedLogLikelihood,
      n - 3,
    );
  const best = KINDS.flatMap((kind) => {
    const row = reductions.filter((r) => r.kind === kind).flatMap(profile);
    if (row.length === 0) return [];
    for (let k = 0; k < (n > MANY_POINTS ? 1 : REFINEMENTS); k++) {
      row.sort((a, b) => a.effectiveRangeM - b.effectiveRangeM);
      const at = vertexOf(row, row.indexOf(highest(row)));
      if (at === undefined || row.some((f) => Math.abs(Math.log(f.effectiveRangeM) - at) < 0.01)) break;
      row.push(...[profile(reduce(kind, Math.exp(at), false))].flat());
    }
    return [highest(row)];
  });
  return best.sort((a, b) => b.logLikelihood - a.logLikelihood);
}
