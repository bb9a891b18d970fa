import { Delaunay, median } from 'd3';
import type { FlatPositions } from '../field/index.ts';

/** Which nodes of a field lie side by side. */
export interface NodeGraph {
  readonly nodes: FlatPositions;
  /** Neighbours of node i are to[starts[i]] … to[starts[i + 1] − 1]. */
  readonly starts: Int32Array;
  readonly to: Int32Array;
  /** Length of the border between the two nodes' cells, m; one an entry of `to`. */
  readonly borderM: Float64Array;
  /** Side of the square a node stands for. */
  readonly spacingM: number;
  readonly areaHa: number;
}

/** A neighbour is no farther than so many spacings, so that nothing leaps a bay or the gap between two parts of a field. */
const FARTHEST_SPACINGS = 2.5;

/**
 * Neighbours by Delaunay's triangles over nodes that each stand for the same area; borders by the Voronoi cells.
 * A node with no neighbour near is tied to its nearest.
 * @param nodes 2n metres, at least two
 * @param areaHa of the field; if not stated, from the triangles (a triangulation has about two a node)
 */
export function nodeGraph(nodes: FlatPositions, areaHa?: number): NodeGraph {
  const n = nodes.length / 2;
  const { triangles, halfedges } = new Delaunay(nodes);
  const between = (i: number, j: number) =>
    Math.hypot(nodes[2 * i] - nodes[2 * j], nodes[2 * i + 1] - nodes[2 * j + 1]);
  // Nodes on one line have no triangles: then the distance to the nearest.
  const nearest = () => median(Array.from({ length: n }, (_, i) => between(i, nearestOther(nodes, i)))) ?? 1;
  const spacingM =
    areaHa !== undefined ? Math.sqrt((areaHa * 10_000) / n) : (spacingOf(nodes, triangles) ?? nearest());
  const links = Array.from({ length: n }, () => new Map<number, number>());
  const link = (i: number, j: number, border: number) => {
    links[i].set(j, border);
    links[j].set(i, border);
  };
  for (let e = 0; e < triangles.length; e++) {
    const opposite = halfedges[e];
    // Two nodes come as a triangle without its third.
    if (e < opposite || n < 3) continue;
    const i = triangles[e];
    const j = triangles[e % 3 === 2 ? e - 2 : e + 1];
    if (between(i, j) > FARTHEST_SPACINGS * spacingM) continue;
    const border =
      opposite < 0
        ? spacingM / 2
        : gapOf(
            circumcentre(nodes, triangles, Math.floor(e / 3)),
            circumcentre(nodes, triangles, Math.floor(opposite / 3)),
          );
    // Cells at the field's edge run on without end; no border counts for more than a node's side.
    link(i, j, border < spacingM ? border : spacingM);
  }
  for (let i = 0; i < n && n > 1; i++) if (links[i].size === 0) link(i, nearestOther(nodes, i), spacingM / 2);
  const starts = new Int32Array(n + 1);
  links.forEach((l, i) => (starts[i + 1] = starts[i] + l.size));
  return {
    nodes,
    starts,
    to: Int32Array.from(links.flatMap((l) => [...l.keys()])),
    borderM: Float64Array.from(links.flatMap((l) => [...l.values()])),
    spacingM,
    areaHa: areaHa ?? (n * spacingM * spacingM) / 10_000,
  };
}

/** The connected pieces that labels make of a field. */
export interface Patches {
  /** Patch of each node. */
  readonly patch: Int32Array;
  /** Label and number of nodes of each patch. */
  readonly label: readonly number[];
  readonly nodes: readonly number[];
}

export function patchesOf(graph: NodeGraph, labels: ArrayLike<number>): Patches {
  const n = graph.starts.length - 1;
  const patch = new Int32Array(n).fill(-1);
  const label: number[] = [];
  const nodes: number[] = [];
  const stack: number[] = [];
  for (let first = 0; first < n; first++) {
    if (patch[first] >= 0) continue;
    const p = label.length;
    label.push(labels[first]);
    let count = 0;
    patch[first] = p;
    stack.push(first);
    while (stack.length > 0) {
      const i = stack.pop()!;
      count++;
      for (let e = graph.starts[i]; e < graph.starts[i + 1]; e++) {
        const j = graph.to[e];
        if (patch[j] >= 0 || labels[j] !== label[p]) continue;
        patch[j] = p;
        stack.push(j);
      }
    }
    nodes.push(count);
  }
  return { patch, label, nodes };
}

/**
 * Mean width of each patch, m: its area over the longest way within it, end to end.
 * Of a strip its width, of a disc 0.79 of its diameter, of a lone node its spacing.
 */
export function patchWidthsM(graph: NodeGraph, { patch, nodes }: Patches): Float64Array {
  const width = new Float64Array(nodes.length);
  const done = new Uint8Array(nodes.length);
  const { spacingM } = graph;
  for (let i = 0; i < patch.length; i++) {
    const p = patch[i];
    if (done[p]) continue;
    done[p] = 1;
    const end = farthestWithin(graph, patch, i).node;
    const lengthM = farthestWithin(graph, patch, end).distanceM + spacingM;
    width[p] = (nodes[p] * spacingM * spacingM) / lengthM;
  }
  return width;
}

