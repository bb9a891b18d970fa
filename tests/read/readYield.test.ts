import { describe, expect, it } from 'vitest';
import { readYield } from '../../src/read/readYield.ts';
import { bytesOf, sentences, valueOf } from './bytes.ts';

const HEADER =
  'Longitude,Latitude,Track(deg),Speed(mph),Moisture(%),Yld Mass(Wet)(lb/ac),Yld Vol(Dry)(bu/ac),Time\n';

describe('readYield', () => {
  it('finds dry volume among the columns and sets aside what is not a yield', () => {
    const result = readYield(
      'y.csv',
      bytesOf(
        `${HEADER}10.1,50.1,90,4.5,15,9000,180.5,1\n10.2,50.1,90,0,15,0,0,2\n10.3,50.1,90,4.4,16,1,,3\n10.4,50.1,91,4.6,,1,-4,4\n10.5,50.1,90,4.4,16,1,170,5\n`,
      ),
    );
    const table = valueOf(result);
    expect([...table.yields]).toEqual([180.5, 170]);
    expect([...table.rows]).toEqual([2, 6]);
    expect([...table.world]).toEqual([10.1, 50.1, 10.5, 50.1]);
    expect([...(table.speeds ?? [])]).toEqual([4.5, 4.4]);
    expect([...(table.moistures ?? [])]).toEqual([15, 16]);
    expect(table).toMatchObject({ unit: 'bu/ac', kind: 'lonlat' });
    expect(sentences(result)).toContain('2 of 5 points have a yield of 0 or less');
    expect(sentences(result)).toContain('1 of 5 points have no readable yield');
    expect(table.columns.map((c) => c.role)).toEqual([
      'x',
      'y',
      'ignored',
      'speed',
      'moisture',
      'ignored',
      'yield',
      'time',
    ]);
  });

  it('takes the column the user chooses', () => {
    const table = valueOf(
      readYield('y.csv', bytesOf('x,y,mass\n500000,4500000,9\n500010,4500000,8\n'), {
        columns: { mass: { role: 'yield', unit: 't/ha' } },
      }),
    );
    expect([...table.yields]).toEqual([9, 8]);
    expect(table).toMatchObject({ unit: 't/ha', kind: 'projected' });
  });

  it.each([
    ['', 'empty'],
    ['lon,lat,P\n10.1,50.1,4\n', 'among: lon, lat, P'],
    ['lon,lat,yield\n10.1,50.1,0\n', 'No row has a yield above 0'],
    ['a,b,yield\n1,2,3\n', 'No coordinate columns'],
  ])('stops at %j', (text, said) => {
    const result = readYield('y.csv', bytesOf(text));
    expect(result.ok).toBe(false);
    expect(sentences(result)).toContain(said);
  });
});
