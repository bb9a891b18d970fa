import type { DriftModel } from './drift.ts';

export interface DriftRow extends DriftModel {
  /** Catalogue ids it serves. */
  readonly analytes: readonly string[];
  readonly source: string;
}

const removal =
  'use from year to year 25 % (yield and the content of the crop), between parts of a field 15 %: judgement of this project';

/**
 * How tests stray between samplings, per property. Repeated tests of one place differ by much more than `wanderSd`; most of that
 * is sampling, season and moisture and belongs to the error of a sample, not to what happens after it.
 */
export const driftRows: readonly DriftRow[] = [
  {
    analytes: ['P'],
    wanderSd: 0.08,
    wanderIn: 'share',
    buildupCv: 0.4,
    keepingYearlyCv: 0.25,
    keepingLastingCv: 0.15,
    source: `buildup: guidance tables and trials give some 10 to 40 lb P2O5 an acre for 1 ppm, from memory, read as a CV of 40 %; wandering 8 % a year: judgement of this project; ${removal}`,
  },
  {
    analytes: ['K'],
    wanderSd: 0.1,
    wanderIn: 'share',
    buildupCv: 0.5,
    keepingYearlyCv: 0.25,
    keepingLastingCv: 0.15,
    source: `buildup: fixing and releasing clays and straw left or taken make potassium's answer vaguer than phosphorus's, CV 50 %; wandering 10 % a year: judgement of this project; ${removal}`,
  },
  {
    analytes: ['pH'],
    wanderSd: 0.1,
    wanderIn: 'unit',
    buildupCv: 0.3,
    keepingYearlyCv: 0.25,
    keepingLastingCv: 0.15,
    source:
      'lime: fineness, depth of mixing and buffering let the rise differ by a CV of 30 % from that reckoned; wandering 0.1 pH a year; acidification 25 % from year to year, 15 % between parts of a field: judgement of this project',
  },
  {
    analytes: ['bufferPH'],
    // One unit of pH is about a third of a unit of buffer pH, by the lime that each asks for.
    wanderSd: 0.035,
    wanderIn: 'unit',
    buildupCv: 0.3,
    keepingYearlyCv: 0.25,
    keepingLastingCv: 0.15,
    source:
      'as for pH, in units of the buffer: the tri-state lime equations ask about three times the lime for a unit of buffer pH: judgement of this project',
  },
  {
    analytes: ['Zn'],
    wanderSd: 0.12,
    wanderIn: 'share',
    buildupCv: 0.5,
    keepingYearlyCv: 0.25,
    keepingLastingCv: 0.15,
    source:
      'buildup: small rates spread unevenly, CV 50 %; wandering 12 % a year; use as for phosphorus: judgement of this project',
  },
];

/** The defaults of a property; undefined where none are held. */
export function driftModelOf(analyte: string): DriftRow | undefined {
  return driftRows.find((r) => r.analytes.includes(analyte));
}

/** Longest time between samplings that guidance allows: Bulletin 974 (Culman et al. 2020) asks for a test at least every four years. */
export const GUIDANCE_LONGEST_YEARS = 4;
