import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  cleanUp,
  nodeGraph,
  patchesOf,
  patchWidthsM,
  smoothLabels,
  type NodeGraph,
} from '../../src/design/index.ts';
import { areaHa, rasterNodes, spreadNodes } from '../../src/field/index.ts';
import { horseshoe, lShape, quarterSection } from './shapes.ts';
import { expectRelative } from '../reference/near.ts';

/** 12 × 12 nodes, 50 m apart: 36 ha. */
const side = 12;
const grid = Float64Array.from(
  Array.from({ length: side * side }, (_, i) => [50 * (i % side), 50 * Math.floor(i / side)]).flat(),
);
const square = nodeGraph(grid, 36);
const labelled = (of: (x: number, y: number) => number) =>
  Int32Array.from({ length: side * side }, (_, i) => of(i % side, Math.floor(i / side)));
const neighbours = (g: NodeGraph, i: number) => [...g.to.subarray(g.starts[i], g.starts[i + 1])];
const loose = { minAreaHa: 0, minWidthM: 0, minShare: 0, patchesPerZone: 1000 };

describe('nodes side by side', () => {
  it('on a square grid: the four beside it, with borders of a cell’s side', () => {
    const at = 5 * side + 5;
    for (const j of [at - 1, at + 1, at - side, at + side]) {
      const e = [...square.to.keys()].find(
        (q) => q >= square.starts[at] && q < square.starts[at + 1] && square.to[q] === j,
      )!;
      expectRelative(square.borderM[e], 50, 1e-9);
    }
    expect(square.spacingM).toBe(50);
  });

  it('neighbours are mutual, for any shape, and the field’s area is told from its nodes', () => {
    for (const [region, nodes] of [quarterSection, lShape, horseshoe].flatMap((r) =>
      [spreadNodes(r, 220), rasterNodes(r, 220).nodes].map((v) => [r, v] as const),
    )) {
      const g = nodeGraph(nodes);
      for (let i = 0; 2 * i < nodes.length; i++) {
        expect(neighbours(g, i).length).toBeGreaterThan(0);
        for (const j of neighbours(g, i)) expect(neighbours(g, j)).toContain(i);
      }
      expect(Math.abs(g.areaHa / areaHa(region) - 1)).toBeLessThan(0.06);
    }
  });

  it('nothing leaps the bay of a horseshoe, 300 m wide', () => {
    const { nodes } = rasterNodes(horseshoe, 220);
    const g = nodeGraph(nodes, areaHa(horseshoe));
    for (let i = 0; i < g.starts.length - 1; i++)
      for (const j of neighbours(g, i))
        expect(Math.hypot(nodes[2 * i] - nodes[2 * j], nodes[2 * i + 1] - nodes[2 * j + 1])).toBeLessThan(
          2.5 * g.spacingM + 1e-9,
        );
  });

  it('nodes on one line, or two of them, are tied to their nearest', () => {
    const line = nodeGraph(Float64Array.of(0, 0, 10, 0, 20, 0, 30, 0));
    expect(neighbours(line, 0)).toEqual([1]);
    expect(neighbours(nodeGraph(Float64Array.of(0, 0, 10, 0)), 1)).toEqual([0]);
  });
});

describe('patches', () => {
  it('two squares of one zone that touch nowhere are two', () => {
    const patches = patchesOf(
      square,
      labelled((x, y) => ((x < 3 && y < 3) || (x > 8 && y > 8) ? 1 : 0)),
    );
    expect([...patches.label].sort()).toEqual([0, 1, 1]);
    expect([...patches.nodes].sort((a, b) => a - b)).toEqual([9, 9, 126]);
  });

  it('width of a strip, of a bent one, and of a lone node', () => {
    const widthOf = (labels: Int32Array) => {
      const patches = patchesOf(square, labels);
      return patchWidthsM(square, patches)[patches.label.indexOf(1)];
    };
    expectRelative(widthOf(labelled((_, y) => (y === 4 ? 1 : 0))), 50, 1e-9);
    const two = widthOf(labelled((_, y) => (y === 4 || y === 5 ? 1 : 0)));
    expect(two).toBeGreaterThan(85);
    expect(two).toBeLessThan(101);
    // Down one side and along the foot: as narrow as it is, though its box is the field.
    expect(widthOf(labelled((x, y) => (x === 0 || y === 0 ? 1 : 0)))).toBeLessThan(55);
    expectRelative(widthOf(labelled((x, y) => (x === 6 && y === 6 ? 1 : 0))), 50, 1e-9);
  });
});

describe('majority filter', () => {
  it('a lone node goes with what is about it, halves stay', () => {
    const halves = labelled((x) => (x < 6 ? 0 : 1));
    const dotted = halves.slice();
    dotted[3 * side + 2] = 1;
    expect(smoothLabels(square, dotted, 2)).toEqual(halves);
  });
});

