import type { FlatPositions, Position, Region } from '../field/index.ts';
import { insetTest, insideTest } from '../field/inside.ts';

/** Ground that no sample should come from, in local metres: a waterway, a terrace, an old fence line, a yard, a well. */
export interface KeepOut {
  readonly label: string;
  readonly polygons: Region;
  /** Each two positions or more. */
  readonly lines: readonly (readonly Position[])[];
  readonly points: readonly Position[];
  /** How far lines and points themselves reach to all sides, m: half a waterway's width, the radius of a well's pad. */
  readonly extentM: number;
}

export interface ClearGroundOptions {
  /** Least distance from the field's edges and those of its holes, m. */
  readonly setbackM: number;
  readonly keepOut: readonly KeepOut[];
  /** Least distance from what is kept out, beyond its own extent, m. */
  readonly keepOutSetbackM: number;
}

/** A test for many places: inside the field, off its edges and off all that is kept out, each by its setback. */
export function clearGroundTest(
  region: Region,
  { setbackM, keepOut, keepOutSetbackM }: ClearGroundOptions,
): (x: number, y: number) => boolean {
  const offEdges = insetTest(region, setbackM);
  const shapes = keepOut.map((k) => nearTest(k, keepOutSetbackM));
  return (x, y) => {
    if (!offEdges(x, y)) return false;
    for (const near of shapes) if (near(x, y)) return false;
    return true;
  };
}

/** Whether a place lies on a shape or nearer than the setback to it. */
function nearTest(
  { polygons, lines, points, extentM }: KeepOut,
  setbackM: number,
): (x: number, y: number) => boolean {
  const inside = insideTest(polygons);
  // Edges as x0, y0, x1, y1; a point is an edge of no length.
  const edges: number[] = [];
  const reaches: number[] = [];
  const add = (path: readonly Position[], reachM: number) => {
    for (let i = 1; i < path.length; i++) {
      edges.push(path[i - 1][0], path[i - 1][1], path[i][0], path[i][1]);
      reaches.push(reachM);
    }
  };
  for (const rings of polygons) for (const ring of rings) add(ring, setbackM);
  for (const line of lines) add(line, setbackM + extentM);
  for (const point of points) add([point, point], setbackM + extentM);
  const at = Float64Array.from(edges);
  // A stop moved to exactly the setback must pass.
  const limit = Float64Array.from(reaches, (r) => r * r * (1 - 1e-9));
  const most = setbackM + extentM;
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (let i = 0; i < at.length; i += 2) {
    minX = Math.min(minX, at[i] - most);
    maxX = Math.max(maxX, at[i] + most);
    minY = Math.min(minY, at[i + 1] - most);
    maxY = Math.max(maxY, at[i + 1] + most);
  }
  return (x, y) => {
    if (x < minX || x > maxX || y < minY || y > maxY) return false;
    if (inside(x, y)) return true;
    for (let e = 0; e < limit.length; e++) {
      const [x0, y0] = [at[4 * e], at[4 * e + 1]];
      const [dx, dy] = [at[4 * e + 2] - x0, at[4 * e + 3] - y0];
      const length2 = dx * dx + dy * dy;
      const t = length2 > 0 ? Math.max(0, Math.min(1, ((x - x0) * dx + (y - y0) * dy) / length2)) : 0;
      const [ox, oy] = [x - x0 - t * dx, y - y0 - t * dy];
      if (ox * ox + oy * oy < limit[e]) return true;
    }
    return false;
  };
}

export interface ClearedStops {
  /** 2n metres. */
  readonly xy: FlatPositions;
  /** How far each was moved, m. */
  readonly movedM: Float64Array;
  /** 1 where there is no clear ground near: the stop stays where it was. */
  readonly stuck: Uint8Array;
}

/** Rings searched about a stop, and places along them, lie this far apart, m: clear ground narrower than that is no place to stand. */
const STEP_M = 1;
/** Halvings of the last step: the setback is met to the centimetre. */
const HALVINGS = 7;

/**
 * Each stop that lies on forbidden ground moves to the nearest clear place (to within the step of a metre along the ring,
 * a centimetre across), no farther than `mostM`; those with none stay and are marked. Judgement of this project: sampling
 * guides say to step aside, not how far.
 * @param xy 2n metres
 * @param allowed whether stop i may be moved to a clear place: its own cell, zone or soil unit; all unless given
 */
export function clearStops(
  xy: FlatPositions,
  clear: (x: number, y: number) => boolean,
  mostM: number,
  allowed: (i: number, x: number, y: number) => boolean = () => true,
): ClearedStops {
  const n = xy.length / 2;
  const out = { xy: xy.slice(), movedM: new Float64Array(n), stuck: new Uint8Array(n) };
  for (let i = 0; i < n; i++) {
    const [x, y] = [xy[2 * i], xy[2 * i + 1]];
    if (clear(x, y)) continue;
    const to = nearestAbout(x, y, mostM, (u, v) => clear(u, v) && allowed(i, u, v));
    if (!to) {
      out.stuck[i] = 1;
      continue;
    }
    [out.xy[2 * i], out.xy[2 * i + 1]] = to;
    out.movedM[i] = Math.hypot(to[0] - x, to[1] - y);
  }
  return out;
}

/** The place nearest (x, y) that passes a test, by rings about it; undefined when none within `mostM` does. */
function nearestAbout(
  x: number,
  y: number,
  mostM: number,
  passes: (x: number, y: number) => boolean,
): readonly [number, number] | undefined {
  const rings = Math.ceil(mostM / STEP_M);
  for (let ring = 1; ring <= rings; ring++) {
    const radius = Math.min(mostM, ring * STEP_M);
    const inner = (ring - 1) * STEP_M;
    // A multiple of eight: straight edges along the axes are met head on.
    const directions = 8 * Math.ceil((2 * Math.PI * radius) / STEP_M / 8);
    let best: { readonly at: readonly [number, number]; readonly radius: number } | undefined;
    for (let d = 0; d < directions; d++) {
      const turn = (2 * Math.PI * d) / directions;
      const [c, s] = [Math.cos(turn), Math.sin(turn)];
      if (!passes(x + radius * c, y + radius * s)) continue;
      let [near, far] = [inner, radius];
      for (let h = 0; h < HALVINGS; h++) {
        const middle = (near + far) / 2;
        if (passes(x + middle * c, y + middle * s)) far = middle;
        else near = middle;
      }
      if (!best || far < best.radius - 1e-9) best = { at: [x + far * c, y + far * s], radius: far };
    }
    if (best) return best.at;
  }
  return undefined;
}
