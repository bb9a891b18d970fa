import { oneWay, type OneWay } from '../describe/index.ts';
import type { FlatPositions } from '../field/index.ts';
import { correlationOf } from '../variogram/index.ts';
import type { Member, Sample } from '../prior/index.ts';
import type { ZoneMap } from './zones.ts';

/**
 * Median and spread (in logarithms) of the efficacy of zones that no data have judged. Judgement of this project. Zones by
 * last time's tests start no better than others: what tests of this field have earned them is for the tests held out to say.
 */
export const efficacyPrior: Readonly<
  Record<ZoneMap['from'], { readonly median: number; readonly logSd: number }>
> = {
  'soil units': { median: 0.8, logSd: 0.6 },
  yield: { median: 0.8, logSd: 0.6 },
  elevation: { median: 0.8, logSd: 0.6 },
  covariates: { median: 0.8, logSd: 0.6 },
  tests: { median: 0.8, logSd: 0.6 },
  'not drawn yet': { median: 0.9, logSd: 0.25 },
};

/** Least and greatest logarithm of an efficacy considered, and the step between. */
const LOG_EFFICACY: readonly [number, number] = [-4.6, 0.9];
const LOG_STEP = 0.05;
/** The moments cost n² of time: of more samples than this, evenly many are taken. */
const MOST_SAMPLES = 200;

/**
 * Efficacy of zones under one member: the structured variance within zones over what the variogram
 * alone leaves within pieces of that shape. 1: they say nothing more than where a place is.
 *
 * The evidence is the share of the samples' sum of squares that lies within zones, W/T. Both are quadratic forms in
 * correlated values, so their expectations and variances under the member are tr(BΣ) and 2·tr(BΣBΣ) (Searle 1971, Linear
 * Models, ch. 2): the effective degrees of freedom 2E²/Var of Satterthwaite (1946, Biometrics Bulletin 2: 110-114), not the
 * count of samples. Taking the share leaves out how variable this field happens to be, which says nothing of its zones.
 * An efficacy e below 1 scales the structured covariance; what that takes from the total is put between zones as fixed
 * differences of their means. ln(W/T) is taken as normal, and the posterior of ln e under its normal prior
 * summed on a grid.
 * @param sample distinct places; beyond 200 every so-manieth is used
 * @param sampleZones zone of each sample; below 0 in none. Of zones that the samples helped to draw: the zone on the map drawn
 * without that sample (`zonesOfSamples`), else they would be judged by what they were fitted to
 * @returns mean and standard deviation of ln e; the prior's where samples cannot tell
 */
export function zoneEfficacy(
  member: Member,
  map: ZoneMap,
  sample: Sample | undefined,
  sampleZones: Int32Array | undefined,
): Efficacy {
  return efficacyUnder(map, sample, sampleZones)(member);
}

export interface Efficacy {
  readonly logMean: number;
  readonly logSd: number;
}

/**
 * {@link zoneEfficacy} of one map for many members: those of one model and range share their moments.
 * @param moments held from other maps and properties of the same field; without it this map's own are
 */
export function efficacyUnder(
  map: ZoneMap,
  sample: Sample | undefined,
  sampleZones: Int32Array | undefined,
  moments: HeldMoments = heldMoments(),
): (member: Member) => Efficacy {
  const prior = efficacyPrior[map.from];
  const none = { logMean: Math.log(prior.median), logSd: prior.logSd };
  if (!sample || !sampleZones) return () => none;
  const used = evenly(sampleZones, MOST_SAMPLES);
  const z = Float64Array.from(used, (i) => sample.z[i]);
  const zones = Int32Array.from(used, (i) => sampleZones[i]);
  const anova = oneWay(z, zones);
  if (!anova || anova.n - anova.classes < 4) return () => none;
  const unitOf = moments(placesOf(sample.xy, used), zones);
  return (member) => posterior(member, anova, unitOf(member), none);
}

/** Moments at places in zones, for a structured variance of 1, by the members' models and ranges. */
export type HeldMoments = (
  xy: FlatPositions,
  zones: Int32Array,
) => (member: Pick<Member, 'kind' | 'effectiveRangeM'>) => StructuredMoments;

/**
 * Remembers correlations by places, model and range, and moments by zones as well: properties share places, zones and
 * ranges, and maps share places and ranges.
 */
