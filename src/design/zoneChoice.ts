import type { FlatPositions } from '../field/index.ts';
import {
  scoreOn,
  spatialFolds,
  zoneBench,
  type JudgedValues,
  type ZoneCheckOptions,
  type ZoneScore,
  type ZoneTrial,
} from './zoneCheck.ts';
import { wholeField, type ZoneMap } from './zones.ts';

/** What the zones were judged by. */
export type ZoneBasis = 'test points' | 'another year' | 'held-out ground';

export interface ZoneChoice {
  readonly basis: ZoneBasis;
  /** The whole field first, then as given. */
  readonly scores: readonly ZoneScore[];
  /** Place in `scores` of the division advised. */
  readonly recommended: number;
  readonly sentence: string;
}

/**
 * The number of zones that test points support: each division predicts every test from the others, and the smallest number
 * within one standard error of the best is advised (the one-standard-error rule of Breiman, Friedman, Olshen & Stone 1984,
 * Classification and Regression Trees, ch. 3), the whole field included. The standard error is that of the best
 * division's share of the field's variance.
 * @returns undefined with fewer than six values or no variation
 */
export function judgeZones(
  nodes: FlatPositions,
  trials: readonly ZoneTrial[],
  values: JudgedValues,
  options: ZoneCheckOptions,
): ZoneChoice | undefined {
  const bench = zoneBench(nodes, values, options);
  if (!bench) return undefined;
  const all = [{ map: wholeField(nodes) }, ...trials.filter((t) => t.map.zones > 1)];
  return choose(
    'test points',
    all.map((t) => scoreOn(bench, t)),
  );
}

/**
 * Zones by yield without test points, several years: for each year, zones made from the mean of the others are judged by it.
 * Says whether yield keeps its pattern from year to year, not whether soil tests follow it.
 * @param years a standardised yield surface at the nodes for each year, two or more
 * @param build zones from a surface, see yieldZones
 * @returns undefined with fewer than two years or no variation
 */
export function judgeZonesByYears(
  nodes: FlatPositions,
  years: readonly Float64Array[],
  build: (surface: Float64Array, k: number) => ZoneMap | undefined,
  maxZones: number,
  options: ZoneCheckOptions,
): ZoneChoice | undefined {
  if (years.length < 2) return undefined;
  const perYear = years.map((held, y) => {
    const bench = zoneBench(nodes, { xy: nodes, z: held }, options);
    if (!bench) return undefined;
    const others = meanOf(years.filter((_, i) => i !== y));
    return numbers(maxZones).map((k) => {
      const map = k === 1 ? wholeField(nodes) : build(others, k);
      return map && map.zones === k ? scoreOn(bench, { map }) : undefined;
    });
  });
  const judged = perYear.filter((s) => s !== undefined);
  if (judged.length < 2) return undefined;
  const scores = numbers(maxZones).flatMap((k): readonly ZoneScore[] => {
    const own = judged.map((s) => s[k - 1]);
    return own.every((s) => s !== undefined) ? [meanScore(own)] : [];
  });
  return choose('another year', scores);
}

/**
 * Zones by yield without test points, one year: small blocks of ground are held out in turn, zones made from the rest, and
 * the ground held out is taken to be of the zone of its nearest neighbour kept. Says whether the map hangs together from
 * place to place and no more: not whether another year or a soil test would follow it.
 * @param surface at each node
 * @param build zones from the surface at some of the nodes
 */
export function judgeZonesByHoldOut(
  nodes: FlatPositions,
  surface: Float64Array,
  build: (nodes: FlatPositions, surface: Float64Array, k: number) => ZoneMap | undefined,
  maxZones: number,
  options: ZoneCheckOptions,
): ZoneChoice | undefined {
  const n = surface.length;
  // Blocks of about four nodes, ten sets of them so that zones are made ten times only.
  const blocks = spatialFolds(nodes, Math.max(10, Math.floor(n / 4)));
  const folds = options.folds ?? blocks.map((b) => b % 10);
  const bench = zoneBench(nodes, { xy: nodes, z: surface }, { ...options, folds });
  if (!bench) return undefined;
  const scores = numbers(maxZones).flatMap((k): readonly ZoneScore[] => {
    if (k === 1) return [scoreOn(bench, { map: wholeField(nodes) })];
    const map = build(nodes, surface, k);
    if (!map || map.zones !== k) return [];
    const without = (kept: readonly number[]) =>
      build(
        Float64Array.from(kept.flatMap((i) => [nodes[2 * i], nodes[2 * i + 1]])),
        Float64Array.from(kept, (i) => surface[i]),
        k,
      );
    return [scoreOn(bench, { map, without })];
  });
  return choose('held-out ground', scores);
}

const numbers = (most: number) => Array.from({ length: most }, (_, i) => i + 1);

function meanOf(layers: readonly Float64Array[]): Float64Array {
  return layers[0].map((_, i) => layers.reduce((s, l) => s + l[i], 0) / layers.length);
}

/** Over years that weigh alike. Years share one ground, so their standard errors are not taken to cancel. */
function meanScore(scores: readonly ZoneScore[]): ZoneScore {
  const mean = (of: (s: ZoneScore) => number) => scores.reduce((t, s) => t + of(s), 0) / scores.length;
  return {
    ...scores[0],
    withinVarianceOut: mean((s) => s.withinVarianceOut),
    relativeToField: mean((s) => s.relativeToField),
    standardError: mean((s) => s.standardError),
    explained: mean((s) => s.explained),
    efficacy: {
      value: mean((s) => s.efficacy.value),
      low: mean((s) => s.efficacy.low),
      high: mean((s) => s.efficacy.high),
    },
    asGoodByChance: mean((s) => s.asGoodByChance),
  };
}

function choose(basis: ZoneBasis, scores: readonly ZoneScore[]): ZoneChoice {
  const best = scores.reduce((a, b) => (b.relativeToField < a.relativeToField ? b : a));
  const within = scores.filter((s) => s.relativeToField <= best.relativeToField + best.standardError);
  const fewest = within.reduce((a, b) =>
    b.k < a.k || (b.k === a.k && b.relativeToField < a.relativeToField) ? b : a,
  );
  return { basis, scores, recommended: scores.indexOf(fewest), sentence: say(basis, fewest, best) };
}

const percent = (share: number) => `${Math.round(100 * share)} %`;

function say(basis: ZoneBasis, chosen: ZoneScore, best: ZoneScore): string {
  const many = `${chosen.samples}`;
  const how = {
    'test points': `when each of ${many} test points is predicted from the others of its zone${best.from === 'tests' ? ', the zones drawn without it' : ''}`,
    'another year': 'of a year’s yield when drawn from the other years alone',
    'held-out ground':
      'of the yield on ground held out of the map, with no other year and no soil test to judge by',
  }[basis];
  if (best.k === 1) return `No zones leave less of the variance than the field’s one mean does ${how}.`;
  if (chosen.k === 1)
    return `${best.k} zones leave ${percent(best.relativeToField)} of the field’s variance (standard error ${percent(best.standardError)}) ${how}, which is not clearly less than no zones at all.`;
  const compact =
    chosen.efficacy.high < 1
      ? `${percent(chosen.efficacy.value)} of what as many compact pieces of ground leave`
      : 'not clearly less than as many compact pieces of ground leave';
  const more = best.k > chosen.k ? `; ${best.k} zones do no better by more than one standard error` : '';
  return `${chosen.k} zones leave ${percent(chosen.relativeToField)} of the field’s variance (standard error ${percent(chosen.standardError)}) ${how}, ${compact}${more}.`;
}
