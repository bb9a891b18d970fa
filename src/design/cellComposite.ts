import { rasterNodes, type FlatPositions, type Region } from '../field/index.ts';
import { insideTest } from '../field/inside.ts';
import { targetOf } from '../krige/index.ts';
import { stretched, type Anisotropy } from '../variogram/index.ts';
import { spatialCoverage } from './coverage.ts';
import { mainDirection } from './grid.ts';
import { nearestIndex, nearestStops } from './nearest.ts';

/**
 * Where to pull the cores of each cell's composite: the middles of as many compact pieces of equal area as there are
 * cores. In a square cell with 4, 9, … cores that is the centred grid of interval side/√cores, which errs least of all
 * patterns about the cell's mean (Webster & Burgess 1984, Journal of Soil Science 35: 127-140); in a cell cut by the
 * boundary its nearest kin. Pieces are made of nodes, so some ten nodes to a core are needed.
 * @param nodes 2n metres, evenly spread over the region; @param labels cell of each node, 0 … cells − 1
 * @param rowsAngle direction of the sides of cells as long as wide, radians from east
 * @returns per cell 2·cores metres, inside the region; a cell with fewer nodes than cores takes them in turn,
 * one without nodes has no cores
 */
export function cellCores(
  region: Region,
  nodes: FlatPositions,
  labels: ArrayLike<number>,
  cells: number,
  cores: number,
  rowsAngle = 0,
): readonly FlatPositions[] {
  const inside = insideTest(region);
  const { nearest } = nearestIndex(nodes, nodes);
  return nodesOfCells(nodes, labels, cells).map((own, cell) => {
    const n = own.length / 2;
    if (n === 0) return own;
    if (n <= cores) return Float64Array.from({ length: 2 * cores }, (_, i) => own[i % own.length]);
    const { centres } = spatialCoverage(own, cores, equalPieces(own, cores, rowsAngle));
    const toOwn = nearestIndex(own, own).nearest;
    for (let c = 0; c < cores; c++) {
      const [x, y] = [centres[2 * c], centres[2 * c + 1]];
      if (inside(x, y) && labels[nearest(x, y)] === cell) continue;
      const node = toOwn(x, y);
      centres.set(own.subarray(2 * node, 2 * node + 2), 2 * c);
    }
    return centres;
  });
}

/** Nodes to a core, and in all, that the pieces of a grid's cells are made of. */
const NODES_PER_CORE = { least: 12, most: 36 };
const NODES_IN_ALL = 60_000;

/** {@link cellCores} of the cells nearest each stop of a grid. */
export function gridCellCores(region: Region, stops: FlatPositions, cores: number): readonly FlatPositions[] {
  const cells = stops.length / 2;
  const { least, most } = NODES_PER_CORE;
  const perCell = Math.max(least * cores, Math.min(most * cores, NODES_IN_ALL / cells));
  const { nodes } = rasterNodes(region, Math.round(cells * perCell));
  return cellCores(region, nodes, nearestStops(nodes, stops), cells, cores, mainDirection(region));
}

function nodesOfCells(
  nodes: FlatPositions,
  labels: ArrayLike<number>,
  cells: number,
): readonly FlatPositions[] {
  const count = new Int32Array(cells);
  for (let i = 0; i < labels.length; i++) count[labels[i]]++;
  const out = Array.from(count, (n) => new Float64Array(2 * n));
  count.fill(0);
  for (let i = 0; i < labels.length; i++) {
    const c = labels[i];
    out[c][count[c]++] = nodes[2 * i];
    out[c][count[c]++] = nodes[2 * i + 1];
  }
  return out;
}

/**
 * Middles of a cell's pieces, equal in nodes: rows of equal share cut across the longer principal axis, pieces cut along
 * each row. What the pieces grow from; of a square with m² cores already the centred grid.
 */
