/**
 * Foreign values made by `variograms.R` beside this file: base R's Bessel and gamma functions, fields 14.1's Matérn
 * correlation, gstat 2.1.0's models, experimental variograms and fits, and estimators that gstat lacks by their
 * definitions in plain R; on the oxford and meuse data (see reference.ts).
 */
import { maternEffectiveDistance } from '../../src/variogram/index.ts';
import type { NestedVariogram, Structure } from '../../src/variogram/index.ts';
import { everyVariable, type KnownPoints } from './reference.ts';
import json from './variograms.json';

export interface ReferenceBin {
  readonly np: number;
  readonly dist: number;
  readonly gamma: number;
}

/** A structure as gstat writes it: range is the distance parameter. */
export interface GstatStructure {
  readonly model: string;
  readonly psill: number;
  readonly range: number;
  readonly kappa?: number;
}

export interface GstatLine {
  readonly kind: string;
  readonly kappa: number;
  readonly range: number;
  readonly nugget: number;
  readonly psill: number;
  readonly h: readonly number[];
  readonly gamma: readonly number[];
}

export interface GstatFit {
  /** gstat's fit.method: 7 weights N/h², 1 weights N, 6 none. */
  readonly method: number;
  readonly nugget: number;
  readonly structures: readonly GstatStructure[];
  readonly sse: number;
  readonly singular: boolean;
}

export interface ExperimentalReference {
  readonly cutoff: number;
  readonly width: number;
  readonly boundaries: readonly number[];
  readonly by_boundaries: readonly ReferenceBin[];
  readonly narrow: readonly (ReferenceBin & { readonly 'dir.hor': number })[];
  readonly narrow_tolerance: number;
  readonly banded: readonly {
    readonly direction: number;
    readonly tolerance: number;
    readonly band: number;
    readonly bins: readonly ReferenceBin[];
  }[];
  readonly dowd: readonly ReferenceBin[];
  readonly genton: readonly ReferenceBin[];
  readonly genton_north: readonly ReferenceBin[];
}

interface FitsReference {
  readonly bins: readonly ReferenceBin[];
  readonly single: readonly GstatFit[];
  readonly nested: readonly GstatFit[];
}

/** gstat's structure with its range made effective. */
export function structureFromGstat({ model, psill, range, kappa = 0.5 }: GstatStructure): Structure {
  const partialSill = psill;
  switch (model) {
    case 'Sph':
      return { kind: 'spherical', partialSill, effectiveRangeM: range };
    case 'Exp':
      return { kind: 'exponential', partialSill, effectiveRangeM: 3 * range };
    case 'Gau':
      return { kind: 'gaussian', partialSill, effectiveRangeM: Math.sqrt(3) * range };
    case 'Mat':
    case 'Ste': {
      // Stein's form: M(2·√κ·h/a).
      const parameter = model === 'Ste' ? range / (2 * Math.sqrt(kappa)) : range;
      return {
        kind: 'matern',
        partialSill,
        effectiveRangeM: maternEffectiveDistance(kappa) * parameter,
        smoothness: kappa,
      };
    }
    default:
      throw new Error(`No model of ours for gstat's ${model}.`);
  }
}

export function nestedFromGstat(fit: {
  readonly nugget: number;
  readonly structures: readonly GstatStructure[];
}): NestedVariogram {
  return { nugget: fit.nugget, structures: fit.structures.map(structureFromGstat) };
}

export const besselValues: readonly { nu: number; x: number; k: number }[] = json.bessel;
export const logGammaValues: readonly { nu: number; lgamma: number }[] = json.log_gamma;
export const gstatLines: readonly GstatLine[] = json.models;
export const nestedLine: {
  readonly nugget: number;
  readonly structures: readonly GstatStructure[];
  readonly h: readonly number[];
  readonly gamma: readonly number[];
} = json.nested_line;
export const fieldsMatern: readonly {
  readonly nu: number;
  readonly range: number;
  readonly h: readonly number[];
  readonly rho: readonly number[];
}[] = json.matern;

function pointsNamed(name: string): KnownPoints {
  const found = everyVariable.find((v) => v.name === name);
  if (!found) throw new Error(`No data named ${name}.`);
  return found;
}

const experimental: Readonly<Record<string, ExperimentalReference>> = json.experimental;
export const experimentalCases = Object.entries(experimental).map(([name, expected]) => ({
  name,
  xy: pointsNamed(name).xy,
  z: pointsNamed(name).z,
  expected,
}));

const fits: Readonly<Record<string, FitsReference>> = json.fits;
export const fitCases = Object.entries(fits).map(([name, fit]) => ({ name, ...fit }));
