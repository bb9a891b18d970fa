import type { Target } from './block.ts';
import type { KrigeOutput } from './kriged.ts';
import { indexSamples, nearestInto } from './nearest.ts';
import { dotRows, factorRows, solveFourRows } from './rows.ts';
import { solveSmall } from './sampleSystem.ts';
import type { SampleCovariance } from './support.ts';
import type { Drift } from './trend.ts';

export interface Neighbourhood {
  /** Most samples used at a node. */
  readonly most: number;
  readonly maxDistanceM: number;
}

/** Most nodes in a run, and the least part of the first node's samples that all nodes of a run must share. */
const RUN = 16;
const SHARED = 0.7;

/**
 * Kriging from the nearest samples. Nodes that follow one another share most of their neighbours, so a run of nodes is
 * taken together: the samples common to all (the core) are factored once; every other sample of the run, the trend, the
 * values and the nodes' covariances are solved against that factor once; and a node then only needs the Cholesky factor
 * of its few further samples given the core (a bordered factor; Golub & Van Loan 2013, sec. 4.2). The result is the
 * same as from each node's neighbours alone but for rounding.
 */
export function krigeFromNearest(
  xy: Float64Array,
  values: Float64Array | undefined,
  nodes: Float64Array,
  cov: SampleCovariance,
  target: Target,
  drift: Drift,
  { most, maxDistanceM }: Neighbourhood,
  out: KrigeOutput,
): void {
  const n = xy.length / 2;
  const m = nodes.length / 2;
  const q = drift.columns;
  const tree = indexSamples(xy);
  const { between, variance } = cov;
  const { own, withSample } = target;
  const farthest2 = maxDistanceM * maxDistanceM;
  let shift = 0;
  if (values) for (let i = 0; i < n; i++) shift += values[i] / n;

  // The run: each node's samples, and how many of its nodes use a sample.
  const sets = new Uint32Array((RUN + 1) * most);
  const counts = new Int32Array(RUN + 1);
  const uses = new Int32Array(n);
  const union = new Uint32Array(2 * most + 1);
  const found = new Uint32Array(most);
  const distance2 = new Float64Array(most);

  // Rows: core (its factor L), further samples, trend, values, nodes; made up to fours for the solver.
  const stride = most;
  const a = new Float64Array((2 * most + q + 1 + RUN + 8) * stride);
  const inverse = new Float64Array(most);
  const core = new Uint32Array(most);
  const further = new Uint32Array(most + 1);
  const rowOf = new Int32Array(n);
  // Among the further samples, given the core: covariances (lower triangle), trend and values.
  const gram = new Float64Array(most * most);
  const given = new Float64Array(most * (q + 1));
  const coreTrend = new Float64Array(q * (q + 1));
  // A node's own: its further samples' factor with covariances, trend and value as further rows.
  const mine = new Int32Array(most);
  const small = new Float64Array((most + q + 2) * most);
  const smallInverse = new Float64Array(most);
  const normal = new Float64Array(q * q);
  const normalInverse = new Float64Array(q);
  const short = new Float64Array(q);
  const multiplier = new Float64Array(q);
  const trendValues = new Float64Array(q);

  // The nearest samples of the node before lie within its radius and the step to the next: most of the search is saved.
  let radius = Infinity;
  let before = 0;
  const search = (p: number): number => {
    const x = nodes[2 * p];
    const y = nodes[2 * p + 1];
    const dx = x - nodes[2 * before];
    const dy = y - nodes[2 * before + 1];
    const reach = radius + Math.sqrt(dx * dx + dy * dy);
    // Widened by more than rounding, so that no sample at the edge is missed.
    const within2 = Math.min(farthest2, reach * reach * (1 + 1e-9));
    const count = nearestInto(tree, x, y, most, within2, found, distance2);
    before = p;
    radius = count === most ? Math.sqrt(distance2[most - 1]) : Infinity;
    return count;
  };

  const distance = (i: number, j: number) => {
    const dx = xy[2 * i] - xy[2 * j];
    const dy = xy[2 * i + 1] - xy[2 * j + 1];
    return Math.sqrt(dx * dx + dy * dy);
  };

  let first = 0;
  // Samples found for the node after the last run; −1 when it has not been searched.
  let carried = -1;
  while (first < m) {
    // Gather the run; the last search of the run before it found the first node's samples.
    counts[0] = carried < 0 ? search(first) : carried;
    sets.set(found, 0);
    let held = counts[0];
    for (let i = 0; i < held; i++) {
      union[i] = found[i];
      uses[found[i]] = 1;
    }
    const least = SHARED * held;
    let run = 1;
    carried = -1;
    while (run < RUN && first + run < m) {
      const p = first + run;
      const count = search(p);
      let common = 0;
      let fresh = 0;
      for (let i = 0; i < count; i++) {
        const u = uses[found[i]];
        if (u === run) common++;
        else if (u === 0) fresh++;
      }
      if (common < least || held + fresh - common > most) {
        carried = count;
        break;
      }
      for (let i = 0; i < count; i++) if (uses[found[i]]++ === 0) union[held++] = found[i];
      sets.set(found, run * most);
      counts[run] = count;
      run++;
    }

    // The core and the further samples.
    let s = 0;
    let t = 0;
    for (let i = 0; i < held; i++) {
      const sample = union[i];
      if (uses[sample] === run) core[s++] = sample;
      else {
        rowOf[sample] = t;
        further[t++] = sample;
      }
    }
    for (let i = 0; i < s; i++) {
      for (let j = 0; j < i; j++) a[i * stride + j] = between(distance(core[i], core[j]));
      a[i * stride + i] = variance;
    }
    for (let b = 0; b < t; b++) {
      const row = (s + b) * stride;
      for (let j = 0; j < s; j++) a[row + j] = between(distance(further[b], core[j]));
    }
    const trendRow = s + t;
    const valueRow = trendRow + q;
    const nodeRow = valueRow + 1;
    // Trend columns are taken from the first node on, which spans the same trend and conditions it better.
    for (let j = 0; j < s; j++) {
      a[trendRow * stride + j] = 1;
      for (let e = 1; e < q; e++)
        a[(trendRow + e) * stride + j] = drift.samples[core[j] * q + e] - drift.nodes[first * q + e];
      a[valueRow * stride + j] = values ? values[core[j]] - shift : 0;
    }
    for (let r = 0; r < run; r++) {
      const x = nodes[2 * (first + r)];
      const y = nodes[2 * (first + r) + 1];
      const row = (nodeRow + r) * stride;
      for (let j = 0; j < s; j++) a[row + j] = withSample(x - xy[2 * core[j]], y - xy[2 * core[j] + 1]);
    }
    if (!factorRows(a, stride, s, inverse))
      throw new RangeError('Two samples without noise lie at one place.');
    for (let row = s; row < nodeRow + run; row += 4) solveFourRows(a, stride, s, inverse, row);

    // The further samples, trend and values given the core.
    for (let b = 0; b < t; b++) {
      const row = (s + b) * stride;
      for (let d = 0; d < b; d++)
        gram[b * most + d] = between(distance(further[b], further[d])) - dotRows(a, row, (s + d) * stride, s);
      gram[b * most + b] = variance - dotRows(a, row, row, s);
      for (let e = 0; e < q; e++)
        given[b * (q + 1) + e] =
          (e === 0 ? 1 : drift.samples[further[b] * q + e] - drift.nodes[first * q + e]) -
          dotRows(a, row, (trendRow + e) * stride, s);
      given[b * (q + 1) + q] =
        (values ? values[further[b]] - shift : 0) - dotRows(a, row, valueRow * stride, s);
    }
    for (let e = 0; e < q; e++) {
      for (let d = 0; d <= e; d++)
        coreTrend[e * (q + 1) + d] = dotRows(a, (trendRow + e) * stride, (trendRow + d) * stride, s);
      coreTrend[e * (q + 1) + q] = dotRows(a, (trendRow + e) * stride, valueRow * stride, s);
    }

    for (let r = 0; r < run; r++) {
      const p = first + r;
      const from = r * most;
      const row = (nodeRow + r) * stride;
      const count = counts[r];
      if (count < q) continue;
      let f = 0;
      if (t > 0)
        for (let i = 0; i < count; i++) if (uses[sets[from + i]] !== run) mine[f++] = rowOf[sets[from + i]];
      // In the order of the gram matrix's lower triangle.
      for (let i = 1; i < f; i++) {
        const b = mine[i];
        let k = i;
        for (; k > 0 && mine[k - 1] > b; k--) mine[k] = mine[k - 1];
        mine[k] = b;
      }
      const x = nodes[2 * p];
      const y = nodes[2 * p + 1];
      const cRow = f * f;
      for (let i = 0; i < f; i++) {
        const b = mine[i];
        const sample = further[b];
        for (let j = 0; j <= i; j++) small[i * f + j] = gram[b * most + mine[j]];
        small[cRow + i] =
          withSample(x - xy[2 * sample], y - xy[2 * sample + 1]) - dotRows(a, row, (s + b) * stride, s);
        for (let e = 0; e <= q; e++) small[cRow + (e + 1) * f + i] = given[b * (q + 1) + e];
      }
      if (!factorRows(small, f, f, smallInverse))
        throw new RangeError('Two samples without noise lie at one place.');
      for (let g = 0; g < q + 2; g++) {
        const at = cRow + g * f;
        for (let i = 0; i < f; i++) {
          let v = small[at + i];
          for (let k = 0; k < i; k++) v -= small[i * f + k] * small[at + k];
          small[at + i] = v * smallInverse[i];
        }
      }

      const cKc = dotRows(a, row, row, s) + dotRows(small, cRow, cRow, f);
      for (let e = 0; e < q; e++) {
        const at = cRow + (e + 1) * f;
        short[e] = multiplier[e] =
          (e === 0 ? 1 : drift.nodes[p * q + e] - drift.nodes[first * q + e]) -
          dotRows(a, row, (trendRow + e) * stride, s) -
          dotRows(small, cRow, at, f);
        for (let d = 0; d <= e; d++)
          normal[e * q + d] = coreTrend[e * (q + 1) + d] + dotRows(small, at, cRow + (d + 1) * f, f);
        trendValues[e] = coreTrend[e * (q + 1) + q] + dotRows(small, at, cRow + (q + 1) * f, f);
      }
      if (!factorRows(normal, q, q, normalInverse)) continue;
      solveSmall(normal, normalInverse, q, multiplier, 0);
      let added = 0;
      let lagrange = 0;
      let prediction =
        shift + dotRows(a, row, valueRow * stride, s) + dotRows(small, cRow, cRow + (q + 1) * f, f);
      for (let e = 0; e < q; e++) {
        added += short[e] * multiplier[e];
        lagrange += (e === 0 ? 1 : drift.nodes[p * q + e] - drift.nodes[first * q + e]) * multiplier[e];
        prediction += multiplier[e] * trendValues[e];
      }
      // Rounding can leave a hair below zero at a noiseless sample.
      out.variances[p] = Math.max(0, own - cKc + added);
      if (out.lagrange) out.lagrange[p] = lagrange;
      if (values) out.predictions[p] = prediction;
    }
    for (let i = 0; i < held; i++) uses[union[i]] = 0;
    first += run;
  }
}
