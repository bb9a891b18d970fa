import {
  correlationOf,
  structuresOf,
  type Anisotropy,
  type NestedVariogram,
  type Structure,
  type VariogramModel,
} from '../variogram/index.ts';
import { decay } from '../variogram/decay.ts';

/**
 * Covariances between what a sample is and the ground, as functions of distance (m).
 * `variance` is a sample's own variance; `between` two samples'; `toPoint` a sample and a point of the ground.
 */
export interface SampleCovariance {
  readonly variance: number;
  readonly between: (h: number) => number;
  readonly toPoint: (h: number) => number;
  /** Point-to-point covariance of the ground, its core-scale noise left out. */
  readonly ground: (h: number) => number;
  /** With it the distances are those of the stretched plane; kriging stretches positions and blocks. */
  readonly anisotropy?: Anisotropy;
  /** Distances at which `ground` has a kink that a quadrature should step at, m. */
  readonly kinksM?: readonly number[];
}

/** Samples that are single points: the nugget stays whole in the sample's own variance. Structures add. */
export function pointSamples(model: VariogramModel | NestedVariogram): SampleCovariance {
  const structures = structuresOf(model);
  const ground = groundCovariance(structures);
  return {
    variance: ground(0) + model.nugget,
    between: ground,
    toPoint: ground,
    ground,
    anisotropy: model.anisotropy,
    kinksM: kinksOf(structures),
  };
}

/** Σ partialSill · ρ(h). */
function groundCovariance(structures: readonly Structure[]): (h: number) => number {
  const parts = structures.filter((s) => s.partialSill !== 0).map(covarianceOf);
  if (parts.length === 1) return parts[0];
  return (h) => {
    let sum = 0;
    for (const covariance of parts) sum += covariance(h);
    return sum;
  };
}

/** One structure's; the exponential and the Gaussian without Math.exp, which kriging to many nodes would wait for. */
function covarianceOf(structure: Structure): (h: number) => number {
  const { kind, effectiveRangeM, partialSill } = structure;
  if (kind === 'exponential') {
    const rate = 3 / effectiveRangeM;
    return (h) => partialSill * decay(rate * h);
  }
  if (kind === 'gaussian') {
    const rate = 3 / (effectiveRangeM * effectiveRangeM);
    return (h) => partialSill * decay(rate * h * h);
  }
  const rho = correlationOf(structure);
  return (h) => partialSill * rho(h);
}

/** The spherical's second derivative jumps at its range; the other models are smooth but at 0. */
function kinksOf(structures: readonly Structure[]): readonly number[] {
  return structures.filter((s) => s.kind === 'spherical').map((s) => s.effectiveRangeM);
}

/** How a composite is made and read. Variances on the working scale. */
export interface CompositeSupport {
  readonly radiusM: number;
  readonly cores: number;
  /** Core-to-core variance at one place: divided by the number of cores. */
  readonly coreVariance: number;
  /** Laboratory (and bag handling) variance: not divided. */
  readonly labVariance: number;
}

/** Equal-area rings of points in the unit disc: 1 + 6 + 12 + 18 = 37 points. */
const discPattern: readonly (readonly [number, number])[] = (() => {
  const out: [number, number][] = [[0, 0]];
  let inside = 1;
  for (const count of [6, 12, 18]) {
    const radius = Math.sqrt((inside + count / 2) / 37);
    for (let i = 0; i < count; i++) {
      const a = (2 * Math.PI * (i + 0.5)) / count;
      out.push([radius * Math.cos(a), radius * Math.sin(a)]);
    }
    inside += count;
  }
  return out;
})();

/**
 * Composites of cores pulled at random places within a circle. The structured part is averaged over the circle
 * (Journel & Huijbregts 1978, regularisation); of a composite's own structured variance 1/m stays at point
 * support and the rest is the circle's mean covariance; core-to-core variance falls as 1/m, laboratory error does not.
 * Within four radii (and to beyond a short spherical range) covariances are averaged over 37 × 37 points; beyond, by
 * the second-order expansion ρ + (r²/8)·∇²ρ (circle to point) and ρ + (r²/4)·∇²ρ (circle to circle).
 * @param smoothness of a Matérn correlation
 */
