import type { Frame, Region } from '../field/index.ts';
import { bagsOf, withBags } from './bags.ts';
import type { UnitSystem } from './depthText.ts';
import type { Plan } from './exports.ts';
import { fieldCodes } from './fieldCode.ts';

/** A stop as it is walked to. */
export interface WalkStop {
  /** Walking order from 1: what marks name the stop by. */
  readonly order: number;
  readonly label: string;
  readonly sample: string;
  readonly bag: string;
  readonly cores: number;
  readonly xM: number;
  readonly yM: number;
  /** Longitude and latitude when `places` is `gps`, else as the field's files have them. */
  readonly world: readonly [number, number];
}

/** A plan taken to the field: it never changes, so that every phone that has it has the same. */
export interface WalkPlan {
  readonly id: string;
  /** ISO 8601, UTC. */
  readonly createdAt: string;
  readonly field: string;
  readonly unitSystem: UnitSystem;
  readonly depthCm: number;
  /** Radius of the circle that a stop's cores are pulled in. */
  readonly stopRadiusM: number;
  readonly frame: Frame;
  readonly region: Region;
  readonly stops: readonly WalkStop[];
  /** Whether a phone's position can be held against the stops, or they serve as a list only. */
  readonly places: 'gps' | 'list';
  /** Why it is a list only, and what would help. */
  readonly whyList?: string;
}

export interface WalkPlanOptions {
  readonly id: string;
  readonly createdAt: string;
  readonly unitSystem: UnitSystem;
  readonly stopRadiusM: number;
  /** Whether the field's place on earth is known: false when a square stands for it. */
  readonly hasPlace: boolean;
}

/** A plan with its bags numbered, as it goes to the field. @throws RangeError for more than 9999 samples */
export function walkPlanOf(plan: Plan, options: WalkPlanOptions): WalkPlan {
  const { id, createdAt, unitSystem, stopRadiusM, hasPlace } = options;
  const { name, frame, region } = plan.field;
  const bags = bagsOf(plan, fieldCodes([name])[0]);
  const whyList = whyOnlyList(frame, hasPlace);
  return {
    id,
    createdAt,
    field: name,
    unitSystem,
    depthCm: plan.options.depthCm,
    stopRadiusM,
    frame,
    region,
    stops: withBags(plan, bags).stops.map(({ order, label, sample, bag = '', cores, xM, yM, world }) => ({
      order,
      label,
      sample,
      bag,
      cores,
      xM,
      yM,
      world,
    })),
    places: whyList === undefined ? 'gps' : 'list',
    ...(whyList !== undefined && { whyList }),
  };
}

function whyOnlyList(frame: Frame, hasPlace: boolean): string | undefined {
  if (!hasPlace)
    return 'This field is a square of the stated area, not a real place, so the phone cannot lead to its stops. Bring the field’s boundary for that. The list of stops and bags works without it.';
  if (frame.kind === 'projected')
    return 'The field’s files are in metres of a map projection that they don’t name, so a phone’s position cannot be held against them. Bring the files in longitude and latitude (WGS 84) for that. The list of stops and bags works without it.';
  return undefined;
}
