import { describe, expect, it } from 'vitest';
import { randomNormal, seededRandom } from '../../src/describe/index.ts';
import { readLabResults, type LabResults } from '../../src/read/index.ts';
import { acceptSuggestion, labChecks } from '../../src/review/index.ts';
import { valueOf } from '../read/bytes.ts';

const table = (header: string, cells: readonly (string | number)[]): LabResults =>
  valueOf(
    readLabResults('lab.csv', `Bag,${header}\n${cells.map((c, i) => `B${i + 1},"${c}"`).join('\n')}\n`),
  );

/** Lognormal values about a median, rounded as laboratories do. */
const drawn = (n: number, median: number, sdLn: number, seed: number, digits = 1): number[] => {
  const random = seededRandom(seed);
  return Array.from({ length: n }, () =>
    Number((median * Math.exp(sdLn * randomNormal(random))).toFixed(digits)),
  );
};

const ppmK = drawn(30, 160, 0.3, 1, 0);
const earlierK = drawn(40, 158, 0.3, 2, 0);
const ppmP = drawn(30, 24, 0.5, 3);
const earlierP = drawn(40, 25, 0.5, 4);
const times = (values: readonly number[], factor: number) =>
  values.map((v) => Number((v * factor).toFixed(4)));

describe('a column in another unit than it was read in', () => {
  it('right units raise nothing, with or without earlier results', () => {
    const known: readonly Readonly<Record<string, readonly number[]>>[] = [{ K: earlierK, P: earlierP }, {}];
    for (const earlier of known) {
      expect(labChecks(table('K', ppmK), earlier)).toEqual([]);
      expect(labChecks(table('K (ppm)', ppmK), earlier)).toEqual([]);
      expect(labChecks(table('P', ppmP), earlier)).toEqual([]);
    }
  });

  it.each([
    ['lb/ac read as ppm', 'K', ppmK, 2, { K: earlierK }, 'lb/ac', 'likely'],
    ['lb/ac under a header that says ppm', 'K (ppm)', ppmK, 2, { K: earlierK }, 'lb/ac', 'likely'],
    ['ppm under a header that says lb/ac', 'K (lb/ac)', ppmK, 1, { K: earlierK }, 'ppm', 'likely'],
    ['P2O5 read as P', 'P', ppmP, 2.2914, { P: ppmP }, 'ppm P2O5', 'likely'],
    ['pounds of P2O5 read as ppm P', 'P', ppmP, 4.5828, { P: earlierP }, 'lb/ac P2O5', 'likely'],
    ['K2O read as K', 'K', ppmK, 1.2046, { K: earlierK }, 'ppm K2O', 'possible'],
    ['meq/100 g read as ppm', 'K', ppmK, 1 / 390.98, { K: earlierK }, 'meq/100 g', 'likely'],
    ['meq/100 g, no earlier results', 'K', ppmK, 1 / 390.98, {}, 'meq/100 g', 'likely'],
  ])('%s', (_, header, values, factor, earlier, unit, strength) => {
    const found = labChecks(table(header, times(values, factor)), earlier);
    const [finding] = found;
    expect(found).toHaveLength(1);
    expect(finding).toMatchObject({ kind: 'unit', strength, column: header, file: 'lab.csv' });
    expect(finding.suggestion).toMatchObject({ kind: 'unit', unit });
    expect(finding.sentence).toContain(unit);
    expect(finding.remedy).toContain(unit);
  });

  it('units that would explain it as well are named beside the likeliest', () => {
    const [finding] = labChecks(table('P', times(ppmP, 2.15)), { P: ppmP });
    expect(finding.strength).toBe('likely');
    for (const unit of ['lb/ac', 'ppm P2O5', 'kg/ha'])
      expect(`${finding.sentence} ${finding.remedy}`).toContain(unit);
  });

  it('percent read as ppm', () => {
    const [finding, ...others] = labChecks(table('K', times(ppmK, 1e-4)), { K: earlierK });
    expect(finding).toMatchObject({ kind: 'percent', suggestion: { kind: 'unit', unit: '%', factor: 1e4 } });
    expect(others).toEqual([]);
  });

  it('organic matter in g/kg read as percent, also without earlier results', () => {
    const om = drawn(20, 3.2, 0.2, 5, 2);
    expect(labChecks(table('OM', om))).toEqual([]);
    const [finding] = labChecks(table('OM', times(om, 10)));
    // Muck soils are as rich, so it is only asked.
    expect(finding).toMatchObject({
      kind: 'percent',
      strength: 'possible',
      suggestion: { kind: 'unit', unit: 'g/kg' },
    });
  });

  it('a field that was manured for years is not taken for pounds of P2O5 where nothing earlier is known', () => {
    expect(labChecks(table('P', drawn(20, 280, 0.4, 6)))).toEqual([]);
  });

  it('half the earlier level: perhaps the earlier report was in lb/ac; this file’s values are left alone', () => {
    const [finding] = labChecks(table('K', ppmK), { K: times(earlierK, 2) });
    expect(finding).toMatchObject({ kind: 'unit', strength: 'likely' });
    expect(finding.sentence).toContain('earlier results were lb/ac');
    expect(finding.suggestion).toBeUndefined();
  });

  it('two values are too few for a factor of two', () => {
    expect(labChecks(table('K', [310, 330]), { K: [150, 170] }).every((f) => f.strength === 'possible')).toBe(
      true,
    );
  });

  it('a cell with a unit of its own says nothing of the column', () => {
    const cells = times(ppmK, 2).map((v) => `${v} lb/ac`);
    expect(labChecks(table('K', cells), { K: earlierK })).toEqual([]);
  });

  it('taken by the user, the values, the column and the mapping follow', () => {
    const slipped = table('K', times(ppmK, 2));
    const [finding] = labChecks(slipped, { K: earlierK });
    const mended = acceptSuggestion(slipped, finding);
    mended.rows.forEach((row, i) => expect(row.values.K.value).toBeCloseTo(ppmK[i], 9));
    expect(mended.columns[1]).toMatchObject({ fileUnit: 'lb/ac', factor: 0.5, unitNamed: true });
    expect(labChecks(mended, { K: earlierK })).toEqual([]);
    expect(mended.mapping.columns.K).toEqual({ role: 'analyte', analyte: 'K', unit: 'lb/ac' });
    const text = `Bag,K\nB1,${2 * ppmK[0]}\n`;
    expect(valueOf(readLabResults('next.csv', text, [mended.mapping])).rows[0].values.K.value).toBe(ppmK[0]);
    // What was read is as it was.
    expect(slipped.rows[0].values.K.value).toBe(2 * ppmK[0]);
  });
});

