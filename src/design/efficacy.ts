import { oneWay, type OneWay } from '../describe/index.ts';
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

/** {@link zoneEfficacy} of one map for many members: those of one model and range share their moments. */
export function efficacyUnder(
  map: ZoneMap,
  sample: Sample | undefined,
  sampleZones: Int32Array | undefined,
): (member: Member) => Efficacy {
  const prior = efficacyPrior[map.from];
  const none = { logMean: Math.log(prior.median), logSd: prior.logSd };
  if (!sample || !sampleZones) return () => none;
  const used = evenly(sampleZones, MOST_SAMPLES);
  const z = Float64Array.from(used, (i) => sample.z[i]);
  const zones = Int32Array.from(used, (i) => sampleZones[i]);
  const anova = oneWay(z, zones);
  if (!anova || anova.n - anova.classes < 4) return () => none;
  const held = new Map<string, ReturnType<typeof structuredMoments>>();
  return (member) => {
    const key = `${member.kind} ${member.effectiveRangeM}`;
    const unit =
      held.get(key) ?? structuredMoments({ ...member, sill: 1, nuggetShare: 0 }, sample.xy, used, zones);
    held.set(key, unit);
    return posterior(member, anova, unit, none);
  };
}

function posterior(
  member: Member,
  anova: OneWay,
  unit: ReturnType<typeof structuredMoments>,
  none: Efficacy,
): Efficacy {
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
  const nodes: { readonly u: number; readonly log: number }[] = [];
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

/** Places in `zones` at or above 0, thinned evenly to at most `most`. */
function evenly(zones: Int32Array, most: number): readonly number[] {
  const all = [...zones.keys()].filter((i) => zones[i] >= 0);
  if (all.length <= most) return all;
  return Array.from({ length: most }, (_, q) => all[Math.floor(((q + 0.5) * all.length) / most)]);
}

/**
 * Of the structured covariance S at the samples, with B the centring within zones and D = A − B that of the zone means:
 * tr(BS), tr(DS), tr(BSBS), tr(DSDS) and tr(BSDS), from the row sums by zone alone.
 */
export function structuredMoments(
  member: Member,
  xy: Float64Array,
  used: readonly number[],
  zones: Int32Array,
) {
  const n = used.length;
  const names = [...new Set(zones)];
  const zone = zones.map((l) => names.indexOf(l));
  const k = names.length;
  const size = new Float64Array(k);
  for (const g of zone) size[g]++;
  const partialSill = member.sill * (1 - member.nuggetShare);
  const rho = correlationOf(member);
  // Σ of S over row i and the columns of zone g.
  const rows = new Float64Array(n * k);
  let squares = n * partialSill * partialSill;
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * used[i]], xy[2 * used[i] + 1]];
    rows[i * k + zone[i]] += partialSill;
    for (let j = 0; j < i; j++) {
      const dx = xy[2 * used[j]] - x;
      const dy = xy[2 * used[j] + 1] - y;
      const s = partialSill * rho(Math.sqrt(dx * dx + dy * dy));
      rows[i * k + zone[j]] += s;
      rows[j * k + zone[i]] += s;
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