function equalPieces(own: FlatPositions, cores: number, rowsAngle: number): FlatPositions {
  const n = own.length / 2;
  let [mx, my, sxx, syy, sxy] = [0, 0, 0, 0, 0];
  for (let i = 0; i < n; i++) {
    mx += own[2 * i] / n;
    my += own[2 * i + 1] / n;
  }
  for (let i = 0; i < n; i++) {
    const [dx, dy] = [own[2 * i] - mx, own[2 * i + 1] - my];
    sxx += dx * dx;
    syy += dy * dy;
    sxy += dx * dy;
  }
  // A square's principal axes are where rounding says; it is told its sides.
  const round = Math.abs(sxy) < 0.02 * (sxx + syy) && Math.abs(sxx - syy) < 0.02 * (sxx + syy);
  const angle = round ? rowsAngle : 0.5 * Math.atan2(2 * sxy, sxx - syy);
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const along = Float64Array.from({ length: n }, (_, i) => c * own[2 * i] + s * own[2 * i + 1]);
  const across = Float64Array.from({ length: n }, (_, i) => c * own[2 * i + 1] - s * own[2 * i]);
  const spread = (v: Float64Array) => Math.sqrt(v.reduce((q, a) => q + a * a, 0) / n - mean(v) ** 2);
  const rows = Math.max(1, Math.min(cores, Math.round(Math.sqrt((cores * spread(across)) / spread(along)))));
  const byAcross = Array.from({ length: n }, (_, i) => i).sort((a, b) => across[a] - across[b] || a - b);
  const out = new Float64Array(2 * cores);
  for (let r = 0, core = 0; r < rows; r++) {
    const here = Math.floor(((r + 1) * cores) / rows) - core;
    const row = byAcross.slice(Math.floor((core * n) / cores), Math.floor(((core + here) * n) / cores));
    row.sort((a, b) => along[a] - along[b] || a - b);
    for (let k = 0; k < here; k++, core++) {
      const piece = row.slice(Math.floor((k * row.length) / here), Math.floor(((k + 1) * row.length) / here));
      for (const i of piece) {
        out[2 * core] += own[2 * i] / piece.length;
        out[2 * core + 1] += own[2 * i + 1] / piece.length;
      }
    }
  }
  return out;
}

function mean(v: Float64Array): number {
  return v.reduce((q, a) => q + a, 0) / v.length;
}

/** Covariances of composites whose cores lie at known places, their noise left out. */
export interface CellCovariances {
  /** cells × cells, row-major, symmetric: the mean of the ground's covariance over all pairs of cores. */
  readonly between: Float64Array;
  /** cells × nodes, row-major: the mean over a cell's cores and a node's block. */
  readonly toNodes: Float64Array;
}

/**
 * Covariances between the composites of cells and with the nodes' blocks, averaged over the cores exactly: (1/m_a·m_b)
 * ΣΣ C(|x_i − x_j|), with itself too (a core with itself counts as C(0)). Core-to-core noise over the cores, and
 * laboratory noise, are for the caller to put on the diagonal. Work goes with (cells·cores)²/2 + 4·cells·cores·nodes.
 * @param cores of {@link cellCores}, each cell at least one; @param nodes 2n metres
 * @param ground point covariance at distance h (m), of the stretched plane when an anisotropy is given
 * @throws RangeError when a cell has no cores
 */
export function cellMeanCovariances(
  cores: readonly FlatPositions[],
  nodes: FlatPositions,
  ground: (h: number) => number,
  options: {
    readonly blockM?: number;
    readonly anisotropy?: Anisotropy;
    /** As of {@link SampleCovariance}. */
    readonly kinksM?: readonly number[];
  } = {},
): CellCovariances {
  const { blockM = 0, anisotropy, kinksM } = options;
  const empty = cores.findIndex((own) => own.length === 0);
  if (empty >= 0) throw new RangeError(`Cell ${empty} has no cores.`);
  const places = cores.map((own) => stretched(own, anisotropy));
  const centres = stretched(nodes, anisotropy);
  // A core is a sample of a point of the ground.
  const core = { variance: ground(0), between: ground, toPoint: ground, ground, kinksM };
  const { withSample } = targetOf(core, blockM, anisotropy);
  const [cells, n] = [cores.length, nodes.length / 2];
  const between = new Float64Array(cells * cells);
  const toNodes = new Float64Array(cells * n);
  for (let a = 0; a < cells; a++) {
    const own = places[a];
    for (let b = 0; b <= a; b++) {
      const other = places[b];
      let sum = 0;
      for (let i = 0; i < own.length; i += 2)
        for (let j = 0; j < other.length; j += 2) {
          const dx = own[i] - other[j];
          const dy = own[i + 1] - other[j + 1];
          sum += ground(Math.sqrt(dx * dx + dy * dy));
        }
      between[a * cells + b] = between[b * cells + a] = (4 * sum) / (own.length * other.length);
    }
    for (let x = 0; x < n; x++) {
      let sum = 0;
      for (let i = 0; i < own.length; i += 2)
        sum += withSample(centres[2 * x] - own[i], centres[2 * x + 1] - own[i + 1]);
      toNodes[a * n + x] = (2 * sum) / own.length;
    }
  }
  return { between, toNodes };
}
