import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  allocate,
  concaveOptions,
  type Allocation,
  type FarmBudget,
  type FieldChoices,
  type FieldOption,
} from '../../src/value/index.ts';
import { seededRandom } from '../../src/describe/index.ts';

const none: FieldOption = { id: 'none', samples: 0, cost: 0, benefit: 0 };
const option = (id: string, samples: number, cost: number, benefit: number): FieldOption => ({
  id,
  samples,
  cost,
  benefit,
});
const pick = (a: Allocation) => a.choices.map((c) => c.option.id);

/** Most benefit within whole-number limits, by dynamic programming over money and samples. */
function exact(fields: readonly FieldChoices[], money: number, samples: number): number {
  const width = samples + 1;
  let best = new Float64Array((money + 1) * width);
  for (const f of fields) {
    const next = new Float64Array(best.length).fill(-Infinity);
    for (const o of f.options)
      for (let m = o.cost; m <= money; m++)
        for (let s = o.samples; s <= samples; s++) {
          const worth = best[(m - o.cost) * width + s - o.samples] + o.benefit;
          if (worth > next[m * width + s]) next[m * width + s] = worth;
        }
    best = next;
  }
  return best[best.length - 1];
}

const whole = (max: number, min = 0) => fc.integer({ min, max });
const anyField = (id: string) =>
  fc
    .array(fc.tuple(whole(5, 1), whole(14, 1), whole(30, -6)), { maxLength: 5 })
    .map((list): FieldChoices => ({
      id,
      options: [none, ...list.map(([s, c, b], k) => option(`o${k}`, s, c, b))],
    }));
const farm = whole(6, 1).chain((n) => fc.tuple(...Array.from({ length: n }, (_, i) => anyField(`F${i}`))));
const runs = { seed: 2026, numRuns: 400 };

function expectSound(fields: readonly FieldChoices[], budget: FarmBudget, best: number): void {
  const a = allocate(fields, budget);
  expect(a.cost).toBeLessThanOrEqual((budget.money ?? Infinity) + 1e-9);
  expect(a.samples).toBeLessThanOrEqual((budget.samples ?? Infinity) + 1e-9);
  expect(a.cost).toBeCloseTo(a.choices.reduce((s, c) => s + c.option.cost, 0));
  expect(a.benefit).toBeCloseTo(a.choices.reduce((s, c) => s + c.option.benefit, 0));
  expect(a.benefit).toBeLessThanOrEqual(best + 1e-9);
  expect(a.bound).toBeGreaterThanOrEqual(best - 1e-7);
  expect(a.gap).toBeCloseTo(a.bound - a.benefit, 9);
  if (a.provenBest) expect(a.benefit).toBeCloseTo(best, 7);
  // Farms this small are always searched to the end.
  expect(a.provenBest).toBe(true);
}

describe('allocate against an exact dynamic programme', () => {
  it('money alone', () => {
    fc.assert(
      fc.property(farm, whole(60), (fields, money) => {
        expectSound(fields, { money }, exact(fields, money, 30));
      }),
      runs,
    );
  });

  it('samples alone', () => {
    fc.assert(
      fc.property(farm, whole(25), (fields, samples) => {
        expectSound(fields, { samples }, exact(fields, 84, samples));
      }),
      runs,
    );
  });

  it('both', () => {
    fc.assert(
      fc.property(farm, whole(50), whole(18), (fields, money, samples) => {
        expectSound(fields, { money, samples }, exact(fields, money, samples));
      }),
      runs,
    );
  });

  it('the bound of two limits is no looser than that of either alone', () => {
    fc.assert(
      fc.property(farm, whole(50), whole(18), (fields, money, samples) => {
        const { bound } = allocate(fields, { money, samples });
        expect(bound).toBeLessThanOrEqual(allocate(fields, { money }).bound + 1e-7);
        expect(bound).toBeLessThanOrEqual(allocate(fields, { samples }).bound + 1e-7);
      }),
      runs,
    );
  });

  it('no limit: each field gets its best option, and none with a loss', () => {
    fc.assert(
      fc.property(farm, (fields) => {
        const a = allocate(fields, {});
        const best = fields.reduce((s, f) => s + Math.max(...f.options.map((o) => o.benefit)), 0);
        expect(a.benefit).toBeCloseTo(best);
        expect([a.gap, a.shadow.perMoney, a.shadow.perSample, a.next]).toEqual([0, 0, 0, []]);
        for (const c of a.choices) expect(c.option.benefit).toBeGreaterThanOrEqual(0);
      }),
      runs,
    );
  });
});

