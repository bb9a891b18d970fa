import { rasterNodes, toWorld, type FlatPositions, type Frame, type Region } from '../field/index.ts';
import { centresInside, nearestIndex, spatialCoverage, type ZoneMap } from '../design/index.ts';
import { clearStops, type ClearedStops } from '../design/clearStops.ts';
import { walkInGroups, walkingOrder } from '../design/route.ts';
import type { Advice, Stop } from './advice.ts';
import { withClosePairs } from './closePairs.ts';
import { isMap, type Candidate, type MapCandidate, type ZoneCandidate } from './candidates.ts';

export interface LayOptions {
  /** Where one comes into the field, local metres. */
  readonly startAt?: readonly [number, number];
  /** Whether a stop may lie at a place; anywhere unless given. */
  readonly clear?: (x: number, y: number) => boolean;
  /** Soil unit of a place, when a stop moved off forbidden ground is to stay in its own. */
  readonly soilUnitAt?: (x: number, y: number) => number;
  /** Places taken for a grid's stops instead of its own. */
  readonly taken?: FlatPositions;
  /** Stops of a grid that get a second sample so far away. */
  readonly closePairs?: { readonly pairs: number; readonly distanceM: number };
}

/** Stops as they are walked to. */
export interface LaidStops {
  readonly stops: readonly Stop[];
  readonly zoneCells?: Advice['field']['zoneCells'];
  /** Of maps, in the design's own order: its stops after some were moved, or its cells' cores. */
  readonly placed?: FlatPositions | readonly FlatPositions[];
  /** Places that were taken instead of a grid's own. */
  readonly taken?: FlatPositions;
}

/**
 * Where to stop for a design, in walking order; for zones the places of single cores spread over each zone. Stops of a map
 * that lie on forbidden ground move to the nearest clear place of their own cell, half a spacing at most; cores of zones
 * are spread over clear ground from the start. Bags are filled one after the other.
 */
export function layStops(
  candidate: Candidate,
  region: Region,
  frame: Frame,
  options: LayOptions = {},
): LaidStops {
  if (!isMap(candidate)) return layZones(candidate, region, frame, options);
  return candidate.pulled.kind === 'cells'
    ? layCells(candidate, candidate.pulled.coresOf, frame, options)
    : layGrid(candidate, frame, options);
}

function layGrid(candidate: MapCandidate, frame: Frame, options: LayOptions): LaidStops {
  const { taken } = options;
  const ideal = taken ?? candidate.grid.xy;
  const { nearest } = nearestIndex(ideal, ideal);
  const cleared = movedOff(ideal, candidate, options, (i, x, y) => nearest(x, y) === i);
  const stops = Array.from(walkingOrder(cleared.xy, options), (i, k) =>
    stopAt(frame, k + 1, placeOf(cleared.xy, i), candidate.cores, String(k + 1), fateOf(cleared, i)),
  );
  const { closePairs, clear = () => true } = options;
  if (!closePairs) return { stops, placed: cleared.xy, taken };
  const { pairs, distanceM } = closePairs;
  return { stops: withClosePairs(stops, pairs, distanceM, frame, clear), placed: cleared.xy, taken };
}

/** The cores of each cell, cell after cell. */
function layCells(
  candidate: MapCandidate,
  coresOf: readonly FlatPositions[],
  frame: Frame,
  options: LayOptions,
): LaidStops {
  const { nearest } = nearestIndex(candidate.grid.xy, candidate.grid.xy);
  const cleared = coresOf.map((xy, cell) =>
    movedOff(xy, candidate, options, (_, x, y) => nearest(x, y) === cell),
  );
  const placed = cleared.map((c) => c.xy);
  const walk = walkInGroups(placed, options);
  const named = new Map<number, string>();
  const stops = Array.from(walk.group, (cell, k) => {
    const sample = named.get(cell) ?? `cell ${named.size + 1}`;
    named.set(cell, sample);
    const i = walk.index[k];
    return stopAt(frame, k + 1, placeOf(placed[cell], i), 1, sample, fateOf(cleared[cell], i));
  });
  return { stops, placed };
}

