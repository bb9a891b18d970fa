import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { correctMapping, labSignature, readLabResults, type LabMapping } from '../../src/read/index.ts';
import { bytesOf, sentences, valueOf } from './bytes.ts';

const lines = (...rows: readonly string[]) => rows.join('\r\n') + '\r\n';
const read = (text: string, mapping?: LabMapping | readonly LabMapping[]) =>
  readLabResults('results.csv', text, mapping);

const wide = lines(
  'Lab No,Sample ID,M3-P (ppm),K (lb/ac),pH,Buffer pH,OM %,K % Sat,P Rec (lb/ac)',
  '90001,NFD-001-10,24,310,6.4,6.8,3.1,3.2,40',
  '90002,NFD-002-07,<5,284,6.8,,2.9,2.8,0',
);

describe('results by bag', () => {
  const results = valueOf(read(wide));

  it('values come in the inside unit with cell, row and column', () => {
    expect(results.rows.map((r) => [r.bag, r.row])).toEqual([
      ['NFD-001-10', 2],
      ['NFD-002-07', 3],
    ]);
    // 2 lb an acre for each ppm in the furrow slice of 6 2/3 in.
    expect(results.rows[0].values.K).toEqual({
      value: 155,
      below: false,
      above: false,
      text: '310',
      row: 2,
      column: 'K (lb/ac)',
      factor: 0.5,
    });
    expect(results.rows[1].values.P).toMatchObject({ value: 5, below: true, text: '<5' });
    expect(Object.keys(results.rows[0].values).sort()).toEqual(['K', 'OM', 'P', 'bufferPH', 'pH']);
    expect(results.rows[1].values).not.toHaveProperty('bufferPH');
  });

  it('each column says what it was taken for and why', () => {
    expect(results.columns.map((c) => [c.header, c.role, c.analyte])).toEqual([
      ['Lab No', 'lab number', undefined],
      ['Sample ID', 'bag', undefined],
      ['M3-P (ppm)', 'analyte', 'P'],
      ['K (lb/ac)', 'analyte', 'K'],
      ['pH', 'analyte', 'pH'],
      ['Buffer pH', 'analyte', 'bufferPH'],
      ['OM %', 'analyte', 'OM'],
      ['K % Sat', 'ignored', undefined],
      ['P Rec (lb/ac)', 'ignored', undefined],
    ]);
    expect(results.columns[2]).toMatchObject({ extractant: 'Mehlich-3', unitNamed: true, fileUnit: 'ppm' });
    for (const column of results.columns) expect(column.why).not.toBe('');
  });

  it('bytes and text are the same', () => {
    expect(valueOf(readLabResults('results.csv', bytesOf(wide)))).toEqual(results);
  });

  it('the mapping is plain data that reads the file again in the same way', () => {
    const kept = JSON.parse(JSON.stringify(results.mapping)) as LabMapping;
    expect(kept).toEqual(results.mapping);
    const again = valueOf(read(wide, [kept]));
    expect(again.rows).toEqual(results.rows);
    expect(again.mapping).toEqual(results.mapping);
    expect(again.columns[3].why).toBe('as in this laboratory’s earlier file');
  });

  it('a correction holds for this file and, remembered, for the laboratory’s next', () => {
    const next = lines('Sample ID,P,K', 'A1,20,300');
    const first = valueOf(read(lines('Sample ID,P,K', 'A1,24,310')));
    expect(first.rows[0].values.K.value).toBe(310);
    expect(first.columns[2].unitNamed).toBe(false);
    const corrected = correctMapping(first.mapping, 'K', { role: 'analyte', analyte: 'K', unit: 'lb/ac' });
    expect(valueOf(read(next, corrected)).rows[0].values.K.value).toBe(150);
    expect(valueOf(read(next, [first.mapping, corrected].slice(1))).rows[0].values.K.value).toBe(150);
    const oxide = correctMapping(first.mapping, 'P', { role: 'analyte', analyte: 'P', unit: 'lb/ac P2O5' });
    expect(valueOf(read(next, oxide)).rows[0].values.P.value).toBeCloseTo(20 / 2 / 2.2914, 9);
    const ignored = correctMapping(first.mapping, 'K', { role: 'ignored' });
    expect(valueOf(read(next, ignored)).rows[0].values).not.toHaveProperty('K');
  });

  it('a remembered mapping of other columns is not used', () => {
    const other = valueOf(read(lines('Sample,Potash', 'A1,300'))).mapping;
    const corrected = correctMapping(other, 'Potash', { role: 'ignored' });
    expect(valueOf(read(lines('Sample,Potash,P', 'A1,300,20'), [corrected])).rows[0].values.K.value).toBe(
      300,
    );
  });

  it('the signature knows a layout whatever the case and order of its columns', () => {
    expect(labSignature(['Sample ID', ' K  (ppm)'])).toBe(labSignature(['k (ppm)', 'SAMPLE ID']));
    expect(labSignature(['Sample ID', 'K'])).not.toBe(labSignature(['Sample ID', 'K', 'P']));
  });

  it('the bag’s column is the surest one, or the one chosen', () => {
    const text = lines('Lab ID,Description,Bag #,K', '7,home,NFD-001-10,150');
    expect(valueOf(read(text)).rows[0].bag).toBe('NFD-001-10');
    const { mapping } = valueOf(read(text));
    const chosen = correctMapping(mapping, 'Description', { role: 'bag' });
    expect(chosen.columns['Bag #']).toEqual({ role: 'ignored' });
    expect(valueOf(read(text, chosen)).rows[0].bag).toBe('home');
  });

  it('an empty column named like the bags’ is passed over', () => {
    expect(valueOf(read(lines('Bag,Sample ID,K', ',a,1', ',b,2'))).rows.map((r) => r.bag)).toEqual([
      'a',
      'b',
    ]);
  });

  it('a row of units under the headers counts', () => {
    const { rows, columns } = valueOf(
      read(lines('Sample,P,K,pH,OM', ',ppm P2O5,(lb/ac),,%', 'A1,45.828,300,6.5,3')),
    );
    expect(rows).toHaveLength(1);
    expect(rows[0].row).toBe(3);
    expect(rows[0].values.P.value).toBeCloseTo(20, 9);
    expect(rows[0].values.K.value).toBe(150);
    expect(columns[1]).toMatchObject({ header: 'P', fileUnit: 'ppm P2O5', unitNamed: true });
  });

  it('titles, semicolons, decimal commas, a unit in the cell and a rating behind the number', () => {
    const { rows } = valueOf(
      read('Results of the year\nSample;K;pH;OM\nA1;150 H;6,4;3,1\nA2;310 lb/ac;6,85;12,25\n'),
    );
    expect(rows.map((r) => [r.values.K.value, r.values.pH.value, r.values.OM.value])).toEqual([
      [150, 6.4, 3.1],
      [155, 6.85, 12.25],
    ]);
    expect(rows[1].values.K.factor).toBe(0.5);
  });

  it('impossible values are kept for the checks, and an open number with its other reading', () => {
    const { rows } = valueOf(read(lines('Sample,pH,OM', 'a,68,"3,125"', 'b,6.7,2.75')));
    expect(rows[0].values.pH.value).toBe(68);
    expect(rows[0].values.OM).toMatchObject({ value: 3125, otherReading: 3.125 });
    expect(rows[1].values.OM.otherReading).toBeUndefined();
  });
});

