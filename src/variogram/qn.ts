/** Consistency at the normal: 1/(√2·Φ⁻¹(5/8)) = 2.2191 (Rousseeuw & Croux 1993, J. Am. Stat. Assoc. 88: 1273-1283). */
const CONSISTENCY = 2.2191;

/**
 * Rousseeuw & Croux's scale Qn: 2.2191 times the k-th smallest of the differences |vᵢ − vⱼ|, i < j, with
 * k = C(⌊N/2⌋ + 1, 2). Without their small-sample factors, as Genton 1998 takes it for variograms.
 * In time N log N: Croux & Rousseeuw 1992 (Computational Statistics 1: 411-428) discard parts of the sorted matrix of
 * differences by weighted medians; here by halving the interval the answer is in until few enough are left to sort,
 * which gives the same order statistic.
 * @param values N numbers; @returns NaN with fewer than two
 */
export function qn(values: Float64Array): number {
  const n = values.length;
  if (n < 2) return NaN;
  const half = (n >> 1) + 1;
  return CONSISTENCY * kthDifference(values.slice().sort(), (half * (half - 1)) / 2);
}

/** The k-th smallest (from 1) of v[j] − v[i], i < j, for ascending v. */
function kthDifference(v: Float64Array, k: number): number {
  const n = v.length;
  // Differences ≤ low number fewer than k; those ≤ high number k or more.
  let [low, high] = [0, v[n - 1] - v[0]];
  let [below, upTo] = [countUpTo(v, 0), (n * (n - 1)) / 2];
  if (below >= k) return 0;
  if (n > 4 * THINNED) [low, below, high, upTo] = bracket(v, k) ?? [low, below, high, upTo];
  while (upTo - below > 4 * n) {
    const middle = low + (high - low) / 2;
    // Nothing lies between: the many that are left are ties.
    if (middle === low || middle === high) return high;
    const count = countUpTo(v, middle);
    if (count >= k) [high, upTo] = [middle, count];
    else [low, below] = [middle, count];
  }
  return between(v, low, high, upTo - below)[k - below - 1];
}

/** Evenly spaced order statistics that stand for the rest in a first guess. */
const THINNED = 500;

/**
 * Ends within 2 % of the answer, with their counts, from the same rank among evenly spaced order statistics.
 * @returns undefined where the guess was out
 */
function bracket(v: Float64Array, k: number): [number, number, number, number] | undefined {
  const n = v.length;
  const few = Float64Array.from({ length: THINNED }, (_, i) => v[Math.floor(((i + 0.5) * n) / THINNED)]);
  const rank = Math.round((k / ((n * (n - 1)) / 2)) * ((THINNED * (THINNED - 1)) / 2));
  const guess = kthDifference(few, Math.max(1, rank));
  const [low, high] = [0.98 * guess, 1.02 * guess];
  const [below, upTo] = [countUpTo(v, low), countUpTo(v, high)];
  return below < k && upTo >= k ? [low, below, high, upTo] : undefined;
}

/** How many of v[j] − v[i], i < j, are at most t. */
function countUpTo(v: Float64Array, t: number): number {
  let count = 0;
  for (let i = 0, j = 0; j < v.length; j++) {
    while (v[j] - v[i] > t) i++;
    count += j - i;
  }
  return count;
}

/** The differences above `low` and up to `high`, ascending. */
function between(v: Float64Array, low: number, high: number, size: number): Float64Array {
  const out = new Float64Array(size);
  let at = 0;
  for (let i = 0, j = 0; j < v.length; j++) {
    while (v[j] - v[i] > high) i++;
    for (let m = i; m < j && v[j] - v[m] > low; m++) out[at++] = v[j] - v[m];
  }
  return out.sort();
}