function movedOff(
  xy: FlatPositions,
  { grid }: MapCandidate,
  { clear, soilUnitAt }: LayOptions,
  own: (i: number, x: number, y: number) => boolean,
): ClearedStops {
  const units = soilUnitAt && Array.from({ length: xy.length / 2 }, (_, i) => soilUnitAt(...placeOf(xy, i)));
  return clearStops(
    xy,
    clear ?? (() => true),
    grid.spacingM / 2,
    (i, x, y) => own(i, x, y) && (!units || soilUnitAt?.(x, y) === units[i]),
  );
}

type Fate = Pick<Stop, 'movedM' | 'noClearGround'>;

const fateOf = ({ movedM, stuck }: ClearedStops, i: number): Fate => ({
  ...(movedM[i] > 0 && { movedM: movedM[i] }),
  ...(stuck[i] === 1 && { noClearGround: true }),
});

function layZones(candidate: ZoneCandidate, region: Region, frame: Frame, options: LayOptions): LaidStops {
  const { map } = candidate;
  const { nodes, cellM } = rasterNodes(region, 1500);
  const zone = Int32Array.from({ length: nodes.length / 2 }, (_, i) =>
    map.zoneAt(nodes[2 * i], nodes[2 * i + 1]),
  );
  const clear = options.clear ?? (() => true);
  const groups = Array.from({ length: map.zones }, (_, z) =>
    coresOfZone(candidate, z, nodes, zone, cellM, clear),
  );
  const walk = walkInGroups(groups, options);
  const stops = Array.from(walk.group, (z, k) => {
    const at = placeOf(groups[z], walk.index[k]);
    const sample = map.zones === 1 ? 'whole field' : map.names[z];
    return stopAt(frame, k + 1, at, 1, sample, clear(...at) ? {} : { noClearGround: true });
  });
  if (map.zones === 1) return { stops };
  const zoneCells = Array.from(zone, (z, i) => ({
    xM: nodes[2 * i],
    yM: nodes[2 * i + 1],
    sizeM: cellM,
    zone: z,
  }));
  return { stops, zoneCells };
}

/** Cores spread over a zone's clear ground, off its border where it is wide enough to have a middle. */
function coresOfZone(
  { map, cores }: ZoneCandidate,
  z: number,
  nodes: FlatPositions,
  zone: Int32Array,
  cellM: number,
  clear: (x: number, y: number) => boolean,
): FlatPositions {
  const own: number[] = [];
  const edge: number[] = [];
  const forbidden: number[] = [];
  zone.forEach((label, i) => {
    if (label !== z) return;
    const [x, y] = placeOf(nodes, i);
    const kept = !clear(x, y) ? forbidden : insideZone(map, z, x, y, cellM) ? own : edge;
    kept.push(x, y);
  });
  // A zone too thin to have a middle is walked along its edge.
  if (own.length / 2 < 2 * cores) own.push(...edge);
  if (own.length === 0) own.push(...forbidden);
  const ownNodes = Float64Array.from(own);
  const places = Math.min(cores, ownNodes.length / 2);
  if (places === 0) return new Float64Array(0);
  return centresInside(ownNodes, spatialCoverage(ownNodes, places));
}

/** Whether a place and the ground a cell away on all four sides belong to the zone: cores keep off its border. */
function insideZone(map: ZoneMap, z: number, x: number, y: number, cellM: number): boolean {
  return [
    [0, cellM],
    [0, -cellM],
    [cellM, 0],
    [-cellM, 0],
  ].every(([dx, dy]) => map.zoneAt(x + dx, y + dy) === z);
}

const placeOf = (xy: FlatPositions, i: number): readonly [number, number] => [xy[2 * i], xy[2 * i + 1]];

function stopAt(
  frame: Frame,
  order: number,
  at: readonly [number, number],
  cores: number,
  sample: string,
  fate: Fate,
): Stop {
  return {
    order,
    label: String(order),
    xM: at[0],
    yM: at[1],
    world: toWorld(frame, at),
    cores,
    sample,
    ...fate,
  };
}
