import { polygonHull } from 'd3';
import { areaHa, rasterNodes, type FlatPositions, type Region } from '../field/index.ts';
import { insetTest, insideTest } from '../field/inside.ts';
import { stretched, type Anisotropy } from '../variogram/index.ts';
import { spatialCoverage } from './coverage.ts';
import { movedInside } from './inset.ts';
import {
  angleOfBearing,
  countOnLattice,
  elongated,
  pointsOfLattice,
  squareBasis,
  scaledBasis,
  type LatticeBasis,
} from './lattice.ts';
import { meanSquaredDistanceTo } from './nearest.ts';
import { rectangularBasis } from './rectangular.ts';
import { triangularBasis } from './triangular.ts';

export type GridShape = 'square' | 'triangular' | 'rectangular' | 'coverage';

export interface GridStops {
  /** 2n metres. */
  readonly xy: FlatPositions;
  /** `lattice`: a regular lattice; `coverage`: evenly spread, also where no lattice with that number of stops fits. */
  readonly placed: 'lattice' | 'coverage';
  /** What the stops lie on; `coverage` too where the shape asked for does not fit. */
  readonly shape: GridShape;
  /** Side of the square one stop stands for, m. */
  readonly spacingM: number;
}

export interface PlacementOptions {
  /** Along over across, ≥ 1; see {@link elongationFor}. The square takes no notice of it. 1 unless given. */
  readonly elongation?: number;
  /** Bearing of the elongation, degrees clockwise from north; the field's long side unless given. */
  readonly directionDeg?: number;
  /** Least distance from the edge where the ground allows it, m: the radius of a composite. 0 unless given. */
  readonly insetM?: number;
}

/** How much a lattice may be stretched along its rows and across them to take exactly the stops asked for, the least
 * first and alike before unlike: a field of straight sides takes whole rows, whose numbers jump. */
const STRETCHES: readonly (readonly [number, number])[] = (() => {
  const by = [-0.06, -0.04, -0.02, 0, 0.02, 0.04, 0.06];
  const pairs = by.flatMap((a) => by.map((b) => [a, b] as const));
  const cost = ([a, b]: readonly [number, number]) =>
    100 * Math.max(Math.abs(a), Math.abs(b)) + Math.abs(a - b);
  return pairs.sort((p, q) => cost(p) - cost(q)).map(([a, b]) => [1 + a, 1 + b] as const);
})();
/** Sliding by sixths of a step: none and half a step, which centre a lattice, are among them. */
const OFFSETS = 6;

/**
 * Stops of a grid in the real boundary, holes and several parts included. A lattice (square along the field's own
 * direction unless asked otherwise) is slid and stretched a little (up to 6 % along and across) until exactly `stops` of its points lie
 * inside; the most central such lattice is taken. Where none fits, the stops are spread by spatial coverage, so that
 * the number asked for is the number walked.
 * @throws RangeError when the boundary cannot hold that many stops, or the elongation is below 1
 */
export function gridStops(
  region: Region,
  stops: number,
  options: PlacementOptions & { readonly shape?: GridShape } = {},
): GridStops {
  const site = siteOf(region, stops, options);
  const { shape = 'square' } = options;
  const lattice = shape === 'coverage' ? undefined : onLattice(site, shape);
  return lattice ?? byCoverage(site);
}

/**
 * All placements of exactly `stops` stops, each on its own merits: the lattices that fit and spatial coverage, which
 * always does (Walvoort, Brus & de Gruijter 2010). The rectangle is left out where it would be a square. Which of them
 * errs least, and by how much, is for the caller to work out.
 * @throws RangeError as {@link gridStops}
 */
export function placements(
  region: Region,
  stops: number,
  options: PlacementOptions & { readonly shapes?: readonly GridShape[] } = {},
): readonly GridStops[] {
  const site = siteOf(region, stops, options);
  const { shapes = ['square', 'triangular', 'rectangular', 'coverage'] } = options;
  return shapes.flatMap((shape) => {
    if (shape === 'coverage') return byCoverage(site);
    if (shape === 'rectangular' && site.elongation === 1) return [];
    return onLattice(site, shape) ?? [];
  });
}

