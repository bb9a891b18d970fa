import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readPoints } from '../../src/read/readPoints.ts';
import type { PointTable } from '../../src/read/records.ts';
import { bytesOf, fixture, sentences, valueOf } from './bytes.ts';

const read = (text: string, options?: Parameters<typeof readPoints>[2]) =>
  readPoints('p.csv', bytesOf(text), options);
const values = (table: PointTable, id: string) => [
  ...(table.analytes.find((a) => a.id === id)?.values ?? []),
];
const ids = (table: PointTable) => table.analytes.map((a) => a.id);

describe('open data', () => {
  it('reads the Oxford profiles: measures of the first layer, no codes', () => {
    const table = valueOf(readPoints('oxford.csv', fixture('../reference/oxford.csv')));
    expect(table.kind).toBe('projected');
    expect(table.rows.length).toBe(126);
    expect(ids(table)).toEqual(['P', 'K', 'pH', 'OM', 'CEC', 'clay', 'Mg']);
    expect(table.labels[0]).toBe('1');
    expect([...table.world.slice(0, 2)]).toEqual([100, 2100]);
    expect(values(table, 'P')[0]).toBe(13);
    expect(values(table, 'K')[0]).toBe(196);
    expect(values(table, 'clay')[0]).toBe(15);
    expect(table.columns.find((c) => c.header === 'PCLAY2')).toMatchObject({ role: 'ignored' });
    expect(table.columns.find((c) => c.header === 'PROFILE')?.role).toBe('label');
    expect(table.columns.length).toBe(22);
    expect(table.columns.every((c) => c.why !== '')).toBe(true);
  });

  it('reads the Meuse topsoils with their trace elements', () => {
    const table = valueOf(readPoints('meuse.csv', fixture('../reference/meuse.csv')));
    expect(table.kind).toBe('projected');
    expect(table.rows.length).toBe(155);
    expect(ids(table)).toEqual(['OM', 'cadmium', 'Cu', 'lead', 'Zn']);
    expect(values(table, 'Zn')[0]).toBe(1022);
    // Two organic matter values are missing in the original.
    expect(values(table, 'OM').filter(Number.isNaN).length).toBe(2);
  });
});

