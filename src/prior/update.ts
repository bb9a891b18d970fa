import { normalQuantile, randomNormal, seededRandom, type WorkingScale } from '../describe/index.ts';
import {
  logistic,
  prepareReduction,
  reducedParts,
  reducedScratch,
  type LinearTarget,
  type ModelKind,
  type ReducedCorrelation,
  type ReducedParts,
  type Reduction,
} from '../variogram/index.ts';
import type { Belief, BeliefOptions, Member, Sample } from './belief.ts';
import { cvOfSill, type Prior } from './prior.ts';
import {
  evenMixture,
  mixtureDensity,
  mixtureQuantile,
  normalDensity,
  PRIOR_SHARE,
  widened,
  type Mixture,
} from './proposal.ts';
import { logEvidence, logSillPrior, sillQuantile, type SillPrior } from './sillPosterior.ts';

/** One property whose belief is updated, measured at the shared places. */
export interface BeliefCase {
  readonly prior: Prior;
  readonly scale: WorkingScale;
  /** n values on the working scale, not all alike. */
  readonly z: Float64Array;
}

export interface UpdateOptions extends BeliefOptions {
  /** Something else the samples predict, such as the field's mean: each member then carries its prediction. */
  readonly target?: LinearTarget;
  /** Called after each reduction with how many there have been; may throw to stop. */
  readonly onReduction?: (done: number) => void;
}

export interface Update {
  readonly beliefs: readonly Belief[];
  /** The reductions made, for whoever wants the likelihood at the same ranges. */
  readonly reductions: readonly ReducedCorrelation[];
  readonly reduce: Reduction;
}

const KINDS: readonly ModelKind[] = ['spherical', 'exponential'];
/** Ranges per kind in the first round and in each later one, and nugget shares at each range. */
const FIRST_RANGES = 14;
const LATER_RANGES = 6;
const NUGGETS = 32;
/** Rounds are added until this many draws and ranges carry the weight, or there were so many rounds. */
const ENOUGH_DRAWS = 48;
const ENOUGH_RANGES = 7;
const MOST_ROUNDS = 5;

interface Node {
  readonly reduced: ReducedCorrelation;
  readonly kind: ModelKind;
  /** ln(range, m). */
  readonly a: number;
  /** Where in its stratum each nugget share is drawn, in (0, 1). */
  readonly jitter: number;
}

/** The draws of one case at one node. */
interface Drawn {
  readonly b: Float64Array;
  readonly parts: readonly (ReducedParts | undefined)[];
  /** Log evidence of each draw, without the prior of the range. */
  readonly log: Float64Array;
}

/**
 * The beliefs after data, by importance sampling with the restricted likelihood, of several properties at once.
 * Ranges are quasi-random (stratified) draws of the mixture of the properties' priors, and the structured correlation at each
 * is reduced once for all; nugget shares are stratified draws of each prior; the mean is integrated out (flat) and the
 * sill integrated by quadrature under its prior. Where few draws or ranges carry the weight, further ranges are drawn about the
 * posteriors of the properties concerned, mixed with the priors, and all rounds weighed together (deterministic-mixture
 * weights, Owen & Zhou 2000).
 * @param xy 2n metres, distinct places, n ≥ 2
 */
