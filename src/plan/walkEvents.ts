/**
 * What is done on a walk, as events that are only ever added. Phones without signal each add their own; brought together in
 * any order and any number of times they come to the same (a set that grows; what is taken back is named by the ids it
 * takes back, as in the observed-remove set of Shapiro et al. 2011, from memory).
 */
export type WalkEventKind = 'done' | 'skipped' | 'undone' | 'note';

export interface WalkEvent {
  /** UUID, made where the event was. */
  readonly id: string;
  readonly walkId: string;
  /** The stop's walking order. */
  readonly stop: number;
  readonly kind: WalkEventKind;
  /** ISO 8601, UTC, by the phone's clock. */
  readonly at: string;
  /** Whose phone. */
  readonly walker: string;
  /** Why it was skipped, or the note's text. */
  readonly reason?: string;
  readonly cores?: number;
  /** The bag that was filled, as typed or scanned. */
  readonly bag?: string;
  /** Where the phone was, degrees on WGS 84, and the radius it gave for that. */
  readonly lat?: number;
  readonly lon?: number;
  readonly accuracyM?: number;
  /** Ids of the marks that an `undone` takes back. */
  readonly undoes?: readonly string[];
}

/** How a stop stands by all events known. */
export interface StopState {
  readonly state: 'open' | 'done' | 'skipped';
  /** The mark that says so: a `done` before a `skipped`, since a filled bag is there whatever else was said; the latest of its kind. */
  readonly mark?: WalkEvent;
  /** All marks not taken back, earliest first. */
  readonly standing: readonly WalkEvent[];
  /** Earliest first. */
  readonly notes: readonly WalkEvent[];
}

const OPEN: StopState = { state: 'open', standing: [], notes: [] };

/** Earliest first; by id where two clocks say the same. */
const earlier = (a: WalkEvent, b: WalkEvent): number =>
  compare(a.at, b.at) || compare(a.id, b.id) || compare(textOf(a), textOf(b));

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** The same text for the same event, whatever the order of its members. */
const textOf = (event: WalkEvent): string =>
  JSON.stringify(Object.entries(event).sort(([a], [b]) => compare(a, b)));

/**
 * Several lists of events as one, earliest first and each id once. The result is the same whatever the order of lists and
 * events; of two events that wrongly share an id the first in that order is kept.
 */
export function mergeEvents(...lists: readonly (readonly WalkEvent[])[]): readonly WalkEvent[] {
  const byId = new Map<string, WalkEvent>();
  for (const event of lists.flat().sort(earlier)) if (!byId.has(event.id)) byId.set(event.id, event);
  return [...byId.values()];
}

/** How each stop stands, by walking order; stops without an event are left out (see {@link stateOf}). */
export function stopStates(events: readonly WalkEvent[]): ReadonlyMap<number, StopState> {
  const merged = mergeEvents(events);
  const undone = new Set(merged.flatMap((event) => event.undoes ?? []));
  const states = new Map<number, StopState>();
  for (const event of merged) {
    const before = stateOf(states, event.stop);
    if (event.kind === 'note') states.set(event.stop, { ...before, notes: [...before.notes, event] });
    else if (event.kind !== 'undone' && !undone.has(event.id))
      states.set(event.stop, withMark(before, event, event.kind));
    else states.set(event.stop, before);
  }
  return states;
}

function withMark(before: StopState, event: WalkEvent, kind: 'done' | 'skipped'): StopState {
  const standing = [...before.standing, event];
  return before.state === 'done' && kind === 'skipped'
    ? { ...before, standing }
    : { ...before, state: kind, mark: event, standing };
}

/** How one stop stands. */
export const stateOf = (states: ReadonlyMap<number, StopState>, stop: number): StopState =>
  states.get(stop) ?? OPEN;
