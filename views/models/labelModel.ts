/** Labels for bags as they are printed and cut. */
import type { Advice } from '../../src/advise/advice.ts';
import { bagLabels, bagsOf, type Bag, type BagLabel } from '../../src/plan/index.ts';
import { fieldCodeOf } from './sheetModel.ts';

export interface PrintedLabel {
  readonly bag: string;
  /** Field; sample where the stops don't name it already; stops, depth and cores. */
  readonly lines: readonly string[];
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
const LONGEST_STOPS = 14;

/** @param pages those of `labelPages`, where they are drawn already */
export function labelModel(advice: Advice, pages: LabelModel['pages'] = [...labelPages(advice)]): LabelModel {
  return {
    field: advice.field.name || 'Your field',
    count: pages.reduce((sum, page) => sum + page.length, 0),
    pages,
  };
}

/** Page after page, as drawing the codes takes some milliseconds a label. */
export function* labelPages(advice: Advice): Generator<readonly PrintedLabel[]> {
  const bags = bagsOf(advice, fieldCodeOf(advice));
  for (let i = 0; i < bags.length; i += LABELS_PER_PAGE) {
    const some = bags.slice(i, i + LABELS_PER_PAGE);
    yield bagLabels(some, advice.options.unitSystem).map((l, k) => printed(l, some[k]));
  }
}

function printed(l: BagLabel, { sample, stops }: Bag): PrintedLabel {
  const from = l.stops.length > LONGEST_STOPS ? `${stops.length} stops` : l.stops;
  const made = `${l.depth}, ${l.cores}`;
  const named = stops.length === 1 && stops[0] === sample;
  return {
    ...{ bag: l.bag, qr: l.qr, code128: l.code128 },
    lines: [l.field || 'Your field', ...(named ? [from, made] : [sample, `${from}, ${made}`])],
  };
}
