import { metresPerDegree } from '../field/frame.ts';
import type { NoteBook } from './notes.ts';
import type { Problem } from './problem.ts';
import type { CoordinateKind } from './records.ts';
import { findCrossing } from './selfCrossing.ts';

export type Pair = readonly [number, number];
/** An outer ring followed by its holes. */
export type Polygon = readonly (readonly Pair[])[];

/** Rings with less area than this bound nothing, m². */
const LEAST_AREA_M2 = 1;

/**
 * Closes the rings of a polygon and checks them; holes too small to matter are dropped with a note.
 * A polygon that can't bound ground comes back as the problem.
 *
 * @param row feature number for messages
 */
export function cleanPolygon(
  file: string,
  row: number,
  polygon: Polygon,
  kind: CoordinateKind,
  notes: NoteBook,
): Polygon | Problem {
  const rings: (readonly Pair[])[] = [];
  for (const [i, ring] of polygon.entries()) {
    const closed = close(ring);
    if (closed !== ring)
      notes.add('open ring', {
        row,
        problem: 'A ring was not closed; its last corner was joined to its first.',
        remedy: 'Nothing to do if the outline looks right.',
      });
    if (distinctCorners(closed) < 3) {
      const problem = `A ring has only ${distinctCorners(closed)} different corners; a polygon needs three and the first again to close it.`;
      if (i === 0) return { file, row, problem, remedy: 'Redraw the outline with at least three corners.' };
      noteDroppedHole(row, notes);
      continue;
    }
    rings.push(closed);
  }
  const crossing = findCrossing(rings);
  if (crossing)
    return {
      file,
      row,
      problem: `The boundary’s lines cross near ${say(crossing, kind)}.`,
      remedy: 'Redraw the boundary so that its lines don’t cross.',
    };
  // After the crossings: a bow tie's two halves cancel, and its area says less than where it crosses.
  if (areaM2(rings[0], kind) < LEAST_AREA_M2)
    return { file, row, problem: 'The polygon has no area.', remedy: 'Redraw it around the field.' };
  return rings.filter((ring) => {
    const bounds = areaM2(ring, kind) >= LEAST_AREA_M2;
    if (!bounds) noteDroppedHole(row, notes);
    return bounds;
  });
}

function close(ring: readonly Pair[]): readonly Pair[] {
  const [first, last] = [ring[0], ring[ring.length - 1]];
  return first[0] === last[0] && first[1] === last[1] && ring.length > 1 ? ring : [...ring, first];
}

function distinctCorners(ring: readonly Pair[]): number {
  return new Set(ring.map(([x, y]) => `${x} ${y}`)).size;
}

/** Area inside a closed ring by the shoelace formula about its first corner. */
function areaM2(ring: readonly Pair[], kind: CoordinateKind): number {
  const [x0, y0] = ring[0];
  const [perX, perY] = kind === 'lonlat' ? metresPerDegree(y0) : [1, 1];
  let twice = 0;
  for (let i = 1; i < ring.length; i++)
    twice += (ring[i - 1][0] - x0) * (ring[i][1] - y0) - (ring[i][0] - x0) * (ring[i - 1][1] - y0);
  return Math.abs((twice * perX * perY) / 2);
}

function say([x, y]: Pair, kind: CoordinateKind): string {
  return kind === 'lonlat'
    ? `longitude ${x.toFixed(5)}, latitude ${y.toFixed(5)}`
    : `${x.toFixed(1)}, ${y.toFixed(1)} m`;
}

function noteDroppedHole(row: number, notes: NoteBook): void {
  notes.add('hole', {
    row,
    problem: 'A hole smaller than a square metre was left out.',
    remedy: 'Nothing to do.',
  });
}
