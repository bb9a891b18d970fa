import type { Document, Element } from '@xmldom/xmldom';
import { describe, expect, it } from 'vitest';
import type { Advice } from '../../src/advise/advice.ts';
import { costChart } from '../../views/charts/costChart.ts';
import { errorChart } from '../../views/charts/errorChart.ts';
import { fieldMap } from '../../views/charts/fieldMap.ts';
import { placeLabels } from '../../views/charts/labels.ts';
import { chartLayout } from '../../views/charts/layout.ts';
import { element, label } from '../../views/charts/svg.ts';
import { variogramChart } from '../../views/charts/variogramChart.ts';
import {
  costChartData,
  errorChartData,
  fieldMapData,
  variogramChartData,
} from '../../views/models/chartData.ts';
import { resultModel } from '../../views/models/resultModel.ts';
import { sampleAdvice } from './sampleAdvice.ts';
import { all, expectReadable, parse, texts } from './svgChecks.ts';

const sizes = ['wide', 'narrow'] as const;

const marks = (document: Document) => all(document, 'g', 'mark');

function expectInside(document: Document): void {
  const [, , width, height] = (document.documentElement?.getAttribute('viewBox') ?? '')
    .split(' ')
    .map(Number);
  for (const t of all(document, 'text')) {
    const x = Number(t.getAttribute('x'));
    const y = Number(t.getAttribute('y'));
    expect(x).toBeGreaterThanOrEqual(0);
    expect(x).toBeLessThanOrEqual(width);
    expect(y).toBeGreaterThan(0);
    expect(y).toBeLessThanOrEqual(height);
  }
}

const points = (advice = sampleAdvice()) => ({ advice, lead: advice.analytes[0] });

describe.each(sizes)('the error chart, %s', (size) => {
  const { advice, lead } = points();
  const data = errorChartData(advice, lead)!;
  const document = parse(errorChart(data, { size, id: 'e' }));

  it('has a mark for every design, tighter to the right', () => {
    expect(marks(document)).toHaveLength(advice.designs.length);
    const xs = marks(document).map((m) => Number(m.getAttribute('data-x')));
    const areas = data.points.map((p) => p.areaPerSample);
    for (let i = 1; i < xs.length; i++) if (areas[i] < areas[i - 1]) expect(xs[i]).toBeGreaterThan(xs[i - 1]);
  });

  it('names the advised design, the curves and the axes', () => {
    expect(texts(document)).toContain('advised: one sample per 5 acres');
    expect(texts(document)).toContain('whole field');
    expect(texts(document)).toContain('2 to 5 zones');
    expect(texts(document)).toContain('acres');
    expect(texts(document)).toContain(size === 'wide' ? 'grid, worst tenth' : 'worst');
    expect(all(document, 'circle', 'chosen')).toHaveLength(1);
    expectInside(document);
  });

  it('draws the band, the typical and the dashed line', () => {
    expect(all(document, 'path', 'band')).toHaveLength(1);
    expect(all(document, 'path', 'bad-spot')).toHaveLength(1);
    expect(all(document, 'path', 'typical')).toHaveLength(1);
  });

  it('is described for those who cannot see it', () => {
    const root = document.documentElement!;
    expect(root.getAttribute('role')).toBe('img');
    expect(root.getAttribute('aria-label')).toContain('Phosphorus');
    expect(all(document, 'title')).toHaveLength(1);
    expect(all(document, 'desc')).toHaveLength(1);
  });

  it('says each design’s figures', () => {
    const said = marks(document).map((m) => m.getAttribute('data-say'));
    expect(said[0]).toMatch(/^One mixed sample \(1 sample\): Phosphorus wrong by \d+\u00a0%/);
  });
});

