import type { Answers } from '../src/prior/index.ts';

/**
 * The invented farm's ground: Sallow Farm, which does not exist, laid in the open ocean so that no one's land is shown.
 * Each property of each field is a Gaussian field (of the logarithm where `scale` is log) with the variogram below;
 * `make.ts` draws one realisation with the seed and "samples" it.
 */
export interface PropertyTruth {
  readonly column: string;
  readonly id: string;
  readonly scale: 'raw' | 'log';
  /** Mean (median on the log scale) in the column's unit; one per soil unit where the field has several. */
  readonly middle: number | readonly number[];
  /** Coefficient of variation about the middle, nugget included. */
  readonly cv: number;
  readonly kind: 'spherical' | 'exponential';
  readonly effectiveRangeM: number;
  readonly nuggetShare: number;
  readonly digits: number;
}

export interface FieldTruth {
  readonly folder: string;
  readonly name: string;
  readonly blurb: string;
  readonly seed: number;
  /** Outline in metres about the field's middle; further rings are holes. */
  readonly rings: readonly (readonly (readonly [number, number])[])[];
  /** Soil units as bands of northing: upper limits in metres, south to north. */
  readonly benches?: readonly { readonly label: string; readonly upToM: number }[];
  /** Last year's grid: one sample per so many hectares, and pairs 25 m apart added to some of them. */
  readonly haPerSample: number;
  readonly pairs: number;
  readonly properties: readonly PropertyTruth[];
  readonly yields?: boolean;
  /** Year of its test points. */
  readonly lastSampled: number;
}

const property = (
  column: string,
  id: string,
  scale: PropertyTruth['scale'],
  middle: PropertyTruth['middle'],
  cv: number,
  effectiveRangeM: number,
  nuggetShare: number,
  digits: number,
): PropertyTruth => ({
  column,
  id,
  scale,
  middle,
  cv,
  kind: 'spherical',
  effectiveRangeM,
  nuggetShare,
  digits,
});

const rectangle = (w: number, h: number): readonly (readonly [number, number])[] => [
  [-w / 2, -h / 2],
  [w / 2, -h / 2],
  [w / 2, h / 2],
  [-w / 2, h / 2],
  [-w / 2, -h / 2],
];

/** Middle of the farm, in the open ocean. */
export const FARM_LON_LAT: readonly [number, number] = [-38.5, 41.2];

export const farm: readonly FieldTruth[] = [
  {
    folder: 'kettle-flat',
    name: 'Kettle Flat',
    blurb: 'Even ground: it hardly varies, so more samples would tell little.',
    lastSampled: 2024,
    seed: 11,
    rings: [rectangle(760, 540)],
    haPerSample: 0.7,
    pairs: 12,
    properties: [
      property('P Mehlich-3 (ppm)', 'P', 'log', 31, 0.1, 220, 0.45, 1),
      property('K (ppm)', 'K', 'log', 146, 0.08, 240, 0.45, 0),
      property('pH', 'pH', 'raw', 6.5, 0.025, 200, 0.3, 2),
      property('OM %', 'OM', 'raw', 3.2, 0.1, 220, 0.3, 2),
    ],
  },
  {
    folder: 'long-reach',
    name: 'Long Reach',
    blurb: 'Varies strongly but gradually, over hundreds of metres: a grid maps it well.',
    lastSampled: 2021,
    seed: 23,
    rings: [
      [
        [-470, -300],
        [420, -330],
        [480, 60],
        [380, 310],
        [-300, 290],
        [-480, 120],
        [-470, -300],
      ],
      [
        [60, -60],
        [60, 30],
        [150, 30],
        [150, -60],
        [60, -60],
      ],
    ],
    haPerSample: 0.8,
    pairs: 12,
    properties: [
      property('P Mehlich-3 (ppm)', 'P', 'log', 19, 0.6, 380, 0.12, 1),
      property('K (ppm)', 'K', 'log', 118, 0.4, 340, 0.12, 0),
      property('pH', 'pH', 'raw', 6.3, 0.08, 320, 0.12, 2),
      property('OM %', 'OM', 'raw', 2.9, 0.28, 300, 0.15, 2),
    ],
  },
  {
    folder: 'patchwork',
    name: 'Patchwork',
    blurb: 'Erratic over a few dozen steps: no affordable grid can map it.',
    lastSampled: 2022,
    seed: 37,
    rings: [rectangle(620, 500)],
    haPerSample: 0.5,
    pairs: 24,
    properties: [
      property('P Mehlich-3 (ppm)', 'P', 'log', 24, 0.55, 50, 0.4, 1),
      property('K (ppm)', 'K', 'log', 132, 0.4, 55, 0.4, 0),
      property('pH', 'pH', 'raw', 6.6, 0.06, 50, 0.35, 2),
      property('OM %', 'OM', 'raw', 3.4, 0.25, 60, 0.35, 2),
    ],
  },
  {
    folder: 'three-benches',
    name: 'Three Benches',
    blurb: 'Three soils lie in three clear bands: a sample for each is nearly the whole story.',
    lastSampled: 2023,
    seed: 41,
    rings: [rectangle(700, 560)],
    benches: [
      { label: 'Lower bench silt loam', upToM: -90 },
      { label: 'Middle bench loam', upToM: 100 },
      { label: 'Upper bench sandy loam', upToM: 1000 },
    ],
    haPerSample: 0.7,
    pairs: 10,
    yields: true,
    properties: [
      property('P Mehlich-3 (ppm)', 'P', 'log', [38, 21, 10], 0.1, 120, 0.4, 1),
      property('K (ppm)', 'K', 'log', [185, 128, 88], 0.08, 120, 0.4, 0),
      property('pH', 'pH', 'raw', [6.8, 6.4, 5.9], 0.02, 120, 0.4, 2),
      property('OM %', 'OM', 'raw', [4.2, 3.1, 1.9], 0.08, 120, 0.4, 2),
    ],
  },
];

