import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom, type Random } from '../../src/describe/index.ts';
import {
  efficacyUnder,
  judgeZones,
  testZones,
  zoneExtents,
  zonesOfSamples,
  type TestLayer,
  type ZoneMap,
} from '../../src/design/index.ts';
import { spreadNodes } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import type { Member } from '../../src/prior/index.ts';
import { correlationOf, type VariogramModel } from '../../src/variogram/index.ts';
import { quarterSection, QUARTER_SECTION_M } from './shapes.ts';

const nodes = spreadNodes(quarterSection, 220);
const scatter = (n: number, random: Random) =>
  Float64Array.from({ length: 2 * n }, () => QUARTER_SECTION_M * random());
const model: VariogramModel = { kind: 'spherical', nugget: 0.2, partialSill: 0.8, effectiveRangeM: 400 };
const draw = (layers: readonly TestLayer[], random: Random, most = 4) =>
  testZones(nodes, layers, most, { random, areaHa: 64 });
const judged = (maps: readonly ZoneMap[], xy: Float64Array, z: Float64Array, random: Random) =>
  judgeZones(
    nodes,
    maps.map((map) => ({ map })),
    { xy, z },
    { random, divisions: 2, placings: 9 },
  )!;

describe('zones by last time’s tests', () => {
  const half = (x: number) => (x > QUARTER_SECTION_M / 2 ? 1 : 0);

  it('a step in the tests is found, and holds for tests held out', () => {
    const random = seededRandom(21);
    const xy = scatter(60, random);
    const z = Float64Array.from({ length: 60 }, (_, i) => 2 * half(xy[2 * i]) + 0.4 * randomNormal(random));
    const [two] = draw([{ name: 'P', xy, z, variogram: model }], random, 2);
    expect(two).toMatchObject({ from: 'tests', zones: 2, names: ['class 1 of 2', 'class 2 of 2'] });
    const right = two.labels.filter((l, i) => l === half(nodes[2 * i])).length;
    expect(right / 220).toBeGreaterThan(0.9);
    const choice = judged([two], xy, z, random);
    expect(choice.scores[1].relativeToField).toBeLessThan(0.4);
    expect(choice.scores[choice.recommended].k).toBe(2);
    expect(choice.sentence).toContain('the zones drawn without it');
  });

  it('two properties with a step each give the four quarters, tests at places of their own', () => {
    const random = seededRandom(22);
    const layer = (name: string, axis: 0 | 1): TestLayer => {
      const xy = scatter(70, random);
      const z = Float64Array.from(
        { length: 70 },
        (_, i) => 3 * half(xy[2 * i + axis]) + 0.3 * randomNormal(random),
      );
      return { name, xy, z, variogram: model };
    };
    const four = draw([layer('P', 0), layer('K', 1)], random).find((m) => m.zones === 4)!;
    const quarter = (i: number) => 2 * half(nodes[2 * i]) + half(nodes[2 * i + 1]);
    const most = [0, 1, 2, 3].map((q) => {
      const own = [...four.labels].filter((_, i) => quarter(i) === q);
      return Math.max(...[0, 1, 2, 3].map((zone) => own.filter((l) => l === zone).length));
    });
    expect(most.reduce((s, v) => s + v, 0) / 220).toBeGreaterThan(0.85);
  });

  it('each map held out rests on the other tests alone, and every test falls in one', () => {
    const random = seededRandom(23);
    const xy = scatter(50, random);
    const z = simulateField(xy, model, random);
    const layers = (values: Float64Array) => [{ name: 'P', xy, z: values, variogram: model }];
    const [map] = draw(layers(z), seededRandom(1), 2);
    const { foldAt, maps } = map.heldOut!;
    const fold = foldAt(xy[0], xy[1]);
    expect(maps).toHaveLength(10);
    expect(foldAt(-1, -1)).toBe(-1);
    const folds = Array.from({ length: 50 }, (_, i) => foldAt(xy[2 * i], xy[2 * i + 1]));
    expect(new Set(folds)).toEqual(new Set(maps.keys()));
    // Values of one fold changed beyond recognition: the map without them is as it was, the whole one is not.
    const changed = z.map((v, i) => (folds[i] === fold ? v + 30 : v));
    const [other] = draw(layers(changed), seededRandom(1), 2);
    expect(other.heldOut!.maps[fold]!.labels).toEqual(maps[fold]!.labels);
    expect(other.labels).not.toEqual(map.labels);
  });

  it('tests without any pattern: the zones explain nothing, seed after seed', () => {
    const [relative, fooled]: [number[], number[]] = [[], []];
    const mean = (values: readonly number[]) => values.reduce((s, v) => s + v, 0) / values.length;
    let chosen = 0;
    for (let seed = 1; seed <= 12; seed++) {
      const random = seededRandom(500 + seed);
      const xy = scatter(60, random);
      const z = Float64Array.from({ length: 60 }, () => randomNormal(random));
      // Kriged as though there were one.
      const maps = draw([{ name: 'P', xy, z, variogram: model }], random, 3);
      const choice = judged(maps, xy, z, random);
      relative.push(...choice.scores.slice(1).map((s) => s.relativeToField));
      if (choice.scores[choice.recommended].k > 1) chosen++;
      // Judged by the tests they were drawn from.
      const own = judged(
        maps.map((map) => ({ ...map, heldOut: undefined })),
        xy,
        z,
        random,
      );
      fooled.push(...own.scores.slice(1).map((s) => s.relativeToField));
    }
    expect(relative.length).toBeGreaterThan(20);
    expect(mean(relative)).toBeGreaterThan(0.98);
    expect(mean(fooled)).toBeLessThan(0.75);
    expect(Math.min(...relative)).toBeGreaterThan(0.75);
    expect(chosen).toBeLessThanOrEqual(2);
  });

  it('the variance foretold within zones is no less than what the ground holds there', () => {
    const member: Member = {
      kind: 'spherical',
      effectiveRangeM: 150,
      nuggetShare: 0.4,
      sill: 1,
      mean: 0,
      meanSd: 0,
      cv: 1,
    };
    const ground: VariogramModel = { ...model, effectiveRangeM: 150, nugget: 1e-6, partialSill: 0.6 };
    let [truth, held, fooled] = [0, 0, 0];
    for (let seed = 1; seed <= 16; seed++) {
      const random = seededRandom(700 + seed);
      const xy = scatter(80, random);
      const all = simulateField(Float64Array.of(...xy, ...nodes), ground, random);
      const z = Float64Array.from({ length: 80 }, (_, i) => all[i] + Math.sqrt(0.4) * randomNormal(random));
      const field = all.slice(80);
      const layer = { name: 'P', xy, z, variogram: { ...ground, nugget: 0.4 } };
      for (const map of draw([layer], random, 3)) {
        truth += withinZones(field, map);
        const plain = zoneExtents(nodes, map.labels, map.zones, correlationOf(member)).reduce(
          (s, e) => s + 0.6 * e.share * (1 - e.meanWithin),
          0,
        );
        const foretold = (zones: Int32Array) => {
          const { logMean, logSd } = efficacyUnder(map, { xy, z }, zones)(member);
          return plain * Math.exp(logMean + (logSd * logSd) / 2);
        };
        held += foretold(zonesOfSamples(xy, map));
        fooled += foretold(zonesOfSamples(xy, { ...map, heldOut: undefined }));
      }
    }
    expect(held / truth).toBeGreaterThan(0.95);
    expect(held / truth).toBeLessThan(1.2);
    // What the tests that drew them would claim.
    expect(fooled / truth).toBeLessThan(0.65);
  });

  it('too few places, or surfaces that do not vary: none', () => {
    const random = seededRandom(24);
    const few = scatter(15, random);
    const z = Float64Array.from({ length: 15 }, () => randomNormal(random));
    expect(draw([{ name: 'P', xy: few, z, variogram: model }], random)).toEqual([]);
    const xy = scatter(40, random);
    const flat: VariogramModel = { ...model, nugget: 1, partialSill: 0 };
    const noise = Float64Array.from({ length: 40 }, () => randomNormal(random));
    expect(draw([{ name: 'P', xy, z: noise, variogram: flat }], random)).toEqual([]);
  });
});

/** Mean squared difference from the zone's mean over the nodes. */
function withinZones(field: Float64Array, { labels, zones }: ZoneMap): number {
  let sum = 0;
  for (let zone = 0; zone < zones; zone++) {
    const own = [...field].filter((_, i) => labels[i] === zone);
    const mean = own.reduce((s, v) => s + v, 0) / own.length;
    for (const v of own) sum += (v - mean) ** 2 / field.length;
  }
  return sum;
}
