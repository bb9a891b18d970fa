import type { FlatPositions } from '../field/index.ts';
import { meanCovariance } from '../krige/index.ts';
import { priorBelief, updateBeliefs, type Belief } from '../prior/index.ts';
import {
  correlationOf,
  fitReduced,
  stretched,
  type Anisotropy,
  type LikelihoodFit,
  type LinearTarget,
} from '../variogram/index.ts';
import { fitReducedPlane } from '../variogram/trendChoice.ts';
import type { PreparedSeries } from './series.ts';
import type { TrendStudy } from './trend.ts';

/** What is believed of one property, and the likelihood fits of its points where it has enough. */
export interface Formed {
  readonly belief: Belief;
  /** Restricted fits by model, best first, of what the trend leaves where one is used; empty with fewer than {@link FIT_FROM} points. */
  readonly fits: readonly LikelihoodFit[];
}

/** Points from which a fitted curve is shown. */
export const FIT_FROM = 10;

/** The mean of the field as a target that samples predict. */
export function fieldMeanTarget(xy: FlatPositions, fieldNodes: FlatPositions): LinearTarget {
  const n = xy.length / 2;
  const q = fieldNodes.length / 2;
  return {
    withSamples: (kind, range) => {
      const structured = correlationOf({ kind, effectiveRangeM: range });
      const out = new Float64Array(n);
      for (let i = 0; i < n; i++) {
        let sum = 0;
        for (let f = 0; f < q; f++) {
          const dx = xy[2 * i] - fieldNodes[2 * f];
          const dy = xy[2 * i + 1] - fieldNodes[2 * f + 1];
          sum += structured(Math.sqrt(dx * dx + dy * dy));
        }
        out[i] = sum / q;
      }
      return out;
    },
    own: (kind, range) => meanCovariance(fieldNodes, correlationOf({ kind, effectiveRangeM: range })),
  };
}

/**
 * Beliefs of all properties: those measured at the same places are updated together.
 * @param anisotropy of the ground: ranges are then those of its direction
 * @param onStep called with the share done, now and then; may throw to stop
 * @param trends of each property, where one was looked for: those used are taken out by restricted likelihood
 */
export function formBeliefs(
  series: readonly PreparedSeries[],
  fieldNodes: FlatPositions,
  seed: number,
  anisotropy: Anisotropy | undefined = undefined,
  onStep: (share: number) => void = () => undefined,
  trends: readonly (TrendStudy | undefined)[] = [],
): readonly Formed[] {
  const out = new Array<Formed>(series.length);
  const groups = new Map<string, number[]>();
  series.forEach((s, i) => {
    if (!s.sample) {
      out[i] = { belief: priorBelief(s.prior, s.scale, { seed: seed + i }), fits: [] };
      return;
    }
    const key = s.kept.join();
    const group = groups.get(key);
    if (group) group.push(i);
    else groups.set(key, [i]);
  });
  let done = 0;
  for (const group of groups.values()) {
    const places = series[group[0]].sample!.xy;
    const xy = stretched(places, anisotropy);
    const { beliefs, reductions, reduce, planeColumns } = updateBeliefs(
      xy,
      group.map((i) => ({
        prior: series[i].prior,
        scale: series[i].scale,
        z: series[i].sample!.z,
        plane: trends[i]?.advice.used ? trends[i] : undefined,
      })),
      {
        seed,
        ground: { places, nodes: fieldNodes },
        target: fieldMeanTarget(xy, stretched(fieldNodes, anisotropy)),
        // A first round of 44 reductions is most of the work; further rounds move the bar little.
        onReduction: (count) => onStep((done + Math.min(1, count / 60)) / groups.size),
      },
    );
    group.forEach((i, v) => {
      const fits =
        series[i].sample!.z.length < FIT_FROM
          ? []
          : planeColumns && trends[i]?.advice.used
            ? fitReducedPlane(reductions, reduce, v, planeColumns)
            : fitReduced(reductions, reduce, v);
      out[i] = { belief: beliefs[v], fits };
    });
    done++;
  }
  return out;
}
