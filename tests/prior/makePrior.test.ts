import { describe, expect, it } from 'vitest';
import {
  analytePriors,
  makePrior,
  nuggetSharePrior,
  priorOf,
  questions,
  shifts,
  shiftsFor,
  sillOfCv,
  unknownAnalytePrior,
  type Answers,
  type Normal,
} from '../../src/prior/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

/** 90th percentile of the standard normal (tables). */
const Z90 = 1.28155;
const ends = ({ mean, sd }: Normal) => [mean - Z90 * sd, mean + Z90 * sd] as const;
const logistic = (x: number) => 1 / (1 + Math.exp(-x));
const cvOf = (id: string, answers: Answers) => Math.exp(makePrior(id, 'log', answers).logCv.mean);
const rangeOf = (id: string, answers: Answers) => Math.exp(makePrior(id, 'log', answers).logRangeM.mean);

describe('the prior before any answer', () => {
  // Mulla & McBratney, Handbook of Soil Science (from memory): P CV 39-157 %, range 68-260 m; K CV 39-157 %,
  // range 75-428 m; pH CV 2-15 %, range 20-260 m; organic matter CV 21-41 %, range 112-250 m.
  it.each([
    ['P', 0.39, 1.57, 68, 260],
    ['K', 0.39, 1.57, 75, 428],
    ['pH', 0.02, 0.15, 20, 260],
    ['OM', 0.21, 0.41, 112, 250],
  ])('%s: 10th and 90th percentiles are the published ends', (id, cvLow, cvHigh, rangeLow, rangeHigh) => {
    const prior = makePrior(id, priorOf(id).usualScale, {});
    const [cv, range] = [ends(prior.logCv).map(Math.exp), ends(prior.logRangeM).map(Math.exp)];
    expectRelative(cv[0], cvLow, 1e-4);
    expectRelative(cv[1], cvHigh, 1e-4);
    expectRelative(range[0], rangeLow, 1e-4);
    expectRelative(range[1], rangeHigh, 1e-4);
    expect(prior.restsOn.filter((s) => s.includes('Mulla & McBratney'))).toHaveLength(2);
  });

  it('nugget share and field mean likewise; the mean on the scale asked for', () => {
    const log = makePrior('P', 'log', {});
    const raw = makePrior('P', 'raw', {});
    expectRelative(logistic(ends(log.logitNugget)[0]), nuggetSharePrior.low, 1e-4);
    expectRelative(logistic(ends(log.logitNugget)[1]), nuggetSharePrior.high, 1e-4);
    const { low, high } = analytePriors.P.mean;
    expectRelative(Math.exp(ends(log.mean)[0]), low, 1e-4);
    expectRelative(Math.exp(ends(log.mean)[1]), high, 1e-4);
    expectRelative(ends(raw.mean)[0], low, 1e-4);
    expectRelative(ends(raw.mean)[1], high, 1e-4);
  });

  it('a property the tables do not have gets the wide one', () => {
    const prior = makePrior('Cadmium', 'log', {});
    expectRelative(Math.exp(ends(prior.logCv)[1]), unknownAnalytePrior.cv.high, 1e-4);
    for (const known of Object.values(analytePriors))
      if (known.usualScale === 'log')
        expect(unknownAnalytePrior.cv.high / unknownAnalytePrior.cv.low).toBeGreaterThan(
          known.cv.high / known.cv.low,
        );
  });

  it('laboratory error is a share of the value on the log scale and that share of the level on the raw', () => {
    const share = (analytePriors.P.labSd.low + analytePriors.P.labSd.high) / 2;
    const level = Math.sqrt(analytePriors.P.mean.low * analytePriors.P.mean.high);
    expectRelative(makePrior('P', 'log', {}).labVariance, share ** 2, 1e-12);
    expectRelative(makePrior('P', 'raw', {}).labVariance, (share * level) ** 2, 1e-12);
  });

  it('a sill from a CV: (CV · mean)² raw, ln(1 + CV²) log', () => {
    expectRelative(sillOfCv(0.5, 'raw', 20), 100, 1e-12);
    expectRelative(sillOfCv(0.5, 'log', 20), Math.log(1.25), 1e-12);
  });
});