export function heldMoments(): HeldMoments {
  const known: {
    readonly xy: FlatPositions;
    readonly correlationsAt: (member: Pick<Member, 'kind' | 'effectiveRangeM'>) => Float64Array;
    readonly zonings: { readonly zones: Int32Array; readonly moments: Map<string, StructuredMoments> }[];
  }[] = [];
  return (xy, zones) => {
    let places = known.find((p) => alike(p.xy, xy));
    if (!places) known.push((places = { xy, correlationsAt: correlationsOver(xy), zonings: [] }));
    const { correlationsAt, zonings } = places;
    let zoning = zonings.find((held) => alike(held.zones, zones));
    if (!zoning) zonings.push((zoning = { zones, moments: new Map() }));
    const { moments } = zoning;
    return (member) => {
      const key = keyOf(member);
      let unit = moments.get(key);
      if (!unit) moments.set(key, (unit = momentsOf(correlationsAt(member), 1, zones)));
      return unit;
    };
  };
}

const keyOf = ({ kind, effectiveRangeM }: Pick<Member, 'kind' | 'effectiveRangeM'>) =>
  `${kind} ${effectiveRangeM}`;

function alike(a: ArrayLike<number>, b: ArrayLike<number>): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (a[i] !== b[i]) return false;
  return true;
}

/** Correlations of every pair of places i > j, row by row, remembered by model and range. */
function correlationsOver(
  xy: FlatPositions,
): (member: Pick<Member, 'kind' | 'effectiveRangeM'>) => Float64Array {
  const distances = distancesBetween(xy);
  const held = new Map<string, Float64Array>();
  return (member) => {
    const key = keyOf(member);
    let correlations = held.get(key);
    if (!correlations) held.set(key, (correlations = correlationsAt(member, distances)));
    return correlations;
  };
}

function correlationsAt(
  member: Pick<Member, 'kind' | 'effectiveRangeM'>,
  distances: Float64Array,
): Float64Array {
  const rho = correlationOf(member);
  const out = new Float64Array(distances.length);
  for (let q = 0; q < out.length; q++) out[q] = rho(distances[q]);
  return out;
}

/** Distances of every pair of places i > j, row by row. */
function distancesBetween(xy: FlatPositions): Float64Array {
  const n = xy.length / 2;
  const out = new Float64Array((n * (n - 1)) / 2);
  for (let i = 0, q = 0; i < n; i++)
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * j] - xy[2 * i];
      const dy = xy[2 * j + 1] - xy[2 * i + 1];
      out[q++] = Math.sqrt(dx * dx + dy * dy);
    }
  return out;
}

function placesOf(xy: FlatPositions, used: readonly number[]): Float64Array {
  const out = new Float64Array(2 * used.length);
  used.forEach((i, q) => {
    out[2 * q] = xy[2 * i];
    out[2 * q + 1] = xy[2 * i + 1];
  });
  return out;
}

/** Room for the nodes of a posterior: the logarithms of the efficacy, and of its density. */
const NODES = Math.ceil((LOG_EFFICACY[1] - LOG_EFFICACY[0]) / LOG_STEP) + 2;
const nodeAt = new Float64Array(NODES);
const nodeLog = new Float64Array(NODES);

function posterior(member: Member, anova: OneWay, unit: StructuredMoments, none: Efficacy): Efficacy {
  const df = anova.n - anova.classes;
  const dfBetween = anova.classes - 1;
  const within = anova.withinMs * df;
  const total = within + anova.betweenMs * dfBetween;
  const nugget = member.sill * member.nuggetShare;
  const ps = member.sill - nugget;
  const m = {
    within: ps * unit.within,
    between: ps * unit.between,
    within2: ps * ps * unit.within2,
    between2: ps * ps * unit.between2,
    cross2: ps * ps * unit.cross2,
  };
  if (!(m.within > 0.02 * member.sill * df) || !(within > 0)) return none;

  const totalMean = m.within + m.between + nugget * (anova.n - 1);
  const betweenMean = m.between + nugget * dfBetween;
  const observed = Math.log(within / total);
  let [most, weight, first, second] = [-Infinity, 0, 0, 0];
  let held = 0;
  for (let u = LOG_EFFICACY[0]; u <= LOG_EFFICACY[1]; u += LOG_STEP) {
    const e = Math.exp(u);
    const w = e * m.within + nugget * df;
    const b = totalMean - w;
    // More within zones than there is in all.
    if (!(b > 0.2 * betweenMean)) break;
    const wVariance = 2 * (e * e * m.within2 + 2 * e * nugget * m.within + nugget * nugget * df);
    // The part of b that neighbours' likeness gives; the rest is fixed, and adds only its product with that part.
    const given = Math.min(e, 1);
    const chance = given * m.between + nugget * dfBetween;
    const chanceVariance =
      2 * (given * given * m.between2 + 2 * given * nugget * m.between + nugget * nugget * dfBetween);
    const bVariance =
      b >= chance
        ? chanceVariance + (4 * (b - chance) * chance) / dfBetween
        : chanceVariance * (b / chance) ** 2;
    const cross = 2 * e * given * m.cross2;
    const relative = wVariance / (w * w);
    // ln(W/T) by its first-order variance and second-order mean.
    const variance = (b / totalMean) ** 2 * (relative + bVariance / (b * b) - (2 * cross) / (w * b));
    const tVariance = (wVariance + bVariance + 2 * cross) / (totalMean * totalMean);
    const mean = Math.log(w / totalMean) - 0.5 * (relative - tVariance);
    const spread = Math.max(variance, 1e-8);
    const log =
      -0.5 * ((u - none.logMean) / none.logSd) ** 2 -
      0.5 * (Math.log(spread) + (observed - mean) ** 2 / spread);
    nodeAt[held] = u;
    nodeLog[held++] = log;
    most = Math.max(most, log);
  }
  for (let q = 0; q < held; q++) {
    const u = nodeAt[q];
    const w = Math.exp(nodeLog[q] - most);
    weight += w;
    first += w * u;
    second += w * u * u;
  }
  const logMean = first / weight;
  return { logMean, logSd: Math.sqrt(Math.max(0, second / weight - logMean * logMean)) };
}

