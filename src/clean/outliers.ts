import { nearestPoints } from './nearest.ts';
import { MAD_TO_SD } from './robust.ts';

/**
 * Points that ask for a second look. Nothing is removed here: the caller shows them and may set them aside.
 *
 * - odd value: far from the middle of all values; a wrong number or a bag of something else;
 * - unlike its neighbours: not odd in the field, but odd where it lies; points swapped, or a small place of its own;
 * - hot spot: one of several high values side by side; a place (an old yard, a heap), not a slip.
 */
export type OutlierKind = 'odd value' | 'unlike its neighbours' | 'hot spot';

export interface OutlierFlag {
  /** Index among the points given. */
  readonly index: number;
  readonly kind: OutlierKind;
  /** The value and its neighbours' median, as measured. */
  readonly value: number;
  readonly neighboursMedian: number;
  /** Robust standard deviations from what it is held against: the median of all (odd value, hot spot) or its neighbours. */
  readonly score: number;
  /** Of a hot spot: p of its local Moran's I by conditional permutation. */
  readonly p?: number;
  /** One plain sentence with the figures. */
  readonly sentence: string;
}

export interface OutlierOptions {
  /** Values as measured, for the sentences, where `z` is on another scale. */
  readonly values?: ArrayLike<number>;
  /** As shown behind a value, such as "ppm". */
  readonly unit?: string;
  /** Robust standard deviations that a point may lie off: 3.5 (Iglewicz & Hoaglin 1993). */
  readonly deviations?: number;
  /** Nearest points a value is held against. */
  readonly neighbours?: number;
  /** Share of false hot-spot points among those found significant. */
  readonly falseDiscovery?: number;
}

/** Fewer values have no robust spread worth the name: judgement of this project. */
const LEAST_POINTS = 10;
/** Neighbours of the local Moran's I: fewer than for the median, so that three or four stops in a place show. */
const CLUSTER_NEIGHBOURS = 5;
/** A hot spot's core lies as far off as an odd value; the others in it at least this far. Judgement of this project. */
const MEMBER_DEVIATIONS = 2.5;
/** Permutations for every candidate, and for those near the limit. */
const PERMUTATIONS = 999;
const MORE_PERMUTATIONS = 9999;

/**
 * Flags odd values, points unlike their neighbours and hot spots.
 *
 * Odd values: modified z-score |z − median| / (1.4826·MAD) above 3.5 (Iglewicz & Hoaglin 1993, How to Detect and Handle
 * Outliers); where more than half are alike, the mean absolute deviation × 1.2533 stands for the spread.
 * Unlike its neighbours: z less the median of the nearest 8, and that difference's modified z-score above 3.5
 * (median algorithm of Lu, Chen & Kou 2003; robust local differences in Liu, Jezek & O'Kelly 2001; from memory).
 * Hot spot: local Moran's Iᵢ (Anselin 1995, Geographical Analysis 27: 93-115), high among high, one-sided by conditional
 * permutation, false discoveries held by Benjamini & Hochberg 1995; since any patterned field has high places,
 * its core must also be an odd value, and another high value must lie beside it.
 *
 * @param xy 2n metres; @param z n values on the working scale (near symmetrical); NaN is passed over
 * @param random a seeded source of uniform numbers
 * @returns flags by index; none with fewer than ten values or no variation
 */
export function findOutliers(
  xy: Float64Array,
  z: Float64Array,
  random: () => number,
  options: OutlierOptions = {},
): OutlierFlag[] {
  const { values = z, unit = '', deviations = 3.5, neighbours = 8, falseDiscovery = 0.05 } = options;
  const present = Array.from(z.keys()).filter((i) => Number.isFinite(z[i]));
  const n = present.length;
  if (n < LEAST_POINTS) return [];
  const places = Float64Array.from({ length: 2 * n }, (_, c) => xy[2 * present[c >> 1] + (c & 1)]);
  const held = Float64Array.from(present, (i) => z[i]);
  const score = modifiedScores(held);
  if (!score) return [];
  const near = nearestPoints(places, Math.max(neighbours, CLUSTER_NEIGHBOURS));
  const around = (i: number, count: number) => near.index.subarray(i * near.k, i * near.k + count);
  const localCount = Math.min(neighbours, near.k);
  const differences = held.map((v, i) => v - medianOf(around(i, localCount), held));
  const localScore = modifiedScores(differences) ?? differences.map(() => 0);
  const hot = hotSpots(held, score, (i) => around(i, CLUSTER_NEIGHBOURS), random, deviations, falseDiscovery);

  const measured = Float64Array.from(present, (i) => values[i]);
  const middle = medianOf(measured.keys(), measured);
  const flags: OutlierFlag[] = [];
  for (let i = 0; i < n; i++) {
    const odd = Math.abs(score[i]) > deviations;
    const unlike = Math.abs(localScore[i]) > deviations;
    const p = hot.get(i);
    if (p === undefined && !odd && !unlike) continue;
    const kind: OutlierKind = p !== undefined ? 'hot spot' : odd ? 'odd value' : 'unlike its neighbours';
    const value = measured[i];
    const neighboursMedian = medianOf(around(i, localCount), measured);
    const shown = (v: number) => `${figure(v)}${unit && ` ${unit}`}`;
    const off = (s: number) => `${Math.abs(s).toFixed(1)} robust deviations ${s < 0 ? 'below' : 'above'}`;
    const local = `the median of its ${localCount} nearest neighbours is ${shown(neighboursMedian)}`;
    const sentence =
      kind === 'hot spot'
        ? `${shown(value)} is ${off(score[i])} the field’s median of ${shown(middle)} and lies among other high values${p! > 0.05 ? '' : ` (p ${p! < 0.001 ? 'below 0.001' : p!.toFixed(3)})`}: more likely a place than a slip, such as an old yard or a heap; sample it on its own.`
        : kind === 'odd value'
          ? `${shown(value)} is ${off(score[i])} the field’s median of ${shown(middle)}; ${local}${unlike ? ', so nothing near bears it out' : ', so it may be a place of its own'}: check the number and the bag.`
          : `${shown(value)} is not odd for the field, but ${local}, ${off(localScore[i])} which it lies: check that two points were not swapped.`;
    flags.push({
      index: present[i],
      kind,
      value,
      neighboursMedian,
      score: kind === 'unlike its neighbours' ? localScore[i] : score[i],
      p,
      sentence,
    });
  }
  return flags;
}

