import {
  fitReduced,
  prepareReduction,
  stretched,
  type Anisotropy,
  type ModelKind,
  type ReducedCorrelation,
} from '../variogram/index.ts';
import type { PreparedSeries } from './series.ts';

/** The direction in which a field's ground changes slowest, with what speaks for it. */
export interface Direction extends Anisotropy {
  /** Log-likelihood gained over equal ranges in all directions, mean over the properties. */
  readonly gain: number;
  readonly properties: number;
}

/** Fewer points cannot tell directions apart; more than this many are thinned, since it is looked at often. */
const LEAST_POINTS = 60;
const MOST_POINTS = 140;
/** Directions are tried at the middle ratio; the others at the best direction and its neighbours. */
const RATIOS = [0.4, 0.25, 0.6];
const DIRECTIONS_DEG = [0, 22.5, 45, 67.5, 90, 112.5, 135, 157.5];
const RANGES = 6;
/**
 * Mean gain over p properties from which directions count: 1 + 3/√p. Two more parameters cost 2 in Akaike's criterion, the
 * best of 14 trials gains by chance, and a mean over several properties does so less; tests/advise/direction.test.ts
 * counts how often. Judgement of this project.
 */
const clearGain = (properties: number) => 1 + 3 / Math.sqrt(properties);

/**
 * A common geometric anisotropy of the properties measured at the same places, by restricted likelihood over a grid of
 * ratios and directions; undefined where the gain isn't clear. Terrain lays out all properties of a field alike, so one
 * direction is sought for all.
 */
export function commonDirection(series: readonly PreparedSeries[]): Direction | undefined {
  const measured = series.filter((s) => s.sample && s.sample.z.length >= LEAST_POINTS);
  if (measured.length === 0) return undefined;
  const key = measured[0].kept.join();
  const alike = measured.filter((s) => s.kept.join() === key);
  const { xy } = alike[0].sample!;
  const n = xy.length / 2;
  const used = Array.from({ length: Math.min(n, MOST_POINTS) }, (_, i) =>
    Math.floor(((i + 0.5) * n) / Math.min(n, MOST_POINTS)),
  );
  const places = Float64Array.from(used.flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
  const values = alike.map((s) => Float64Array.from(used, (i) => s.sample!.z[i]));
  const widest = extentM(places);
  const gainOf = (anisotropy: Anisotropy | undefined) => {
    const reduce = prepareReduction(stretched(places, anisotropy), values);
    const kind: ModelKind = 'exponential';
    const reductions: ReducedCorrelation[] = Array.from({ length: RANGES }, (_, k) =>
      reduce(kind, widest * 0.06 * 30 ** (k / (RANGES - 1))),
    );
    const best = values.map(
      (_, v) => fitReduced(reductions, reduce, v, { refined: false })[0]?.logLikelihood ?? 0,
    );
    return best.reduce((s, l) => s + l, 0) / best.length;
  };
  const equal = gainOf(undefined);
  const at = (ratio: number, directionDeg: number) => ({
    ratio,
    directionDeg,
    gain: gainOf({ ratio, directionDeg }) - equal,
  });
  const better = <T extends { readonly gain: number }>(a: T, b: T) => (b.gain > a.gain ? b : a);
  const first = DIRECTIONS_DEG.map((d) => at(RATIOS[0], d)).reduce(better);
  const about = [-22.5, 0, 22.5].map((step) => (first.directionDeg + step + 180) % 180);
  const best = RATIOS.slice(1)
    .flatMap((ratio) => about.map((d) => at(ratio, d)))
    .reduce(better, first);
  return best.gain >= clearGain(alike.length) ? { ...best, properties: alike.length } : undefined;
}

function extentM(xy: Float64Array): number {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < xy.length; i += 2) {
    minX = Math.min(minX, xy[i]);
    maxX = Math.max(maxX, xy[i]);
    minY = Math.min(minY, xy[i + 1]);
    maxY = Math.max(maxY, xy[i + 1]);
  }
  return Math.hypot(maxX - minX, maxY - minY);
}
