/**
 * The file that holds all saved work: gzipped lines of JSON, so that it is written and read without ever holding all
 * of it. First what it is, then farms, fields and cases; behind each case its files' parts and its reply; last how many
 * there were, so that a file that breaks off shows.
 */
import { z } from 'zod';
import type { AdviceReply } from '../../src/advise/request.ts';
import type { WalkPlan } from '../../src/plan/walkPlan.ts';
import { fileRoles } from '../core.ts';
import { cleanName, MOST_BYTES } from '../forms/upload.ts';
import { PART_BYTES } from './fileParts.ts';

export const FILE_VERSION = 1;
export const NAME_LENGTH = 80;
export const FIRST_YEAR = 1900;
export const LAST_YEAR = 2200;

const id = z.string().regex(/^[0-9a-f]{20}$/, 'not an id');
const name = z.string().max(NAME_LENGTH);
const count = z.number().int().min(0);
const moment = z.number().int().min(0).max(8.64e15);

const column = z.strictObject({
  role: z.enum(['x', 'y', 'label', 'analyte', 'yield', 'moisture', 'speed', 'time', 'elevation', 'ignored']),
  analyte: z.string().max(80).optional(),
  unit: z.string().max(40).optional(),
});

const file = z.strictObject({
  name: z
    .string()
    .min(1)
    .refine((text) => cleanName(text) === text, 'not a plain file name'),
  role: z.enum(fileRoles),
  columns: z.record(z.string(), column).optional(),
  size: count.max(MOST_BYTES),
});

const savedCase = z.strictObject({
  id,
  field: id,
  year: z.number().int().min(FIRST_YEAR).max(LAST_YEAR),
  revision: z.number().int().min(1),
  sample: z.boolean(),
  createdAt: moment,
  changedAt: moment,
  question: z.strictObject({
    answers: z.record(z.string(), z.union([z.string().max(200), z.number()])).optional(),
    options: z.record(z.string(), z.unknown()).optional(),
  }),
  typed: z.record(z.string().max(200), z.string().max(20_000)),
  files: z.array(file).max(100),
});

const part = z.strictObject({
  case: id,
  file: count,
  part: count,
  bytes: z.base64().max(Math.ceil(PART_BYTES / 3) * 4),
});

const problem = z.looseObject({ file: z.string(), problem: z.string(), remedy: z.string() });

/** What lists and downloads take from a reply; the rest is taken as it is, since an answer can be worked out again. */
const reply = z.strictObject({
  case: id,
  revision: z.number().int().min(1),
  reply: z.custom<AdviceReply>(
    (value) =>
      z
        .discriminatedUnion('ok', [
          z.strictObject({ ok: z.literal(false), problems: z.array(problem) }),
          z.strictObject({
            ok: z.literal(true),
            advice: z.looseObject({
              tool: z.looseObject({ name: z.literal('lagstep') }),
              field: z.looseObject({ name: z.string(), areaHa: z.number().positive() }),
              verdict: z.looseObject({ headline: z.string() }),
              stops: z.array(z.looseObject({ order: z.number() })),
            }),
          }),
        ])
        .safeParse(value).success,
    'not an answer',
  ),
});

const finite = z.number();
const walkStop = z.looseObject({
  order: z.number().int().min(1),
  label: z.string(),
  sample: z.string(),
  bag: z.string(),
  cores: count,
  xM: finite,
  yM: finite,
  world: z.tuple([finite, finite]),
});

const walk = z.strictObject({
  id,
  createdAt: z.iso.datetime().max(40),
  plan: z.custom<WalkPlan>(
    (value) =>
      z
        .looseObject({
          id,
          createdAt: z.iso.datetime(),
          field: z.string(),
          unitSystem: z.enum(['us', 'metric']),
          depthCm: finite,
          stopRadiusM: finite,
          frame: z.looseObject({}),
          region: z.array(z.unknown()),
          stops: z.array(walkStop).min(1),
          places: z.enum(['gps', 'list']),
        })
        .safeParse(value).success,
    'not a plan',
  ),
});

/** The mark itself is read by its own room, with its walk's stops at hand. */
const mark = z.strictObject({ walk: id, event: z.looseObject({ id: z.string() }) });

const end = z.strictObject({
  farms: count,
  fields: count,
  cases: count,
  parts: count,
  replies: count,
  walks: count,
  marks: count,
});

export const headSchema = z.strictObject({ lagstep: z.literal('saved work'), version: z.number().int() });

const line = <K extends string, T extends z.ZodType>(key: K, schema: T) =>
  z.strictObject({ [key]: schema } as Record<K, T>);

/** One line after the first, by its only key. */
export const lineSchemas = {
  farm: line('farm', z.strictObject({ id, name: name.min(1) })),
  field: line('field', z.strictObject({ id, farm: id.nullable(), name })),
  case: line('case', savedCase),
  part: line('part', part),
  reply: line('reply', reply),
  walk: line('walk', walk),
  mark: line('mark', mark),
  end: line('end', end),
};

export type LineKind = keyof typeof lineSchemas;
export type SavedCaseLine = z.infer<typeof savedCase>;
export type SavedPartLine = z.infer<typeof part>;
export type SavedReplyLine = z.infer<typeof reply>;
export type SavedWalkLine = z.infer<typeof walk>;
export type SavedMarkLine = z.infer<typeof mark>;
export type Counts = z.infer<typeof end>;

/** To count up. */
export type Counting = { -readonly [Key in keyof Counts]: number };

export const noneYet = (): Counting => ({
  farms: 0,
  fields: 0,
  cases: 0,
  parts: 0,
  replies: 0,
  walks: 0,
  marks: 0,
});