/** A copy of the values with those at the indices missing (NaN). */
export function setAside(values: Float64Array, indices: Iterable<number>): Float64Array {
  const copy = values.slice();
  for (const i of indices) {
    if (!(i >= 0 && i < copy.length)) throw new RangeError(`There is no value at index ${i}.`);
    copy[i] = NaN;
  }
  return copy;
}

/** Deviations from the median over the robust standard deviation; undefined when all values are alike. */
function modifiedScores(values: Float64Array): Float64Array | undefined {
  const median = medianOf(values.keys(), values);
  const deviations = values.map((v) => Math.abs(v - median));
  const mad = medianOf(deviations.keys(), deviations);
  const meanDeviation = deviations.reduce((s, d) => s + d, 0) / deviations.length;
  const tiny = 1e-9 * (Math.abs(median) + meanDeviation);
  const sd = mad > tiny ? MAD_TO_SD * mad : 1.2533 * meanDeviation;
  return sd > tiny ? values.map((v) => (v - median) / sd) : undefined;
}

function medianOf(indices: Iterable<number>, values: Float64Array): number {
  const held = Float64Array.from(indices, (i) => values[i]).sort();
  const half = held.length >> 1;
  return held.length % 2 === 1 ? held[half] : (held[half - 1] + held[half]) / 2;
}

/** Points in hot spots, each with its p. */
function hotSpots(
  z: Float64Array,
  score: Float64Array,
  around: (i: number) => Uint32Array,
  random: () => number,
  coreDeviations: number,
  falseDiscovery: number,
): ReadonlyMap<number, number> {
  const n = z.length;
  const high = (i: number) => score[i] > MEMBER_DEVIATIONS;
  const hot = new Map<number, number>();
  if (!score.some((s) => s > coreDeviations)) return hot;
  const mean = z.reduce((s, v) => s + v, 0) / n;
  const e = z.map((v) => v - mean);
  const p = new Float64Array(n).fill(1);
  for (let i = 0; i < n; i++) if (e[i] > 0) p[i] = highHighP(e, i, around(i), random);
  const limit = benjaminiHochberg(p, falseDiscovery);
  const near = (i: number, j: number) => around(i).includes(j) || around(j).includes(i);
  // Cores first, then what is high and touches the spot, until it grows no more.
  let front = Array.from(z.keys()).filter((i) => score[i] > coreDeviations && p[i] <= limit);
  front = front.filter((i) => z.some((_, j) => j !== i && high(j) && near(i, j)));
  for (const i of front) hot.set(i, p[i]);
  while (front.length > 0) {
    const next: number[] = [];
    for (let j = 0; j < n; j++)
      if (!hot.has(j) && high(j) && front.some((i) => near(i, j))) {
        hot.set(j, p[j]);
        next.push(j);
      }
    front = next;
  }
  return hot;
}

/** Local Moran's Iᵢ with even weights rises with the neighbours' sum, so the sum is what is permuted. */
function highHighP(e: Float64Array, i: number, neighbours: Uint32Array, random: () => number): number {
  const n = e.length;
  const k = neighbours.length;
  let observed = 0;
  for (const j of neighbours) observed += e[j];
  if (observed <= 0) return 1;
  // The others, in an order of their own; the first k after a partial shuffle are a draw without replacement.
  const others = new Float64Array(n - 1);
  for (let j = 0, at = 0; j < n; j++) if (j !== i) others[at++] = e[j];
  let [atLeast, done] = [1, 0];
  const run = (until: number) => {
    for (; done < until; done++) {
      let sum = 0;
      for (let c = 0; c < k; c++) {
        const from = c + Math.floor(random() * (n - 1 - c));
        const v = others[from];
        others[from] = others[c];
        others[c] = v;
        sum += v;
      }
      if (sum >= observed) atLeast++;
    }
  };
  run(PERMUTATIONS);
  if (atLeast <= 10) run(MORE_PERMUTATIONS);
  return atLeast / (done + 1);
}

/** Largest p that is still significant with false discoveries held at a rate; -1 when none is. */
function benjaminiHochberg(p: Float64Array, rate: number): number {
  const sorted = p.slice().sort();
  for (let r = sorted.length; r > 0; r--)
    if (sorted[r - 1] <= (rate * r) / sorted.length) return sorted[r - 1];
  return -1;
}

/** Three significant figures, plain. */
const figure = (v: number): string => String(Number(v.toPrecision(3)));
