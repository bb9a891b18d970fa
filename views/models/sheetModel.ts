/** The field sheet as strings in the order they stand on paper. */
import type { Advice, Stop } from '../../src/advise/advice.ts';
import { costRatesOf } from '../../src/advise/costs.ts';
import { startPlace } from '../../src/advise/startPlace.ts';
import { bagsOf, fieldCodes, fieldSheet, type CraftSection, type SheetStop } from '../../src/plan/index.ts';
import { safety } from '../../src/plan/samplingCraft.ts';
import { formatArea, formatDistance, formatHours } from '../format.ts';
import { fieldMapData, zonesToDraw } from './chartData.ts';
import { figures } from './figure.ts';
import { sayKept } from './takeAlong.ts';

/** One line to walk and tick off. */
export interface SheetRow {
  readonly stop: string;
  /** From the stop before: `NE 45°, 328 ft`. */
  readonly way: string;
  readonly cores: string;
  readonly bag: string;
  /** What differs here: moved, or no clear ground. */
  readonly note: string;
  readonly closesBag: boolean;
}

export interface SheetModel {
  readonly field: string;
  /** `27 stops, 27 bags, 270 cores`. */
  readonly counts: string;
  /** Area, depth, walk and time. */
  readonly facts: readonly { readonly label: string; readonly value: string }[];
  readonly depthMark: string;
  /** SVG of the field; empty where the zones are still to be drawn. */
  readonly map: string;
  readonly mapNote: string;
  readonly safety: CraftSection;
  readonly sections: readonly CraftSection[];
  /** Rows in tables short enough to stand side by side. */
  readonly tables: readonly (readonly SheetRow[])[];
  readonly listTitle: string;
  /** Whether cores differ between stops, so that each row must say its own. */
  readonly coresDiffer: boolean;
  readonly tableNote: string;
  readonly sources: readonly string[];
  readonly version: string;
}

/** Rows that fit under the map on the first page, in two tables side by side. */
const PAIR_ROWS = 40;

/** Three letters that number this field's bags: those of its name alone. */
export const fieldCodeOf = (advice: Advice): string => fieldCodes([advice.field.name])[0];

export function sheetModel(advice: Advice): SheetModel {
  const { unitSystem, stopRadiusM, startAt } = advice.options;
  const bags = bagsOf(advice, fieldCodeOf(advice));
  const toDraw = zonesToDraw(advice);
  const sheet = fieldSheet(advice, bags, {
    unitSystem,
    stopRadiusM,
    startAt: startPlace(startAt, advice.field.region, advice.field.frame),
    rates: costRatesOf(advice.options),
  });
  const rows = toDraw
    ? bags.map(({ sample, cores, bag }): SheetRow => ({
        ...{ stop: sample, way: 'spread over it', cores: String(cores), bag, note: '', closesBag: false },
      }))
    : sheet.stops.map((s, i) => rowOf(s, advice.stops[i], bags.length < sheet.stops.length, advice));
  const coresDiffer = new Set(rows.map((r) => r.cores)).size > 1;
  const sections = sheet.sections.filter((s) => s.heading !== safety.heading);
  return {
    field: sheet.field || 'Your field',
    counts: countsOf(toDraw ? undefined : sheet.stops.length, sheet.bags, sheet.cores),
    facts: [
      { label: 'Area', value: formatArea(advice.field.areaHa, unitSystem) },
      { label: 'Depth', value: sheet.slice },
      ...(toDraw
        ? []
        : [
            { label: 'Walk', value: sheet.walk },
            { label: 'In the field', value: formatHours(sheet.hours) },
          ]),
    ],
    depthMark: sheet.depthMark,
    map: toDraw ? '' : figures.map(fieldMapData(advice), 'sheet-map').narrow,
    mapNote: mapNote(advice, toDraw),
    safety,
    sections,
    tables: inPairs(rows),
    listTitle: toDraw ? 'Bags' : 'Stops in walking order, each with the way from the one before',
    coresDiffer,
    tableNote: tableNote(rows, coresDiffer, toDraw || !hasPlace(advice) ? '' : sheet.bearingNote, toDraw),
    sources: [...new Set([safety, ...sections].flatMap((s) => s.lines.map((l) => l.source)))],
    version: advice.tool.version,
  };
}

/** Pairs of tables of like length; a few rows stay in one. */
function inPairs(rows: readonly SheetRow[]): readonly (readonly SheetRow[])[] {
  const out: (readonly SheetRow[])[] = [];
  for (let i = 0; i < rows.length; i += PAIR_ROWS) {
    const some = rows.slice(i, i + PAIR_ROWS);
    const half = some.length < 6 ? some.length : Math.ceil(some.length / 2);
    out.push(some.slice(0, half), ...(half < some.length ? [some.slice(half)] : []));
  }
  return out;
}

function rowOf(
  s: SheetStop,
  { movedM, noClearGround, pairOf }: Stop,
  shared: boolean,
  advice: Advice,
): SheetRow {
  const way =
    s.distance === undefined
      ? 'start'
      : s.bearingDeg === undefined || s.wind === undefined
        ? s.distance
        : `${s.wind} ${Math.round(s.bearingDeg) % 360}°, ${s.distance}`;
  const note = noClearGround
    ? 'look first'
    : pairOf !== undefined
      ? `pair of ${pairOf}`
      : movedM === undefined
        ? ''
        : `moved ${formatDistance(movedM, advice.options.unitSystem)}`;
  return {
    ...{ stop: s.stop, way, note, bag: s.bag },
    cores: String(s.cores),
    closesBag: shared && s.closesBag,
  };
}

/** Whether the field lies where its boundary says, or a square stands in for it. */
const hasPlace = ({ field }: Advice): boolean => field.boundarySource !== 'a square of the stated area';

const many = (n: number, one: string): string => `${n.toLocaleString('en-US')} ${one}${n === 1 ? '' : 's'}`;

const countsOf = (stops: number | undefined, bags: number, cores: number): string =>
  [...(stops === undefined ? [] : [many(stops, 'stop')]), many(bags, 'bag'), many(cores, 'core')].join(', ');

function mapNote(advice: Advice, toDraw: boolean): string {
  if (toDraw)
    return 'The zones are not drawn yet: draw them by what you know of the field, and spread the cores over each.';
  if (!hasPlace(advice))
    return 'The square stands in for your field, whose boundary is not known: bearings and distances show the pattern only.';
  return sayKept(advice);
}

function tableNote(
  rows: readonly SheetRow[],
  coresDiffer: boolean,
  bearingNote: string,
  toDraw: boolean,
): string {
  const each =
    coresDiffer || rows.length === 0
      ? ''
      : `${rows[0].cores} ${rows[0].cores === '1' ? 'core' : 'cores'} ${toDraw ? 'in every zone' : 'at every stop'}.`;
  const closes = rows.some((r) => r.closesBag) ? 'A thick line closes a bag.' : '';
  const moved = rows.some((r) => r.note.startsWith('moved'))
    ? '“Moved”: off the headland or other ground to keep out of; the place given here is the one to go to.'
    : '';
  const look = rows.some((r) => r.note === 'look first')
    ? '“Look first”: no clear ground was found near; go a little aside, or leave it out and note it.'
    : '';
  const pairs = rows.some((r) => r.note.startsWith('pair'))
    ? '“Pair of”: a second sample on purpose, in its own bag, pulled the same way.'
    : '';
  return [each, bearingNote, closes, moved, look, pairs].filter(Boolean).join(' ');
}
