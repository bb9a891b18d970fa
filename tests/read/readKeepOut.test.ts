import { describe, expect, it } from 'vitest';
import { guessRole } from '../../src/advise/index.ts';
import { readKeepOut, type KeepOutLayer } from '../../src/read/index.ts';

const bytes = (content: unknown) =>
  new TextEncoder().encode(typeof content === 'string' ? content : JSON.stringify(content));
const feature = (type: string, coordinates: unknown, properties: object = {}) => ({
  type: 'Feature',
  properties,
  geometry: { type, coordinates },
});
const collection = (...features: object[]) => bytes({ type: 'FeatureCollection', features });

async function layerOf(content: Uint8Array, file = 'keep-out.geojson') {
  const read = await readKeepOut(file, content);
  if (!read.ok) throw new Error(read.problems.map((p) => p.problem).join(' '));
  return { layer: read.value, notes: read.notes };
}

async function refusal(content: Uint8Array): Promise<string> {
  const read = await readKeepOut('keep-out.geojson', content);
  if (read.ok) throw new Error('It was read.');
  return read.problems.map((p) => `${p.problem} ${p.remedy}`).join(' ');
}

const square = [
  [
    [-38.5, 41.2],
    [-38.499, 41.2],
    [-38.499, 41.201],
    [-38.5, 41.201],
    [-38.5, 41.2],
  ],
];
const line = [
  [-38.5, 41.2],
  [-38.49, 41.21],
];

describe('ground to keep out of', () => {
  let layer: KeepOutLayer;
  it('holds polygons, lines and points, single and many, with what each reaches', async () => {
    const read = await layerOf(
      collection(
        feature('Polygon', square, { name: 'yard' }),
        feature('MultiLineString', [line, line], { type: 'waterway', width_ft: 30 }),
        feature('Point', [-38.495, 41.205, 210], { label: 'well', radius_m: '15' }),
        feature('MultiPoint', [
          [-38.494, 41.205],
          [-38.493, 41.205],
        ]),
      ),
    );
    layer = read.layer;
    expect(layer.kind).toBe('lonlat');
    expect(layer.shapes.map((s) => [s.polygons.length, s.lines.length, s.points.length])).toEqual([
      [1, 0, 0],
      [0, 2, 0],
      [0, 0, 1],
      [0, 0, 2],
    ]);
    expect(layer.shapes.map((s) => s.label)).toEqual(['yard', 'waterway', 'well', '']);
    // A foot is 0.3048 m; half the width lies to each side.
    expect(layer.shapes[1].extentM).toBeCloseTo(15 * 0.3048, 9);
    expect(layer.shapes[2].extentM).toBe(15);
    expect(read.notes).toEqual([]);
  });

  it('a closed line is taken for the ground inside it; a bare radius for metres, and that is said', async () => {
    const { layer: read, notes } = await layerOf(
      collection(feature('LineString', square[0]), feature('Point', [-38.495, 41.205], { radius: 20 })),
    );
    expect(read.shapes[0].polygons).toHaveLength(1);
    expect(read.shapes[1].extentM).toBe(20);
    expect(notes.map((n) => n.problem).join(' ')).toContain('taken as metres');
  });

  it('a strange radius adds nothing, and crossed polygons are left out, each with its row', async () => {
    const bow = [
      [
        [-38.5, 41.2],
        [-38.499, 41.201],
        [-38.499, 41.2],
        [-38.5, 41.201],
        [-38.5, 41.2],
      ],
    ];
    const { layer: read, notes } = await layerOf(
      collection(feature('Polygon', bow), feature('Point', [-38.495, 41.205], { radius_m: 'wide' })),
    );
    expect(read.shapes).toHaveLength(1);
    expect(read.shapes[0].extentM).toBe(0);
    expect(notes.map((n) => n.row)).toEqual(expect.arrayContaining([1, 2]));
    expect(notes.map((n) => n.problem).join(' ')).toMatch(/“wide” is no radius.*cross.*left out/s);
  });

  it('comes from KML too', async () => {
    const kml = `<?xml version="1.0"?><kml xmlns="http://www.opengis.net/kml/2.2"><Document><Placemark><name>drain</name><LineString><coordinates>-38.5,41.2,0 -38.49,41.21,0</coordinates></LineString></Placemark></Document></kml>`;
    const { layer: read } = await layerOf(bytes(kml), 'drains.kml');
    expect(read.shapes).toEqual([
      {
        label: 'drain',
        polygons: [],
        lines: [
          [
            [-38.5, 41.2],
            [-38.49, 41.21],
          ],
        ],
        points: [],
        extentM: 0,
      },
    ]);
  });

  it('metres of a projection stay metres', async () => {
    const { layer: read } = await layerOf(
      collection(
        feature('LineString', [
          [512_000, 4_561_000],
          [512_100, 4_561_000],
        ]),
      ),
    );
    expect(read.kind).toBe('projected');
  });

  it.each([
    ['nothing in it', collection(), /no polygon, line or point/],
    ['no geometry', collection(feature('Polygon', 'here')), /no polygon, line or point/],
    ['letters for numbers', collection(feature('Point', ['a', 'b'])), /no polygon, line or point/],
    ['another JSON', bytes({ rows: [] }), /not GeoJSON/],
    ['cut short', bytes('{"type":"FeatureColl'), /can’t be parsed/],
  ])('is refused in words: %s', async (_, content, said) => {
    expect(await refusal(content)).toMatch(said);
  });

  it('is guessed from its name or from being lines, and never over a boundary', () => {
    const polygons = collection(feature('Polygon', square));
    const lines = collection(feature('LineString', line));
    expect(guessRole('grass-waterways.geojson', polygons)).toBe('keepOut');
    expect(guessRole('wells.geojson', collection(feature('Point', [-38.5, 41.2])))).toBe('keepOut');
    expect(guessRole('tile_lines.zip', Uint8Array.of(0x50, 0x4b))).toBe('keepOut');
    expect(guessRole('something.geojson', lines)).toBe('keepOut');
    expect(guessRole('boundary-with-terraces.geojson', polygons)).toBe('boundary');
    expect(guessRole('boundary.geojson', lines)).toBe('boundary');
    expect(guessRole('caldwells.geojson', polygons)).toBe('boundary');
    expect(guessRole('soil-tile-map.csv', bytes('x,y,P\n1,2,3\n'))).toBe('points');
  });
});
