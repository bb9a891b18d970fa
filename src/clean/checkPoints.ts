import type { FlatPositions, Position, Region } from '../field/geometry.ts';
import { distanceToEdgeM, regionContains } from '../field/region.ts';
import type { Problem, Read } from '../read/problem.ts';

/** How strictly points are held to their place; the defaults are judgement of this project. */
export interface CheckPointsOptions {
  /** Points further outside the boundary than this are set aside, m: a receiver's error and a careless outline. */
  readonly outsideM?: number;
  /** Points closer together than this are one point, m. */
  readonly samePlaceM?: number;
}

/** Test points after the check: places that are apart and in the field. */
export interface CheckedPoints {
  /** x0, y0, … of the places kept, metres; points at one place lie at their mean. */
  readonly xy: FlatPositions;
  /** Row in the file of each place: its first point's. */
  readonly rows: Uint32Array;
  /** Index of each place's first point among the points given. */
  readonly first: Uint32Array;
  /** For each point given the place it went into, -1 when it was set aside. */
  readonly placeOf: Int32Array;
}

/**
 * Sets aside points outside the boundary and joins points at the same place.
 * No point left, or all at one place, is a problem; a single point is let pass.
 *
 * @param localXY x0, y0, x1, y1, … in metres
 * @param rows row in the file of each point, for messages
 */
export function checkPoints(
  localXY: FlatPositions,
  rows: Uint32Array,
  file: string,
  region?: Region,
  options: CheckPointsOptions = {},
): Read<CheckedPoints> {
  const { outsideM = 20, samePlaceM = 0.5 } = options;
  const notes: Problem[] = [];
  const outside = region ? indicesOutside(localXY, region, outsideM) : [];
  if (outside.length === rows.length)
    return {
      ok: false,
      problems: [
        {
          file,
          problem:
            rows.length === 0 ? 'There are no points.' : 'None of the points lies in the field’s boundary.',
          remedy: 'Check that points and boundary are of the same field and in the same coordinates.',
        },
      ],
    };
  if (outside.length > 0)
    notes.push({
      file,
      row: rows[outside[0]],
      problem: `${countOf(outside.length, 'point lies', 'points lie')} more than ${outsideM} m outside the boundary and ${outside.length === 1 ? 'was' : 'were'} set aside (${rowList(outside, rows)}).`,
      remedy: 'Check the boundary and the coordinates of these rows.',
    });
  const places = joinPlaces(localXY, new Set(outside), samePlaceM);
  const points = rows.length - outside.length;
  if (places.first.length === 1 && points > 1)
    return {
      ok: false,
      problems: [
        {
          file,
          problem: `All ${points} points are at one place, so nothing can be learnt of how the field varies.`,
          remedy: 'Check the coordinate columns.',
        },
      ],
    };
  if (places.joined.length > 0)
    notes.push({
      file,
      row: rows[places.joined[0]],
      problem: `${countOf(places.joined.length, 'point is', 'points are')} at the same place as an earlier one (within ${samePlaceM} m); their values were averaged (${rowList(places.joined, rows)}).`,
      remedy: 'Remove repeated rows if they are copies.',
    });
  const { xy, first, placeOf } = places;
  return { ok: true, value: { xy, first, placeOf, rows: first.map((i) => rows[i]) }, notes };
}

function indicesOutside(xy: FlatPositions, region: Region, outsideM: number): number[] {
  const outside: number[] = [];
  for (let i = 0; i < xy.length / 2; i++) {
    const position: Position = [xy[2 * i], xy[2 * i + 1]];
    if (!regionContains(region, position) && distanceToEdgeM(region, position) > outsideM) outside.push(i);
  }
  return outside;
}

interface Places {
  readonly xy: FlatPositions;
  readonly first: Uint32Array;
  readonly placeOf: Int32Array;
  /** Points that went into an earlier point's place. */
  readonly joined: readonly number[];
}

/** Each point goes to the earliest place within the tolerance, or founds one. */
function joinPlaces(localXY: FlatPositions, skip: ReadonlySet<number>, samePlaceM: number): Places {
  const n = localXY.length / 2;
  const placeOf = new Int32Array(n).fill(-1);
  const joined: number[] = [];
  const sums: { x: number; y: number; n: number; first: number }[] = [];
  const cells = new Map<string, number[]>();
  const cellOf = (v: number): number => Math.floor(v / samePlaceM);
  const nearestPlace = (x: number, y: number): number => {
    let best = -1;
    for (let r = cellOf(y) - 1; r <= cellOf(y) + 1; r++)
      for (let c = cellOf(x) - 1; c <= cellOf(x) + 1; c++)
        for (const place of cells.get(`${c} ${r}`) ?? []) {
          const { first } = sums[place];
          const near = Math.hypot(localXY[2 * first] - x, localXY[2 * first + 1] - y) <= samePlaceM;
          if (near && (best < 0 || place < best)) best = place;
        }
    return best;
  };
  for (let i = 0; i < n; i++) {
    if (skip.has(i)) continue;
    const [x, y] = [localXY[2 * i], localXY[2 * i + 1]];
    const place = nearestPlace(x, y);
    if (place >= 0) {
      sums[place].x += x;
      sums[place].y += y;
      sums[place].n++;
      joined.push(i);
      placeOf[i] = place;
      continue;
    }
    placeOf[i] = sums.push({ x, y, n: 1, first: i }) - 1;
    const key = `${cellOf(x)} ${cellOf(y)}`;
    cells.set(key, [...(cells.get(key) ?? []), placeOf[i]]);
  }
  const xy = Float64Array.from(sums.flatMap((s) => [s.x / s.n, s.y / s.n]));
  return { xy, first: Uint32Array.from(sums, (s) => s.first), placeOf, joined };
}

const countOf = (n: number, one: string, many: string): string => `${n} ${n === 1 ? one : many}`;

function rowList(indices: readonly number[], rows: Uint32Array): string {
  const shown = indices.slice(0, 5).map((i) => rows[i]);
  const more = indices.length - shown.length;
  return `${indices.length === 1 ? 'row' : 'rows'} ${shown.join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
}