describe('ways people write tables', () => {
  it('reads three points', () => {
    const table = valueOf(read('id,longitude,latitude,P\nA,10.1,50.1,12\nB,10.2,50.2,13\nC,10.3,50.3,14\n'));
    expect(table).toMatchObject({ kind: 'lonlat', labels: ['A', 'B', 'C'] });
    expect([...table.rows]).toEqual([2, 3, 4]);
    expect([...table.world]).toEqual([10.1, 50.1, 10.2, 50.2, 10.3, 50.3]);
  });

  it('reads decimal commas with semicolons', () => {
    const table = valueOf(read('x;y;P (ppm);pH\n10,1234;50,5;12,5;6,8\n10,1235;50,6;1.012,5;7\n'));
    expect([...table.world]).toEqual([10.1234, 50.5, 10.1235, 50.6]);
    expect(values(table, 'P')).toEqual([12.5, 1012.5]);
    expect(values(table, 'pH')).toEqual([6.8, 7]);
  });

  it('reads degrees with three decimals behind a comma', () => {
    const table = valueOf(read('lon;lat;P\n10,123;50,123;12\n10,124;50,124;13\n'));
    expect([...table.world]).toEqual([10.123, 50.123, 10.124, 50.124]);
  });

  it('keeps degrees with three decimals behind a point, even between semicolons', () => {
    const table = valueOf(read('lon;lat;P\n10.123;50.123;12\n10.124;50.124;13\n'));
    expect([...table.world]).toEqual([10.123, 50.123, 10.124, 50.124]);
  });

  it('reads thousands, with a note where the column had to tell', () => {
    const read1 = read('x,y,Ca\n500000,4500000,"1,234"\n500100,4500000,985.5\n');
    expect(values(valueOf(read1), 'Ca')).toEqual([1234, 985.5]);
    expect(sentences(read1)).toContain('“1,234” could be thousands or decimals; it was read as 1234');
    const read2 = read('x;y;Ca\n500000;4500000;1,234\n500100;4500000;9,5\n');
    expect(values(valueOf(read2), 'Ca')).toEqual([1.234, 9.5]);
  });

  it('reads tabs, a byte-order mark, UTF-16, quotes, blank lines and a title', () => {
    const tabs = valueOf(read('\ufefflon\tlat\tP\n10.1\t50.1\t12\n\n10.2\t50.2\t13\n'));
    expect([...tabs.rows]).toEqual([2, 4]);
    const utf16 = new Uint8Array([
      0xff,
      0xfe,
      ...[...'lon\tlat\tK\n10\t50\t9\n'].flatMap((c) => [c.charCodeAt(0), 0]),
    ]);
    expect(values(valueOf(readPoints('u.txt', utf16)), 'K')).toEqual([9]);
    const quoted = valueOf(read('"sample id","lon","lat","P"\n"A, north",10.1,50.1,12\n'));
    expect(quoted.labels).toEqual(['A, north']);
    const titled = read('Soil test report\nlon,lat,P\n10.1,50.1,12\n');
    expect([...valueOf(titled).rows]).toEqual([3]);
    expect(sentences(titled)).toContain('above the column names');
  });

  it('falls back to windows-1252 with a note', () => {
    const bytes = new Uint8Array([...bytesOf('name,lon,lat,P\nW'), 0xfc, ...bytesOf('ste,10.1,50.1,12\n')]);
    const table = readPoints('p.csv', bytes);
    expect(valueOf(table).labels).toEqual(['Wüste']);
    expect(sentences(table)).toContain('windows-1252');
  });

  it('keeps the limit of "<5" and flags it; "ND" takes the column’s limit', () => {
    const read1 = read('lon,lat,P\n10.1,50.1,<5\n10.2,50.2,12\n10.3,50.3,ND\n');
    const p = valueOf(read1).analytes[0];
    expect([...p.values]).toEqual([5, 12, 5]);
    expect([...p.belowDetection]).toEqual([1, 0, 1]);
    expect(sentences(read1)).toContain('without a limit');
  });

  it('converts units of the header and of the cell', () => {
    const table = valueOf(
      read('lon,lat,P (lb/ac),K ppm,Mg\n10.1,50.1,40,150,1 meq/100g\n10.2,50.2,20 ppm,300 lb/ac,120\n'),
    );
    expect(values(table, 'P')).toEqual([20, 20]);
    expect(values(table, 'K')).toEqual([150, 150]);
    expect(values(table, 'Mg')[0]).toBeCloseTo(121.525, 6);
    expect(table.columns.find((c) => c.header === 'P (lb/ac)')?.unit).toBe('lb/ac');
    expect(table.analytes.find((a) => a.id === 'P')?.unit).toBe('mg/kg');
  });

  it('keeps a column without variation', () => {
    expect(values(valueOf(read('lon,lat,P\n10.1,50.1,9\n10.2,50.2,9\n')), 'P')).toEqual([9, 9]);
  });

  it('takes P1 for the weak Bray test, but not beside OM1', () => {
    expect(valueOf(read('lon,lat,P1,OM\n1,2,9,3\n')).analytes[0].extractant).toBe('Bray-P1');
    expect(valueOf(read('lon,lat,P1,OM1\n1,2,9,3\n')).analytes[0].extractant).toBeUndefined();
  });

  it('reads GeoJSON points and leaves other shapes out', () => {
    const features = [
      {
        type: 'Feature',
        geometry: { type: 'Point', coordinates: [10.1, 50.1, 200] },
        properties: { id: 'A', P: 12, pH: '6,5' },
      },
      { type: 'Feature', geometry: { type: 'Polygon', coordinates: [] }, properties: {} },
      {
        type: 'Feature',
        geometry: { type: 'Point', coordinates: [10.2, 50.2] },
        properties: { id: 'B', P: null, pH: 7 },
      },
    ];
    const result = readPoints('p.geojson', bytesOf(JSON.stringify({ type: 'FeatureCollection', features })));
    const table = valueOf(result);
    expect(table).toMatchObject({ kind: 'lonlat', labels: ['A', 'B'] });
    expect([...table.rows]).toEqual([1, 3]);
    expect(values(table, 'P')).toEqual([12, NaN]);
    expect(values(table, 'pH')).toEqual([6.5, 7]);
    expect(sentences(result)).toContain('not a point (Polygon)');
  });
});

