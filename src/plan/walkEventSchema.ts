import * as z from 'zod/mini';
import type { WalkEvent } from './walkEvents.ts';

/** The longest reason or note, and the longest name of a walker, in characters. */
export const LONGEST_REASON = 300;
export const LONGEST_WALKER = 24;

const text = (longest: number) => z.string().check(z.maxLength(longest));
const number = (least: number, most: number) => z.number().check(z.gte(least), z.lte(most));
const uuid = z.string().check(z.regex(/^[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}$/));

const members = {
  id: uuid,
  walkId: text(40),
  stop: z.int().check(z.gte(1), z.lte(100_000)),
  at: z.iso.datetime().check(z.maxLength(40)),
  walker: text(LONGEST_WALKER),
  bag: z.optional(text(40)),
  cores: z.optional(z.int().check(z.gte(0), z.lte(1000))),
  lat: z.optional(number(-90, 90)),
  lon: z.optional(number(-180, 180)),
  accuracyM: z.optional(number(0, 1e6)),
};
const place = z.refine<{ lat?: number; lon?: number }>(
  (event) => (event.lat === undefined) === (event.lon === undefined),
  'a latitude needs a longitude',
);

/** One event as it comes from a phone or a file. */
const walkEventSchema = z.discriminatedUnion('kind', [
  z
    .strictObject({ ...members, kind: z.literal('done'), reason: z.optional(text(LONGEST_REASON)) })
    .check(place),
  z
    .strictObject({
      ...members,
      kind: z.enum(['skipped', 'note']),
      reason: text(LONGEST_REASON).check(z.minLength(1)),
    })
    .check(place),
  z
    .strictObject({
      ...members,
      kind: z.literal('undone'),
      undoes: z.array(uuid).check(z.minLength(1), z.maxLength(50)),
      reason: z.optional(text(LONGEST_REASON)),
    })
    .check(place),
]);

/** An event, or why what came is none. */
export type ReadEvent =
  | { readonly ok: true; readonly event: WalkEvent }
  | { readonly ok: false; readonly id?: string; readonly why: string };

/** Reads one event of a walk. @param stops how many stops the walk has, numbered from 1 */
export function readWalkEvent(value: unknown, walkId: string, stops: number): ReadEvent {
  const parsed = walkEventSchema.safeParse(value);
  if (!parsed.success) {
    const [issue] = parsed.error.issues;
    const id = uuid.safeParse((value as { id?: unknown } | null)?.id).data;
    return { ok: false, id, why: `${issue.path.join('.') || 'the mark'} is not as it should be` };
  }
  const event: WalkEvent = parsed.data;
  if (event.walkId !== walkId) return { ok: false, id: event.id, why: 'it is of another walk' };
  if (event.stop > stops) return { ok: false, id: event.id, why: `this walk has no stop ${event.stop}` };
  return { ok: true, event };
}

/** Marks of one walk as a file, for where no sending is possible. */
export interface WalkFile {
  readonly kind: 'lagstep-walk-marks';
  readonly version: 1;
  readonly walkId: string;
  readonly field: string;
  readonly events: readonly WalkEvent[];
}

const walkFileSchema = z.looseObject({
  kind: z.literal('lagstep-walk-marks'),
  version: z.literal(1),
  walkId: text(40),
  events: z.array(z.unknown()).check(z.maxLength(50_000)),
});

/** What a file of marks holds, or one sentence of what is wrong with it. */
export type ReadWalkFile =
  | { readonly ok: true; readonly events: readonly WalkEvent[]; readonly refused: number }
  | { readonly ok: false; readonly sentence: string };

/** Reads a file of marks of one walk; single marks that can't be read are counted, the others are taken. */
export function readWalkFile(contents: string, walkId: string, stops: number): ReadWalkFile {
  let value: unknown;
  try {
    value = JSON.parse(contents);
  } catch {
    return { ok: false, sentence: 'This is not a file of marks: choose the file that a phone saved.' };
  }
  const file = walkFileSchema.safeParse(value);
  if (!file.success)
    return { ok: false, sentence: 'This is not a file of marks: choose the file that a phone saved.' };
  if (file.data.walkId !== walkId)
    return { ok: false, sentence: 'This file holds the marks of another walk, not of this one.' };
  const read = file.data.events.map((event) => readWalkEvent(event, walkId, stops));
  const events = read.flatMap((r) => (r.ok ? [r.event] : []));
  return { ok: true, events, refused: read.length - events.length };
}

/** The text of a file of marks. */
export function writeWalkFile(walkId: string, field: string, events: readonly WalkEvent[]): string {
  const file: WalkFile = { kind: 'lagstep-walk-marks', version: 1, walkId, field, events };
  return `${JSON.stringify(file, undefined, 1)}\n`;
}