export function compositeSamples(
  kind: VariogramModel['kind'],
  effectiveRangeM: number,
  partialSill: number,
  support: CompositeSupport,
  smoothness?: number,
): SampleCovariance {
  const { radiusM: r, cores, coreVariance, labVariance } = support;
  const shape = { kind, effectiveRangeM, smoothness };
  const rho = covarianceOf({ ...shape, partialSill: 1 });
  const ground = covarianceOf({ ...shape, partialSill });
  const noise = coreVariance / cores + labVariance;
  const kinksM = kinksOf([{ ...shape, partialSill }]);
  if (r === 0) return { variance: partialSill + noise, between: ground, toPoint: ground, ground, kinksM };

  // A spherical correlation has a kink at its range that no expansion follows: short ranges are tabled to beyond it.
  const near =
    kind === 'spherical' && effectiveRangeM < 12 * r ? Math.max(4 * r, effectiveRangeM + 2 * r) : 4 * r;
  const step = r / 8;
  const nodes = Math.ceil(near / step) + 2;
  const point = new Float64Array(nodes);
  const disc = new Float64Array(nodes);
  for (let i = 0; i < nodes; i++) {
    const h = i * step;
    for (const [ux, uy] of discPattern) {
      point[i] += rho(Math.hypot(h + r * ux, r * uy)) / 37;
      for (const [vx, vy] of discPattern) {
        const dx = h + r * (ux - vx);
        const dy = r * (uy - vy);
        disc[i] += rho(Math.sqrt(dx * dx + dy * dy)) / 1369;
      }
    }
  }
  const table = (t: Float64Array, h: number) => {
    const at = h / step;
    const i = Math.floor(at);
    return partialSill * (t[i] + (t[i + 1] - t[i]) * (at - i));
  };
  const expanded = expansionOf(kind, effectiveRangeM, partialSill, rho, r);
  const farDisc = expanded((r * r) / 4);
  const farPoint = expanded((r * r) / 8);
  return {
    variance: partialSill * (1 / cores + (1 - 1 / cores) * disc[0]) + noise,
    between: (h) => (h < near ? table(disc, h) : farDisc(h)),
    toPoint: (h) => (h < near ? table(point, h) : farPoint(h)),
    ground,
    kinksM,
  };
}

/** sill·(ρ + factor·∇²ρ) by factor, with ∇²ρ = ρ″ + ρ′/h in the plane. */
function expansionOf(
  kind: VariogramModel['kind'],
  effectiveRangeM: number,
  sill: number,
  rho: (h: number) => number,
  radiusM: number,
): (factor: number) => (h: number) => number {
  const a = effectiveRangeM;
  switch (kind) {
    case 'exponential': {
      const rate = 3 / a;
      return (factor) => {
        const [one, over] = [sill * (1 + factor * rate * rate), sill * factor * rate];
        return (h) => decay(rate * h) * (one - over / h);
      };
    }
    case 'spherical': {
      const cubed = a * a * a;
      return (factor) => {
        const [linear, cubic, over] = [
          sill * (1.5 / a - (4.5 * factor) / cubed),
          (0.5 * sill) / cubed,
          (1.5 * sill * factor) / a,
        ];
        return (h) => (h >= a ? 0 : sill - h * (linear - cubic * h * h) - over / h);
      };
    }
    case 'gaussian':
      return (factor) => (h) => sill * rho(h) * (1 + (factor * 12 * ((3 * h * h) / (a * a) - 1)) / (a * a));
    case 'matern': {
      // A small correction to ρ, so that differences over a fraction of the circle do.
      const d = radiusM / 4;
      return (factor) => (h) => {
        const [before, here, after] = [rho(h - d), rho(h), rho(h + d)];
        return (
          sill * (here + factor * ((after - 2 * here + before) / (d * d) + (after - before) / (2 * d * h)))
        );
      };
    }
  }
}
