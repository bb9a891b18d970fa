/**
 * What is known of each property before a field is seen: numbers from the literature, as data.
 * `low` and `high` are taken as the 10th and 90th percentiles of a lognormal (pH means: normal) distribution.
 */
import type { Scale } from '../describe/index.ts';

export interface Spread {
  readonly low: number;
  readonly high: number;
  readonly source: string;
}

export interface AnalytePrior {
  readonly usualScale: Scale;
  /** Coefficient of variation within a field, a fraction. */
  readonly cv: Spread;
  /** Effective range, m. */
  readonly rangeM: Spread;
  /** Field mean, in the catalogue's unit. */
  readonly mean: Spread;
  /** Repeatability of bag and laboratory: a fraction of the value on the log scale, in the unit itself on the raw scale. */
  readonly labSd: Spread;
}

const judgement = 'judgement of this project';
const handbook =
  'Mulla & McBratney, Soil spatial variability, Handbook of Soil Science (published ranges; from memory)';
/** Within one mapping unit; a field with several soils varies more. */
const moderateClass = `Wilding 1985, moderately variable properties 15-35 % within a mapping unit (from memory), carried to whole fields: ${judgement}`;
const highClass = `Wilding & Drees 1983, exchangeable bases among the most variable, above 35 % within a mapping unit (from memory), lower end for even fields: ${judgement}`;
const isoPh = `ISO 10390, repeatability limit of 0.15 up to pH 7, over 2.8 (from memory), and the bag: ${judgement}`;

const judged = (low: number, high: number): Spread => ({ low, high, source: judgement });
const from = (source: string, low: number, high: number): Spread => ({ low, high, source });

/**
 * One row for each analyte of the catalogue that is studied (`read/analyteCatalogue.ts`). Levels and repeatability of trace
 * elements are as DTPA, Mehlich-3 or hot water give them, wide enough for all: judgement of this project.
 */
export const analytePriors: Readonly<Record<string, AnalytePrior>> = {
  P: {
    usualScale: 'log',
    cv: from(handbook, 0.39, 1.57),
    rangeM: from(handbook, 68, 260),
    mean: judged(12, 60),
    labSd: judged(0.05, 0.1),
  },
  K: {
    usualScale: 'log',
    cv: from(handbook, 0.39, 1.57),
    rangeM: from(handbook, 75, 428),
    mean: judged(90, 260),
    labSd: judged(0.04, 0.08),
  },
  pH: {
    usualScale: 'raw',
    cv: from(handbook, 0.02, 0.15),
    rangeM: from(handbook, 20, 260),
    mean: judged(5.6, 7.4),
    labSd: from(isoPh, 0.05, 0.1),
  },
  bufferPH: {
    usualScale: 'raw',
    cv: judged(0.01, 0.05),
    rangeM: from(`${handbook}; as for pH`, 20, 260),
    mean: judged(6.4, 7),
    labSd: judged(0.03, 0.06),
  },
  OM: {
    usualScale: 'raw',
    cv: from(handbook, 0.21, 0.41),
    rangeM: from(handbook, 112, 250),
    mean: judged(1.8, 5),
    labSd: judged(0.1, 0.2),
  },
  CEC: {
    usualScale: 'raw',
    cv: from(moderateClass, 0.15, 0.45),
    rangeM: judged(80, 350),
    mean: judged(8, 25),
    labSd: judged(0.4, 0.9),
  },
  Ca: {
    usualScale: 'log',
    cv: from(highClass, 0.15, 0.6),
    rangeM: judged(80, 350),
    mean: judged(800, 3500),
    labSd: judged(0.03, 0.07),
  },
  Mg: {
    usualScale: 'log',
    cv: from(highClass, 0.2, 0.7),
    rangeM: judged(80, 350),
    mean: judged(100, 500),
    labSd: judged(0.03, 0.07),
  },
  S: {
    usualScale: 'log',
    cv: judged(0.2, 0.8),
    rangeM: judged(40, 250),
    mean: judged(5, 20),
    labSd: judged(0.08, 0.2),
  },
  Zn: {
    usualScale: 'log',
    cv: judged(0.3, 1.1),
    rangeM: judged(50, 300),
    mean: judged(0.5, 5),
    labSd: judged(0.06, 0.15),
  },
  nitrate: {
    usualScale: 'log',
    cv: from(handbook, 0.28, 0.58),
    rangeM: from(handbook, 40, 275),
    mean: judged(3, 25),
    labSd: judged(0.06, 0.15),
  },
  Mn: {
    usualScale: 'log',
    cv: judged(0.25, 0.8),
    rangeM: judged(60, 300),
    mean: judged(5, 100),
    labSd: judged(0.05, 0.12),
  },
  Cu: {
    usualScale: 'log',
    cv: judged(0.2, 0.75),
    rangeM: judged(60, 300),
    mean: judged(0.5, 5),
    labSd: judged(0.05, 0.12),
  },
  Fe: {
    usualScale: 'log',
    cv: judged(0.2, 0.7),
    rangeM: judged(60, 300),
    mean: judged(15, 200),
    labSd: judged(0.05, 0.12),
  },
  B: {
    usualScale: 'log',
    cv: judged(0.2, 0.7),
    rangeM: judged(60, 300),
    mean: judged(0.3, 1.5),
    labSd: judged(0.08, 0.2),
  },
  Na: {
    usualScale: 'log',
    cv: judged(0.25, 1.2),
    rangeM: judged(50, 300),
    mean: judged(8, 80),
    labSd: judged(0.06, 0.15),
  },
  EC: {
    usualScale: 'log',
    cv: from(
      `${handbook} has 91-263 % where salts leach; taken down for farmland that is not saline: ${judgement}`,
      0.25,
      1.2,
    ),
    rangeM: judged(50, 300),
    mean: judged(0.15, 1),
    labSd: judged(0.04, 0.1),
  },
  clay: {
    usualScale: 'raw',
    cv: from(handbook, 0.16, 0.53),
    rangeM: judged(80, 400),
    mean: judged(12, 40),
    labSd: judged(1, 2),
  },
};

/** For a property the tables don't have: wide on purpose. */
export const unknownAnalytePrior: AnalytePrior = {
  usualScale: 'log',
  cv: judged(0.15, 1.1),
  rangeM: judged(40, 400),
  mean: judged(0.5, 500),
  labSd: judged(0.04, 0.1),
};

/**
 * Nugget share of the sill of composited samples: moderate to strong dependence in the classes of
 * Cambardella et al. 1994 is the usual finding; the spread is a judgement of this project.
 */
export const nuggetSharePrior: Spread = {
  low: 0.08,
  high: 0.65,
  source: `Cambardella et al. 1994 classes; ${judgement}`,
};

export function priorOf(analyteId: string): AnalytePrior {
  return analytePriors[analyteId] ?? unknownAnalytePrior;
}
