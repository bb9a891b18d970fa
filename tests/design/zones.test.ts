import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import {
  efficacyPrior,
  nearestNode,
  soilUnitZones,
  undrawnZones,
  wholeField,
  yieldZones,
  zoneEfficacy,
  zonesOfSamples,
  type ZoneMap,
} from '../../src/design/index.ts';
import { spreadNodes, squareOfArea, type Region } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import { makePrior, thin, updateBelief, type Member } from '../../src/prior/index.ts';
import { quarterSection, QUARTER_SECTION_M } from './shapes.ts';

const nodes = spreadNodes(quarterSection, 220);
const north = (i: number, xy: Float64Array) => xy[2 * i + 1] > QUARTER_SECTION_M / 2;

const band = (fromX: number, toX: number): Region => [
  [
    [
      [fromX, -10],
      [toX, -10],
      [toX, 900],
      [fromX, 900],
      [fromX, -10],
    ],
  ],
];

describe('zones by soil unit', () => {
  it('each node is of the unit it lies in', () => {
    const map = soilUnitZones(nodes, [
      { label: 'loam', region: band(-10, 300) },
      { label: 'clay', region: band(300, 900) },
    ])!;
    expect(map).toMatchObject({ from: 'soil units', zones: 2, names: ['loam', 'clay'] });
    map.labels.forEach((label, i) => expect(label).toBe(nodes[2 * i] < 300 ? 0 : 1));
  });

  it('nodes of no unit join the nearest that has one', () => {
    const map = soilUnitZones(nodes, [
      { label: 'loam', region: band(-10, 250) },
      { label: 'clay', region: band(550, 900) },
    ])!;
    expect(map.labels.every((l) => l >= 0)).toBe(true);
    map.labels.forEach((label, i) => {
      if (nodes[2 * i] < 350) expect(label).toBe(0);
      if (nodes[2 * i] > 450) expect(label).toBe(1);
    });
  });

  it('a sliver under 2 % is merged with its neighbours', () => {
    const map = soilUnitZones(nodes, [
      { label: 'loam', region: band(-10, 400) },
      { label: 'sliver', region: band(400, 408) },
      { label: 'clay', region: band(408, 900) },
    ])!;
    expect(map.names).toEqual(['loam', 'clay']);
    expect(new Set(map.labels)).toEqual(new Set([0, 1]));
  });

  it('one unit, or units elsewhere: nothing to part', () => {
    expect(soilUnitZones(nodes, [{ label: 'loam', region: band(-10, 900) }])).toBeUndefined();
    expect(
      soilUnitZones(nodes, [
        { label: 'loam', region: band(5000, 5100) },
        { label: 'clay', region: band(6000, 6100) },
      ]),
    ).toBeUndefined();
  });
});

describe('zones by yield', () => {
  it('a surface of two levels is found, lowest first', () => {
    const random = seededRandom(3);
    const surface = Float64Array.from(
      { length: 220 },
      (_, i) => (north(i, nodes) ? 190 : 140) + 8 * randomNormal(random),
    );
    const map = yieldZones(nodes, surface, 2)!;
    expect(map).toMatchObject({ from: 'yield', zones: 2, names: ['lowest yield', 'highest yield'] });
    const right = map.labels.filter((l, i) => l === (north(i, nodes) ? 1 : 0)).length;
    // Nodes at the divide may go with their neighbours.
    expect(right / 220).toBeGreaterThan(0.93);
  });

  it('three levels, and the middle one has a name of its own', () => {
    const surface = Float64Array.from(
      { length: 220 },
      (_, i) => [140, 170, 200][Math.min(2, Math.floor(nodes[2 * i] / 270))],
    );
    const map = yieldZones(nodes, surface, 3)!;
    expect(map.names).toEqual(['lowest yield', 'yield class 2', 'highest yield']);
    expect(new Set(map.labels).size).toBe(3);
  });

  it('lone nodes go with what is about them', () => {
    const spot = nearestNode(nodes, 400, 200);
    const surface = Float64Array.from({ length: 220 }, (_, i) => (north(i, nodes) || i === spot ? 190 : 140));
    expect(yieldZones(nodes, surface, 2)!.labels[spot]).toBe(0);
  });

  it('noise gives zones of nodes or none, for any number', () => {
    for (let seed = 1; seed <= 6; seed++) {
      const random = seededRandom(seed);
      const surface = Float64Array.from({ length: 220 }, () => randomNormal(random));
      for (let k = 2; k <= 8; k++) {
        const map = yieldZones(nodes, surface, k);
        if (!map) continue;
        expect(map.labels).toHaveLength(220);
        expect(map.names).toHaveLength(k);
        for (let z = 0; z < k; z++)
          expect(map.labels.filter((l) => l === z).length).toBeGreaterThanOrEqual(0.03 * 220);
      }
    }
  });

  it('fewer levels than zones: none', () => {
    expect(yieldZones(nodes, new Float64Array(220).fill(7), 2)).toBeUndefined();
    expect(
      yieldZones(
        nodes,
        Float64Array.from({ length: 220 }, (_, i) => i % 2),
        3,
      ),
    ).toBeUndefined();
  });
});

describe('zones nobody drew, the whole field, and where samples lie', () => {
  it('compact pieces that use every number', () => {
    const map = undrawnZones(nodes, 4);
    expect(map).toMatchObject({ from: 'not drawn yet', zones: 4 });
    expect(new Set(map.labels)).toEqual(new Set([0, 1, 2, 3]));
    expect(new Set(wholeField(nodes).labels)).toEqual(new Set([0]));
  });

  it('a sample is of its nearest node’s zone', () => {
    const map = undrawnZones(nodes, 4);
    const xy = spreadNodes(squareOfArea(20), 30).map((v) => v + 300);
    zonesOfSamples(xy, map).forEach((zone, i) =>
      expect(zone).toBe(map.labels[nearestNode(nodes, xy[2 * i], xy[2 * i + 1])]),
    );
  });
});

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
    for (const from of ['soil units', 'yield', 'not drawn yet'] as const) {
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

  it('too few samples to tell: the prior', () => {
    const few = { xy: xy.slice(0, 10), z: Float64Array.of(1, 2, 1, 2, 1) };
    expect(median(zoneEfficacy(member, halves, few, Int32Array.of(0, 0, 1, 1, 1)))).toBeCloseTo(0.8, 12);
  });
});
