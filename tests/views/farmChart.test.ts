import { describe, expect, it } from 'vitest';
import { farmChart, type FarmChartData } from '../../views/charts/farmChart.ts';
import { all, expectReadable, numberOf, parse, texts } from './svgChecks.ts';

const steps = [
  [400, 1800],
  [900, 3100],
  [1700, 4200],
  [2900, 5000],
  [4400, 5500],
  [6200, 5960],
] as const;

const data: FarmChartData = {
  description: 'What sampling saves rises with what is spent.',
  axisTitle: 'USD saved a year',
  bottomTitle: 'USD spent this autumn',
  curve: [{ spent: 0, gain: 0 }, ...steps.map(([spent, gain]) => ({ spent, gain }))],
  curveName: 'saved a year',
  marks: steps.map(([spent, gain], i) => ({ id: `step-${i}`, spent, gain, says: `${spent}: ${gain}.` })),
  ownCost: { perSpent: 0.25, name: 'its yearly cost' },
  budget: { spent: 3000, name: 'budget 3,000 USD' },
  plan: { spent: 2900, gain: 4900, says: 'This plan.' },
};

/** All of it so many times as large. */
const larger = (by: number): Partial<FarmChartData> => ({
  curve: data.curve.map((p) => ({ spent: by * p.spent, gain: by * p.gain })),
  marks: data.marks.map((m) => ({ ...m, spent: by * m.spent, gain: by * m.gain })),
  budget: { spent: by * 3000, name: `budget ${(by * 3000).toLocaleString('en-US')} USD` },
  plan: { ...data.plan, spent: by * 2900, gain: by * 4900 },
});

/** Corners of a path of straight lines. */
const corners = (d: string) =>
  d
    .split(/[ML]/)
    .filter(Boolean)
    .map((p) => p.split(',').map(Number));

describe.each([
  ['wide', 14],
  ['narrow', 12],
] as const)('the chart of gain against budget, %s', (size, fontSize) => {
  const draw = (given: FarmChartData = data) => parse(farmChart(given, { size, id: 'f' }));
  const document = draw();

  it('names the curve, its cost, the budget and the plan where they stand', () => {
    const said = texts(document).join(' ');
    for (const word of ['saved a', 'its', 'budget 3,000 USD', 'this plan', 'USD spent this autumn'])
      expect(said).toContain(word);
    expectReadable(document, fontSize);
  });

  it('draws a curve that rises ever more slowly, with a readable mark on it at each step', () => {
    const [path] = all(document, 'path', 'farm-gain');
    const points = corners(path.getAttribute('d') ?? '');
    expect(points).toHaveLength(7);
    const slopes = points.slice(1).map(([x, y], i) => (points[i][1] - y) / (x - points[i][0]));
    for (let i = 0; i < slopes.length; i++) {
      expect(slopes[i]).toBeGreaterThan(0);
      if (i > 0) expect(slopes[i]).toBeLessThan(slopes[i - 1]);
    }
    const marks = all(document, 'g', 'mark').filter((m) => m.getAttribute('data-id') !== 'plan');
    expect(marks).toHaveLength(6);
    marks.forEach((m, i) => expect(numberOf(m, 'data-x')).toBeCloseTo(points[i + 1][0], 1));
  });

  it('shades up to the budget, and the plan stands inside', () => {
    const [shade] = all(document, 'rect', 'plateau');
    const [budget] = [...all(document, 'g', 'advised')[0].getElementsByTagName('line')];
    expect(numberOf(shade, 'x') + numberOf(shade, 'width')).toBeCloseTo(numberOf(budget, 'x1'), 1);
    const plan = all(document, 'g', 'mark').find((m) => m.getAttribute('data-id') === 'plan')!;
    expect(numberOf(plan, 'data-x')).toBeLessThan(numberOf(budget, 'x1'));
  });

  it.each([
    ['no budget', { budget: undefined }],
    ['a large farm', larger(23)],
    ['a very large one', larger(770)],
    ['a budget far past all that pays', { budget: { spent: 60_000, name: 'budget 60,000 USD' } }],
    [
      'a budget of nothing',
      { budget: { spent: 0, name: 'budget 0 USD' }, plan: { spent: 0, gain: 0, says: '' } },
    ],
    ['a plan at the very end', { plan: { spent: 6200, gain: 5960, says: '' } }],
    ['net gain alone', { ownCost: undefined, curveName: 'saved a year, net' }],
    [
      'what has to be sampled bringing a loss',
      { curve: [{ spent: 500, gain: -300 }, ...data.curve.slice(2)] },
    ],
    [
      'nothing that pays',
      { curve: [{ spent: 0, gain: 0 }], marks: [], plan: { spent: 0, gain: 0, says: '' } },
    ],
  ])('draws %s', (_, change) => {
    expectReadable(draw({ ...data, ...change }), fontSize);
  });

  it('says by an arrow that the budget lies out of the picture', () => {
    const far = draw({ ...data, budget: { spent: 60_000, name: 'budget 60,000 USD' } });
    expect(texts(far)).toContain('budget 60,000 USD →');
    expect(all(far, 'rect', 'plateau')).toHaveLength(0);
  });
});