/** A majority filter: each node takes the label most of its neighbours have, its own counting one and a half. */
export function smoothLabels(graph: NodeGraph, labels: Int32Array, zones: number, passes = 2): Int32Array {
  const votes = new Float64Array(zones);
  let now = labels;
  for (let pass = 0; pass < passes; pass++) {
    const before = now;
    now = before.map((own, i) => {
      votes.fill(0);
      votes[own] = 1.5;
      for (let e = graph.starts[i]; e < graph.starts[i + 1]; e++) votes[before[graph.to[e]]]++;
      return votes[own] === Math.max(...votes) ? own : votes.indexOf(Math.max(...votes));
    });
  }
  return now;
}

export interface CleanUpOptions {
  /** A patch smaller than this joins a neighbour; the greater of 0.4 ha and 2 % of the field if not stated. */
  readonly minAreaHa?: number;
  /** A patch narrower than this joins a neighbour; two passes of a spreader of 18 m if not stated. */
  readonly minWidthM?: number;
  /** A zone with less of the field than this is given up. */
  readonly minShare?: number;
  /** A zone keeps so many patches, the largest. */
  readonly patchesPerZone?: number;
}

/** Judgement of this project. */
const CLEAN_UP = { areaHa: 0.4, areaShare: 0.02, minWidthM: 36, minShare: 0.03, patchesPerZone: 3 } as const;

/**
 * Zones a spreader can follow. The smallest patch that is too small, too narrow or one too many of its zone takes the
 * label of the neighbouring patch it shares most border with, until there is none; then the zone with the least ground,
 * if below the least share, is shared out among its neighbours; and so on until nothing changes. Every step
 * leaves fewer zones or fewer patches, so it ends, and done again it changes nothing.
 * A patch that is all of a separate part of the field has no neighbour and stays, unless its zone is given up.
 * @param labels zone of each node, from 0
 * @returns labels numbered from 0 in the order of those given, and for each the number it had
 */
export function cleanUp(
  graph: NodeGraph,
  labels: ArrayLike<number>,
  options: CleanUpOptions = {},
): { readonly labels: Int32Array; readonly kept: readonly number[] } {
  const {
    minAreaHa = Math.max(CLEAN_UP.areaHa, CLEAN_UP.areaShare * graph.areaHa),
    minWidthM = CLEAN_UP.minWidthM,
    minShare = CLEAN_UP.minShare,
    patchesPerZone = CLEAN_UP.patchesPerZone,
  } = options;
  const n = graph.starts.length - 1;
  const nodeHa = graph.areaHa / n;
  const now = Int32Array.from(labels);
  for (;;) {
    const patches = patchesOf(graph, now);
    if (new Set(patches.label).size < 2) break;
    const widths = minWidthM > 0 ? patchWidthsM(graph, patches) : undefined;
    const bySize = patches.nodes.map((_, p) => p).sort((a, b) => patches.nodes[a] - patches.nodes[b]);
    const perZone = new Map<number, number>();
    for (const l of patches.label) perZone.set(l, (perZone.get(l) ?? 0) + 1);
    const merge = bySize
      .filter(
        (p) =>
          patches.nodes[p] * nodeHa < minAreaHa * (1 - 1e-9) ||
          (widths !== undefined && widths[p] < minWidthM * (1 - 1e-9)) ||
          perZone.get(patches.label[p])! > patchesPerZone,
      )
      .map((p) => ({ p, into: longestBorder(graph, patches, p) }))
      .find(({ into }) => into !== undefined);
    if (merge) {
      relabel(now, patches, merge.p, patches.label[merge.into!]);
      continue;
    }
    const share = new Map<number, number>();
    for (const l of now) share.set(l, (share.get(l) ?? 0) + 1 / n);
    const [least, has] = [...share].sort((a, b) => a[1] - b[1])[0];
    if (has >= minShare * (1 - 1e-9)) break;
    for (const p of bySize) {
      if (patches.label[p] !== least) continue;
      const into = longestBorder(graph, patches, p);
      relabel(now, patches, p, into === undefined ? nearestForeign(graph, patches, p) : patches.label[into]);
    }
  }
  const kept = [...new Set(now)].sort((a, b) => a - b);
  return { labels: now.map((l) => kept.indexOf(l)), kept };
}

function relabel(labels: Int32Array, { patch }: Patches, p: number, label: number): void {
  for (let i = 0; i < labels.length; i++) if (patch[i] === p) labels[i] = label;
}

/** The patch that shares most border with patch p. */
function longestBorder(graph: NodeGraph, { patch, nodes }: Patches, p: number): number | undefined {
  const border = new Float64Array(nodes.length);
  for (let i = 0; i < patch.length; i++) {
    if (patch[i] !== p) continue;
    for (let e = graph.starts[i]; e < graph.starts[i + 1]; e++) {
      const q = patch[graph.to[e]];
      // A border of no length still touches.
      if (q !== p) border[q] += graph.borderM[e] + 1e-9;
    }
  }
  const most = Math.max(...border);
  return most > 0 ? border.indexOf(most) : undefined;
}

