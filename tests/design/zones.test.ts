import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import {
  covariateZones,
  elevationZones,
  nearestNode,
  nodeGraph,
  patchesOf,
  soilUnitZones,
  standardise,
  undrawnZones,
  wholeField,
  yieldZones,
  zonesOfSamples,
} from '../../src/design/index.ts';
import { spreadNodes, squareOfArea, type Region } from '../../src/field/index.ts';
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

describe('zones by elevation', () => {
  it('a terrace is found where it lies, the low ground first', () => {
    const random = seededRandom(31);
    const surface = Float64Array.from(
      { length: 220 },
      (_, i) => (north(i, nodes) ? 8 : 0) + 0.4 * randomNormal(random),
    );
    const map = elevationZones(nodes, surface, 2)!;
    expect(map).toMatchObject({ from: 'elevation', zones: 2, names: ['lowest', 'highest'] });
    const right = map.labels.filter((l, i) => l === (north(i, nodes) ? 1 : 0)).length;
    expect(right / 220).toBeGreaterThan(0.93);
    expect(map.zoneAt(400, 790)).toBe(1);
    expect(map.zoneAt(400, 10)).toBe(0);
  });

  it('level ground has none', () => {
    expect(elevationZones(nodes, new Float64Array(220).fill(0), 2)).toBeUndefined();
  });
});

describe('zones by several covariates', () => {
  const noisy = (seed: number, level: (i: number) => number) => {
    const random = seededRandom(seed);
    return Float64Array.from({ length: 220 }, (_, i) => level(i) + 0.4 * randomNormal(random));
  };
  const east = (i: number) => nodes[2 * i] > QUARTER_SECTION_M / 2;
  // Neither column alone tells the four quarters apart.
  const columns = standardise([
    { kind: 'number', name: 'yield', values: noisy(5, (i) => (north(i, nodes) ? 2 : 0)) },
    { kind: 'number', name: 'elevation', values: noisy(6, (i) => (east(i) ? 2 : 0)) },
  ])!;

  it.each([undefined, 2])('the four quarters are found, fuzziness %s', (fuzziness) => {
    const map = covariateZones(nodes, columns, 4, { random: seededRandom(7), fuzziness })!;
    expect(map).toMatchObject({ from: 'covariates', zones: 4 });
    const seen = new Map<string, Set<number>>();
    let right = 0;
    for (const quarter of [0, 1, 2, 3]) {
      const own = [...map.labels].filter((_, i) => (north(i, nodes) ? 2 : 0) + (east(i) ? 1 : 0) === quarter);
      const most = [0, 1, 2, 3].map((z) => own.filter((l) => l === z).length);
      right += Math.max(...most);
      seen.set(`${quarter}`, new Set([most.indexOf(Math.max(...most))]));
    }
    expect(new Set([...seen.values()].flatMap((s) => [...s])).size).toBe(4);
    expect(right / 220).toBeGreaterThan(0.93);
  });

  it('the same seed gives the same zones', () => {
    const once = () => covariateZones(nodes, columns, 3, { random: seededRandom(8) })!.labels;
    expect(once()).toEqual(once());
  });

  it('no zone is in more than three pieces, and none under 2 % of the field', () => {
    const graph = nodeGraph(nodes);
    let judged = 0;
    for (let seed = 1; seed <= 8; seed++) {
      const random = seededRandom(seed);
      const wave = (i: number) => Math.sin(nodes[2 * i] / (40 + 8 * seed)) * Math.cos(nodes[2 * i + 1] / 90);
      const surface = Float64Array.from({ length: 220 }, (_, i) => wave(i) + 0.5 * randomNormal(random));
      const map = yieldZones(nodes, surface, 3);
      if (!map) continue;
      judged++;
      const patches = patchesOf(graph, map.labels);
      for (let z = 0; z < 3; z++)
        expect(patches.label.filter((l) => l === z).length, `seed ${seed}`).toBeLessThanOrEqual(3);
      for (const size of patches.nodes) expect(size).toBeGreaterThanOrEqual(0.02 * 220);
    }
    expect(judged).toBeGreaterThan(3);
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
