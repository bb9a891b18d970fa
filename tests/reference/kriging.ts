/**
 * Kriging by R's gstat 2.1.0 on the meuse data (sp 1.6.0; log zinc, coordinates less 180 km and 331 km) and on 500
 * invented points. `kriging.R` beside this file made the JSON.
 */
import type { ModelKind, NestedVariogram, Structure } from '../../src/variogram/index.ts';
import raw from './kriging.json';

interface GstatStructure {
  readonly model: string;
  readonly psill: number;
  readonly range: number;
  readonly kappa: number;
  readonly directionDeg: number;
  readonly ratio: number;
}

export interface GstatVariogram {
  readonly nugget: number;
  readonly structures: readonly GstatStructure[];
}

export type ReferenceTrend = 'constant' | 'linear' | 'covariate';

export interface KrigingCase {
  readonly name: string;
  readonly trend: ReferenceTrend;
  readonly model: GstatVariogram;
  /** Block side, number of nearest samples and greatest distance; 0 for none. */
  readonly block: number;
  readonly nmax: number;
  readonly maxdist: number;
  readonly pred: readonly (number | null)[];
  readonly var: readonly (number | null)[];
}

export interface LeaveOneOutCase {
  readonly name: string;
  readonly trend: ReferenceTrend;
  readonly model: GstatVariogram;
  readonly residual: readonly number[];
  readonly var: readonly number[];
  readonly zscore: readonly number[];
}

/** Of Matérn with smoothness 1 and 3/2 the x at which ρ(x) = e⁻³: R's uniroot on 2^(1−ν)/Γ(ν)·x^ν·besselK(x, ν). */
const MATERN: ReadonlyMap<number, number> = new Map([
  [1, 4.00329618949394],
  [1.5, 4.7490313860127],
]);

const kinds: Readonly<Record<string, ModelKind>> = {
  Sph: 'spherical',
  Exp: 'exponential',
  Gau: 'gaussian',
  Mat: 'matern',
};

/** Effective range over gstat's distance parameter. */
const effective: Readonly<Record<string, (kappa: number) => number>> = {
  Sph: () => 1,
  Exp: () => 3,
  Gau: () => Math.sqrt(3),
  Mat: (kappa) => MATERN.get(kappa)!,
};

function flat(x: readonly number[], y: readonly number[]): Float64Array {
  return Float64Array.from(x.flatMap((v, i) => [v, y[i]]));
}

/** A gstat model as ours. All structures of one model have one anisotropy. */
export function nestedFrom(model: GstatVariogram): NestedVariogram {
  const structures = model.structures.map((s): Structure => ({
    kind: kinds[s.model],
    partialSill: s.psill,
    effectiveRangeM: s.range * effective[s.model](s.kappa),
    smoothness: s.model === 'Mat' ? s.kappa : undefined,
  }));
  const [{ ratio, directionDeg }] = model.structures;
  return { nugget: model.nugget, structures, anisotropy: ratio < 1 ? { ratio, directionDeg } : undefined };
}

export const meuseSamples = {
  xy: flat(raw.samples.x, raw.samples.y),
  z: Float64Array.from(raw.samples.z),
  rootDistance: Float64Array.from(raw.samples.d),
};
export const meuseNodes = {
  xy: flat(raw.nodes.x, raw.nodes.y),
  rootDistance: Float64Array.from(raw.nodes.d),
};
export const krigingCases = raw.cases as readonly KrigingCase[];
export const leaveOneOutCases = raw.leaveOneOut as readonly LeaveOneOutCase[];
export const nearest32 = {
  model: nestedFrom(raw.nearest32.model),
  xy: flat(raw.nearest32.samples.x, raw.nearest32.samples.y),
  z: Float64Array.from(raw.nearest32.samples.z),
  nodes: flat(raw.nearest32.nodes.x, raw.nearest32.nodes.y),
  pred: raw.nearest32.pred as readonly number[],
  var: raw.nearest32.var as readonly number[],
};
