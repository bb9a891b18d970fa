import { logLikelihood, restrictedLogLikelihood, type LikelihoodFit } from './likelihood.ts';
import { minimiseOnInterval } from './minimise.ts';
import {
  reducedParts,
  reducedScratch,
  type ReducedCorrelation,
  type ReducedScratch,
  type Reduction,
} from './reducedCorrelation.ts';
import type { ModelKind } from './structure.ts';

/** Nugget shares are looked for between logits of ±this. */
const MOST_LOGIT = 9;
const REFINEMENTS = 3;
const MANY_POINTS = 200;
/** Log-likelihood by which a model is out of the running. */
const FAR_BEHIND = 1.5;
/** On a lattice of points a spherical likelihood has cusps a few per cent of the range wide: between its best peaks' neighbours it is looked at closely where that is cheap. */
const PEAKS = 3;
const MOST_BETWEEN = 6;
/** Work allowed for that, in units of n³. */
const CLOSE_WORK = 1.2e8;

/**
 * The (restricted) likelihood fit of one variable from reductions already made: at each range the best nugget share is found
 * in O(n) a trial, and the best range of each model is then refined by parabolas through its neighbours.
 * The ranges must lie close enough to see the likelihood's peaks.
 * @param variable which of the reduction's variables
 * @param options `refined: false` takes the best of the ranges reduced as it is
 * @returns the best fit of each model kind that the reductions hold, best first
 */
export function fitReduced(
  reductions: readonly ReducedCorrelation[],
  reduce: Reduction,
  variable: number,
  { restricted = true, refined = true } = {},
): readonly LikelihoodFit[] {
  if (reductions.length === 0) return [];
  const scratch = reducedScratch(reductions[0].t.n);
  const tried = reductions.flatMap((r) => profileNugget(r, variable, restricted, scratch) ?? []);
  const kinds = [...new Set(reductions.map((r) => r.kind))];
  const best = (fits: readonly LikelihoodFit[]) =>
    fits.reduce<LikelihoodFit | undefined>(
      (a, b) => (a && a.logLikelihood >= b.logLikelihood ? a : b),
      undefined,
    );
  const ofKind = (kind: ModelKind) => tried.filter((f) => f.kind === kind);
  const top = best(tried)?.logLikelihood ?? 0;
  return kinds
    .flatMap((kind) => {
      const own = ofKind(kind);
      const found = best(own);
      // A model far behind stays so; its curve is not shown, and its range need not be refined.
      if (!found || !refined || top - found.logLikelihood > (reduce.n > MANY_POINTS ? 0 : FAR_BEHIND))
        return found ?? [];
      return refine(kind, own, reduce, profileBy) ?? [];
    })
    .sort((a, b) => b.logLikelihood - a.logLikelihood);

  function profileBy(reduced: ReducedCorrelation) {
    return profileNugget(reduced, variable, restricted, scratch);
  }
}

function refine(
  kind: ModelKind,
  own: readonly LikelihoodFit[],
  reduce: Reduction,
  profile: (reduced: ReducedCorrelation) => LikelihoodFit | undefined,
): LikelihoodFit | undefined {
  const tried = [...own].sort((a, b) => a.effectiveRangeM - b.effectiveRangeM);
  if (tried.length === 0) return undefined;
  const n = reduce.n;
  const between = Math.min(MOST_BETWEEN, Math.floor(CLOSE_WORK / n ** 3 / (2 * PEAKS)));
  // Only the spherical has them.
  for (const range of kind === 'spherical' ? closeRanges(tried, between) : []) {
    const found = profile(reduce(kind, range, false));
    if (found) tried.push(found);
  }
  tried.sort((a, b) => a.effectiveRangeM - b.effectiveRangeM);
  const bestAt = () =>
    tried.reduce((best, f, i) => (f.logLikelihood > tried[best].logLikelihood ? i : best), 0);
  // A step costs n³: with many points one has to do, and `fitModel` finds the very top.
  const steps = n > MANY_POINTS ? 1 : REFINEMENTS;
  for (let k = 0; k < steps; k++) {
    const i = bestAt();
    if (i === 0 || i === tried.length - 1) break;
    const range = vertex(tried[i - 1], tried[i], tried[i + 1]);
    if (range === undefined) break;
    const found = profile(reduce(kind, range, false));
    if (!found) break;
    tried.push(found);
    tried.sort((a, b) => a.effectiveRangeM - b.effectiveRangeM);
  }
  return tried[bestAt()];
}

/** `count` ranges, evenly in their logarithm, on either side of each of the best peaks up to its neighbours. */
function closeRanges(tried: readonly LikelihoodFit[], count: number): readonly number[] {
  const value = (i: number) => tried[i]?.logLikelihood ?? -Infinity;
  const peaks = tried
    .map((_, i) => i)
    .filter((i) => value(i) >= value(i - 1) && value(i) >= value(i + 1))
    .sort((a, b) => value(b) - value(a))
    .slice(0, PEAKS);
  return peaks.flatMap((i) =>
    [tried[i - 1], tried[i + 1]]
      .filter((f) => f !== undefined)
      .flatMap((f) => {
        const [from, to] = [Math.log(tried[i].effectiveRangeM), Math.log(f.effectiveRangeM)];
        return Array.from({ length: count }, (_, k) =>
          Math.exp(from + ((to - from) * (k + 1)) / (count + 1)),
        );
      }),
  );
}

/** Where a parabola through three fits has its top, in ln(range); undefined when that is no new place. */
function vertex(a: LikelihoodFit, b: LikelihoodFit, c: LikelihoodFit): number | undefined {
  const [xa, xb, xc] = [a, b, c].map((f) => Math.log(f.effectiveRangeM));
  const left = (b.logLikelihood - a.logLikelihood) / (xb - xa);
  const right = (c.logLikelihood - b.logLikelihood) / (xc - xb);
  const curvature = (right - left) / (xc - xa);
  if (!(curvature < 0)) return undefined;
  const x = (xa + xb) / 2 - left / (2 * curvature);
  const clear = 0.02 * Math.min(xb - xa, xc - xb);
  if (!(x > xa + clear && x < xc - clear)) return undefined;
  return Math.abs(x - xb) < clear ? undefined : Math.exp(x);
}

function profileNugget(
  reduced: ReducedCorrelation,
  variable: number,
  restricted: boolean,
  scratch: ReducedScratch,
): LikelihoodFit | undefined {
  const at = (logit: number) => {
    const nuggetShare = 1 / (1 + Math.exp(-logit));
    const p = reducedParts(reduced, variable, nuggetShare, scratch);
    if (!p) return undefined;
    const sill = p.residualSS / (restricted ? p.n - 1 : p.n);
    return {
      kind: reduced.kind,
      effectiveRangeM: reduced.effectiveRangeM,
      nuggetShare,
      sill,
      mean: p.mean,
      logLikelihood: restricted ? restrictedLogLikelihood(p, sill) : logLikelihood(p, sill),
    };
  };
  const { x } = minimiseOnInterval(
    (l) => -(at(l)?.logLikelihood ?? -Infinity),
    -MOST_LOGIT,
    MOST_LOGIT,
    12,
    1e-3,
  );
  return at(x);
}
