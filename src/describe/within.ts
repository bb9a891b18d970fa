/** One-way analysis of variance of values by class, and what the classes explain. */
export interface OneWay {
  readonly classes: number;
  readonly n: number;
  readonly betweenMs: number;
  readonly withinMs: number;
  readonly f: number;
  /** Intraclass correlation of the random-effects model, (MSB − MSW)/(MSB + (n₀ − 1)·MSW), not below 0 (Searle 1971). */
  readonly intraclass: number;
}

/** @returns undefined with fewer than two classes or no more values than classes */
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
  for (const g of groups.values()) {
    const mean = g.reduce((s, v) => s + v, 0) / g.length;
    within += g.reduce((s, v) => s + (v - mean) ** 2, 0);
    between += g.length * (mean - grand) ** 2;
    squares += g.length * g.length;
  }
  const betweenMs = between / (k - 1);
  const withinMs = within / (n - k);
  const n0 = (n - squares / n) / (k - 1);
  const intraclass = Math.max(0, (betweenMs - withinMs) / (betweenMs + (n0 - 1) * withinMs));
  return { classes: k, n, betweenMs, withinMs, f: betweenMs / withinMs, intraclass };
}
