import { describe, expect, it } from 'vitest';
import { elevationName } from '../../src/read/elevation.ts';
import { readPoints } from '../../src/read/readPoints.ts';
import { readYield } from '../../src/read/readYield.ts';
import { yieldColumn } from '../../src/read/yieldColumns.ts';
import { bytesOf, sentences, valueOf } from './bytes.ts';

describe('the name of an elevation', () => {
  it.each([
    ['Elevation(ft)', 'ft'],
    ['Altitude', undefined],
    ['Elev_m', 'm'],
    ['Z (m)', 'm'],
    ['elevation', undefined],
    ['GPS Altitude (metres)', 'm'],
    ['ELEV US survey feet', 'ft'],
    ['alt_ft', 'ft'],
  ])('%j is one, in %s', (header, unit) => {
    const name = elevationName(header);
    expect(name).toBeDefined();
    expect(name!.unit).toBe(unit);
    expect(yieldColumn(header)?.role).toBe('elevation');
  });

  it.each(['Height', 'Header Height', 'Zn', 'Zone', 'Alternate', 'Salt', 'Slope', 'Melt', 'Moisture', 'm'])(
    '%j is none',
    (header) => expect(elevationName(header)).toBeUndefined(),
  );

  it('takes the surer of two', () => {
    expect(elevationName('Elevation')!.rank).toBeLessThan(elevationName('Z')!.rank);
  });
});

const yieldText = (header: string, heights: readonly string[]) =>
  bytesOf(
    `Longitude,Latitude,Dry yield (bu/ac),${header}\n${heights.map((h, i) => `10.${100 + i},50.1,${180 + i},${h}\n`).join('')}`,
  );

describe('elevation in a yield file', () => {
  it('feet become metres, and the column says so', () => {
    const table = valueOf(readYield('y.csv', yieldText('Elevation(ft)', ['1000', '1010.5', ''])));
    expect(table.elevations![0]).toBeCloseTo(304.8, 9);
    expect(table.elevations![1]).toBeCloseTo(1010.5 * 0.3048, 9);
    expect(table.elevations![2]).toBeNaN();
    expect(table.columns[3]).toEqual({
      header: 'Elevation(ft)',
      role: 'elevation',
      unit: 'ft',
      why: 'header names the elevation',
    });
  });

  it('without a unit metres are taken, and it is said', () => {
    const table = valueOf(readYield('y.csv', yieldText('Altitude', ['312.4 m', '313'])));
    expect([...table.elevations!]).toEqual([312.4, 313]);
    expect(table.columns[3].why).toContain('taken as m');
  });

  it('rows without a yield take their elevation with them', () => {
    const text = 'lon,lat,yield,elev_m\n10.1,50.1,0,300\n10.2,50.1,9,301\n10.3,50.1,8,302\n';
    expect([...valueOf(readYield('y.csv', bytesOf(text))).elevations!]).toEqual([301, 302]);
  });

  it('what cannot be on earth and zeros amid higher ground are left out with a note', () => {
    const read = readYield('y.csv', yieldText('Elev_m', ['301', '0', '302', '9001', '-431', '303', '-9999']));
    expect([...valueOf(read).elevations!]).toEqual([301, NaN, 302, NaN, NaN, 303, NaN]);
    expect(sentences(read)).toContain('3 of 7 elevations can’t be real');
  });

  it('at the sea a 0 is a height, and so is what lies below it', () => {
    const read = readYield('y.csv', yieldText('Elev_m', ['-2.5', '0', '1.5']));
    expect([...valueOf(read).elevations!]).toEqual([-2.5, 0, 1.5]);
    expect(sentences(read)).toBe('');
  });

  it('a column with nothing in it is ignored with a reason', () => {
    const table = valueOf(readYield('y.csv', yieldText('Elevation', ['', 'n/a'])));
    expect(table.elevations).toBeUndefined();
    expect(table.columns[3]).toMatchObject({ role: 'ignored', why: 'elevation: no readable value in it' });
  });

  it('takes the column and the unit the user says, and no other', () => {
    const text = bytesOf('lon,lat,yield,Elevation,Hoehe\n10.1,50.1,8,300,1000\n10.2,50.1,9,301,1001\n');
    const chosen = valueOf(
      readYield('y.csv', text, { columns: { hoehe: { role: 'elevation', unit: 'feet' } } }),
    );
    expect(chosen.elevations![0]).toBeCloseTo(304.8, 9);
    expect(chosen.columns.map((c) => c.role)).toEqual(['x', 'y', 'yield', 'ignored', 'elevation']);
    expect(chosen.columns[3].why).toBe('the elevation is taken from Hoehe');
    const none = valueOf(readYield('y.csv', text, { columns: { Elevation: { role: 'ignored' } } }));
    expect(none.elevations).toBeUndefined();
    const wrong = readYield('y.csv', text, { columns: { Elevation: { role: 'elevation', unit: 'ppm' } } });
    expect(wrong.ok).toBe(false);
    expect(sentences(wrong)).toContain('“ppm” is not known; an elevation can be in m, ft');
  });
});

describe('elevation in a file of test points', () => {
  const text = bytesOf('lon,lat,P (ppm),Elev (ft),Z\n10.1,50.1,20,1000,5\n10.2,50.1,30,,6\n');

  it('is read beside the tests, once', () => {
    const table = valueOf(readPoints('p.csv', text));
    expect(table.elevations![0]).toBeCloseTo(304.8, 9);
    expect(table.elevations![1]).toBeNaN();
    expect(table.columns.map((c) => c.role)).toEqual(['x', 'y', 'analyte', 'elevation', 'ignored']);
    expect(table.analytes.map((a) => a.id)).toEqual(['P']);
  });

  it('the user may take another column, or none', () => {
    const other = valueOf(readPoints('p.csv', text, { columns: { Z: { role: 'elevation' } } }));
    expect([...other.elevations!]).toEqual([5, 6]);
    const none = readPoints('p.csv', text, {
      columns: { Z: { role: 'ignored' }, 'Elev (ft)': { role: 'ignored' } },
    });
    expect(valueOf(none).elevations).toBeUndefined();
    const wrong = readPoints('p.csv', text, { columns: { Z: { role: 'elevation', unit: 'lb/ac' } } });
    expect(sentences(wrong)).toContain('an elevation can be in m, ft');
  });
});
