/** Labels for bags as they are printed and cut. */
import type { Advice } from '../../src/advise/advice.ts';
import { bagLabels, bagsOf } from '../../src/plan/index.ts';
import { fieldCodeOf } from './sheetModel.ts';

export interface PrintedLabel {
  readonly bag: string;
  readonly field: string;
  /** The sample's name, where the stops don't say it already. */
  readonly sample: string;
  readonly stops: string;
  /** `0-6 in, 10 cores`. */
  readonly made: string;
  readonly qr: string;
  readonly code128: string;
}

export interface LabelModel {
  readonly field: string;
  readonly count: number;
  /** Labels of each sheet of paper. */
  readonly pages: readonly (readonly PrintedLabel[])[];
}

/** Labels on one sheet of paper: three across, ten down. */
export const LABELS_PER_PAGE = 30;
/** Stops named one by one up to this many characters; their number beyond. */
const LONGEST_STOPS = 30;

export function labelModel(advice: Advice): LabelModel {
  const bags = bagsOf(advice, fieldCodeOf(advice));
  const labels = bagLabels(bags, advice.options.unitSystem).map((l, i): PrintedLabel => {
    const { sample, stops } = bags[i];
    return {
      ...{ bag: l.bag, field: l.field || 'Your field', qr: l.qr, code128: l.code128 },
      sample: stops.length === 1 && stops[0] === sample ? '' : sample,
      stops: l.stops.length > LONGEST_STOPS ? `${stops.length} stops` : l.stops,
      made: `${l.depth}, ${l.cores}`,
    };
  });
  return {
    field: advice.field.name || 'Your field',
    count: labels.length,
    pages: Array.from({ length: Math.ceil(labels.length / LABELS_PER_PAGE) }, (_, i) =>
      labels.slice(i * LABELS_PER_PAGE, (i + 1) * LABELS_PER_PAGE),
    ),
  };
}
