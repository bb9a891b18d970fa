import { cvOfLogSd, normalQuantile, seededRandom, weightedQuantile, type Scale } from '../describe/index.ts';
import {
  prepareLikelihood,
  restrictedLogLikelihood,
  type LikelihoodParts,
  type ModelKind,
} from '../variogram/index.ts';
import { sillOfCv, type Normal, type Prior } from './prior.ts';

/** One way the property may vary: a variogram with its mean, on the working scale. */
export interface Member {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly nuggetShare: number;
  /** Total variance of a sample, nugget included. */
  readonly sill: number;
  /** Mean of the process and the standard deviation of what is not known of it. */
  readonly mean: number;
  readonly meanSd: number;
  /** Coefficient of variation on the user's scale, a fraction. */
  readonly cv: number;
}

/** A weighted ensemble made even: every member weighs the same. */
export interface Belief {
  readonly scale: Scale;
  readonly members: readonly Member[];
  /** Kish's effective number of the weighted draws behind the members. */
  readonly effectiveSampleSize: number;
  readonly draws: number;
  readonly rounds: number;
  readonly labVariance: number;
}

export interface Sample {
  /** 2n metres. */
  readonly xy: Float64Array;
  /** n values on the working scale. */
  readonly z: Float64Array;
}

export interface BeliefOptions {
  readonly seed?: number;
  /** Members of the resulting ensemble. */
  readonly members?: number;
  /** Draws of range and nugget per round of importance sampling. */
  readonly draws?: number;
}

/** Rounds are added about the posterior until the effective sample size reaches this, or there were so many. */
const ENOUGH_EFFECTIVE = 48;
const MOST_ROUNDS = 6;
const SILL_NODES = 41;

interface Draw {
  readonly kind: ModelKind;
  readonly a: number;
  readonly b: number;
}

/**
 * The belief before data: quasi-random draws of the prior.
 */
export function priorBelief(prior: Prior, scale: Scale, options: BeliefOptions = {}): Belief {
  const { members: count = 256, seed = 1 } = options;
  const members: Member[] = [];
  for (let i = 0; i < count; i++) {
    const u = quasiRandom4(i, seed);
    const cv = Math.exp(prior.logCv.mean + prior.logCv.sd * normalQuantile(u[2]));
    const mean = prior.mean.mean + prior.mean.sd * normalQuantile(u[3]);
    members.push({
      kind: i % 2 ? 'exponential' : 'spherical',
      effectiveRangeM: Math.exp(prior.logRangeM.mean + prior.logRangeM.sd * normalQuantile(u[0])),
      nuggetShare: logistic(prior.logitNugget.mean + prior.logitNugget.sd * normalQuantile(u[1])),
      sill: sillOfCv(cv, scale, mean),
      mean,
      meanSd: 0,
      cv,
    });
  }
  return {
    scale,
    members,
    effectiveSampleSize: count,
    draws: count,
    rounds: 0,
    labVariance: prior.labVariance,
  };
}

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
  const sillPrior: Normal = logSillPrior(prior, scale, sampleMean);

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

const PRIOR_SHARE = 0.15;

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

/** Normal prior of ln(sill) that the CV's prior amounts to, at the sample's mean on the raw scale. */
function logSillPrior(prior: Prior, scale: Scale, sampleMean: number): Normal {
  const at = (z: number) =>
    Math.log(sillOfCv(Math.exp(prior.logCv.mean + prior.logCv.sd * z), scale, sampleMean));
  return { mean: at(0), sd: (at(1) - at(-1)) / 2 };
}

/** Nodes of ln(sill) that cover the product of its prior and its likelihood. */
function sillGrid(parts: LikelihoodParts, prior: Normal): { from: number; step: number } {
  const data = Math.log(parts.residualSS / Math.max(1, parts.n - 1));
  const dataPrecision = (parts.n - 1) / 2;
  const precision = 1 / prior.sd ** 2 + dataPrecision;
  const centre = (prior.mean / prior.sd ** 2 + data * dataPrecision) / precision;
  // With few points the likelihood's upper tail is long: the grid leans that way.
  const width = 6 / Math.sqrt(precision);
  return { from: centre - width, step: (2.2 * width) / (SILL_NODES - 1) };
}

