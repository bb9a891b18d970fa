import type { CorrelationParameters } from './correlationParameters.ts';
import { minimiseSimplex } from './minimise.ts';
import {
  covarianceParameters,
  fromWorking,
  MOST_LOGIT,
  SMOOTHNESS_RANGE,
  LEAST_RATIO,
  toWorking,
  workingNames,
  type ModelSpec,
  type SearchLimits,
  type WorkingName,
} from './modelSpec.ts';
import type { NestedVariogram, VariogramModel } from './structure.ts';
import {
  prepareTrendLikelihood,
  profiledSill,
  trendColumns,
  trendLogLikelihood,
  type Trend,
  type TrendColumns,
  type TrendLikelihood,
  type TrendParts,
} from './trend.ts';
import type { GramOptions } from './whitenedGram.ts';

/** Values at positions, with the form of their mean. */
export interface FitData {
  /** 2n metres; no two points at one place. */
  readonly xy: Float64Array;
  /** n values on the working scale. */
  readonly z: Float64Array;
  /** Constant by default. */
  readonly trend?: Trend;
}

export interface FitModelOptions extends GramOptions {
  /** Restricted (REML) by default; full likelihood otherwise. */
  readonly restricted?: boolean;
  /** Effective ranges looked through; by default {@link searchedRanges}. */
  readonly rangesM?: readonly [number, number];
}

/** A fitted covariance model with its trend. */
export interface ModelFit {
  readonly spec: ModelSpec;
  readonly parameters: CorrelationParameters;
  readonly sill: number;
  /** Names, coefficients on the user's scale and their covariance (row-major p × p). */
  readonly trendNames: readonly string[];
  readonly beta: Float64Array;
  readonly betaCovariance: Float64Array;
  readonly n: number;
  /** Free parameters of the covariance (with the sill), and of the trend. */
  readonly covarianceParameters: number;
  readonly trendParameters: number;
  readonly logLikelihood: number;
  readonly restricted: boolean;
  /** Working parameters that ended at a limit of the search, so that the maximum is at an edge. */
  readonly atBound: readonly string[];
  readonly rangesM: readonly [number, number];
}

/** One data set made ready for any number of fits. */
export interface PreparedFit extends SearchLimits {
  readonly columns: TrendColumns;
  readonly likelihood: TrendLikelihood;
  /** The same, cheaper and rougher, to look for peaks with. */
  readonly scout: TrendLikelihood;
  readonly restricted: boolean;
}

/** Above so many points peaks are looked for with {@link SCOUT_NEIGHBOURS} of Vecchia's neighbours. */
const SCOUT_POINTS = 150;
const SCOUT_NEIGHBOURS = 15;

/**
 * Ranges that data can say something of: from half the mean distance of a point to its nearest neighbour, below which
 * all is nugget, to three times the greatest extent, above which all is trend (judgement of this project).
 */
export function searchedRanges(xy: Float64Array): readonly [number, number] {
  const n = xy.length / 2;
  let [minX, minY, maxX, maxY, sum] = [Infinity, Infinity, -Infinity, -Infinity, 0];
  // A thousand points tell the mean distance well enough.
  const every = Math.ceil(n / 1000);
  let asked = 0;
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    [minX, maxX, minY, maxY] = [Math.min(minX, x), Math.max(maxX, x), Math.min(minY, y), Math.max(maxY, y)];
    if (i % every !== 0) continue;
    let nearest = Infinity;
    for (let j = 0; j < n; j++)
      if (j !== i) nearest = Math.min(nearest, (xy[2 * j] - x) ** 2 + (xy[2 * j + 1] - y) ** 2);
    sum += Math.sqrt(nearest);
    asked++;
  }
  const extent = Math.max(Math.hypot(maxX - minX, maxY - minY), 1e-6);
  return [Math.min(sum / asked / 2, extent / 4), 3 * extent];
}

/** Prepares data for fits; `prepared` may be given to several calls of {@link fitPrepared}. */
export function prepareFit(
  { xy, z, trend = 'constant' }: FitData,
  { restricted = true, rangesM = searchedRanges(xy), ...gram }: FitModelOptions = {},
): PreparedFit {
  const columns = trendColumns(trend, xy);
  const likelihood = prepareTrendLikelihood(xy, z, columns, gram);
  const scout =
    z.length > SCOUT_POINTS
      ? prepareTrendLikelihood(xy, z, columns, { exactPoints: 0, neighbours: SCOUT_NEIGHBOURS })
      : likelihood;
  return { columns, likelihood, scout, restricted, rangesM };
}

