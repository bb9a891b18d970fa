import { metresToFeet, metresToMiles } from '../units/index.ts';
import { usualCostRates, type CostRates } from '../value/cost.ts';
import type { Bag } from './bags.ts';
import { sayDepth, saySlice, type UnitSystem } from './depthText.ts';
import type { Plan } from './exports.ts';
import {
  afterwards,
  goodCore,
  placesToAvoid,
  safety,
  stepsAtStop,
  stepsForBag,
  type CraftSection,
} from './samplingCraft.ts';

/** One line of the sheet. */
export interface SheetStop {
  readonly order: number;
  readonly stop: string;
  readonly bag: string;
  readonly cores: number;
  /** From the stop before (or from where one comes in), clockwise from north, 0 to 360; absent for the first without a start. */
  readonly bearingDeg?: number;
  /** `NE`: one of eight winds. */
  readonly wind?: string;
  readonly distanceM?: number;
  /** `240 ft`. */
  readonly distance?: string;
  /** Longitude and latitude, or easting and northing in metres, as the field's files have them. */
  readonly world: readonly [number, number];
  /** Whether this stop's cores fill its bag. */
  readonly closesBag: boolean;
  /** Minutes since the start at which one is done here. */
  readonly doneAfterMinutes: number;
}

/** A printable sheet as plain data. */
export interface FieldSheet {
  readonly field: string;
  readonly stops: readonly SheetStop[];
  readonly bags: number;
  readonly cores: number;
  /** `0-6 in`. */
  readonly slice: string;
  readonly depthMark: string;
  readonly walkM: number;
  /** `1.2 mi`. */
  readonly walk: string;
  /** In the field, without the way there and back. */
  readonly hours: number;
  /** How bearings are to be taken. */
  readonly bearingNote: string;
  readonly sections: readonly CraftSection[];
}

export interface FieldSheetOptions {
  readonly unitSystem: UnitSystem;
  /** Where one comes into the field, local metres. */
  readonly startAt?: readonly [number, number];
  /** Radius of the circle that a stop’s cores are pulled in, as the plan was reckoned. */
  readonly stopRadiusM?: number;
  /** Minutes and pace that the cost of sampling is reckoned with. */
  readonly rates?: Pick<
    CostRates,
    'minutesPerPlace' | 'minutesPerCore' | 'minutesPerSample' | 'metresPerHour'
  >;
}

/**
 * The field sheet of a plan: stops in walking order with bearing and distance from the one before, cores and bag; depth
 * mark; time; and what holds in every field (`samplingCraft.ts`). Minutes are those of `costOfSampling`.
 *
 * @param bags of this plan, from `bagsOf`
 * @throws RangeError when a stop's sample has no bag
 */
export function fieldSheet(plan: Plan, bags: readonly Bag[], options: FieldSheetOptions): FieldSheet {
  const { unitSystem, startAt, stopRadiusM, rates = usualCostRates } = options;
  const bagOf = new Map(bags.map((bag) => [bag.sample, bag]));
  const lastOf = new Map(plan.stops.map((stop) => [stop.sample, stop.order]));
  let from = startAt;
  let [minutes, walkM, cores] = [0, 0, 0];
  const stops = plan.stops.map((stop): SheetStop => {
    const bag = bagOf.get(stop.sample);
    if (!bag) throw new RangeError(`Sample ${stop.sample} of stop ${stop.label} has no bag.`);
    const leg = from && legTo(from, [stop.xM, stop.yM]);
    from = [stop.xM, stop.yM];
    const closesBag = lastOf.get(stop.sample) === stop.order;
    walkM += leg?.distanceM ?? 0;
    cores += stop.cores;
    minutes +=
      ((leg?.distanceM ?? 0) / rates.metresPerHour) * 60 +
      rates.minutesPerPlace +
      stop.cores * rates.minutesPerCore +
      (closesBag ? rates.minutesPerSample : 0);
    return {
      order: stop.order,
      stop: stop.label,
      bag: bag.bag,
      cores: stop.cores,
      ...(leg && { ...leg, distance: sayLeg(leg.distanceM, unitSystem) }),
      world: stop.world,
      closesBag,
      doneAfterMinutes: minutes,
    };
  });
  const { depthCm } = plan.options;
  const depth = sayDepth(depthCm, unitSystem);
  return {
    field: plan.field.name,
    stops,
    bags: bags.length,
    cores,
    slice: saySlice(depthCm, unitSystem),
    depthMark: `Mark the probe ${depth} above its tip with tape or paint; every core goes down to the mark.`,
    walkM,
    walk: sayWalk(walkM, unitSystem),
    hours: minutes / 60,
    bearingNote:
      plan.field.frame.kind === 'geographic'
        ? 'Bearings are from true north; a magnetic compass is off by the local declination.'
        : 'Bearings are from grid north of the map projection.',
    sections: [
      bags.some((bag) => bag.stops.length > 1)
        ? stepsForBag
        : stepsAtStop(stopRadiusM === undefined ? undefined : sayLeg(stopRadiusM, unitSystem)),
      goodCore,
      placesToAvoid,
      safety,
      afterwards,
    ],
  };
}

const WINDS = ['N', 'NE', 'E', 'SE', 'S', 'SW', 'W', 'NW'];

/** Way from one place to another in the field's plane; no bearing between two stops at one place. */
function legTo(
  [x0, y0]: readonly [number, number],
  [x1, y1]: readonly [number, number],
): Pick<SheetStop, 'bearingDeg' | 'wind'> & { readonly distanceM: number } {
  const [east, north] = [x1 - x0, y1 - y0];
  const distanceM = Math.hypot(east, north);
  if (distanceM < 0.01) return { distanceM };
  const bearingDeg = ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360;
  return { bearingDeg, wind: WINDS[Math.round(bearingDeg / 45) % 8], distanceM };
}

/** Whole feet or metres: a stop is found by counting steps. */
const sayLeg = (m: number, unitSystem: UnitSystem): string =>
  unitSystem === 'us'
    ? `${Math.round(metresToFeet(m)).toLocaleString('en')} ft`
    : `${Math.round(m).toLocaleString('en')} m`;

const sayWalk = (m: number, unitSystem: UnitSystem): string =>
  unitSystem === 'us' ? `${metresToMiles(m).toFixed(1)} mi` : `${(m / 1000).toFixed(1)} km`;
