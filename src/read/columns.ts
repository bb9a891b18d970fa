import { plainText } from './unitText.ts';

/** What a coordinate header promises. */
export type CoordinateSense = 'degrees' | 'metres' | 'plain';

export interface CoordinateName {
  readonly axis: 'x' | 'y';
  readonly sense: CoordinateSense;
  /** Lower is surer, when several columns could be the coordinate. */
  readonly rank: number;
  /** Length unit named in the header. */
  readonly lengthUnit?: 'ft' | 'us-ft';
}

const COORDINATE_NAMES: readonly (readonly [
  axis: 'x' | 'y',
  sense: CoordinateSense,
  names: ReadonlySet<string>,
])[] = [
  [
    'x',
    'degrees',
    names(
      'longitude lon long lng longdd londd ddlon ddlong longitudedd gpslon gpslong gpslongitude lond longd decimallongitude lonwgs longwgs longitudewgs pointlon samplelon wgslon',
    ),
  ],
  [
    'y',
    'degrees',
    names(
      'latitude lat latdd ddlat latitudedd gpslat gpslatitude latd decimallatitude latwgs latitudewgs pointlat samplelat wgslat',
    ),
  ],
  ['x', 'metres', names('easting east eastings utme utmx utmeast utmeasting eastingm xutm rechtswert rw')],
  [
    'y',
    'metres',
    names('northing north northings utmn utmy utmnorth utmnorthing northingm yutm hochwert hw'),
  ],
  [
    'x',
    'plain',
    names('x xcoord coordx xcoordinate coordinatex pointx xm xpos posx geometryx xlocal localx'),
  ],
  [
    'y',
    'plain',
    names('y ycoord coordy ycoordinate coordinatey pointy ym ypos posy geometryy ylocal localy'),
  ],
  // Last, since N may be nitrogen.
  ['x', 'metres', names('e')],
  ['y', 'metres', names('n')],
];

/** What coordinate a header names, if any: `lon`, `Latitude (deg)`, `UTM_E`, `X_COORD`, `easting ft`. */
export function coordinateName(header: string): CoordinateName | undefined {
  const plain = plainText(header);
  const lengthUnit = /survey|us[\s_-]?ft|ftus/.test(plain)
    ? 'us-ft'
    : /(?<![a-z])(?:ft|feet|foot)(?![a-z])/.test(plain)
      ? 'ft'
      : undefined;
  const key = plain
    .replace(
      /(?<![a-z])(?:us[\s_-]?ft|ftus|us survey|survey|ft|feet|foot|metres?|meters?|deg|degrees?|decimal degrees?|m|zone)(?![a-z])/g,
      ' ',
    )
    .replace(/\d+/g, '')
    .replace(/[^\p{L}]+/gu, '');
  for (const [i, [axis, sense, known]] of COORDINATE_NAMES.entries())
    if (known.has(key))
      return { axis, sense, rank: i >> 1, lengthUnit: sense === 'degrees' ? undefined : lengthUnit };
  return undefined;
}

const LABEL_NAMES = (
  'sampleid samplenumber sampleno samplename sample bagid bagnumber bagno bag pointid pointnumber pointname ' +
  'point profile siteid site station stop label id plot name gridid grid cell cellid no nr number fid oid objectid'
).split(' ');

/** How good a header is as the points' label; undefined when it isn't one, lower is better. */
export function labelRank(header: string): number | undefined {
  const rank = LABEL_NAMES.indexOf(
    plainText(header)
      .replace(/#/g, ' number')
      .replace(/[^\p{L}]+/gu, ''),
  );
  return rank < 0 ? undefined : rank;
}

function names(list: string): ReadonlySet<string> {
  return new Set(list.split(' '));
}
