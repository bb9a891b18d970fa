/** Where the phone is and which way it goes. */
import { wayTo, type LonLat } from '../../src/plan/bearing.ts';

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
  let anchor: Fix | undefined;
  navigator.geolocation.watchPosition(
    ({ coords, timestamp }) => {
      const at: LonLat = [coords.longitude, coords.latitude];
      const fix: Fix = { at, accuracyM: coords.accuracy, timeMs: timestamp };
      const course = courseOf(coords) ?? (anchor && courseFrom(anchor, fix));
      if (!anchor || wayTo(anchor.at, at).distanceM > leastMoveM(fix)) anchor = fix;
      onFix({ ...fix, ...(course !== undefined && { courseDeg: course }) });
    },
    (error) => onTrouble(error.code === error.PERMISSION_DENIED ? 'refused' : 'none'),
    { enableHighAccuracy: true, maximumAge: 1000, timeout: 30_000 },
  );
  return true;
}

function courseOf({ heading, speed }: GeolocationCoordinates): number | undefined {
  return heading !== null && Number.isFinite(heading) && (speed ?? 0) >= WALKING_M_S ? heading : undefined;
}

/** A move shorter than this may be the receiver's wandering. */
const leastMoveM = (fix: Fix): number => Math.max(5, fix.accuracyM);

function courseFrom(before: Fix, fix: Fix): number | undefined {
  const { distanceM, bearingDeg } = wayTo(before.at, fix.at);
  return fix.timeMs - before.timeMs < 30_000 && distanceM > leastMoveM(fix) ? bearingDeg : undefined;
}

/** Asked once by a tap where the browser wants that, else at once: whether it will show a question. */
export async function mayFollowAtOnce(): Promise<boolean> {
  try {
    return (await navigator.permissions.query({ name: 'geolocation' })).state === 'granted';
  } catch {
    return false;
  }
}