/** Places in `zones` at or above 0, thinned evenly to at most `most`. */
function evenly(zones: Int32Array, most: number): readonly number[] {
  const all = [...zones.keys()].filter((i) => zones[i] >= 0);
  if (all.length <= most) return all;
  return Array.from({ length: most }, (_, q) => all[Math.floor(((q + 0.5) * all.length) / most)]);
}

export interface StructuredMoments {
  readonly within: number;
  readonly between: number;
  readonly within2: number;
  readonly between2: number;
  readonly cross2: number;
}

/**
 * Of the structured covariance S at the samples, with B the centring within zones and D = A − B that of the zone means:
 * tr(BS), tr(DS), tr(BSBS), tr(DSDS) and tr(BSDS), from the row sums by zone alone.
 */
export function structuredMoments(
  member: Member,
  xy: FlatPositions,
  used: readonly number[],
  zones: Int32Array,
): StructuredMoments {
  const distances = distancesBetween(placesOf(xy, used));
  return momentsOf(correlationsAt(member, distances), member.sill * (1 - member.nuggetShare), zones);
}

/** @param correlations of every pair i > j, row by row */
function momentsOf(correlations: Float64Array, partialSill: number, zones: Int32Array): StructuredMoments {
  const n = zones.length;
  const names = [...new Set(zones)];
  const zone = zones.map((l) => names.indexOf(l));
  const k = names.length;
  const size = new Float64Array(k);
  for (const g of zone) size[g]++;
  // Σ of S over row i and the columns of zone g.
  const rows = new Float64Array(n * k);
  let squares = n * partialSill * partialSill;
  for (let i = 0, q = 0; i < n; i++) {
    const own = zone[i];
    rows[i * k + own] += partialSill;
    for (let j = 0; j < i; j++) {
      const s = partialSill * correlations[q++];
      rows[i * k + zone[j]] += s;
      rows[j * k + own] += s;
      squares += 2 * s * s;
    }
  }
  const blocks = new Float64Array(k * k);
  let [rowsByZone, rowsWhole] = [0, 0];
  for (let i = 0; i < n; i++) {
    let whole = 0;
    for (let g = 0; g < k; g++) {
      const r = rows[i * k + g];
      whole += r;
      rowsByZone += (r * r) / size[g];
      blocks[zone[i] * k + g] += r;
    }
    rowsWhole += (whole * whole) / n;
  }
  let [trace, all, pairs, mixed] = [0, 0, 0, 0];
  for (let g = 0; g < k; g++) {
    let sum = 0;
    for (let h = 0; h < k; h++) {
      sum += blocks[g * k + h];
      pairs += blocks[g * k + h] ** 2 / (size[g] * size[h]);
    }
    trace += blocks[g * k + g] / size[g];
    all += sum;
    mixed += (sum * sum) / (n * size[g]);
  }
  return {
    within: n * partialSill - trace,
    between: trace - all / n,
    within2: squares - 2 * rowsByZone + pairs,
    between2: pairs - 2 * mixed + (all / n) ** 2,
    cross2: rowsByZone - rowsWhole - pairs + mixed,
  };
}
