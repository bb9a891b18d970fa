import {
  normalQuantile,
  randomNormal,
  seededRandom,
  type Random,
  type WorkingScale,
} from '../describe/index.ts';
import {
  logistic,
  prepareReduction,
  reducedParts,
  reducedScratch,
  type LinearTarget,
  type ModelKind,
  type ReducedCorrelation,
  type ReducedParts,
  type ReducedScratch,
  type Reduction,
} from '../variogram/index.ts';
import {
  drawPlane,
  middleOf,
  planeBasis,
  planeParts,
  planeVariance,
  spreadOf,
  type PlaneBasis,
  type PlaneParts,
  type SecondMoments,
} from '../variogram/planeMean.ts';
import type { Belief, BeliefOptions, Member, PlaneOfMean, Sample } from './belief.ts';
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
import { residualSillPrior } from './residualSill.ts';
import { logEvidence, logSillPrior, sillQuantile, type SillPrior } from './sillPosterior.ts';

/** One property whose belief is updated, measured at the shared places. */
export interface BeliefCase {
  readonly prior: Prior;
  readonly scale: WorkingScale;
  /** n values on the working scale, not all alike. */
  readonly z: Float64Array;
  /** Where the mean is taken as a plane in the coordinates: the variance it has over the field, as estimated beforehand. */
  readonly plane?: { readonly variance: number };
}

export interface UpdateOptions extends BeliefOptions {
  /** Something else the samples predict, such as the field's mean: each member then carries its prediction. */
  readonly target?: LinearTarget;
  /** Needed by cases with a plane: where the places and the nodes of the field truly lie, 2n and 2q metres, not stretched. */
  readonly ground?: { readonly places: Float64Array; readonly nodes: Float64Array };
  /** Called after each reduction with how many there have been; may throw to stop. */
  readonly onReduction?: (done: number) => void;
}

export interface Update {
  readonly beliefs: readonly Belief[];
  /** The reductions made, for whoever wants the likelihood at the same ranges. */
  readonly reductions: readonly ReducedCorrelation[];
  readonly reduce: Reduction;
  /** Where among the reductions' variables the columns of a plane are, when a case asked for one. */
  readonly planeColumns?: readonly [number, number];
}

/** What a case with a plane for its mean needs. */
interface PlaneGround {
  readonly basis: PlaneBasis;
  readonly columns: readonly [number, number];
  /** The columns' values in the middle of the field. */
  readonly middle: readonly [number, number];
  readonly spread: SecondMoments;
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
  readonly parts: readonly (ReducedParts | PlaneParts | undefined)[];
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
 * A case with a plane for its mean is updated by the restricted likelihood of that plane (flat prior of its slopes), from the same
 * reductions; each member then draws its own plane.
 * @param xy 2n metres, distinct places, n ≥ 2; with a plane n ≥ 5 and not on a line
 * @throws RangeError when a case asks for a plane that the places cannot tell
 */
export function updateBeliefs(
  xy: Float64Array,
  cases: readonly BeliefCase[],
  options: UpdateOptions = {},
): Update {
  const { members: count = 256, seed = 1, target, onReduction } = options;
  const n = xy.length / 2;
  const plane = cases.some((c) => c.plane) ? planeGround(options.ground, cases.length) : undefined;
  const reduce = prepareReduction(xy, [...cases.map((c) => c.z), ...(plane?.basis.columns ?? [])], target);
  const scratch = reducedScratch(n);
  const sillPriors = cases.map(({ prior, scale, z, plane: own }) => {
    const mean = z.reduce((s, v) => s + v, 0) / n;
    // A raw mean of exactly zero has no CV; any small level serves then.
    const whole = logSillPrior(prior, scale, mean === 0 ? 1e-9 : mean);
    return own ? residualSillPrior(whole, own.variance) : whole;
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
        cases.forEach((c, k) =>
          drawn[k].push(drawNuggets(node, k, c.prior, sillPriors[k], scratch, c.plane && plane)),
        );
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
      members: resample(c, nodes, drawn[k], w, sillPriors[k], count, seed, plane),
      effectiveSampleSize: w.draws,
      draws: nodes.length * NUGGETS,
      rounds: uses[k] === 0 ? rounds.length : uses[k],
      labVariance: c.prior.labVariance,
    };
  });
  return { beliefs, reductions: nodes.map((node) => node.reduced), reduce, planeColumns: plane?.columns };
}

function planeGround(ground: UpdateOptions['ground'], cases: number): PlaneGround {
  const basis = ground && planeBasis(ground.places);
  if (!basis) throw new RangeError('A plane needs places that do not lie on a line.');
  const [x, y] = middleOf(ground.nodes);
  return { basis, columns: [cases, cases + 1], middle: basis.at(x, y), spread: spreadOf(ground.nodes) };
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
  scratch: ReducedScratch,
  plane: PlaneGround | undefined,
): Drawn {
  const b = new Float64Array(NUGGETS);
  const log = new Float64Array(NUGGETS);
  const parts = Array.from(b, (_, j) => {
    b[j] = prior.logitNugget.mean + prior.logitNugget.sd * normalQuantile((j + node.jitter) / NUGGETS);
    const nuggetShare = logistic(b[j]);
    const p = plane
      ? planeParts(node.reduced, variable, plane.columns, nuggetShare, scratch, plane.middle)
      : reducedParts(node.reduced, variable, nuggetShare, scratch);
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
  plane: PlaneGround | undefined,
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
        const about =
          plane && 'beta' in parts
            ? planeDrawn(parts, sill, plane, random)
            : { mean: parts.mean + Math.sqrt(sill / parts.oneRone) * randomNormal(random) };
        members.push(memberOf(nodes[i].reduced, logistic(drawn[i].b[j]), parts, sill, about, of));
        next += 1 / count;
      }
    }
  while (members.length < count && members.length > 0) members.push(members[members.length - 1]);
  return members;
}

/** A plane for one member: its level in the middle of the field, its slope and its variance over the field. */
function planeDrawn(
  parts: PlaneParts,
  sill: number,
  { basis, middle, spread }: PlaneGround,
  random: Random,
): { readonly mean: number; readonly plane: PlaneOfMean } {
  const { mean, beta } = drawPlane(parts, sill, () => randomNormal(random));
  const slope = basis.slopeOf(...beta);
  return {
    mean: mean + beta[0] * middle[0] + beta[1] * middle[1],
    plane: { ...slope, variance: planeVariance(spread, slope) },
  };
}

function memberOf(
  { kind, effectiveRangeM }: ReducedCorrelation,
  nuggetShare: number,
  parts: ReducedParts,
  sill: number,
  { mean, plane }: { readonly mean: number; readonly plane?: PlaneOfMean },
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
    cv: cvOfSill(sill + (plane?.variance ?? 0), scale, mean, cvAtUnitSill),
    ...(plane && { plane }),
    ...(parts.target && {
      target: { mean: parts.target.mean, variance: parts.target.varianceOverSill * sill },
    }),
  };
}
