import { stretched, type Anisotropy } from '../variogram/index.ts';
import { targetOf, type Quadrature } from './block.ts';
import { krigeFromNearest } from './fromNearest.ts';
import { krigeFromAll } from './fromAll.ts';
import type { Kriged, KrigeOutput } from './kriged.ts';
import type { SampleCovariance } from './support.ts';
import { driftOf, type KrigingTrend } from './trend.ts';

export interface KrigeOptions {
  /** Side of the square block to predict, m; 0 for points. */
  readonly blockM?: number;
  /** Nearest samples used at each node; all of them by default. */
  readonly neighbours?: number;
  /** Samples farther away are not used, m; none is too far by default. */
  readonly maxDistanceM?: number;
  /** Form of the mean; constant by default. */
  readonly trend?: KrigingTrend;
  /** Overrides that of the covariance. Distances, of neighbours too, are then those of the stretched plane. */
  readonly anisotropy?: Anisotropy;
  readonly quadrature?: Quadrature;
  /** Whether to return the Lagrange multipliers. */
  readonly lagrange?: boolean;
}

/**
 * Universal kriging of square blocks (or points) at nodes from samples of any support; ordinary kriging with a constant
 * mean. With K the samples' covariances, c those with the target, F and f₀ the trend at the samples and the node:
 * weights K⁻¹(c + F·m), m = (FᵀK⁻¹F)⁻¹(f₀ − FᵀK⁻¹c), and
 * σ² = C̄(B,B) − cᵀK⁻¹c + (f₀ − FᵀK⁻¹c)ᵀ(FᵀK⁻¹F)⁻¹(f₀ − FᵀK⁻¹c)
 * (Cressie 1993, sec. 3.4; for a constant mean eq. 3.2.16; in covariances). Under a trend `cov` is the residuals'.
 * @param xy samples, 2n metres
 * @param values n values, or undefined for variances only
 * @param nodes 2m metres
 * @throws RangeError when two samples without noise share a place (K is singular), when the trend cannot be told from
 * all samples, or when covariates do not fit the samples and nodes
 */
export function kriging(
  xy: Float64Array,
  values: Float64Array | undefined,
  nodes: Float64Array,
  cov: SampleCovariance,
  options: KrigeOptions = {},
): Kriged {
  const {
    blockM = 0,
    maxDistanceM = Infinity,
    trend = 'constant',
    anisotropy = cov.anisotropy,
    quadrature,
  } = options;
  const n = xy.length / 2;
  const m = nodes.length / 2;
  const neighbours = Math.min(n, options.neighbours ?? n);
  const target = targetOf(cov, blockM, anisotropy, quadrature);
  const drift = driftOf(trend, xy, nodes);
  const out: KrigeOutput = {
    predictions: new Float64Array(m).fill(NaN),
    variances: new Float64Array(m).fill(NaN),
    lagrange: options.lagrange ? new Float64Array(m).fill(NaN) : undefined,
  };
  const samplePlane = stretched(xy, anisotropy);
  const nodePlane = stretched(nodes, anisotropy);
  if (neighbours === n && maxDistanceM === Infinity)
    krigeFromAll(samplePlane, values, nodePlane, cov, target, drift, out);
  else
    krigeFromNearest(
      samplePlane,
      values,
      nodePlane,
      cov,
      target,
      drift,
      { most: neighbours, maxDistanceM },
      out,
    );
  return out.lagrange
    ? { ...out, lagrange: out.lagrange }
    : { predictions: out.predictions, variances: out.variances };
}

/** Kriging with an unknown constant mean: {@link kriging} by its usual name. */
export function ordinaryKriging(
  xy: Float64Array,
  values: Float64Array | undefined,
  nodes: Float64Array,
  cov: SampleCovariance,
  options: Omit<KrigeOptions, 'trend'> = {},
): Kriged {
  return kriging(xy, values, nodes, cov, options);
}