describe.each(sizes)('the curve of endless grids, %s', (size) => {
  /** Beside the grids of an answer, lower by a share. */
  const withEndless = (advice: Advice, share = 0.95): Advice => {
    const [lead, ...others] = advice.analytes;
    const endlessLattice = advice.designs
      .filter((d) => d.kind === 'grid')
      .map((d) => ({ haPerSample: d.haPerSample, typical: share * d.errors[lead.id].typical.mid }));
    return { ...advice, analytes: [{ ...lead, endlessLattice }, ...others] };
  };
  const drawn = (advice: Advice) => {
    const data = errorChartData(advice, advice.analytes[0])!;
    return { data, document: parse(errorChart(data, { size, id: 'e' })) };
  };
  const places = (path: Element) =>
    [...(path.getAttribute('d') ?? '').matchAll(/(-?[\d.]+),(-?[\d.]+)(?=[MLC]|$)/g)].map((m) => [
      Number(m[1]),
      Number(m[2]),
    ]);

  it('runs under the grids’ own, over the same densities, with its name at its end', () => {
    for (const unitSystem of ['us', 'metric'] as const) {
      const { document } = drawn(withEndless(sampleAdvice({ unitSystem })));
      const [curve] = all(document, 'path', 'endless').map(places);
      const [typical] = all(document, 'path', 'typical').map(places);
      expect(curve).toHaveLength(typical.length);
      curve.forEach(([x, y], i) => {
        expect(x).toBeCloseTo(typical[i][0], 1);
        expect(y).toBeGreaterThan(typical[i][1]);
      });
      const names = all(document, 'text', 'endless').map((t) => t.textContent);
      expect(names).toEqual(size === 'wide' ? ['endless grid,', 'no edges'] : ['no edges']);
    }
  });

  it('leaves every label readable, also where it crosses the grids’ own, and with all kinds of designs', () => {
    for (const share of [0.7, 0.95, 1, 1.05])
      for (const newer of [false, true]) {
        const { document } = drawn(withEndless(sampleAdvice({ newer }), share));
        expectReadable(document, chartLayout(size).fontSize);
      }
  });

  it('fits into the picture however high it is', () => {
    const [curve] = all(drawn(withEndless(sampleAdvice(), 9)).document, 'path', 'endless').map(places);
    for (const [, y] of curve) expect(y).toBeGreaterThan(0);
  });

  it('is drawn only where there is one, and only beside grids', () => {
    const { advice } = points();
    expect(all(drawn(advice).document, 'path', 'endless')).toHaveLength(0);
    const { data } = drawn(withEndless(advice));
    const alone = { ...data, points: data.points.filter((p) => p.kind !== 'grid') };
    const document = parse(errorChart(alone, { size, id: 'e' }));
    expect(all(document, 'path', 'endless')).toHaveLength(0);
    expect(texts(document)).not.toContain('no edges');
  });

  it('is explained under the chart where it is drawn', () => {
    const { advice } = points();
    expect(resultModel(withEndless(advice)).errorCaption).toMatch(/no edges.* edges and shape cost\.$/);
    expect(resultModel(advice).errorCaption).toMatch(/worst tenth of the field\.$/);
  });
});

describe.each(sizes)('designs of the newer kinds in charts, %s', (size) => {
  const advice = sampleAdvice({ newer: true });
  const data = errorChartData(advice, advice.analytes[0])!;
  const without = (kind: string) => ({ ...data, points: data.points.filter((p) => p.kind !== kind) });

  it('draws whole cells as a thin line with its name', () => {
    const document = parse(errorChart(without('infill'), { size, id: 'e' }));
    expect(all(document, 'path', 'cells')).toHaveLength(1);
    expect(texts(document)).toContain(size === 'wide' ? 'whole cells mixed' : 'whole cells');
    expect(marks(document)).toHaveLength(without('infill').points.length);
    expectInside(document);
  });

  it('draws infill as triangles, and then leaves the cells to the table', () => {
    const document = parse(errorChart(data, { size, id: 'e' }));
    expect(all(document, 'polygon', 'infill')).toHaveLength(2);
    expect(texts(document)).toContain('new stops added');
    expect(all(document, 'path', 'cells')).toHaveLength(0);
    expect(marks(document)).toHaveLength(without('cells').points.length);
    expectInside(document);
  });

  it('costs whole cells only when they are advised', () => {
    const kinds = (chosen: string) =>
      costChartData(sampleAdvice({ newer: true, chosen }))!.points.filter((p) => p.kind === 'cells').length;
    expect(kinds('grid-5')).toBe(0);
    expect(kinds('cells-5')).toBe(3);
    const cells = costChartData(sampleAdvice({ newer: true, chosen: 'cells-5' }))!;
    const document = parse(costChart(cells, { size, id: 'c' }));
    expect(all(document, 'path', 'cells')).toHaveLength(1);
    expectInside(document);
  });
});

