import { describe, expect, it } from 'vitest';
import { questions } from '../../src/prior/questions.ts';
import { adviceOptionsSchema } from '../../src/advise/options.ts';
import { choiceForm, setAsideKeys } from '../../views/models/choiceOptions.ts';
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

describe('what a second look is asked for', () => {
  const newer = (set = {}) => resultModel(sampleAdvice({ newer: true, set }));

  it('lists six points and folds the others away, each with its key', () => {
    const [p, k] = newer().analytes;
    expect(p.standOut.map((s) => s.row)).toEqual([10, 11, 12, 13, 14, 15]);
    expect(p.standOutFolded.map((s) => s.key)).toEqual(['P:16', 'P:17']);
    expect(k.standOut).toEqual([]);
  });

  it('shows what is set aside where it belongs and says how much', () => {
    const r = newer({ setAside: ['P:3', 'K:4', 'K:5'] });
    expect(r.analytes[0].aside).toEqual([{ key: 'P:3', row: '3' }]);
    expect(r.analytes[1].aside.map((v) => v.row)).toEqual(['4', '5']);
    expect(r.fieldLine).toContain('3 test values set aside by you');
    expect(r.reading[0].counts).toContain('3 test values set aside by you');
    expect(r.reading[1].counts).not.toContain('by you');
    expect(newer().fieldLine).not.toContain('set aside');
  });

  it('keeps values set aside of a property that has gone', () => {
    const form = choiceForm(sampleAdvice({ set: { setAside: ['P:3', 'Zn:9'] } }));
    expect(form.strayAside).toEqual([{ key: 'Zn:9', label: 'Zn, row 9' }]);
  });

  it('says what to do next once', () => {
    const advice = sampleAdvice();
    expect(resultModel(advice).analytes[0].next).toBe('Neighbours lie well within the range.');
    const why = [`So it is. ${advice.analytes[0].structure.next}`];
    const verdict = { ...advice.verdict, why };
    expect(resultModel({ ...advice, verdict }).analytes[0].next).toBeUndefined();
  });

  it('offers the scales of what was measured', () => {
    const chosen = (set: object) =>
      newer(set)
        .analytes[0].scale?.choices.filter((c) => c.selected)
        .map((c) => c.label);
    expect(chosen({})).toEqual(['by the rule (currently logarithm)']);
    expect(chosen({ scales: { P: 'raw' } })).toEqual(['as measured']);
    expect(resultModel(sampleAdvice({ points: false })).analytes[0].scale).toBeUndefined();
  });

  it('writes errors on normal scores in the unit of the property', () => {
    const advice = sampleAdvice();
    const analytes = advice.analytes.map((a) => ({
      ...a,
      scale: 'normalScore' as const,
      errorUnit: a.unit,
    }));
    const r = resultModel({ ...advice, analytes });
    expect(r.keyFigures.at(-1)?.value).toMatch(/ppm$/);
    expect(r.analytes[0].variogram?.wide).toContain('Semivariance of normal scores of Phosphorus');
    expect(r.analytes[0].variogram?.narrow).toContain('>Semivariance of normal scores<');
  });
});

describe('designs of the newer kinds', () => {
  it('keeps whole cells in a table of their own and infill among the others', () => {
    const r = resultModel(sampleAdvice({ newer: true }));
    expect(r.table.cellRows.map((row) => row.label)).toContain('One mixed sample per cell of 5 acres');
    expect(r.table.cellRows.every((row) => row.note === '')).toBe(true);
    expect(r.table.cellsTitle).toContain('for comparison');
    expect(r.table.cellsOpen).toBe(false);
    expect(r.table.rows.some((row) => /cell/.test(row.label))).toBe(false);
    expect(r.table.rows.map((row) => row.label)).toContain('12 new stops beside last time’s 48');
    expect(resultModel(sampleAdvice({ newer: true, set: { cells: 'choose' } })).table.cellsOpen).toBe(true);
  });

  it('says how the stops are laid and what interpolation is worth', () => {
    const r = resultModel(sampleAdvice({ newer: true }));
    expect(r.placements).toBe(
      'Stops laid on a triangular lattice; spread evenly over the field they would err 0.4\u00a0% more, on a square lattice 1\u00a0% more.',
    );
    expect(r.ownCell).toMatch(
      /^Without interpolation, .* of Phosphorus would be \d+\u00a0% instead of \d+\u00a0%\.$/,
    );
    const zones = resultModel(sampleAdvice({ newer: true, chosen: 'zones-3' }));
    expect([zones.placements, zones.ownCell]).toEqual(['', '']);
  });
});

describe('values set aside in a form or an address', () => {
  it('reads property and row, and says what is neither', () => {
    expect(setAsideKeys('P:17 K:40')).toEqual({ keys: ['P:17', 'K:40'], strange: '' });
    expect(setAsideKeys('P:17, Total zinc:4;P:17')).toEqual({ keys: ['P:17', 'Total zinc:4'], strange: '' });
    expect(setAsideKeys('P:x').strange).toBe('P:x');
    expect(setAsideKeys('')).toEqual({ keys: [], strange: '' });
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
