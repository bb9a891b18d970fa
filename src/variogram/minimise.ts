/**
 * Least value of a function of one number on an interval that may have several dips:
 * a scan of `steps` points, then golden-section search (Kiefer 1953) about the best of them.
 */
export function minimiseOnInterval(
  f: (x: number) => number,
  low: number,
  high: number,
  steps: number,
  tolerance = 1e-9,
): { readonly x: number; readonly value: number } {
  let best = low;
  let bestValue = Infinity;
  const step = (high - low) / steps;
  for (let i = 0; i <= steps; i++) {
    const value = f(low + i * step);
    if (value < bestValue) {
      bestValue = value;
      best = low + i * step;
    }
  }
  const golden = (Math.sqrt(5) - 1) / 2;
  let [a, b] = [Math.max(low, best - step), Math.min(high, best + step)];
  let [c, d] = [b - golden * (b - a), a + golden * (b - a)];
  let [fc, fd] = [f(c), f(d)];
  while (b - a > tolerance) {
    if (fc < fd) {
      [b, d, fd] = [d, c, fc];
      c = b - golden * (b - a);
      fc = f(c);
    } else {
      [a, c, fc] = [c, d, fd];
      d = a + golden * (b - a);
      fd = f(d);
    }
  }
  const x = (a + b) / 2;
  const value = f(x);
  return value <= bestValue ? { x, value } : { x: best, value: bestValue };
}

/**
 * Least value of a function of several numbers: the downhill simplex of Nelder & Mead 1965 with the usual
 * coefficients (1, 2, 1/2, 1/2), from one start and a step per coordinate.
 */
export function minimiseSimplex(
  f: (x: readonly number[]) => number,
  start: readonly number[],
  steps: readonly number[],
  { tolerance = 1e-9, maxEvaluations = 600 } = {},
): { readonly x: readonly number[]; readonly value: number; readonly evaluations: number } {
  const n = start.length;
  let evaluations = 0;
  const evaluate = (x: readonly number[]) => {
    evaluations++;
    const v = f(x);
    return Number.isFinite(v) ? v : Infinity;
  };
  const simplex = [{ x: [...start], value: evaluate(start) }];
  for (let i = 0; i < n; i++) {
    const x = start.map((v, j) => (i === j ? v + steps[j] : v));
    simplex.push({ x, value: evaluate(x) });
  }
  const along = (from: readonly number[], to: readonly number[], t: number) =>
    from.map((v, j) => v + t * (to[j] - v));
  while (evaluations < maxEvaluations) {
    simplex.sort((p, q) => p.value - q.value);
    const worst = simplex[n];
    const size = Math.max(...simplex[0].x.map((v, j) => Math.abs(worst.x[j] - v)));
    if (worst.value - simplex[0].value < tolerance && size < 1e-5) break;
    const centre = simplex[0].x.map((_, j) => simplex.slice(0, n).reduce((s, p) => s + p.x[j], 0) / n);
    const reflected = along(worst.x, centre, 2);
    const fr = evaluate(reflected);
    if (fr < simplex[0].value) {
      const expanded = along(worst.x, centre, 3);
      const fe = evaluate(expanded);
      simplex[n] = fe < fr ? { x: expanded, value: fe } : { x: reflected, value: fr };
    } else if (fr < simplex[n - 1].value) {
      simplex[n] = { x: reflected, value: fr };
    } else {
      const towards = fr < worst.value ? reflected : worst.x;
      const contracted = along(centre, towards, 0.5);
      const fc = evaluate(contracted);
      if (fc < Math.min(fr, worst.value)) simplex[n] = { x: contracted, value: fc };
      else
        for (let i = 1; i <= n; i++) {
          const x = along(simplex[0].x, simplex[i].x, 0.5);
          simplex[i] = { x, value: evaluate(x) };
        }
    }
  }
  simplex.sort((p, q) => p.value - q.value);
  return { x: simplex[0].x, value: simplex[0].value, evaluations };
}
