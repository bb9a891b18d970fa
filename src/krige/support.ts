import { correlation, type VariogramModel } from '../variogram/index.ts';

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
}

/** Samples that are single points: the nugget stays whole in the sample's own variance. */
export function pointSamples(model: VariogramModel): SampleCovariance {
  const { kind, effectiveRangeM, partialSill, nugget } = model;
  const ground = (h: number) => partialSill * correlation(kind, effectiveRangeM, h);
  return { variance: partialSill + nugget, between: ground, toPoint: ground, ground };
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
 * Within four radii (and to beyond a short spherical range) covariances are averaged over 37 × 37 points; beyond, by the second-order expansion
 * ρ + (r²/8)·∇²ρ (circle to point) and ρ + (r²/4)·∇²ρ (circle to circle).
 */
export function compositeSamples(
  kind: VariogramModel['kind'],
  effectiveRangeM: number,
  partialSill: number,
  support: CompositeSupport,
): SampleCovariance {
  const { radiusM: r, cores, coreVariance, labVariance } = support;
  const ground = (h: number) => partialSill * correlation(kind, effectiveRangeM, h);
  const noise = coreVariance / cores + labVariance;
  if (r === 0) return { variance: partialSill + noise, between: ground, toPoint: ground, ground };

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
      point[i] += correlation(kind, effectiveRangeM, Math.hypot(h + r * ux, r * uy)) / 37;
      for (const [vx, vy] of discPattern) {
        const dx = h + r * (ux - vx);
        const dy = r * (uy - vy);
        disc[i] += correlation(kind, effectiveRangeM, Math.sqrt(dx * dx + dy * dy)) / 1369;
      }
    }
  }
  const table = (t: Float64Array, h: number) => {
    const at = h / step;
    const i = Math.floor(at);
    return partialSill * (t[i] + (t[i + 1] - t[i]) * (at - i));
  };
  const far = (h: number, factor: number) =>
    partialSill * (correlation(kind, effectiveRangeM, h) + factor * laplacian(kind, effectiveRangeM, h));
  return {
    variance: partialSill * (1 / cores + (1 - 1 / cores) * disc[0]) + noise,
    between: (h) => (h < near ? table(disc, h) : far(h, (r * r) / 4)),
    toPoint: (h) => (h < near ? table(point, h) : far(h, (r * r) / 8)),
    ground,
  };
}

/** ∇²ρ = ρ″ + ρ′/h in the plane. */
function laplacian(kind: VariogramModel['kind'], effectiveRangeM: number, h: number): number {
  if (kind === 'exponential') {
    const phi = effectiveRangeM / 3;
    return Math.exp(-h / phi) * (1 / (phi * phi) - 1 / (phi * h));
  }
  if (h >= effectiveRangeM) return 0;
  const a = effectiveRangeM;
  return (3 * h) / (a * a * a) + (-1.5 / a + (1.5 * h * h) / (a * a * a)) / h;
}
