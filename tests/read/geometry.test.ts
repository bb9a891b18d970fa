import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { readBoundary } from '../../src/read/readBoundary.ts';
import { readSoilUnits } from '../../src/read/readSoilUnits.ts';
import { findCrossing } from '../../src/read/selfCrossing.ts';
import { bytesOf, fixture, sentences, valueOf } from './bytes.ts';

const SQUARE = [
  [10, 50],
  [10.01, 50],
  [10.01, 50.01],
  [10, 50.01],
  [10, 50],
];
const HOLE = [
  [10.004, 50.004],
  [10.006, 50.004],
  [10.006, 50.006],
  [10.004, 50.006],
  [10.004, 50.004],
];
const shifted = (ring: number[][], dx: number) => ring.map(([x, y]) => [x + dx, y]);
const polygon = (...rings: unknown[]) => ({ type: 'Polygon', coordinates: rings });
const feature = (geometry: unknown, properties: object = {}) => ({ type: 'Feature', geometry, properties });
const collection = (...features: unknown[]) => ({ type: 'FeatureCollection', features });
const boundary = (json: unknown) => readBoundary('b.geojson', bytesOf(JSON.stringify(json)));
const units = (json: unknown, options?: Parameters<typeof readSoilUnits>[2]) =>
  readSoilUnits('s.geojson', bytesOf(JSON.stringify(json)), options);

const KML = `<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder>
<Placemark><name>Home field</name><MultiGeometry>
<Polygon><outerBoundaryIs><LinearRing><coordinates>10,50,0 10.01,50,0 10.01,50.01,0 10,50.01,0 10,50,0</coordinates></LinearRing></outerBoundaryIs>
<innerBoundaryIs><LinearRing><coordinates>10.004,50.004 10.006,50.004 10.006,50.006 10.004,50.006 10.004,50.004</coordinates></LinearRing></innerBoundaryIs></Polygon>
<Polygon><outerBoundaryIs><LinearRing><coordinates>10.02,50 10.03,50 10.03,50.01 10.02,50.01 10.02,50</coordinates></LinearRing></outerBoundaryIs></Polygon>
</MultiGeometry></Placemark>
<Placemark><name>Gate</name><Point><coordinates>10,50</coordinates></Point></Placemark>
</Folder></Document></kml>`;

