import type { VariogramBin } from './experimental.ts';
import { correlation, type ModelKind, type VariogramModel } from './structure.ts';
import { minimiseOnInterval } from './minimise.ts';

export interface LeastSquaresFit extends VariogramModel {
  /** Σ N/h² · (γ̂ − γ)². */
  readonly weightedSse: number;
}

/**
 * Weighted least squares with weights N(h)/h² (gstat's default, `fit.method = 7`).
 * For a given range the model is linear in nugget and partial sill, which are solved exactly with both kept
 * at or above zero; the range is then searched alone (variable projection, Golub & Pereyra 1973).
 * @returns undefined with fewer than three bins
 */
export function fitLeastSquares(bins: readonly VariogramBin[], kind: ModelKind): LeastSquaresFit | undefined {
  if (bins.length < 3) return undefined;
  const least = Math.min(...bins.map((b) => b.distanceM));
  const most = Math.max(...bins.map((b) => b.distanceM));
  const at = (logRange: number) => linearPart(bins, kind, Math.exp(logRange));
  const best = minimiseOnInterval((u) => at(u).weightedSse, Math.log(least / 2), Math.log(most * 10), 120);
  return at(best.x);
}

/** Weighted sum of squares of a model against bins: Σ N/h² · (γ̂ − γ)². */
export function weightedSse(bins: readonly VariogramBin[], model: VariogramModel): number {
  let sse = 0;
  for (const b of bins) {
    const g =
      model.nugget + model.partialSill * (1 - correlation(model.kind, model.effectiveRangeM, b.distanceM));
    sse += (b.pairs / (b.distanceM * b.distanceM)) * (b.gamma - g) * (b.gamma - g);
  }
  return sse;
}

function linearPart(
  bins: readonly VariogramBin[],
  kind: ModelKind,
  effectiveRangeM: number,
): LeastSquaresFit {
  let [s1, sg, sgg, sy, sgy] = [0, 0, 0, 0, 0];
  for (const b of bins) {
    const w = b.pairs / (b.distanceM * b.distanceM);
    const g = 1 - correlation(kind, effectiveRangeM, b.distanceM);
    s1 += w;
    sg += w * g;
    sgg += w * g * g;
    sy += w * b.gamma;
    sgy += w * g * b.gamma;
  }
  const determinant = s1 * sgg - sg * sg;
  const candidates: VariogramModel[] = [
    { kind, effectiveRangeM, nugget: 0, partialSill: sgg > 0 ? Math.max(0, sgy / sgg) : 0 },
    { kind, effectiveRangeM, nugget: Math.max(0, sy / s1), partialSill: 0 },
  ];
  if (determinant > 1e-12 * s1 * sgg) {
    const nugget = (sgg * sy - sg * sgy) / determinant;
    const partialSill = (s1 * sgy - sg * sy) / determinant;
    if (nugget >= 0 && partialSill >= 0) candidates.push({ kind, effectiveRangeM, nugget, partialSill });
  }
  return candidates
    .map((m) => ({ ...m, weightedSse: weightedSse(bins, m) }))
    .reduce((a, b) => (b.weightedSse <= a.weightedSse ? b : a));
}
