import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { scheduleYears, type FieldOutlook, type YearBudget } from '../../src/value/index.ts';

const KEPT = 4;
/** A loss that stays for the years kept, then rises to what an unknown field loses. */
const fading = (fresh: number, unknown: number) => (age: number) =>
  fresh + (unknown - fresh) * Math.min(1, Math.max(0, (age - KEPT + 1) / KEPT));
const field = (id: string, ageYears: number, fresh: number, unknown: number, cost: number): FieldOutlook => ({
  id,
  ageYears,
  lossPerYearAtAge: fading(fresh, unknown),
  options: [{ id: 'grid', samples: cost / 30, cost, lossPerYearAtAge: fading(fresh, unknown) }],
});

/** Least total over all plans of all fields that keep to the budgets, by trying every one. */
function bruteForce(fields: readonly FieldOutlook[], budgets: readonly YearBudget[]): number {
  const years = budgets.length;
  const money = budgets.map((b) => b.money ?? Infinity);
  const stops = budgets.map((b) => b.samples ?? Infinity);
  const visit = (i: number): number => {
    if (i === fields.length) return 0;
    const f = fields[i];
    let best = Infinity;
    for (let bits = 0; bits < 1 << years; bits++)
      for (const o of bits === 0 ? [undefined] : f.options) {
        let [age, loss, total, last] = [f.ageYears, f.lossPerYearAtAge, 0, -1];
        let fits = true;
        for (let t = 0; t < years; t++) {
          if (o && (bits >> t) & 1) {
            [age, loss, last] = [0, o.lossPerYearAtAge, t];
            total += o.cost;
            money[t] -= o.cost;
            stops[t] -= o.samples;
            if (money[t] < -1e-9 || stops[t] < -1e-9) fits = false;
          }
          total += loss(age++);
        }
        if (o && last >= 0) total -= o.cost * Math.max(0, 1 - (years - last) / KEPT);
        if (fits) best = Math.min(best, total + visit(i + 1));
        for (let t = 0; o && t < years; t++)
          if ((bits >> t) & 1) {
            money[t] += o.cost;
            stops[t] += o.samples;
          }
      }
    return best;
  };
  return visit(0);
}

const anyField = (id: string): fc.Arbitrary<FieldOutlook> =>
  fc
    .record({
      age: fc.constantFrom(0, 1, 3, 5, Infinity),
      unknown: fc.integer({ min: 0, max: 300 }),
      shares: fc.array(fc.integer({ min: 0, max: 100 }), { minLength: 1, maxLength: 2 }),
      cost: fc.integer({ min: 1, max: 20 }),
    })
    .map(({ age, unknown, shares, cost }) => ({
      id,
      ageYears: age,
      lossPerYearAtAge: fading((unknown * shares[0]) / 100, unknown),
      options: shares.map((s, k) => ({
        id: `o${k}`,
        samples: cost * (k + 1),
        cost: 30 * cost * (k + 1),
        lossPerYearAtAge: fading((unknown * s) / 100, unknown),
      })),
    }));
const farm = fc.tuple(anyField('A'), anyField('B'), anyField('C'));
const limits = fc.array(
  fc.record({
    money: fc.option(fc.integer({ min: 0, max: 1200 }), { nil: undefined }),
    samples: fc.option(fc.integer({ min: 0, max: 40 }), { nil: undefined }),
  }),
  { minLength: 2, maxLength: 3 },
);

describe('scheduleYears against every plan tried', () => {
  it('keeps to the budgets; the bound is valid; the best plan is found nearly always', () => {
    let [cases, best, lost, saved, loose] = [0, 0, 0, 0, 0];
    fc.assert(
      fc.property(farm, limits, (fields, budgets) => {
        const s = scheduleYears(fields, budgets, { yearsKept: KEPT });
        const least = bruteForce(fields, budgets);
        budgets.forEach((b, t) => {
          expect(s.years[t].cost).toBeLessThanOrEqual((b.money ?? Infinity) + 1e-6);
          expect(s.years[t].samples).toBeLessThanOrEqual((b.samples ?? Infinity) + 1e-6);
        });
        expect(s.total).toBeCloseTo(
          s.fields.reduce((sum, f) => sum + f.total, 0),
          6,
        );
        expect(s.total).toBeGreaterThanOrEqual(least - 1e-6);
        expect(s.bound).toBeLessThanOrEqual(least + 1e-6);
        expect(s.gap).toBeCloseTo(s.total - s.bound, 6);
        cases++;
        if (s.total <= least + 1e-6) best++;
        lost += s.total - least;
        loose += least - s.bound;
        saved +=
          bruteForce(
            fields,
            budgets.map(() => ({ money: 0 })),
          ) - least;
      }),
      { seed: 2026, numRuns: 150 },
    );
    expect(best / cases).toBeGreaterThan(0.97);
    expect(lost).toBeLessThan(0.003 * saved);
    // Three fields are few for a relaxation; on many it is tight (below).
    expect(loose).toBeLessThan(0.15 * saved);
  });
});

