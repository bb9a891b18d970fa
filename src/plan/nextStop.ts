import { wayTo, type LonLat } from './bearing.ts';
import { stateOf, type StopState } from './walkEvents.ts';
import type { WalkPlan, WalkStop } from './walkPlan.ts';

/** Which open stop comes next: two who share a field begin at either end. */
export type WalkWay = 'first' | 'last' | 'nearest';

/**
 * The open stop to go to next, undefined when none is left. The nearest needs a position and a walk with places; without
 * them it is the first.
 * @param after order of the stop just marked: the walk goes on from there and comes back for stops left behind
 */
export function nextStop(
  plan: WalkPlan,
  states: ReadonlyMap<number, StopState>,
  way: WalkWay,
  at?: LonLat,
  after?: number,
): WalkStop | undefined {
  const open = plan.stops.filter((stop) => stateOf(states, stop.order).state === 'open');
  if (way === 'nearest' && at && plan.places === 'gps') {
    const far = new Map(open.map((stop) => [stop, wayTo(at, stop.world).distanceM]));
    return open.reduce<WalkStop | undefined>(
      (best, stop) => (best && (far.get(best) ?? 0) <= (far.get(stop) ?? 0) ? best : stop),
      undefined,
    );
  }
  if (way === 'last')
    return open.findLast((stop) => after === undefined || stop.order < after) ?? open.at(-1);
  return open.find((stop) => after === undefined || stop.order > after) ?? open[0];
}
