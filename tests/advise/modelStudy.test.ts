import { describe, expect, it } from 'vitest';
import { adviceOptionsSchema, prepareField, studyModels, type FieldInput } from '../../src/advise/index.ts';
import reference from '../reference/oxford.json';
import { demoFiles, oxfordFile } from './ask.ts';

const options = adviceOptionsSchema.parse({});

async function fieldOf(files: Parameters<typeof prepareField>[0]['files']): Promise<FieldInput> {
  const read = await prepareField({ files });
  if (!read.ok) throw new Error(read.problems[0].problem);
  return read.value;
}

describe('models compared', () => {
  it('oxford phosphorus: no worse than nlme’s fits, with intervals about the estimate and an honest check', async () => {
    const field = await fieldOf([oxfordFile]);
    const [study] = studyModels(field, options, {
      analytes: ['P'],
      candidates: ['nugget', 'spherical', 'exponential'],
    });
    expect(study).toMatchObject({ id: 'P', n: 126, scale: 'log' });
    const { table, method } = study.choice;
    expect(method).toBe('REML');
    // R's nlme, restricted (tests/reference/oxford.json): the greater of spherical and exponential.
    const theirs = reference.log.PHOS1.reml;
    const best = Math.max(theirs['Sph REML'].logLik, theirs['Exp REML'].logLik);
    expect(Math.max(...table.map((m) => m.logLikelihood))).toBeGreaterThan(best - 1e-3);
    expect(table.map((m) => m.deltaAicc)).toEqual([...table.map((m) => m.deltaAicc)].sort((a, b) => a - b));
    expect(table.reduce((s, m) => s + m.akaikeWeight, 0)).toBeCloseTo(1, 12);
    for (const p of study.uncertainty.parameters) {
      expect(p.interval80.low).toBeLessThanOrEqual(p.estimate);
      expect(p.interval80.high).toBeGreaterThanOrEqual(p.estimate);
      expect(p.interval95.low).toBeLessThanOrEqual(p.interval80.low);
      expect(p.interval95.high).toBeGreaterThanOrEqual(p.interval80.high);
    }
    expect(study.check.msdr).toBeGreaterThan(0.8);
    expect(study.check.msdr).toBeLessThan(1.25);
    expect(study.bins.every((b) => b.pairs >= 30)).toBe(true);
  });

  it('the user’s own lags, estimator and direction are used', async () => {
    const field = await fieldOf([oxfordFile]);
    const study = (directionDeg?: number) =>
      studyModels(field, options, {
        analytes: ['OM'],
        candidates: ['nugget', 'exponential'],
        estimator: 'genton',
        boundariesM: [150, 300, 600],
        directionDeg,
        bandwidthM: directionDeg === undefined ? undefined : 250,
      })[0];
    expect(study().bins).toHaveLength(3);
    const pairs = (s: ReturnType<typeof study>) => s.bins.reduce((n, b) => n + b.pairs, 0);
    expect(pairs(study(0))).toBeLessThan(pairs(study()));
  });

  it('pure nugget is chosen, or hardly beaten, where nothing was put in', async () => {
    const field = await fieldOf(demoFiles('patchwork'));
    const [study] = studyModels(field, options, {
      analytes: ['P'],
      candidates: ['nugget', 'spherical', 'exponential'],
    });
    const nugget = study.choice.table.find((m) => m.name === 'pure nugget')!;
    expect(nugget.deltaAicc).toBeLessThan(4);
  });

  it('a mean that the user fixes is not compared', async () => {
    const field = await fieldOf([oxfordFile]);
    const study = (mean: 'constant' | 'choose' | 'linear') =>
      studyModels(field, adviceOptionsSchema.parse({ mean }), {
        analytes: ['OM'],
        candidates: ['nugget', 'exponential', 'linear trend'],
      })[0].choice;
    const trendsOf = (c: ReturnType<typeof study>) => new Set(c.table.map((m) => m.fit.trendNames.length));
    expect(study('constant').method).toBe('REML');
    expect(trendsOf(study('constant'))).toEqual(new Set([1]));
    expect(trendsOf(study('linear'))).toEqual(new Set([3]));
    expect(study('choose').method).toBe('ML');
    expect(trendsOf(study('choose'))).toEqual(new Set([1, 3]));
  });

  it('too few values are not studied', async () => {
    const field = await fieldOf([oxfordFile]);
    const few = {
      ...field,
      tests: {
        ...field.tests!,
        series: field.tests!.series.map((s) => ({
          ...s,
          values: s.values.map((v, i) => (i < 12 ? v : NaN)),
        })),
      },
    };
    expect(studyModels(few, options)).toEqual([]);
  });
});
