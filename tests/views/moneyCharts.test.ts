import { describe, expect, it } from 'vitest';
import { howOftenChart } from '../../views/charts/howOftenChart.ts';
import { wrapped } from '../../views/charts/labels.ts';
import { tornadoChart, type TornadoChartData } from '../../views/charts/tornadoChart.ts';
import { formatLevel, howOftenChartData, tornadoChartData } from '../../views/models/moneyData.ts';
import { sampleAdvice } from './sampleAdvice.ts';
import { all, expectReadable, numberOf, parse, texts } from './svgChecks.ts';

const NB = '\u00a0';
const sizes = [
  ['wide', 14],
  ['narrow', 12],
] as const;

const advice = sampleAdvice();
const tornado = tornadoChartData(advice)!;
const often = howOftenChartData(advice)!;

describe.each(sizes)('the tornado chart, %s', (size, fontSize) => {
  const draw = (data: TornadoChartData = tornado) => parse(tornadoChart(data, { size, id: 't' }));
  const document = draw();

  it('has a row for every factor in the order given, with the level written at each end', () => {
    const rows = all(document, 'g', 'row');
    expect(rows).toHaveLength(tornado.bars.length);
    expect(rows[0].textContent).toMatch(/^Laboratory price of a ?sample/);
    for (const bar of tornado.bars) {
      expect(texts(document)).toContain(bar.low.level);
      expect(texts(document)).toContain(bar.high.level);
    }
    expect(texts(document)).toContain(`55${NB}USD`);
    expect(texts(document)).toContain(`395${NB}ft`);
    expectReadable(document, fontSize);
  });

  it('fills bars only right of zero, where the line says that it pays', () => {
    const zeroLine = [...all(document, 'g', 'zero')[0].getElementsByTagName('line')][0];
    const at = numberOf(zeroLine, 'x1');
    const pays = all(document, 'rect', 'pays');
    expect(pays).toHaveLength(3);
    for (const r of pays) expect(numberOf(r, 'x')).toBeGreaterThanOrEqual(at - 0.02);
    for (const r of all(document, 'rect', 'short-of'))
      expect(numberOf(r, 'x') + numberOf(r, 'width')).toBeLessThanOrEqual(at + 0.02);
    expect(texts(document)).toContain('pays above here →');
  });

  it('marks and writes where it breaks even, and only there', () => {
    expect(all(document, 'g', 'break-even')).toHaveLength(3);
    expect(texts(document)).toContain(`breaks even at 15.20${NB}USD`);
    expect(texts(document)).toContain(`breaks even at 6.4${NB}years`);
  });

  it('is read row by row, two places a row', () => {
    const marks = all(document, 'g', 'mark');
    expect(marks.map((m) => m.getAttribute('data-id')).slice(0, 3)).toEqual([
      'labPrice-low',
      'labPrice-high',
      'cv-low',
    ]);
    expect(marks[0].getAttribute('data-say')).toBe(
      `Laboratory price of a sample at 9${NB}USD: one sample per 4 acres would gain 0.36${NB}USD/ac a year against what is advised.`,
    );
    expect(document.documentElement?.getAttribute('class')).toContain('in-rows');
  });

  it('halves a bar whose ends lie on one side, so that both can be read', () => {
    const oneSided = tornado.bars.filter((b) => b.id === 'rangeM');
    const lone = draw({ ...tornado, bars: oneSided });
    const bars = all(lone, 'rect', 'bar');
    expect(bars).toHaveLength(2);
    expect(numberOf(bars[0], 'y') + numberOf(bars[0], 'height')).toBeLessThan(numberOf(bars[1], 'y'));
    expectReadable(lone, fontSize);
  });

  it.each([
    ['a rival that pays as it stands', { now: 0.4 }],
    ['nothing to gain or lose', { now: 0, bars: [] }],
  ])('draws %s', (_, change) => {
    const drawn = draw({ ...tornado, ...change });
    expect(texts(drawn)).toContain('as it stands');
    expectReadable(drawn, fontSize);
  });

  it('draws factors that never turn it, far from zero, and ones that change nothing', () => {
    const far = tornado.bars.map((b, i) => ({
      ...b,
      breakEven: undefined,
      low: { ...b.low, gain: -9 - i },
      high: { ...b.high, gain: i === 2 ? -9 - i : -8 + i / 9 },
    }));
    expectReadable(draw({ ...tornado, now: -8.5, bars: far }), fontSize);
  });
});

