const FIRST_MS = 2000;
const LONGEST_MS = 5 * 60_000;

/**
 * How long to wait after so many failures in a row: doubled each time up to five minutes, and up to half of it more or less
 * by chance, so that phones that come back into signal together don't all call at once.
 * @param chance 0 to 1
 */
export function retryDelayMs(failures: number, chance: number): number {
  const doubled = Math.min(LONGEST_MS, FIRST_MS * 2 ** Math.max(0, failures - 1));
  return doubled * (0.5 + chance);
}
