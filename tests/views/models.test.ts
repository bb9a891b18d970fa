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
        0.02 * Number(options[field.id]) + 1e-9,
      );
    }
  });

  it('offers a choice for every column as it was recognised', () => {
    const offered = new Set(columnUses.map((u) => u.value));
    for (const input of sampleAdvice().inputs)
      for (const column of input.columns) expect(offered.has(useOfColumn(column))).toBe(true);
    expect(useOfColumn({ role: 'analyte', analyte: 'Mo' })).toBe('analyte:');
  });
});
