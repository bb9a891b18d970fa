/** Covariates that the mean depends on linearly, row by row: n × q at the samples, m × q at the nodes (block means). */
export interface Covariates {
  readonly samples: Float64Array;
  readonly nodes: Float64Array;
}

/** The mean: an unknown constant (ordinary kriging), a plane in the coordinates, or a line in covariates. */
export type KrigingTrend = 'constant' | 'linear' | Covariates;

/**
 * The trend's columns, the constant 1 first, row by row. The other columns are centred and scaled, which leaves the
 * predictions as they are and keeps the normal equations well conditioned.
 */
export interface Drift {
  readonly columns: number;
  readonly samples: Float64Array;
  readonly nodes: Float64Array;
}

/**
 * @param xy samples, 2n metres; @param nodes 2m metres. A plane's mean over a block is its value at the centre.
 * @throws RangeError when covariates do not fit the number of samples and nodes
 */
export function driftOf(trend: KrigingTrend, xy: Float64Array, nodes: Float64Array): Drift {
  const n = xy.length / 2;
  const m = nodes.length / 2;
  if (trend === 'constant')
    return { columns: 1, samples: new Float64Array(n).fill(1), nodes: new Float64Array(m).fill(1) };
  const given = trend === 'linear' ? { samples: xy, nodes } : trend;
  const q = n > 0 ? given.samples.length / n : 0;
  if (!Number.isInteger(q) || given.nodes.length !== m * q)
    throw new RangeError(
      `Covariates must be q values for each of ${n} samples and ${m} nodes, not ${given.samples.length} and ${given.nodes.length} values.`,
    );
  const columns = q + 1;
  const out = {
    columns,
    samples: new Float64Array(n * columns).fill(1),
    nodes: new Float64Array(m * columns).fill(1),
  };
  for (let a = 0; a < q; a++) {
    let [mean, spread] = [0, 0];
    for (let i = 0; i < n; i++) mean += given.samples[i * q + a] / n;
    for (let i = 0; i < n; i++) spread = Math.max(spread, Math.abs(given.samples[i * q + a] - mean));
    if (spread === 0) spread = 1;
    for (let i = 0; i < n; i++) out.samples[i * columns + a + 1] = (given.samples[i * q + a] - mean) / spread;
    for (let p = 0; p < m; p++) out.nodes[p * columns + a + 1] = (given.nodes[p * q + a] - mean) / spread;
  }
  return out;
}
