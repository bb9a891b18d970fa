import { describe, expect, it } from 'vitest';
import {
  areaHa,
  rasterNodes,
  regionContains,
  spreadNodes,
  squareOfArea,
  type Region,
} from '../../src/field/index.ts';
import { expectRelative, expectWithin } from '../reference/near.ts';

/** An L of 3 squares of 1 ha with a hole of 0.16 ha in its corner square. */
const bent: Region = [
  [
    [
      [0, 0],
      [200, 0],
      [200, 100],
      [100, 100],
      [100, 200],
      [0, 200],
      [0, 0],
    ],
    [
      [30, 30],
      [70, 30],
      [70, 70],
      [30, 70],
      [30, 30],
    ],
  ],
];

const inside = (region: Region, nodes: Float64Array) => {
  for (let i = 0; i < nodes.length; i += 2)
    if (!regionContains(region, [nodes[i], nodes[i + 1]])) return false;
  return true;
};

describe('spread nodes', () => {
  it.each([1, 50, 300, 2000])('%d: as many as asked, all inside', (count) => {
    for (const region of [squareOfArea(10), bent]) {
      const nodes = spreadNodes(region, count);
      expect(nodes).toHaveLength(2 * count);
      expect(inside(region, nodes)).toBe(true);
    }
  });

  it('even: every sixteenth of a square has its share', () => {
    const count = 1600;
    const nodes = spreadNodes(squareOfArea(4), count);
    const held = new Float64Array(16);
    for (let i = 0; i < nodes.length; i += 2)
      held[4 * Math.floor((nodes[i] + 100) / 50) + Math.floor((nodes[i + 1] + 100) / 50)]++;
    // Random nodes would miss by ten (the root of a hundred).
    for (const n of held) expectWithin(n, count / 16, 4);
  });

  it('even: the arms of a bent field have their shares', () => {
    const nodes = spreadNodes(bent, 1000);
    let [right, top] = [0, 0];
    for (let i = 0; i < nodes.length; i += 2) {
      if (nodes[i] > 100) right++;
      if (nodes[i + 1] > 100) top++;
    }
    expectWithin(right, 1000 / areaHa(bent), 8);
    expectWithin(top, 1000 / areaHa(bent), 8);
  });

  it('no two at one place, and the same each time', () => {
    const nodes = spreadNodes(bent, 500);
    const places = new Set<string>();
    for (let i = 0; i < nodes.length; i += 2) places.add(`${nodes[i]},${nodes[i + 1]}`);
    expect(places.size).toBe(500);
    expect(spreadNodes(bent, 500)).toEqual(nodes);
  });
});

describe('raster nodes', () => {
  it('centres of square cells, about as many as asked, all inside', () => {
    for (const region of [squareOfArea(10), bent]) {
      const { nodes, cellM } = rasterNodes(region, 1000);
      expect(inside(region, nodes)).toBe(true);
      expectRelative(cellM ** 2 * 1000, areaHa(region) * 10_000, 1e-12);
      expectRelative(nodes.length / 2, 1000, 0.05);
      expectRelative(nodes[2] - nodes[0], cellM, 1e-9);
    }
  });

  it('a square that divides evenly is filled exactly', () => {
    const { nodes, cellM } = rasterNodes(squareOfArea(1), 25);
    expectRelative(cellM, 20, 1e-12);
    expect(nodes).toHaveLength(50);
    expectWithin(nodes[0], -40, 1e-9);
    expectWithin(nodes[1], -40, 1e-9);
    expectWithin(nodes[49], 40, 1e-9);
  });
});