describe('a value that can’t be real, or is far from the others', () => {
  const ph = [6.4, 6.8, 6.5, 6.9, 6.6, 7.0, 6.3];

  it('pH typed as 68 is probably 6.8', () => {
    const found = labChecks(table('pH', [...ph, 68]));
    expect(found).toEqual([
      expect.objectContaining({
        bag: 'B8',
        row: 9,
        column: 'pH',
        kind: 'decimal point',
        strength: 'likely',
        suggestion: { kind: 'value', value: 6.8 },
      }),
    ]);
    expect(found[0].sentence).toContain('“68”');
    expect(labChecks(table('pH', [67]))[0].suggestion).toEqual({ kind: 'value', value: 6.7 });
    expect(labChecks(table('pH', [...ph, 665]))[0].suggestion).toEqual({ kind: 'value', value: 6.65 });
    expect(labChecks(table('pH', [...ph, 0.66]))[0].suggestion).toEqual({ kind: 'value', value: 6.6 });
  });

  it('a pH that nothing mends is only said to be impossible', () => {
    const [finding] = labChecks(table('pH', [...ph, 14.2]));
    expect(finding).toMatchObject({ kind: 'impossible', strength: 'sure', row: 9 });
    expect(finding.suggestion).toBeUndefined();
    expect(finding.sentence).toContain('outside 2 to 11');
  });

  it('an acid spot is no slip', () => expect(labChecks(table('pH', [...ph, 5.1]))).toEqual([]));

  it('below 0', () => {
    expect(labChecks(table('K', [...ppmK, -3]))).toMatchObject([{ kind: 'impossible', row: 32 }]);
  });

  it('0 and values below detection raise nothing', () => {
    expect(labChecks(table('P', [...ppmP, 0, '<1']))).toEqual([]);
  });

  it('a decimal comma read as thousands', () => {
    const om = [2.75, 3.5, 3.25, 2.9, 3.1, 3.3];
    const [finding] = labChecks(table('OM', [...om, '3,125']));
    expect(finding).toMatchObject({
      kind: 'decimal comma',
      row: 8,
      suggestion: { kind: 'value', value: 3.125 },
    });
    // The whole column so, and no other to tell: the usual level tells.
    const all = labChecks(table('OM', ['3,125', '2,875', '3,250']));
    expect(all.filter((f) => f.kind === 'decimal comma').map((f) => f.suggestion)).toEqual([
      { kind: 'value', value: 3.125 },
      { kind: 'value', value: 2.875 },
      { kind: 'value', value: 3.25 },
    ]);
  });

  it('thousands that are thousands', () => {
    const ca = ['1,450', '2,120', '1,890', '1,760', '2,010', '1,980'];
    expect(labChecks(table('Ca', ca), { Ca: [1500, 1800, 2100, 1900, 1700] })).toEqual([]);
  });

  it('ten times the others is asked about, twice is not', () => {
    const k = [150, 160, 170, 155, 165, 158, 162];
    expect(labChecks(table('K', [...k, 1600]))).toMatchObject([
      { kind: 'decimal point', strength: 'possible', row: 9, suggestion: { kind: 'value', value: 160 } },
    ]);
    expect(labChecks(table('K', [...k, 320]))).toEqual([]);
  });

  it('a taken value changes that cell alone', () => {
    const read = table('pH', [...ph, 68]);
    const [finding] = labChecks(read);
    const mended = acceptSuggestion(read, finding);
    expect(mended.rows.map((r) => r.values.pH.value)).toEqual([...ph, 6.8]);
    expect(mended.rows[7].values.pH.text).toBe('68');
    expect(labChecks(mended)).toEqual([]);
    expect(read.rows[7].values.pH.value).toBe(68);
  });
});

describe('how often right units are asked about', () => {
  // Not a figure to be held exactly: units are right in all of these, the field's level moves by a tenth (sd of logs).
  it('some in a hundred at most, and hardly ever called likely', () => {
    let [asked, likely] = [0, 0];
    const runs = 200;
    for (let run = 0; run < runs; run++) {
      const level = 160 * Math.exp(0.1 * randomNormal(seededRandom(1000 + run)));
      const found = labChecks(table('K (ppm)', drawn(25, level, 0.35, 5000 + run, 0)), {
        K: drawn(25, 160, 0.35, 9000 + run, 0),
      }).filter((f) => f.kind === 'unit');
      if (found.length > 0) asked++;
      if (found.some((f) => f.strength === 'likely')) likely++;
    }
    expect(asked / runs).toBeLessThan(0.06);
    expect(likely / runs).toBeLessThan(0.01);
  });
});
