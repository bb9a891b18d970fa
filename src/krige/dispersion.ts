/**
 * Mean covariance over a region or between two, from nodes that cover them: C̄(V, V) of geostatistics.
 * The dispersion variance of blocks in a field is C̄(B,B) − C̄(V,V) (Krige's relation; Journel & Huijbregts 1978).
 * @param nodes 2n metres spread evenly over the region
 */
export function meanCovariance(nodes: Float64Array, ground: (h: number) => number): number {
  const n = nodes.length / 2;
  let sum = 0;
  for (let i = 1; i < n; i++)
    for (let j = 0; j < i; j++) {
      const dx = nodes[2 * i] - nodes[2 * j];
      const dy = nodes[2 * i + 1] - nodes[2 * j + 1];
      sum += ground(Math.sqrt(dx * dx + dy * dy));
    }
  // Pairs of distinct nodes only: a node with itself would add the variance of a point, not of the region.
  return n > 1 ? (2 * sum) / (n * (n - 1)) : ground(0);
}