/**
 * Fits a covariance model and the trend's coefficients by (restricted) maximum likelihood, the sill and the
 * coefficients profiled out. Range and nugget share are found by a scan for peaks and simplex from the best of
 * them (a spherical likelihood has many, Mardia & Watkins 1989); further parameters by simplex from several
 * starts about the best simpler fit, which is kept when nothing is higher, so that a richer model is never below
 * one it contains.
 * @returns undefined when the correlation is singular wherever it was tried
 */
export function fitModel(
  data: FitData,
  spec: ModelSpec,
  options: FitModelOptions = {},
): ModelFit | undefined {
  return fitPrepared(prepareFit(data, options), spec);
}

/**
 * As {@link fitModel}, of prepared data.
 * @param simpler fits of the same prepared data that are at hand, to start from; others are made. A fit of the same spec to
 * other data, or with another trend, is one more start.
 */
export function fitPrepared(
  prepared: PreparedFit,
  spec: ModelSpec,
  simpler: readonly ModelFit[] = [],
): ModelFit | undefined {
  if (spec.kind === 'nugget') return summarise(prepared, spec, []);
  const extra = spec.nested || spec.anisotropic || (spec.kind === 'matern' && spec.smoothness === 'free');
  const best = extra ? fromSimpler(prepared, spec, simpler) : byScan(prepared, spec);
  return best && summarise(prepared, spec, best);
}

/** Minus the profiled log-likelihood at working parameters; Infinity outside the limits. */
export function objectiveOf(
  prepared: PreparedFit,
  spec: ModelSpec,
  by: TrendLikelihood = prepared.likelihood,
) {
  const { restricted } = prepared;
  return (working: ArrayLike<number>): number => {
    const parameters = fromWorking(spec, working, prepared);
    const parts = parameters && by(parameters);
    return parts ? -trendLogLikelihood(parts, profiledSill(parts, restricted), restricted) : Infinity;
  };
}

/** What peaks are looked for with: Vecchia's approximation moves those of a spherical likelihood, and hardly the others. */
function scanned(prepared: PreparedFit, spec: ModelSpec) {
  return objectiveOf(prepared, spec, spec.kind === 'spherical' ? prepared.likelihood : prepared.scout);
}

interface Found {
  readonly x: readonly number[];
  readonly value: number;
}
const lower = (p: Found, q: Found) => (q.value < p.value ? q : p);
const byValue = (p: Found, q: Found) => p.value - q.value;

/** Nugget logits, and ranges, that peaks are looked for at: closely where the correlation has an edge. */
const SCAN_LOGITS = [-4, -2.2, -1.1, -0.3, 0.7];
const SCAN_RANGES = { edged: 41, smooth: 16 };
const PEAKS = { edged: 5, smooth: 3 };
/** Evaluations of a first simplex from each peak, after which only the best two are refined. */
const FIRST_EVALUATIONS = 24;

function byScan(prepared: PreparedFit, spec: ModelSpec): readonly number[] | undefined {
  const form = spec.kind === 'spherical' ? 'edged' : 'smooth';
  const [low, high] = prepared.rangesM.map(Math.log);
  const count = SCAN_RANGES[form];
  const step = (high - low) / (count - 1);
  const logits = workingNames(spec).includes('logit nugget share') ? SCAN_LOGITS : [undefined];
  const at = (a: number, b: number | undefined) => (b === undefined ? [a] : [a, b]);
  const rough = scanned(prepared, spec);
  const look = (x: readonly number[]): Found => ({ x, value: rough(x) });
  const row = Array.from({ length: count }, (_, i) =>
    logits.map((b) => look(at(low + step * i, b))).reduce(lower),
  );
  const peaks = row
    .filter(
      (p, i) => p.value <= (row[i - 1]?.value ?? Infinity) && p.value <= (row[i + 1]?.value ?? Infinity),
    )
    .sort(byValue)
    .slice(0, PEAKS[form]);
  const closer =
    form === 'smooth'
      ? peaks
      : // On a lattice of points the likelihood has cusps a few per cent of the range wide: look between the scans.
        peaks.map(({ x: [a, b] }) =>
          Array.from({ length: 13 }, (_, i) => look(at(a + step * (i / 6 - 1), b))).reduce(lower),
        );
  const inwards = (a: number) => (a > (low + high) / 2 ? -1 : 1) * (form === 'edged' ? 0.02 : 0.15);
  const starts = closer.map(({ x }) => ({
    x,
    steps: x.map((v, i) => (i === 0 ? inwards(v) : v > 0 ? -0.4 : 0.4)),
  }));
  return climb(objectiveOf(prepared, spec), starts)?.x;
}

