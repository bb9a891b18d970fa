import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../src/describe/index.ts';
import { gridStops, nominalStops } from '../../src/design/index.ts';
import { areaHa, squareOfArea } from '../../src/field/index.ts';
import { walkingOrder, walkLengthM } from '../../src/plan/index.ts';
import { acresToHa } from '../../src/units/index.ts';
import { samplingCost } from '../../src/value/index.ts';
import { lShape, quarterSection, withHole } from '../design/shapes.ts';
import { expectRelative } from '../reference/near.ts';

const rates = { labPrice: 27.5, labourPerHour: 45 };
const quarter = acresToHa(160);

describe('cost of one sampling', () => {
  // Common practice, no source: a 5-acre grid with analyses of 25 to 30 USD costs a little over 5 USD an acre, and a
  // hired sampler asks 1 to 2 USD an acre for pulling it.
  it('5 acres on a quarter section: 5.50 USD an acre for the laboratory, 1 to 2 for the work', () => {
    const samples = nominalStops(quarter, acresToHa(5));
    const cost = samplingCost(quarter, samples, 10, samples, rates);
    expectRelative(cost.laboratory / 160, 5.5, 1e-12);
    expect(cost.labour / 160).toBeGreaterThan(1);
    expect(cost.labour / 160).toBeLessThan(2);
    expectRelative(cost.total, cost.laboratory + cost.labour, 1e-12);
    expectRelative(cost.labour, 45 * cost.hours, 1e-12);
  });

  it('nothing is dearer with fewer samples, fewer cores, a lower price or a shorter walk', () => {
    const base = samplingCost(quarter, 32, 10, 32, rates);
    for (const less of [
      samplingCost(quarter, 31, 10, 31, rates),
      samplingCost(quarter, 32, 9, 32, rates),
      samplingCost(quarter, 32, 10, 32, { ...rates, labPrice: 27 }),
      samplingCost(quarter, 32, 10, 32, { ...rates, labourPerHour: 44 }),
      samplingCost(quarter, 32, 10, 32, rates, base.walkM - 100),
    ])
      expect(less.total).toBeLessThan(base.total);
    const free = samplingCost(quarter, 32, 10, 32, { labPrice: 0, labourPerHour: 0 });
    expect(free.total).toBe(0);
    expect(free.hours).toBe(base.hours);
  });
});

// Beardwood, Halton & Hammersley 1959, Proc. Cambridge Phil. Soc. 55: 299-327; constant 0.7124 of Johnson & McGeoch 1996.
describe('the expected walk against the walk laid', () => {
  const walkOf = (xy: Float64Array) => walkLengthM(xy, walkingOrder(xy));

  it('through many places at random: 0.7124 of the walk through evenly spread ones', () => {
    const random = seededRandom(6);
    const xy = Float64Array.from({ length: 1200 }, () => 1000 * random());
    const expected = 0.7124 * samplingCost(100, 600, 1, 600, rates).walkM;
    // 2-opt from the nearest neighbour lies some 5 % above the shortest, and the edge adds a little (from memory).
    expect(walkOf(xy)).toBeGreaterThan(expected);
    expectRelative(walkOf(xy), expected, 0.2);
  });

  it.each([
    ['a quarter section', quarterSection],
    ['an L', lShape],
    ['a field with a hole', withHole],
    ['a square of 20 ha', squareOfArea(20)],
  ])('%s: within 35 % of the walk through a grid', (_, region) => {
    for (const stops of [8, 16, 32, 64]) {
      const actual = walkOf(gridStops(region, stops).xy);
      expectRelative(
        samplingCost(areaHa(region), stops, 10, stops, rates).walkM,
        actual,
        0.35,
        `${stops} stops`,
      );
    }
  });
});
