import { haToM2 } from '../units/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { shortWalk } from './shortWalk.ts';

export interface WalkOptions {
  /** Where one comes into the field, [east, north] in metres; the stop nearest the field's lower left unless given. */
  readonly startAt?: readonly [number, number];
  /** Whether the walk ends where it began. */
  readonly returns?: boolean;
  /** How long to search for a shorter walk: kicks per place, 20 unless given; see {@link shortWalk}. */
  readonly kicksPerPlace?: number;
}

/**
 * A short walk through all stops in straight lines, whatever lies between them; see {@link shortWalk}.
 * @param xy 2n metres
 * @returns stop indices in walking order
 */
export function walkingOrder(xy: FlatPositions, options: WalkOptions = {}): Uint32Array {
  const { startAt, returns = false, kicksPerPlace } = options;
  const n = xy.length / 2;
  if (n === 0) return new Uint32Array(0);
  if (startAt) {
    const at = new Float64Array(2 * n + 2);
    at.set(startAt);
    at.set(xy, 2);
    return shortWalk(at, returns, kicksPerPlace)
      .subarray(1)
      .map((place) => place - 1);
  }
  const first = lowerLeft(xy);
  // The first stop changes places with stop 0.
  const at = Float64Array.from(xy);
  at.copyWithin(2 * first, 0, 2);
  at.set([xy[2 * first], xy[2 * first + 1]]);
  return shortWalk(at, returns, kicksPerPlace).map((place) =>
    place === 0 ? first : place === first ? 0 : place,
  );
}

function lowerLeft(xy: FlatPositions): number {
  let first = 0;
  for (let i = 1; 2 * i < xy.length; i++)
    if (xy[2 * i] + xy[2 * i + 1] < xy[2 * first] + xy[2 * first + 1]) first = i;
  return first;
}

/** Length of a walk through stops in an order, m; with the ways from where it starts and back there if asked for. */
export function walkLengthM(xy: FlatPositions, order: ArrayLike<number>, options: WalkOptions = {}): number {
  const n = order.length;
  if (n === 0) return 0;
  const x = (k: number) => xy[2 * order[k]];
  const y = (k: number) => xy[2 * order[k] + 1];
  const [startX, startY] = options.startAt ?? [x(0), y(0)];
  let sum = Math.hypot(x(0) - startX, y(0) - startY);
  for (let k = 1; k < n; k++) sum += Math.hypot(x(k) - x(k - 1), y(k) - y(k - 1));
  if (options.returns) sum += Math.hypot(x(n - 1) - startX, y(n - 1) - startY);
  return sum;
}

/** Length of the walk through places, m. @param xy 2n metres */
export function routeLengthOf(xy: FlatPositions, options: WalkOptions = {}): number {
  return walkLengthM(xy, walkingOrder(xy, options), options);
}

/** Places in the order they are come to, each by its group and its index there. */
export interface GroupedWalk {
  readonly group: Uint32Array;
  readonly index: Uint32Array;
  readonly lengthM: number;
}

/**
 * A walk that finishes one group of places before the next, as one does who carries one bag at a time: the cores of a
 * cell or of a zone. Groups in the walking order of their middles, each from where the one before ended.
 * @param groups each 2k metres; empty ones are passed over
 */
export function walkInGroups(groups: readonly FlatPositions[], options: WalkOptions = {}): GroupedWalk {
  const filled = groups.map((_, g) => g).filter((g) => groups[g].length > 0);
  const middles = new Float64Array(2 * filled.length);
  filled.forEach((g, k) => middles.set(middleOf(groups[g]), 2 * k));
  const group: number[] = [];
  const index: number[] = [];
  let lengthM = 0;
  let at = options.startAt;
  let begun = options.startAt;
  for (const k of walkingOrder(middles, options)) {
    const xy = groups[filled[k]];
    const order = walkingOrder(xy, { startAt: at });
    lengthM += walkLengthM(xy, order, { startAt: at });
    for (const i of order) {
      group.push(filled[k]);
      index.push(i);
    }
    begun ??= placeOf(xy, order[0]);
    at = placeOf(xy, order[order.length - 1]);
  }
  if (options.returns && at && begun) lengthM += Math.hypot(at[0] - begun[0], at[1] - begun[1]);
  return { group: Uint32Array.from(group), index: Uint32Array.from(index), lengthM };
}

const placeOf = (xy: FlatPositions, i: number): readonly [number, number] => [xy[2 * i], xy[2 * i + 1]];

function middleOf(xy: FlatPositions): readonly [number, number] {
  let [x, y] = [0, 0];
  for (let i = 0; i < xy.length; i += 2) {
    x += xy[i];
    y += xy[i + 1];
  }
  return [(2 * x) / xy.length, (2 * y) / xy.length];
}

/** Ground over which so many places are spread evenly. */
export interface SpreadPlaces {
  readonly areaHa: number;
  readonly places: number;
}

/**
 * What a walk through evenly spread places is expected to take, m, before any is laid: a side of the square that one
 * place stands for from each to the next, (n − 1)·√(A/n). Of the walks through square lattices, coverage layouts and
 * the cores of composites with 10 to 200 places in a square field it misses by less than 10 % (`tests/design/route.test.ts`);
 * triangular lattices take √(2/√3) = 1.075 of it, narrow bent fields with few places up to 1.4, places at random tend
 * to 0.7124 of it (Beardwood, Halton & Hammersley 1959; constant of Johnson, McGeoch & Rothberg 1996, from memory).
 * @param parts one, or several finished one after the other, as zones are
 */
export function expectedRouteM(parts: readonly SpreadPlaces[]): number {
  let [sum, last] = [0, 0];
  for (const { areaHa, places } of parts) {
    if (places === 0) continue;
    last = Math.sqrt(haToM2(areaHa) / places);
    sum += places * last;
  }
  return sum - last;
}

/** Where a design is walked: to stops; to the cores of each cell or zone, one bag at a time; or to places not yet laid. */
export type RoutePlaces =
  | { readonly kind: 'stops'; readonly xy: FlatPositions }
  | { readonly kind: 'cells'; readonly coresOf: readonly FlatPositions[] }
  | { readonly kind: 'spread'; readonly parts: readonly SpreadPlaces[] };

/** Metres walked for a design: measured along the walk where places are known, expected where they are not. */
export function routeLengthM(design: RoutePlaces, options: WalkOptions = {}): number {
  if (design.kind === 'stops') return routeLengthOf(design.xy, options);
  if (design.kind === 'cells') return walkInGroups(design.coresOf, options).lengthM;
  return expectedRouteM(design.parts);
}