describe.each(sizes)('the chart of how often, %s', (size, fontSize) => {
  const document = parse(howOftenChart(often, { size, id: 'o' }));

  it('has three curves with dots and a readable total for each year', () => {
    for (const curve of ['total', 'sampling', 'loss']) expect(all(document, 'path', curve)).toHaveLength(1);
    expect(all(document, 'circle', 'dot')).toHaveLength(12);
    const marks = all(document, 'g', 'mark');
    expect(marks).toHaveLength(6);
    expect(marks[2].getAttribute('data-say')).toMatch(
      /^Every 3 years: sampling 2\.16\u00a0USD\/ac and wrong/,
    );
    const xs = marks.map((m) => numberOf(m, 'data-x'));
    expect([...xs].sort((a, b) => a - b)).toEqual(xs);
    expectReadable(document, fontSize);
  });

  it('shades the years that are as good, side by side', () => {
    const shaded = all(document, 'rect', 'plateau');
    expect(shaded).toHaveLength(3);
    for (let i = 1; i < 3; i++)
      expect(numberOf(shaded[i], 'x')).toBeCloseTo(
        numberOf(shaded[i - 1], 'x') + numberOf(shaded[i - 1], 'width'),
        1,
      );
  });

  it('marks what is advised while correcting and after', () => {
    const shown = texts(document).filter((t) => /correcting|then|after/.test(t));
    expect(shown).toEqual(
      size === 'wide'
        ? ['while correcting: every 2 years', 'after that: every 4 years']
        : ['correcting: every 2 years', 'then every 4 years'],
    );
    expect(all(document, 'circle', 'chosen')).toHaveLength(2);
  });

  it('marks one choice when nothing is to be corrected', () => {
    const money = { ...advice.money!, howOften: { ...advice.money!.howOften!, correctingYears: 0 } };
    const settled = howOftenChartData({ ...advice, money })!;
    const drawn = parse(howOftenChart(settled, { size, id: 'o' }));
    expect(texts(drawn)).toContain('advised: every 4 years');
    expect(all(drawn, 'circle', 'chosen')).toHaveLength(1);
    expectReadable(drawn, fontSize);
  });
});

describe('what the charts of money draw', () => {
  it('is in the user’s units', () => {
    const metric = tornadoChartData(sampleAdvice({ unitSystem: 'metric' }))!;
    expect(metric.now).toBeCloseTo(-0.62, 9);
    expect(tornado.now).toBeCloseTo(-0.62 * 0.40468564224, 9);
    expect(metric.axisTitle).toContain('a hectare and year');
    expect(metric.bars[3].low.level).toBe(`120${NB}m`);
    expect(howOftenChartData(sampleAdvice({ unitSystem: 'metric' }))!.points[0].sampling).toBe(16);
  });

  it.each([
    [27.5, 'money', `27.50${NB}USD`],
    [1250.4, 'money', `1,250${NB}USD`],
    [12, 'money', `12${NB}USD`],
    [0.126, 'share', `13${NB}%`],
    [0.052, 'share', `5.2${NB}%`],
    [63.4, '%', `63${NB}%`],
    [1, 'years', `1${NB}year`],
    [6.42, 'years', `6.4${NB}years`],
    [100, 'm', `330${NB}ft`],
    [0.31, '', '0.31'],
    [NaN, 'money', '–'],
  ])('writes the level %s of unit “%s” as %s', (value, unit, shown) => {
    expect(formatLevel(value, unit, advice)).toBe(shown);
  });

  it('leaves out what has no figure', () => {
    const { sensitivity, howOften } = advice.money!;
    const broken = sensitivity!.factors.map((f, i) => (i === 0 ? { ...f, gainAtLow: NaN } : f));
    const money = {
      ...advice.money!,
      sensitivity: { ...sensitivity!, factors: broken },
      howOften: { ...howOften!, choices: howOften!.choices.slice(0, 1) },
    };
    expect(tornadoChartData({ ...advice, money })!.bars).toHaveLength(4);
    expect(howOftenChartData({ ...advice, money })).toBeUndefined();
    expect(tornadoChartData(sampleAdvice({ money: false }))).toBeUndefined();
    expect(howOftenChartData(sampleAdvice({ money: false }))).toBeUndefined();
  });
});

describe('wrapped', () => {
  it('breaks between words and never inside one', () => {
    expect(wrapped('price of phosphate against that of the crop', 176, 14)).toEqual([
      'price of phosphate',
      'against that of the',
      'crop',
    ]);
    expect(wrapped('extraordinarily', 20, 14)).toEqual(['extraordinarily']);
  });
});
