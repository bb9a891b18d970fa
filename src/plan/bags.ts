import { MOST_SAMPLES, writeBagNumber } from './bagNumber.ts';
import type { Plan } from './exports.ts';

/** One bag that goes to the laboratory: the cores of one sample, from one stop or from many. */
export interface Bag {
  /** Number with check digits, `NFD-012-47`. */
  readonly bag: string;
  readonly field: string;
  readonly sample: string;
  /** Labels of the stops whose cores go into it, in walking order. */
  readonly stops: readonly string[];
  /** Cores of all its stops together. */
  readonly cores: number;
  readonly depthCm: number;
}

/**
 * The bags of a plan in the order they are begun. A sample that is named by a number keeps it when all are; otherwise
 * bags are counted from 1 as they are come to.
 *
 * @param fieldCode three letters, from `fieldCodes`
 * @throws RangeError for a bad field code or more than 9999 samples
 */
export function bagsOf(plan: Plan, fieldCode: string): readonly Bag[] {
  const bySample = new Map<string, Plan['stops'][number][]>();
  for (const stop of plan.stops) bySample.set(stop.sample, [...(bySample.get(stop.sample) ?? []), stop]);
  const numbered = [...bySample.keys()].every((sample) => isSampleNumber(sample));
  return [...bySample].map(([sample, stops], i) => ({
    bag: writeBagNumber({ fieldCode, sample: numbered ? Number(sample) : i + 1 }),
    field: plan.field.name,
    sample,
    stops: stops.map((stop) => stop.label),
    cores: stops.reduce((sum, stop) => sum + stop.cores, 0),
    depthCm: plan.options.depthCm,
  }));
}

/** The plan with each stop's bag number, so that exports carry it. */
export function withBags<P extends Plan>(plan: P, bags: readonly Bag[]): P {
  const bagOf = new Map(bags.map((bag) => [bag.sample, bag.bag]));
  return { ...plan, stops: plan.stops.map((stop) => ({ ...stop, bag: bagOf.get(stop.sample) })) };
}

const isSampleNumber = (sample: string): boolean =>
  /^[1-9]\d{0,3}$/.test(sample) && Number(sample) <= MOST_SAMPLES;