describe('readBoundary from GeoJSON', () => {
  it.each([
    ['a bare geometry', polygon(SQUARE, HOLE)],
    ['a feature', feature(polygon(SQUARE, HOLE))],
    ['a collection', collection(feature(polygon(SQUARE, HOLE)))],
    [
      'a geometry collection',
      {
        type: 'GeometryCollection',
        geometries: [{ type: 'Point', coordinates: [10, 50] }, polygon(SQUARE, HOLE)],
      },
    ],
    ['a multipolygon', { type: 'MultiPolygon', coordinates: [[SQUARE, HOLE]] }],
  ])('reads %s with its hole', async (_, json) => {
    const layer = valueOf(await boundary(json));
    expect(layer.kind).toBe('lonlat');
    expect(layer.polygons).toEqual([[SQUARE, HOLE]]);
  });

  it('keeps the name, drops heights', async () => {
    const ring = SQUARE.map(([x, y]) => [x, y, 212]);
    const layer = valueOf(await boundary(feature(polygon(ring), { Field_Name: 'Lower forty' })));
    expect(layer.name).toBe('Lower forty');
    expect(layer.polygons[0][0][0]).toEqual([10, 50]);
  });

  it('closes an open ring with a note', async () => {
    const read = await boundary(polygon(SQUARE.slice(0, 4)));
    expect(valueOf(read).polygons).toEqual([[SQUARE]]);
    expect(sentences(read)).toContain('not closed');
  });

  it('takes several polygons as one field, joining those that overlap', async () => {
    const apart = await boundary(
      collection(feature(polygon(SQUARE)), feature(polygon(shifted(SQUARE, 0.02)))),
    );
    expect(valueOf(apart).polygons.length).toBe(2);
    expect(sentences(apart)).toContain('2 polygons');
    const overlapping = await boundary(
      collection(feature(polygon(SQUARE)), feature(polygon(shifted(SQUARE, 0.005)))),
    );
    expect(valueOf(overlapping).polygons.length).toBe(1);
    expect(sentences(overlapping)).toContain('counts once');
    const twice = valueOf(
      await boundary(collection(feature(polygon(SQUARE, HOLE)), feature(polygon(SQUARE, HOLE)))),
    );
    expect(twice.polygons.map((p) => p.length)).toEqual([2]);
  });

  it('takes a closed line as a polygon', async () => {
    const read = await boundary({ type: 'LineString', coordinates: SQUARE });
    expect(valueOf(read).polygons).toEqual([[SQUARE]]);
    expect(sentences(read)).toContain('closed line');
  });

  it('takes coordinates beyond degrees as metres, with a note', async () => {
    const metres = [
      [500000, 4500000],
      [500400, 4500000],
      [500400, 4500400],
      [500000, 4500400],
      [500000, 4500000],
    ];
    const read = await boundary(polygon(metres));
    expect(valueOf(read).kind).toBe('projected');
    expect(sentences(read)).toContain('metres');
    const local = [
      [0, 0],
      [90, 0],
      [90, 80],
      [0, 80],
      [0, 0],
    ];
    expect(valueOf(await boundary(polygon(local))).kind).toBe('projected');
  });

  it('says where lines cross and what to do', async () => {
    const bowTie = [
      [10, 50],
      [10.01, 50.01],
      [10.01, 50],
      [10, 50.01],
      [10, 50],
    ];
    const read = await boundary(polygon(bowTie));
    expect(read.ok).toBe(false);
    expect(sentences(read)).toContain('longitude 10.00500, latitude 50.00500');
    expect(sentences(read)).toContain('don’t cross');
    const holeOut = await boundary(polygon(SQUARE, shifted(HOLE, 0.005)));
    expect(holeOut.ok).toBe(false);
  });

  it('lets a ring touch itself at a corner', async () => {
    const pinched = [
      [10, 50],
      [10.01, 50],
      [10.005, 50.005],
      [10.01, 50.01],
      [10, 50.01],
      [10.005, 50.005],
      [10, 50],
    ];
    expect((await boundary(polygon(pinched))).ok).toBe(true);
  });

  it.each([
    [
      'too few corners',
      polygon([
        [10, 50],
        [10.01, 50],
        [10, 50],
      ]),
      'only 2 different corners',
    ],
    [
      'no area',
      polygon([
        [10, 50],
        [10.01, 50],
        [10.005, 50],
        [10, 50],
      ]),
      'no area',
    ],
    [
      'a position that is text',
      polygon([
        ['a', 50],
        [10.01, 50],
        [10.01, 50.01],
        ['a', 50],
      ]),
      'finite',
    ],
    [
      'a position that is null',
      polygon([
        [null, null],
        [10.01, 50],
        [10.01, 50.01],
        [10, 50],
      ]),
      'finite',
    ],
    ['only points', { type: 'Point', coordinates: [10, 50] }, 'only Point'],
    ['an open line', { type: 'LineString', coordinates: SQUARE.slice(0, 3) }, 'only LineString'],
    ['no features', collection(), 'no polygon'],
    ['no geometry', collection(feature(null)), 'no polygon'],
    ['another JSON', { hello: 1 }, 'not GeoJSON'],
  ])('stops at %s', async (_, json, said) => {
    const read = await boundary(json);
    expect(read.ok).toBe(false);
    expect(sentences(read)).toContain(said);
  });

  it('refuses more corners than it can hold', async () => {
    const ring = Array.from({ length: 200_001 }, (_, i) => {
      const a = (2 * Math.PI * i) / 200_000;
      return [10 + 0.01 * Math.cos(a), 50 + 0.01 * Math.sin(a)];
    });
    const read = await boundary(polygon(ring));
    expect(sentences(read)).toContain('200,001 corners');
  });
});

