/** Everything the user may set, with defaults; one schema serves the command line, HTTP bodies and the docs. */
import { z } from 'zod';

const flag = z.union([
  z.boolean(),
  z.enum(['yes', 'no', 'true', 'false', 'on', 'off']).transform((v) => /yes|true|on/.test(v)),
]);

const words = (text: string) => text.split(/[\s,;]+/).filter((w) => w !== '');

const scaleChoices = z.preprocess(
  (v) => (typeof v === 'string' ? Object.fromEntries(words(v).map((w) => w.split('='))) : v),
  z.record(z.string(), z.enum(['raw', 'log', 'normalScore'], 'a scale is raw, log or normalScore')),
);

const keyList = z.preprocess(
  (v) => (typeof v === 'string' ? words(v) : v),
  z.array(z.string().regex(/^[^:]+:\d+$/, 'a value is named by property and row, such as P:17')).max(500),
);

export const adviceOptionsSchema = z.object({
  /** Units on screens and in words; nominal grid sizes follow it (acres or hectares). */
  unitSystem: z.enum(['us', 'metric']).default('us'),
  currency: z.string().min(1).max(8).default('USD'),
  /** Cores mixed at a grid stop. Common practice 8-10; NC State Extension, fig. 6: 8-10. */
  coresPerStop: z.coerce.number().int().min(1).max(60).default(10),
  /** Radius of the circle the cores of a stop are pulled in, m (NC State Extension, fig. 6: 15-30 ft). */
  stopRadiusM: z.coerce.number().min(0).max(30).default(5),
  /** Cores mixed for a zone (NC State Extension, fig. 6: 15-20). */
  coresPerZone: z.coerce.number().int().min(1).max(100).default(18),
  /** Cores mixed for one whole-field sample (Kansas State University Extension: about 21). */
  coresWholeField: z.coerce.number().int().min(1).max(200).default(21),
  /** Side of the square the spreader can treat on its own, m. */
  blockM: z.coerce.number().min(1).max(200).default(18),
  /** Laboratory price of a complete analysis. Common practice, no source: 25-30 USD. */
  labPrice: z.coerce.number().min(0).max(1000).default(27.5),
  /** Own or hired labour, money per hour. */
  labourPerHour: z.coerce.number().min(0).max(1000).default(45),
  /** Years a sampling serves before the next (Bulletin 974: at least every four years). */
  yearsBetween: z.coerce.number().min(1).max(10).default(4),
  /** Most the user would pay for one sampling of this field; 0 for no limit. */
  budget: z.coerce.number().min(0).default(0),
  /** Fewest samples the user wants. */
  minSamples: z.coerce.number().int().min(1).max(1000).default(1),
  /** Most zones to consider. */
  maxZones: z.coerce.number().int().min(2).max(8).default(5),
  /** Least area and width of a zone's patch, ha and m: what can be sampled and spread on its own; 0 for the usual. */
  minZoneHa: z.coerce.number().min(0).max(100).default(0),
  minZoneWidthM: z.coerce.number().min(0).max(500).default(0),
  /** Fuzziness of clustering by several covariates (Bezdek 1981; 2 is usual); 0 for hard clusters. */
  zoneFuzziness: z.union([z.literal(0), z.coerce.number().min(1.05).max(4)]).default(0),
  /** Depth of the cores, in cm (common practice: 6 in). */
  depthCm: z.coerce.number().min(2).max(120).default(15),
  /** Composites of whole grid cells: shown for comparison, allowed to be advised, or left out. */
  cells: z.enum(['compare', 'choose', 'leave out']).default('compare'),
  /** Whether last time's points count as part of the next map, so that new stops only fill in. */
  reuseOldPoints: flag.default(false),
  /** Working scale of single properties, against the rule: `P=log K=raw`. */
  scales: scaleChoices.default({}),
  /** Test values set aside, as property and row of the file: `P:17 K:40`. */
  setAside: keyList.default([]),
  seed: z.coerce.number().int().min(0).max(4294967295).default(20260901),
});

export type AdviceOptions = Readonly<z.infer<typeof adviceOptionsSchema>>;
