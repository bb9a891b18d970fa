import type { ModelKind } from '../variogram/index.ts';
import type { Normal, Prior } from './prior.ts';

/** A draw of importance sampling: `a` is ln(range, m), `b` the logit of the nugget share. */
export interface Draw {
  readonly kind: ModelKind;
  readonly a: number;
  readonly b: number;
}

/** Share of the prior in the proposals of later rounds: it keeps every weight bounded. */
export const PRIOR_SHARE = 0.15;

/** A normal of ln(range), and of logit(nugget) given it. */
export interface Shape {
  readonly a: Normal;
  readonly b: Normal;
  readonly slope: number;
}

/** Moments of one model kind's weighted draws; of all draws where the kind has next to no weight. */
export function fitShape(
  draws: readonly Draw[],
  all: readonly number[],
  kind: ModelKind,
  prior: Prior,
  ess: number,
): Shape {
  const share = all.reduce((s, w, i) => s + (draws[i].kind === kind ? w : 0), 0);
  const weights = share < 0.02 ? all : all.map((w, i) => (draws[i].kind === kind ? w / share : 0));
  let [ma, mb] = [0, 0];
  draws.forEach((d, i) => {
    ma += weights[i] * d.a;
    mb += weights[i] * d.b;
  });
  let [vaa, vbb, vab] = [0, 0, 0];
  draws.forEach((d, i) => {
    vaa += weights[i] * (d.a - ma) ** 2;
    vbb += weights[i] * (d.b - mb) ** 2;
    vab += weights[i] * (d.a - ma) * (d.b - mb);
  });
  // Wider than the draws seen: a few heavy draws understate the spread, the more the fewer they are.
  const floor = Math.min(0.6, Math.max(0.1, 1 / Math.sqrt(ess)));
  const a: Normal = { mean: ma, sd: Math.max(1.3 * Math.sqrt(vaa), floor * prior.logRangeM.sd) };
  const slope = vaa > 1e-8 ? vab / vaa : 0;
  const b: Normal = {
    mean: mb,
    sd: Math.max(1.3 * Math.sqrt(Math.max(0, vbb - slope * vab)), floor * prior.logitNugget.sd),
  };
  return { a, b, slope };
}

/** Density of a proposal mixed with the prior. */
export function mixture(shape: Shape, priorDensity: (a: number, b: number) => number) {
  return (a: number, b: number) =>
    PRIOR_SHARE * priorDensity(a, b) +
    (1 - PRIOR_SHARE) *
      normalDensity(a, shape.a) *
      normalDensity(b, { mean: shape.b.mean + shape.slope * (a - shape.a.mean), sd: shape.b.sd });
}

/** Density of a normal distribution. */
export function normalDensity(x: number, { mean, sd }: Normal): number {
  const t = (x - mean) / sd;
  return Math.exp(-0.5 * t * t) / (sd * 2.5066282746310002);
}
