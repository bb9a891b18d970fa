/** Mean distance of two random places in a square over its side is 0.52 (Ghosh 1951); evenly strewn nodes lie some 0.85 of it apart. */
const OWN_CELL = 0.6;

/**
 * Mean covariance over a region, from nodes that cover it: C̄(V, V) of geostatistics.
 * The dispersion variance of blocks in a field is C̄(B,B) − C̄(V,V) (Krige's relation; Journel & Huijbregts 1978).
 * A node stands for its cell: with itself it has the covariance at the cell's mean distance, not a point's variance.
 * @param nodes 2n metres spread evenly over the region
 */
export function meanCovariance(nodes: Float64Array, ground: (h: number) => number): number {
  const n = nodes.length / 2;
  if (n < 2) return ground(0);
  const nearest = new Float64Array(n).fill(Infinity);
  let sum = 0;
  for (let i = 1; i < n; i++)
    for (let j = 0; j < i; j++) {
      const dx = nodes[2 * i] - nodes[2 * j];
      const dy = nodes[2 * i + 1] - nodes[2 * j + 1];
      const h = Math.sqrt(dx * dx + dy * dy);
      if (h < nearest[i]) nearest[i] = h;
      if (h < nearest[j]) nearest[j] = h;
      sum += ground(h);
    }
  let gap = 0;
  for (let i = 0; i < n; i++) gap += nearest[i] / n;
  return (2 * sum + n * ground(OWN_CELL * gap)) / (n * n);
}
