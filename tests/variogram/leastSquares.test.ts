import { describe, expect, it } from 'vitest';
import {
  FREE_SMOOTHNESS,
  fitLeastSquares,
  fitNested,
  fitPureNugget,
  semivariance,
  weightedSse,
  type LagWeights,
  type ModelKind,
  type NestedVariogram,
  type VariogramBin,
  type VariogramModel,
} from '../../src/variogram/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { everyVariable, fromBins, fromGstat, kindOf, meuseDefault } from '../reference/reference.ts';
import { fitCases, nestedFromGstat, type GstatFit } from '../reference/variograms.ts';

const cases = everyVariable.flatMap((v) =>
  ['Sph', 'Exp'].map((model) => ({
    name: `${v.name} ${model}`,
    kind: kindOf[model],
    bins: fromBins(v.reference.classical),
    gstat: v.reference.fits[model],
  })),
);

// gstat 2.1.0 `fit.variogram()` with its default weights N/h² (tests/reference/make_reference.R).
describe('weighted least squares against gstat', () => {
  it.each(cases)('$name: the sum of squares at gstat’s parameters is gstat’s', ({ bins, gstat }) => {
    expectRelative(weightedSse(bins, fromGstat(gstat)), gstat.sse, 1e-9);
  });

  it.each(cases)('$name: ours is no worse', ({ bins, kind, gstat }) => {
    const fit = fitLeastSquares(bins, kind)!;
    expect(fit.weightedSse).toBeLessThanOrEqual(gstat.sse * (1 + 1e-3));
    expectRelative(weightedSse(bins, fit), fit.weightedSse, 1e-12);
  });

  // Where gstat stopped at an inner least value; elsewhere it left one short or ran off to a straight line.
  const settled = [
    'raw PHOS1 Sph',
    'raw POT1 Sph',
    'raw PH1 Sph',
    'raw PH1 Exp',
    'raw MG1 Sph',
    'raw MG1 Exp',
    'raw OM1 Sph',
    'raw OM1 Exp',
    'raw CEC1 Sph',
    'raw CEC1 Exp',
    'log PHOS1 Sph',
    'log PHOS1 Exp',
    'log POT1 Sph',
    'log POT1 Exp',
    'log OM1 Sph',
    'log OM1 Exp',
    'log CEC1 Exp',
    'meuse log zinc Sph',
    'meuse log zinc Exp',
  ];
  it.each(cases.filter((c) => settled.includes(c.name)))(
    '$name: nugget, sill and range within 0.5 %',
    ({ bins, kind, gstat }) => {
      const fit = fitLeastSquares(bins, kind)!;
      const theirs = fromGstat(gstat);
      expectRelative(fit.effectiveRangeM, theirs.effectiveRangeM, 5e-3, 'range');
      expectRelative(fit.partialSill, theirs.partialSill, 5e-3, 'partial sill');
      if (theirs.nugget === 0) expect(fit.nugget).toBe(0);
      else expectRelative(fit.nugget, theirs.nugget, 5e-3, 'nugget');
    },
  );

  it('checks every case that was said to have settled', () => {
    expect(cases.filter((c) => settled.includes(c.name))).toHaveLength(settled.length);
  });

  it('meuse with the default bins, spherical', () => {
    const bins = fromBins(meuseDefault.bins);
    const theirs = fromGstat(meuseDefault.sph);
    expectRelative(weightedSse(bins, theirs), meuseDefault.sph.sse, 1e-9);
    const fit = fitLeastSquares(bins, 'spherical')!;
    expectRelative(fit.effectiveRangeM, theirs.effectiveRangeM, 5e-3);
    expectRelative(fit.nugget, theirs.nugget, 5e-3);
    expectRelative(fit.partialSill, theirs.partialSill, 5e-3);
  });
});

describe('weighted least squares on bins that are a model', () => {
  const bins = (model: VariogramModel): VariogramBin[] =>
    Array.from({ length: 12 }, (_, i) => ({
      pairs: 50 + 10 * i,
      distanceM: 40 * (i + 0.6),
      gamma: semivariance(model, 40 * (i + 0.6)),
    }));

  it.each(['spherical', 'exponential'] as const)('%s: finds it again', (kind) => {
    for (const [nugget, partialSill, effectiveRangeM] of [
      [0.3, 0.7, 200],
      [0, 2, 350],
      [5, 1, 150],
      [0.1, 0.9, 900],
    ]) {
      const fit = fitLeastSquares(bins({ kind, nugget, partialSill, effectiveRangeM }), kind)!;
      expectRelative(fit.effectiveRangeM, effectiveRangeM, 1e-5);
      expectRelative(fit.partialSill, partialSill, 1e-5);
      expect(Math.abs(fit.nugget - nugget)).toBeLessThan(1e-5 * (nugget + partialSill));
    }
  });

  it.each(['spherical', 'exponential'] as const)('%s: no structure in a flat or a falling row', (kind) => {
    const flat = bins({ kind, nugget: 2, partialSill: 0, effectiveRangeM: 100 });
    const falling = flat.map((b, i) => ({ ...b, gamma: 3 - 0.1 * i }));
    for (const row of [flat, falling]) {
      const fit = fitLeastSquares(row, kind)!;
      const share = fit.partialSill / (fit.partialSill + fit.nugget);
      // A range shorter than the first bin is the same flat line.
      if (share > 1e-9) expect(fit.effectiveRangeM).toBeLessThan(row[0].distanceM);
    }
    expectRelative(fitLeastSquares(flat, kind)!.weightedSse + 1, 1, 1e-12);
  });

  it('never returns a negative nugget or sill, and nothing from two bins', () => {
    const kinds: ModelKind[] = ['spherical', 'exponential'];
    // A parabola through the origin asks for a negative nugget.
    const parabola = Array.from({ length: 8 }, (_, i) => ({
      pairs: 30,
      distanceM: 10 * (i + 1),
      gamma: (i + 1) ** 2,
    }));
    for (const kind of kinds) {
      const fit = fitLeastSquares(parabola, kind)!;
      expect(fit.nugget).toBe(0);
      expect(fit.partialSill).toBeGreaterThan(0);
      expect(fitLeastSquares(parabola.slice(0, 2), kind)).toBeUndefined();
    }
  });
});

