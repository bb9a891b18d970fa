import { studentQuantile, type Random } from '../describe/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { spatialCoverage } from './coverage.ts';
import { nearestNode, type ZoneMap } from './zones.ts';

/** How well zones predict values they have not seen. Shares are of the variance about the field's mean, out of sample too. */
export interface ZoneScore {
  /** Zones. */
  readonly k: number;
  readonly from: ZoneMap['from'];
  readonly samples: number;
  /** Mean squared error of a value predicted by the mean of the other values of its zone. */
  readonly withinVarianceOut: number;
  /** That over the mean squared error by the mean of the other values of the field. 1 or more: the zones explain nothing. */
  readonly relativeToField: number;
  /** Jackknife over blocks of neighbouring values. */
  readonly standardError: number;
  /** 1 − relativeToField, below 0 where zones mislead. */
  readonly explained: number;
  /**
   * Squared error over that of as many compact pieces of ground drawn without any knowledge, with its jackknife interval.
   * Values near each other are alike, so any compact division explains something: below 1, these zones say more.
   */
  readonly efficacy: { readonly value: number; readonly low: number; readonly high: number };
  /**
   * Share of placings of the same map at random (shifted round the field's bounding box and mirrored, the toroidal shift of
   * Lotwick & Silverman 1982, Journal of the Royal Statistical Society B 44: 406-413) that predict at least as well: a test that
   * keeps the pattern of both zones and values. 1 for the whole field.
   */
  readonly asGoodByChance: number;
}

export interface ZoneCheckOptions {
  /** Draws the compact divisions and the random placings. */
  readonly random: Random;
  readonly divisions?: number;
  readonly placings?: number;
  /** Blocks of neighbouring values that the jackknife leaves out in turn. */
  readonly blocks?: number;
  /** Of the interval of the efficacy. */
  readonly level?: number;
  /** Values of one number are predicted from the others only; each on its own if not given. See {@link spatialFolds}. */
  readonly folds?: Int32Array;
}

/** A division to be judged. */
export interface ZoneTrial {
  readonly map: ZoneMap;
  /**
   * The same division made without some of the values, given the places kept: needed where the values themselves helped to
   * draw the zones, which otherwise would be judged by what they were fitted to. A map that was `heldOut` already needs none.
   */
  readonly without?: (kept: readonly number[]) => ZoneMap | undefined;
}

/** Values at places, to judge zones by. */
export interface JudgedValues {
  /** 2n metres. */
  readonly xy: FlatPositions;
  readonly z: ArrayLike<number>;
}

/** Compact blocks of neighbouring places as folds: a harder test than one at a time, whose neighbours stay. */
export function spatialFolds(xy: FlatPositions, count: number): Int32Array {
  return spatialCoverage(xy, Math.min(count, xy.length / 2)).labels;
}

/**
 * Squared error of each value when predicted by the mean of the values of its zone outside its fold, or by the field's mean
 * outside it where the zone has none.
 * @param folds each value on its own if not given
 */
export function squaredErrorsOut(
  z: ArrayLike<number>,
  zones: ArrayLike<number>,
  folds?: ArrayLike<number>,
): Float64Array {
  const n = z.length;
  const [zone, zoneCount] = numbered(zones, n);
  const [fold, foldCount] = folds ? numbered(folds, n) : [undefined, n];
  const zoneSum = new Float64Array(zoneCount);
  const zoneSize = new Float64Array(zoneCount);
  const foldSum = new Float64Array(foldCount);
  const foldSize = new Float64Array(foldCount);
  // Of a fold's values in each zone.
  const bothSum = new Map<number, number>();
  const bothSize = new Map<number, number>();
  let whole = 0;
  for (let i = 0; i < n; i++) {
    const [g, f] = [zone[i], fold ? fold[i] : i];
    whole += z[i];
    zoneSum[g] += z[i];
    zoneSize[g]++;
    foldSum[f] += z[i];
    foldSize[f]++;
    const both = f * zoneCount + g;
    bothSum.set(both, (bothSum.get(both) ?? 0) + z[i]);
    bothSize.set(both, (bothSize.get(both) ?? 0) + 1);
  }
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const [g, f] = [zone[i], fold ? fold[i] : i];
    const both = f * zoneCount + g;
    const others = zoneSize[g] - bothSize.get(both)!;
    const rest = n - foldSize[f];
    const guess =
      others > 0
        ? (zoneSum[g] - bothSum.get(both)!) / others
        : rest > 0
          ? (whole - foldSum[f]) / rest
          : whole / n;
    out[i] = (z[i] - guess) ** 2;
  }
  return out;
}

