import { describe, expect, it } from 'vitest';
import { moments } from '../../src/describe/index.ts';
import {
  analytePriors,
  levelMeans,
  nuggetSharePrior,
  priorOf,
  questions,
  shifts,
  unknownAnalytePrior,
  type Spread,
} from '../../src/prior/index.ts';
import { analyteCatalogue } from '../../src/read/analyteCatalogue.ts';
import { recogniseAnalyte } from '../../src/read/recogniseAnalyte.ts';
import { oxfordValues } from '../reference/reference.ts';

const own = 'judgement of this project';
/** A citation has a year, or is the handbook; what has none must own up. */
const sourced = (source: string) => /\b(19|20)\d\d\b|Handbook|ISO \d+/.test(source) || source.includes(own);

describe('what is known of each property', () => {
  const rows = [...Object.entries(analytePriors), ['any other', unknownAnalytePrior] as const];

  it('every analyte of the catalogue has its own prior, and every prior an analyte', () => {
    const ids = analyteCatalogue.map((a) => a.id);
    for (const id of ids) expect(priorOf(id), id).not.toBe(unknownAnalytePrior);
    expect(Object.keys(analytePriors).filter((id) => !ids.includes(id))).toEqual([]);
    expect(priorOf('molybdenum')).toBe(unknownAnalytePrior);
  });

  it.each(rows)('%s: every spread has low below high, above 0, and a source', (id, prior) => {
    const { cv, rangeM, mean, labSd } = prior;
    for (const spread of [cv, rangeM, mean, labSd]) {
      expect(spread.low).toBeGreaterThan(0);
      expect(spread.high).toBeGreaterThan(spread.low);
      expect(sourced(spread.source), `${id}: ${spread.source}`).toBe(true);
    }
  });

  it('means are values the catalogue takes for real, in its unit', () => {
    for (const { id, plausible } of analyteCatalogue) {
      const { low, high } = priorOf(id).mean;
      expect(low, id).toBeGreaterThanOrEqual(plausible[0]);
      expect(high, id).toBeLessThanOrEqual(plausible[1]);
    }
  });

  it('laboratory error is a small part of the field’s own spread', () => {
    for (const { id } of analyteCatalogue) {
      const { usualScale, cv, mean, labSd } = priorOf(id);
      const level = Math.sqrt(mean.low * mean.high);
      const lab = (labSd.low + labSd.high) / 2 / (usualScale === 'log' ? 1 : level);
      // At the middle of the spread, less than half the standard deviation: a quarter of the variance.
      expect(lab / Math.sqrt(cv.low * cv.high), id).toBeLessThan(0.5);
    }
  });

  const inside = (value: number, { low, high }: Spread, slack = 1) =>
    value >= low / slack && value <= high * slack;

  // Ramzan, Wani & Bhat 2017: P CV 57 %, pH CV 7 % (from memory).
  // Wilding 1985: pH among the least variable, below 15 %; CEC and clay moderate, 15-35 % (from memory).
  it.each([
    ['P', 0.57],
    ['pH', 0.07],
    ['pH', 0.149],
    ['CEC', 0.16],
    ['CEC', 0.35],
    ['clay', 0.17],
    ['clay', 0.35],
  ])('published: %s with a CV of %d lies inside', (id, cv) => {
    expect(inside(cv, priorOf(id).cv)).toBe(true);
  });

  // Burrough & McDonnell 1998, oxford data: 2 km of several soils, wider than one field, so a tenth beyond is let pass.
  it.each([
    ['P', 'PHOS1'],
    ['K', 'POT1'],
    ['pH', 'PH1'],
    ['Mg', 'MG1'],
    ['OM', 'OM1'],
    ['CEC', 'CEC1'],
    ['clay', 'PCLAY1'],
  ])('oxford: the CV of %s lies inside', (id, column) => {
    const { mean, sd } = moments([...oxfordValues(column)]);
    expect(inside(sd / mean, priorOf(id).cv, 1.1)).toBe(true);
  });

  it('the order is the published one: pH varies least, then clay and CEC, then the nutrients', () => {
    const middle = (id: string) => Math.sqrt(priorOf(id).cv.low * priorOf(id).cv.high);
    expect(middle('pH')).toBeLessThan(middle('CEC'));
    for (const id of ['P', 'K', 'Zn', 'nitrate', 'Mg']) expect(middle('CEC')).toBeLessThan(middle(id));
  });

  it('the unknown one is wider than any known', () => {
    const width = ({ low, high }: Spread) => high / low;
    for (const [id, prior] of Object.entries(analytePriors)) {
      if (prior.usualScale === 'log')
        expect(width(unknownAnalytePrior.cv), id).toBeGreaterThan(width(prior.cv));
      expect(unknownAnalytePrior.mean.low, id).toBeLessThanOrEqual(Math.max(0.5, prior.mean.low));
    }
  });

  it('nugget share: Cambardella’s moderate class, 25-75 %, lies mostly inside', () => {
    expect(sourced(nuggetSharePrior.source)).toBe(true);
    expect(inside(0.25, nuggetSharePrior)).toBe(true);
    expect(inside(0.5, nuggetSharePrior)).toBe(true);
    expect(nuggetSharePrior.high).toBeLessThan(1);
  });
});

describe('the questionnaire’s shifts', () => {
  it('each has a source or owns up, and says why', () => {
    for (const s of shifts) {
      expect(sourced(s.source), s.source).toBe(true);
      // No source gives a size, so every one owns up to that.
      expect(s.source).toContain(own);
      expect(s.because.length).toBeGreaterThan(10);
      expect(s.cvFactor).toBeGreaterThan(0.5);
      expect(s.cvFactor).toBeLessThan(2);
      expect(s.rangeFactor).toBeGreaterThan(0.5);
      expect(s.rangeFactor).toBeLessThan(2);
    }
  });

  it('each choice of a question that shifts at all has one shift, for analytes that exist', () => {
    const ids = analyteCatalogue.map((a) => a.id);
    for (const question of questions.filter((q) => shifts.some((s) => s.question === q.id)))
      for (const { value } of question.choices!.filter((c) => c.value !== 'unknown'))
        expect(
          shifts.filter((s) => s.question === question.id && s.answer === value),
          `${question.id} ${value}`,
        ).toHaveLength(1);
    for (const s of shifts) for (const id of s.analytes) expect(ids).toContain(id);
  });

  it('levels by word rise and have a source', () => {
    for (const levels of Object.values(levelMeans)) {
      for (const spread of Object.values(levels)) {
        expect(spread.low).toBeLessThan(spread.high);
        expect(sourced(spread.source)).toBe(true);
      }
      expect(levels.low.high).toBeLessThan(levels.right.high);
      expect(levels.right.high).toBeLessThan(levels.high.high);
    }
  });
});

describe('soluble salts in a header', () => {
  it.each(['Soluble Salts', '1:1 Soluble Salts (mmho/cm)', 'EC (dS/m)', 'EC mmhos/cm', 'EC (mS/cm)'])(
    '%s: in dS/m, as it stands',
    (header) => {
      expect(recogniseAnalyte(header)).toMatchObject({ kind: 'analyte', id: 'EC', unit: 'dS/m', factor: 1 });
    },
  );

  it('a sensor’s conductivity, mS/m or without a unit, is not taken for dS/m', () => {
    expect(recogniseAnalyte('ECa (mS/m)').kind).toBe('ignored');
    expect(recogniseAnalyte('EC (mS/m)')).not.toMatchObject({ unit: 'dS/m' });
    expect(recogniseAnalyte('EC')).toMatchObject({ unit: '', factor: 1 });
  });
});
