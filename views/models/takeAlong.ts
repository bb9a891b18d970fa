/** What can be taken from an answer to the field, and where each is fetched. */
import type { Advice } from '../../src/advise/advice.ts';
import { needsDegrees } from '../../src/plan/needsDegrees.ts';
import { lengthUnit } from '../format.ts';
import { zonesToDraw } from './chartData.ts';
import { optionFields, typedOption } from './optionFields.ts';

export interface Link {
  readonly href: string;
  readonly label: string;
}

export interface TakeAlong {
  /** Pages and lists on paper. */
  readonly paper: readonly Link[];
  readonly laboratory: Link;
  /** The stops in each format that can hold them. */
  readonly files: readonly Link[];
  /** Why some formats can't; empty when all can. */
  readonly refused: string;
  /** What the form for a phone carries; absent where there are no places to walk to. */
  readonly walk?: readonly (readonly [name: string, value: string])[];
  /** How far the stops keep from edges and other ground. */
  readonly kept: string;
  /** What keeping off such ground did to them; empty when nothing. */
  readonly moved: string;
  /** Whether last time's places are taken again; empty when that was not asked for. */
  readonly last: string;
  /** What close pairs cost and buy; empty when there are none. */
  readonly pairs: string;
}

/** @param csvHref where the stops are fetched as CSV: the others lie beside it */
export function takeAlong(advice: Advice, csvHref: string): TakeAlong {
  const at = (name: string) => csvHref.replace('stops.csv', name);
  const link = (name: string, label: string): Link => ({ href: at(name), label });
  const refusal = needsDegrees(advice, 'GPX');
  return {
    paper: [link('sheet', 'Field sheet'), link('labels', 'Bag labels')],
    laboratory: link('laboratory.csv', 'List for the laboratory (CSV)'),
    files: [
      link('stops.csv', 'Stops as CSV'),
      link('stops.geojson', 'Stops as GeoJSON'),
      ...(refusal ? [] : [link('stops.gpx', 'Stops as GPX'), link('stops.kml', 'Stops as KML')]),
      link('stops.zip', 'Stops as shapefile'),
    ],
    refused: refusal ? sayRefusal(advice, refusal) : '',
    walk: zonesToDraw(advice) || advice.stops.length === 0 ? undefined : walkOf(csvHref),
    kept: zonesToDraw(advice) ? '' : sayKept(advice),
    moved: advice.stopsMoved?.sentence ?? '',
    last: advice.lastPositions?.sentence ?? '',
    pairs: advice.closePairs?.sentence ?? '',
  };
}

function sayRefusal(advice: Advice, { problem, remedy }: { problem: string; remedy: string }): string {
  if (advice.field.boundarySource === 'a square of the stated area')
    return 'No GPX or KML: these hold longitude and latitude, and where the field lies is not known. Bring its boundary for them.';
  return `No GPX or KML. ${problem} ${remedy}`;
}

/** Which answer a walk is made from, as its address says. */
function walkOf(csvHref: string): TakeAlong['walk'] {
  const [path, query = ''] = csvHref.split(/\?(.*)/s, 2);
  const [, place, id] = path.split('/');
  if (place === 'cases') return [['case', decodeURIComponent(id)]];
  if (place === 'answer') return [['answer', query]];
  if (place === 'demo')
    return [
      ['demo', decodeURIComponent(id)],
      ['answer', query],
    ];
  return undefined;
}

/** How far stops keep from the field's edges and from other ground; empty where they keep from nothing. */
export function sayKept({ field, options }: Advice): string {
  const { unitSystem, setbackM, keepOutSetbackM } = options;
  // As the field of the form shows it: 50 ft for 15 m.
  const away = (id: 'setbackM' | 'keepOutSetbackM') =>
    `${typedOption(
      optionFields.find((f) => f.id === id)!,
      options,
    )}\u00a0${lengthUnit(unitSystem)}`;
  const edges =
    setbackM > 0 && field.boundarySource !== 'a square of the stated area'
      ? `${away('setbackM')} from the field’s edges`
      : '';
  const other = field.keepOut
    ? keepOutSetbackM > 0
      ? `${away('keepOutSetbackM')} from the ground to keep out of`
      : 'off the ground to keep out of'
    : '';
  const kept = [edges, other].filter(Boolean).join(' and ');
  const red = field.keepOut ? ' That ground is red on the map.' : '';
  return kept ? `Stops keep ${kept}.${red}` : '';
}
