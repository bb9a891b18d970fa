import { describe, expect, it } from 'vitest';
import { questions } from '../../src/prior/questions.ts';
import { adviceOptionsSchema } from '../../src/advise/options.ts';
import { optionFields, toInside, typedOption } from '../../views/models/optionFields.ts';
import { questionFields } from '../../views/models/questionForm.ts';
import { columnUses, useOfColumn } from '../../views/models/readingModel.ts';
import { resultModel } from '../../views/models/resultModel.ts';
import { sampleAdvice } from './sampleAdvice.ts';

describe('the result page as strings', () => {
  it('leads with the verdict and the analyte that decides', () => {
    const advice = { ...sampleAdvice(), verdict: { ...sampleAdvice().verdict, leadAnalyte: 'K' } };
    const r = resultModel(advice);
    expect(r.headline).toBe(advice.verdict.headline);
    expect(r.analytes[0].label).toBe('Potassium');
    expect(r.errors[0].label).toBe('Potassium');
    expect(r.errors[0].wide).not.toBe('');
    expect(r.errors[1].wide).toBe('');
    expect(r.keyFigures.map((f) => f.label)).toContain('Potassium, typical place');
  });

  it('has a row for every design and marks the advised one and the plateau', () => {
    const r = resultModel(sampleAdvice());
    expect(r.table.rows).toHaveLength(sampleAdvice().designs.length);
    expect(r.table.rows.filter((row) => row.chosen).map((row) => row.note)).toEqual(['advised']);
    for (const row of r.table.rows) expect(row.cells).toHaveLength(r.table.columns.length);
    expect(r.plateau).toHaveLength(r.table.rows.filter((row) => row.nearBest && !row.chosen).length);
  });

  it('says why a design is left out', () => {
    const advice = sampleAdvice();
    const designs = advice.designs.map((d) =>
      d.id === 'grid-1' ? { ...d, admissible: false, whyNot: 'above the budget' } : d,
    );
    expect(resultModel({ ...advice, designs }).table.rows.at(-1)?.note).toBe('above the budget');
  });

  it('counts only designs within the limits as good', () => {
    const advice = sampleAdvice();
    const designs = advice.designs.map((d) =>
      d.nearBest && d.id !== advice.verdict.designId ? { ...d, admissible: false } : d,
    );
    const r = resultModel({ ...advice, designs });
    expect(r.plateau).toEqual([]);
    expect(r.table.rows.filter((row) => row.nearBest && !row.chosen)).toEqual([]);
  });

  it('says the same hours everywhere', () => {
    const r = resultModel(sampleAdvice());
    const work = r.keyFigures.find((f) => f.label === 'Work')!.value;
    const column = r.table.columns.findIndex((c) => c.title === 'Work');
    expect(r.table.rows.find((row) => row.chosen)!.cells[column]).toBe(work);
  });

  it('leaves out a worst tenth that reads as the typical place', () => {
    const advice = sampleAdvice({ chosen: 'zones-3' });
    const designs = advice.designs.map((d) => ({
      ...d,
      errors: Object.fromEntries(
        Object.entries(d.errors).map(([id, e]) => [id, { ...e, badSpot: e.typical.mid }]),
      ),
    }));
    const labels = (a: typeof advice) => resultModel(a).keyFigures.map((f) => f.label);
    expect(labels(advice)).toContain('Phosphorus, worst tenth');
    expect(labels({ ...advice, designs })).not.toContain('Phosphorus, worst tenth');
    expect(resultModel({ ...advice, designs }).table.rows[0].cells[4]).toMatch(/^\d+\u00a0%$/);
    expect(resultModel(advice).table.rows[0].cells[4]).toMatch(/^\d+\u00a0\/\u00a0\d+\u00a0%$/);
  });

  it('lists the zones of the map, and none while they are not drawn', () => {
    const advice = sampleAdvice({ chosen: 'zones-3' });
    expect([...resultModel(advice).zones].sort()).toEqual(['Zone 1', 'Zone 2', 'Zone 3']);
    const designs = advice.designs.map((d) =>
      d.kind === 'zones' ? { ...d, zonesFrom: 'not drawn yet' as const } : d,
    );
    const r = resultModel({ ...advice, designs });
    expect(r.zones).toEqual([]);
    expect(r.mapCaption).toMatch(/^These zones are not drawn yet: draw them/);
    expect(r.map.wide).not.toMatch(/class="(?:zone|stop)/);
  });

  it('says of the ranges only what the variogram shows', () => {
    const advice = sampleAdvice();
    const captionAt = (effectiveRangeM: number) => {
      const analytes = advice.analytes.map((a) => {
        const { weightedLeastSquares: wls, reml } = a.variogram;
        const variogram = {
          ...a.variogram,
          weightedLeastSquares: wls && { ...wls, effectiveRangeM },
          reml: reml && { ...reml, effectiveRangeM },
        };
        return { ...a, variogram };
      });
      return resultModel({ ...advice, analytes }).analytes[0].variogramCaption;
    };
    expect(captionAt(250)).toContain('Short strokes');
    expect(captionAt(2500)).toContain('Both ranges lie beyond the lags');
    expect(captionAt(2500)).not.toContain('Short strokes');
    expect(resultModel(sampleAdvice({ points: false })).analytes[0].variogramCaption).toContain('No points');
  });

  it('follows the unit system', () => {
    const us = resultModel(sampleAdvice());
    const metric = resultModel(sampleAdvice({ unitSystem: 'metric' }));
    expect(us.fieldLine).toContain('acres');
    expect(metric.fieldLine).toContain('ha');
    expect(us.analytes[0].facts[1].value).toContain('ppm');
    expect(metric.analytes[0].facts[1].value).toContain('mg/kg');
  });

  it('survives what JSON cannot hold', () => {
    const advice = sampleAdvice();
    const text = JSON.stringify(advice, (key, value: unknown) =>
      key === 'skewness' || key === 'lossPerHaYear' ? null : value,
    );
    const stored = JSON.parse(
      text.replaceAll('"lossPerHaYear":null', '"lossPerHaYear":{"low":null,"mid":null,"high":null}'),
    );
    const r = resultModel(stored);
    expect(r.cost).toBeUndefined();
    expect(JSON.stringify(r)).not.toMatch(/NaN|undefined/);
  });
});

describe('forms', () => {
  it('preselects “I don’t know” everywhere and keeps what was typed', () => {
    const empty = questionFields({});
    for (const q of empty.filter((f) => f.kind === 'choice'))
      expect(q.choices.filter((c) => c.checked).map((c) => c.value)).toEqual(['unknown']);
    const kept = questionFields({ slope: 'eroded', area: '160', manure: 'nonsense' });
    expect(kept.find((q) => q.id === 'slope')?.choices.find((c) => c.checked)?.value).toBe('eroded');
    expect(kept.find((q) => q.id === 'area')?.value).toBe('160');
    expect(kept.find((q) => q.id === 'manure')?.choices.find((c) => c.checked)?.value).toBe('unknown');
    expect(kept).toHaveLength(questions.length);
  });

  it('shows every option and takes it back in the user’s unit', () => {
    const options = adviceOptionsSchema.parse({ unitSystem: 'us' });
    for (const field of optionFields) {
      const typed = typedOption(field, options);
      if (typed === '') continue;
      const back = toInside(field.kind, Number(typed), 'us');
      expect(Math.abs(back - Number(options[field.id]))).toBeLessThan(
        0.03 * Number(options[field.id]) + 1e-9,
      );
    }
  });

  it('shows usual lengths and depths as the trade says them, and set ones as they are', () => {
    const shown = (options: object) => {
      const parsed = adviceOptionsSchema.parse(options);
      return ['blockM', 'stopRadiusM', 'depthCm'].map((id) =>
        typedOption(
          optionFields.find((f) => f.id === id)!,
          parsed,
        ),
      );
    };
    expect(shown({ unitSystem: 'us' })).toEqual(['60', '16', '6']);
    expect(shown({ unitSystem: 'metric' })).toEqual(['18', '5', '15']);
    expect(shown({ unitSystem: 'us', blockM: 27.432 })[0]).toBe('90');
  });

  it('offers a choice for every column as it was recognised', () => {
    const offered = new Set(columnUses.map((u) => u.value));
    for (const input of sampleAdvice().inputs)
      for (const column of input.columns) expect(offered.has(useOfColumn(column))).toBe(true);
    expect(useOfColumn({ role: 'analyte', analyte: 'Mo' })).toBe('analyte:');
  });
});
