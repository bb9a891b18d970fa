import { moments } from '../describe/index.ts';
import type { FlatPositions } from '../field/index.ts';
import type { RangeHint } from '../prior/index.ts';
import { fitLikelihood, prepareLikelihood } from '../variogram/index.ts';
import type { FieldInput } from './fieldInput.ts';

/** Weight of yield's range for a nutrient's: the standard deviation between them, in logarithms. Judgement of this project. */
const YIELD_HINT_LOG_SD = 0.7;
/** Points of a yield map its range is estimated from, evenly thinned. */
const RANGE_POINTS = 180;

/**
 * The standardised yield at each field node, averaged over the files: mean of the nearest ten points less the file's mean,
 * over its standard deviation (so that years and crops weigh alike).
 */
export function yieldSurface(field: FieldInput, nodes: FlatPositions): Float64Array | undefined {
  const layers = field.yields.filter((y) => y.values.length >= 50);
  if (layers.length === 0) return undefined;
  const out = new Float64Array(nodes.length / 2);
  for (const { xy, values } of layers)
    standardised(xy, values, nodes).forEach((v, i) => (out[i] += v / layers.length));
  return out;
}

/**
 * The standardised elevation at each field node, as {@link yieldSurface}. Drift of the receiver between passes and days is
 * in it: ten points seldom reach beyond two passes.
 */
export function elevationSurface(field: FieldInput, nodes: FlatPositions): Float64Array | undefined {
  return field.elevation && standardised(field.elevation.xy, field.elevation.values, nodes);
}

function standardised(xy: FlatPositions, values: Float64Array, nodes: FlatPositions): Float64Array {
  let [mean, square] = [0, 0];
  for (const v of values) mean += v / values.length;
  for (const v of values) square += (v - mean) ** 2 / values.length;
  const sd = Math.sqrt(square) || 1;
  return Float64Array.from(
    { length: nodes.length / 2 },
    (_, i) => (nearestMean(xy, values, nodes[2 * i], nodes[2 * i + 1]) - mean) / sd,
  );
}

/** What each yield map says of the distance over which the ground changes. */
export function yieldRangeHints(field: FieldInput, fieldLengthM: number): readonly RangeHint[] {
  const hints: RangeHint[] = [];
  for (const { file, xy, values } of field.yields) {
    if (values.length < 50) continue;
    const step = Math.max(1, values.length / RANGE_POINTS);
    const at = Array.from({ length: Math.min(values.length, RANGE_POINTS) }, (_, i) => Math.floor(i * step));
    const z = Float64Array.from(at, (i) => values[i]);
    if (moments([...z]).sd === 0) continue;
    const thinned = Float64Array.from(at.flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
    const fit = fitLikelihood(prepareLikelihood(thinned, z), 'spherical', [20, fieldLengthM]);
    // Pure nugget, or a range as long as the field, says nothing of distance.
    if (!fit || fit.nuggetShare > 0.9 || fit.effectiveRangeM > 0.95 * fieldLengthM) continue;
    hints.push({
      effectiveRangeM: fit.effectiveRangeM,
      // Years share one ground: together they weigh as one layer.
      logSd: YIELD_HINT_LOG_SD * Math.sqrt(field.yields.length),
      from: `the yield map ${file}`,
    });
  }
  return hints;
}

function nearestMean(xy: FlatPositions, values: Float64Array, x: number, y: number): number {
  const want = Math.min(10, values.length);
  const distance = new Float64Array(want).fill(Infinity);
  const value = new Float64Array(want);
  for (let i = 0; i < values.length; i++) {
    const d = (xy[2 * i] - x) ** 2 + (xy[2 * i + 1] - y) ** 2;
    if (d >= distance[want - 1]) continue;
    let k = want - 1;
    while (k > 0 && distance[k - 1] > d) {
      distance[k] = distance[k - 1];
      value[k] = value[k - 1];
      k--;
    }
    distance[k] = d;
    value[k] = values[i];
  }
  return value.reduce((s, v) => s + v, 0) / want;
}
