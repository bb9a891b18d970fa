import type { KeepOut } from '../design/clearStops.ts';
import type { FlatPositions, Frame, Region } from '../field/index.ts';
import type { Answers } from '../prior/index.ts';
import type { Guidance } from '../value/index.ts';
import type { Advice, InputReport } from './advice.ts';

/** One analyte at the kept test points: NaN where it was not measured. */
export interface TestSeries {
  readonly id: string;
  readonly label: string;
  readonly unit: string;
  readonly values: Float64Array;
  readonly belowDetection: number;
  readonly extractant?: string;
}

/** A field made ready: everything in local metres and the catalogue's units. */
export interface FieldInput {
  readonly name: string;
  readonly frame: Frame;
  readonly region: Region;
  readonly boundarySource: Advice['field']['boundarySource'];
  readonly soilUnits: readonly { readonly label: string; readonly region: Region }[];
  /** Ground that no stop may lie on. */
  readonly keepOut: readonly KeepOut[];
  readonly tests?: {
    /** The points studied. */
    readonly xy: FlatPositions;
    /** Row in the file of each point studied. */
    readonly rows: Uint32Array;
    readonly series: readonly TestSeries[];
    /** Places tested, of which those studied are all or a part. */
    readonly places: number;
  };
  readonly yields: readonly {
    readonly file: string;
    readonly xy: FlatPositions;
    readonly values: Float64Array;
  }[];
  /**
   * Height of the ground, from the file that has it at most places. Of a combine's or a sampler's receiver, which drifts
   * between passes and days: fit to draw zones by, not to tell slopes from.
   */
  readonly elevation?: {
    readonly file: string;
    readonly xy: FlatPositions;
    /** m. */
    readonly values: Float64Array;
  };
  /** The user's own table of rates, before any that the options name. */
  readonly guidance?: Guidance;
  readonly answers: Answers;
  readonly inputs: readonly InputReport[];
}
