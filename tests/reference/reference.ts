/**
 * Foreign values to test against: R's gstat 2.1.0, sp 1.6.0 and nlme 3.1.162 on the oxford soil data
 * (Burrough & McDonnell 1998, Principles of Geographical Information Systems) and the meuse topsoil data
 * that those packages ship. `make_reference.R` beside this file made the JSON and the CSV.
 */
import { readFileSync } from 'node:fs';
import type { ModelKind, VariogramBin, VariogramModel } from '../../src/variogram/index.ts';
import lattice from './lattice.json';
import meuse from './meuse.json';
import oxford from './oxford.json';

interface ReferenceBin {
  readonly np: number;
  readonly dist: number;
  readonly gamma: number;
}

interface DirectionalBin extends ReferenceBin {
  readonly 'dir.hor': number;
}

/** A model as gstat writes it: for Exp the range is the distance parameter, a third of the effective range. */
export interface GstatModel {
  readonly model: string;
  readonly nugget: number;
  readonly psill: number;
  readonly range: number;
}

export interface GstatFit extends GstatModel {
  readonly sse: number;
  readonly singular: boolean;
}

export interface NlmeFit {
  readonly range: number;
  readonly nugget_share: number;
  readonly sill: number;
  readonly mean: number;
  readonly logLik: number;
}

export interface ReferenceVariable {
  readonly cutoff: number;
  readonly width: number;
  readonly classical: readonly ReferenceBin[];
  readonly cressie_hawkins: readonly ReferenceBin[];
  readonly directional: readonly DirectionalBin[];
  readonly fits: Readonly<Record<string, GstatFit>>;
  readonly reml: Readonly<Record<string, NlmeFit>>;
}

export interface KnownPoints {
  readonly name: string;
  readonly xy: Float64Array;
  readonly z: Float64Array;
  readonly reference: ReferenceVariable;
}

/** Columns of a CSV file beside this one, by header; text columns come out as NaN. */
function columns(file: string): (name: string) => Float64Array {
  const rows = readFileSync(new URL(file, import.meta.url), 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.split(',').map((cell) => cell.replace(/"/g, '')));
  return (name) => {
    const at = rows[0].indexOf(name);
    if (at < 0) throw new Error(`${file} has no column ${name}.`);
    return Float64Array.from(rows.slice(1), (row) => Number(row[at]));
  };
}

function flat(x: Float64Array, y: Float64Array): Float64Array {
  const xy = new Float64Array(2 * x.length);
  x.forEach((v, i) => {
    xy[2 * i] = v;
    xy[2 * i + 1] = y[i];
  });
  return xy;
}

const oxfordColumn = columns('./oxford.csv');
const meuseColumn = columns('./meuse.csv');

export const oxfordXy = flat(oxfordColumn('XCOORD'), oxfordColumn('YCOORD'));
export const oxfordValues = (variable: string): Float64Array => oxfordColumn(variable);

const raw: Readonly<Record<string, ReferenceVariable>> = oxford.raw;
const log: Readonly<Record<string, ReferenceVariable>> = oxford.log;

export const meuseLogZinc: KnownPoints = {
  name: 'meuse log zinc',
  xy: flat(meuseColumn('x'), meuseColumn('y')),
  z: meuseColumn('zinc').map(Math.log),
  reference: meuse.log_zinc,
};

/** The bins and spherical fit of gstat's defaults: cutoff a third of the diagonal, 15 bins. */
export const meuseDefault: { readonly bins: readonly ReferenceBin[]; readonly sph: GstatFit } =
  meuse.log_zinc_default;

/** Every variable of both data sets, named "raw PHOS1", "log PHOS1", …, "meuse log zinc". */
export const everyVariable: readonly KnownPoints[] = [
  ...Object.keys(raw).map((v) => ({
    name: `raw ${v}`,
    xy: oxfordXy,
    z: oxfordColumn(v),
    reference: raw[v],
  })),
  ...Object.keys(log).map((v) => ({
    name: `log ${v}`,
    xy: oxfordXy,
    z: oxfordColumn(v).map(Math.log),
    reference: log[v],
  })),
  meuseLogZinc,
];

export const kindOf: Readonly<Record<string, ModelKind>> = { Sph: 'spherical', Exp: 'exponential' };

/** gstat's and nlme's range to ours. */
export function effectiveRangeM(model: string, range: number): number {
  return model === 'Exp' ? 3 * range : range;
}

export function fromGstat(m: GstatModel): VariogramModel {
  return {
    kind: kindOf[m.model],
    nugget: m.nugget,
    partialSill: m.psill,
    effectiveRangeM: effectiveRangeM(m.model, m.range),
  };
}

export function fromBins(bins: readonly ReferenceBin[]): VariogramBin[] {
  return bins.map((b) => ({ pairs: b.np, distanceM: b.dist, gamma: b.gamma }));
}

export const oxfordKrige = oxford.krige;
export const latticeCases = lattice.cases;
export const brusLattice = lattice.brus2022;
