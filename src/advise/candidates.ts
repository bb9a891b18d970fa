import { seededRandom } from '../describe/index.ts';
import {
  covariateZones,
  elevationZones,
  gridCandidates,
  gridCellCores,
  infillCandidates,
  infillStops,
  mapErrorsOf,
  noiseRatio,
  placements,
  soilUnitZones,
  splitNugget,
  standardise,
  testZones,
  undrawnZones,
  wholeField,
  yieldZones,
  type Covariate,
  type GridShape,
  type GridStops,
  type GroundShape,
  type MapGround,
  type MapSamples,
  type SamplingOptions,
  type TestLayer,
  type ZoneMap,
} from '../design/index.ts';
import { areaHa, type FlatPositions } from '../field/index.ts';
import { compositeSamples } from '../krige/index.ts';
import type { Member } from '../prior/index.ts';
import type { AdviceOptions } from './options.ts';
import type { FieldInput } from './fieldInput.ts';
import { elevationSurface } from './yieldLayer.ts';

interface CandidateBase {
  readonly id: string;
  readonly label: string;
  readonly samples: number;
  readonly cores: number;
  /** Places to walk to. */
  readonly places: number;
}

/** A way of laying the same number of stops, with its error over that of the best. */
export interface Placement {
  readonly shape: GridShape;
  readonly relativeError: number;
}

/** A map from samples at stops: a grid, composites of its cells, or new stops beside last time's points. */
export interface MapCandidate extends CandidateBase {
  readonly kind: 'grid' | 'cells' | 'infill';
  readonly grid: GridStops;
  /** Every sample the map is made from, old ones too. */
  readonly pulled: MapSamples;
  /** The ways of laying them that fit, best first; of a grid. */
  readonly placements: readonly Placement[];
}

/** A map of zones with a composite for each; the whole field is one. */
export interface ZoneCandidate extends CandidateBase {
  readonly kind: 'whole' | 'zones';
  readonly map: ZoneMap;
}

export type Candidate = MapCandidate | ZoneCandidate;

export const isMap = (c: Candidate): c is MapCandidate => 'pulled' in c;

/** What placements are compared under: the middle of the belief that matters most. */
export interface Typical {
  readonly member: Member;
  readonly ground: MapGround;
  readonly shape: GroundShape;
  readonly sampling: (cores: number) => SamplingOptions;
}

/** Cells are sampled whole at most this many a field: beyond, walking every cell is not what anyone does. Judgement of this project. */
const MOST_CELLS = 32;
/** New stops beside last time's points, as shares of their number. */
const INFILL_SHARES = [0.1, 0.25, 0.5];
const MOST_INFILL = 40;

/**
 * Everything to compare in a field, coarsest first.
 * @param tests properties that last time's tests may draw zones by
 */
export function listCandidates(
  field: FieldInput,
  fieldNodes: FlatPositions,
  yieldSurface: Float64Array | undefined,
  options: AdviceOptions,
  typical: Typical,
  tests: readonly TestLayer[] = [],
): readonly Candidate[] {
  const hectares = areaHa(field.region);
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
    ...zoneCandidates(field, fieldNodes, yieldSurface, options, tests),
  ];
  const unit = options.unitSystem === 'us' ? 'acre' : 'hectare';
  for (const c of gridCandidates(hectares, options.unitSystem)) {
    const size = c.nominal === 1 ? unit : `${c.nominal} ${unit}s`;
    const { grid, ways } = bestPlacement(field, c.stops, options, typical);
    out.push({
      kind: 'grid',
      id: c.id,
      label: `one sample per ${size}`,
      samples: c.stops,
      cores: options.coresPerStop,
      places: c.stops,
      grid,
      pulled: { kind: 'stops', xy: grid.xy, radiusM: options.stopRadiusM, cores: options.coresPerStop },
      placements: ways,
    });
    if (options.cells !== 'leave out' && c.stops <= MOST_CELLS)
      out.push({
        kind: 'cells',
        id: `cells-${c.nominal}`,
        label: `one mixed sample per cell of ${c.nominal === 1 ? (unit === 'acre' ? 'an acre' : 'a hectare') : size}`,
        samples: c.stops,
        cores: options.coresPerZone,
        places: c.stops * options.coresPerZone,
        grid,
        pulled: {
          kind: 'cells',
          xy: grid.xy,
          coresOf: gridCellCores(field.region, grid.xy, options.coresPerZone),
        },
        placements: [],
      });
  }
  if (options.reuseOldPoints && field.tests)
    out.push(...infillDesigns(field, field.tests.xy, options, typical));
  return out.sort((a, b) => a.samples - b.samples || KIND_ORDER[a.kind] - KIND_ORDER[b.kind]);
}

const KIND_ORDER: Readonly<Record<Candidate['kind'], number>> = {
  whole: 0,
  zones: 1,
  infill: 2,
  cells: 3,
  grid: 4,
};

