import { normalQuantile, type Scale } from '../describe/index.ts';
import type { DesignAccuracy } from '../design/index.ts';
import { rateLoss, type RateEquation } from './rateEquation.ts';

/** Equal-probability quantile midpoints: robust to the kinks of rate equations, where Gauss rules ring. */
const POINTS = 16;
const deviates: Float64Array = Float64Array.from({ length: POINTS }, (_, i) =>
  normalQuantile((i + 0.5) / POINTS),
);
// Midpoint quantiles understate the variance a little; stretched to unit variance.
const stretch = Math.sqrt(POINTS / deviates.reduce((s, v) => s + v * v, 0));

/**
 * Expected loss per ha and year of applying the estimate's rate to the truth, the two jointly normal on the working
 * scale as the design's accuracy says. The estimate is drawn first, the truth given it.
 * @param mean field mean on the working scale
 */
export function expectedLoss(
  equation: RateEquation,
  scale: Scale,
  mean: number,
  accuracy: Pick<DesignAccuracy, 'truthVariance' | 'estimateVariance' | 'covariance'>,
  years: number,
): number {
  const { truthVariance, estimateVariance, covariance } = accuracy;
  const slope = estimateVariance > 1e-12 ? covariance / estimateVariance : 0;
  const left = Math.sqrt(Math.max(0, truthVariance - slope * covariance));
  const sdEstimate = Math.sqrt(Math.max(0, estimateVariance));
  const back = scale === 'log' ? Math.exp : (v: number) => v;
  let sum = 0;
  for (let i = 0; i < POINTS; i++) {
    const offset = sdEstimate * stretch * deviates[i];
    const estimate = back(mean + offset);
    for (let j = 0; j < POINTS; j++)
      sum += rateLoss(equation, estimate, back(mean + slope * offset + left * stretch * deviates[j]), years);
  }
  return sum / (POINTS * POINTS);
}

/** Expected loss of the field's best single rate when its distribution is known: what a map is held against. */
export function bestSingleRateLoss(
  equation: RateEquation,
  scale: Scale,
  mean: number,
  truthVariance: number,
  years: number,
): number {
  const back = scale === 'log' ? Math.exp : (v: number) => v;
  const sd = Math.sqrt(Math.max(0, truthVariance)) * stretch;
  const truths = Array.from(deviates, (d) => back(mean + sd * d));
  let best = Infinity;
  for (const estimate of [...truths, equation.maintenanceLimit * 1.01]) {
    let sum = 0;
    for (const truth of truths) sum += rateLoss(equation, estimate, truth, years);
    best = Math.min(best, sum / POINTS);
  }
  return best;
}
