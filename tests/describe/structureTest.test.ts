import { describe, expect, it } from 'vitest';
import {
  moranPower,
  moranTest,
  neighbourSpacingM,
  pointsToSee,
  randomNormal,
  seededRandom,
  structureTest,
  type Random,
  type StructureEvidence,
} from '../../src/describe/index.ts';
import { simulateField } from '../../src/krige/simulate.ts';
import { makePrior, overMembers, updateBelief } from '../../src/prior/index.ts';
import { expectWithin } from '../reference/near.ts';

const SPACING_M = 80;
const grid = (side: number) =>
  Float64Array.from(
    { length: 2 * side * side },
    (_, c) => SPACING_M * (c & 1 ? Math.floor((c >> 1) / side) : (c >> 1) % side),
  );
const spherical = (rangeInSpacings: number, nuggetShare: number) =>
  ({
    kind: 'spherical',
    nugget: nuggetShare,
    partialSill: 1 - nuggetShare,
    effectiveRangeM: rangeInSpacings * SPACING_M,
  }) as const;
const nugget = (n: number, random: Random) => Float64Array.from({ length: n }, () => randomNormal(random));

/** Points to verdict by the belief's own intervals, as for soil phosphorus. */
function verdictOn(xy: Float64Array, z: Float64Array, seed: number) {
  const values = z.map((v) => 3 + 0.6 * v);
  const belief = updateBelief(makePrior('P', 'log', {}), 'log', { xy, z: values }, { seed });
  return structureTest({
    n: z.length,
    moran: moranTest(xy, values, seededRandom(seed), { permutations: 199 }),
    nuggetShare: overMembers(belief, (m) => m.nuggetShare),
    rangeM: overMembers(belief, (m) => m.effectiveRangeM),
    neighbourSpacingM: neighbourSpacingM(xy)!,
  });
}

function counts(fields: number, verdict: (k: number) => ReturnType<typeof structureTest>) {
  const held = { structured: 0, 'none at this spacing': 0, 'too few to tell': 0 };
  for (let k = 0; k < fields; k++) held[verdict(k).kind]++;
  return held;
}

describe('the power of Moran’s test', () => {
  // Fields simulated by sequential Gaussian simulation; four standard errors of a share over 150 fields are 0.16 at most.
  it.each([
    [16, 3, 0.5],
    [36, 3, 0.5],
    [64, 3, 0.5],
    [64, 3, 0.25],
    [100, 2, 0.5],
    [25, 6, 0.25],
  ])('%d points, range of %d spacings, nugget share %d: as simulated', (n, rangeInSpacings, nuggetShare) => {
    const random = seededRandom(n + rangeInSpacings);
    const xy = grid(Math.sqrt(n));
    const fields = 150;
    let seen = 0;
    for (let k = 0; k < fields; k++) {
      const z = simulateField(xy, spherical(rangeInSpacings, nuggetShare), random, { neighbours: 25 });
      if (moranTest(xy, z, random, { permutations: 99 })!.p <= 0.05) seen++;
    }
    expectWithin(moranPower(n, { rangeInSpacings, nuggetShare }), seen / fields, 0.14);
  });

  it('no pattern: the level; more points, longer range, less nugget: more', () => {
    expectWithin(moranPower(100, { rangeInSpacings: 3, nuggetShare: 1 }), 0.05, 0.02);
    expectWithin(moranPower(100, { rangeInSpacings: 0.9, nuggetShare: 0 }), 0.05, 0.02);
    const sought = { rangeInSpacings: 3, nuggetShare: 0.5 };
    let before = 0;
    for (const n of [4, 16, 20, 36, 50, 64, 100, 150, 400]) {
      const power = moranPower(n, sought);
      expect(power).toBeGreaterThanOrEqual(before);
      before = power;
    }
    expect(before).toBeGreaterThan(0.99);
    expect(moranPower(64, { ...sought, nuggetShare: 0.3 })).toBeGreaterThan(moranPower(64, sought));
    expect(moranPower(64, { ...sought, rangeInSpacings: 2 })).toBeLessThan(moranPower(64, sought));
  });

  it('the points it takes are the least square with that power', () => {
    const sought = { rangeInSpacings: 3, nuggetShare: 0.5 };
    const n = pointsToSee(sought)!;
    expect(moranPower(n, sought)).toBeGreaterThanOrEqual(0.8);
    expect(moranPower((Math.sqrt(n) - 1) ** 2, sought)).toBeLessThan(0.8);
    expect(pointsToSee({ rangeInSpacings: 0.5, nuggetShare: 0.5 })).toBeUndefined();
  });
});

