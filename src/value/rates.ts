/**
 * Rate equations as data, in the units of their source; `rateEquationOf` converts once.
 * For comparing sampling designs only: never a prescription. Local extension guidance decides rates.
 */
export type Crop = 'corn-soybean' | 'wheat' | 'alfalfa';

export interface RateRow {
  readonly analyte: 'P' | 'K';
  readonly nutrient: 'P2O5' | 'K2O';
  readonly region: string;
  /** Extractants the limits hold for; a test that names another has no equation here. */
  readonly extractants: readonly string[];
  /** Crops the limits hold for. */
  readonly crops: readonly Crop[];
  /** ppm below which the test is built up. */
  readonly criticalPpm: number;
  /** ppm above which nothing is recommended. */
  readonly maintenanceLimitPpm: number;
  /** lb of nutrient per acre that lifts the test by 1 ppm. */
  readonly lbPerPpm: number;
  readonly buildupYears: number;
  readonly source: string;
}

/** CEC that potassium's equation is taken at, meq/100 g. Judgement of this project. */
export const ASSUMED_CEC = 15;

const bulletin974 = 'Tri-State Fertilizer Recommendations, Bulletin 974 (Culman et al. 2020)';

const tristate = 'Indiana, Michigan, Ohio';
const perPpm = '20 lb P2O5 per ppm from E-2567 (1995)';

/** Phosphorus limits in ppm by extractant and crop; buildup over four years. */
const phosphorus = (
  extractant: string,
  crops: readonly Crop[],
  criticalPpm: number,
  maintenanceLimitPpm: number,
  source: string,
): RateRow => ({
  analyte: 'P',
  nutrient: 'P2O5',
  region: tristate,
  extractants: [extractant],
  crops,
  criticalPpm,
  maintenanceLimitPpm,
  lbPerPpm: 20,
  buildupYears: 4,
  source: `${source}; ${perPpm}`,
});

const e2567 = 'Tri-State E-2567 (Vitosh, Johnson & Mengel 1995): Bray-P1';

/** The first row that fits is used; a test that names no extractant takes the first of its analyte. */
export const rateRows: readonly RateRow[] = [
  phosphorus('Mehlich-3', ['corn-soybean'], 20, 40, `${bulletin974}: P range 20-40 ppm Mehlich-3`),
  phosphorus(
    'Mehlich-3',
    ['wheat', 'alfalfa'],
    30,
    50,
    `${bulletin974}: P range 30-50 ppm Mehlich-3, from memory`,
  ),
  phosphorus(
    'Bray-P1',
    ['corn-soybean'],
    15,
    30,
    `${e2567} critical level 15 ppm; limit 15 ppm above it, from memory`,
  ),
  phosphorus(
    'Bray-P1',
    ['wheat', 'alfalfa'],
    25,
    40,
    `${e2567} critical level 25 ppm; limit 15 ppm above it, from memory`,
  ),
  {
    analyte: 'K',
    nutrient: 'K2O',
    region: tristate,
    extractants: ['Mehlich-3', 'ammonium acetate'],
    crops: ['corn-soybean', 'wheat', 'alfalfa'],
    criticalPpm: 120,
    maintenanceLimitPpm: 170,
    // (1 + 0.05 CEC) per ppm and year, over four years.
    lbPerPpm: 4 * (1 + 0.05 * ASSUMED_CEC),
    buildupYears: 4,
    source: `${bulletin974}: K range 120-170 ppm above a CEC of 5; (1 + 0.05 CEC) lb K2O per ppm and year from E-2567 (1995), at a CEC of ${ASSUMED_CEC}`,
  },
];

/** A rotation's yearly removal, worth and name; removal from Bulletin 974 (2020), from memory; prices a judgement. */
export interface CropRow {
  readonly removalLbPerAc: Readonly<Record<'P2O5' | 'K2O', number>>;
  /** Gross worth of a full crop, USD per acre and year. */
  readonly worthPerAc: number;
  readonly name: string;
  readonly source: string;
}

export const cropRows: Readonly<Record<Crop, CropRow>> = {
  'corn-soybean': {
    // 180 bu corn at 0.35 and 0.20 lb/bu, 55 bu soybean at 0.80 and 1.15 lb/bu, year about.
    removalLbPerAc: { P2O5: (180 * 0.35 + 55 * 0.8) / 2, K2O: (180 * 0.2 + 55 * 1.15) / 2 },
    worthPerAc: (180 * 4.5 + 55 * 11) / 2,
    name: 'corn and soybean',
    source: 'removal: Bulletin 974 (2020), from memory; yields and prices: judgement of this project',
  },
  wheat: {
    removalLbPerAc: { P2O5: 80 * 0.5, K2O: 80 * 0.25 },
    worthPerAc: 80 * 6,
    name: 'wheat',
    source: 'removal: Bulletin 974 (2020), from memory; yields and prices: judgement of this project',
  },
  alfalfa: {
    removalLbPerAc: { P2O5: 6 * 12, K2O: 6 * 49 },
    worthPerAc: 6 * 180,
    name: 'alfalfa',
    source: 'removal: Bulletin 974 (2020), from memory; yields and prices: judgement of this project',
  },
};

/** USD per lb of nutrient. Judgement of this project. */
export const nutrientPricePerLb: Readonly<Record<'P2O5' | 'K2O', number>> = { P2O5: 0.6, K2O: 0.42 };

/** Share of an over-application that is not lost, since it lifts the test for later years. Judgement of this project. */
export const RESIDUAL_SHARE = 0.5;

/** Relative yield at the critical level, unfertilised (E-2567 1995 sets it at 95 to 97 % of the most; from memory). */
export const RELATIVE_YIELD_AT_CRITICAL = 0.97;

/** Above this the tri-state area sees a risk to water (Ohio State, agbmps: the 50 ppm Bray-P1 region and above). */
export const PHOSPHORUS_CAUTION_PPM = 50;
