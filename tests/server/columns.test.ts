import { describe, expect, it } from 'vitest';
import { columnCorrections } from '../../server/forms/columns.ts';

const typed = (use: string, unit: string, was: string) => ({
  'c.0.3.file': 'y.csv',
  'c.0.3.header': 'Hoehe',
  'c.0.3.was': was,
  'c.0.3.use': use,
  'c.0.3.unit': unit,
});
const choiceOf = (use: string, unit: string, was = 'ignored|') =>
  columnCorrections(typed(use, unit, was))[0]?.choice;

describe('a column corrected on the page', () => {
  it('can be an elevation, with its unit', () => {
    expect(choiceOf('elevation', 'ft')).toEqual({ role: 'elevation', unit: 'ft' });
    expect(choiceOf('elevation', '')).toEqual({ role: 'elevation' });
    expect(choiceOf('elevation', 'm', 'elevation|ft')).toEqual({ role: 'elevation', unit: 'm' });
  });

  it('left as it was is no correction', () => {
    expect(columnCorrections(typed('elevation', 'ft', 'elevation|ft'))).toEqual([]);
  });

  it('a unit left over from the other kind of column does not come along', () => {
    expect(choiceOf('elevation', 'ppm', 'analyte:K|ppm')).toEqual({ role: 'elevation' });
    expect(choiceOf('analyte:K', 'ft', 'elevation|ft')).toEqual({ role: 'analyte', analyte: 'K' });
    expect(choiceOf('analyte:K', 'lb/ac', 'analyte:K|ppm')).toEqual({
      role: 'analyte',
      analyte: 'K',
      unit: 'lb/ac',
    });
  });
});
