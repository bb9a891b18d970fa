/** Nodes of the table over ln h. */
const NODES = 224;

/**
 * A correlation by distance from a table: even steps of ln h, six-point Lagrange interpolation (Abramowitz & Stegun
 * 1964, eq. 25.2.15). In ln h a Matérn correlation is smooth down to the least distance whatever its smoothness; over
 * four decades the error stays below 1e-8 (tests/variogram/tabulated.test.ts). A table made for the distances at hand
 * costs a tenth of one that serves any.
 * @param leastM above 0; @param greatestM not below `leastM`. Outside them the function itself is asked.
 */
export function tabulatedInLogDistance(
  rho: (h: number) => number,
  leastM: number,
  greatestM: number,
): (h: number) => number {
  const from = Math.log(leastM);
  const step = Math.max(Math.log(greatestM) - from, 1e-6) / (NODES - 6);
  // Two nodes before the least distance and three after the greatest, for the interpolation at the ends.
  const table = Float64Array.from({ length: NODES }, (_, i) => rho(Math.exp(from + (i - 2) * step)));
  const perStep = 1 / step;
  return (h) => {
    if (!(h >= leastM && h <= greatestM)) return rho(h);
    const place = (Math.log(h) - from) * perStep + 2;
    const i = Math.min(Math.max(Math.floor(place), 2), NODES - 4);
    const t = place - i;
    const [a, b, c, d, e] = [t + 2, t + 1, t - 1, t - 2, t - 3];
    const [ab, de, tc] = [a * b, d * e, t * c];
    return (
      (de * tc * (a * table[i - 1] * 5 - b * table[i - 2])) / 120 +
      (ab * de * (t * table[i + 1] - c * table[i])) / 12 +
      (ab * tc * (d * table[i + 3] - e * table[i + 2] * 5)) / 120
    );
  };
}