describe('is there a pattern a grid can map?', () => {
  it('structured fields of 100 points: structured, nearly always', () => {
    const random = seededRandom(51);
    const xy = grid(10);
    const held = counts(25, (k) => verdictOn(xy, simulateField(xy, spherical(4, 0.25), random), k));
    expect(held.structured).toBeGreaterThanOrEqual(22);
  });

  it('pure nugget, 100 points: none at this spacing, mostly; hardly ever structured', () => {
    const random = seededRandom(52);
    const xy = grid(10);
    const held = counts(25, (k) => verdictOn(xy, nugget(100, random), k));
    expect(held['none at this spacing']).toBeGreaterThanOrEqual(20);
    expect(held.structured).toBeLessThanOrEqual(3);
  });

  it('8 points: too few, whatever the field', () => {
    const random = seededRandom(53);
    const xy = grid(3).slice(0, 16);
    const held = counts(20, (k) =>
      verdictOn(xy, k % 2 ? nugget(8, random) : simulateField(xy, spherical(6, 0.1), random), k),
    );
    expect(held['too few to tell']).toBe(20);
  });

  const evidence: StructureEvidence = {
    n: 100,
    moran: { i: 0.02, p: 0.31 },
    nuggetShare: { low: 0.3, mid: 0.6, high: 0.85 },
    rangeM: { low: 90, mid: 250, high: 500 },
    neighbourSpacingM: 80,
  };

  it('none: says what would have been seen, and proposes zones and a nested sample with its cost', () => {
    const verdict = structureTest(evidence);
    expect(verdict.kind).toBe('none at this spacing');
    expect(verdict.sought).toEqual({ rangeM: 240, nuggetShare: 0.5 });
    expect(verdict.power).toBeGreaterThan(0.8);
    expect(verdict.sentence).toMatch(
      /80 m \(260 ft\).*Moran’s I 0\.02, p 0\.310.*nugget share 30 % to 85 %.*100 points.*9\d %/,
    );
    expect(verdict.next).toMatch(/zones.*16 extra samples/);
    expect(verdict.nestedSample!.extraSamples).toBe(16);
  });

  it('the same with 30 points: too few, and how many would do', () => {
    const verdict = structureTest({ ...evidence, n: 30 });
    expect(verdict.kind).toBe('too few to tell');
    expect(verdict.next).toMatch(
      /^About \d+ points at this spacing would tell, or fewer close pairs\. At 8 of the stops/,
    );
  });

  it('a significant I is structured unless all of the variance may be nugget', () => {
    const significant = { ...evidence, moran: { i: 0.3, p: 0.002 } };
    const verdict = structureTest(significant);
    expect(verdict.kind).toBe('structured');
    expect(verdict.nestedSample).toBeUndefined();
    const doubtful = structureTest({ ...significant, nuggetShare: { low: 0.5, mid: 0.8, high: 0.95 } });
    expect(doubtful.kind).toBe('too few to tell');
    expect(doubtful.sentence).toContain('disagree');
  });

  it('a likelihood far above pure nugget is a sign as good, a little above is not', () => {
    expect(structureTest({ ...evidence, logLikelihoodGain: 8 }).kind).toBe('structured');
    expect(structureTest({ ...evidence, logLikelihoodGain: 2 }).kind).toBe('none at this spacing');
  });

  it('structured, but neighbours beyond half the range: a closer grid and a nested sample', () => {
    const verdict = structureTest({
      ...evidence,
      moran: { i: 0.3, p: 0.002 },
      rangeM: { low: 90, mid: 120, high: 200 },
    });
    expect(verdict.kind).toBe('structured');
    expect(verdict.next).toMatch(/more than half the range of about 120 m \(390 ft\): a closer grid/);
    expect(verdict.nestedSample).toBeDefined();
  });

  it('no Moran’s I, one point, points a stride apart: too few, in plain words', () => {
    const verdict = structureTest({ ...evidence, n: 1, moran: undefined, neighbourSpacingM: 6 });
    expect(verdict.kind).toBe('too few to tell');
    expect(verdict.sentence).toContain('1 point is too few');
    expect(verdict.next).toContain('as close as composites can be');
  });
});

describe('typical spacing of neighbours', () => {
  it('a grid’s own, the median of uneven ones, none for a single point', () => {
    expect(neighbourSpacingM(grid(5))).toBe(SPACING_M);
    expect(neighbourSpacingM(Float64Array.of(0, 0, 10, 0, 30, 0, 70, 0))).toBe(15);
    expect(neighbourSpacingM(Float64Array.of(0, 0))).toBeUndefined();
  });
});
