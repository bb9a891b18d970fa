import type { Random } from '../describe/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { heldOutSurfaces, type HeldOutSurfaces } from '../krige/heldOutSurfaces.ts';
import { pointSamples } from '../krige/index.ts';
import type { VariogramModel } from '../variogram/index.ts';
import type { CleanUpOptions } from './contiguity.ts';
import { standardise } from './covariates.ts';
import { spatialFolds } from './zoneCheck.ts';
import { covariateZones, type ZoneMap } from './zones.ts';

/** Last time's tests of one property, to draw zones by. */
export interface TestLayer {
  readonly name: string;
  /** 2n metres, distinct places. */
  readonly xy: FlatPositions;
  /** On the working scale. */
  readonly z: Float64Array;
  /** Fitted to them, on the same scale. */
  readonly variogram: VariogramModel;
  /** Form of the mean; under a plane the variogram is that of what it leaves. */
  readonly trend?: 'constant' | 'linear';
}

export interface TestZoneOptions extends CleanUpOptions {
  readonly random: Random;
  readonly areaHa?: number;
  readonly fuzziness?: number;
}

/** Parts the tests are held out in; the maps are drawn once more than this. */
const FOLDS = 10;
/** Starts of the clustering: the surfaces are smooth, and eleven maps are drawn for each number of zones. */
const RESTARTS = 3;
/** Fewer places than this leave folds that hold nothing or everything. */
const LEAST_PLACES = 2 * FOLDS;
/** A nugget of nothing at all makes close tests singular. */
const LEAST_NUGGET_SHARE = 1e-6;

/**
 * Zones by last time's tests: each property's kriging surface (ordinary, or with its plane), standardised, and the surfaces clustered together
 * (see covariateZones), for 2 to `most` zones.
 *
 * Tests must not judge what was drawn from them. So each map comes with the same map drawn ten times more, each time
 * without a tenth of the places, and every judgement of a test (its zone's efficacy under the belief, and the zones' score)
 * takes its zone from the map drawn without it. This rather than a prior efficacy alone, because how well tests foretell
 * what lies between them is just what held-out tests measure. Places are held out in compact pairs, so that a close
 * neighbour does not give the held-out one away; a pair's surroundings are then emptier than the field's usual place, and the
 * zones come out, if anything, a little worse than they are. The variogram is kept as fitted to all. What the tests cannot
 * say is how far the pattern has moved since they were taken.
 * @param nodes evenly over the field
 * @param layers one or more; tests need not be at the same places
 * @returns the maps that the surfaces give; none of surfaces that do not vary
 */
export function testZones(
  nodes: FlatPositions,
  layers: readonly TestLayer[],
  most: number,
  options: TestZoneOptions,
): readonly ZoneMap[] {
  const places = distinctPlaces(layers);
  const n = places.size;
  if (n < LEAST_PLACES) return [];
  const xy = Float64Array.from([...places.values()].flatMap(([x, y]) => [x, y]));
  const blocks = spatialFolds(xy, Math.max(FOLDS, Math.ceil(n / 2)));
  const foldOf = foldsOfBlocks(blocks, options.random);
  const folds = new Map([...places.keys()].map((key, i) => [key, foldOf[i]]));
  const foldAt = (x: number, y: number) => folds.get(keyOf(x, y)) ?? -1;

  const surfaces = layers.map((layer) => surfacesOf(layer, nodes, foldAt));
  const draw = (surfaceOf: (s: HeldOutSurfaces) => Float64Array) => {
    const covariates = standardise(
      surfaces.map((s, i) => ({ kind: 'number', name: layers[i].name, values: surfaceOf(s) })),
    );
    return (k: number): ZoneMap | undefined => {
      const map = covariates && covariateZones(nodes, covariates, k, { restarts: RESTARTS, ...options });
      return map && { ...map, from: 'tests' };
    };
  };
  const whole = draw((s) => s.whole);
  const maps = Array.from({ length: Math.max(0, most - 1) }, (_, i) => whole(i + 2)).filter(
    (m) => m !== undefined,
  );
  const without = Array.from({ length: FOLDS }, (_, fold) => draw((s) => s.without[fold]));
  return maps.map((map): ZoneMap => {
    const redrawn = without.map((drawn) => drawn(map.zones));
    const names = redrawn.map((m) => m && alikeIn(map, m));
    const zoneAt = (x: number, y: number) => {
      const fold = foldAt(x, y);
      if (fold < 0) return map.zoneAt(x, y);
      return names[fold]?.[redrawn[fold]!.zoneAt(x, y)] ?? -1;
    };
    return { ...map, heldOut: { foldAt, maps: redrawn, zoneAt } };
  });
}

const keyOf = (x: number, y: number) => `${x} ${y}`;

function distinctPlaces(layers: readonly TestLayer[]): ReadonlyMap<string, readonly [number, number]> {
  const places = new Map<string, readonly [number, number]>();
  for (const { xy } of layers)
    for (let i = 0; i < xy.length; i += 2) places.set(keyOf(xy[i], xy[i + 1]), [xy[i], xy[i + 1]]);
  return places;
}

/** Blocks dealt out to folds by chance, evenly. */
function foldsOfBlocks(blocks: Int32Array, random: Random): Int32Array {
  const names = [...new Set(blocks)];
  for (let i = names.length - 1; i > 0; i--) {
    const j = Math.floor(random() * (i + 1));
    [names[i], names[j]] = [names[j], names[i]];
  }
  const fold = new Map(names.map((b, i) => [b, i % FOLDS]));
  return blocks.map((b) => fold.get(b)!);
}

function surfacesOf(
  { xy, z, variogram, trend }: TestLayer,
  nodes: FlatPositions,
  foldAt: (x: number, y: number) => number,
): HeldOutSurfaces {
  const nugget = Math.max(variogram.nugget, LEAST_NUGGET_SHARE * variogram.partialSill);
  const foldOf = Int32Array.from(z, (_, i) => foldAt(xy[2 * i], xy[2 * i + 1]));
  return heldOutSurfaces(xy, z, nodes, pointSamples({ ...variogram, nugget }), foldOf, FOLDS, trend);
}

/** For each zone of `other` the zone of `map` it shares most nodes with, each taken once, the greatest overlap first. */
function alikeIn(map: ZoneMap, other: ZoneMap): Int32Array {
  const k = map.zones;
  const shared = new Int32Array(k * k);
  other.labels.forEach((l, i) => shared[l * k + map.labels[i]]++);
  const order = [...shared.keys()].sort((a, b) => shared[b] - shared[a] || a - b);
  const out = new Int32Array(k).fill(-1);
  for (const pair of order) {
    const [own, to] = [Math.floor(pair / k), pair % k];
    if (out[own] < 0 && !out.includes(to)) out[own] = to;
  }
  return out;
}
