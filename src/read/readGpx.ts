import type { Element } from '@xmldom/xmldom';
import { isDegrees } from './coordinateKind.ts';
import { decodeText, isProblem } from './fileText.ts';
import { noteBook, type NoteBook } from './notes.ts';
import { parsePlainXml } from './plainXml.ts';
import type { Problem, Read } from './problem.ts';

/** A named place of a GPX file. */
export interface GpxWaypoint {
  /** 1-based number among the file's waypoints. */
  readonly row: number;
  /** Its name, else its number. */
  readonly name: string;
  readonly lon: number;
  readonly lat: number;
  readonly elevationM?: number;
  /** As in the file, ISO 8601. */
  readonly time?: string;
  readonly description?: string;
  /** Plain elements inside `extensions`, by local name. */
  readonly extensions: Readonly<Record<string, string>>;
}

/** A route or one unbroken piece of a track. */
export interface GpxLine {
  readonly name: string;
  /** lon0, lat0, lon1, lat1, … */
  readonly world: Float64Array;
  /** Time of each position as in the file; empty where it has none. */
  readonly times: readonly string[];
}

/** A GPX file as read; coordinates on WGS 84. */
export interface GpxLayer {
  readonly file: string;
  readonly kind: 'lonlat';
  readonly waypoints: readonly GpxWaypoint[];
  readonly routes: readonly GpxLine[];
  /** One line for each track segment. */
  readonly tracks: readonly GpxLine[];
}

/** More positions than this are refused: a receiver that writes every second fills this in five days. */
export const MAX_GPX_POSITIONS = 500_000;

/**
 * Reads a GPX file (1.1, and 1.0 where it agrees): waypoints, routes and tracks. Positions that are none are set aside
 * with a note. Document type declarations are refused: GPX needs none, and entities declared in one can be made to grow
 * without end.
 *
 * @param file name for messages
 */
export function readGpx(file: string, bytes: Uint8Array): Read<GpxLayer> {
  const root = gpxRoot(file, bytes);
  if (isProblem(root)) return { ok: false, problems: [root] };
  const notes = noteBook(file);
  const waypoints: GpxWaypoint[] = [];
  const routes: GpxLine[] = [];
  const tracks: GpxLine[] = [];
  let waypoint = 0;
  for (const element of childrenOf(root)) {
    const kind = element.localName;
    if (kind === 'wpt') {
      const read = readWaypoint(element, ++waypoint, notes);
      if (read) waypoints.push(read);
    } else if (kind === 'rte') {
      const line = readLine(element, 'rtept', `route ${routes.length + 1}`, textOf(element, 'name'), notes);
      if (line) routes.push(line);
    } else if (kind === 'trk') {
      const name = textOf(element, 'name');
      for (const segment of childrenOf(element).filter((e) => e.localName === 'trkseg')) {
        const line = readLine(segment, 'trkpt', `track ${tracks.length + 1}`, name, notes);
        if (line) tracks.push(line);
      }
    }
  }
  if (waypoints.length + routes.length + tracks.length === 0)
    return {
      ok: false,
      problems: [
        {
          file,
          problem: 'The GPX file holds no waypoint, route or track that can be read.',
          remedy: 'Save the waypoints or the track on the receiver and export again.',
        },
        ...notes.all(),
      ],
    };
  return { ok: true, value: { file, kind: 'lonlat', waypoints, routes, tracks }, notes: notes.all() };
}

function gpxRoot(file: string, bytes: Uint8Array): Element | Problem {
  const decoded = decodeText(file, bytes);
  if (isProblem(decoded))
    return bytes.length === 0
      ? decoded
      : {
          file,
          problem: 'The file is not text, so it is no GPX.',
          remedy: 'Export the waypoints as GPX (.gpx).',
        };
  const text = decoded.text.replace(/^\ufeff/, '').trimStart();
  const positions = text.match(/<(?:\w+:)?(?:wpt|rtept|trkpt)\b/g)?.length ?? 0;
  if (positions > MAX_GPX_POSITIONS)
    return {
      file,
      problem: `The file has ${positions.toLocaleString('en')} positions; at most ${MAX_GPX_POSITIONS.toLocaleString('en')} can be used.`,
      remedy: 'Export one day or one field, or let the receiver write fewer positions.',
    };
  const document = parsePlainXml(file, text, 'GPX', 'Export the waypoints or the track as GPX (.gpx).');
  return 'problem' in document ? document : document.documentElement!;
}

