import { describe, expect, it } from 'vitest';
import {
  fitLeastSquares,
  semivariance,
  weightedSse,
  type ModelKind,
  type VariogramBin,
  type VariogramModel,
} from '../../src/variogram/index.ts';
import { expectRelative } from '../reference/near.ts';
import { everyVariable, fromBins, fromGstat, kindOf, meuseDefault } from '../reference/reference.ts';

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