/** Label of the node nearest to patch p among those of other labels. */
function nearestForeign({ nodes }: NodeGraph, { patch, label }: Patches, p: number): number {
  let [least, found] = [Infinity, label[p]];
  for (let i = 0; i < patch.length; i++) {
    if (patch[i] !== p) continue;
    for (let j = 0; j < patch.length; j++) {
      if (label[patch[j]] === label[p]) continue;
      const d = (nodes[2 * i] - nodes[2 * j]) ** 2 + (nodes[2 * i + 1] - nodes[2 * j + 1]) ** 2;
      if (d < least) [least, found] = [d, label[patch[j]]];
    }
  }
  return found;
}

/** The node of the same patch farthest from `from` along neighbours, m. */
function farthestWithin(graph: NodeGraph, patch: Int32Array, from: number) {
  const distance = new Map<number, number>([[from, 0]]);
  const queue = [from];
  // Label-correcting: few nodes are visited twice, since neighbours lie at like distances.
  for (let q = 0; q < queue.length; q++) {
    const i = queue[q];
    for (let e = graph.starts[i]; e < graph.starts[i + 1]; e++) {
      const j = graph.to[e];
      if (patch[j] !== patch[from]) continue;
      const d =
        distance.get(i)! +
        Math.hypot(graph.nodes[2 * i] - graph.nodes[2 * j], graph.nodes[2 * i + 1] - graph.nodes[2 * j + 1]);
      if (d >= (distance.get(j) ?? Infinity) - 1e-9) continue;
      distance.set(j, d);
      queue.push(j);
    }
  }
  let [node, distanceM] = [from, 0];
  for (const [i, d] of distance) if (d > distanceM) [node, distanceM] = [i, d];
  return { node, distanceM };
}

function nearestOther(nodes: FlatPositions, i: number): number {
  let [best, least] = [i, Infinity];
  for (let j = 0; 2 * j < nodes.length; j++) {
    const d = (nodes[2 * i] - nodes[2 * j]) ** 2 + (nodes[2 * i + 1] - nodes[2 * j + 1]) ** 2;
    if (j !== i && d < least) [best, least] = [j, d];
  }
  return best;
}

const gapOf = (a: readonly [number, number], b: readonly [number, number]) =>
  Math.hypot(a[0] - b[0], a[1] - b[1]);

/** Side of the square a node stands for: twice the mean triangle, those with a long side (bays, slivers at the edge) left out. */
function spacingOf(nodes: FlatPositions, triangles: ArrayLike<number>): number | undefined {
  const areas = Float64Array.from({ length: triangles.length / 3 }, (_, t) =>
    triangleArea(nodes, triangles, t),
  );
  const typical = 2 * (median(areas) ?? 0);
  if (!(typical > 0)) return undefined;
  const sound = areas.filter((_, t) => {
    const sides = [0, 1, 2].map((s) => {
      const [i, j] = [triangles[3 * t + s], triangles[3 * t + ((s + 1) % 3)]];
      return (nodes[2 * i] - nodes[2 * j]) ** 2 + (nodes[2 * i + 1] - nodes[2 * j + 1]) ** 2;
    });
    return Math.max(...sides) <= FARTHEST_SPACINGS ** 2 * typical;
  });
  return sound.length > 0
    ? Math.sqrt((2 * sound.reduce((s, v) => s + v, 0)) / sound.length)
    : Math.sqrt(typical);
}

function triangleArea(nodes: FlatPositions, triangles: ArrayLike<number>, t: number): number {
  const [a, b, c] = [triangles[3 * t], triangles[3 * t + 1], triangles[3 * t + 2]];
  const [ux, uy] = [nodes[2 * b] - nodes[2 * a], nodes[2 * b + 1] - nodes[2 * a + 1]];
  const [vx, vy] = [nodes[2 * c] - nodes[2 * a], nodes[2 * c + 1] - nodes[2 * a + 1]];
  return Math.abs(ux * vy - uy * vx) / 2;
}

function circumcentre(
  nodes: FlatPositions,
  triangles: ArrayLike<number>,
  t: number,
): readonly [number, number] {
  const [a, b, c] = [triangles[3 * t], triangles[3 * t + 1], triangles[3 * t + 2]];
  const [ux, uy] = [nodes[2 * b] - nodes[2 * a], nodes[2 * b + 1] - nodes[2 * a + 1]];
  const [vx, vy] = [nodes[2 * c] - nodes[2 * a], nodes[2 * c + 1] - nodes[2 * a + 1]];
  const twice = 2 * (ux * vy - uy * vx);
  const [uu, vv] = [ux * ux + uy * uy, vx * vx + vy * vy];
  return [nodes[2 * a] + (vy * uu - uy * vv) / twice, nodes[2 * a + 1] + (ux * vv - vx * uu) / twice];
}