describe('a line for each test', () => {
  const long = lines(
    'Lab Number,Client Sample ID,Analyte,Result,Units',
    '1,A1,Phosphorus (Mehlich 3),24,ppm',
    '1,A1,Potassium,310,lb/ac',
    '1,A1,pH,6.4,',
    '2,A2,Phosphorus (Mehlich 3),30,ppm',
    '2,A2,Potassium,abc,lb/ac',
    '2,A2,pH,6.6,',
  );

  it('becomes a row for each bag, each value with its own line', () => {
    const outcome = read(long);
    const { rows } = valueOf(outcome);
    expect(rows.map((r) => [r.bag, r.values.P.value, r.values.K?.value, r.values.pH.value])).toEqual([
      ['A1', 24, 155, 6.4],
      ['A2', 30, undefined, 6.6],
    ]);
    expect([rows[0].values.P.row, rows[0].values.K.row, rows[1].values.pH.row]).toEqual([2, 3, 7]);
    expect(outcome.ok && outcome.notes).toMatchObject([{ row: 6, column: 'Potassium (lb/ac)' }]);
    expect(sentences(outcome)).toContain('“abc” is not a number');
  });

  it('is remembered and corrected like any other', () => {
    const { mapping, rows } = valueOf(read(long));
    expect(mapping.columns.Analyte).toEqual({ role: 'test' });
    expect(valueOf(read(long, [mapping])).rows).toEqual(rows);
    const corrected = correctMapping(mapping, 'Potassium (lb/ac)', {
      role: 'analyte',
      analyte: 'K',
      unit: 'ppm',
    });
    expect(valueOf(read(long, corrected)).rows[0].values.K.value).toBe(310);
  });

  it('a test that comes twice for a bag opens a second row of that bag', () => {
    const { rows } = valueOf(read(long + lines('3,A1,pH,6.9,')));
    expect(rows.map((r) => [r.bag, r.row])).toEqual([
      ['A1', 2],
      ['A2', 5],
      ['A1', 8],
    ]);
    expect(rows[2].values.pH.value).toBe(6.9);
  });
});