describe('the plan of years', () => {
  const budgets = (money: number, years = 4): YearBudget[] =>
    Array.from({ length: years }, () => ({ money }));

  it('fields never sampled with much at stake come first, the rest as money allows', () => {
    const fields = [
      field('fresh', 1, 100, 900, 600),
      field('small stake', Infinity, 100, 400, 600),
      field('large stake', Infinity, 100, 1400, 600),
      field('idle', Infinity, 100, 110, 600),
    ];
    const s = scheduleYears(fields, budgets(600), { yearsKept: KEPT });
    expect(s.fields.map((f) => [f.field, f.dueYear, f.reason])).toEqual([
      // After three seasons it begins to fade, but it is not worth a new sampling within the horizon.
      ['fresh', s.fields[0].dueYear, s.fields[0].reason],
      ['small stake', 1, 'waits for money'],
      ['large stake', 0, 'never sampled'],
      ['idle', undefined, 'does not pay yet'],
    ]);
    expect(s.fields[0].dueYear).not.toBe(0);
    expect(s.fields[1].costOfWaiting).toBeGreaterThan(0);
    expect(s.fields[2].costOfWaiting).toBe(0);
    expect(s.shadowPerMoney[0]).toBeGreaterThan(0);
  });

  it('an old sampling is renewed when it has faded, not before', () => {
    const s = scheduleYears([field('A', 2, 0, 1000, 400)], budgets(400, 6), { yearsKept: KEPT });
    expect(s.fields[0].dueYear).toBe(2);
    expect(s.fields[0].reason).toBe('best year');
  });

  it('with no money nothing is sampled, and it says so', () => {
    const s = scheduleYears([field('A', Infinity, 0, 1000, 400)], budgets(0), { yearsKept: KEPT });
    expect(s.fields[0]).toMatchObject({ years: [], reason: 'no room', dueUnlimited: 0, total: 4000 });
    expect(s.fields[0].costOfWaiting).toBeCloseTo(4000 - 400);
  });

  it('stops per day times days count like money', () => {
    const fields = ['A', 'B'].map((id) => field(id, Infinity, 0, 1000, 600));
    const s = scheduleYears(fields, [{ samples: 20 }, { samples: 20 }], { yearsKept: KEPT });
    expect(s.fields.map((f) => f.dueYear)).toEqual([0, 1]);
    expect(s.years.map((y) => y.samples)).toEqual([20, 20]);
  });

  it('what is settled for the first year is kept, at a price', () => {
    const fields = [
      { ...field('A', Infinity, 0, 1000, 600), firstYear: 'leave out' as const },
      { ...field('B', Infinity, 0, 500, 600), firstYear: 'sample' as const },
    ];
    const s = scheduleYears(fields, budgets(600), { yearsKept: KEPT });
    expect(s.fields.map((f) => f.dueYear)).toEqual([1, 0]);
    expect([s.gap, s.over]).toEqual([0, { money: 0, samples: 0 }]);
    const free = scheduleYears(
      fields.map((f): FieldOutlook => ({ ...f, firstYear: undefined })),
      budgets(600),
      { yearsKept: KEPT },
    );
    expect(free.fields.map((f) => f.dueYear)).toEqual([0, 1]);
    // A loses 1000 for a year instead of B's 500; the last sampling's credit is the same.
    expect(s.total - free.total).toBeCloseTo(500);
  });

  it('what is settled beyond the budget is done, and said by how much', () => {
    const fields = [
      { ...field('A', Infinity, 0, 1000, 600), firstYear: { option: 'grid' } },
      field('B', Infinity, 0, 5000, 300),
    ];
    const s = scheduleYears(fields, [{ money: 400, samples: 12 }, { money: 400 }], { yearsKept: KEPT });
    expect(s.over).toEqual({ money: 200, samples: 8 });
    expect(s.fields.map((f) => f.dueYear)).toEqual([0, 1]);
    expect(s.bound).toBeLessThanOrEqual(s.total);
  });

  it('many fields under a tight budget: the gap is a small share of what sampling saves', () => {
    const fields = Array.from({ length: 120 }, (_, i) =>
      field(
        `F${i}`,
        i % 3 === 0 ? Infinity : i % 7,
        40 + (i % 11) * 9,
        300 + ((i * 37) % 101) * 14,
        300 + ((i * 53) % 17) * 60,
      ),
    );
    const s = scheduleYears(fields, budgets(12_000, 3), { yearsKept: KEPT });
    expect(s.relativeGap).toBeLessThan(0.01);
    expect(s).toEqual(scheduleYears(fields, budgets(12_000, 3), { yearsKept: KEPT }));
  });

  it('refuses a horizon or figures that cannot be', () => {
    expect(() => scheduleYears([], [], { yearsKept: 4 })).toThrow(/0 years/);
    expect(() => scheduleYears([], budgets(1, 7), { yearsKept: 4 })).toThrow(/7 years/);
    expect(() => scheduleYears([], budgets(-1), { yearsKept: 4 })).toThrow(/-1/);
    expect(() => scheduleYears([field('A', 0, NaN, 1, 30)], budgets(1), { yearsKept: 4 })).toThrow(
      RangeError,
    );
    expect(() =>
      scheduleYears([{ ...field('A', 0, 1, 1, 30), firstYear: { option: 'x' } }], budgets(1), {
        yearsKept: 4,
      }),
    ).toThrow(/Field A/);
  });
});