describe('allocate on concave curves', () => {
  const fields: readonly FieldChoices[] = [
    {
      id: 'A',
      options: [none, option('one', 1, 10, 50), option('two', 2, 20, 80), option('three', 3, 30, 90)],
    },
    {
      id: 'B',
      options: [none, option('one', 1, 10, 40), option('two', 2, 20, 60), option('three', 3, 30, 60)],
    },
  ];
  // Steps in order of benefit per 10: A 50, B 40, A 30, B 20, A 10.
  it.each([
    [0, ['none', 'none'], 0, 5],
    [10, ['one', 'none'], 50, 4],
    [20, ['one', 'one'], 90, 3],
    [30, ['two', 'one'], 120, 2],
    [40, ['two', 'two'], 140, 1],
    [50, ['three', 'two'], 150, 0],
    [500, ['three', 'two'], 150, 0],
  ])(
    'a budget of %d that ends on a step: no gap, and the price of the next step',
    (money, ids, benefit, price) => {
      const a = allocate(fields, { money });
      expect(pick(a)).toEqual(ids);
      expect([a.benefit, a.gap, a.relativeGap, a.provenBest]).toEqual([benefit, 0, 0, true]);
      expect(a.shadow.perMoney).toBeCloseTo(price);
    },
  );

  it('between steps the bound takes part of the next one', () => {
    const a = allocate(fields, { money: 25 });
    expect(a.bound).toBeCloseTo(90 + 0.5 * 30);
    expect([a.benefit, a.cost, a.shadow.perMoney]).toEqual([90, 20, 3]);
    expect(a.gap).toBeCloseTo(15);
  });

  it('says what further money would buy, in order', () => {
    expect(allocate(fields, { money: 20 }).next).toEqual([
      { field: 'A', from: 'one', to: 'two', cost: 10, samples: 1, benefit: 30 },
      { field: 'B', from: 'one', to: 'two', cost: 10, samples: 1, benefit: 20 },
      { field: 'A', from: 'two', to: 'three', cost: 10, samples: 1, benefit: 10 },
    ]);
    expect(allocate(fields, { money: 20 }, 1).next).toHaveLength(1);
  });

  it('the price of a sample, when samples are what is short', () => {
    expect(allocate(fields, { samples: 2 }).shadow).toEqual({ perMoney: 0, perSample: 30 });
    expect(allocate(fields, { money: 1000, samples: 2 }).shadow).toEqual({ perMoney: 0, perSample: 30 });
  });

  it('ties go to the field given first', () => {
    const twins: FieldChoices[] = ['A', 'B', 'C'].map((id) => ({
      id,
      options: [none, option('one', 1, 10, 20)],
    }));
    expect(pick(allocate(twins, { money: 20 }))).toEqual(['one', 'one', 'none']);
  });
});

describe('allocate beyond the hull', () => {
  it('buys an option off the hull with what is left', () => {
    // On the hull: none, big. Off it: small, which alone fits.
    const fields = [{ id: 'A', options: [none, option('small', 1, 10, 5), option('big', 3, 30, 60)] }];
    const a = allocate(fields, { money: 12 });
    expect(pick(a)).toEqual(['small']);
    expect(a.bound).toBeCloseTo(24);
    expect(a.provenBest).toBe(true);
    expect(concaveOptions(fields[0].options).map((o) => o.id)).toEqual(['none', 'big']);
  });

  it('gives up a good step when another two are worth more together', () => {
    // Greedy takes A (density 3), after which nothing fits; B and C together are worth more.
    const one = (id: string, cost: number, benefit: number) => ({
      id,
      options: [none, option('x', 1, cost, benefit)],
    });
    const a = allocate([one('A', 6, 18), one('B', 5, 14), one('C', 5, 14)], { money: 10 });
    expect(pick(a)).toEqual(['none', 'x', 'x']);
  });
});

describe('fields that are settled', () => {
  const bad = option('bad', 2, 20, -5);
  const better = option('better', 4, 30, 12);
  const fixedTo = (fixed: FieldChoices['fixed']): FieldChoices[] => [
    { id: 'A', options: [none, bad, better], fixed },
    { id: 'B', options: [none, option('one', 1, 10, 40)] },
  ];

  it.each([
    ['leave out' as const, 60, ['none', 'one']],
    ['sample' as const, 30, ['bad', 'one']],
    ['sample' as const, 40, ['better', 'one']],
    [{ option: 'bad' }, 60, ['bad', 'one']],
    [undefined, 30, ['none', 'one']],
  ])('%j with %d', (fixed, money, ids) => {
    expect(pick(allocate(fixedTo(fixed), { money }))).toEqual(ids);
  });

  it('forced beyond the budget: done at the least cost, and said by how much', () => {
    const a = allocate(fixedTo('sample'), { money: 15, samples: 1 });
    expect(pick(a)).toEqual(['bad', 'none']);
    expect(a.over).toEqual({ money: 5, samples: 1 });
    expect(a.gap).toBe(0);
  });

  it('what cannot be is a mistake of the caller’s', () => {
    expect(() => allocate(fixedTo({ option: 'other' }), {})).toThrow(/Field A has no option/);
    expect(() => allocate([{ id: 'A', options: [] }], {})).toThrow(RangeError);
    expect(() => allocate([{ id: 'A', options: [option('x', 1, -1, 3)] }], {})).toThrow(
      /Option x of field A/,
    );
    expect(() => allocate([], { money: NaN })).toThrow(/NaN money/);
  });
});

it('five hundred fields of twenty options: the gap is a small part of one field', () => {
  const random = seededRandom(7);
  const fields: FieldChoices[] = Array.from({ length: 500 }, (_, i) => {
    const size = 200 + 2000 * random();
    return {
      id: `F${i}`,
      options: [
        none,
        ...Array.from({ length: 19 }, (_, k) => {
          const cost = 40 + 30 * (k + 1) * (0.9 + 0.2 * random());
          return option(`o${k}`, k + 1, cost, size * (1 - Math.exp(-(k + 1) / 5)) - 0.25 * cost);
        }),
      ],
    };
  });
  for (const budget of [{ money: 60_000 }, { samples: 2000 }, { money: 70_000, samples: 1500 }]) {
    const a = allocate(fields, budget);
    expect(a.relativeGap).toBeLessThan(5e-4);
    expect(a.gap).toBeGreaterThanOrEqual(0);
    expect(allocate(fields, budget)).toEqual(a);
  }
});
