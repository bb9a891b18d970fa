import { describe, expect, it } from 'vitest';
import { cropPlans } from '../../src/value/crops.ts';
import { guidanceTables } from '../../src/value/guidance.ts';
import { makeRateCase } from '../../src/value/makeRateCase.ts';
import { usualPrices } from '../../src/value/prices.ts';
import { withTabulatedResponse } from '../../src/value/tabulatedResponse.ts';

const cases = guidanceTables.flatMap((guidance) =>
  cropPlans.flatMap((plan) =>
    ['P', 'K', 'pH', 'bufferPH', 'Zn'].flatMap((id) => {
      const made = makeRateCase(guidance, plan, { id }, {}, usualPrices);
      return 'case' in made ? [{ name: `${guidance.id} ${plan.id} ${id}`, of: made.case }] : [];
    }),
  ),
);

describe('a tabulated response', () => {
  it('there are cases of every table', () => expect(cases.length).toBeGreaterThan(40));

  it.each(cases)('$name is the response', ({ of }) => {
    const tabulated = withTabulatedResponse(of);
    const last = Math.max(...of.bends);
    for (let i = 0; i <= 997; i++) {
      const test = (2 * last * i) / 997;
      // Lime by the buffer starts with a step: within a node of it the table ramps.
      if (of.bends.some((b) => Math.abs(b - test) < (1.5 * last) / 6000)) continue;
      expect(Math.abs(tabulated.relativeYield(test) - of.relativeYield(test))).toBeLessThan(3e-4);
    }
    expect(tabulated.relativeYield(-1)).toBe(of.relativeYield(-1));
    expect(tabulated.relativeYield(10 * last)).toBe(of.relativeYield(10 * last));
  });

  it('without a bend is left as it is', () => {
    const [{ of }] = cases;
    const bare = { ...of, bends: [], classes: [] };
    expect(withTabulatedResponse(bare)).toBe(bare);
  });
});