describe('coordinates', () => {
  it('swaps longitude and latitude back', () => {
    const result = read('lat,lon,P\n-93.1,41.5,12\n-93.2,41.6,13\n');
    expect(valueOf(result).kind).toBe('lonlat');
    expect([...valueOf(result).world]).toEqual([-93.1, 41.5, -93.2, 41.6]);
    expect(sentences(result)).toContain('swapped back');
  });

  it('swaps plain x and y only when they can’t be metres', () => {
    const degrees = read('x,y,P\n41.501,-93.101,1\n41.502,-93.102,2\n41.503,-93.103,3\n');
    expect(valueOf(degrees).kind).toBe('lonlat');
    expect(valueOf(degrees).world[0]).toBe(-93.101);
    const metres = valueOf(read('x,y,P\n0,100,1\n50,120,2\n80,160,3\n'));
    expect(metres.kind).toBe('projected');
    expect(metres.world[1]).toBe(100);
  });

  it('follows headers that say easting, and sees a small grid of metres', () => {
    expect(valueOf(read('easting,northing,P\n10,50,1\n20,60,2\n')).kind).toBe('projected');
    expect(valueOf(read('x,y,P\n0,0,1\n50,0,2\n0,50,3\n50,50,4\n')).kind).toBe('projected');
    expect(valueOf(read('x,y,P\n10.1,50.1,1\n10.2,50.2,2\n')).kind).toBe('lonlat');
  });

  it('takes N for nitrogen beside x and y, for northing beside E', () => {
    expect([...valueOf(read('x,y,P,N,E\n500000,4500000,1,2,3\n')).world]).toEqual([500000, 4500000]);
    expect([...valueOf(read('E,N,P\n500000,4500000,1\n')).world]).toEqual([500000, 4500000]);
  });

  it('turns feet into metres', () => {
    const result = read('easting ft,northing ft,P\n1000,2000,1\n1100,2000,2\n');
    expect(valueOf(result).world[0]).toBeCloseTo(304.8, 9);
    expect(sentences(result)).toContain('feet');
  });

  it('sets aside rows without a usable coordinate, saying where', () => {
    const result = read(
      'lon,lat,P\n10.1,50.1,1\nabc,50.2,2\n10.3,,3\n0,0,4\n10.4,500,5\n10.5,50.5,6\n10.1,50,1\n10.1,50,1\n10.1,50,1\n10.1,50,1\n10.1,50,1\n10.1,50,1\n',
    );
    expect([...valueOf(result).rows].slice(0, 2)).toEqual([2, 7]);
    if (!result.ok) throw new Error('not read');
    expect(result.notes.find((n) => n.row === 3)).toMatchObject({ file: 'p.csv', column: 'lon' });
    expect(result.notes.find((n) => n.row === 4)).toMatchObject({ column: 'lat' });
    expect(result.notes.find((n) => n.row === 5)?.problem).toContain('no position');
    expect(result.notes.find((n) => n.row === 6)).toMatchObject({ column: 'lat' });
  });

  it('reads hemispheres', () => {
    expect([...valueOf(read('lon,lat,P\n93.1042 W,41.52 N,1\n')).world]).toEqual([-93.1042, 41.52]);
  });
});

describe('values that can’t be', () => {
  it('leaves out what is unreadable or impossible, keeps the row and says so', () => {
    const result = read('lon,lat,pH,P\n10.1,50.1,68,12\n10.2,50.2,6.5,abc\n10.3,50.3,7,-4\n');
    const table = valueOf(result);
    expect(values(table, 'pH')).toEqual([NaN, 6.5, 7]);
    expect(values(table, 'P')).toEqual([12, NaN, NaN]);
    expect(sentences(result)).toContain('pH 68 can’t be real, probably 6.8');
    expect(sentences(result)).toContain('“abc” is not a number');
    expect(sentences(result)).toContain('Phosphorus -4 can’t be real');
  });

  it('folds many notes of one kind into one', () => {
    const rows = Array.from({ length: 30 }, (_, i) => `10.${i + 100},50.1,${i === 0 ? 6 : 'x'}`);
    const result = read(`lon,lat,pH\n${rows.join('\n')}\n`);
    if (!result.ok) throw new Error('not read');
    expect(result.notes.length).toBe(1);
    expect(result.notes[0].problem).toContain('29 rows are like this. The first are in rows 3, 4, 5, 6, 7.');
  });

  it('counts zeros', () => {
    expect(sentences(read('lon,lat,P\n10.1,50.1,0\n10.2,50.2,5\n'))).toContain('1 value is exactly 0');
  });
});