/** What every placement in a field needs, made once. */
interface Site {
  readonly region: Region;
  readonly stops: number;
  readonly inside: (x: number, y: number) => boolean;
  readonly insetM: number;
  readonly clear: (x: number, y: number) => boolean;
  readonly nodes: FlatPositions;
  readonly spacingM: number;
  readonly fieldAngle: number;
  readonly elongation: number;
  /** Direction of the elongation, radians from east. */
  readonly angle: number;
  /** What undoes the elongation. */
  readonly plane: Anisotropy | undefined;
}

function siteOf(region: Region, stops: number, options: PlacementOptions): Site {
  const { elongation = 1, insetM = 0 } = options;
  if (!(elongation >= 1)) throw new RangeError(`A grid is elongated by 1 or more, not ${elongation}.`);
  const inside = insideTest(region);
  const fieldAngle = mainDirection(region);
  const angle = options.directionDeg === undefined ? fieldAngle : angleOfBearing(options.directionDeg);
  return {
    ...{ region, stops, inside, insetM, elongation, fieldAngle, angle },
    clear: insetTest(region, insetM),
    nodes: rasterNodes(region, Math.min(6000, Math.max(600, 30 * stops))).nodes,
    spacingM: Math.sqrt((areaHa(region) * 10_000) / stops),
    plane: elongation > 1 ? { ratio: 1 / elongation, directionDeg: 90 - (angle * 180) / Math.PI } : undefined,
  };
}

interface Rows {
  readonly basis: LatticeBasis;
  readonly angle: number;
}

/** The lattices of a shape, those to be preferred first; within a group any will do. */
function rowsOf(site: Site, shape: Exclude<GridShape, 'coverage'>): readonly (readonly Rows[])[] {
  const { spacingM, elongation, angle, fieldAngle } = site;
  const cell = spacingM * spacingM;
  if (shape === 'square') return [[{ basis: squareBasis(spacingM, fieldAngle), angle: fieldAngle }]];
  if (shape === 'rectangular') return [[{ basis: rectangularBasis(cell, elongation, angle), angle }]];
  // Rows along the direction or across it, which by its threefold symmetry is another lattice; else on the slant.
  return [
    [0, Math.PI / 2],
    [Math.PI / 12, -Math.PI / 12],
  ].map((turns) =>
    turns.map((turn) => ({
      basis: elongated(triangularBasis(cell, angle + turn), elongation, angle),
      angle: angle + turn,
    })),
  );
}

function onLattice(site: Site, shape: Exclude<GridShape, 'coverage'>): GridStops | undefined {
  const flat = shape === 'square' ? undefined : site.plane;
  const nodes = stretched(site.nodes, flat);
  for (const rows of rowsOf(site, shape))
    for (const [along, across] of STRETCHES) {
      const xy = mostCentral(site, rows, along, across, nodes, flat);
      if (!xy) continue;
      return { xy: settled(site, xy), placed: 'lattice', shape, spacingM: site.spacingM };
    }
  return undefined;
}

/** Of all offsets that take exactly the stops asked for, the one whose stops lie nearest to the field's nodes. */
function mostCentral(
  { region, stops, inside }: Site,
  rows: readonly Rows[],
  along: number,
  across: number,
  nodes: FlatPositions,
  plane: Anisotropy | undefined,
): FlatPositions | undefined {
  let best: { readonly xy: FlatPositions; readonly score: number } | undefined;
  for (const { basis, angle } of rows) {
    const scaled = scaledBasis(basis, along, across, angle);
    for (let i = 0; i < OFFSETS; i++)
      for (let j = 0; j < OFFSETS; j++) {
        const count = countOnLattice(region, scaled, i / OFFSETS, j / OFFSETS);
        if (count !== undefined && count !== stops) continue;
        const xy = pointsOfLattice(region, scaled, i / OFFSETS, j / OFFSETS, inside);
        if (xy.length !== 2 * stops) continue;
        const score = meanSquaredDistanceTo(nodes, stretched(xy, plane));
        if (!best || score < best.score) best = { xy, score };
      }
  }
  return best?.xy;
}

