import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import {
  efficacyPrior,
  efficacyUnder,
  undrawnZones,
  yieldZones,
  zoneEfficacy,
  zonesOfSamples,
  type ZoneMap,
} from '../../src/design/index.ts';
import { heldMoments, structuredMoments } from '../../src/design/efficacy.ts';
import { spreadNodes } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { makePrior, thin, updateBelief, type Member } from '../../src/prior/index.ts';
import { correlation } from '../../src/variogram/index.ts';
import { expectRelative } from '../reference/near.ts';
import { quarterSection, QUARTER_SECTION_M } from './shapes.ts';

const nodes = spreadNodes(quarterSection, 220);
const north = (i: number, xy: Float64Array) => xy[2 * i + 1] > QUARTER_SECTION_M / 2;

describe('how well zones part the soil', () => {
  const member: Member = {
    kind: 'spherical',
    effectiveRangeM: 400,
    nuggetShare: 0.15,
    sill: 1,
    mean: 0,
    meanSd: 0,
    cv: 0.5,
  };
  const random = seededRandom(60);
  const xy = Float64Array.from({ length: 120 }, () => QUARTER_SECTION_M * random());
  const halves: ZoneMap = {
    from: 'soil units',
    zones: 2,
    names: ['south', 'north'],
    labels: Int32Array.from({ length: 220 }, (_, i) => (north(i, nodes) ? 1 : 0)),
    zoneAt: (_x, y) => (y > QUARTER_SECTION_M / 2 ? 1 : 0),
  };
  const zones = zonesOfSamples(xy, halves);
  const median = (e: { readonly logMean: number }) => Math.exp(e.logMean);

  it('without samples: the prior', () => {
    for (const from of Object.keys(efficacyPrior) as ZoneMap['from'][]) {
      const e = zoneEfficacy(member, { ...halves, from }, undefined, undefined);
      expect(median(e)).toBeCloseTo(efficacyPrior[from].median, 12);
      expect(e.logSd).toBe(efficacyPrior[from].logSd);
    }
  });

  it('a true step between them: below 0.3', () => {
    const noise = seededRandom(61);
    const z = Float64Array.from(
      { length: 60 },
      (_, i) => (zones[i] ? 0.9 : -0.9) + 0.4 * randomNormal(noise),
    );
    const e = zoneEfficacy(member, halves, { xy, z }, zones);
    expect(median(e)).toBeLessThan(0.3);
    expect(e.logSd).toBeLessThan(efficacyPrior['soil units'].logSd);
  });

  it('fields that do not know of the zones: near 1', () => {
    const model = { kind: member.kind, effectiveRangeM: 400, nugget: 0.15, partialSill: 0.85 };
    const draw = seededRandom(62);
    const all = Array.from({ length: 40 }, () =>
      zoneEfficacy(member, halves, { xy, z: simulateField(xy, model, draw, { neighbours: 60 }) }, zones),
    );
    const mean = all.reduce((s, e) => s + e.logMean, 0) / all.length;
    expect(Math.exp(mean)).toBeGreaterThan(0.7);
    expect(Math.exp(mean)).toBeLessThan(1.2);
  });

  // As the advice does it: under members of the belief that the same samples gave.
  it('labels drawn at random, under the belief from the samples: above 0.6', () => {
    const draw = seededRandom(63);
    const model = { kind: member.kind, effectiveRangeM: 200, nugget: 0.3, partialSill: 0.7 };
    const prior = makePrior('P', 'log', {});
    for (let field = 0; field < 8; field++) {
      const scattered = Int32Array.from({ length: 60 }, () => Math.floor(3 * draw()));
      const sample = { xy, z: simulateField(xy, model, draw, { neighbours: 60 }) };
      const members = thin(updateBelief(prior, 'log', sample), 24);
      const mean = members.reduce((s, m) => s + zoneEfficacy(m, halves, sample, scattered).logMean, 0) / 24;
      expect(Math.exp(mean), `field ${field}`).toBeGreaterThan(0.6);
    }
  });

  it('moments held from other maps, places and ranges change nothing', () => {
    const draw = seededRandom(66);
    const z = Float64Array.from({ length: 60 }, () => randomNormal(draw));
    const thirds = Int32Array.from({ length: 60 }, (_, i) => (i % 7 ? i % 3 : -1));
    const shifted = xy.map((v) => v + 3);
    const moments = heldMoments();
    for (const effectiveRangeM of [200, 400])
      for (const kind of ['spherical', 'exponential'] as const)
        for (const at of [xy, shifted])
          for (const labels of [zones, thirds, zones.map((l) => 1 - l)]) {
            const m = { ...member, kind, effectiveRangeM };
            const own = zoneEfficacy(m, halves, { xy: at, z }, labels);
            expect(efficacyUnder(halves, { xy: at, z }, labels, moments)(m)).toEqual(own);
            expect(own.logSd).not.toBe(efficacyPrior['soil units'].logSd);
          }
  });

  it('too few samples to tell: the prior', () => {
    const few = { xy: xy.slice(0, 10), z: Float64Array.of(1, 2, 1, 2, 1) };
    expect(median(zoneEfficacy(member, halves, few, Int32Array.of(0, 0, 1, 1, 1)))).toBeCloseTo(0.8, 12);
  });

  const mean = (values: readonly number[]) => values.reduce((s, v) => s + v, 0) / values.length;
  const scatter = (n: number, draw: () => number) =>
    Float64Array.from({ length: 2 * n }, () => QUARTER_SECTION_M * draw());

  // Zones of a field that has nothing to do with the tests; the true efficacy is 1, the prior's median 0.8.
  it('labels at random say nothing: 0.9 to 1.05 on average', () => {
    const draw = seededRandom(64);
    const model = { kind: member.kind, effectiveRangeM: 400, nugget: 0.15, partialSill: 0.85 };
    const all = Array.from({ length: 30 }, () => {
      const places = scatter(100, draw);
      const z = simulateField(places, model, draw, { neighbours: 40 });
      const labels = Int32Array.from({ length: 100 }, () => Math.floor(3 * draw()));
      return zoneEfficacy(member, halves, { xy: places, z }, labels).logMean;
    });
    expect(Math.exp(mean(all))).toBeGreaterThan(0.9);
    expect(Math.exp(mean(all))).toBeLessThan(1.05);
  });

  // Correlated values within zones count for less than their number: an interval by n − k degrees of freedom misses by
  // 1.7 to 2.1 of its standard deviations here (root mean square).
  it('efficacies drawn from the prior, up to 1, are found within what it says it does not know', () => {
    const draw = seededRandom(65);
    const model = { kind: member.kind, effectiveRangeM: 400, nugget: 1e-6, partialSill: 0.85 };
    const misses: number[] = [];
    while (misses.length < 60) {
      const truth = Math.log(0.8) + 0.6 * randomNormal(draw);
      if (truth > 0) continue;
      const shape = simulateField(nodes, { ...model, effectiveRangeM: 300 }, draw, { neighbours: 20 });
      const drawn = yieldZones(nodes, shape, 3);
      if (!drawn) continue;
      const map: ZoneMap = { ...drawn, from: 'soil units' };
      const places = scatter(90, draw);
      const own = zonesOfSamples(places, map);
      const ground = simulateField(places, model, draw, { neighbours: 40 });
      // The zones' means part by what the efficacy takes from the ground.
      const step = Math.sqrt(1.5 * (1 - Math.exp(truth)) * 0.85);
      const z = ground.map(
        (v, i) => Math.exp(truth / 2) * v + Math.sqrt(0.15) * randomNormal(draw) + step * (own[i] - 1),
      );
      const e = zoneEfficacy(member, map, { xy: places, z }, own);
      misses.push(((e.logMean - truth) / e.logSd) ** 2);
    }
    expect(Math.sqrt(mean(misses))).toBeGreaterThan(0.6);
    expect(Math.sqrt(mean(misses))).toBeLessThan(1.4);
  });

  it('the unit of the tests does not matter, nor how variable the field is as a whole', () => {
    const draw = seededRandom(66);
    const z = Float64Array.from({ length: 60 }, (_, i) => (zones[i] ? 0.5 : -0.5) + randomNormal(draw));
    const base = zoneEfficacy(member, halves, { xy, z }, zones);
    const other = zoneEfficacy({ ...member, sill: 9 }, halves, { xy, z: z.map((v) => 40 * v + 7) }, zones);
    expect(other.logMean).toBeCloseTo(base.logMean, 9);
    expect(other.logSd).toBeCloseTo(base.logSd, 9);
  });

  it('more than 200 samples are thinned, and samples of no zone left out', () => {
    const draw = seededRandom(67);
    const places = scatter(400, draw);
    const map = undrawnZones(nodes, 3);
    const own = zonesOfSamples(places, map);
    const z = Float64Array.from(own, (g) => 2 * g + randomNormal(draw));
    const all = zoneEfficacy(member, map, { xy: places, z }, own);
    const odd = own.map((g, i) => (i % 2 ? g : -1));
    const half = zoneEfficacy(member, map, { xy: places, z }, odd);
    // Of 400 every second is taken: those at odd places.
    expect(all).toEqual(half);
    expect(all.logMean).toBeLessThan(Math.log(0.7));
  });
});

