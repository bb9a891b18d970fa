import {
  gridCandidates,
  gridStops,
  soilUnitZones,
  undrawnZones,
  wholeField,
  yieldZones,
  type GridStops,
  type ZoneMap,
} from '../design/index.ts';
import { areaHa, type FlatPositions } from '../field/index.ts';
import type { AdviceOptions } from './options.ts';
import type { FieldInput } from './fieldInput.ts';

/** A design to be compared: stops of a grid, or a map of zones with a composite for each. */
export type Candidate =
  | {
      readonly kind: 'grid';
      readonly id: string;
      readonly label: string;
      readonly samples: number;
      readonly cores: number;
      readonly places: number;
      readonly grid: GridStops;
    }
  | {
      readonly kind: 'whole' | 'zones';
      readonly id: string;
      readonly label: string;
      readonly samples: number;
      readonly cores: number;
      readonly places: number;
      readonly map: ZoneMap;
    };

/** Everything to compare in a field, coarsest first. */
export function listCandidates(
  field: FieldInput,
  fieldNodes: FlatPositions,
  yieldSurface: Float64Array | undefined,
  options: AdviceOptions,
): readonly Candidate[] {
  const hectares = areaHa(field.region);
  const zone = (map: ZoneMap, id: string, label: string): Candidate => ({
    kind: 'zones',
    id,
    label,
    samples: map.zones,
    cores: options.coresPerZone,
    places: map.zones * options.coresPerZone,
    map,
  });
  const out: Candidate[] = [
    {
      kind: 'whole',
      id: 'whole',
      label: 'one mixed sample of the whole field',
      samples: 1,
      cores: options.coresWholeField,
      places: options.coresWholeField,
      map: wholeField(fieldNodes),
    },
  ];
  const bySoil = field.soilUnits.length > 1 ? soilUnitZones(fieldNodes, field.soilUnits) : undefined;
  if (bySoil) out.push(zone(bySoil, 'zones-soil', `${bySoil.zones} zones by soil unit`));
  if (yieldSurface)
    for (let k = 2; k <= options.maxZones; k++) {
      const map = yieldZones(fieldNodes, yieldSurface, k);
      if (map) out.push(zone(map, `zones-yield-${k}`, `${k} zones by yield`));
    }
  if (!bySoil && !yieldSurface)
    for (let k = 2; k <= options.maxZones; k++)
      out.push(zone(undrawnZones(fieldNodes, k), `zones-${k}`, `${k} zones you draw yourself`));
  const unit = options.unitSystem === 'us' ? 'acre' : 'hectare';
  for (const c of gridCandidates(hectares, options.unitSystem))
    out.push({
      kind: 'grid',
      id: c.id,
      label: c.nominal === 1 ? `one sample per ${unit}` : `one sample per ${c.nominal} ${unit}s`,
      samples: c.stops,
      cores: options.coresPerStop,
      places: c.stops,
      grid: gridStops(field.region, c.stops),
    });
  return out.sort((a, b) => a.samples - b.samples || (a.kind === 'zones' ? -1 : 1));
}
