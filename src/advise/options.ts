/** Everything the user may set, with defaults; one schema serves the command line, HTTP bodies and the docs. */
import { z } from 'zod';

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
  /** Depth of the cores, in cm (common practice: 6 in). */
  depthCm: z.coerce.number().min(2).max(120).default(15),
  seed: z.coerce.number().int().min(0).max(4294967295).default(20260901),
});

export type AdviceOptions = Readonly<z.infer<typeof adviceOptionsSchema>>;
