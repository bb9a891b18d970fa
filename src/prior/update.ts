import { cvOfLogSd, normalQuantile, seededRandom, type Scale } from '../describe/index.ts';
import { prepareLikelihood, type LikelihoodParts, type ModelKind } from '../variogram/index.ts';
import { logistic, type Belief, type BeliefOptions, type Member, type Sample } from './belief.ts';
import type { Prior } from './prior.ts';
import { fitShape, mixture, normalDensity, PRIOR_SHARE, type Draw, type Shape } from './proposal.ts';
import { quasiRandom4 } from './quasiRandom.ts';
import { logEvidence, logSillPrior, sillQuantile } from './sillPosterior.ts';

/** Rounds are added about the posterior until the effective sample size reaches this, or there were so many. */
const ENOUGH_EFFECTIVE = 48;
const MOST_ROUNDS = 6;
/**
 * The belief after data, by importance sampling with the restricted likelihood.
 * Range and nugget share are drawn quasi-randomly from the prior; the mean is integrated out (flat), and the sill
 * is integrated by quadrature under its lognormal prior for each draw, so that only two parameters are sampled.
 * When the effective sample size is small, further rounds are drawn from a normal fitted to the weighted
 * draws, mixed with the prior, and all rounds weighed together (deterministic-mixture weights, Owen & Zhou 2000).
 * @param sample distinct places, at least two values that are not all alike
 */
export function updateBelief(
  prior: Prior,
  scale: Scale,
  sample: Sample,
  options: BeliefOptions = {},
): Belief {
  const { members: count = 256, draws: perRound = 160, seed = 1 } = options;
  const likelihood = prepareLikelihood(sample.xy, sample.z);
  const n = sample.z.length;
  const sampleMean = sample.z.reduce((s, v) => s + v, 0) / n;
  // A raw mean of exactly zero has no CV; any small level serves then.
  const sillPrior = logSillPrior(prior, scale, sampleMean === 0 ? 1e-9 : sampleMean);

  const draws: Draw[] = [];
  const held: (LikelihoodParts | undefined)[] = [];
  const logTarget: number[] = [];
  const proposals: ((d: Draw) => number)[] = [];
  const priorDensity = (a: number, b: number) =>
    normalDensity(a, prior.logRangeM) * normalDensity(b, prior.logitNugget);
  let weights: number[] = [];
  let ess = 0;
  let rounds = 0;
  let shapes: Readonly<Record<ModelKind, Shape>> | undefined;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    rounds++;
    const about = shapes;
    proposals.push((d) => (about ? mixture(about[d.kind], priorDensity)(d.a, d.b) : priorDensity(d.a, d.b)));
    for (let i = 0; i < perRound; i++) {
      const u = quasiRandom4(i, seed + 7919 * round);
      const [za, zb] = [normalQuantile(u[0]), normalQuantile(u[1])];
      const kind: ModelKind = i % 2 ? 'exponential' : 'spherical';
      const shape = shapes?.[kind];
      let a: number;
      let b: number;
      if (shape && u[2] > PRIOR_SHARE) {
        a = shape.a.mean + shape.a.sd * za;
        b = shape.b.mean + shape.slope * (a - shape.a.mean) + shape.b.sd * zb;
      } else {
        a = prior.logRangeM.mean + prior.logRangeM.sd * za;
        b = prior.logitNugget.mean + prior.logitNugget.sd * zb;
      }
      const draw: Draw = { kind, a, b };
      const parts = likelihood({ kind: draw.kind, effectiveRangeM: Math.exp(a), nuggetShare: logistic(b) });
      draws.push(draw);
      held.push(parts);
      logTarget.push(
        parts ? logEvidence(parts, sillPrior) + Math.log(Math.max(priorDensity(a, b), 1e-300)) : -Infinity,
      );
    }
    const logWeights = draws.map((d, i) => {
      const q = proposals.reduce((s, p) => s + p(d), 0) / proposals.length;
      return logTarget[i] - Math.log(Math.max(q, 1e-300));
    });
    const most = Math.max(...logWeights);
    weights = logWeights.map((w) => Math.exp(w - most));
    const total = weights.reduce((s, w) => s + w, 0);
    weights = weights.map((w) => w / total);
    ess = 1 / weights.reduce((s, w) => s + w * w, 0);
    if (ess >= ENOUGH_EFFECTIVE) break;
    shapes = {
      spherical: fitShape(draws, weights, 'spherical', prior, ess),
      exponential: fitShape(draws, weights, 'exponential', prior, ess),
    };
  }

  // Systematic resampling along the range keeps the ensemble even over what matters most.
  const order = draws.map((_, i) => i).sort((i, j) => draws[i].a - draws[j].a);
  const members: Member[] = [];
  let cumulative = 0;
  let next = 0.5 / count;
  const random = seededRandom(seed ^ 0x5bd1e995);
  for (const i of order) {
    cumulative += weights[i];
    const parts = held[i];
    if (!parts) continue;
    while (next <= cumulative && members.length < count) {
      const sill = Math.exp(sillQuantile(parts, sillPrior, random()));
      members.push(memberOf(draws[i], parts, sill, scale));
      next += 1 / count;
    }
  }
  while (members.length < count && members.length > 0) members.push(members[members.length - 1]);
  return {
    scale,
    members,
    effectiveSampleSize: ess,
    draws: draws.length,
    rounds,
    labVariance: prior.labVariance,
  };
}

function memberOf(draw: Draw, parts: LikelihoodParts, sill: number, scale: Scale): Member {
  return {
    kind: draw.kind,
    effectiveRangeM: Math.exp(draw.a),
    nuggetShare: logistic(draw.b),
    sill,
    mean: parts.mean,
    meanSd: Math.sqrt(sill / parts.oneRone),
    cv: scale === 'log' ? cvOfLogSd(Math.sqrt(sill)) : Math.sqrt(sill) / Math.abs(parts.mean),
  };
}