describe('readBoundary from KML', () => {
  it('reads placemarks with multigeometry and holes', async () => {
    const read = await readBoundary('b.kml', bytesOf(KML));
    const layer = valueOf(read);
    expect(layer.name).toBe('Home field');
    expect(layer.polygons.map((p) => p.length)).toEqual([2, 1]);
    expect(sentences(read)).toContain('holds Point');
  });
  it.each([
    ['a DOCTYPE', KML.replace('<kml', '<!DOCTYPE kml [<!ENTITY a "b">]><kml'), 'DOCTYPE'],
    ['broken XML', KML.slice(0, 400), 'well-formed'],
    ['other XML', '<?xml version="1.0"?><gpx></gpx>', 'not KML (gpx)'],
  ])('refuses %s', async (_, text, said) => {
    const read = await readBoundary('b.kml', bytesOf(text));
    expect(read.ok).toBe(false);
    expect(sentences(read)).toContain(said);
  });
});

describe('readBoundary from a zipped shapefile', () => {
  it('reads degrees and turns a map projection into degrees', async () => {
    const degrees = valueOf(await readBoundary('b.zip', fixture('fixtures/units-degrees.zip')));
    const utm = valueOf(await readBoundary('b.zip', fixture('fixtures/units-utm.zip')));
    for (const layer of [degrees, utm]) {
      expect(layer.kind).toBe('lonlat');
      expect(layer.polygons.map((p) => p.length)).toEqual([2, 1, 1]);
      const xs = layer.polygons[0][0].map(([x]) => x);
      expect(Math.min(...xs)).toBeCloseTo(10, 6);
      expect(Math.max(...xs)).toBeCloseTo(10.01, 6);
    }
  });
  it('takes metres as metres when the projection is not given', async () => {
    const read = await readBoundary('b.zip', fixture('fixtures/units-no-prj.zip'));
    expect(valueOf(read).kind).toBe('projected');
    expect(sentences(read)).toContain('no .prj');
  });
  it('reads from the middle of a larger buffer', async () => {
    const zip = fixture('fixtures/units-degrees.zip');
    const larger = new Uint8Array(zip.length + 40);
    larger.set(zip, 20);
    expect((await readBoundary('b.zip', larger.subarray(20, 20 + zip.length))).ok).toBe(true);
  });
  it('says what is wrong with other archives and parts', async () => {
    expect(sentences(await readBoundary('b.zip', fixture('fixtures/no-shp.zip')))).toContain('no shapefile');
    const cut = fixture('fixtures/units-degrees.zip').subarray(0, 500);
    expect(sentences(await readBoundary('b.zip', cut))).toContain('damaged');
    const shp = new Uint8Array(100);
    shp.set([0, 0, 0x27, 0x0a]);
    expect(sentences(await readBoundary('b.shp', shp))).toContain(
      'Zip the .shp with its .shx, .dbf and .prj',
    );
  });
});

describe('readBoundary from anything', () => {
  it.each([
    ['an empty file', new Uint8Array(), 'empty'],
    ['binary garbage', new Uint8Array([9, 0, 1, 2, 255, 0]), 'not text'],
    ['plain text', bytesOf('hello'), 'no GIS format'],
    ['cut JSON', bytesOf('{"type":"Polygon","coordinates":[[[1,'), 'can’t be parsed'],
  ])('stops at %s', async (_, bytes, said) => {
    const read = await readBoundary('b', bytes);
    expect(read.ok).toBe(false);
    expect(sentences(read)).toContain(said);
  });
  it('never throws', async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.uint8Array({ maxLength: 200 }),
        async (bytes) => void (await readBoundary('b', bytes)),
      ),
    );
    await fc.assert(
      fc.asyncProperty(fc.json(), async (json) => {
        await readBoundary('b', bytesOf(`{"type":"Feature","geometry":${json}}`));
        await readBoundary('b', bytesOf(`{"type":"Polygon","coordinates":${json}}`));
      }),
    );
    const zip = fixture('fixtures/units-degrees.zip');
    await fc.assert(
      fc.asyncProperty(fc.nat(zip.length - 1), fc.nat(255), async (at, byte) => {
        const broken = zip.slice();
        broken[at] = byte;
        await readBoundary('b.zip', broken);
      }),
    );
  });
});

