import { toWorld, type Frame } from '../field/index.ts';
import { costOfSampling, type SamplingCost } from '../value/index.ts';
import { correlationOf } from '../variogram/structure.ts';
import type { Interval, Stop } from './advice.ts';
import { isMap, type Candidate } from './candidates.ts';
import { costRatesOf } from './costs.ts';
import type { MovedUnder } from './movedStops.ts';
import type { AdviceOptions } from './options.ts';
import { inSentence, sayDistance, sayMoney, sayPercent } from './words.ts';

/**
 * Close pairs: a few stops get a second sample some metres away, in a bag of its own. Two samples so near differ by little
 * but what no grid can tell from pattern: laboratory, cores and the finest variation, the nugget (Lark & Marchant 2018, Geoderma
 * 319: 89-99, put about a tenth of a sample into close pairs; from memory). They cost a sample each, and sharpen the nugget's share, not this year's map.
 */
export interface ClosePairs {
  readonly pairs: number;
  readonly distanceM: number;
  /** What the extra samples cost, in money. */
  readonly cost: number;
  /** Width of the interval of the property's nugget share that is expected, over its present width on the log scale. */
  readonly widthRatio: number;
  readonly sentence: string;
}

/** Directions tried about a stop for its partner. */
const DIRECTIONS = 16;
/** Turn from one pair's direction to the next: the golden angle, so that no direction is left out. */
const TURN = Math.PI * (3 - Math.sqrt(5));

/** How far apart the two samples of a pair are, m: their circles of cores don't meet, and five at least. */
export const pairDistanceM = ({ stopRadiusM }: Pick<AdviceOptions, 'stopRadiusM'>): number =>
  Math.max(5, 2 * stopRadiusM);

/**
 * Stops with partners inserted behind some of them, evenly along the walk; those with no clear ground about them are
 * passed over for the next. Orders and labels are counted anew, and a stop whose label named its own sample keeps doing so.
 */
export function withClosePairs(
  stops: readonly Stop[],
  pairs: number,
  distanceM: number,
  frame: Frame,
  clear: (x: number, y: number) => boolean,
): readonly Stop[] {
  const partners = new Map<number, readonly [number, number]>();
  const wanted = Math.min(pairs, stops.length);
  for (let p = 0; p < wanted; p++) {
    const first = Math.floor(((p + 0.5) * stops.length) / wanted);
    for (let step = 0; step < stops.length; step++) {
      const i = (first + step) % stops.length;
      if (partners.has(i) || stops[i].noClearGround) continue;
      const at = partnerOf(stops[i], distanceM, p * TURN, clear);
      if (!at) continue;
      partners.set(i, at);
      break;
    }
  }
  return stops
    .flatMap((stop, i) => {
      const partner = partners.get(i);
      if (!partner) return [stop];
      const [xM, yM] = partner;
      const { order, label, cores, sample } = stop;
      return [stop, { order, label, xM, yM, world: toWorld(frame, partner), cores, sample, pairOf: label }];
    })
    .map(renumbered());
}

/** Numbers stops in their order, and says of a partner by its new number whose it is. */
function renumbered(): (stop: Stop, i: number) => Stop {
  const newLabel = new Map<string, string>();
  return (stop, i) => {
    const label = String(i + 1);
    if (stop.pairOf === undefined) newLabel.set(stop.label, label);
    return {
      ...stop,
      ...{ order: i + 1, label, sample: label },
      ...(stop.pairOf !== undefined && { pairOf: newLabel.get(stop.pairOf) }),
    };
  };
}

function partnerOf(
  { xM, yM }: Stop,
  distanceM: number,
  turn: number,
  clear: (x: number, y: number) => boolean,
): readonly [number, number] | undefined {
  for (let d = 0; d < DIRECTIONS; d++) {
    const angle = turn + (2 * Math.PI * d) / DIRECTIONS;
    const at = [xM + distanceM * Math.cos(angle), yM + distanceM * Math.sin(angle)] as const;
    if (clear(...at)) return at;
  }
  return undefined;
}

/**
 * How much narrower k pairs make the interval of a nugget share, on the log scale. Half a pair's squared difference has the
 * mean γ = n + s·(1 − ρ(h)), n and s the shares of nugget and structure, and of k pairs the mean is γ·χ²ₖ/k, whose
 * logarithm has the variance ψ′(k/2). Carried over to n (delta method) that is ψ′(k/2)·(γ/n)², and adds to the belief's
 * precision. What the other samples of the same year tell is left out, so less is promised than will come; that
 * composites average part of the difference is left out too.
 * @param nuggetShare the belief's, 80 %; @param correlationBetween ρ at the pair's distance
 */
export function nuggetWidthRatio(nuggetShare: Interval, correlationBetween: number, pairs: number): number {
  if (pairs === 0) return 1;
  const floor = 1e-3;
  const share = Math.max(floor, nuggetShare.mid);
  // An 80 % interval of a normal is 2.563 standard deviations wide.
  const logSd = Math.log(nuggetShare.high / Math.max(floor, nuggetShare.low)) / 2.5631;
  if (!(logSd > 0)) return 1;
  const between = share + (1 - share) * (1 - correlationBetween);
  const ofPairs = trigamma(pairs / 2) * (between / share) ** 2;
  return Math.sqrt(1 / (1 + (logSd * logSd) / ofPairs));
}

/** ψ′(x) for x > 0: recurrence up to 6, then the asymptotic series (Abramowitz & Stegun 1964, 6.4.6 and 6.4.12). */
export function trigamma(x: number): number {
  let sum = 0;
  let at = x;
  for (; at < 6; at++) sum += 1 / (at * at);
  const inverse = 1 / at;
  const square = inverse * inverse;
  return (
    sum +
    inverse +
    square / 2 +
    inverse * square * (1 / 6 - square * (1 / 30 - square * (1 / 42 - square / 30)))
  );
}

/** What the pairs laid in a plan cost and buy; undefined where there are none. */
export function closePairs(
  stops: readonly Stop[],
  candidate: Candidate,
  cost: SamplingCost,
  areaHa: number,
  { study, member }: MovedUnder,
  options: AdviceOptions,
): ClosePairs | undefined {
  const pairs = stops.filter((s) => s.pairOf !== undefined).length;
  if (pairs === 0 || !isMap(candidate)) return undefined;
  const distanceM = pairDistanceM(options);
  const { total } = costOfSampling(
    {
      areaHa,
      samples: candidate.samples + pairs,
      coresPerSample: candidate.cores,
      places: candidate.places + pairs,
      routeM: cost.walkM + 2 * distanceM * pairs,
    },
    costRatesOf(options),
  );
  const between = correlationOf(member)(distanceM);
  const { nuggetShare } = study.advice.belief;
  const widthRatio = nuggetWidthRatio(nuggetShare, between, pairs);
  const extra = total - cost.total;
  return {
    ...{ pairs, distanceM, widthRatio, cost: extra },
    sentence:
      `${pairs} ${pairs === 1 ? 'stop gets' : 'stops get'} a second sample ${sayDistance(distanceM, options)} away, in a bag of its own: ${sayMoney(extra, options)} more than stated above. ` +
      `It tells what varies at one place from what varies over the field: the 80 % interval of that share for ${inSentence(study.advice.label)}, now ${sayPercent(nuggetShare.low)} to ${sayPercent(nuggetShare.high)}, is expected to shrink to about ${sayPercent(widthRatio)} of its width. It helps the next advice, not this map.`,
  };
}
