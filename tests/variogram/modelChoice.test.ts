import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { aicc, aiccOf, chooseModel, fitModel } from '../../src/variogram/index.ts';
import { fitDataOf, glsFits, glsParameters, nameOf } from '../reference/likelihoods.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

const om1 = fitDataOf({ data: 'oxford OM1', trend: 'constant', method: 'ML' });

describe('AICc', () => {
  it('Hurvich & Tsai 1989 by hand', () => {
    // −2·(−100) + 2·4 + 2·4·5/(30 − 4 − 1)
    expectRelative(aicc(-100, 4, 30), 209.6, 1e-12);
    expect(aicc(-100, 4, 5)).toBe(Infinity);
    expectRelative(aicc(-100, 4, 6), 248, 1e-12);
  });

  // R's AIC(gls) by full likelihood counts the trend's coefficients and the sill too.
  it.each(glsFits.filter((g) => g.method === 'ML' && g.model === 'Gau').map((g) => [nameOf(g), g] as const))(
    '%s: R’s AIC and the correction',
    (_, g) => {
      const fit = fitModel(
        fitDataOf(g),
        { kind: glsParameters(g).kind },
        { restricted: false, rangesM: [50, 20_000] },
      )!;
      const k = g.beta.length + 3;
      expectWithin(aiccOf(fit), g.AIC + (2 * k * (k + 1)) / (fit.n - k - 1), 2e-3);
    },
  );
});

describe('choice of a model', () => {
  it('a table in order, with weights that sum to one', () => {
    const choice = chooseModel(om1, {
      candidates: ['nugget', 'spherical', 'exponential', 'gaussian', 'linear trend'],
    })!;
    expect(choice.method).toBe('ML');
    expect(choice.table).toHaveLength(6);
    const [first] = choice.table;
    expect(first.deltaAicc).toBe(0);
    choice.table.forEach((m, i) => {
      expectRelative(m.aicc, aicc(m.logLikelihood, m.parameters, 126), 1e-12);
      expectRelative(m.akaikeWeight / first.akaikeWeight, Math.exp(-m.deltaAicc / 2), 1e-9);
      if (i > 0) expect(m.aicc).toBeGreaterThanOrEqual(choice.table[i - 1].aicc);
    });
    expectRelative(
      choice.table.reduce((s, m) => s + m.akaikeWeight, 0),
      1,
      1e-12,
    );
    expect(choice.explanation).toContain(first.aicc.toFixed(1));
    expect(choice.explanation).toContain(`“${first.name}”`);
    expect(choice.chosen.restricted).toBe(true);
    expect(choice.chosen.spec).toEqual(first.fit.spec);
  });

  it('without a trend among them by restricted likelihood, the mean not counted', () => {
    const choice = chooseModel(om1, { candidates: ['nugget', 'spherical', 'exponential'] })!;
    expect(choice.method).toBe('REML');
    for (const g of glsFits.filter((f) => nameOf(f) === 'oxford OM1 constant REML' && f.model !== 'Gau')) {
      const row = choice.table.find((m) => m.name === glsParameters(g).kind)!;
      expect(row.parameters).toBe(3);
      // 125 contrasts, three parameters.
      expectWithin(row.aicc, -2 * g.logLik + 6 + 24 / 121, 2e-3);
    }
    expect(choice.chosen).toBe(choice.table[0].fit);
  });

  it('anisotropy and nesting are built on the best single model', () => {
    const choice = chooseModel(om1, { candidates: ['spherical', 'exponential', 'nested', 'anisotropic'] })!;
    const singles = choice.table.filter((m) => m.parameters === 3);
    expect(singles).toHaveLength(2);
    for (const feature of ['nested', 'anisotropic']) {
      const row = choice.table.find((m) => m.name === `${feature} ${singles[0].name}`)!;
      expect(row.parameters).toBe(5);
      expect(row.logLikelihood).toBeGreaterThanOrEqual(singles[0].logLikelihood);
    }
    // The soils of the area lie in strips: an organic matter that changes with direction is what R finds too.
    expect(choice.table[0].name).toContain('anisotropic');
  });

  it('says that there is no pattern where there is none, and what a pattern would have cost', () => {
    const random = seededRandom(11);
    const xy = Float64Array.from(
      { length: 160 },
      (_, i) => (i % 2 ? Math.floor(i / 20) : (i >> 1) % 10) * 60,
    );
    const z = Float64Array.from({ length: 80 }, () => random() + random() + random());
    const choice = chooseModel({ xy, z }, { candidates: ['nugget', 'spherical', 'exponential'] })!;
    expect(choice.table[0].name).toBe('pure nugget');
    expect(choice.explanation).toContain('No spatial pattern earns its parameters');
    expect(choice.explanation).toContain(choice.table[1].deltaAicc.toFixed(1));
  });

  it('a slope is found to be a trend', () => {
    const random = seededRandom(3);
    const xy = Float64Array.from(
      { length: 160 },
      (_, i) => (i % 2 ? Math.floor(i / 20) : (i >> 1) % 10) * 60,
    );
    const z = Float64Array.from({ length: 80 }, (_, i) => xy[2 * i] / 100 - xy[2 * i + 1] / 200 + random());
    const choice = chooseModel({ xy, z }, { candidates: ['nugget', 'exponential', 'linear trend'] })!;
    expect(choice.table[0].name).toBe('pure nugget, linear trend');
    expect(choice.chosen.trendNames).toEqual(['1', 'x', 'y']);
    expectWithin(choice.chosen.beta[1], 0.01, 1e-3);
    expectWithin(choice.chosen.beta[2], -0.005, 1e-3);
  });

  it('leaves out, with the reason, what so few values cannot bear', () => {
    const xy = Float64Array.of(0, 0, 60, 0, 0, 60, 60, 60, 120, 0);
    const z = Float64Array.of(3, 5, 4, 6, 7);
    const choice = chooseModel({ xy, z }, { candidates: ['nugget', 'spherical', 'linear trend'] })!;
    expect(choice.table.map((m) => m.name)).toEqual(['pure nugget']);
    expect(choice.leftOut.map((l) => l.name)).toEqual(['spherical', 'linear trend']);
    expect(choice.explanation).toContain('only model compared');
    expect(chooseModel({ xy, z }, { candidates: ['nested'] })).toBeUndefined();
  });
});