describe('readSoilUnits', () => {
  const three = collection(
    feature(polygon(SQUARE), { AREA: 1, MUSYM: '12A', name: 'north' }),
    feature(polygon(shifted(SQUARE, 0.02)), { MUSYM: '30B', name: 'middle' }),
    feature(polygon(shifted(SQUARE, 0.04)), { MUSYM: '12A', name: 'north' }),
  );
  it('labels by the surest property and merges equal labels', async () => {
    const layer = valueOf(await units(three));
    expect(layer.units.map((u) => [u.label, u.polygons.length])).toEqual([
      ['12A', 2],
      ['30B', 1],
    ]);
  });
  it('labels by the property asked for', async () => {
    expect(valueOf(await units(three, { labelProperty: 'NAME' })).units.map((u) => u.label)).toEqual([
      'north',
      'middle',
    ]);
    const missing = await units(three, { labelProperty: 'colour' });
    expect(missing.ok).toBe(false);
    expect(sentences(missing)).toContain('AREA, MUSYM, name');
  });
  it('falls back to the first text property, then to numbers', async () => {
    expect(
      valueOf(await units(collection(feature(polygon(SQUARE), { a: 1, geology: 'loess' })))).units[0].label,
    ).toBe('loess');
    const bare = await units(collection(feature(polygon(SQUARE)), feature(polygon(shifted(SQUARE, 0.02)))));
    expect(valueOf(bare).units.map((u) => u.label)).toEqual(['unit 1', 'unit 2']);
    expect(sentences(bare)).toContain('“unit 1”');
  });
  it('leaves a crossing polygon out with a note, and stops when none is left', async () => {
    const bowTie = [
      [10, 50],
      [10.01, 50.01],
      [10.01, 50],
      [10, 50.01],
      [10, 50],
    ];
    const read = await units(
      collection(feature(polygon(bowTie), { unit: 'a' }), feature(polygon(SQUARE), { unit: 'b' })),
    );
    expect(valueOf(read).units.map((u) => u.label)).toEqual(['b']);
    expect(sentences(read)).toContain('left out');
    expect((await units(feature(polygon(bowTie)))).ok).toBe(false);
  });
  it('reads a zipped shapefile and KML', async () => {
    const layer = valueOf(await readSoilUnits('s.zip', fixture('fixtures/units-degrees.zip')));
    expect(layer.units.map((u) => [u.label, u.polygons.length])).toEqual([
      ['12A', 2],
      ['30B', 1],
    ]);
    expect(valueOf(await readSoilUnits('s.kml', bytesOf(KML))).units[0].label).toBe('Home field');
  });
});

describe('findCrossing', () => {
  const star = (n: number, wobble: (i: number) => number): [number, number][] => {
    const ring = Array.from({ length: n }, (_, i): [number, number] => {
      const a = (2 * Math.PI * i) / n;
      return [-93 + 0.01 * wobble(i) * Math.cos(a), 41 + 0.01 * wobble(i) * Math.sin(a)];
    });
    return [...ring, ring[0]];
  };
  it('finds none in any star-shaped ring', () => {
    fc.assert(
      fc.property(
        fc.array(fc.double({ min: 0.2, max: 1, noNaN: true }), { minLength: 3, maxLength: 60 }),
        (radii) => {
          expect(findCrossing([star(radii.length, (i) => radii[i])])).toBeUndefined();
        },
      ),
    );
  });
  it('finds one after two corners far apart are exchanged, and is quick with many corners', () => {
    const ring = star(100_000, (i) => 1 + 0.001 * Math.sin(i));
    expect(findCrossing([ring])).toBeUndefined();
    [ring[100], ring[40_000]] = [ring[40_000], ring[100]];
    expect(findCrossing([ring])).toBeDefined();
  });
  it('does not take a corner on another line for a crossing', () => {
    const outer: [number, number][] = [
      [-93, 41],
      [-92.99, 41.003],
      [-92.99, 41.01],
      [-93, 41.01],
      [-93, 41],
    ];
    const on = 0.37;
    const touch: [number, number] = [-93 + on * 0.01, 41 + on * 0.003];
    const hole: [number, number][] = [touch, [-92.995, 41.006], [-92.998, 41.006], touch];
    expect(findCrossing([outer, hole])).toBeUndefined();
  });
});