/** A field known by its area and answers alone: no test points, no outline. */
export interface UnmappedField {
  readonly name: string;
  readonly acres: number;
  readonly lastSampled?: number;
  readonly answers: Omit<Answers, 'areaHa' | 'labPrice' | 'budget'>;
}

export const unmapped: readonly UnmappedField[] = [
  {
    name: 'Home Place',
    acres: 74,
    answers: {
      soilUnits: 'few',
      slope: 'rolling',
      manure: 'regular',
      merged: 'several',
      crop: 'corn-soybean',
    },
  },
  {
    name: 'Far Eighty',
    acres: 80,
    answers: { soilUnits: 'few', slope: 'flat', manure: 'never', merged: 'no', phosphorus: 'low' },
  },
  {
    name: 'Quarter Section',
    acres: 156,
    answers: { soilUnits: 'many', slope: 'rolling', merged: 'two', yieldSpread: 'large', phosphorus: 'low' },
  },
  {
    name: 'Creek Bottom',
    acres: 38,
    answers: { soilUnits: 'few', slope: 'flat', manure: 'past', yieldSpread: 'some' },
  },
  { name: 'Knoll Field', acres: 62, answers: { soilUnits: 'many', slope: 'eroded', yieldSpread: 'large' } },
  {
    name: 'Lane Strip',
    acres: 14,
    answers: { soilUnits: 'one', slope: 'flat', manure: 'never', merged: 'no', yieldSpread: 'even' },
  },
  {
    name: 'Old Yard',
    acres: 22,
    lastSampled: 2019,
    answers: { manure: 'past', merged: 'two', phosphorus: 'high', potassium: 'high' },
  },
  { name: 'North Forty', acres: 40, lastSampled: 2024, answers: { soilUnits: 'few', slope: 'rolling' } },
  { name: 'South Forty', acres: 40, lastSampled: 2020, answers: { soilUnits: 'few', slope: 'rolling' } },
  {
    name: 'Clover Piece',
    acres: 55,
    answers: { soilUnits: 'few', fertiliser: 'little', potassium: 'low', crop: 'alfalfa' },
  },
  {
    name: 'Windbreak',
    acres: 96,
    lastSampled: 2022,
    answers: {
      soilUnits: 'few',
      fertiliser: 'banded',
      phosphorus: 'right',
      potassium: 'right',
      crop: 'wheat',
    },
  },
  { name: 'Unknown Ground', acres: 118, answers: {} },
];