/** Labels as 0, 1, … in the order met, and how many there are. */
function numbered(labels: ArrayLike<number>, n: number): readonly [Int32Array, number] {
  const seen = new Map<number, number>();
  const out = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const known = seen.get(labels[i]) ?? seen.size;
    seen.set(labels[i], known);
    out[i] = known;
  }
  return [out, seen.size];
}

/**
 * Judges one division out of sample, against the whole field and against compact pieces of the same number.
 * @param nodes evenly over the field, for the compact pieces
 * @returns undefined with fewer than six values or no variation
 */
export function zoneScore(
  nodes: FlatPositions,
  trial: ZoneTrial,
  values: JudgedValues,
  options: ZoneCheckOptions,
): ZoneScore | undefined {
  const bench = zoneBench(nodes, values, options);
  return bench && scoreOn(bench, trial);
}

/** What the divisions of one field are all judged on; made once for a set of values. */
export interface ZoneBench {
  readonly values: JudgedValues;
  readonly folds: Int32Array;
  readonly blocks: Int32Array;
  readonly fieldErrors: Float64Array;
  /** Mean squared error of each value over compact divisions into k. */
  readonly compact: (k: number) => Float64Array;
  /** For each random placing of a map, the node each value falls on. */
  readonly placed: readonly Int32Array[];
  readonly level: number;
}

/** @returns undefined with fewer than six values or no variation */
export function zoneBench(
  nodes: FlatPositions,
  values: JudgedValues,
  { random, divisions = 40, placings = 99, blocks = 12, level = 0.8, folds }: ZoneCheckOptions,
): ZoneBench | undefined {
  const { xy, z } = values;
  const n = z.length;
  if (n < 6) return undefined;
  const own = folds ?? Int32Array.from({ length: n }, (_, i) => i);
  const fieldErrors = squaredErrorsOut(z, new Int32Array(n), own);
  const total = fieldErrors.reduce((s, v) => s + v, 0);
  const size = Array.from(z).reduce((s, v) => s + v * v, 0);
  if (!(total > 1e-14 * size)) return undefined;
  const nodeOf = Int32Array.from({ length: n }, (_, i) => nearestNode(nodes, xy[2 * i], xy[2 * i + 1]));
  const drawn = new Map<number, Float64Array>();
  const compact = (k: number) => {
    const known = drawn.get(k);
    if (known) return known;
    const mean = new Float64Array(n);
    for (let d = 0; d < divisions; d++) {
      const labels = chanceDivision(nodes, k, random);
      const errors = squaredErrorsOut(
        z,
        nodeOf.map((i) => labels[i]),
        own,
      );
      for (let i = 0; i < n; i++) mean[i] += errors[i] / divisions;
    }
    drawn.set(k, mean);
    return mean;
  };
  // At least two values a block.
  const groups = Math.max(3, Math.min(blocks, Math.floor(n / 2)));
  return {
    values,
    folds: own,
    blocks: spatialFolds(xy, groups),
    fieldErrors,
    compact,
    placed: Array.from({ length: placings }, () => placeAtRandom(nodes, xy, random)),
    level,
  };
}

/** Nodes that places fall on when a map is shifted round the nodes' bounding box, and mirrored or not, at random. */
function placeAtRandom(nodes: FlatPositions, xy: FlatPositions, random: Random): Int32Array {
  const axis = [0, 1].map((a) => {
    let [low, high] = [Infinity, -Infinity];
    for (let i = a; i < nodes.length; i += 2) {
      low = Math.min(low, nodes[i]);
      high = Math.max(high, nodes[i]);
    }
    const shift = random();
    const turn = random() < 0.5 ? -1 : 1;
    const length = high - low || 1;
    const part = (v: number) => (turn * (v - low)) / length + shift;
    return (v: number) => low + length * (part(v) - Math.floor(part(v)));
  });
  return Int32Array.from({ length: xy.length / 2 }, (_, i) =>
    nearestNode(nodes, axis[0](xy[2 * i]), axis[1](xy[2 * i + 1])),
  );
}

