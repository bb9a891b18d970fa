import papaparse from 'papaparse';
import type { Bag } from './bags.ts';
import { saySlice, type UnitSystem } from './depthText.ts';

/** What the laboratory is told of all bags of a list. */
export interface SubmissionOptions {
  readonly unitSystem: UnitSystem;
  /** Crop to come, for the laboratory's own recommendations; empty when not said. */
  readonly crop?: string;
  /** The laboratory's name of the analysis ordered. */
  readonly package: string;
}

/**
 * The list that goes into the parcel with the bags, of one field or of several, as CSV (RFC 4180): bag number, field,
 * depth, crop, package. Cells that a spreadsheet would take for a formula are quoted with an apostrophe.
 */
export function submissionList(bags: readonly Bag[], options: SubmissionOptions): string {
  return (
    papaparse.unparse(
      {
        fields: ['bag_number', 'field', 'depth', 'crop', 'package'],
        data: bags.map((bag) => [
          bag.bag,
          bag.field,
          saySlice(bag.depthCm, options.unitSystem),
          options.crop ?? '',
          options.package,
        ]),
      },
      { escapeFormulae: /^[=+\-@\t\r]/ },
    ) + '\r\n'
  );
}