describe.each(sizes)('the cost chart, %s', (size) => {
  it('draws sampling, wrong rates and their sum, and shades the plateau', () => {
    const document = parse(costChart(costChartData(sampleAdvice())!, { size, id: 'c' }));
    for (const curve of ['sampling', 'loss', 'total'])
      expect(all(document, 'path', curve)).not.toHaveLength(0);
    expect(all(document, 'rect', 'plateau')).toHaveLength(1);
    expect(texts(document)).toContain('total');
    expectInside(document);
  });

  it('cuts off what is so dear that the cheap designs could not be told apart', () => {
    const advice = sampleAdvice();
    const dear = advice.designs.map((d) =>
      d.id === 'grid-1' ? { ...d, totalPerHaYear: { low: 900, mid: 1000, high: 1100 } } : d,
    );
    const document = parse(costChart(costChartData({ ...advice, designs: dear })!, { size, id: 'c' }));
    expect(marks(document)).toHaveLength(advice.designs.length - 1);
    expect(texts(document)).toContain('total ↑');
    expectInside(document);
  });

  it('has no shaded plateau when zones are advised', () => {
    const document = parse(costChart(costChartData(sampleAdvice({ chosen: 'zones-3' }))!, { size, id: 'c' }));
    expect(all(document, 'rect', 'plateau')).toHaveLength(0);
    expect(texts(document)).toContain('advised: 3 zones');
  });
});

describe.each(sizes)('the variogram, %s', (size) => {
  const { advice, lead } = points();
  const document = parse(variogramChart(variogramChartData(advice, lead)!, { size, id: 'v' }));

  it('has a disc for each lag class, larger with more pairs', () => {
    const discs = all(document, 'circle', 'bin');
    expect(discs).toHaveLength(lead.variogram.bins.length);
    const radius = discs.map((d) => Number(d.getAttribute('r')));
    const { pairs } = lead.variogram.bins.reduce((a, b) => (b.pairs > a.pairs ? b : a));
    const most = lead.variogram.bins.findIndex((b) => b.pairs === pairs);
    expect(Math.max(...radius)).toBe(radius[most]);
    const xs = discs.map((d) => Number(d.getAttribute('cx')));
    expect([...xs].sort((a, b) => a - b)).toEqual(xs);
  });

  it('draws both fits, the belief and the ranges', () => {
    expect(all(document, 'path', 'fit')).toHaveLength(2);
    expect(all(document, 'path', 'range-mark')).toHaveLength(2);
    expect(all(document, 'path', 'belief')).toHaveLength(2);
    expect(texts(document)).toContain('REML');
    expectInside(document);
  });

  it('marks no range without a structured part', () => {
    const wls = { ...lead.variogram.weightedLeastSquares!, partialSill: 0 };
    const flat = { ...lead, variogram: { ...lead.variogram, weightedLeastSquares: wls } };
    const drawn = parse(variogramChart(variogramChartData(advice, flat)!, { size, id: 'v' }));
    expect(all(drawn, 'path', 'range-mark')).toHaveLength(1);
  });

  it('shows the belief alone when there are no points', () => {
    const prior = sampleAdvice({ points: false });
    const drawn = parse(variogramChart(variogramChartData(prior, prior.analytes[0])!, { size, id: 'v' }));
    expect(all(drawn, 'circle', 'bin')).toHaveLength(0);
    expect(all(drawn, 'path', 'belief')).toHaveLength(2);
  });
});

