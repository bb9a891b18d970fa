/** Abscissas and weights of a Gauss rule. */
export interface GaussRule {
  readonly at: Float64Array;
  readonly weight: Float64Array;
}

/**
 * Gauss-Legendre on [0, 1], weights summing to 1: Newton's method on the Legendre polynomial from Tricomi's first guess
 * (Davis & Rabinowitz 1984, Methods of Numerical Integration, sec. 2.7; from memory).
 */
export function gaussLegendre(n: number): GaussRule {
  const at = new Float64Array(n);
  const weight = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    let x = Math.cos((Math.PI * (i + 0.75)) / (n + 0.5));
    let slope = 1;
    for (let step = 0; step < 20; step++) {
      let [p, before] = [1, 0];
      for (let k = 0; k < n; k++) [p, before] = [((2 * k + 1) * x * p - k * before) / (k + 1), p];
      slope = (n * (x * p - before)) / (x * x - 1);
      const move = p / slope;
      x -= move;
      if (Math.abs(move) < 1e-15) break;
    }
    at[n - 1 - i] = (1 + x) / 2;
    weight[n - 1 - i] = 1 / ((1 - x * x) * slope * slope);
  }
  return { at, weight };
}

/**
 * Gauss-Hermite for the standard normal density, weights summing to 1, so that Σ w·f(x) is the mean of f: Newton's
 * method on the orthonormal Hermite polynomials, roots taken out as they are found (Davis & Rabinowitz 1984, sec. 2.7;
 * from memory). Up to some 60 points.
 */
export function gaussHermite(n: number): GaussRule {
  const at = new Float64Array(n);
  const weight = new Float64Array(n);
  // Below the least root, so that each search comes upon the next root from below.
  let x = -2 * Math.sqrt(n + 0.5);
  for (let i = 0; i < n; i++) {
    let previous = 0;
    for (let step = 0; step < 500; step++) {
      // h_{k+1} = (x·h_k − √k·h_{k−1}) / √(k+1); h_n′ = √n·h_{n−1}.
      let [h, before] = [1, 0];
      for (let k = 0; k < n; k++) [h, before] = [(x * h - Math.sqrt(k) * before) / Math.sqrt(k + 1), h];
      previous = before;
      // Roots found before are divided out, so that Newton's steps cannot fall back on them.
      let ratio = (Math.sqrt(n) * before) / h;
      for (let j = 0; j < i; j++) ratio -= 1 / (x - at[j]);
      const move = 1 / ratio;
      if (!Number.isFinite(move)) break;
      x -= move;
      if (Math.abs(move) < 1e-14 * (1 + Math.abs(x))) break;
    }
    at[i] = x;
    weight[i] = 1 / (n * previous * previous);
    x += 1e-3;
  }
  return { at, weight };
}
