import type { Anisotropy } from './anisotropy.ts';
import { correlation, correlationOf, type ModelKind, type Shape } from './structure.ts';
import { tabulatedInLogDistance } from './tabulated.ts';

/** A second structure of longer range, beside the first. */
export interface LongStructure {
  readonly effectiveRangeM: number;
  /** Its share of the structured variance, 0 … 1; the first structure has the rest. */
  readonly share: number;
}

/**
 * The correlation of the samples: structured share 1 − ν with effective range a, and nugget share ν.
 * Optionally the Matérn's smoothness, a second structure of the same kind, and geometric anisotropy of both
 * (the ranges are then those of the greatest direction).
 */
export interface CorrelationParameters {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly nuggetShare: number;
  readonly smoothness?: number;
  readonly long?: LongStructure;
  readonly anisotropy?: Anisotropy;
}

/** Least and greatest distance between the points at hand, m. */
export interface DistanceBounds {
  readonly leastM: number;
  readonly greatestM: number;
}

/**
 * Correlation of the structured part by distance (m, in the stretched plane), both structures together, as a function for
 * loops over many pairs.
 */
export function structuredCorrelation(
  p: CorrelationParameters,
  within: DistanceBounds,
): (h: number) => number {
  const { kind, smoothness, long } = p;
  const near = quick({ kind, effectiveRangeM: p.effectiveRangeM, smoothness }, within);
  if (!long || long.share <= 0) return near;
  const far = quick({ kind, effectiveRangeM: long.effectiveRangeM, smoothness }, within);
  const { share } = long;
  return (h) => (1 - share) * near(h) + share * far(h);
}

/** Smoothness with a closed form; any other needs a Bessel function. */
const CLOSED = [0.5, 1.5, 2.5];

function quick(shape: Shape, { leastM, greatestM }: DistanceBounds): (h: number) => number {
  const { kind, effectiveRangeM, smoothness = 1.5 } = shape;
  if (kind !== 'matern' || CLOSED.includes(smoothness)) return correlationOf(shape);
  return tabulatedInLogDistance((h) => correlation(kind, effectiveRangeM, h, smoothness), leastM, greatestM);
}