function sillLogDensities(
  parts: LikelihoodParts,
  prior: Normal,
): { grid: { from: number; step: number }; log: number[] } {
  const grid = sillGrid(parts, prior);
  const log: number[] = [];
  for (let k = 0; k < SILL_NODES; k++) {
    const u = grid.from + k * grid.step;
    const t = (u - prior.mean) / prior.sd;
    log.push(restrictedLogLikelihood(parts, Math.exp(u)) - 0.5 * t * t - Math.log(prior.sd));
  }
  return { grid, log };
}

/** ln ∫ L(sill) p(ln sill) d ln sill, the mean already integrated out. */
function logEvidence(parts: LikelihoodParts, prior: Normal): number {
  const { grid, log } = sillLogDensities(parts, prior);
  const most = Math.max(...log);
  return most + Math.log(grid.step * log.reduce((s, v) => s + Math.exp(v - most), 0));
}

function sillQuantile(parts: LikelihoodParts, prior: Normal, p: number): number {
  const { grid, log } = sillLogDensities(parts, prior);
  const most = Math.max(...log);
  const mass = log.map((v) => Math.exp(v - most));
  const total = mass.reduce((s, v) => s + v, 0);
  let sum = 0;
  for (let k = 0; k < mass.length; k++) {
    if (sum + mass[k] >= p * total) return grid.from + (k - 0.5 + (p * total - sum) / mass[k]) * grid.step;
    sum += mass[k];
  }
  return grid.from + (mass.length - 1) * grid.step;
}

/** A normal of ln(range), and of logit(nugget) given it. */
interface Shape {
  readonly a: Normal;
  readonly b: Normal;
  readonly slope: number;
}

/** Moments of one model kind's weighted draws; of all draws where the kind has next to no weight. */
function fitShape(
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

function mixture(shape: Shape, priorDensity: (a: number, b: number) => number) {
  return (a: number, b: number) =>
    PRIOR_SHARE * priorDensity(a, b) +
    (1 - PRIOR_SHARE) *
      normalDensity(a, shape.a) *
      normalDensity(b, { mean: shape.b.mean + shape.slope * (a - shape.a.mean), sd: shape.b.sd });
}

const logistic = (x: number) => 1 / (1 + Math.exp(-x));

function normalDensity(x: number, { mean, sd }: Normal): number {
  const t = (x - mean) / sd;
  return Math.exp(-0.5 * t * t) / (sd * 2.5066282746310002);
}

/** Four-dimensional additive recurrence (Roberts 2018, "R_d"; from memory), shifted by the seed. */
function quasiRandom4(i: number, seed: number): readonly [number, number, number, number] {
  const g = 1.1673039782614187;
  const at = (k: number) => {
    const shiftBy = ((Math.imul(seed ^ (k * 0x9e3779b1), 0x85ebca6b) >>> 0) + 0.5) / 4294967296;
    return Math.min(1 - 1e-9, Math.max(1e-9, (shiftBy + (i + 1) / g ** k) % 1));
  };
  return [at(1), at(2), at(3), at(4)];
}

/** 10th, 50th and 90th percentiles over the members of whatever is computed from one. */
export function overMembers(
  belief: Belief,
  value: (m: Member) => number,
): { readonly low: number; readonly mid: number; readonly high: number } {
  const values = belief.members.map(value);
  const even = values.map(() => 1);
  return {
    low: weightedQuantile(values, even, 0.1),
    mid: weightedQuantile(values, even, 0.5),
    high: weightedQuantile(values, even, 0.9),
  };
}

/** An even subset of the members, for what is costly to compute for each. */
export function thin(belief: Belief, count: number): readonly Member[] {
  const n = belief.members.length;
  if (n <= count) return belief.members;
  return Array.from({ length: count }, (_, i) => belief.members[Math.floor(((i + 0.5) * n) / count)]);
}
