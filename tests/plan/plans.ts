import { spawnSync } from 'node:child_process';
import { toWorld, type Frame, type Region } from '../../src/field/index.ts';
import type { Plan } from '../../src/plan/index.ts';

export const degrees: Frame = { kind: 'geographic', lon0: -38.5, lat0: 41.2 };
export const metres: Frame = { kind: 'projected', x0: 512_300, y0: 4_561_200 };

/** A square with a hole, 600 m wide. */
export const region: Region = [
  [
    [
      [-300, -300],
      [300, -300],
      [300, 300],
      [-300, 300],
      [-300, -300],
    ],
    [
      [-50, -50],
      [-50, 50],
      [50, 50],
      [50, -50],
      [-50, -50],
    ],
  ],
];

/** Names that formats stumble over: markup, quotes, scripts, a control character, one that is a formula, one over 254 bytes. */
export const awkward = [
  'plain',
  '<b>&amp; "q" \'a\'</b>',
  'é 土 Ж 🌾',
  'bell\u0007in it',
  '=1+1',
  'ä'.repeat(200),
  ']]> <!-- -->',
];

/** Seven stops on a slanting line. */
export function planOf(
  frame: Frame,
  sample: (i: number) => string = (i) => String(i + 1),
  count = 7,
  name = 'North Field',
): Plan {
  return {
    field: { name, frame, region },
    options: { depthCm: 15 },
    stops: Array.from({ length: count }, (_, i) => {
      const [xM, yM] = [37.5 * i - 100, 110 - 61.25 * i];
      return {
        order: i + 1,
        label: `S${i + 1}`,
        xM,
        yM,
        world: toWorld(frame, [xM, yM]),
        cores: 8 + i,
        sample: sample(i),
      };
    }),
  };
}

export interface GdalFeature {
  readonly geometry: { readonly type: string; readonly coordinates: readonly number[] };
  readonly properties: Readonly<Record<string, unknown>>;
}

/** A program's output. @throws Error with one sentence when the program is not there or complains */
export function run(program: string, args: readonly string[], debianPackage: string): string {
  const { error, status, stdout, stderr } = spawnSync(program, args, { encoding: 'utf8' });
  if (error)
    throw new Error(
      `These tests open what is exported with ${program}: install Debian’s ${debianPackage} and run them again.`,
    );
  if (status !== 0 || stderr !== '')
    throw new Error(`${program} ${args.join(' ')}: ${stderr || `status ${status}`}`);
  return stdout;
}

/** A layer of a file as GDAL reads it, by way of GeoJSON with nine decimals. */
export function gdalFeatures(file: string, layer: string): readonly GdalFeature[] {
  const args = ['-f', 'GeoJSON', '-lco', 'COORDINATE_PRECISION=9', '/vsistdout/', file, layer];
  return (JSON.parse(run('ogr2ogr', args, 'gdal-bin')) as { features: GdalFeature[] }).features;
}

/** What GDAL says of a file's layers: format, fields with their types, number of features, reference system. */
export const gdalSummary = (file: string): string => run('ogrinfo', ['-ro', '-al', '-so', file], 'gdal-bin');
