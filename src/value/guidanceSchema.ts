import { z } from 'zod';
import { slipsOf } from './guidanceSlips.ts';
import {
  rateForms,
  rateUnits,
  removalUnits,
  testUnits,
  type RateForm,
  type RateUnit,
  type TestUnit,
} from './rateUnits.ts';

const keysOf = <K extends string>(table: Readonly<Record<K, unknown>>) =>
  Object.keys(table) as unknown as readonly [K, ...K[]];

const source = z.string().min(1);
const text = z.string().min(1);
const words = z.array(text).min(1);

/** A number with where it is from. */
const figure = z.strictObject({ value: z.number(), source });
const atLeast0 = z.strictObject({ value: z.number().min(0), source });
const above0 = z.strictObject({ value: z.number().positive(), source });
/** A number that may rise with the cation exchange capacity: `value + perCec · CEC`, CEC in meq/100 g. */
const level = z.strictObject({ value: z.number(), perCec: z.number().optional(), source });
const share = z.number().min(0).max(1);

/**
 * Builds the test up to a critical level over some years, keeps it by removal up to the maintenance limit, then falls in a line
 * to nothing: below the critical level removal + addition + (critical − test)·perUnit/years, to `plateau` above it
 * removal + addition, and over `drawdown` more of the test (0: at once) down to 0.
 */
const buildupMaintenance = z.strictObject({
  kind: z.literal('buildup-maintenance'),
  critical: level,
  plateau: atLeast0,
  drawdown: atLeast0,
  /** Rate in all that lifts the test by 1 of its unit. */
  perUnit: level,
  years: above0,
  /** Given beside removal each year while the test is built up or kept. */
  addition: atLeast0.optional(),
});

/** A rate for each class of the test: `amount` and `removal` times what the crop takes away, spread over `years`. */
const classTable = z.strictObject({
  kind: z.literal('class-table'),
  classes: z
    .array(
      z.strictObject({
        label: text,
        /** First value of the class above; null for the highest class. */
        below: z.number().nullable(),
        amount: z.number().min(0),
        removal: z.number().min(0).max(3).default(0),
        source,
      }),
    )
    .min(2),
  /** The class from which on the crop hardly answers to more: its lower bound is the critical level. */
  sufficientFrom: text,
  perUnit: level,
  years: above0,
  /** Keeps the test, a year, where the crop's removal is not what does. */
  keeping: above0.optional(),
});

/** `constant + perPH·pH + perTest·test`, at least 0: one correction that lasts `years`. */
const linear = z.strictObject({
  kind: z.literal('linear'),
  constant: z.number(),
  perPH: z.number(),
  perTest: z.number().negative(),
  source,
  years: above0,
  keeping: above0,
});

/** Lime by pH: below target − trigger what lifts the pH to the target, spread over `years`. */
const limePH = z.strictObject({
  kind: z.literal('lime-pH'),
  /** pH aimed at, by crop. */
  targets: z.record(text, figure),
  /** How far below the target the pH has to fall before lime is due. */
  trigger: atLeast0,
  /** Rate that lifts the pH by 1. */
  perUnit: level,
  years: above0,
  /** Makes up for a year's acidification. */
  keeping: above0,
  /** Share of the material spread that counts in this table's rates. */
  effective: z.strictObject({ value: z.number().positive().max(1), source }),
});

/**
 * Lime by a buffer test: one line `constant + perTest·test` for each target pH, straight between; all else (targets, trigger,
 * years, material) as in the table's row for pH.
 */
const limeBuffer = z.strictObject({
  kind: z.literal('lime-buffer'),
  /** What the lines are written for: the buffer pH, or ten times it. */
  scale: z.enum(['buffer pH', 'lime test index']),
  lines: z
    .array(
      z.strictObject({ target: z.number(), constant: z.number(), perTest: z.number().negative(), source }),
    )
    .min(1),
});

const equation = z.discriminatedUnion('kind', [buildupMaintenance, classTable, linear, limePH, limeBuffer]);

const responseForm = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('mitscherlich'), atCritical: z.number().min(0.5).max(0.999) }),
  z.strictObject({
    kind: z.literal('linear-plateau'),
    atZero: share,
    critical: z.number().positive().optional(),
  }),
  z.strictObject({ kind: z.literal('table'), points: z.array(z.tuple([z.number(), share])).min(2) }),
]);

const row = z.strictObject({
  analyte: z.enum(['P', 'K', 'pH', 'bufferPH', 'Zn']),
  /** Extractants or buffers that the limits hold for, the usual one first; empty where there is no choice. */
  extractants: z.array(text),
  crops: words,
  /** Cation exchange capacities it holds for, meq/100 g. */
  cec: z.strictObject({ above: z.number().optional(), upTo: z.number().optional() }).optional(),
  test: z.enum(keysOf<TestUnit>(testUnits)),
  rate: z.strictObject({
    of: z.enum(keysOf<RateForm>(rateForms)),
    unit: z.enum(keysOf<RateUnit>(rateUnits)),
  }),
  equation,
  /** Most that is spread in a year. */
  most: above0.optional(),
  /** Test above which nothing is spread for the sake of water or health. */
  cap: above0.optional(),
  source,
});

const shape = z.strictObject({
  id: z.string().regex(/^[a-z0-9-]+$/, 'has to be of small letters, digits and hyphens'),
  name: text,
  /** As it is named within a sentence. */
  short: text,
  region: text,
  source,
  /** What crops take away with the harvest. */
  removal: z.array(
    z.strictObject({
      crop: text,
      nutrient: z.enum(['P2O5', 'P', 'K2O', 'K']),
      value: z.number().positive(),
      unit: z.enum(removalUnits),
      source,
    }),
  ),
  /** Yield by test; `bufferPH` goes by the response to pH. */
  responses: z.array(
    z.strictObject({ analyte: z.enum(['P', 'K', 'pH', 'Zn']), crops: words, form: responseForm, source }),
  ),
  rows: z.array(row).min(1),
  /** Why there is no row for a test, an extractant or a crop. */
  notGiven: z
    .array(
      z.strictObject({
        analyte: text,
        extractants: words.optional(),
        crops: words.optional(),
        why: text,
      }),
    )
    .default([]),
});

/**
 * One region's guidance: for each test, extractant and crop its classes, rate and yield response, in the units of its source.
 * For comparing sampling designs only: never a prescription. The keys' meaning stands with each part above.
 */
export const guidanceSchema = shape.superRefine((guidance, context) => {
  for (const { message, path } of slipsOf(guidance))
    context.addIssue({ code: 'custom', message, path: [...path] });
});

export type Guidance = z.infer<typeof shape>;
export type GuidanceRow = z.infer<typeof row>;
export type Equation = GuidanceRow['equation'];
export type EquationOf<K extends Equation['kind']> = Extract<Equation, { readonly kind: K }>;
export type Level = z.infer<typeof level>;
