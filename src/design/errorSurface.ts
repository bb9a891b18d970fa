import type { ModelKind } from '../variogram/index.ts';
import type { MapError, MapErrors, MapUse } from './mapErrors.ts';

/** Ranges (natural logarithms of metres, evenly spaced) and noise ratios (likewise) that errors are computed at. */
export interface SurfaceAxes {
  readonly kinds: readonly ModelKind[];
  readonly logRange: EvenAxis;
  readonly logNoise: EvenAxis;
}

export interface EvenAxis {
  readonly from: number;
  readonly step: number;
  readonly count: number;
}

/** Errors of one design as a function of model, range and noise ratio, for a structured variance of 1. */
export type ErrorSurface = (kind: ModelKind, logRange: number, logNoise: number) => MapError;

/** An axis that covers [low, high] with steps of at most `step`, and at least four nodes. */
export function evenAxis(low: number, high: number, step: number): EvenAxis {
  const count = Math.max(4, Math.ceil((high - low) / step) + 1);
  return { from: low, step: Math.max((high - low) / (count - 1), 1e-6), count };
}

/**
 * Tables a design's errors over range and noise for both uses of the map, and interpolates between by cubics in both (four-point Lagrange),
 * squared errors in logarithms. Outside the axes the nearest value stands.
 * @param errorsAt errors of the design under a model and range
 */
export function errorSurfaces(
  axes: SurfaceAxes,
  errorsAt: (kind: ModelKind, effectiveRangeM: number) => MapErrors,
): Readonly<Record<MapUse, ErrorSurface>> {
  const { kinds, logRange, logNoise } = axes;
  const perKind = logRange.count * logNoise.count * 4;
  const tables = {
    interpolated: new Float64Array(kinds.length * perKind),
    'own cell': new Float64Array(kinds.length * perKind),
  };
  kinds.forEach((kind, k) => {
    for (let r = 0; r < logRange.count; r++) {
      const errors = errorsAt(kind, Math.exp(logRange.from + r * logRange.step));
      for (let s = 0; s < logNoise.count; s++)
        for (const use of ['interpolated', 'own cell'] as const) {
          const e = errors(Math.exp(logNoise.from + s * logNoise.step), use);
          tables[use].set(
            [logOf(e.meanSquaredError), logOf(e.median), logOf(e.p90), e.covariance],
            k * perKind + (r * logNoise.count + s) * 4,
          );
        }
    }
  });
  const read =
    (table: Float64Array): ErrorSurface =>
    (kind, a, b) => {
      const k = kinds.indexOf(kind);
      if (k < 0) throw new RangeError(`No errors were computed for the ${kind} model.`);
      const u = cubicAt(logRange, a);
      const v = cubicAt(logNoise, b);
      const sum = [0, 0, 0, 0];
      for (let i = 0; i < 4; i++)
        for (let j = 0; j < 4; j++) {
          const w = u.weights[i] * v.weights[j];
          const base = k * perKind + ((u.first + i) * logNoise.count + v.first + j) * 4;
          for (let f = 0; f < 4; f++) sum[f] += w * table[base + f];
        }
      return {
        meanSquaredError: Math.exp(sum[0]),
        median: Math.exp(sum[1]),
        p90: Math.exp(sum[2]),
        covariance: sum[3],
      };
    };
  return { interpolated: read(tables.interpolated), 'own cell': read(tables['own cell']) };
}

const logOf = (v: number) => Math.log(Math.max(v, 1e-12));

/** Four nodes about x and their Lagrange weights. */
export function cubicAt(
  { from, step, count }: EvenAxis,
  x: number,
): { readonly first: number; readonly weights: readonly [number, number, number, number] } {
  const at = Math.min(count - 1, Math.max(0, (x - from) / step));
  const first = Math.min(count - 4, Math.max(0, Math.floor(at) - 1));
  const t = at - first;
  return {
    first,
    weights: [
      ((t - 1) * (t - 2) * (t - 3)) / -6,
      (t * (t - 2) * (t - 3)) / 2,
      (t * (t - 1) * (t - 3)) / -2,
      (t * (t - 1) * (t - 2)) / 6,
    ],
  };
}

/** Rows of values tabled over the range for each model, and interpolated between by cubics. */
export function rangeTable(
  { kinds, logRange }: Pick<SurfaceAxes, 'kinds' | 'logRange'>,
  width: number,
  rowAt: (kind: ModelKind, effectiveRangeM: number) => ArrayLike<number>,
): (kind: ModelKind, logRange: number) => Float64Array {
  const table = new Float64Array(kinds.length * logRange.count * width);
  kinds.forEach((kind, k) => {
    for (let r = 0; r < logRange.count; r++)
      table.set(rowAt(kind, Math.exp(logRange.from + r * logRange.step)), (k * logRange.count + r) * width);
  });
  return (kind, a) => {
    const k = kinds.indexOf(kind);
    const { first, weights } = cubicAt(logRange, a);
    const out = new Float64Array(width);
    for (let i = 0; i < 4; i++)
      for (let f = 0; f < width; f++)
        out[f] += weights[i] * table[(k * logRange.count + first + i) * width + f];
    return out;
  };
}
