import { z } from 'zod';
import table from './crops.json' with { type: 'json' };
import { weightUnits, yieldUnits } from './rateUnits.ts';

const source = z.string().min(1);

/** A crop of a plan with its usual harvest and price; money in the user's currency. */
export const grownCropSchema = z.strictObject({
  /** Id that guidance tables know the crop by. */
  crop: z.string().min(1),
  name: z.string().min(1),
  lbPerBushel: z.number().positive(),
  yield: z.strictObject({ value: z.number().positive(), unit: z.enum(yieldUnits), source }),
  price: z.strictObject({ value: z.number().min(0), per: z.enum(weightUnits), source }),
  /** Years of the rotation that it stands in the field. */
  years: z.number().positive(),
});
export type GrownCrop = Readonly<z.infer<typeof grownCropSchema>>;

/** What is grown over the years that a sampling serves. */
export const cropPlanSchema = z.strictObject({
  id: z.string().min(1),
  name: z.string().min(1),
  crops: z
    .array(grownCropSchema)
    .min(1)
    .refine(
      (crops) => new Set(crops.map((c) => c.crop)).size === crops.length,
      'names a crop once, with its years',
    ),
});
export interface CropPlan {
  readonly id: string;
  readonly name: string;
  readonly crops: readonly GrownCrop[];
}

/** The plans offered, the usual one first, from `crops.json`: bushel weights common practice, no source. */
export const cropPlans: readonly CropPlan[] = table.plans.map(({ id, name, crops }) =>
  cropPlanSchema.parse({
    id,
    name,
    crops: crops.map((crop) => ({
      crop,
      ...(table.crops as Readonly<Record<string, object>>)[crop],
      ...(table.grown as Readonly<Record<string, object>>)[crop],
      years: 1,
    })),
  }),
);

/** The plan of an id such as `corn-soybean`; undefined when there is none. */
export const findCropPlan = (id: string): CropPlan | undefined => cropPlans.find((p) => p.id === id);