describe('zones a spreader can follow', () => {
  it('a small patch joins the zone it shares most border with', () => {
    // In zone 0, with one side of three on zone 1.
    const labels = labelled((x, y) => (x === 5 && y >= 4 && y <= 5 ? 2 : x < 6 ? 0 : 1));
    const { labels: clean, kept } = cleanUp(square, labels, { ...loose, minAreaHa: 1 });
    expect(kept).toEqual([0, 1]);
    expect(clean).toEqual(labelled((x) => (x < 6 ? 0 : 1)));
    // The other way round: it lies in zone 1, and zone 0 is met first.
    const mirrored = labelled((x, y) => (x === 6 && y >= 4 && y <= 5 ? 2 : x < 6 ? 0 : 1));
    expect(cleanUp(square, mirrored, { ...loose, minAreaHa: 1 }).labels).toEqual(
      labelled((x) => (x < 6 ? 0 : 1)),
    );
  });

  it('a strip a node wide is too narrow for 90 m, and stays for 40 m', () => {
    const strip = labelled((x) => (x === 6 ? 2 : x < 6 ? 0 : 1));
    expect(cleanUp(square, strip, { ...loose, minWidthM: 90 }).kept).toEqual([0, 1]);
    expect(cleanUp(square, strip, { ...loose, minWidthM: 40 }).kept).toEqual([0, 1, 2]);
  });

  it('a zone of five pieces keeps the largest three', () => {
    const corner = [4, 3, 3, 2];
    const labels = labelled((x, y) => {
      const [u, v] = [Math.min(x, 11 - x), Math.min(y, 11 - y)];
      if (x > 4 && x < 7 && y > 4 && y < 7) return 1;
      return Math.max(u, v) < corner[(x > 5 ? 1 : 0) + (y > 5 ? 2 : 0)] ? 1 : 0;
    });
    expect(patchesOf(square, labels).label.filter((l) => l === 1)).toHaveLength(5);
    const { labels: clean } = cleanUp(square, labels, { ...loose, patchesPerZone: 3 });
    const left = patchesOf(square, clean);
    expect(left.nodes.filter((_, p) => left.label[p] === 1).sort((a, b) => a - b)).toEqual([9, 9, 16]);
  });

  it('a zone under the least share is given up though its one patch is large enough', () => {
    const labels = labelled((x, y) => (x < 3 && y < 3 ? 2 : x < 6 ? 0 : 1));
    expect(cleanUp(square, labels, { ...loose, minShare: 0.1 }).kept).toEqual([0, 1]);
    expect(cleanUp(square, labels, { ...loose, minShare: 0.06 }).kept).toEqual([0, 1, 2]);
  });

  it('a part of the field on its own keeps its zone, unless that is given up', () => {
    const apart = grid.slice();
    // The last four nodes lie a kilometre away.
    for (let i = 140; i < 144; i++) apart[2 * i] += 1000;
    const g = nodeGraph(apart, 36);
    const labels = labelled((x, y) => (side * y + x >= 140 ? 1 : 0));
    expect(cleanUp(g, labels, { ...loose, minAreaHa: 3 }).kept).toEqual([0, 1]);
    expect(cleanUp(g, labels, { ...loose, minShare: 0.05 }).kept).toEqual([0]);
  });

  const setting = fc.record({
    labels: fc.array(fc.integer({ min: 0, max: 3 }), { minLength: 120, maxLength: 120 }),
    block: fc.integer({ min: 1, max: 4 }),
    options: fc.record({
      minAreaHa: fc.double({ min: 0, max: 4, noNaN: true }),
      minWidthM: fc.constantFrom(0, 40, 80),
      minShare: fc.double({ min: 0, max: 0.2, noNaN: true }),
      patchesPerZone: fc.integer({ min: 1, max: 4 }),
    }),
  });
  const fields = [quarterSection, lShape, horseshoe].map((region) =>
    nodeGraph(rasterNodes(region, 100).nodes, areaHa(region)),
  );

  it('whatever the labels: every limit is kept, nothing new appears, and done again it changes nothing', () => {
    fc.assert(
      fc.property(setting, fc.constantFrom(...fields), ({ labels, block, options }, graph) => {
        const n = graph.starts.length - 1;
        // Runs of nodes share a label, so that patches of every size come up.
        const own = Int32Array.from({ length: n }, (_, i) => labels[Math.floor(i / block) % 120]);
        const { labels: clean, kept } = cleanUp(graph, own, options);
        expect(new Set(clean)).toEqual(new Set(kept.keys()));
        for (const l of kept) expect(own.includes(l)).toBe(true);
        const again = cleanUp(graph, clean, options);
        expect(again.labels).toEqual(clean);
        if (kept.length < 2) return;
        const patches = patchesOf(graph, clean);
        const widths = patchWidthsM(graph, patches);
        const nodeHa = graph.areaHa / n;
        patches.nodes.forEach((size, p) => {
          expect(size * nodeHa).toBeGreaterThanOrEqual(options.minAreaHa * (1 - 1e-6));
          expect(widths[p]).toBeGreaterThanOrEqual(options.minWidthM * (1 - 1e-6));
        });
        kept.forEach((_, z) => {
          expect(patches.label.filter((l) => l === z).length).toBeLessThanOrEqual(options.patchesPerZone);
          expect(clean.filter((l) => l === z).length / n).toBeGreaterThanOrEqual(
            options.minShare * (1 - 1e-6),
          );
        });
      }),
      { seed: 11, numRuns: 120 },
    );
  });
});
