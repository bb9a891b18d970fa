import { routeLengthM } from '../design/index.ts';
import { areaHa } from '../field/index.ts';
import {
  costOfSampling,
  labPackages,
  usualCostRates,
  type CostRates,
  type SamplingCost,
} from '../value/index.ts';
import { isMap, type Candidate } from './candidates.ts';
import type { FieldInput } from './fieldInput.ts';
import type { AdviceOptions } from './options.ts';

/** A walk that is only costed need not be searched for so long: 0.1 % is lost on average, 2 % at most. */
const KICKS_PER_PLACE = 2;

/** What sampling costs by the options: the package's price where the user gave no other. */
export function costRatesOf(o: AdviceOptions): CostRates {
  const price = labPackages.find((p) => p.id === o.labPackage)?.price ?? usualCostRates.labPrice;
  const asUsual = o.labPrice === usualCostRates.labPrice;
  return { ...o, labPrice: asUsual ? price : o.labPrice };
}

/** Cost of one sampling by each design, its walk through the very stops where they are known. */
export function costsOf(
  field: FieldInput,
  candidates: readonly Candidate[],
  options: AdviceOptions,
): readonly SamplingCost[] {
  const rates = costRatesOf(options);
  const hectares = areaHa(field.region);
  return candidates.map((c) =>
    costOfSampling(
      {
        areaHa: hectares,
        samples: c.samples,
        coresPerSample: c.cores,
        places: c.places,
        routeM: routeOf(c, hectares),
      },
      rates,
    ),
  );
}

function routeOf(c: Candidate, hectares: number): number {
  if (!isMap(c)) return routeLengthM({ kind: 'spread', parts: partsOf(c, hectares) });
  // Cells are many and alike: what is expected of them does.
  if (c.kind === 'cells')
    return routeLengthM({
      kind: 'spread',
      parts: Array.from({ length: c.samples }, () => ({ areaHa: hectares / c.samples, places: c.cores })),
    });
  // Infill walks to the new stops only.
  return routeLengthM({ kind: 'stops', xy: c.grid.xy }, { kicksPerPlace: KICKS_PER_PLACE });
}

/** Zones as areas with as many places as cores are pulled from each. */
function partsOf({ map, cores }: Exclude<Candidate, { pulled: unknown }>, hectares: number) {
  const count = new Float64Array(map.zones);
  for (const label of map.labels) count[label]++;
  return Array.from(count, (n) => ({ areaHa: (hectares * n) / map.labels.length, places: cores }));
}
