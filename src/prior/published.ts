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

const handbook =
  'Mulla & McBratney, Soil spatial variability, Handbook of Soil Science (published ranges; from memory)';
const judgement = 'judgement of this project';

const lab = (low: number, high: number): Spread => ({ low, high, source: judgement });

export const analytePriors: Readonly<Record<string, AnalytePrior>> = {
  P: {
    usualScale: 'log',
    cv: { low: 0.39, high: 1.57, source: handbook },
    rangeM: { low: 68, high: 260, source: handbook },
    mean: { low: 12, high: 60, source: judgement },
    labSd: lab(0.05, 0.1),
  },
  K: {
    usualScale: 'log',
    cv: { low: 0.39, high: 1.57, source: handbook },
    rangeM: { low: 75, high: 428, source: handbook },
    mean: { low: 90, high: 260, source: judgement },
    labSd: lab(0.04, 0.08),
  },
  pH: {
    usualScale: 'raw',
    cv: { low: 0.02, high: 0.15, source: handbook },
    rangeM: { low: 20, high: 260, source: handbook },
    mean: { low: 5.6, high: 7.4, source: judgement },
    labSd: lab(0.05, 0.1),
  },
  bufferPH: {
    usualScale: 'raw',
    cv: { low: 0.01, high: 0.05, source: judgement },
    rangeM: { low: 20, high: 260, source: `${handbook}; as for pH` },
    mean: { low: 6.4, high: 7, source: judgement },
    labSd: lab(0.03, 0.06),
  },
  OM: {
    usualScale: 'raw',
    cv: { low: 0.21, high: 0.41, source: handbook },
    rangeM: { low: 112, high: 250, source: handbook },
    mean: { low: 1.8, high: 5, source: judgement },
    labSd: lab(0.1, 0.2),
  },
  CEC: {
    usualScale: 'raw',
    cv: { low: 0.15, high: 0.45, source: judgement },
    rangeM: { low: 80, high: 350, source: judgement },
    mean: { low: 8, high: 25, source: judgement },
    labSd: lab(0.4, 0.9),
  },
};

/** For a property the tables don't have: wide on purpose. */
export const unknownAnalytePrior: AnalytePrior = {
  usualScale: 'log',
  cv: { low: 0.15, high: 1.1, source: judgement },
  rangeM: { low: 40, high: 400, source: judgement },
  mean: { low: 0.5, high: 500, source: judgement },
  labSd: lab(0.04, 0.1),
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