describe.each(sizes)('the field map, %s', (size) => {
  it('has every stop with its number in walking order, joined by the way', () => {
    const advice = sampleAdvice();
    const document = parse(fieldMap(fieldMapData(advice), { size, id: 'm' }));
    expect(all(document, 'circle', 'stop')).toHaveLength(advice.stops.length);
    expect(all(document, 'text', 'stop-number').map((t) => Number(t.textContent))).toEqual(
      advice.stops.map((s) => s.order),
    );
    const legs = (all(document, 'path', 'route')[0].getAttribute('d') ?? '').split('L');
    expect(legs).toHaveLength(advice.stops.length);
    expect(texts(document)).toContain('N');
    expect(texts(document).some((t) => /^[\d,]+ ft$/.test(t ?? ''))).toBe(true);
    expectInside(document);
  });

  it('numbers only some stops when they stand too close', () => {
    const advice = sampleAdvice({ chosen: 'grid-1' });
    const crowd = { ...fieldMapData(advice), stops: fieldMapData(sampleAdvice({ chosen: 'grid-1' })).stops };
    const many = crowd.stops.flatMap((s) =>
      [0, 1, 2, 3].map((k) => ({ ...s, order: 0, xM: s.xM + 12 * (k % 2), yM: s.yM + 12 * (k >> 1) })),
    );
    const stops = many.map((s, i) => ({ ...s, order: i + 1 }));
    const document = parse(fieldMap({ ...crowd, stops }, { size, id: 'm' }));
    expect(all(document, 'circle', 'stop')).toHaveLength(stops.length);
    expect(all(document, 'text', 'stop-number').length).toBeLessThan(stops.length / 5);
  });

  it('shades and names the zones', () => {
    const document = parse(fieldMap(fieldMapData(sampleAdvice({ chosen: 'zones-3' })), { size, id: 'm' }));
    for (const zone of [1, 2, 3]) expect(all(document, 'rect', `zone-${zone}`)).not.toHaveLength(0);
    expect(all(document, 'text', 'unit-name')).toHaveLength(3);
  });

  it('shows no north on a square that stands in for the field', () => {
    const document = parse(fieldMap(fieldMapData(sampleAdvice({ points: false })), { size, id: 'm' }));
    expect(texts(document)).not.toContain('N');
  });
});

describe('labels and markup', () => {
  it('moves labels apart and keeps them inside', () => {
    const wanted = [100, 101, 102, 199].map((y) => ({ y, lines: ['a'], className: '' }));
    const placed = placeLabels(wanted, 14, 0, 200);
    for (let i = 1; i < placed.length; i++)
      expect(placed[i].y - placed[i - 1].y).toBeGreaterThanOrEqual(14 - 1e-9);
    expect(placed.at(-1)!.y).toBeLessThanOrEqual(193);
  });

  it('escapes what files brought', () => {
    expect(label(1, 2, '<script>"&')).toBe('<text x="1" y="2">&lt;script&gt;&quot;&amp;</text>');
  });

  it('refuses a coordinate that is no number', () => {
    expect(() => element('circle', { cx: NaN })).toThrow(RangeError);
  });

  it('leaves out designs without a figure instead of drawing them somewhere', () => {
    const advice = sampleAdvice();
    const broken = advice.designs.map((d, i) =>
      i === 3 ? { ...d, errors: { P: { typical: { low: 1, mid: NaN, high: 2 }, badSpot: 3 } } } : d,
    );
    const data = errorChartData({ ...advice, designs: broken }, advice.analytes[0])!;
    expect(data.points).toHaveLength(advice.designs.length - 1);
    expect(errorChartData({ ...advice, designs: [] }, advice.analytes[0])).toBeUndefined();
  });
});
