import { ckmeans } from 'simple-statistics';
import { oneWay } from '../describe/index.ts';
import { regionContains, type FlatPositions, type Region } from '../field/index.ts';
import { correlation } from '../variogram/index.ts';
import type { Member, Sample } from '../prior/index.ts';
import { spatialCoverage } from './coverage.ts';

/** A division of the field: a zone for each field node, and for any place. */
export interface ZoneMap {
  readonly from: 'soil units' | 'yield' | 'not drawn yet';
  readonly zones: number;
  readonly names: readonly string[];
  readonly labels: Int32Array;
  readonly zoneAt: (xM: number, yM: number) => number;
}

/** Zones by soil-map unit; nodes outside every unit join the nearest labelled node. Units under 2 % of the field are merged so. */
export function soilUnitZones(
  nodes: FlatPositions,
  units: readonly { readonly label: string; readonly region: Region }[],
): ZoneMap | undefined {
  const n = nodes.length / 2;
  const raw = new Int32Array(n).fill(-1);
  for (let i = 0; i < n; i++)
    raw[i] = units.findIndex((u) => regionContains(u.region, [nodes[2 * i], nodes[2 * i + 1]]));
  const kept = units
    .map((_, u) => u)
    .filter((u) => raw.filter((l) => l === u).length >= Math.max(2, 0.02 * n));
  if (kept.length < 2) return undefined;
  const labels = raw.map((u) => kept.indexOf(u));
  fillFromNearest(nodes, labels);
  const zoneAt = (x: number, y: number) => {
    const inside = kept.findIndex((u) => regionContains(units[u].region, [x, y]));
    return inside >= 0 ? inside : labels[nearestNode(nodes, x, y)];
  };
  return { from: 'soil units', zones: kept.length, names: kept.map((u) => units[u].label), labels, zoneAt };
}

/**
 * Zones by yield: the exact one-dimensional k-means of the yield surface (Wang & Song 2011), smoothed by two
 * passes of a majority filter over the nearest eight nodes.
 * @param surface yield at each field node
 */
export function yieldZones(nodes: FlatPositions, surface: Float64Array, k: number): ZoneMap | undefined {
  const n = nodes.length / 2;
  if (new Set(surface).size < k) return undefined;
  const breaks = ckmeans([...surface], k).map((c) => c[c.length - 1]);
  let labels = Int32Array.from(surface, (v) => breaks.findIndex((b) => v <= b));
  const near = nearestNodes(nodes, 8);
  for (let pass = 0; pass < 2; pass++) {
    const before = labels;
    labels = before.map((own, i) => {
      const votes = new Float64Array(k);
      votes[own] += 1.5;
      for (let q = 0; q < 8; q++) votes[before[near[8 * i + q]]]++;
      return votes.indexOf(Math.max(...votes));
    });
  }
  const share = Array.from({ length: k }, (_, z) => labels.filter((l) => l === z).length / n);
  if (share.some((s) => s < 0.03)) return undefined;
  const names = share.map((_, z) =>
    z === 0 ? 'lowest yield' : z === k - 1 ? 'highest yield' : `yield class ${z + 1}`,
  );
  return { from: 'yield', zones: k, names, labels, zoneAt: byNearest(nodes, labels) };
}

/** Zones nobody has drawn yet: compact pieces of equal area stand for their shape. */
export function undrawnZones(nodes: FlatPositions, k: number): ZoneMap {
  const { labels } = spatialCoverage(nodes, k);
  const names = Array.from({ length: k }, (_, z) => `zone ${z + 1}`);
  return { from: 'not drawn yet', zones: k, names, labels, zoneAt: byNearest(nodes, labels) };
}

/** The one zone that the whole field is. */
export function wholeField(nodes: FlatPositions): ZoneMap {
  const labels = new Int32Array(nodes.length / 2);
  return { from: 'not drawn yet', zones: 1, names: ['whole field'], labels, zoneAt: () => 0 };
}

/** Zone of each sample. */
export function zonesOfSamples(xy: FlatPositions, map: ZoneMap): Int32Array {
  return Int32Array.from({ length: xy.length / 2 }, (_, i) => map.zoneAt(xy[2 * i], xy[2 * i + 1]));
}

/** Median and spread (in logarithms) of the efficacy of zones that no data have judged. Judgement of this project. */
export const efficacyPrior: Readonly<
  Record<ZoneMap['from'], { readonly median: number; readonly logSd: number }>
> = {
  'soil units': { median: 0.8, logSd: 0.6 },
  yield: { median: 0.8, logSd: 0.6 },
  'not drawn yet': { median: 0.9, logSd: 0.25 },
};

