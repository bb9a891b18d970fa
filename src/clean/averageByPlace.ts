import type { AnalyteColumn } from '../read/records.ts';
import type { CheckedPoints } from './checkPoints.ts';
import { BELOW_DETECTION_FACTOR } from './belowDetection.ts';

/**
 * An analyte's values per place after `checkPoints`: the mean of the points at it, NaN where none has a value.
 * A place is below detection only when all its values are; a value below detection counts as limit/√2 in a mean
 * with others that were detected, and as its limit otherwise.
 */
export function averageByPlace(column: AnalyteColumn, checked: CheckedPoints): AnalyteColumn {
  const n = checked.first.length;
  const seen = new Uint32Array(n);
  const below = new Uint32Array(n);
  checked.placeOf.forEach((place, i) => {
    if (place < 0 || Number.isNaN(column.values[i])) return;
    seen[place]++;
    below[place] += column.belowDetection[i];
  });
  const sums = new Float64Array(n);
  checked.placeOf.forEach((place, i) => {
    if (place < 0 || Number.isNaN(column.values[i])) return;
    const mixed = column.belowDetection[i] === 1 && below[place] < seen[place];
    sums[place] += mixed ? column.values[i] * BELOW_DETECTION_FACTOR : column.values[i];
  });
  return {
    ...column,
    values: sums.map((sum, place) => (seen[place] === 0 ? NaN : sum / seen[place])),
    belowDetection: Uint8Array.from(seen, (count, place) => (count > 0 && below[place] === count ? 1 : 0)),
  };
}
