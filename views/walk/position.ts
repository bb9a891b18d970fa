/** Where the phone is and which way it goes. */
import type { LonLat } from '../../src/plan/bearing.ts';
import { follow, type Track } from './course.ts';

export interface Fix {
  readonly at: LonLat;
  readonly accuracyM: number;
  /** Milliseconds of the phone's clock. */
  readonly timeMs: number;
  /** Way gone, clockwise from true north, while one moves. */
  readonly courseDeg?: number;
}

/** Older than this, a position says where one was. */
export const STALE_MS = 20_000;
/** Below this speed the receiver's course is noise (judgement of this project). */
const WALKING_M_S = 0.6;

export type PositionTrouble = 'refused' | 'none';

/**
 * Follows the phone's position.
 * @returns whether the browser has positions at all
 */
export function followPosition(
  onFix: (fix: Fix) => void,
  onTrouble: (trouble: PositionTrouble) => void,
): boolean {
  if (!('geolocation' in navigator)) return false;
  let track: Track = {};
  navigator.geolocation.watchPosition(
    ({ coords, timestamp }) => {
      const at: LonLat = [coords.longitude, coords.latitude];
      const fix: Fix = { at, accuracyM: coords.accuracy, timeMs: timestamp };
      track = follow(track, fix, receiverCourse(coords));
      onFix({ ...fix, ...(track.courseDeg !== undefined && { courseDeg: track.courseDeg }) });
    },
    (error) => onTrouble(error.code === error.PERMISSION_DENIED ? 'refused' : 'none'),
    { enableHighAccuracy: true, maximumAge: 1000, timeout: 30_000 },
  );
  return true;
}

function receiverCourse({ heading, speed }: GeolocationCoordinates): number | undefined {
  return heading !== null && Number.isFinite(heading) && (speed ?? 0) >= WALKING_M_S ? heading : undefined;
}

/** Whether the browser gives positions without a question; else they are asked for by a tap. */
export async function mayFollowAtOnce(): Promise<boolean> {
  try {
    return (await navigator.permissions.query({ name: 'geolocation' })).state === 'granted';
  } catch {
    return false;
  }
}