// Searle 1971, Linear Models, ch. 2: E(z'Bz) = tr(BΣ), Cov(z'Bz, z'Dz) = 2·tr(BΣDΣ), here with the matrices written out.
it('moments of the sums of squares within and between zones against plain matrix products', () => {
  const draw = seededRandom(68);
  const xy = Float64Array.from({ length: 40 }, () => 500 * draw());
  const used = [...Array.from({ length: 20 }).keys()].filter((i) => i !== 7);
  const n = used.length;
  const zones = Int32Array.from(used, (_, i) => [4, 1, 1, 9, 4, 9, 9][i % 7]);
  const member: Member = {
    kind: 'exponential',
    effectiveRangeM: 300,
    nuggetShare: 0.2,
    sill: 3,
    mean: 0,
    meanSd: 0,
    cv: 0.5,
  };
  type Matrix = readonly (readonly number[])[];
  const matrix = (of: (i: number, j: number) => number): Matrix =>
    used.map((_, i) => used.map((__, j) => of(i, j)));
  const times = (a: Matrix, b: Matrix) => matrix((i, j) => a[i].reduce((s, v, q) => s + v * b[q][j], 0));
  const trace = (a: Matrix) => a.reduce((s, row, i) => s + row[i], 0);
  const size = (g: number) => zones.filter((l) => l === g).length;
  const inZone = (i: number, j: number) => (zones[i] === zones[j] ? 1 / size(zones[i]) : 0);
  const b = matrix((i, j) => (i === j ? 1 : 0) - inZone(i, j));
  const d = matrix((i, j) => inZone(i, j) - 1 / n);
  const cov = matrix((i, j) => {
    const [p, q] = [used[i], used[j]];
    const h = Math.hypot(xy[2 * p] - xy[2 * q], xy[2 * p + 1] - xy[2 * q + 1]);
    return 3 * 0.8 * correlation('exponential', 300, h);
  });
  const [bs, ds] = [times(b, cov), times(d, cov)];
  const ours = structuredMoments(member, xy, used, zones);
  expectRelative(ours.within, trace(bs), 1e-10, 'within');
  expectRelative(ours.between, trace(ds), 1e-10, 'between');
  expectRelative(ours.within2, trace(times(bs, bs)), 1e-10, 'within twice');
  expectRelative(ours.between2, trace(times(ds, ds)), 1e-10, 'between twice');
  expectRelative(ours.cross2, trace(times(bs, ds)), 1e-9, 'both');
});