describe('corrections by the user', () => {
  const text = 'a,b,c,P,Q\n10.1,50.1,S1,12,88\n10.2,50.2,S2,13,90\n';
  it('takes roles, analytes and units by header in any case', () => {
    const table = valueOf(
      read(text, {
        columns: {
          A: { role: 'x' },
          B: { role: 'y' },
          C: { role: 'label' },
          p: { role: 'ignored' },
          q: { role: 'analyte', analyte: 'P', unit: 'lb/ac' },
        },
      }),
    );
    expect(table.labels).toEqual(['S1', 'S2']);
    expect(values(table, 'P')).toEqual([44, 45]);
    expect(table.columns.map((c) => c.role)).toEqual(['x', 'y', 'label', 'ignored', 'analyte']);
    expect(table.columns[4].why).toBe('chosen by you');
  });
  it('lets the chosen column win over the one found', () => {
    const table = valueOf(
      read('lon,lat,P,P2\n1,2,5,9\n', { columns: { P2: { role: 'analyte', analyte: 'P' } } }),
    );
    expect(values(table, 'P')).toEqual([9]);
  });
  it('notes a header that isn’t there and refuses a unit that can’t be', () => {
    expect(sentences(read('lon,lat,P\n1,2,5\n', { columns: { Phos: { role: 'analyte' } } }))).toContain(
      'no column of this name',
    );
    const bad = read('lon,lat,P\n1,2,5\n', {
      columns: { P: { role: 'analyte', analyte: 'P', unit: 'stones' } },
    });
    expect(bad.ok).toBe(false);
    expect(sentences(bad)).toContain('stones');
    const twice = read('lon,lat,a,b\n1,2,5,6\n', {
      columns: { a: { role: 'analyte', analyte: 'P' }, b: { role: 'analyte', analyte: 'P' } },
    });
    expect(sentences(twice)).toContain('chosen for two columns');
  });
});

describe('files that can’t be read', () => {
  const stopped: readonly (readonly [string, Uint8Array | string, string])[] = [
    ['an empty file', '', 'empty'],
    ['only blank lines', '\n\n  \n', 'blank lines'],
    ['a header alone', 'lon,lat,P\n', 'no rows'],
    ['no header', '10.1,50.1,12\n10.2,50.2,13\n', 'numbers, not column names'],
    ['no coordinates', 'sample,P,K\n1,12,130\n', 'among: sample, P, K'],
    ['no analyte', 'lon,lat,colour\n10.1,50.1,red\n', 'among: lon, lat, colour'],
    ['an analyte without a value', 'lon,lat,P\n10.1,50.1,red\n', 'No soil measure'],
    ['no readable row', 'lon,lat,P\nx,y,12\n', 'readable coordinates'],
    ['a zip or workbook', new Uint8Array([0x50, 0x4b, 3, 4, 20, 0, 0, 0]), 'workbook'],
    ['a picture', new Uint8Array([0x89, 0x50, 0x4e, 0x47, 13, 10]), 'picture'],
    ['a PDF', bytesOf('%PDF-1.7'), 'PDF'],
    ['binary garbage', new Uint8Array([1, 2, 0, 200, 3, 9, 0, 7]), 'not text'],
    ['decimal commas between commas', 'lon,lat,P\n10,1,50,1,12\n10,2,50,2,13\n', 'decimal comma'],
    ['an open quote', 'lon,lat,P\n"10.1,50.1,12\n10.2,50.2,13\n', 'never closes'],
    ['JSON that is cut short', '{"type":"FeatureCollection","features":[', 'can’t be parsed'],
    ['JSON that is no GeoJSON', '{"a":1}', 'not a GeoJSON'],
    [
      'GeoJSON without points',
      '{"type":"FeatureCollection","features":[{"type":"Feature","geometry":{"type":"LineString","coordinates":[]},"properties":{}}]}',
      'no points',
    ],
  ];
  it.each(stopped)('%s', (_, content, said) => {
    const result = readPoints('p.csv', typeof content === 'string' ? bytesOf(content) : content);
    expect(result.ok).toBe(false);
    expect(sentences(result)).toContain(said);
    if (!result.ok)
      for (const p of result.problems)
        expect(p).toMatchObject({ file: 'p.csv', remedy: expect.stringMatching(/\w/) });
  });

  it('refuses more rows than it can hold', () => {
    const result = readPoints('p.csv', bytesOf(`lon,lat,P\n${'1,2,3\n'.repeat(2_000_002)}`));
    expect(sentences(result)).toContain('more than 2,000,000 rows');
  });

  it('never throws on any bytes', () => {
    fc.assert(fc.property(fc.uint8Array({ maxLength: 300 }), (bytes) => void readPoints('p.csv', bytes)));
    fc.assert(fc.property(fc.string({ maxLength: 200 }), (text) => void read(`lon,lat,P\n${text}`)));
  });
});
