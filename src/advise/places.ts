import {
  distanceToEdgeM,
  regionAroundPoints,
  regionBounds,
  regionContains,
  squareOfArea,
  toLocal,
  type Frame,
  type Position,
  type Region,
} from '../field/index.ts';
import type { BoundaryLayer, CoordinateKind, PointTable, Problem, Read } from '../read/index.ts';
import type { Advice } from './advice.ts';

/** The frame about the middle of some world coordinates. */
export function frameAbout(kind: CoordinateKind, world: Iterable<readonly [number, number]>): Frame {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of world) {
    minX = Math.min(minX, x);
    maxX = Math.max(maxX, x);
    minY = Math.min(minY, y);
    maxY = Math.max(maxY, y);
  }
  const [x, y] = [(minX + maxX) / 2, (minY + maxY) / 2];
  return kind === 'lonlat' ? { kind: 'geographic', lon0: x, lat0: y } : { kind: 'projected', x0: x, y0: y };
}

export function* pairsOf(world: Float64Array): Iterable<readonly [number, number]> {
  for (let i = 0; i < world.length; i += 2) yield [world[i], world[i + 1]];
}

export function regionToLocal(frame: Frame, polygons: BoundaryLayer['polygons']): Region {
  return polygons.map((rings) => rings.map((ring) => ring.map((p) => toLocal(frame, p))));
}

export function flatToLocal(frame: Frame, world: Float64Array): Float64Array {
  const out = new Float64Array(world.length);
  for (let i = 0; i < world.length; i += 2) {
    const [x, y] = toLocal(frame, [world[i], world[i + 1]]);
    out[i] = x;
    out[i + 1] = y;
  }
  return out;
}

export interface Ground {
  readonly frame: Frame;
  readonly region: Region;
  readonly boundarySource: Advice['field']['boundarySource'];
  /** Test points with their coordinates put right, when they had been the wrong way round. */
  readonly points?: PointTable;
  readonly notes: readonly Problem[];
}

/** The area taken where no question was answered and no file given, ha: half a quarter section. */
export const ASSUMED_AREA_HA = 32.375;
/** The largest field taken on, ha: beyond it is a farm, or a boundary in the wrong units. */
const MOST_HA = 3000;

/**
 * The ground of a field: its boundary where given, else drawn around its points, else a square of the stated area.
 * Coordinates that fit the boundary only with longitude and latitude exchanged are exchanged, and it is said.
 */
export function groundOf(
  boundary: BoundaryLayer | undefined,
  points: PointTable | undefined,
  areaHa: number | undefined,
): Read<Ground> {
  if (!boundary && !points) {
    const hectares = areaHa ?? ASSUMED_AREA_HA;
    const frame: Frame = { kind: 'projected', x0: 0, y0: 0 };
    return {
      ok: true,
      value: {
        frame,
        region: squareOfArea(hectares),
        boundarySource: 'a square of the stated area',
        notes: [],
      },
      notes: [],
    };
  }
  const notes: Problem[] = [];
  if (boundary) {
    const frame = frameAbout(boundary.kind, boundary.polygons.flat(2));
    const region = regionToLocal(frame, boundary.polygons);
    const size = checkSize(boundary.file, region);
    if (size) return { ok: false, problems: [size] };
    let table = points;
    if (table && table.kind !== boundary.kind)
      return {
        ok: false,
        problems: [
          {
            file: table.file,
            problem: `These points are in ${sayKind(table.kind)}, but the boundary ${boundary.file} is in ${sayKind(boundary.kind)}.`,
            remedy: 'Export both in the same coordinates; longitude and latitude (WGS 84) are best.',
          },
        ],
      };
    if (table && shareNear(frame, region, table.world) < 0.5) {
      const exchanged = exchange(table.world);
      if (shareNear(frame, region, exchanged) >= 0.5) {
        table = { ...table, world: exchanged };
        notes.push({
          file: table.file,
          problem: 'The coordinates lie in the field only the other way round, so x and y were exchanged.',
          remedy: 'Exchange the headers of the two coordinate columns.',
        });
      }
    }
    return { ok: true, value: { frame, region, boundarySource: 'given', points: table, notes }, notes };
  }
  const frame = frameAbout(points!.kind, pairsOf(points!.world));
  try {
    const region = regionAroundPoints(flatToLocal(frame, points!.world));
    const size = checkSize(points!.file, region);
    if (size) return { ok: false, problems: [size] };
    notes.push({
      file: points!.file,
      problem: 'No boundary was given, so one was drawn around the points.',
      remedy: 'Give the field’s boundary for stops that reach its edges.',
    });
    return {
      ok: true,
      value: { frame, region, boundarySource: 'drawn around the points', points, notes },
      notes,
    };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return {
      ok: false,
      problems: [
        {
          file: points!.file,
          problem: 'The points lie at one place or in one line, so no field can be drawn around them.',
          remedy: 'Check the coordinate columns, or give a boundary file.',
        },
      ],
    };
  }
}

function checkSize(file: string, region: Region): Problem | undefined {
  const b = regionBounds(region);
  const boxHa = ((b.maxX - b.minX) * (b.maxY - b.minY)) / 10_000;
  if (boxHa < 0.02)
    return {
      file,
      problem: 'The field is smaller than 200 square metres.',
      remedy: 'Check that the coordinates are degrees of longitude and latitude, or metres.',
    };
  if (boxHa > MOST_HA)
    return {
      file,
      problem: `The field spans ${Math.round(boxHa).toLocaleString('en')} hectares, more than one field can.`,
      remedy: 'Check for a stray point or wrong units, or give one field at a time.',
    };
  return undefined;
}

const sayKind = (kind: CoordinateKind) =>
  kind === 'lonlat' ? 'degrees of longitude and latitude' : 'metres of a map projection';

function exchange(world: Float64Array): Float64Array {
  const out = world.slice();
  for (let i = 0; i < out.length; i += 2) [out[i], out[i + 1]] = [world[i + 1], world[i]];
  return out;
}

/** Share of places in the region or within 20 m of it. */
function shareNear(frame: Frame, region: Region, world: Float64Array): number {
  let near = 0;
  for (const w of pairsOf(world)) {
    const p: Position = toLocal(frame, w);
    if (regionContains(region, p) || distanceToEdgeM(region, p) < 20) near++;
  }
  return near / Math.max(1, world.length / 2);
}
