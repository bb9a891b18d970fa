/** Which way one walks, from where one was. */
import { wayTo } from '../../src/plan/bearing.ts';
import type { Fix } from './position.ts';

/** What is remembered between two positions. */
export interface Track {
  /** The place the next move is measured from. */
  readonly anchor?: Fix;
  readonly courseDeg?: number;
  /** When that was last seen, ms. */
  readonly courseMs?: number;
}

/** How long a course holds after the last move that showed it, and how old the place before may be (judgement of this project). */
const HOLDS_MS = 10_000;
const ANCHOR_MS = 30_000;

/** A shorter move may be the receiver's wandering. */
const leastMoveM = (fix: Fix): number => Math.max(5, fix.accuracyM);

/**
 * The track with one position more. A course needs a move longer than the phone's accuracy; between two such moves, and
 * for some seconds after the last, it holds.
 * @param receiverDeg the course as the receiver itself gives it, which goes before
 */
export function follow(track: Track, fix: Fix, receiverDeg?: number): Track {
  const { anchor } = track;
  const way = anchor && wayTo(anchor.at, fix.at);
  const moved = way !== undefined && way.distanceM > leastMoveM(fix);
  const seen = receiverDeg ?? (moved && fix.timeMs - anchor!.timeMs < ANCHOR_MS ? way.bearingDeg : undefined);
  const next = { anchor: anchor && !moved ? anchor : fix };
  if (seen !== undefined) return { ...next, courseDeg: seen, courseMs: fix.timeMs };
  if (track.courseMs === undefined || fix.timeMs - track.courseMs > HOLDS_MS) return next;
  return { ...next, courseDeg: track.courseDeg, courseMs: track.courseMs };
}
