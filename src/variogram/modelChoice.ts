import { fitPrepared, prepareFit, type FitData, type FitModelOptions, type ModelFit } from './fitModel.ts';
import { modelName, type ModelSpec } from './modelSpec.ts';

/** What may be compared. Those of the last line are made of the best of the others. */
export type Candidate =
  | 'nugget'
  | 'spherical'
  | 'exponential'
  | 'gaussian'
  | 'matern 1.5'
  | 'matern 2.5'
  | 'matern free'
  | 'nested'
  | 'anisotropic'
  | 'linear trend';

export const ALL_CANDIDATES: readonly Candidate[] = [
  'nugget',
  'spherical',
  'exponential',
  'gaussian',
  'matern 1.5',
  'matern 2.5',
  'matern free',
  'nested',
  'anisotropic',
  'linear trend',
];

const single: Partial<Record<Candidate, ModelSpec>> = {
  nugget: { kind: 'nugget' },
  spherical: { kind: 'spherical' },
  exponential: { kind: 'exponential' },
  gaussian: { kind: 'gaussian' },
  'matern 1.5': { kind: 'matern', smoothness: 1.5 },
  'matern 2.5': { kind: 'matern', smoothness: 2.5 },
  'matern free': { kind: 'matern', smoothness: 'free' },
};

/** One line of the comparison. */
export interface ComparedModel {
  /** "spherical", "pure nugget, linear trend" */
  readonly name: string;
  /** Parameters that AICc counts: of the covariance with the sill and, by full likelihood, of the trend. */
  readonly parameters: number;
  readonly logLikelihood: number;
  readonly aicc: number;
  /** Above the least AICc. */
  readonly deltaAicc: number;
  /** exp(−Δ/2) over the sum of them (Burnham & Anderson 2002, 2.9). */
  readonly akaikeWeight: number;
  readonly fit: ModelFit;
}

export interface ModelChoice {
  /** Full likelihood (ML) where means differ, restricted (REML) where they are the same. */
  readonly method: 'ML' | 'REML';
  /** From the least AICc up. */
  readonly table: readonly ComparedModel[];
  /** The first of the table, fitted by restricted likelihood, to work with. */
  readonly chosen: ModelFit;
  /** One or two sentences with the figures. */
  readonly explanation: string;
  /** Candidates that could not be compared, with the reason. */
  readonly leftOut: readonly { readonly name: string; readonly why: string }[];
}

export interface ModelChoiceOptions extends Omit<FitModelOptions, 'restricted'> {
  /** All by default. The single models cost a fraction of 'nested' and 'anisotropic'. */
  readonly candidates?: readonly Candidate[];
}

/**
 * Akaike's criterion with the small-sample correction of Hurvich & Tsai 1989 (Biometrika 76: 297-307):
 * −2·lnL + 2k + 2k(k + 1)/(N − k − 1).
 * @param observations N: the number of values by full likelihood, less the trend's coefficients by restricted
 * @returns Infinity where N ≤ k + 1
 */
export function aicc(logLikelihood: number, parameters: number, observations: number): number {
  const left = observations - parameters - 1;
  if (left <= 0) return Infinity;
  return -2 * logLikelihood + 2 * parameters + (2 * parameters * (parameters + 1)) / left;
}

/** AICc of a fit: by full likelihood the trend's coefficients count, by restricted they are integrated out. */
export function aiccOf(fit: ModelFit): number {
  return aicc(fit.logLikelihood, countedParameters(fit), fit.n - (fit.restricted ? fit.trendParameters : 0));
}

function countedParameters(fit: ModelFit): number {
  return fit.covarianceParameters + (fit.restricted ? 0 : fit.trendParameters);
}

/**
 * Compares covariance models, and a linear trend with the mean given, by AICc.
 * Restricted likelihoods of different trends cannot be compared (Harville 1974), so full likelihood is used when
 * 'linear trend' is among the candidates and the mean given is constant, restricted otherwise. 'nested' is two structures of
 * the kind of the best single one, 'anisotropic' the best single one with its range changing with direction; 'linear trend'
 * is added to the best covariance so far and to the pure nugget.
 * @returns undefined when no candidate could be fitted or compared
 */
