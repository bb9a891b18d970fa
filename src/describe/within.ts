import { fQuantile } from './quantiles.ts';

/** One-way analysis of variance of values by class, and what the classes explain. */
export interface OneWay {
  readonly classes: number;
  readonly n: number;
  readonly betweenMs: number;
  readonly withinMs: number;
  readonly f: number;
  /** Values a class, as the random-effects model counts them: (n − Σn_g²/n)/(k − 1). */
  readonly n0: number;
  /** Intraclass correlation of the random-effects model, (MSB − MSW)/(MSB + (n₀ − 1)·MSW), not below 0 (Searle 1971). */
  readonly intraclass: number;
  /** Size and mean of each class. */
  readonly groups: readonly { readonly n: number; readonly mean: number }[];
}

/**
 * @param classes class of each value; below 0 is left out
 * @returns undefined with fewer than two classes or no more values than classes
 */
export function oneWay(values: ArrayLike<number>, classes: ArrayLike<number>): OneWay | undefined {
  const groups = new Map<number, number[]>();
  for (let i = 0; i < values.length; i++) {
    if (classes[i] < 0) continue;
    const group = groups.get(classes[i]);
    if (group) group.push(values[i]);
    else groups.set(classes[i], [values[i]]);
  }
  const n = [...groups.values()].reduce((s, g) => s + g.length, 0);
  const k = groups.size;
  if (k < 2 || n <= k) return undefined;
  let [total, within, between, squares] = [0, 0, 0, 0];
  for (const g of groups.values()) total += g.reduce((s, v) => s + v, 0);
  const grand = total / n;
  const summary: { readonly n: number; readonly mean: number }[] = [];
  for (const g of groups.values()) {
    const mean = g.reduce((s, v) => s + v, 0) / g.length;
    within += g.reduce((s, v) => s + (v - mean) ** 2, 0);
    between += g.length * (mean - grand) ** 2;
    squares += g.length * g.length;
    summary.push({ n: g.length, mean });
  }
  const betweenMs = between / (k - 1);
  const withinMs = within / (n - k);
  const n0 = (n - squares / n) / (k - 1);
  const intraclass = Math.max(0, (betweenMs - withinMs) / (betweenMs + (n0 - 1) * withinMs));
  return {
    classes: k,
    n,
    betweenMs,
    withinMs,
    f: betweenMs / withinMs,
    n0,
    intraclass,
    groups: summary,
  };
}

/**
 * Equal-tailed interval for the intraclass correlation of the one-way random-effects model with normal effects, exact
 * whatever the class sizes: the ratio θ = σ²between/σ²within at which Wald's (1940, Annals of Mathematical Statistics 11: 96-99)
 * Σ w·(mean − weighted mean)²/((k − 1)·MSW), w = n_g/(1 + n_g·θ), meets a quantile of F(k − 1, n − k), as
 * θ/(1 + θ). With classes of one size it is the F interval of Searle 1971, Linear Models, ch. 9
 * (and of Searle, Casella & McCulloch 1992, Variance Components, ch. 3): (F/F_q − 1)/(F/F_q + n₀ − 1).
 * The model takes values of a class as independent; of neighbours that are alike the true interval is wider.
 * @param level chance that it covers, between 0 and 1
 * @returns both ends from 0 to 1
 * @throws RangeError when the level is not between 0 and 1
 */
export function intraclassInterval(
  anova: OneWay,
  level = 0.9,
): { readonly low: number; readonly high: number } {
  if (!(level > 0 && level < 1)) throw new RangeError(`The level must lie between 0 and 1, not ${level}.`);
  const [df1, df2] = [anova.classes - 1, anova.n - anova.classes];
  const end = (p: number) => intraclassAt(anova, fQuantile(p, df1, df2));
  return { low: end((1 + level) / 2), high: end((1 - level) / 2) };
}

/** The intraclass correlation at which Wald's ratio, which falls as the correlation rises, equals `target`; 0 if it is below even at 0. */
function intraclassAt({ groups, classes, withinMs }: OneWay, target: number): number {
  if (withinMs === 0) return groups.some((g) => g.mean !== groups[0].mean) ? 1 : 0;
  const ratio = (rho: number) => {
    // θ = ρ/(1 − ρ), both sides times 1 − ρ so that ρ = 1 is no exception.
    const w = groups.map((g) => (g.n * (1 - rho)) / (1 - rho + g.n * rho));
    const sum = w.reduce((s, v) => s + v, 0);
    const mean = sum > 0 ? groups.reduce((s, g, i) => s + w[i] * g.mean, 0) / sum : 0;
    return groups.reduce((s, g, i) => s + w[i] * (g.mean - mean) ** 2, 0) / ((classes - 1) * withinMs);
  };
  if (ratio(0) <= target) return 0;
  let [low, high] = [0, 1];
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (ratio(middle) > target) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
