import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom, type Random } from '../../src/describe/index.ts';
import {
  nearestNode,
  spatialFolds,
  squaredErrorsOut,
  undrawnZones,
  zoneScore,
  type ZoneMap,
} from '../../src/design/index.ts';
import { spreadNodes } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { expectRelative } from '../reference/near.ts';
import { oxfordValues, oxfordXy } from '../reference/reference.ts';
import { leaveOneOutReference, mapClasses } from '../reference/zones.ts';
import { quarterSection, QUARTER_SECTION_M } from './shapes.ts';

const nodes = spreadNodes(quarterSection, 220);
const scatter = (n: number, random: Random) =>
  Float64Array.from({ length: 2 * n }, () => QUARTER_SECTION_M * random());
const ground = { kind: 'spherical' as const, effectiveRangeM: 250, nugget: 0.05, partialSill: 0.95 };

/** Three levels by easting: bands that yield shows and soil tests may or may not follow. */
const band = (x: number) => Math.min(2, Math.floor((3 * x) / QUARTER_SECTION_M));
const bands: ZoneMap = {
  from: 'yield',
  zones: 3,
  names: ['west', 'middle', 'east'],
  labels: Int32Array.from({ length: 220 }, (_, i) => band(nodes[2 * i])),
  zoneAt: (x) => band(x),
};
const scattered = (zones: number, random: Random): ZoneMap => {
  const labels = Int32Array.from({ length: 220 }, () => Math.floor(zones * random()));
  return {
    from: 'soil units',
    zones,
    names: [...labels.keys()].slice(0, zones).map(String),
    labels,
    zoneAt: (x, y) => labels[nearestNode(nodes, x, y)],
  };
};

describe('squared errors out of sample', () => {
  const [z, zones] = [
    [3, 5, 10, 1, 4, 20],
    [0, 0, 0, 1, 1, 2],
  ];

  it('each value from the mean of the others of its zone, or of the field where it is alone', () => {
    const errors = squaredErrorsOut(z, zones);
    [7.5, 6.5, 4, 4, 1, 4.6].forEach((guess, i) => expectRelative(errors[i], (z[i] - guess) ** 2, 1e-12));
  });

  it('by folds: none of the same fold is used', () => {
    const errors = squaredErrorsOut(z, zones, [0, 0, 1, 1, 2, 2]);
    [10, 10, 4, 4, 1, 4.75].forEach((guess, i) => expectRelative(errors[i], (z[i] - guess) ** 2, 1e-12));
  });

  it('one zone: the variance times n/(n − 1), the closed form of leaving one out', () => {
    const random = seededRandom(1);
    const values = Array.from({ length: 30 }, () => randomNormal(random));
    const mean = values.reduce((s, v) => s + v, 0) / 30;
    squaredErrorsOut(values, new Int32Array(30)).forEach((e, i) =>
      expectRelative(e, ((30 / 29) * (values[i] - mean)) ** 2, 1e-9),
    );
  });
});

// R 4.2.2, a loop over the 126 profiles (tests/reference/zones.R).
describe('leave-one-out by map class against R', () => {
  it.each(Object.keys(leaveOneOutReference))('%s', (variable) => {
    const z = oxfordValues(variable);
    const meanOf = (e: Float64Array) => e.reduce((s, v) => s + v, 0) / e.length;
    const theirs = leaveOneOutReference[variable];
    expectRelative(meanOf(squaredErrorsOut(z, mapClasses)), theirs.within, 1e-10, 'within');
    expectRelative(meanOf(squaredErrorsOut(z, new Int32Array(z.length))), theirs.field, 1e-10, 'field');
    const map: ZoneMap = {
      from: 'soil units',
      zones: new Set(mapClasses).size,
      names: [...new Set(mapClasses)].map(String),
      labels: mapClasses,
      zoneAt: (x, y) => mapClasses[nearestNode(oxfordXy, x, y)],
    };
    const score = zoneScore(
      oxfordXy,
      { map },
      { xy: oxfordXy, z },
      { random: seededRandom(1), placings: 5 },
    )!;
    expectRelative(score.relativeToField, theirs.within / theirs.field, 1e-10);
  });
});

it('folds in space are compact and of the number asked', () => {
  const xy = scatter(80, seededRandom(2));
  const folds = spatialFolds(xy, 8);
  expect(new Set(folds).size).toBe(8);
  let [within, all] = [0, 0];
  let [pairsWithin, pairs] = [0, 0];
  for (let i = 0; i < 80; i++)
    for (let j = 0; j < i; j++) {
      const d = Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]);
      all += d;
      pairs++;
      if (folds[i] !== folds[j]) continue;
      within += d;
      pairsWithin++;
    }
  expect(within / pairsWithin).toBeLessThan((0.45 * all) / pairs);
});

