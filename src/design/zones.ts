import { ckmeans } from 'simple-statistics';
import type { Random } from '../describe/index.ts';
import { regionContains, type FlatPositions, type Region } from '../field/index.ts';
import { fuzzyKMeans, kmeansPlusPlus } from './clusters.ts';
import { cleanUp, nodeGraph, smoothLabels, type CleanUpOptions, type NodeGraph } from './contiguity.ts';
import type { Covariates } from './covariates.ts';
import { spatialCoverage } from './coverage.ts';

/** A division of the field: a zone for each field node, and for any place. */
export interface ZoneMap {
  readonly from: 'soil units' | 'yield' | 'elevation' | 'covariates' | 'tests' | 'not drawn yet';
  readonly zones: number;
  readonly names: readonly string[];
  readonly labels: Int32Array;
  readonly zoneAt: (xM: number, yM: number) => number;
  /** Where samples helped to draw the zones: the zones drawn again without them, which alone they may judge. */
  readonly heldOut?: HeldOutZones;
}

/** A division drawn again several times, each time without a part (fold) of the samples it rests on. */
export interface HeldOutZones {
  /** Fold of the sample at a place; −1 where none lies. */
  readonly foldAt: (xM: number, yM: number) => number;
  /** The map drawn without each fold; undefined where the others do not give so many zones. */
  readonly maps: readonly (ZoneMap | undefined)[];
  /** Zone a sample falls in on the map drawn without it, numbered as the whole map's zones; −1 where there is none. */
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
 * Zones by yield: the exact one-dimensional k-means of the yield surface (Wang & Song 2011), a majority filter over
 * neighbours, then patches too small or too narrow to manage joined to what is about them.
 * @param surface yield at each field node
 * @param options least patch and zone, see {@link cleanUp}; `areaHa` of the field where known
 * @returns undefined when the surface does not give so many zones
 */
export function yieldZones(
  nodes: FlatPositions,
  surface: Float64Array,
  k: number,
  options: CleanUpOptions & { readonly areaHa?: number } = {},
): ZoneMap | undefined {
  const found = surfaceZones(nodes, surface, k, options);
  const nameOf = (z: number) =>
    z === 0 ? 'lowest yield' : z === k - 1 ? 'highest yield' : `yield class ${z + 1}`;
  return found && { from: 'yield', names: found.kept.map(nameOf), ...found.map };
}

/**
 * Zones by the height of the ground, made as {@link yieldZones}. A receiver's drift between passes and days is part of the
 * surface, so zones that follow the passes say nothing of the ground.
 * @param surface elevation at each field node
 */
export function elevationZones(
  nodes: FlatPositions,
  surface: Float64Array,
  k: number,
  options: CleanUpOptions & { readonly areaHa?: number } = {},
): ZoneMap | undefined {
  const found = surfaceZones(nodes, surface, k, options);
  const nameOf = (z: number) => (z === 0 ? 'lowest' : z === k - 1 ? 'highest' : `height class ${z + 1}`);
  return found && { from: 'elevation', names: found.kept.map(nameOf), ...found.map };
}

function surfaceZones(
  nodes: FlatPositions,
  surface: Float64Array,
  k: number,
  options: CleanUpOptions & { readonly areaHa?: number },
) {
  if (new Set(surface).size < k) return undefined;
  const breaks = ckmeans([...surface], k).map((c) => c[c.length - 1]);
  const classes = Int32Array.from(surface, (v) => breaks.findIndex((b) => v <= b));
  const { labels, kept } = manageable(nodes, classes, k, options);
  if (kept.length < k) return undefined;
  return { kept, map: { zones: k, labels, zoneAt: byNearest(nodes, labels) } };
}

/**
 * Zones by several covariates together: k-means of the standardised columns, or fuzzy k-means where a fuzziness is given,
 * made manageable as {@link yieldZones}. Zones are numbered upwards by the first column.
 * @returns undefined when the covariates do not give so many zones
 */
export function covariateZones(
  nodes: FlatPositions,
  covariates: Covariates,
  k: number,
  options: CleanUpOptions & {
    readonly random: Random;
    readonly areaHa?: number;
    readonly restarts?: number;
    readonly fuzziness?: number;
  },
): ZoneMap | undefined {
  const { fuzziness } = options;
  const clusters =
    fuzziness === undefined
      ? kmeansPlusPlus(covariates, k, options)
      : fuzzyKMeans(covariates, k, { ...options, fuzziness });
  if (!clusters) return undefined;
  const { labels, kept } = manageable(nodes, clusters.labels, k, options);
  if (kept.length < k) return undefined;
  const names = kept.map((z) => `class ${z + 1} of ${k}`);
  return { from: 'covariates', zones: k, names, labels, zoneAt: byNearest(nodes, labels) };
}

/** Many maps are drawn on the same nodes: their neighbours are found once. */
const graphs = new WeakMap<FlatPositions, { readonly areaHa?: number; readonly graph: NodeGraph }>();

function graphOf(nodes: FlatPositions, areaHa: number | undefined): NodeGraph {
  const known = graphs.get(nodes);
  if (known && known.areaHa === areaHa) return known.graph;
  const graph = nodeGraph(nodes, areaHa);
  graphs.set(nodes, { areaHa, graph });
  return graph;
}

function manageable(
  nodes: FlatPositions,
  classes: Int32Array,
  k: number,
  options: CleanUpOptions & { readonly areaHa?: number },
) {
  const graph = graphOf(nodes, options.areaHa);
  return cleanUp(graph, smoothLabels(graph, classes, k), options);
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

/** Zone of each sample, as far as it may judge the zones: on the map drawn without it where it helped to draw them. */
export function zonesOfSamples(xy: FlatPositions, map: ZoneMap): Int32Array {
  const { zoneAt } = map.heldOut ?? map;
  return Int32Array.from({ length: xy.length / 2 }, (_, i) => zoneAt(xy[2 * i], xy[2 * i + 1]));
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
