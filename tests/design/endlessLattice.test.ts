import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { endlessLattice, endlessLatticeError, type LatticeMember } from '../../src/design/endlessLattice.ts';
import { gridAccuracy, gridStops, type SamplingOptions } from '../../src/design/index.ts';
import { spreadNodes, squareOfArea } from '../../src/field/index.ts';
import { blockPoints, blockVariance } from '../../src/krige/index.ts';
import { correlation, type ModelKind } from '../../src/variogram/index.ts';
import { blockOfLattices, wholeLattices } from '../reference/endlessLattice.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';
import { effectiveRangeM, kindOf, latticeCases } from '../reference/reference.ts';

/** Single cores, each a sample. */
const points: SamplingOptions = { blockM: 0, stopRadiusM: 0, cores: 1, coresLearnt: 1, labVariance: 0 };
const usual: SamplingOptions = { blockM: 18, stopRadiusM: 5, cores: 10, coresLearnt: 10, labVariance: 0.05 };
const KINDS: readonly ModelKind[] = ['spherical', 'exponential', 'gaussian', 'matern'];
const anyMember: fc.Arbitrary<LatticeMember> = fc.record({
  kind: fc.constantFrom(...KINDS),
  effectiveRangeM: fc.double({ min: 20, max: 3000, noNaN: true }),
  sill: fc.double({ min: 0.01, max: 100, noNaN: true }),
  nuggetShare: fc.double({ min: 0, max: 1, noNaN: true }),
});

// gstat 2.1.0, tests/reference/endlessLattice.R.
describe('against gstat, the same 12 × 12 points', () => {
  it.each(wholeLattices)('$name', ({ kind, effectiveRangeM, nugget, partialSill, bySpacing }) => {
    const sill = nugget + partialSill;
    const member = { kind, effectiveRangeM, sill, nuggetShare: nugget / sill };
    const atPoints = endlessLattice(member, points);
    const ofBlocks = endlessLattice(member, { ...points, blockM: blockOfLattices });
    for (const { spacing, point, block } of bySpacing) {
      const p = atPoints(spacing);
      expectWithin(p.meanSquaredError, point.mean - nugget, 1e-7 * sill, `mean at ${spacing}`);
      expectWithin(p.greatest, point.centre - nugget, 1e-7 * sill, `centre at ${spacing}`);
      // Quantiles by other rules: within 1 % of the sample's variance.
      expectWithin(p.median, point.p50 - nugget, 0.01 * sill, `median at ${spacing}`);
      expectWithin(p.p90, point.p90 - nugget, 0.01 * sill, `p90 at ${spacing}`);
      const b = ofBlocks(spacing);
      // Sixteen points overstate a block's own variance by 1 or 2 % of its mean semivariance.
      const within =
        partialSill -
        blockVariance(
          (h) => partialSill * correlation(kind, effectiveRangeM, h),
          blockPoints(blockOfLattices),
        );
      for (const [ours, theirs] of [
        [b.meanSquaredError, block.mean],
        [b.median, block.p50],
        [b.p90, block.p90],
        [b.greatest, block.centre],
      ])
        expectWithin(ours, theirs, 0.02 * within + 0.01 * theirs, `block at ${spacing}`);
    }
  });
});

// gstat 2.1.0, tests/reference/make_reference.R: the 36 nearest of 12 × 12 points, which err a little more.
describe('against gstat, the 36 nearest points', () => {
  it.each(latticeCases)(
    '$model, nugget $nugget, range $range',
    ({ model, nugget, psill, range, by_spacing }) => {
      const member = {
        kind: kindOf[model],
        effectiveRangeM: effectiveRangeM(model, range),
        sill: nugget + psill,
        nuggetShare: nugget / (nugget + psill),
      };
      for (const s of by_spacing) {
        const { meanSquaredError } = endlessLatticeError(member, s.spacing, points);
        expect(meanSquaredError + nugget).toBeLessThan(s.mean * (1 + 1e-4));
        // A mean estimated from 36 rather than 144 samples is unsure by up to 1/36 − 1/144 of their variance more.
        const farther = (1 / 36 - 1 / 144) * (nugget + psill);
        expect(meanSquaredError + nugget).toBeGreaterThan(s.mean - Math.min(farther, 0.015 * s.mean));
      }
    },
  );
});

