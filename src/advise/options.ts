/** Everything the user may set, with defaults; one schema serves the command line, HTTP bodies and the docs. */
import { z } from 'zod';
import { isStart } from './startPlace.ts';
import { costFields, cropPlans, guidanceTables, labPackages, type CostNumberField } from '../value/index.ts';

const flag = z.union([
  z.boolean(),
  z.enum(['yes', 'no', 'true', 'false', 'on', 'off']).transform((v) => /yes|true|on/.test(v)),
]);

const words = (text: string) => text.split(/[\s,;]+/).filter((w) => w !== '');

const scaleChoices = z.preprocess(
  (v) => (typeof v === 'string' ? Object.fromEntries(words(v).map((w) => w.split('='))) : v),
  z.record(z.string(), z.enum(['raw', 'log', 'normalScore'], 'a scale is raw, log or normalScore')),
);

/** `P.critical=18 corn.price=4.2` or an object: numbers by key. */
const numbersByKey = (example: string, least: number) =>
  z.preprocess(
    (v) => (typeof v === 'string' ? Object.fromEntries(words(v).map((w) => w.split('='))) : v),
    z.record(
      z.string().max(60),
      z.coerce
        .number(`a number by its key is needed, such as ${example}`)
        .min(least, `a number by its key, such as ${example}, is at least ${least}`),
    ),
  );

/** A number of the cost of sampling, with the bounds and the default that `costFields` states. */
const cost = (key: CostNumberField['key']) => {
  const field = costFields.find((f): f is CostNumberField => f.kind === 'number' && f.key === key)!;
  const number = z.coerce.number().min(field.min).max(field.max);
  return (field.whole ? number.int() : number).default(field.default);
};

const cropIds = cropPlans.map((p) => p.id);
const guidanceIds = guidanceTables.map((g) => g.id);
const packageIds = labPackages.map((p) => p.id);

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
  /** What the laboratory analyses; its price is taken where `labPrice` is left as usual. */
  labPackage: z.enum(packageIds).default('complete'),
  /** Laboratory price of a sample. Common practice, no source: 25-30 USD for a complete analysis. */
  labPrice: cost('labPrice'),
  shippingPerParcel: cost('shippingPerParcel'),
  samplesPerParcel: cost('samplesPerParcel'),
  shippingPerSample: cost('shippingPerSample'),
  /** Who pulls the samples: oneself, by the hour, or somebody hired, by area and sample. */
  sampler: z.enum(['own', 'hired']).default('own'),
  labourPerHour: cost('labourPerHour'),
  countOwnTime: flag.default(true),
  hiredPerHa: cost('hiredPerHa'),
  hiredPerSample: cost('hiredPerSample'),
  minutesPerSample: cost('minutesPerSample'),
  minutesPerPlace: cost('minutesPerPlace'),
  minutesPerCore: cost('minutesPerCore'),
  metresPerHour: cost('metresPerHour'),
  hoursPerVisit: cost('hoursPerVisit'),
  travelMinutesPerVisit: cost('travelMinutesPerVisit'),
  travelCostPerVisit: cost('travelCostPerVisit'),
  mappingPerHa: cost('mappingPerHa'),
  /** What is grown, by the id of a crop plan; when it is left out the questionnaire's answer, or corn and soybean. */
  crop: z.enum(cropIds).optional(),
  /** Guidance that rates are taken from, by id. */
  guidance: z.enum(guidanceIds).default(guidanceIds[0]),
  /** Figures of the guidance, crops and prices that the user sets, by key: `P.critical=18 corn.price=4.2`. */
  rates: numbersByKey('P.critical=18', 0).default({}),
  /** Years a sampling serves before the next (Bulletin 974: at least every four years). */
  yearsBetween: z.coerce.number().min(1).max(10).default(4),
  /** Most the user would pay for one sampling of this field; 0 for no limit. */
  budget: z.coerce.number().min(0).default(0),
  /** Fewest samples the user wants. */
  minSamples: z.coerce.number().int().min(1).max(1000).default(1),
  /** Most typical error allowed of single properties, in the unit their errors are shown in: `P=30 pH=0.2`. */
  maxError: numbersByKey('P=30', 1e-9).default({}),
  /** Least chance, per cent, that a block's value of the leading property falls in its right class; 0 for no limit. */
  minRightClass: z.coerce.number().min(0).max(99).default(0),
  /** Most zones to consider. */
  maxZones: z.coerce.number().int().min(2).max(8).default(5),
  /** Least area and width of a zone's patch, ha and m: what can be sampled and spread on its own; 0 for the usual. */
  minZoneHa: z.coerce.number().min(0).max(100).default(0),
  minZoneWidthM: z.coerce.number().min(0).max(500).default(0),
  /** Fuzziness of clustering by several covariates (Bezdek 1981; 2 is usual); 0 for hard clusters. */
  zoneFuzziness: z.union([z.literal(0), z.coerce.number().min(1.05).max(4)]).default(0),
  /** Least distance of a stop from the field's edges, m: the headland, where traffic and turning compact and double up
   * (common practice, no source: 50 ft); 0 for none. */
  setbackM: z.coerce.number().min(0).max(100).default(15),
  /** Least distance of a stop from ground to keep out of, m (judgement of this project); local rules set it for wells. */
  keepOutSetbackM: z.coerce.number().min(0).max(200).default(10),
  /** Whether a stop that is moved off such ground stays in its soil unit. */
  stayInSoilUnit: flag.default(false),
  /** Where one comes in: a side or corner of the field (`N` … `NW`), coordinates, or empty for its lower left. */
  startAt: z
    .string()
    .trim()
    .max(80)
    .refine(
      isStart,
      'where one comes in is a side or corner such as SW, or two coordinates such as -93.50, 42.10',
    )
    .default(''),
  /** Places of a grid's stops: new ones, last time's again, or those half a spacing aside; see `lastPositions.ts`. */
  lastPositions: z.enum(['new', 'same', 'offset']).default('new'),
  /** Stops of a grid that get a second sample close by, to learn how much varies at one place; see `closePairs.ts`. */
  closePairs: z.coerce.number().int().min(0).max(20).default(0),
  /** Depth of the cores, in cm (common practice: 6 in). */
  depthCm: z.coerce.number().min(2).max(120).default(15),
  /** Composites of whole grid cells: shown for comparison, allowed to be advised, or left out. */
  cells: z.enum(['compare', 'choose', 'leave out']).default('compare'),
  /** Whether last time's points count as part of the next map, so that new stops only fill in. */
  reuseOldPoints: flag.default(false),
  /**
   * Mean of a property with 20 values or more: constant, a linear trend in the coordinates, or the trend only where it is
   * clearly better (AICc by more than 4).
   */
  mean: z.enum(['constant', 'choose', 'linear']).default('choose'),
  /** Working scale of single properties, against the rule: `P=log K=raw`. */
  scales: scaleChoices.default({}),
  /** Test values set aside, as property and row of the file: `P:17 K:40`. */
  setAside: keyList.default([]),
  seed: z.coerce.number().int().min(0).max(4294967295).default(20260901),
});

export type AdviceOptions = Readonly<z.infer<typeof adviceOptionsSchema>>;
