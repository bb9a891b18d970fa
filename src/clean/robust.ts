/** Turns a median absolute deviation into a standard deviation for a normal distribution. */
export const MAD_TO_SD = 1.4826;

/** The k-th smallest (from 0) of the first `n` values, which are reordered (Hoare's selection). */
export function selectKth(values: Float64Array, n: number, k: number): number {
  let [left, right] = [0, n - 1];
  while (left < right) {
    const pivot = values[(left + right) >> 1];
    let [i, j] = [left, right];
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i <= j) {
        [values[i], values[j]] = [values[j], values[i]];
        i++;
        j--;
      }
    }
    if (k <= j) right = j;
    else if (k >= i) left = i;
    else break;
  }
  return values[k];
}

/** Median of the first `n` values, which are reordered; the upper of the middle two when `n` is even. */
export const medianInPlace = (values: Float64Array, n: number): number => selectKth(values, n, n >> 1);

/** Median and robust standard deviation (MAD x 1.4826) of the first `n` values, which are overwritten. */
export function medianAndSdInPlace(values: Float64Array, n: number): { median: number; sd: number } {
  const median = medianInPlace(values, n);
  for (let i = 0; i < n; i++) values[i] = Math.abs(values[i] - median);
  return { median, sd: MAD_TO_SD * medianInPlace(values, n) };
}