const weightsOf: Readonly<Record<number, LagWeights>> = {
  7: 'pairsPerDistanceSquared',
  1: 'pairs',
  6: 'equal',
};

/** Whether gstat ended at a model: no structure with a negative range or sill. */
function isModel(fit: GstatFit): boolean {
  return fit.nugget >= 0 && fit.structures.every((s) => s.range > 0 && s.psill >= 0);
}

const singles = fitCases.flatMap(({ name, bins, single }) =>
  single.map((fit) => {
    const [{ model, kappa }] = fit.structures;
    return { name: `${name} ${model} ${kappa} by method ${fit.method}`, bins: fromBins(bins), fit };
  }),
);
const nested = fitCases.flatMap(({ name, bins, nested: fits }) =>
  fits.filter(isModel).map((fit, i) => ({
    name: `${name} ${fit.structures.map((s) => s.model).join('+')} ${i}`,
    bins: fromBins(bins),
    fit,
  })),
);

/** Far enough out for where gstat ran off towards a straight line. */
const FAR = { rangesM: [20, 300_000] as const };

// gstat 2.1.0 `fit.variogram()` from stated starting values (tests/reference/variograms.R).
describe('other models, weights and nested structures against gstat', () => {
  it('has cases of each', () => {
    expect(singles).toHaveLength(54);
    expect(nested.length).toBeGreaterThan(25);
  });

  it.each(singles)('$name: the same sum of squares at its parameters, ours no greater', ({ bins, fit }) => {
    const theirs = nestedFromGstat(fit);
    const weights = weightsOf[fit.method];
    expectRelative(weightedSse(bins, theirs, weights), fit.sse, 1e-8);
    const [{ kind, smoothness }] = theirs.structures;
    const ours = fitLeastSquares(bins, kind, { weights, smoothness, ...FAR })!;
    expect(ours.weightedSse).toBeLessThanOrEqual(fit.sse * (1 + 1e-6));
    expectRelative(weightedSse(bins, ours, weights), ours.weightedSse, 1e-12);
    expect(ours.parameters).toBe(3);
    // Where gstat got as far as we did, its parameters are ours.
    if (fit.sse > ours.weightedSse * (1 + 1e-7)) return;
    const [structure] = theirs.structures;
    expectRelative(ours.effectiveRangeM, structure.effectiveRangeM, 5e-3, 'range');
    expectRelative(ours.partialSill, structure.partialSill, 5e-3, 'partial sill');
    expectWithin(ours.nugget, theirs.nugget, 5e-3 * (theirs.nugget + structure.partialSill), 'nugget');
  });

  it('gstat got as far as we did in most of them', () => {
    const asFar = singles.filter(({ bins, fit }) => {
      const [{ kind, smoothness }] = nestedFromGstat(fit).structures;
      const ours = fitLeastSquares(bins, kind, { weights: weightsOf[fit.method], smoothness, ...FAR })!;
      return fit.sse <= ours.weightedSse * (1 + 1e-7);
    });
    expect(asFar.length).toBeGreaterThan(30);
  });

  it.each(nested)('$name: two structures, ours no worse', ({ bins, fit }) => {
    const theirs = nestedFromGstat(fit);
    const [first, second] = theirs.structures;
    const ours = fitNested(bins, [first.kind, second.kind], FAR)!;
    expect(ours.weightedSse).toBeLessThanOrEqual(weightedSse(bins, theirs) * (1 + 1e-6));
    expectRelative(weightedSse(bins, ours), ours.weightedSse, 1e-12);
  });
});