/** Compact pieces grown from nodes drawn at random. */
function chanceDivision(nodes: FlatPositions, k: number, random: Random): Int32Array {
  const n = nodes.length / 2;
  const order = Array.from({ length: n }, (_, i) => i);
  for (let i = 0; i < k; i++) {
    const j = i + Math.floor(random() * (n - i));
    [order[i], order[j]] = [order[j], order[i]];
  }
  const start = Float64Array.from(order.slice(0, k).flatMap((i) => [nodes[2 * i], nodes[2 * i + 1]]));
  return spatialCoverage(nodes, k, start).labels;
}

/** {@link zoneScore} on what was prepared. */
export function scoreOn(bench: ZoneBench, trial: ZoneTrial): ZoneScore {
  const { values, folds, fieldErrors, blocks, placed, level } = bench;
  const { map } = trial;
  const errors = map.zones === 1 ? fieldErrors : errorsOf(bench, trial);
  const own = sum(errors);
  const relativeToField = own / sum(fieldErrors);
  const figures = {
    k: map.zones,
    from: map.from,
    samples: errors.length,
    withinVarianceOut: own / errors.length,
    relativeToField,
    explained: 1 - relativeToField,
  };
  if (map.zones === 1)
    return { ...figures, standardError: 0, efficacy: { value: 1, low: 1, high: 1 }, asGoodByChance: 1 };
  const asGood = placed.filter((nodeOf) => {
    const zones = nodeOf.map((i) => map.labels[i]);
    return sum(squaredErrorsOut(values.z, zones, folds)) <= own;
  }).length;
  return {
    ...figures,
    standardError: jackknife(errors, fieldErrors, blocks, (r) => r).standardError,
    efficacy: ratioInterval(errors, bench.compact(map.zones), blocks, level),
    asGoodByChance: (1 + asGood) / (1 + placed.length),
  };
}

function errorsOf({ values, folds, fieldErrors }: ZoneBench, { map, without }: ZoneTrial): Float64Array {
  const { xy, z } = values;
  const zonesUnder = (m: ZoneMap) =>
    Int32Array.from({ length: z.length }, (_, i) => m.zoneAt(xy[2 * i], xy[2 * i + 1]));
  const redrawn = (parts: Int32Array, made: (part: number) => ZoneMap | undefined) => {
    const out = new Float64Array(z.length);
    for (const part of new Set(parts)) {
      const zones = made(part);
      const errors = zones ? squaredErrorsOut(z, zonesUnder(zones), folds) : fieldErrors;
      for (let i = 0; i < out.length; i++) if (parts[i] === part) out[i] = errors[i];
    }
    return out;
  };
  if (without) return redrawn(folds, (fold) => without([...folds.keys()].filter((i) => folds[i] !== fold)));
  const { heldOut } = map;
  if (!heldOut) return squaredErrorsOut(z, zonesUnder(map), folds);
  // A value that had no part in the drawing may judge the map itself.
  const parts = Int32Array.from({ length: z.length }, (_, i) => heldOut.foldAt(xy[2 * i], xy[2 * i + 1]));
  return redrawn(parts, (part) => (part < 0 ? map : heldOut.maps[part]));
}

const sum = (values: Float64Array) => values.reduce((s, v) => s + v, 0);

/** Ratio of two sums, and its standard error by leaving out each block in turn (Tukey's jackknife; Quenouille 1956). */
function jackknife(
  above: Float64Array,
  below: Float64Array,
  blocks: Int32Array,
  scale: (r: number) => number,
) {
  const [a, b] = [sum(above), sum(below)];
  const left = [...new Set(blocks)].map((block) => {
    let [ra, rb] = [a, b];
    for (let i = 0; i < blocks.length; i++)
      if (blocks[i] === block) {
        ra -= above[i];
        rb -= below[i];
      }
    return scale(ra / rb);
  });
  const mean = left.reduce((s, v) => s + v, 0) / left.length;
  const squares = left.reduce((s, v) => s + (v - mean) ** 2, 0);
  return { standardError: Math.sqrt(((left.length - 1) / left.length) * squares), blocks: left.length };
}

/** On the logarithm, with Student's t of one fewer degrees of freedom than blocks. */
function ratioInterval(above: Float64Array, below: Float64Array, blocks: Int32Array, level: number) {
  const value = sum(above) / sum(below);
  // Zones that leave nothing have no logarithm.
  if (!(value > 0)) return { value, low: 0, high: 0 };
  const spread = jackknife(above, below, blocks, Math.log);
  const t = studentQuantile((1 + level) / 2, spread.blocks - 1) * spread.standardError;
  return { value, low: value * Math.exp(-t), high: value * Math.exp(t) };
}
