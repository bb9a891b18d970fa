const GOLDEN = (Math.sqrt(5) - 1) / 2;

/**
 * The k-th of `wanted` indices spread over 0 … `length` - 1: all in turn when all are wanted, else by the golden
 * section, which doesn't fall into step with a pattern that repeats along the passes as a fixed stride would.
 */
export const spreadIndex = (k: number, wanted: number, length: number): number =>
  wanted >= length ? k : Math.floor(((k * GOLDEN) % 1) * length);