/** Evaluations of the last simplex, a free parameter: enough for 1e-4 of the log-likelihood in six dimensions. */
const LAST_EVALUATIONS = 90;

/**
 * A short simplex from each start, by `rough`, then a long one by `objective` from the best, and from the second where it is
 * another peak that may prove higher.
 */
function climb(
  objective: (x: readonly number[]) => number,
  starts: readonly { readonly x: readonly number[]; readonly steps: readonly number[] }[],
  rough = objective,
): Found | undefined {
  const first = starts
    .map(({ x, steps }) =>
      minimiseSimplex(rough, x, steps, { maxEvaluations: FIRST_EVALUATIONS * Math.max(1, x.length - 1) }),
    )
    .filter((f) => Number.isFinite(f.value))
    .sort(byValue);
  if (first.length === 0) return undefined;
  const [best, ...others] = first;
  const elsewhere = (f: Found) => f.x.some((v, i) => Math.abs(v - best.x[i]) > (i === 0 ? 0.02 : 0.5));
  const second = others.find((f) => f.value < best.value + 2 && elsewhere(f));
  const refine = (f: Found): Found =>
    minimiseSimplex(
      objective,
      f.x,
      f.x.map((_, i) => (i === 0 ? 0.02 : 0.1)),
      { maxEvaluations: LAST_EVALUATIONS * (f.x.length + 1) },
    );
  return (second ? [best, second] : [best]).map(refine).reduce(lower);
}

/** Most starts climbed from. */
const STARTS = 6;

/**
 * Starts with anisotropy: for each of some sizes about a range the best ellipse of eight directions and two ratios, since
 * the peaks of a spherical likelihood lie along the range.
 */
function ellipses(
  objective: (x: readonly number[]) => number,
  range: number,
  change: (by: Partial<Record<WorkingName, number>>) => readonly number[],
): readonly (readonly number[])[] {
  return [-0.5, -0.25, 0, 0.25, 0.5].map(
    (grown) =>
      [0.5, 1]
        .flatMap((size) =>
          Array.from({ length: 8 }, (_, k) => (k * Math.PI) / 4).map((double) =>
            change({
              'ln range': range + grown,
              'stretch north': size * Math.cos(double),
              'stretch northeast': size * Math.sin(double),
            }),
          ),
        )
        .map((x): Found => ({ x, value: objective(x) }))
        .reduce(lower).x,
  );
}

/** Models that `spec` contains with one feature less, each with the working parameters it means in `spec`. */
function fromSimpler(
  prepared: PreparedFit,
  spec: ModelSpec,
  given: readonly ModelFit[],
): readonly number[] | undefined {
  const objective = objectiveOf(prepared, spec);
  const rough = scanned(prepared, spec);
  const inner = simplerSpecs(spec)
    .map((s) => given.find((g) => sameSpec(g.spec, s)) ?? fitPrepared(prepared, s, given))
    .filter((f) => f !== undefined);
  const contained: readonly Found[] = inner
    .map((f) => toWorking(spec, { ...f.parameters, kind: spec.kind as CorrelationParameters['kind'] }))
    .map((x) => ({ x, value: objective(x) }));
  if (contained.length === 0) return undefined;
  const names = workingNames(spec);
  const steps: number[] = names.map((name) =>
    name === 'ln range' ? 0.15 : name.startsWith('logit') ? 0.5 : 0.3,
  );
  const base = contained.reduce(lower).x;
  const change = (by: Partial<Record<WorkingName, number>>) => base.map((v, i) => by[names[i]] ?? v);
  const range = base[0];
  const around = [
    ...contained.map((f) => f.x),
    ...given.filter((g) => sameSpec(g.spec, spec)).map((g) => toWorking(spec, g.parameters)),
    ...(spec.nested
      ? [
          change({ 'ln range': range - 1, 'ln long range': range + 0.3, 'logit long share': 0 }),
          change({ 'ln long range': range + 1, 'logit long share': -1 }),
          change({
            'ln range': range - 0.5,
            'ln long range': range + 1.2,
            'logit nugget share': -3,
            'logit long share': 1,
          }),
          change({
            'ln range': range - 1.6,
            'ln long range': range,
            'logit nugget share': -2,
            'logit long share': 1,
          }),
        ]
      : []),
    ...(spec.anisotropic ? ellipses(rough, range, change) : []),
  ];
  const starts = around
    .map((x) => inside(x, spec, prepared))
    .map((x) => ({ x, value: rough(x) }))
    .sort(byValue)
    .slice(0, STARTS);
  const climbed = climb(
    objective,
    starts.map(({ x }) => ({ x, steps: steps.map((s, i) => (x[i] > 8 ? -s : s)) })),
    rough,
  );
  return (climbed ? [climbed, ...contained] : contained).reduce(lower).x;
}