/** Least and greatest logarithm of an efficacy considered. */
const LOG_EFFICACY: readonly [number, number] = [-4.6, 0.6];

/**
 * Efficacy of zones under one member: the structured variance that samples show within zones over what the variogram
 * alone leaves within pieces of that shape. The within-zone mean square is a sum over pairs, so its expectation under a
 * variogram is Σ_g (1/n_g) Σ_{i<j} 2γ_ij / (n − k); it is taken as that times χ²/(n − k), and the posterior of the
 * efficacy under its lognormal prior is summed on a grid.
 * @returns mean and standard deviation of its logarithm
 */
export function zoneEfficacy(
  member: Member,
  map: ZoneMap,
  sample: Sample | undefined,
  sampleZones: Int32Array | undefined,
): { readonly logMean: number; readonly logSd: number } {
  const prior = efficacyPrior[map.from];
  const none = { logMean: Math.log(prior.median), logSd: prior.logSd };
  if (!sample || !sampleZones) return none;
  const anova = oneWay(sample.z, sampleZones);
  if (!anova || anova.n - anova.classes < 4) return none;
  const nugget = member.sill * member.nuggetShare;
  const df = anova.n - anova.classes;
  const expected = expectedWithin(member, sample.xy, sampleZones, df) - nugget;
  if (!(expected > 0.02 * member.sill)) return none;
  let [most, weight, first, second] = [-Infinity, 0, 0, 0];
  const nodes: { readonly u: number; readonly log: number }[] = [];
  for (let u = LOG_EFFICACY[0]; u <= LOG_EFFICACY[1]; u += 0.08) {
    const variance = Math.exp(u) * expected + nugget;
    const log =
      -0.5 * ((u - none.logMean) / prior.logSd) ** 2 -
      0.5 * df * (Math.log(variance) + anova.withinMs / variance);
    nodes.push({ u, log });
    most = Math.max(most, log);
  }
  for (const { u, log } of nodes) {
    const w = Math.exp(log - most);
    weight += w;
    first += w * u;
    second += w * u * u;
  }
  const logMean = first / weight;
  return { logMean, logSd: Math.sqrt(Math.max(0, second / weight - logMean * logMean)) };
}

function expectedWithin(member: Member, xy: FlatPositions, zones: Int32Array, df: number): number {
  const counts = new Map<number, number>();
  for (const z of zones) counts.set(z, (counts.get(z) ?? 0) + 1);
  const partialSill = member.sill * (1 - member.nuggetShare);
  const nugget = member.sill * member.nuggetShare;
  let sum = 0;
  for (let i = 1; i < zones.length; i++)
    for (let j = 0; j < i; j++) {
      if (zones[i] !== zones[j]) continue;
      const h = Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
      const gamma = nugget + partialSill * (1 - correlation(member.kind, member.effectiveRangeM, h));
      sum += (2 * gamma) / counts.get(zones[i])!;
    }
  return sum / df;
}

const byNearest =
  (nodes: FlatPositions, labels: Int32Array) =>
  (x: number, y: number): number =>
    labels[nearestNode(nodes, x, y)];

export function nearestNode(nodes: FlatPositions, x: number, y: number): number {
  let best = 0;
  let bestD = Infinity;
  for (let i = 0; 2 * i < nodes.length; i++) {
    const d = (nodes[2 * i] - x) ** 2 + (nodes[2 * i + 1] - y) ** 2;
    if (d < bestD) {
      bestD = d;
      best = i;
    }
  }
  return best;
}

function nearestNodes(nodes: FlatPositions, k: number): Int32Array {
  const n = nodes.length / 2;
  const out = new Int32Array(n * k);
  for (let i = 0; i < n; i++) {
    const order = Array.from({ length: n }, (_, j) => j)
      .filter((j) => j !== i)
      .map((j) => ({ j, d: (nodes[2 * i] - nodes[2 * j]) ** 2 + (nodes[2 * i + 1] - nodes[2 * j + 1]) ** 2 }))
      .sort((a, b) => a.d - b.d);
    for (let q = 0; q < k; q++) out[i * k + q] = order[Math.min(q, order.length - 1)].j;
  }
  return out;
}

function fillFromNearest(nodes: FlatPositions, labels: Int32Array): void {
  const known = labels.slice();
  for (let i = 0; i < labels.length; i++) {
    if (labels[i] >= 0) continue;
    let bestD = Infinity;
    for (let j = 0; j < known.length; j++) {
      if (known[j] < 0) continue;
      const d = (nodes[2 * i] - nodes[2 * j]) ** 2 + (nodes[2 * i + 1] - nodes[2 * j + 1]) ** 2;
      if (d < bestD) {
        bestD = d;
        labels[i] = known[j];
      }
    }
  }
}