describe('the error of an endless lattice', () => {
  it('grows with the spacing, falls with more cores', () => {
    fc.assert(
      fc.property(anyMember, fc.double({ min: 25, max: 600, noNaN: true }), (member, spacingM) => {
        const hair = 1e-6 * member.sill;
        const error = endlessLattice(member, usual);
        const { meanSquaredError: here, median, p90, greatest } = error(spacingM);
        expect(error(1.2 * spacingM).meanSquaredError).toBeGreaterThanOrEqual(here - hair);
        expect(median).toBeLessThanOrEqual(p90 + hair);
        expect(p90).toBeLessThanOrEqual(greatest + 0.02 * member.sill);
        expect(
          endlessLatticeError(member, spacingM, { ...usual, cores: 20 }).meanSquaredError,
        ).toBeLessThanOrEqual(here + hair);
      }),
      { numRuns: 40 },
    );
  });

  it('is smooth in the spacing: no step from one to the next', () => {
    for (const kind of KINDS) {
      const error = endlessLattice({ kind, effectiveRangeM: 180, sill: 1, nuggetShare: 0.3 }, usual);
      const steps = Array.from({ length: 60 }, (_, i) => error(40 * 1.04 ** i));
      for (const key of ['meanSquaredError', 'median', 'p90', 'greatest'] as const)
        for (let i = 1; i + 1 < steps.length; i++) {
          const bend = steps[i + 1][key] - 2 * steps[i][key] + steps[i - 1][key];
          expect(Math.abs(bend), `${kind} ${key} ${i}`).toBeLessThan(0.004);
        }
    }
  });

  it('goes with the sill', () => {
    const member: LatticeMember = { kind: 'exponential', effectiveRangeM: 150, sill: 1, nuggetShare: 0.4 };
    const one = endlessLatticeError(member, 100, usual);
    const four = endlessLatticeError({ ...member, sill: 4 }, 100, { ...usual, labVariance: 0.2 });
    expectRelative(four.meanSquaredError, 4 * one.meanSquaredError, 1e-9);
    expectRelative(four.median, 4 * one.median, 1e-9);
  });

  it('far beyond the range: a block’s own variance and that of a mean of 144 samples', () => {
    const member: LatticeMember = { kind: 'spherical', effectiveRangeM: 90, sill: 2, nuggetShare: 0.25 };
    const { greatest } = endlessLatticeError(member, 900, { ...points, blockM: 18 });
    const own = blockVariance((h) => 1.5 * correlation('spherical', 90, h), blockPoints(18));
    expectRelative(greatest, own + 2 / 144, 1e-6);
  });

  it('a tight lattice of a smooth model, noiseless, can be had', () => {
    for (const kind of KINDS)
      for (const effectiveRangeM of [300, 3000, 30_000]) {
        const { meanSquaredError } = endlessLatticeError(
          { kind, effectiveRangeM, sill: 1, nuggetShare: 0 },
          5,
          usual,
        );
        expect(meanSquaredError).toBeGreaterThanOrEqual(0);
        expect(meanSquaredError).toBeLessThan(0.02);
      }
  });

  it('a grid in a field errs more, by its edges, and not much more when there are many stops', () => {
    const region = squareOfArea(100);
    const ground = { blocks: spreadNodes(region, 100), fieldNodes: spreadNodes(region, 60), blockM: 18 };
    for (const [kind, rangeM] of [
      ['spherical', 250],
      ['exponential', 400],
    ] as const) {
      const member = {
        kind,
        effectiveRangeM: rangeM,
        sill: 1,
        nuggetShare: 0.3,
        mean: 0,
        meanSd: 0,
        cv: 0.3,
      };
      const { xy, spacingM } = gridStops(region, 64);
      const grid = gridAccuracy(member, xy, ground, 0.5, usual);
      const endless = endlessLatticeError(member, spacingM, usual);
      expect(grid.meanSquaredError).toBeGreaterThan(endless.meanSquaredError);
      expectRelative(grid.meanSquaredError, endless.meanSquaredError, 0.08, kind);
      expectRelative(grid.median, endless.median, 0.05, kind);
    }
  });

  it('says what spacing it cannot have', () => {
    const error = endlessLattice({ kind: 'spherical', effectiveRangeM: 90, sill: 1, nuggetShare: 0 }, usual);
    expect(() => error(0)).toThrow('above 0 m, not 0');
    expect(() => error(NaN)).toThrow(RangeError);
  });
});
