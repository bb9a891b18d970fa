/**
 * Foreign likelihoods to test against: R's nlme 3.1.162 (gls with trends) and a likelihood written out in R with the
 * Matérn function of fields 14.1, on oxford and meuse. `likelihoods.R` beside this file made the JSON.
 */
import { readFileSync } from 'node:fs';
import type { CorrelationParameters, ModelKind, Trend } from '../../src/variogram/index.ts';
import likelihoods from './likelihoods.json';
import { meuseLogZinc, oxfordValues, oxfordXy } from './reference.ts';

export type Method = 'REML' | 'ML';

interface Of {
  readonly data: string;
  readonly trend: string;
  readonly method: string;
}

export interface GlsFit extends Of {
  /** nlme's name: Sph, Exp, Gau; its range is the distance parameter of the last two. */
  readonly model: string;
  readonly range: number;
  readonly nugget_share: number;
  readonly sill: number;
  readonly beta: readonly number[];
  readonly beta_variance: readonly (readonly number[])[];
  readonly logLik: number;
  /** Approximate variances of ln range, logit nugget share and ln σ, at `ap_var_at`, where nlme gives them. */
  readonly ap_var?: readonly (readonly number[])[] | null;
  readonly ap_var_at?: readonly number[] | null;
  readonly AIC: number;
}

interface WrittenParameters {
  readonly kind: string;
  readonly range: number;
  readonly nugget_share: number;
  readonly smoothness?: number;
  readonly ratio?: number;
  readonly direction?: number;
  readonly long_range?: number;
  readonly long_share?: number;
}

export interface WrittenValue extends Of, WrittenParameters {
  readonly value: number;
  readonly sill?: number;
  readonly beta?: readonly number[];
}

export interface WrittenInformation extends Of {
  readonly kind: string;
  /** ln effective range, logit nugget share, ln sill. */
  readonly at: readonly number[];
  readonly hessian: readonly (readonly number[])[];
}

export const glsFits: readonly GlsFit[] = likelihoods.gls;
export const writtenValues: readonly WrittenValue[] = likelihoods.written;
export const writtenMaxima: readonly WrittenValue[] = likelihoods.maxima;
export const writtenInformation: readonly WrittenInformation[] = likelihoods.information;

export const nameOf = (of: Of): string => `${of.data} ${of.trend} ${of.method}`;

/** The square root of the distance to the river, meuse's best covariate of zinc. */
const rows = readFileSync(new URL('./meuse.csv', import.meta.url), 'utf8')
  .trim()
  .split('\n');
const at = rows[0].split(',').indexOf('"dist"');
export const meuseSqrtDist = Float64Array.from(rows.slice(1), (row) => Math.sqrt(Number(row.split(',')[at])));

const data: Readonly<Record<string, { readonly xy: Float64Array; readonly z: Float64Array }>> = {
  'oxford log PHOS1': { xy: oxfordXy, z: oxfordValues('PHOS1').map(Math.log) },
  'oxford OM1': { xy: oxfordXy, z: oxfordValues('OM1') },
  'meuse log zinc': { xy: meuseLogZinc.xy, z: meuseLogZinc.z },
};

const axis = (xy: Float64Array, offset: number) => xy.filter((_, i) => i % 2 === offset);
const covariates = (names: readonly string[]): Trend => ({
  covariates: names.map((name) => ({
    name,
    values: name === 'sqrt(dist)' ? meuseSqrtDist : axis(meuseLogZinc.xy, name === 'x' ? 0 : 1),
  })),
});
const trends: Readonly<Record<string, Trend>> = {
  constant: 'constant',
  linear: 'linear',
  'sqrt(dist)': covariates(['sqrt(dist)']),
  'sqrt(dist) + linear': covariates(['sqrt(dist)', 'x', 'y']),
};

export function fitDataOf(of: Of): {
  readonly xy: Float64Array;
  readonly z: Float64Array;
  readonly trend: Trend;
} {
  return { ...data[of.data], trend: trends[of.trend] };
}

const glsKinds: Readonly<Record<string, { readonly kind: ModelKind; readonly factor: number }>> = {
  Sph: { kind: 'spherical', factor: 1 },
  Exp: { kind: 'exponential', factor: 3 },
  Gau: { kind: 'gaussian', factor: Math.sqrt(3) },
};

export function glsParameters({ model, range, nugget_share }: GlsFit): CorrelationParameters {
  const { kind, factor } = glsKinds[model];
  return { kind, effectiveRangeM: factor * range, nuggetShare: nugget_share };
}

export function writtenParameters(w: WrittenParameters): CorrelationParameters {
  return {
    kind: w.kind as ModelKind,
    effectiveRangeM: w.range,
    nuggetShare: w.nugget_share,
    smoothness: w.smoothness,
    long: w.long_share ? { effectiveRangeM: w.long_range!, share: w.long_share } : undefined,
    anisotropy: w.ratio === undefined ? undefined : { ratio: w.ratio, directionDeg: w.direction! },
  };
}
