import { readBagNumber, writeBagNumber } from './bagNumber.ts';
import { stateOf, type StopState } from './walkEvents.ts';
import type { WalkPlan, WalkStop } from './walkPlan.ts';

/** A typed or scanned bag held against the stop it is filled at. */
export type BagCheck =
  { readonly kind: 'fits' | 'none' } | { readonly kind: 'asks'; readonly sentence: string };

/**
 * Whether a bag is the stop's own. Anything else asks to be looked at, and may still be right: a bag of another maker has
 * a number of its own.
 * @param text as typed or scanned; empty when the bag wasn't looked at
 */
export function checkBag(
  text: string,
  stop: WalkStop,
  plan: WalkPlan,
  states: ReadonlyMap<number, StopState>,
): BagCheck {
  if (text.trim() === '') return { kind: 'none' };
  const said = tidyBag(text);
  if (said === stop.bag) return { kind: 'fits' };
  const asks = (sentence: string): BagCheck => ({ kind: 'asks', sentence });
  const read = readBagNumber(text);
  const owners = plan.stops.filter((s) => s.bag === said).map((s) => s.label);
  if (owners.length > 0)
    return asks(
      `${said} belongs to ${owners.length === 1 ? `stop ${owners[0]}` : `stops ${owners[0]} to ${owners.at(-1)}`}; this stop’s bag is ${stop.bag}.`,
    );
  const used = plan.stops.find(
    (s) =>
      s.sample !== stop.sample &&
      stateOf(states, s.order).standing.some((m) => m.kind === 'done' && m.bag === said),
  );
  if (used) return asks(`${said} was filled at stop ${used.label} already.`);
  if (!read) return asks(`“${text.trim()}” is not a bag number, or a character is wrong: look again.`);
  const own = readBagNumber(stop.bag);
  return asks(
    own?.fieldCode === read.fieldCode
      ? `${said} is none of this walk’s bags; this stop’s is ${stop.bag}.`
      : `${said} is a bag of another field; this stop’s is ${stop.bag}.`,
  );
}

/** A bag as it is kept: a number with check digits in its one form, anything else as it was typed. */
export function tidyBag(text: string): string {
  const read = readBagNumber(text);
  return read ? writeBagNumber(read) : text.trim();
}
