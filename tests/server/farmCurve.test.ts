import { describe, expect, it } from 'vitest';
import { farmCurve } from '../../server/farmCurve.ts';
import { farmPage } from '../../server/farmPage.ts';
import { answerOf, planFarm, sumsOf, type AnsweredField, type Limits } from '../../server/farmPlan.ts';
import { allocate } from '../../src/value/index.ts';
import { sampleAdvice } from '../views/sampleAdvice.ts';

/** Four fields that differ in what wrong rates lose on them. */
const answered: readonly AnsweredField[] = [1, 0.4, 2.2, 0.15].map((by, i): AnsweredField => {
  const advice = sampleAdvice({ unitSystem: 'us' });
  const answer = answerOf(advice);
  const designs = answer.designs.map((d) => ({ ...d, lossPerHaYear: by * d.lossPerHaYear }));
  return {
    row: {
      row: i + 2,
      name: `Field ${i + 1}`,
      answers: {},
      files: [],
      fixed: i === 3 ? 'sample' : undefined,
    },
    answer: { ...answer, designs, noSampling: by * answer.noSampling! },
    options: advice.options,
    tool: advice.tool,
  };
});
const plan = (budget: Limits, years = 1) =>
  planFarm(answered, { file: 'l.csv', year: 2026, years, budget, notes: [], setAside: 0 });

describe('the farm’s gain against its budget', () => {
  const curve = farmCurve(plan({ money: 2000 }));

  it('starts with what is settled, rises ever more slowly, and ends where nothing more pays', () => {
    expect(curve.start.spent).toBeGreaterThan(0);
    const places = [curve.start, ...curve.steps];
    const slopes = curve.steps.map((s, i) => (s.gain - places[i].gain) / (s.spent - places[i].spent));
    slopes.slice(1).forEach((s, i) => expect(s).toBeLessThanOrEqual(slopes[i] + 1e-9));
    // A step pays when a year's saving is more than its cost spread over the four years it serves.
    for (const s of slopes) expect(s).toBeGreaterThan(1 / 4);
    const all = plan({});
    const most = sumsOf(all.chosen, 4);
    expect(curve.steps.at(-1)?.spent).toBeCloseTo(most.cost, 6);
    expect(curve.steps.at(-1)?.gain).toBeCloseTo(most.gain, 6);
    for (const p of places) expect(p.gain - p.spent / 4).toBeCloseTo(p.net, 6);
  });

  it('at each of its steps the allocation of as much money is that step; between them it lies on or under the line', () => {
    const fields = plan({}).fields.map((f) => f.choices);
    const places = [curve.start, ...curve.steps];
    curve.steps.forEach((s, i) => {
      const at = allocate(fields, { money: s.spent });
      expect(at.benefit).toBeCloseTo(s.net, 6);
      const middle = (s.spent + places[i].spent) / 2;
      const between = allocate(fields, { money: middle });
      expect(between.benefit).toBeLessThanOrEqual((s.net + places[i].net) / 2 + 1e-6);
      // The bound of the allocation is the curve itself.
      expect(between.bound).toBeCloseTo((s.net + places[i].net) / 2, 6);
    });
  });

  it('is drawn over samples where these alone are limited, net of cost', () => {
    const bySamples = farmCurve(plan({ samples: 30 }));
    expect(bySamples.per).toBe('samples');
    const fields = plan({}).fields.map((f) => f.choices);
    for (const s of bySamples.steps)
      expect(allocate(fields, { samples: s.spent }).benefit).toBeCloseTo(s.net, 6);
  });
});

describe('the page’s words', () => {
  it.each([
    [
      { money: 3000 },
      /^Spend [\d,]+ of 3,000 USD on \d of 4 fields this autumn: about [\d,]+ USD a year saved\.$/,
    ],
    [{ samples: 40 }, /^Take \d+ of 40 samples on \d of 4 fields this autumn, for [\d,]+ USD: about/],
    [{ money: 3000, samples: 40 }, /^Spend [\d,]+ of 3,000 USD and take \d+ of 40 samples on \d of 4/],
    [{}, /^Spend [\d,]+ USD on \d of 4 fields this autumn/],
  ])('%j', (budget, word) => {
    expect(farmPage(plan(budget), [], {}).headline).toMatch(word);
  });

  it('the price of a further 100 is that of the allocation', () => {
    const one = plan({ money: 1500 });
    const many = farmPage(plan({ money: 1500 }, 3), [], {});
    const said = /rises by ([\d.,]+) USD a year for a further 100 USD/.exec(many.further.sentences[0]);
    expect(Number(said?.[1].replace(',', ''))).toBeCloseTo(
      100 * (one.allocation!.shadow.perMoney + 1 / 4),
      0,
    );
    const { further } = farmPage(one, [], {});
    expect(further.sentences[0]).toContain(`A further 100 USD would bring about ${said?.[1]} USD a year`);
    expect(further.bought.length).toBeGreaterThan(0);
  });

  it('says so where the budget is past all that pays, and where nothing is to be had', () => {
    expect(farmPage(plan({ money: 1e6 }, 3), [], {}).further.sentences[0]).toContain('past all that pays');
    const free = answered.map((a) => ({ ...a, row: { ...a.row, fixed: 'leave out' as const } }));
    const none = farmPage(
      planFarm(free, { file: 'l.csv', year: 2026, years: 2, budget: { money: 900 }, notes: [], setAside: 0 }),
      [],
      {},
    );
    expect(none.headline).toMatch(/^Sample nothing this autumn/);
    expect(none.figure).toBeUndefined();
    expect(none.unsampled.map((u) => u.why)).toEqual(Array(4).fill('left out, as the list says'));
  });

  it('a plan outlives JSON', () => {
    const years = plan({ money: 1500 }, 4);
    const again = JSON.parse(JSON.stringify(years)) as typeof years;
    expect(farmPage(again, [], {})).toEqual(farmPage(years, [], {}));
  });
});
