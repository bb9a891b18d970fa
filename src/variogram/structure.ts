import type { Anisotropy } from './anisotropy.ts';
import { decay } from './decay.ts';
import { DEFAULT_SMOOTHNESS, maternCorrelation, maternEffectiveDistance, maternOf } from './matern.ts';

/**
 * The standardised structured part of a variogram. Ranges are *effective*: where the spherical model reaches its
 * sill, and where any other's correlation has fallen to e⁻³ (within 5 % of its sill; 3 times the exponential's
 * distance parameter, √3 times the Gaussian's), so that one range means one distance on the ground whatever the model.
 * Webster & Oliver 2007, Geostatistics for Environmental Scientists, ch. 5.
 */
export type ModelKind = 'spherical' | 'exponential' | 'gaussian' | 'matern';

/** The form of a correlation; `smoothness` (ν, 1.5 unless given) means something for 'matern' alone. */
export interface Shape {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly smoothness?: number;
}

/** One structure of a nested variogram. `partialSill` is a variance on the working scale. */
export interface Structure extends Shape {
  readonly partialSill: number;
}

/**
 * A bounded variogram model: a nugget and one structure. Variances are on the working scale. A pure nugget has
 * partialSill 0. With `anisotropy`, distances are those of the {@link stretched} plane.
 */
export interface VariogramModel extends Structure {
  readonly nugget: number;
  readonly anisotropy?: Anisotropy;
}

/** A nugget and any number of structures, whose semivariances add. None is a pure nugget. */
export interface NestedVariogram {
  readonly nugget: number;
  readonly structures: readonly Structure[];
  readonly anisotropy?: Anisotropy;
}

/** Correlation of a structure at distance h (m); 1 at h = 0. `smoothness` is ν of the Matérn model. */
export function correlation(
  kind: ModelKind,
  effectiveRangeM: number,
  h: number,
  smoothness = DEFAULT_SMOOTHNESS,
): number {
  const t = h / effectiveRangeM;
  switch (kind) {
    case 'spherical':
      return h >= effectiveRangeM ? 0 : 1 - t * (1.5 - 0.5 * t * t);
    case 'exponential':
      return Math.exp((-3 * h) / effectiveRangeM);
    case 'gaussian':
      return Math.exp(-3 * t * t);
    case 'matern':
      return maternCorrelation(smoothness, maternEffectiveDistance(smoothness) * t);
  }
}

/**
 * The correlation as a function of distance alone (m), for loops: what depends on the model is worked out once.
 * A Matérn model without closed form is interpolated to within 1e-8.
 */
export function correlationOf({
  kind,
  effectiveRangeM,
  smoothness = DEFAULT_SMOOTHNESS,
}: Shape): (h: number) => number {
  switch (kind) {
    case 'spherical': {
      const [linear, cubic] = [1.5 / effectiveRangeM, 0.5 / effectiveRangeM ** 3];
      return (h) => (h >= effectiveRangeM ? 0 : 1 - h * (linear - cubic * h * h));
    }
    case 'exponential': {
      const rate = 3 / effectiveRangeM;
      return (h) => decay(rate * h);
    }
    case 'gaussian': {
      const rate = 3 / (effectiveRangeM * effectiveRangeM);
      return (h) => decay(rate * h * h);
    }
    case 'matern': {
      const scale = maternEffectiveDistance(smoothness) / effectiveRangeM;
      const rho = maternOf(smoothness);
      return (h) => rho(scale * h);
    }
  }
}

/** The structures of a model in either form. */
export function structuresOf(model: VariogramModel | NestedVariogram): readonly Structure[] {
  return 'structures' in model ? model.structures : [model];
}

/** Nugget and partial sills together: the variance far away. */
export function totalSill(model: VariogramModel | NestedVariogram): number {
  return structuresOf(model).reduce((sum, s) => sum + s.partialSill, model.nugget);
}

/**
 * Semivariance at lag h (m, in the stretched plane when the model is anisotropic): nugget + Σ partialSill · (1 − ρ(h));
 * 0 at h = 0.
 */
export function semivariance(model: VariogramModel | NestedVariogram, h: number): number {
  if (h === 0) return 0;
  if (!('structures' in model))
    return (
      model.nugget +
      model.partialSill * (1 - correlation(model.kind, model.effectiveRangeM, h, model.smoothness))
    );
  let gamma = model.nugget;
  for (const s of model.structures)
    gamma += s.partialSill * (1 - correlation(s.kind, s.effectiveRangeM, h, s.smoothness));
  return gamma;
}

/** The semivariance as a function of distance alone (m), for loops. */
export function semivarianceOf(model: VariogramModel | NestedVariogram): (h: number) => number {
  const parts = structuresOf(model).map((s) => ({ sill: s.partialSill, rho: correlationOf(s) }));
  const { nugget } = model;
  if (parts.length === 1) {
    const [{ sill, rho }] = parts;
    return (h) => (h === 0 ? 0 : nugget + sill * (1 - rho(h)));
  }
  return (h) => {
    if (h === 0) return 0;
    let gamma = nugget;
    for (const { sill, rho } of parts) gamma += sill * (1 - rho(h));
    return gamma;
  };
}