export function updateBeliefs(
  xy: Float64Array,
  cases: readonly BeliefCase[],
  options: UpdateOptions = {},
): Update {
  const { members: count = 256, seed = 1, target, onReduction } = options;
  const n = xy.length / 2;
  const reduce = prepareReduction(
    xy,
    cases.map((c) => c.z),
    target,
  );
  const scratch = reducedScratch(n);
  const sillPriors = cases.map(({ prior, scale, z }) => {
    const mean = z.reduce((s, v) => s + v, 0) / n;
    // A raw mean of exactly zero has no CV; any small level serves then.
    return logSillPrior(prior, scale, mean === 0 ? 1e-9 : mean);
  });
  const random = seededRandom(seed);
  const nodes: Node[] = [];
  const drawn: Drawn[][] = cases.map(() => []);
  const priors = evenMixture(cases.map((c) => c.prior.logRangeM));
  const rounds: { readonly size: number; readonly of: Readonly<Record<string, Mixture>> }[] = [];
  const uses = cases.map(() => 0);
  let judged: readonly Weighed[] = [];

  while (rounds.length < MOST_ROUNDS) {
    const of = Object.fromEntries(
      KINDS.map((kind) => [
        kind,
        rounds.length === 0 ? priors : proposalAbout(kind, nodes, judged, cases, priors),
      ]),
    );
    const size = rounds.length === 0 ? FIRST_RANGES : LATER_RANGES;
    rounds.push({ size, of });
    for (const kind of KINDS) {
      const shift = random();
      for (let i = 0; i < size; i++) {
        const a = mixtureQuantile(of[kind], (i + shift) / size);
        const node: Node = { kind, a, jitter: random(), reduced: reduce(kind, Math.exp(a)) };
        nodes.push(node);
        cases.forEach((c, k) => drawn[k].push(drawNuggets(node, k, c.prior, sillPriors[k], scratch)));
        onReduction?.(nodes.length);
      }
    }
    judged = cases.map((c, k) => weigh(c, nodes, drawn[k], rounds));
    judged.forEach((w, k) => {
      if (uses[k] === 0 && enough(w)) uses[k] = rounds.length;
    });
    if (judged.every(enough)) break;
  }

  const beliefs = cases.map((c, k): Belief => {
    const w = judged[k];
    return {
      scale: c.scale,
      members: resample(c, nodes, drawn[k], w, sillPriors[k], count, seed),
      effectiveSampleSize: w.draws,
      draws: nodes.length * NUGGETS,
      rounds: uses[k] === 0 ? rounds.length : uses[k],
      labVariance: c.prior.labVariance,
    };
  });
  return { beliefs, reductions: nodes.map((node) => node.reduced), reduce };
}

/** The belief after data of one property: {@link updateBeliefs} of one case. */
export function updateBelief(
  prior: Prior,
  scale: WorkingScale,
  sample: Sample,
  options: UpdateOptions = {},
): Belief {
  return updateBeliefs(sample.xy, [{ prior, scale, z: sample.z }], options).beliefs[0];
}

function drawNuggets(
  node: Node,
  variable: number,
  prior: Prior,
  sillPrior: SillPrior,
  scratch: ReturnType<typeof reducedScratch>,
): Drawn {
  const b = new Float64Array(NUGGETS);
  const log = new Float64Array(NUGGETS);
  const parts = Array.from(b, (_, j) => {
    b[j] = prior.logitNugget.mean + prior.logitNugget.sd * normalQuantile((j + node.jitter) / NUGGETS);
    const p = reducedParts(node.reduced, variable, logistic(b[j]), scratch);
    log[j] = p ? logEvidence(p, sillPrior) : -Infinity;
    return p;
  });
  return { b, parts, log };
}

/** Weights of all draws of one case, summing to one, with how many draws, and how many ranges, they amount to (Kish 1965). */
interface Weighed {
  /** NUGGETS values a node. */
  readonly weights: Float64Array;
  /** One value a node. */
  readonly ofNodes: Float64Array;
  readonly draws: number;
  readonly ranges: number;
}

const enough = (w: Weighed) => w.draws >= ENOUGH_DRAWS && w.ranges >= ENOUGH_RANGES;

