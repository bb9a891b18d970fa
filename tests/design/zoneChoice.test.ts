import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom, type Random } from '../../src/describe/index.ts';
import { judgeZones, judgeZonesByHoldOut, judgeZonesByYears, yieldZones } from '../../src/design/index.ts';
import { spreadNodes } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { quarterSection, QUARTER_SECTION_M } from './shapes.ts';

const nodes = spreadNodes(quarterSection, 220);
const scatter = (n: number, random: Random) =>
  Float64Array.from({ length: 2 * n }, () => QUARTER_SECTION_M * random());
const ground = { kind: 'spherical' as const, effectiveRangeM: 250, nugget: 0.05, partialSill: 0.95 };

/** Three levels by easting: bands that yield shows and soil tests may or may not follow. */
const band = (x: number) => Math.min(2, Math.floor((3 * x) / QUARTER_SECTION_M));
describe('how many zones', () => {
  const trialsOf = (surface: Float64Array) =>
    [2, 3, 4, 5]
      .map((k) => yieldZones(nodes, surface, k))
      .filter((m) => m !== undefined)
      .map((map) => ({ map }));

  it('three levels in yield and tests: three zones, and the sentence has their figures', () => {
    const random = seededRandom(7);
    const surface = Float64Array.from(
      { length: 220 },
      (_, i) => band(nodes[2 * i]) + 0.1 * randomNormal(random),
    );
    const xy = scatter(80, random);
    const z = Float64Array.from({ length: 80 }, (_, i) => 10 * band(xy[2 * i]) + 2 * randomNormal(random));
    const choice = judgeZones(nodes, trialsOf(surface), { xy, z }, { random })!;
    const chosen = choice.scores[choice.recommended];
    expect(choice.basis).toBe('test points');
    expect(choice.scores[0]).toMatchObject({ k: 1, relativeToField: 1, explained: 0, asGoodByChance: 1 });
    expect(chosen.k).toBe(3);
    expect(choice.sentence).toContain(`3 zones leave ${Math.round(100 * chosen.relativeToField)} %`);
    expect(choice.sentence).toContain('80 test points');
    // The rule: no smaller number is within one standard error of the best.
    const best = choice.scores.reduce((a, b) => (b.relativeToField < a.relativeToField ? b : a));
    for (const s of choice.scores)
      if (s.k < 3) expect(s.relativeToField).toBeGreaterThan(best.relativeToField + best.standardError);
  });

  it('tests that do not know of the yield: the whole field, most times', () => {
    const chosen = Array.from({ length: 12 }, (_, run) => {
      const random = seededRandom(300 + run);
      const surface = simulateField(nodes, { ...ground, nugget: 0.01 }, random, { neighbours: 25 });
      const xy = scatter(60, random);
      const z = simulateField(xy, { ...ground, effectiveRangeM: 120 }, random, { neighbours: 30 });
      const choice = judgeZones(nodes, trialsOf(surface), { xy, z }, { random, placings: 9 })!;
      return choice.scores[choice.recommended].k;
    });
    expect(chosen.filter((k) => k === 1).length).toBeGreaterThanOrEqual(9);
  });

  it('years that share a pattern support zones; years that do not, none', () => {
    const random = seededRandom(8);
    const build = (surface: Float64Array, k: number) => yieldZones(nodes, surface, k);
    const year = (pattern: (i: number) => number) =>
      Float64Array.from({ length: 220 }, (_, i) => pattern(i) + 0.5 * randomNormal(random));
    const shared = [0, 1, 2].map(() => year((i) => 2 * (band(nodes[2 * i]) % 2)));
    const kept = judgeZonesByYears(nodes, shared, build, 4, { random, placings: 19 })!;
    expect(kept.basis).toBe('another year');
    expect(kept.scores[kept.recommended].k).toBe(2);
    expect(kept.scores[kept.recommended].relativeToField).toBeLessThan(0.4);
    expect(kept.sentence).toContain('other years');
    const apart = [0, 1, 2].map(() => simulateField(nodes, { ...ground, effectiveRangeM: 90 }, random));
    const none = judgeZonesByYears(nodes, apart, build, 4, { random, placings: 19 })!;
    expect(none.scores[none.recommended].k).toBe(1);
    expect(judgeZonesByYears(nodes, [shared[0]], build, 4, { random })).toBeUndefined();
  });

  it('one year alone: a map that hangs together passes, noise does not, and the sentence says what that is worth', () => {
    const random = seededRandom(9);
    const smooth = Float64Array.from(
      { length: 220 },
      (_, i) => band(nodes[2 * i]) + 0.2 * randomNormal(random),
    );
    const held = judgeZonesByHoldOut(nodes, smooth, yieldZones, 3, { random, placings: 9 })!;
    expect(held.basis).toBe('held-out ground');
    expect(held.scores[held.recommended].relativeToField).toBeLessThan(0.5);
    expect(held.sentence).toContain('no other year and no soil test');
    const noise = Float64Array.from({ length: 220 }, () => randomNormal(random));
    const none = judgeZonesByHoldOut(
      nodes,
      noise,
      (at, surface, k) => yieldZones(at, surface, k, { minAreaHa: 0, minWidthM: 0, patchesPerZone: 300 }),
      3,
      { random, placings: 9 },
    )!;
    expect(none.scores.length).toBeGreaterThan(1);
    expect(none.scores[none.recommended].k).toBe(1);
  });
});