describe('a division judged out of sample', () => {
  it('true zones explain most, and far more than compact pieces', () => {
    const random = seededRandom(3);
    const xy = scatter(60, random);
    const z = Float64Array.from(
      { length: 60 },
      (_, i) => 3 * (band(xy[2 * i]) % 2) + 0.6 * randomNormal(random),
    );
    const score = zoneScore(nodes, { map: bands }, { xy, z }, { random })!;
    expect(score).toMatchObject({ k: 3, from: 'yield', samples: 60 });
    expect(score.relativeToField).toBeLessThan(0.3);
    expect(score.explained).toBeCloseTo(1 - score.relativeToField, 12);
    expect(score.efficacy.high).toBeLessThan(0.6);
    expect(score.asGoodByChance).toBeLessThan(0.05);
    // Noise of 0.6 is all they leave, and what three means do not know.
    expect(score.withinVarianceOut).toBeGreaterThan(0.2);
    expect(score.withinVarianceOut).toBeLessThan(0.55);
  });

  it('labels at random explain less than nothing on average, and the interval of the efficacy is not below 1', () => {
    let [explained, below, chance] = [0, 0, 0];
    for (let run = 0; run < 25; run++) {
      const random = seededRandom(100 + run);
      const xy = scatter(50, random);
      const z = simulateField(xy, ground, random, { neighbours: 30 });
      const score = zoneScore(nodes, { map: scattered(3, random) }, { xy, z }, { random, placings: 39 })!;
      explained += score.explained / 25;
      chance += score.asGoodByChance / 25;
      if (score.efficacy.high < 1) below++;
    }
    expect(explained).toBeLessThan(0);
    expect(below).toBeLessThanOrEqual(2);
    // Uniform under the null: mean 0.5, standard error 0.06.
    expect(chance).toBeGreaterThan(0.32);
    expect(chance).toBeLessThan(0.68);
  });

  // Neighbours are alike: plain leave-one-out flatters any compact division. Held against others as compact it says nothing more.
  it('compact pieces on ground with a pattern explain something, but no more than others like them', () => {
    let [explained, efficacy] = [0, 0];
    for (let run = 0; run < 12; run++) {
      const random = seededRandom(200 + run);
      const xy = scatter(90, random);
      const z = simulateField(xy, { ...ground, effectiveRangeM: 700 }, random, { neighbours: 30 });
      const score = zoneScore(nodes, { map: undrawnZones(nodes, 4) }, { xy, z }, { random, placings: 9 })!;
      explained += score.explained / 12;
      efficacy += score.efficacy.value / 12;
    }
    expect(explained).toBeGreaterThan(0.2);
    expect(Math.abs(efficacy - 1)).toBeLessThan(0.1);
  });

  // Zones drawn from the very tests that judge them look good; drawn again without each fold they do not.
  it('zones drawn from the tests are judged without them', () => {
    const random = seededRandom(5);
    const xy = scatter(60, random);
    const z = Float64Array.from({ length: 60 }, () => randomNormal(random));
    const draw = (kept: readonly number[]): ZoneMap => {
      const sorted = kept.map((i) => z[i]).sort((a, b) => a - b);
      const middle = sorted[sorted.length >> 1];
      const places = Float64Array.from(kept.flatMap((i) => [xy[2 * i], xy[2 * i + 1]]));
      const zoneAt = (x: number, y: number) => (z[kept[nearestNode(places, x, y)]] < middle ? 0 : 1);
      const labels = Int32Array.from({ length: 220 }, (_, i) => zoneAt(nodes[2 * i], nodes[2 * i + 1]));
      return { from: 'covariates', zones: 2, names: ['low', 'high'], labels, zoneAt };
    };
    const map = draw([...z.keys()]);
    const folds = Int32Array.from(z, (_, i) => i % 10);
    const naive = zoneScore(nodes, { map }, { xy, z }, { random, folds })!;
    const honest = zoneScore(nodes, { map, without: draw }, { xy, z }, { random, folds })!;
    expect(naive.relativeToField).toBeLessThan(0.6);
    expect(honest.relativeToField).toBeGreaterThan(0.9);
  });

  it('too few values, or all alike: no answer', () => {
    const random = seededRandom(6);
    const xy = scatter(8, random);
    expect(
      zoneScore(nodes, { map: bands }, { xy, z: new Float64Array(8).fill(4.1) }, { random }),
    ).toBeUndefined();
    expect(
      zoneScore(nodes, { map: bands }, { xy: xy.slice(0, 10), z: [1, 2, 3, 4, 5] }, { random }),
    ).toBeUndefined();
  });
});