describe('what is set aside, with file, row and column', () => {
  it.each([
    ['“x” is not a number', lines('Sample,K', 'a,150', 'b,x', 'c,1'), 3, 'K'],
    ['has a unit that Organic matter can’t be in', lines('Sample,OM', 'a,3', 'b,40 lb/ac'), 3, 'OM'],
    ['has results but no bag number', lines('Sample,K', 'a,150', ',160'), 3, 'Sample'],
    ['has no result that can be read', lines('Sample,K', 'a,150', 'b,'), 3, 'Sample'],
    ['sums up the table', lines('Sample,K', 'a,150', 'Average,150'), 3, 'Sample'],
    ['below detection without a limit', lines('Sample,Zn', 'a,1.5', 'b,ND'), 3, 'Zn'],
  ])('%s', (sentence, text, row, column) => {
    const outcome = read(text);
    const notes = outcome.ok ? outcome.notes : [];
    const note = notes.find((n) => n.problem.includes(sentence));
    expect(note, sentences(outcome)).toMatchObject({ file: 'results.csv', row, column });
    expect(note?.remedy).not.toBe('');
  });

  it('ND takes the stated limit, else the smallest value; all ND without one are left out', () => {
    const zn = (...cells: readonly string[]) =>
      valueOf(read(lines('Sample,K,Zn', ...cells.map((c, i) => `a${i},1,${c}`)))).rows.map(
        (r) => r.values.Zn?.value,
      );
    expect(zn('1.5', '<0.2', 'ND')).toEqual([1.5, 0.2, 0.2]);
    expect(zn('1.5', '0.9', 'ND')).toEqual([1.5, 0.9, 0.9]);
    expect(zn('ND', 'nd')).toEqual([undefined, undefined]);
  });

  it('a mapping that names a column the file lacks is spoken of', () => {
    const { mapping } = valueOf(read(lines('Sample,K,P', 'a,150,20')));
    const outcome = read(lines('Sample,K', 'a,150'), mapping);
    expect(valueOf(outcome).rows[0].values.K.value).toBe(150);
    expect(outcome.ok && outcome.notes).toMatchObject([{ column: 'P' }]);
  });
});

describe('what is refused, in one sentence', () => {
  it.each([
    ['', 'empty'],
    ['%PDF-1.7 …', 'PDF'],
    [lines('Place,K', 'a,150'), 'No column with bag numbers'],
    [lines('Sample,Comment', 'a,b'), 'No soil measure'],
    [lines('Sample,K', ',', 'a,'), 'No soil measure'],
    ['Sample,K\r\n', 'no rows'],
  ])('%j', (text, sentence) => {
    const outcome = read(text);
    expect(outcome.ok).toBe(false);
    expect(outcome.ok ? '' : outcome.problems[0].problem).toContain(sentence);
    expect(outcome.ok ? {} : outcome.problems[0]).toMatchObject({ file: 'results.csv' });
  });

  it('a choice that can’t be', () => {
    const { mapping } = valueOf(read(lines('Sample,K,Potash', 'a,150,160')));
    const twice = correctMapping(mapping, 'Potash', { role: 'analyte', analyte: 'K' });
    expect(sentences(read(lines('Sample,K,Potash', 'a,150,160'), twice))).toContain('chosen for two columns');
    const wrong = correctMapping(mapping, 'K', { role: 'analyte', analyte: 'K', unit: 'furlongs' });
    expect(sentences(read(lines('Sample,K,Potash', 'a,150,160'), wrong))).toContain(
      '“furlongs” is not known',
    );
  });

  it('names that objects know don’t lead astray', () => {
    const { rows } = valueOf(read(lines('Sample,K,__proto__ (ppm),constructor (ppm)', 'toString,150,1,2')));
    expect(rows[0].bag).toBe('toString');
    expect(Object.keys(rows[0].values).sort()).toEqual(['K', '__proto__ (ppm)', 'constructor (ppm)']);
  });

  it('whatever comes, it is a value or a problem, never a throw', () => {
    const pieces = fc.constantFrom(
      'Bag',
      'K',
      'P (lb/ac)',
      'Test',
      'Result',
      'Unit',
      ',',
      ';',
      '\n',
      '"',
      '1',
      '6,8',
      '<5',
      'ND',
      'ppm',
      'pH',
      'x',
    );
    fc.assert(
      fc.property(fc.array(pieces, { maxLength: 30 }), (parts) => {
        const outcome = read(parts.join(''));
        expect(outcome.ok ? outcome.value.rows.length : outcome.problems.length).toBeGreaterThan(0);
      }),
      { numRuns: 400 },
    );
  });
});
