import normalCdf from '@stdlib/stats-base-dists-normal-cdf';

/** Mean and standard deviation of the logarithms of values some of which are only known to lie below a limit. */
export interface CensoredLog {
  /** Of the natural logarithms. */
  readonly mean: number;
  readonly sd: number;
  readonly detected: number;
  readonly censored: number;
  readonly logLikelihood: number;
}

/** Fewer different detected values have no spread to speak of: judgement of this project. */
const LEAST_DETECTED = 3;

/**
 * Maximum likelihood for a left-censored lognormal distribution (Cohen 1959; Helsel 2012, Statistics for Censored
 * Environmental Data, ch. 6): Π φ((y − μ)/σ)/σ over the detected logarithms y, times Π Φ((ln L − μ)/σ) over the limits L,
 * which may differ. Newton's method in 1/σ and μ/σ, in which the log-likelihood is concave (Olsen 1978).
 *
 * @param values measured values, and the limit where `flags` is 1; NaN is passed over
 * @returns undefined with fewer than three different detected values, or a value or limit not above 0
 */
export function censoredLog(values: ArrayLike<number>, flags: ArrayLike<number>): CensoredLog | undefined {
  const detected: number[] = [];
  const limits: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (Number.isNaN(values[i])) continue;
    if (!(values[i] > 0)) return undefined;
    (flags[i] ? limits : detected).push(Math.log(values[i]));
  }
  if (new Set(detected).size < LEAST_DETECTED) return undefined;
  const m = detected.length;
  // Centred and scaled, so that the start (1, 0) is near and the steps are of order 1.
  const centre = detected.reduce((s, y) => s + y, 0) / m;
  const unit = Math.sqrt(detected.reduce((s, y) => s + (y - centre) ** 2, 0) / m);
  const y = detected.map((v) => (v - centre) / unit);
  const l = limits.map((v) => (v - centre) / unit);
  // a = 1/σ, b = μ/σ: standardised residuals are a·y − b.
  const logLikelihood = (a: number, b: number) =>
    m * Math.log(a) +
    y.reduce((s, v) => s - 0.5 * (a * v - b) ** 2, 0) +
    l.reduce((s, v) => s + logNormalCdf(a * v - b), 0);
  let [a, b] = [1, 0];
  let now = logLikelihood(a, b);
  for (let step = 0; step < 200; step++) {
    let [ga, gb, haa, hab, hbb] = [m / a, 0, -m / (a * a), 0, 0];
    for (const v of y) {
      const t = a * v - b;
      ga -= t * v;
      gb += t;
      haa -= v * v;
      hab += v;
      hbb -= 1;
    }
    for (const v of l) {
      const t = a * v - b;
      const mills = Math.exp(-0.5 * t * t - logNormalCdf(t)) / Math.sqrt(2 * Math.PI);
      const curve = -mills * (t + mills);
      ga += mills * v;
      gb -= mills;
      haa += curve * v * v;
      hab -= curve * v;
      hbb += curve;
    }
    const det = haa * hbb - hab * hab;
    const da = -(hbb * ga - hab * gb) / det;
    const db = -(haa * gb - hab * ga) / det;
    let share = 1;
    let next = -Infinity;
    for (let halving = 0; halving < 60; halving++, share /= 2) {
      next = a + share * da > 0 ? logLikelihood(a + share * da, b + share * db) : -Infinity;
      if (next >= now) break;
    }
    if (!(next >= now)) break;
    a += share * da;
    b += share * db;
    const gain = next - now;
    now = next;
    if (gain < 1e-13 && Math.abs(da) + Math.abs(db) < 1e-9) break;
  }
  return {
    mean: centre + (unit * b) / a,
    sd: unit / a,
    detected: m,
    censored: limits.length,
    logLikelihood: now - m * (Math.log(unit) + 0.5 * Math.log(2 * Math.PI)),
  };
}

/** ln Φ(t); far in the lower tail by the asymptotic series (Abramowitz & Stegun 1964, 26.2.12). */
function logNormalCdf(t: number): number {
  if (t > -20) return Math.log(normalCdf(t, 0, 1));
  const r = 1 / (t * t);
  return -0.5 * t * t - Math.log(-t * Math.sqrt(2 * Math.PI)) + Math.log1p(-r * (1 - 3 * r * (1 - 5 * r)));
}