describe('nested structures', () => {
  const truth: NestedVariogram = {
    nugget: 0.2,
    structures: [
      { kind: 'spherical', partialSill: 0.5, effectiveRangeM: 90 },
      { kind: 'exponential', partialSill: 1.3, effectiveRangeM: 700 },
    ],
  };
  const bins: VariogramBin[] = Array.from({ length: 20 }, (_, i) => ({
    pairs: 80 + 15 * i,
    distanceM: 25 * (i + 0.7),
    gamma: semivariance(truth, 25 * (i + 0.7)),
  }));

  it('are found again from bins that are the model', () => {
    const fit = fitNested(bins, ['spherical', 'exponential'])!;
    fit.structures.forEach((s, i) => {
      expectRelative(s.effectiveRangeM, truth.structures[i].effectiveRangeM, 1e-3, `range ${i}`);
      expectRelative(s.partialSill, truth.structures[i].partialSill, 1e-3, `sill ${i}`);
    });
    expectWithin(fit.nugget, 0.2, 1e-3);
    expect(fit.parameters).toBe(5);
  });

  it('are never worse than one of them, never negative, and the first is the shorter', () => {
    for (const { bins: rows } of [...fitCases.map((c) => ({ bins: fromBins(c.bins) })), { bins }])
      for (const kinds of [
        ['spherical', 'spherical'],
        ['exponential', 'gaussian'],
      ] as const) {
        const fit = fitNested(rows, kinds)!;
        for (const kind of kinds)
          expect(fit.weightedSse).toBeLessThanOrEqual(fitLeastSquares(rows, kind)!.weightedSse * (1 + 1e-9));
        expect(fit.nugget).toBeGreaterThanOrEqual(0);
        for (const s of fit.structures) expect(s.partialSill).toBeGreaterThanOrEqual(0);
        expect(fit.structures[0].effectiveRangeM).toBeLessThanOrEqual(fit.structures[1].effectiveRangeM);
      }
    expect(fitNested(bins.slice(0, 4), ['spherical', 'spherical'])).toBeUndefined();
  });
});

describe('smoothness', () => {
  const bins = (smoothness: number): VariogramBin[] =>
    Array.from({ length: 25 }, (_, i) => {
      const distanceM = 12 * (i + 0.5);
      const model: VariogramModel = {
        kind: 'matern',
        nugget: 0.1,
        partialSill: 0.9,
        effectiveRangeM: 180,
        smoothness,
      };
      return { pairs: 100, distanceM, gamma: semivariance(model, distanceM) };
    });

  it.each([0.4, 0.8, 1.5, 3])('%s is found again when it is free', (smoothness) => {
    const fit = fitLeastSquares(bins(smoothness), 'matern', { smoothness: 'free' })!;
    expectRelative(fit.smoothness!, smoothness, 0.02, 'smoothness');
    expectRelative(fit.effectiveRangeM, 180, 0.01, 'range');
    expect(fit.parameters).toBe(4);
  });

  it('free is never worse than given, and stays within its limits', () => {
    for (const { bins: reference } of fitCases) {
      const rows = fromBins(reference);
      const fit = fitLeastSquares(rows, 'matern', { smoothness: 'free' })!;
      for (const smoothness of [0.5, 1.5, 2.5, 0.8]) {
        const given = fitLeastSquares(rows, 'matern', { smoothness })!;
        expect(given.smoothness).toBe(smoothness);
        expect(fit.weightedSse).toBeLessThanOrEqual(given.weightedSse * (1 + 1e-6));
      }
      expect(fit.smoothness!).toBeGreaterThanOrEqual(FREE_SMOOTHNESS[0]);
      expect(fit.smoothness!).toBeLessThanOrEqual(FREE_SMOOTHNESS[1]);
    }
    expect(fitLeastSquares(bins(1).slice(0, 3), 'matern', { smoothness: 'free' })).toBeUndefined();
  });

  it('is 1.5 unless said', () => {
    const plain = fitLeastSquares(bins(1.5), 'matern')!;
    expectRelative(plain.effectiveRangeM, 180, 1e-5);
    const said = fitLeastSquares(bins(1.5), 'matern', { smoothness: 1.5 })!;
    expect(plain.weightedSse).toBe(said.weightedSse);
  });
});

describe('pure nugget', () => {
  const bins: VariogramBin[] = [
    { pairs: 10, distanceM: 10, gamma: 1 },
    { pairs: 40, distanceM: 20, gamma: 4 },
    { pairs: 30, distanceM: 30, gamma: 3 },
  ];

  it('is the weighted mean of the bins', () => {
    // N/h²: 0.1, 0.1, 1/30.
    expectRelative(fitPureNugget(bins)!.nugget, 0.6 / (0.2 + 1 / 30), 1e-12);
    expectRelative(fitPureNugget(bins, { weights: 'pairs' })!.nugget, (10 + 160 + 90) / 80, 1e-12);
    const equal = fitPureNugget(bins, { weights: 'equal' })!;
    expectRelative(equal.nugget, 8 / 3, 1e-12);
    expect([equal.partialSill, equal.parameters]).toEqual([0, 1]);
    expectRelative(equal.weightedSse, weightedSse(bins, equal, 'equal'), 1e-12);
    expect(fitPureNugget([])).toBeUndefined();
  });
});