function byCoverage(site: Site): GridStops {
  const { region, stops, inside, nodes, spacingM, plane } = site;
  const flat = stretched(nodes, plane);
  const basis = plane
    ? rectangularBasis(spacingM * spacingM, site.elongation, site.angle)
    : squareBasis(spacingM, site.fieldAngle);
  // The tightest lattice of no more stops than asked for; those missing go where the gaps are widest.
  let start: FlatPositions | undefined;
  for (let stretch = 1; stretch < 1.2 && !start; stretch += 0.02) {
    const xy = pointsOfLattice(region, scaledBasis(basis, stretch, stretch, 0), 0.5, 0.5, inside);
    if (xy.length > 0 && xy.length <= 2 * stops) start = stretched(xy, plane);
  }
  const { centres, labels } = spatialCoverage(flat, stops, start);
  return {
    xy: settled(site, centresOnGround(site, flat, centres, labels)),
    placed: 'coverage',
    shape: 'coverage',
    spacingM,
  };
}

/** Each stratum's middle where the ground is clear there, else the nearest clear node of the stratum, else any. */
function centresOnGround(
  { stops, nodes, clear }: Site,
  flat: FlatPositions,
  centres: FlatPositions,
  labels: Int32Array,
): FlatPositions {
  const out = new Float64Array(2 * stops);
  const sum = new Float64Array(3 * stops);
  for (let i = 0; i < labels.length; i++) {
    sum[3 * labels[i]] += nodes[2 * i];
    sum[3 * labels[i] + 1] += nodes[2 * i + 1];
    sum[3 * labels[i] + 2]++;
  }
  const near = new Float64Array(stops).fill(Infinity);
  const isClear = new Uint8Array(stops);
  for (let c = 0; c < stops; c++) {
    const n = Math.max(1, sum[3 * c + 2]);
    [out[2 * c], out[2 * c + 1]] = [sum[3 * c] / n, sum[3 * c + 1] / n];
    if (sum[3 * c + 2] > 0 && clear(out[2 * c], out[2 * c + 1])) isClear[c] = 2;
  }
  for (let i = 0; i < labels.length; i++) {
    const c = labels[i];
    if (isClear[c] === 2) continue;
    const d = (flat[2 * i] - centres[2 * c]) ** 2 + (flat[2 * i + 1] - centres[2 * c + 1]) ** 2;
    const here = clear(nodes[2 * i], nodes[2 * i + 1]) ? 1 : 0;
    if (here < isClear[c] || (here === isClear[c] && d >= near[c])) continue;
    isClear[c] = here;
    near[c] = d;
    [out[2 * c], out[2 * c + 1]] = [nodes[2 * i], nodes[2 * i + 1]];
  }
  return out;
}

function settled({ insetM, clear }: Site, xy: FlatPositions): FlatPositions {
  return insetM > 0 ? movedInside(xy, insetM, clear) : xy;
}

/** Points of a square lattice inside a region; the offsets are shares of the spacing. */
export function latticePoints(
  region: Region,
  spacingM: number,
  angleRad: number,
  offsetU: number,
  offsetV: number,
): FlatPositions {
  return pointsOfLattice(region, squareBasis(spacingM, angleRad), offsetU, offsetV, insideTest(region));
}

/** Direction of the long side of the least rectangle around the region, radians from east. */
export function mainDirection(region: Region): number {
  const hull = polygonHull(region.flatMap(([outer]) => outer.map(([x, y]) => [x, y] as [number, number])));
  if (!hull) return 0;
  let best = { area: Infinity, angle: 0 };
  for (let i = 0; i < hull.length; i++) {
    const [a, b] = [hull[i], hull[(i + 1) % hull.length]];
    const angle = Math.atan2(b[1] - a[1], b[0] - a[0]);
    const [c, s] = [Math.cos(angle), Math.sin(angle)];
    const us = hull.map(([x, y]) => c * x + s * y);
    const vs = hull.map(([x, y]) => -s * x + c * y);
    const width = Math.max(...us) - Math.min(...us);
    const height = Math.max(...vs) - Math.min(...vs);
    if (width * height < best.area - 1e-6)
      best = { area: width * height, angle: width >= height ? angle : angle + Math.PI / 2 };
  }
  // Directions a half turn apart are the same lattice.
  return ((best.angle % Math.PI) + Math.PI) % Math.PI;
}