function weigh(
  { prior }: BeliefCase,
  nodes: readonly Node[],
  drawn: readonly Drawn[],
  rounds: readonly { readonly size: number; readonly of: Readonly<Record<string, Mixture>> }[],
): Weighed {
  const total = rounds.reduce((s, r) => s + r.size, 0);
  const weights = new Float64Array(nodes.length * NUGGETS);
  nodes.forEach(({ a, kind }, i) => {
    const q = rounds.reduce((s, r) => s + (r.size / total) * mixtureDensity(r.of[kind], a), 0);
    const ratio =
      Math.log(Math.max(normalDensity(a, prior.logRangeM), 1e-300)) - Math.log(Math.max(q, 1e-300));
    for (let j = 0; j < NUGGETS; j++) weights[i * NUGGETS + j] = drawn[i].log[j] + ratio;
  });
  const most = weights.reduce((m, w) => Math.max(m, w), -Infinity);
  let sum = 0;
  for (let i = 0; i < weights.length; i++) sum += weights[i] = Math.exp(weights[i] - most);
  const ofNodes = new Float64Array(nodes.length);
  let [squares, nodeSquares] = [0, 0];
  for (let i = 0; i < nodes.length; i++) {
    for (let j = 0; j < NUGGETS; j++) {
      const w = (weights[i * NUGGETS + j] /= sum);
      ofNodes[i] += w;
      squares += w * w;
    }
    nodeSquares += ofNodes[i] * ofNodes[i];
  }
  return { weights, ofNodes, draws: 1 / squares, ranges: 1 / nodeSquares };
}

/** Where further ranges of a kind are drawn: about the posteriors that too few ranges carry, and a little everywhere. */
function proposalAbout(
  kind: ModelKind,
  nodes: readonly Node[],
  judged: readonly Weighed[],
  cases: readonly BeliefCase[],
  priors: Mixture,
): Mixture {
  const a = nodes.map((node) => node.a);
  const needy = judged.flatMap((w, k) => (enough(w) ? [] : [{ w, prior: cases[k].prior.logRangeM }]));
  const normals = needy.map(({ w, prior }) => {
    const own = w.ofNodes.map((v, i) => (nodes[i].kind === kind ? v : 0));
    const share = own.reduce((s, v) => s + v, 0);
    // A kind with next to no weight is looked at where the other kind has it.
    return widened(a, share < 0.02 ? w.ofNodes : own, w.ranges, prior);
  });
  return [
    ...priors.map((c) => ({ ...c, weight: PRIOR_SHARE * c.weight })),
    ...evenMixture(normals, 1 - PRIOR_SHARE),
  ];
}

/** An even ensemble by systematic resampling along the range, which keeps it even over what matters most. */
function resample(
  of: BeliefCase,
  nodes: readonly Node[],
  drawn: readonly Drawn[],
  { weights }: Weighed,
  sillPrior: SillPrior,
  count: number,
  seed: number,
): readonly Member[] {
  const order = nodes.map((_, i) => i).sort((i, j) => nodes[i].a - nodes[j].a);
  const random = seededRandom(seed ^ 0x5bd1e995);
  const members: Member[] = [];
  let cumulative = 0;
  let next = 0.5 / count;
  for (const i of order)
    for (let j = 0; j < NUGGETS; j++) {
      cumulative += weights[i * NUGGETS + j];
      const parts = drawn[i].parts[j];
      if (!parts) continue;
      while (next <= cumulative && members.length < count) {
        const sill = Math.exp(sillQuantile(parts, sillPrior, random()));
        const mean = parts.mean + Math.sqrt(sill / parts.oneRone) * randomNormal(random);
        members.push(memberOf(nodes[i].reduced, logistic(drawn[i].b[j]), parts, sill, mean, of));
        next += 1 / count;
      }
    }
  while (members.length < count && members.length > 0) members.push(members[members.length - 1]);
  return members;
}

function memberOf(
  { kind, effectiveRangeM }: ReducedCorrelation,
  nuggetShare: number,
  parts: ReducedParts,
  sill: number,
  mean: number,
  { scale, prior: { cvAtUnitSill } }: BeliefCase,
): Member {
  return {
    kind,
    effectiveRangeM,
    nuggetShare,
    sill,
    mean,
    // The mean is drawn like the rest, so nothing of it is left unknown.
    meanSd: 0,
    cv: cvOfSill(sill, scale, mean, cvAtUnitSill),
    ...(parts.target && {
      target: { mean: parts.target.mean, variance: parts.target.varianceOverSill * sill },
    }),
  };
}