/** Draws ranges in to the limits, so that a start there is one. */
function inside(x: readonly number[], spec: ModelSpec, { rangesM }: SearchLimits): readonly number[] {
  const [low, high] = rangesM.map(Math.log);
  const long = workingNames(spec).indexOf('ln long range');
  const short = Math.min(Math.max(x[0], low), long < 0 ? high : high - 0.5);
  return x.map((v, i) => (i === 0 ? short : i === long ? Math.min(Math.max(v, short + 0.3), high) : v));
}

function simplerSpecs(spec: ModelSpec): readonly ModelSpec[] {
  if (spec.anisotropic) return [{ ...spec, anisotropic: false }];
  if (spec.nested) return [{ ...spec, nested: false }];
  const rest = { nuggetShare: spec.nuggetShare };
  return [
    { kind: 'exponential', ...rest },
    ...[1.5, 2.5].map((smoothness) => ({ kind: 'matern' as const, smoothness, ...rest })),
  ];
}

/** Whether two specs mean the same model. */
export function sameSpec(a: ModelSpec, b: ModelSpec): boolean {
  const smoothness = (s: ModelSpec) => (s.kind === 'matern' ? (s.smoothness ?? 1.5) : undefined);
  return (
    a.kind === b.kind &&
    smoothness(a) === smoothness(b) &&
    (a.nuggetShare ?? 'free') === (b.nuggetShare ?? 'free') &&
    Boolean(a.nested) === Boolean(b.nested) &&
    Boolean(a.anisotropic) === Boolean(b.anisotropic)
  );
}

function summarise(prepared: PreparedFit, spec: ModelSpec, working: readonly number[]): ModelFit | undefined {
  const { columns, restricted, rangesM } = prepared;
  const parameters = fromWorking(spec, working, prepared);
  const parts: TrendParts | undefined = parameters && prepared.likelihood(parameters);
  if (!parameters || !parts) return undefined;
  const sill = profiledSill(parts, restricted);
  return {
    spec,
    parameters,
    sill,
    trendNames: columns.names,
    beta: parts.beta,
    betaCovariance: parts.betaShape.map((v) => v * sill),
    n: parts.n,
    covarianceParameters: covarianceParameters(spec),
    trendParameters: parts.p,
    logLikelihood: trendLogLikelihood(parts, sill, restricted),
    restricted,
    atBound: boundsReached(spec, working, prepared),
    rangesM,
  };
}

/** Within 1 % of a range, or a share below 0.1 % or above 99.9 %: no nearer does the simplex come. */
function boundsReached(
  spec: ModelSpec,
  working: readonly number[],
  { rangesM }: SearchLimits,
): readonly string[] {
  const edge = Math.log(1000);
  const [low, high] = rangesM.map(Math.log);
  const names = workingNames(spec);
  return names.filter((name, i) => {
    const v = working[i];
    if (name === 'ln range') return v < low + 0.01 || v > high - 0.01;
    if (name === 'ln long range') return v > Math.log(2) + high - 0.01;
    if (name === 'ln smoothness')
      return v < Math.log(SMOOTHNESS_RANGE[0]) + 0.01 || v > Math.log(SMOOTHNESS_RANGE[1]) - 0.01;
    if (name.startsWith('logit')) return Math.abs(v) > Math.min(edge, MOST_LOGIT - 0.01);
    // Isotropy is no edge on this scale, and the least ratio is a circle.
    return name === 'stretch north' && Math.hypot(v, working[i + 1]) > -Math.log(LEAST_RATIO) - 0.01;
  });
}

/** The fit as a variogram, to krige and draw with. */
export function variogramOf({ parameters, sill }: ModelFit): VariogramModel | NestedVariogram {
  const { kind, effectiveRangeM, nuggetShare, smoothness, long, anisotropy } = parameters;
  const structured = sill * (1 - nuggetShare);
  const shape = { kind, ...(smoothness === undefined ? {} : { smoothness }) };
  const common = { nugget: sill * nuggetShare, ...(anisotropy && { anisotropy }) };
  if (!long) return { ...common, ...shape, effectiveRangeM, partialSill: structured };
  return {
    ...common,
    structures: [
      { ...shape, effectiveRangeM, partialSill: structured * (1 - long.share) },
      { ...shape, effectiveRangeM: long.effectiveRangeM, partialSill: structured * long.share },
    ],
  };
}
