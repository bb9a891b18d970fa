import { metresToFeet } from '../units/index.ts';

/** A few extra samples close to stops, to learn how much of the variance lies below the present spacing. */
export interface NestedSample {
  /** Distances of the pairs, m, longest first. */
  readonly distancesM: readonly number[];
  /** Pairs at each distance, and in all. */
  readonly pairsAtEach: number;
  readonly pairs: number;
  /** What it costs: each pair uses a sample that is there already and one that is extra. */
  readonly extraSamples: number;
  /** Relative standard error of the semivariance found at each distance. */
  readonly relativeSe: number;
  readonly sentence: string;
}

export interface NestedSampleOptions {
  /** Relative standard error wanted of the semivariance at each distance. */
  readonly targetRelativeSe?: number;
  /** Distances below the spacing. */
  readonly levels?: number;
  /** Each distance over the next shorter one. */
  readonly ratio?: number;
  /** Shortest distance at which two composites are still two, m. */
  readonly shortestM?: number;
}

/**
 * A nested sample below the present spacing: at each of m stops a first extra sample a third of the spacing away,
 * a second a third of that from the first, and so on, each in a direction drawn at random. Distances in a geometric
 * progression (Youden & Mehlich 1937; Webster & Oliver 2007, ch. 6), one chain instead of a full hierarchy, since pairs
 * at every stage shared evenly serve better than a balanced tree for the same number of samples (Lark 2011; from memory).
 * A semivariance from m independent pairs of normal values is σ²·χ²(m)/m, so its relative standard error is √(2/m).
 * The usual half (eight pairs a distance) tells a nugget of a quarter of the sill from one of three quarters; target,
 * levels, ratio and shortest distance are judgement of this project.
 *
 * @param spacingM distance between neighbours now
 * @returns undefined when the spacing is below twice the shortest distance: nothing closer can be sampled
 * @throws RangeError when the target is not above 0, the ratio not above 1 or the levels below 1
 */
export function proposeNestedSample(
  spacingM: number,
  options: NestedSampleOptions = {},
): NestedSample | undefined {
  const { targetRelativeSe = 0.5, levels = 2, ratio = 3, shortestM = 5 } = options;
  if (!(targetRelativeSe > 0) || !(ratio > 1) || !(levels >= 1) || !(shortestM > 0))
    throw new RangeError(
      `A nested sample needs a target above 0, a ratio above 1 and a level; given ${targetRelativeSe}, ${ratio}, ${levels}.`,
    );
  if (!(spacingM >= 2 * shortestM)) return undefined;
  const distancesM: number[] = [];
  for (let level = 1; level <= levels; level++) {
    const distanceM = spacingM / ratio ** level;
    if (distanceM >= shortestM) distancesM.push(distanceM);
  }
  if (distancesM.length === 0) distancesM.push(shortestM);
  // A hair off, so that a target that is met exactly by a whole number isn't missed by rounding.
  const pairsAtEach = Math.max(2, Math.ceil(2 / targetRelativeSe ** 2 - 1e-9));
  const pairs = pairsAtEach * distancesM.length;
  const relativeSe = Math.sqrt(2 / pairsAtEach);
  const said = distancesM.map((d) => `${roundM(d)} m (${roundM(metresToFeet(d))} ft)`);
  const sentence =
    `At ${pairsAtEach} of the stops take ${distancesM.length === 1 ? 'one more sample' : `${distancesM.length} more samples in a chain`}, ` +
    `${said.join(', then ')} further on, each in a direction drawn at random: ${pairs} extra samples, which tell how much ` +
    `two samples differ at ${distancesM.length === 1 ? 'that distance' : 'each distance'} to within about ${Math.round(100 * relativeSe)} %.`;
  return { distancesM, pairsAtEach, pairs, extraSamples: pairs, relativeSe, sentence };
}

/** To two figures: no one paces a metre out of a hundred. */
const roundM = (v: number): number => Number(v.toPrecision(2));
