import type { WalkEvent } from '../../src/plan/walkEvents.ts';
import { walkPlanOf, type WalkPlan, type WalkPlanOptions } from '../../src/plan/walkPlan.ts';
import { degrees, planOf } from './plans.ts';

export const walkOptions: WalkPlanOptions = {
  id: '0123456789abcdef0123',
  createdAt: '2026-09-14T12:00:00.000Z',
  unitSystem: 'us',
  stopRadiusM: 5,
  hasPlace: true,
};

/** Seven stops, a bag each, or with others' samples and frame. */
export const walkOf = (
  frame: Parameters<typeof planOf>[0] = degrees,
  sample?: (i: number) => string,
  options: Partial<WalkPlanOptions> = {},
): WalkPlan => walkPlanOf(planOf(frame, sample), { ...walkOptions, ...options });

export const uuidOf = (n: number): string => `00000000-0000-4000-8000-${String(n).padStart(12, '0')}`;

/** An event of the walk with number `n`, `n` minutes after its beginning. */
export function eventOf(n: number, stop: number, event: Partial<WalkEvent> = {}): WalkEvent {
  const at = new Date(Date.parse(walkOptions.createdAt) + n * 60_000).toISOString();
  return { id: uuidOf(n), walkId: walkOptions.id, stop, kind: 'done', at, walker: 'A', ...event };
}
