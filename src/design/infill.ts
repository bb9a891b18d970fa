import { rasterNodes, type FlatPositions, type Region } from '../field/index.ts';
import { insetTest } from '../field/inside.ts';
import type { SampleCovariance } from '../krige/index.ts';
import { conditionedOn, copyOf, meanVarianceOf, meanVarianceWith, takeStop } from './conditioned.ts';
import { exchangeStops } from './exchange.ts';

export interface InfillOptions {
  /** Side of the square block to predict, m; 0 (points) unless given. */
  readonly blockM?: number;
  /** Whether stops are exchanged after the greedy choice; they are unless told otherwise. */
  readonly exchange?: boolean;
}

export interface Infill {
  /** The new stops, 2·count metres: in the order taken, an exchanged one in the place of the one it replaced. */
  readonly xy: FlatPositions;
  /** Their places in the list of candidates. */
  readonly chosen: Int32Array;
  /** Mean ordinary-kriging variance over the nodes from the old stops alone; Infinity with none. */
  readonly before: number;
  /** The same after each greedy addition, before any exchange. */
  readonly meanVariance: Float64Array;
  /** The same from the old stops and `xy`. */
  readonly finalMeanVariance: number;
  readonly swaps: number;
}

/**
 * New stops among last year's: one candidate at a time, each the one that lowers the mean ordinary-kriging variance
 * over the nodes most given all stops so far, then exchanges while it falls further. Kriging variances rest on places
 * alone, so the stops are known before anything is sampled (van Groenigen, Siderius & Stein 1999, Geoderma 87: 239-259,
 * the criterion; the updates are exact, see {@link Conditioned}).
 * @param oldXy 2n metres, n may be 0; @param candidatesXy 2c metres; @param nodesXy 2m metres spread over the field
 * @throws RangeError with fewer candidates than `count`, or two old samples without noise at one place
 */
export function infillStops(
  oldXy: FlatPositions,
  candidatesXy: FlatPositions,
  nodesXy: FlatPositions,
  count: number,
  cov: SampleCovariance,
  options: InfillOptions = {},
): Infill {
  const { blockM = 0, exchange = true } = options;
  const candidates = candidatesXy.length / 2;
  if (count > candidates)
    throw new RangeError(`${count} stops cannot be chosen from ${candidates} candidates.`);
  const base = conditionedOn(oldXy, candidatesXy, nodesXy, cov, blockM);
  const before = meanVarianceOf(base);
  const state = copyOf(base);
  const meanVariance = new Float64Array(count);
  const isTaken = new Uint8Array(candidates);
  const greedy = new Int32Array(count);
  for (let i = 0; i < count; i++) {
    let best = -1;
    let least = Infinity;
    for (let s = 0; s < candidates; s++) {
      if (isTaken[s]) continue;
      const mean = meanVarianceWith(state, s);
      if (mean < least) {
        least = mean;
        best = s;
      }
    }
    if (best < 0) throw new RangeError(`Only ${i} of ${count} stops lie apart from other samples.`);
    takeStop(state, best);
    isTaken[best] = 1;
    greedy[i] = best;
    meanVariance[i] = meanVarianceOf(state);
  }
  const end =
    exchange && count > 0
      ? exchangeStops(base, greedy)
      : { taken: greedy, meanVariance: meanVarianceOf(state), swaps: 0 };
  const xy = new Float64Array(2 * count);
  end.taken.forEach((s, i) => xy.set(candidatesXy.subarray(2 * s, 2 * s + 2), 2 * i));
  return {
    xy,
    chosen: end.taken,
    before,
    meanVariance,
    finalMeanVariance: end.meanVariance,
    swaps: end.swaps,
  };
}

/** Candidates for {@link infillStops}: about `count` raster places, none nearer than `insetM` to the edge. */
export function infillCandidates(region: Region, count: number, insetM = 0): FlatPositions {
  const { nodes } = rasterNodes(region, count);
  const clear = insetTest(region, insetM);
  const out: number[] = [];
  for (let i = 0; i < nodes.length; i += 2)
    if (clear(nodes[i], nodes[i + 1])) out.push(nodes[i], nodes[i + 1]);
  return Float64Array.from(out);
}
