import { logBesselK, logGamma } from './bessel.ts';

/**
 * The Matérn correlation with smoothness ν: ρ(x) = 2^(1−ν)/Γ(ν) · x^ν · K_ν(x), x the distance over the distance
 * parameter (Matérn 1960; Stein 1999, Interpolation of Spatial Data, 2.10). ν = 1/2 is the exponential; as ν grows the
 * Gaussian is neared. Ranges here are effective: ρ falls to e⁻³ there whatever ν (see {@link maternEffectiveDistance}).
 */

/** Smoothness in use unless one is given (Stein's and Lark's applications lie around it; judgement of this project). */
export const DEFAULT_SMOOTHNESS = 1.5;

/** Least and greatest smoothness that is computed; beyond the last the Gaussian is the better name. */
export const SMOOTHNESS_LIMITS = [0.01, 100] as const;

/** x at which the Matérn correlation of each closed form is e⁻³. */
const CLOSED_FORM_DISTANCE: ReadonlyMap<number, number> = new Map([
  [0.5, 3],
  [1.5, solveFor(1.5)],
  [2.5, solveFor(2.5)],
]);

/** Refuses a smoothness that cannot be computed. */
function checkSmoothness(nu: number): void {
  if (!(nu >= SMOOTHNESS_LIMITS[0] && nu <= SMOOTHNESS_LIMITS[1]))
    throw new RangeError(
      `Matérn smoothness must be from ${SMOOTHNESS_LIMITS[0]} to ${SMOOTHNESS_LIMITS[1]}, not ${nu}.`,
    );
}

/** Correlation at x = distance / distance parameter, to full precision; 1 at 0. */
export function maternCorrelation(nu: number, x: number): number {
  if (nu === 0.5) return Math.exp(-x);
  if (nu === 1.5) return (1 + x) * Math.exp(-x);
  if (nu === 2.5) return (1 + x + (x * x) / 3) * Math.exp(-x);
  return x > 0 ? Math.exp(Math.min(0, logMatern(nu, x, logScale(nu)))) : 1;
}

const logScale = remembered((nu) => (1 - nu) * Math.LN2 - logGamma(nu));

function logMatern(nu: number, x: number, scale: number): number {
  return scale + nu * Math.log(x) + logBesselK(nu, x);
}

/**
 * The x at which ρ(x) = e⁻³: effective range = this times the distance parameter.
 * 3 for ν = 1/2, 4.7490 for 3/2, 5.9245 for 5/2, and near √(12ν) for large ν.
 */
export const maternEffectiveDistance = remembered((nu) => {
  checkSmoothness(nu);
  return CLOSED_FORM_DISTANCE.get(nu) ?? solveFor(nu);
});

/** ρ(x) = e⁻³ by false position on ln ρ + 3 against ln x, the Illinois variant (Dowell & Jarratt 1971). */
function solveFor(nu: number): number {
  const miss = (logX: number) => Math.log(maternCorrelation(nu, Math.exp(logX))) + 3;
  let [low, high] = [Math.log(1e-30), Math.log(6 + 5 * Math.sqrt(nu))];
  let [atLow, atHigh] = [miss(low), miss(high)];
  let kept = 0;
  for (let i = 0; i < 200 && high - low > 1e-15; i++) {
    const at = (low * atHigh - high * atLow) / (atHigh - atLow);
    const value = miss(at);
    if (Math.abs(value) < 1e-14) return Math.exp(at);
    if (value > 0) {
      [low, atLow] = [at, value];
      if (kept > 0) atHigh /= 2;
      kept = 1;
    } else {
      [high, atHigh] = [at, value];
      if (kept < 0) atLow /= 2;
      kept = -1;
    }
  }
  return Math.exp((low + high) / 2);
}

/**
 * Step of the tables in ln x: cubic interpolation then errs by under 1e-8, since the fourth derivative of ρ in ln x
 * stays below some 5 for smoothness up to 5, and grows as ν² beyond.
 */
const TABLE_STEP = 1 / 80;
const TABLED_SMOOTHNESS = [0.1, 5] as const;
const TABLE_FROM = -30;
const TABLE_TO = Math.log(60);

/**
 * ρ as a fast function of x. Closed forms where there are; for other smoothness a table in ln x, on which ρ is smooth
 * whatever ν, with cubic interpolation (error below 1e-8); the exact function where a table would not hold.
 */
export function maternOf(nu: number): (x: number) => number {
  checkSmoothness(nu);
  if (nu === 0.5) return (x) => Math.exp(-x);
  if (nu === 1.5) return (x) => (1 + x) * Math.exp(-x);
  if (nu === 2.5) return (x) => (1 + x + (x * x) / 3) * Math.exp(-x);
  if (nu < TABLED_SMOOTHNESS[0] || nu > TABLED_SMOOTHNESS[1]) return (x) => maternCorrelation(nu, x);
  const table = tableOf(nu);
  const last = table.length - 3;
  return (x) => {
    const at = (Math.log(x) - TABLE_FROM) / TABLE_STEP;
    if (!(at >= 1)) return maternCorrelation(nu, x);
    const i = at | 0;
    if (i >= last) return maternCorrelation(nu, x);
    const f = at - i;
    const [a, b, c, d] = [table[i - 1], table[i], table[i + 1], table[i + 2]];
    // Lagrange's cubic through the two nodes on either side.
    const inner = (1 - f) * b + f * c;
    const second = (2 - f) * (a - 2 * b + c) + (1 + f) * (b - 2 * c + d);
    return inner - (f * (1 - f) * second) / 6;
  };
}

const tableOf = remembered((nu) => {
  const nodes = Math.ceil((TABLE_TO - TABLE_FROM) / TABLE_STEP) + 1;
  const table = new Float64Array(nodes);
  for (let i = 0; i < nodes; i++) table[i] = maternCorrelation(nu, Math.exp(TABLE_FROM + i * TABLE_STEP));
  return table;
});

/** A function of smoothness that keeps its last answers, since one smoothness is asked for many times over. */
function remembered<T>(f: (nu: number) => T): (nu: number) => T {
  const kept = new Map<number, T>();
  return (nu) => {
    let value = kept.get(nu);
    if (value === undefined) {
      if (kept.size >= 32) kept.clear();
      kept.set(nu, (value = f(nu)));
    }
    return value;
  };
}