describe('what the answers do', () => {
  // Directions: the trade's experience; sizes: judgement of this project. Common practice, no source.
  const calmFirst: readonly (readonly [keyof Answers, ...string[]])[] = [
    ['soilUnits', 'one', 'few', 'many'],
    ['slope', 'flat', 'rolling', 'eroded'],
    ['manure', 'never', 'past', 'regular'],
    ['merged', 'no', 'two', 'several'],
    ['fertiliser', 'variable', 'uniform', 'banded'],
    ['yieldSpread', 'even', 'some', 'large'],
  ];
  it.each(calmFirst)('%s: %s varies less than %s, that less than %s', (question, ...answers) => {
    const cvs = answers.map((a) => cvOf('P', { [question]: a } as Answers));
    expect(cvs[0]).toBeLessThan(cvs[1]);
    expect(cvs[1]).toBeLessThan(cvs[2]);
    const unknown = cvOf('P', {});
    expect(cvs[0]).toBeLessThan(unknown);
    expect(cvs[2]).toBeGreaterThan(unknown);
  });

  it('many soils, bands and old yards shorten the range; one soil and merged fields lengthen it', () => {
    const unknown = rangeOf('P', {});
    expect(rangeOf('P', { soilUnits: 'many' })).toBeLessThan(unknown);
    expect(rangeOf('P', { fertiliser: 'banded' })).toBeLessThan(unknown);
    expect(rangeOf('P', { manure: 'past' })).toBeLessThan(unknown);
    expect(rangeOf('P', { soilUnits: 'one' })).toBeGreaterThan(unknown);
    expect(rangeOf('P', { merged: 'two' })).toBeGreaterThan(unknown);
  });

  it('manure and fertiliser leave organic matter and pH’s own pattern where they should', () => {
    expect(cvOf('OM', { manure: 'regular', fertiliser: 'banded' })).toBe(cvOf('OM', {}));
    expect(cvOf('pH', { manure: 'regular' })).toBe(cvOf('pH', {}));
    expect(cvOf('pH', { merged: 'several' })).toBeGreaterThan(cvOf('pH', {}));
  });

  it('several answers multiply, and each that moved something is said with its source', () => {
    const answers: Answers = { soilUnits: 'many', slope: 'eroded', manure: 'past' };
    const applied = shiftsFor('P', answers);
    expect(applied).toHaveLength(3);
    expectRelative(
      cvOf('P', answers) / cvOf('P', {}),
      applied.reduce((f, s) => f * s.cvFactor, 1),
      1e-12,
    );
    const said = makePrior('P', 'log', answers).restsOn;
    for (const s of applied) expect(said.some((line) => line.includes(s.because))).toBe(true);
    expect(said.every((line) => line.length > 20)).toBe(true);
  });

  it('the last test’s word moves the level of its own property only', () => {
    const level = (id: string, answers: Answers) => makePrior(id, 'log', answers).mean.mean;
    for (const [id, question] of [
      ['P', 'phosphorus'],
      ['K', 'potassium'],
    ] as const) {
      const low = level(id, { [question]: 'low' } as Answers);
      const right = level(id, { [question]: 'right' } as Answers);
      const high = level(id, { [question]: 'high' } as Answers);
      expect(low).toBeLessThan(right);
      expect(right).toBeLessThan(high);
    }
    expect(level('K', { phosphorus: 'high' })).toBe(level('K', {}));
  });

  // Tri-State, Bulletin 974 (2020): optimal ranges P 20-40 and K 120-170 ppm Mehlich-3.
  it('“about right” covers the bulletin’s optimal range', () => {
    const [pLow, pHigh] = ends(makePrior('P', 'raw', { phosphorus: 'right' }).mean);
    const [kLow, kHigh] = ends(makePrior('K', 'raw', { potassium: 'right' }).mean);
    for (const [actual, published] of [
      [pLow, 20],
      [pHigh, 40],
      [kLow, 120],
      [kHigh, 170],
    ])
      expectRelative(actual, published, 0.11);
  });

  it('every shift answers a question that is asked, with a choice that is offered', () => {
    expect(shifts.length).toBeGreaterThan(10);
    for (const s of shifts) {
      const question = questions.find((q) => q.id === s.question);
      expect(question?.choices?.map((c) => c.value)).toContain(s.answer);
      expect(s.source.length).toBeGreaterThan(0);
    }
  });
});

describe('a range seen in another layer', () => {
  const published = makePrior('P', 'log', {}).logRangeM;
  const hint = { effectiveRangeM: 500, logSd: 0.7, from: 'a layer' };

  it('draws the range towards it by the precision-weighted mean', () => {
    const drawn = makePrior('P', 'log', {}, [hint]).logRangeM;
    expect(drawn.mean).toBeGreaterThan(published.mean);
    expect(drawn.mean).toBeLessThan(Math.log(500));
    const [a, b] = [1 / published.sd ** 2, 1 / 0.7 ** 2];
    expectWithin(drawn.mean, (a * published.mean + b * Math.log(500)) / (a + b), 1e-12);
    expectWithin(drawn.sd, 1 / Math.sqrt(a + b), 1e-12);
    expect(makePrior('P', 'log', {}, [{ ...hint, effectiveRangeM: 40 }]).logRangeM.mean).toBeLessThan(
      published.mean,
    );
  });

  it('a vaguer layer draws less, a second one more, in either order', () => {
    const one = makePrior('P', 'log', {}, [hint]).logRangeM;
    expect(makePrior('P', 'log', {}, [{ ...hint, logSd: 1.5 }]).logRangeM.mean).toBeLessThan(one.mean);
    const other = { ...hint, effectiveRangeM: 300 };
    const both = makePrior('P', 'log', {}, [hint, other]).logRangeM;
    const turned = makePrior('P', 'log', {}, [other, hint]).logRangeM;
    expect(both.sd).toBeLessThan(one.sd);
    expectWithin(both.mean, turned.mean, 1e-12);
  });

  it('says where it was seen', () => {
    expect(makePrior('P', 'log', {}, [hint]).restsOn.at(-1)).toContain('a layer');
  });
});