/** Every division of the field that what is known of it can draw; pieces nobody has drawn where nothing is known. */
export function zoneCandidates(
  field: FieldInput,
  fieldNodes: FlatPositions,
  yieldSurface: Float64Array | undefined,
  options: AdviceOptions,
  tests: readonly TestLayer[],
): readonly ZoneCandidate[] {
  const zone = (map: ZoneMap, id: string, label: string): ZoneCandidate => ({
    kind: 'zones',
    id,
    label,
    samples: map.zones,
    cores: options.coresPerZone,
    places: map.zones * options.coresPerZone,
    map,
  });
  const out: ZoneCandidate[] = [];
  const limits = zoneLimits(field, options);
  const numbers = Array.from({ length: options.maxZones - 1 }, (_, i) => i + 2);
  const clustering = {
    ...limits,
    ...(options.zoneFuzziness > 0 && { fuzziness: options.zoneFuzziness }),
  };
  const bySoil = field.soilUnits.length > 1 ? soilUnitZones(fieldNodes, field.soilUnits) : undefined;
  if (bySoil) out.push(zone(bySoil, 'zones-soil', `${bySoil.zones} zones by soil unit`));
  const elevation = elevationSurface(field, fieldNodes);
  for (const k of numbers) {
    const map = yieldSurface && yieldZones(fieldNodes, yieldSurface, k, limits);
    if (map) out.push(zone(map, `zones-yield-${k}`, `${k} zones by yield`));
  }
  for (const k of numbers) {
    const map = elevation && elevationZones(fieldNodes, elevation, k, limits);
    if (map) out.push(zone(map, `zones-elevation-${k}`, `${k} zones by elevation`));
  }
  const covariates: readonly Covariate[] = [
    ...(yieldSurface ? [{ kind: 'number', name: 'yield', values: yieldSurface } as const] : []),
    ...(elevation ? [{ kind: 'number', name: 'elevation', values: elevation } as const] : []),
    ...(bySoil ? [{ kind: 'class', name: 'soil unit', labels: bySoil.labels } as const] : []),
  ];
  const together = covariates.length > 1 ? standardise(covariates) : undefined;
  const names = listed(covariates.map((c) => c.name));
  for (const k of numbers) {
    const map =
      together &&
      covariateZones(fieldNodes, together, k, { random: seededRandom(options.seed), ...clustering });
    if (map) out.push(zone(map, `zones-both-${k}`, `${k} zones by ${names}`));
  }
  if (covariates.length === 0)
    for (const k of numbers)
      out.push(zone(undrawnZones(fieldNodes, k), `zones-${k}`, `${k} zones you draw yourself`));
  if (tests.length > 0)
    for (const map of testZones(fieldNodes, tests, options.maxZones, {
      random: seededRandom(options.seed),
      ...clustering,
    }))
      out.push(zone(map, `zones-tests-${map.zones}`, `${map.zones} zones by last time’s tests`));
  return out;
}

const listed = (names: readonly string[]): string =>
  names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names[names.length - 1]}`;

/** How small and narrow a patch of a zone may be, as asked or as usual. */
export const zoneLimits = (field: FieldInput, options: AdviceOptions) => ({
  areaHa: areaHa(field.region),
  minWidthM: options.minZoneWidthM || 2 * options.blockM,
  ...(options.minZoneHa > 0 && { minAreaHa: options.minZoneHa }),
});

/** The placement that errs least under the typical member: square or triangular lattice, or spatial coverage. */
function bestPlacement(
  field: FieldInput,
  stops: number,
  options: AdviceOptions,
  { member, ground, shape, sampling }: Typical,
): { readonly grid: GridStops; readonly ways: readonly Placement[] } {
  const { anisotropy } = ground;
  const found = placements(field.region, stops, {
    insetM: options.stopRadiusM,
    ...(anisotropy && { elongation: 1 / anisotropy.ratio, directionDeg: anisotropy.directionDeg }),
  });
  const tried = found
    .map((grid) => {
      const pulled = {
        kind: 'stops',
        xy: grid.xy,
        radiusM: options.stopRadiusM,
        cores: options.coresPerStop,
      } as const;
      const errors = mapErrorsOf(pulled, ground)(shape);
      const noise = noiseRatio(member, sampling(options.coresPerStop));
      return { grid, error: Math.sqrt(errors(noise, 'interpolated').meanSquaredError) };
    })
    .sort((a, b) => a.error - b.error);
  return {
    grid: tried[0].grid,
    ways: tried.map(({ grid, error }) => ({ shape: grid.shape, relativeError: error / tried[0].error })),
  };
}

/** New stops where they lower the mean kriging variance most, last time's points kept. */
function infillDesigns(
  field: FieldInput,
  oldXy: FlatPositions,
  options: AdviceOptions,
  { member, ground, sampling }: Typical,
): readonly MapCandidate[] {
  const old = oldXy.length / 2;
  const counts = [
    ...new Set(INFILL_SHARES.map((s) => Math.min(MOST_INFILL, Math.max(3, Math.round(s * old))))),
  ];
  const own = sampling(options.coresPerStop);
  const cov = {
    ...compositeSamples(member.kind, member.effectiveRangeM, member.sill * (1 - member.nuggetShare), {
      radiusM: options.stopRadiusM,
      cores: options.coresPerStop,
      ...splitNugget(member, own),
    }),
    anisotropy: ground.anisotropy,
  };
  const most = Math.max(...counts);
  const offered = infillCandidates(field.region, 400, options.stopRadiusM);
  return counts
    .filter((count) => count <= offered.length / 2)
    .map((count) => {
      const { xy } = infillStops(oldXy, offered, ground.blocks, count, cov, {
        blockM: options.blockM,
        exchange: count === most || count <= 12,
      });
      return {
        kind: 'infill' as const,
        id: `infill-${count}`,
        label: `${count} new stops beside last time’s ${old}`,
        samples: count,
        cores: options.coresPerStop,
        places: count,
        grid: {
          xy,
          placed: 'coverage' as const,
          shape: 'coverage' as const,
          spacingM: Math.sqrt((areaHa(field.region) * 10_000) / (old + count)),
        },
        pulled: {
          kind: 'stops' as const,
          xy: Float64Array.of(...oldXy, ...xy),
          radiusM: options.stopRadiusM,
          cores: options.coresPerStop,
        },
        placements: [],
      };
    });
}
