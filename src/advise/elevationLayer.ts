import { cleanElevation } from '../clean/index.ts';
import { moments } from '../describe/index.ts';
import type { FlatPositions } from '../field/index.ts';
import type { Problem } from '../read/index.ts';
import type { InputReport } from './advice.ts';
import type { FieldInput } from './fieldInput.ts';

/** Elevations that one file brings. */
export interface GivenElevation {
  readonly file: string;
  readonly xy: FlatPositions;
  /** m; NaN where missing. */
  readonly values: Float64Array;
}

/** Fewer places than this draw no surface; less spread than this is a receiver's own drift. Judgement of this project. */
const LEAST_PLACES = 20;
const LEAST_SD_M = 0.3;

/**
 * The elevation of a field: of several files the one with most points, since levels of two days differ by the receiver's
 * drift. Single jumps are cleaned away.
 * @returns no elevation with fewer than 20 places or next to no relief; a note for each file says what was used
 */
export function chooseElevation(given: readonly GivenElevation[]): {
  readonly elevation?: NonNullable<FieldInput['elevation']>;
  readonly notes: readonly Problem[];
} {
  const known = given
    .map(({ file, xy, values }) => ({ file, xy, values, count: values.filter((v) => v === v).length }))
    .filter(({ count }) => count > 0);
  if (known.length === 0) return { notes: [] };
  const most = known.reduce((a, b) => (b.count > a.count ? b : a));
  const others = known
    .filter((k) => k !== most)
    .map(({ file }) => ({
      file,
      problem: `The elevation in this file is not used: ${most.file} has it at more points, and levels of two days do not mix.`,
      remedy: '',
    }));
  const kept = cleanElevation(most.xy, most.values);
  const values = Float64Array.from(kept, (i) => most.values[i]);
  const refused = whyRefused(values);
  if (refused) return { notes: [{ file: most.file, ...refused }, ...others] };
  const jumps = most.count - kept.length;
  return {
    elevation: {
      file: most.file,
      xy: Float64Array.from({ length: 2 * kept.length }, (_, i) => most.xy[2 * kept[i >> 1] + (i & 1)]),
      values,
    },
    notes: [
      {
        file: most.file,
        problem: `Elevation at ${kept.length.toLocaleString('en')} points is used to draw zones by${jumps > 0 ? ` (${jumps.toLocaleString('en')} unlike their neighbours left out)` : ''}. A receiver’s height drifts between passes and days: stripes along the passes are not the ground’s.`,
        remedy: 'Look at the zones on the map, and leave the column out if they follow the passes.',
      },
      ...others,
    ],
  };
}

function whyRefused(values: Float64Array): Omit<Problem, 'file'> | undefined {
  if (values.length < LEAST_PLACES)
    return {
      problem: `Elevation at ${values.length} places is too little to draw zones by.`,
      remedy: `At least ${LEAST_PLACES} are needed.`,
    };
  const { sd } = moments([...values]);
  return sd < LEAST_SD_M
    ? {
        problem: `Elevation varies by ${sd.toFixed(2)} m (standard deviation), no more than a receiver’s own drift, so no zones are drawn by it.`,
        remedy: 'Check the column’s unit if the field is not flat.',
      }
    : undefined;
}

/** Reports with further notes, each to the report of its file. */
export function withNotes(inputs: readonly InputReport[], notes: readonly Problem[]): readonly InputReport[] {
  return inputs.map((input) => {
    const own = notes.filter((n) => n.file === input.file);
    return own.length === 0 ? input : { ...input, notes: [...input.notes, ...own] };
  });
}
