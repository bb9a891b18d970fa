/**
 * The standardised structured part of a variogram. Ranges are *effective*: where the spherical model reaches its
 * sill, and where the exponential has come within 5 % of it (3 times its distance parameter), so that one
 * range means one distance on the ground whatever the model. Webster & Oliver 2007, Geostatistics for
 * Environmental Scientists, ch. 5.
 */
export type ModelKind = 'spherical' | 'exponential';

/** A bounded isotropic variogram model. `nugget` and `partialSill` are variances on the working scale. */
export interface VariogramModel {
  readonly kind: ModelKind;
  readonly nugget: number;
  readonly partialSill: number;
  readonly effectiveRangeM: number;
}

/** Correlation of the structured part at distance h (m); 1 at h = 0. */
export function correlation(kind: ModelKind, effectiveRangeM: number, h: number): number {
  if (kind === 'exponential') return Math.exp((-3 * h) / effectiveRangeM);
  if (h >= effectiveRangeM) return 0;
  const t = h / effectiveRangeM;
  return 1 - t * (1.5 - 0.5 * t * t);
}

/** Semivariance at lag h (m): nugget + partialSill · (1 − ρ(h)); 0 at h = 0. */
export function semivariance(model: VariogramModel, h: number): number {
  if (h === 0) return 0;
  return model.nugget + model.partialSill * (1 - correlation(model.kind, model.effectiveRangeM, h));
}