function readWaypoint(element: Element, row: number, notes: NoteBook): GpxWaypoint | undefined {
  const at = readPosition(element, { row }, notes);
  if (!at) return undefined;
  const extensions = childrenOf(element).find((e) => e.localName === 'extensions');
  const elevation = Number(textOf(element, 'ele') || NaN);
  const time = textOf(element, 'time');
  const description = textOf(element, 'desc') || textOf(element, 'cmt');
  return {
    row,
    name: textOf(element, 'name') || String(row),
    lon: at[0],
    lat: at[1],
    ...(Number.isFinite(elevation) && { elevationM: elevation }),
    ...(time && { time }),
    ...(description && { description }),
    extensions: Object.fromEntries(
      (extensions ? childrenOf(extensions) : [])
        .filter((e) => childrenOf(e).length === 0)
        .map((e) => [e.localName ?? e.nodeName, (e.textContent ?? '').trim()]),
    ),
  };
}

function readLine(
  parent: Element,
  pointName: 'rtept' | 'trkpt',
  fallback: string,
  name: string,
  notes: NoteBook,
): GpxLine | undefined {
  const world: number[] = [];
  const times: string[] = [];
  let row = 0;
  for (let node = parent.firstChild; node; node = node.nextSibling) {
    if (!isElement(node) || node.localName !== pointName) continue;
    row++;
    const at = readPosition(node, { row, column: name || fallback }, notes);
    if (!at) continue;
    world.push(...at);
    times.push(textOf(node, 'time'));
  }
  return world.length === 0 ? undefined : { name: name || fallback, world: Float64Array.from(world), times };
}

/** Numbers as XML Schema's decimal writes them, and as receivers do. */
const DECIMAL = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i;

function readPosition(
  element: Element,
  where: Pick<Problem, 'row' | 'column'>,
  notes: NoteBook,
): readonly [number, number] | undefined {
  const [lonText, latText] = [element.getAttribute('lon'), element.getAttribute('lat')];
  const what = `The ${{ wpt: 'waypoint', rtept: 'route point' }[element.localName ?? ''] ?? 'track point'}`;
  const [lon, lat] = [lonText, latText].map((t) => (t !== null && DECIMAL.test(t.trim()) ? Number(t) : NaN));
  if (lon !== lon || lat !== lat) {
    notes.add(`no position ${element.localName}`, {
      ...where,
      problem: `${what} has no readable position (lat “${latText ?? ''}”, lon “${lonText ?? ''}”) and was set aside.`,
      remedy: 'Give lat and lon in decimal degrees.',
    });
    return undefined;
  }
  if (!isDegrees(lon, lat)) {
    notes.add(`off the globe ${element.localName}`, {
      ...where,
      problem: `${what} lies off the globe (lat ${lat}, lon ${lon}) and was set aside.`,
      remedy: 'Look whether latitude and longitude changed places.',
    });
    return undefined;
  }
  return [lon, lat];
}

function childrenOf(parent: Element): Element[] {
  const children: Element[] = [];
  for (let node = parent.firstChild; node; node = node.nextSibling) if (isElement(node)) children.push(node);
  return children;
}

const ELEMENT_NODE = 1;
const isElement = (node: { readonly nodeType: number }): node is Element => node.nodeType === ELEMENT_NODE;

function textOf(parent: Element, name: string): string {
  for (let node = parent.firstChild; node; node = node.nextSibling)
    if (isElement(node) && node.localName === name) return (node.textContent ?? '').trim();
  return '';
}