export function chooseModel(
  data: FitData,
  { candidates = ALL_CANDIDATES, ...options }: ModelChoiceOptions = {},
): ModelChoice | undefined {
  const constant = (data.trend ?? 'constant') === 'constant';
  const restricted = !(constant && candidates.includes('linear trend'));
  const prepared = prepareFit(data, { ...options, restricted });
  const fits: ModelFit[] = [];
  const leftOut: { name: string; why: string }[] = [];
  const keep = (name: string, fit: ModelFit | undefined): void => {
    if (!fit) leftOut.push({ name, why: 'the correlation is singular wherever it was tried' });
    else if (aiccOf(fit) === Infinity) leftOut.push({ name, why: 'it has as many parameters as values' });
    else fits.push(fit);
  };
  for (const candidate of ALL_CANDIDATES) {
    const spec = single[candidate];
    if (spec && candidates.includes(candidate)) keep(modelName(spec), fitPrepared(prepared, spec, fits));
  }
  const least = (among: readonly ModelFit[]) =>
    among.length === 0 ? undefined : among.reduce((a, b) => (aiccOf(b) < aiccOf(a) ? b : a));
  const base = least(fits.filter((f) => f.spec.kind !== 'nugget' && f.spec.smoothness !== 'free'))?.spec;
  for (const feature of ['nested', 'anisotropic'] as const) {
    if (!candidates.includes(feature)) continue;
    if (!base) leftOut.push({ name: feature, why: 'there is no single model to build it on' });
    else {
      const spec: ModelSpec = { ...base, [feature]: true };
      keep(modelName(spec), fitPrepared(prepared, spec, fits));
    }
  }
  const linear: ModelFit[] = [];
  if (!restricted) {
    const best = least(fits);
    const specs = [...(best && best.spec.kind !== 'nugget' ? [best.spec] : []), { kind: 'nugget' } as const];
    const { trend, why } = linearTrend(data, options);
    if (!trend) leftOut.push({ name: 'linear trend', why });
    else
      for (const spec of specs) {
        const name = `${modelName(spec)}, linear trend`;
        const before = fits.length;
        keep(name, fitPrepared(trend, spec, best ? [best] : []));
        if (fits.length > before) linear.push(fits[fits.length - 1]);
      }
  }
  if (fits.length === 0) return undefined;
  const criteria = fits.map(aiccOf);
  const lowest = Math.min(...criteria);
  const support = criteria.map((c) => Math.exp((lowest - c) / 2));
  const total = support.reduce((s, v) => s + v, 0);
  const table = fits
    .map((fit, i): ComparedModel => ({
      name: modelName(fit.spec) + (linear.includes(fit) ? ', linear trend' : ''),
      parameters: countedParameters(fit),
      logLikelihood: fit.logLikelihood,
      aicc: criteria[i],
      deltaAicc: criteria[i] - lowest,
      akaikeWeight: support[i] / total,
      fit,
    }))
    .sort((a, b) => a.aicc - b.aicc);
  const [first] = table;
  const chosen = restricted
    ? first.fit
    : refitted({ ...data, trend: linear.includes(first.fit) ? 'linear' : data.trend }, first.fit, options);
  return {
    method: restricted ? 'REML' : 'ML',
    table,
    chosen,
    explanation: explain(table, data.z.length),
    leftOut,
  };
}

/** The data with a linear trend, where the places and their number allow one. */
function linearTrend(data: FitData, options: FitModelOptions) {
  if (data.z.length <= 5) return { why: 'five values or fewer cannot tell a trend from chance' };
  const trend = prepareFit({ ...data, trend: 'linear' }, { ...options, restricted: false });
  return trend.columns.p > 1 ? { trend, why: '' } : { why: 'all values lie at one place' };
}

function refitted(data: FitData, fit: ModelFit, options: FitModelOptions): ModelFit {
  return fitPrepared(prepareFit(data, { ...options, restricted: true }), fit.spec, [fit]) ?? fit;
}

/** Models within this of the least AICc are as good as it (Burnham & Anderson 2002, 2.6). */
const HARDLY_APART = 2;

function explain(table: readonly ComparedModel[], n: number): string {
  const [first, second] = table;
  const f1 = (v: number) => v.toFixed(1);
  const opening = `Of ${table.length} models compared on ${n} values, “${first.name}” has the least AICc (${f1(first.aicc)} with ${first.parameters} ${first.parameters === 1 ? 'parameter' : 'parameters'}).`;
  if (!second) return `“${first.name}” is the only model compared (AICc ${f1(first.aicc)} on ${n} values).`;
  const near = table.slice(1).filter((m) => m.deltaAicc < HARDLY_APART);
  const nearest =
    near.length === 0
      ? `the next, “${second.name}”, is ${f1(second.deltaAicc)} above it`
      : `“${second.name}” is only ${f1(second.deltaAicc)} above it${near.length > 1 ? ` and ${near.length} models in all are within ${HARDLY_APART}` : ''}, so the values hardly tell them apart`;
  const isNugget = (m: ComparedModel) => m.fit.spec.kind === 'nugget';
  if (isNugget(first)) {
    const structured = table.find((m) => !isNugget(m));
    return structured
      ? `${opening} No spatial pattern earns its parameters: the best of the models with one, “${structured.name}”, is ${f1(structured.deltaAicc)} above it.`
      : `${opening.slice(0, -1)}; ${nearest}.`;
  }
  const nugget = table.find(isNugget);
  const pattern =
    !nugget || nugget === second
      ? ''
      : nugget.deltaAicc < HARDLY_APART
        ? `; even no pattern at all (“${nugget.name}”) is within ${f1(nugget.deltaAicc)}`
        : `; without a spatial pattern (“${nugget.name}”) it would be ${f1(nugget.deltaAicc)} higher`;
  return `${opening} ${nearest.charAt(0).toUpperCase()}${nearest.slice(1)}${pattern}.`;
}
