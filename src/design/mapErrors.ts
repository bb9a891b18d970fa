import {
  blockPoints,
  blockVariance,
  compositeSamples,
  indexSamples,
  meanCovariance,
  nearestInto,
  targetOf,
  type SampleCovariance,
  type Target,
} from '../krige/index.ts';
import type { FlatPositions } from '../field/index.ts';
import {
  correlationOf,
  factorTridiagonal,
  solveTridiagonalLower,
  stretched,
  tridiagonalise,
  type Anisotropy,
  type ModelKind,
} from '../variogram/index.ts';

/** The ground a map is judged on, the same for every design of a field. */
export interface MapGround {
  /** Centres of the blocks errors are averaged over, 2m metres. */
  readonly blocks: FlatPositions;
  /** Nodes that stand for the field, 2q metres. */
  readonly fieldNodes: FlatPositions;
  readonly blockM: number;
  readonly anisotropy?: Anisotropy;
}

/** How the map's value at a block comes from the samples. */
export type MapUse = 'interpolated' | 'own cell';

/**
 * Errors of a map over a field, for a structured variance of 1: `covariance` is that of estimate and truth about the field's
 * own mean; the squared errors' mean, median and 90th percentile are over the blocks.
 */
export interface MapError {
  readonly meanSquaredError: number;
  readonly median: number;
  readonly p90: number;
  readonly covariance: number;
}

/** Errors at one noise-to-structure ratio (the samples' noise variance over the structured variance). */
export type MapErrors = (noiseRatio: number, use: MapUse) => MapError;

/** Up to so many samples all are used at every block; beyond, the nearest, which screen the rest. */
const WHOLE_UP_TO = 64;
const NEAREST = 32;
/** Every block then has a system of its own; tight grids err alike everywhere, so fewer blocks do. */
const MANY_STOPS_BLOCKS = 64;

/** Places that stand for a block, from its centre, with weights that sum to one. */
interface BlockOffsets {
  readonly dx: Float64Array;
  readonly dy: Float64Array;
  readonly weight: Float64Array;
}

/** Gauss offsets of a square block, in the plane where the variation is isotropic. */
function blockOffsets(perSide: 2 | 4, sideM: number, anisotropy: Anisotropy | undefined): BlockOffsets {
  const [at, share] =
    perSide === 2
      ? [
          [-0.28867513459481287, 0.28867513459481287],
          [0.5, 0.5],
        ]
      : [
          [-0.430568155797026, -0.169990521792428, 0.169990521792428, 0.430568155797026],
          [0.173927422568727, 0.326072577431273, 0.326072577431273, 0.173927422568727],
        ];
  const xy = stretched(
    Float64Array.from(at.flatMap((u) => at.flatMap((v) => [u * sideM, v * sideM]))),
    anisotropy,
  );
  return {
    dx: xy.filter((_, i) => i % 2 === 0),
    dy: xy.filter((_, i) => i % 2 === 1),
    weight: Float64Array.from(share.flatMap((u) => share.map((v) => u * v))),
  };
}

/** What is pulled: composites within a circle about each stop, or composites of cores at stated places of each cell. */
export type MapSamples =
  | {
      readonly kind: 'stops';
      /** 2n metres. */
      readonly xy: FlatPositions;
      readonly radiusM: number;
      readonly cores: number;
    }
  | {
      readonly kind: 'cells';
      /** Centres of the cells, 2n metres: a block belongs to the nearest. */
      readonly xy: FlatPositions;
      /** The cores of each cell, each 2m metres. */
      readonly coresOf: readonly FlatPositions[];
    };

/** The ground under one model and range, the same for every design: made once, it serves them all. */
export interface GroundShape {
  readonly kind: ModelKind;
  readonly effectiveRangeM: number;
  readonly structured: (h: number) => number;
  /** Variances of a block and of the field's mean, and covariance of each block with that mean. */
  readonly ownBlock: number;
  readonly ownField: number;
  readonly blockWithField: Float64Array;
  /** Composites at stops and what they tell of a block, by radius and cores. */
  readonly stops: (
    radiusM: number,
    cores: number,
  ) => { readonly cov: SampleCovariance; readonly target: Target };
}

export function groundShape(ground: MapGround, kind: ModelKind, effectiveRangeM: number): GroundShape {
  const { blockM, anisotropy } = ground;
  const structured = correlationOf({ kind, effectiveRangeM });
  const blocks = stretched(ground.blocks, anisotropy);
  const fieldNodes = stretched(ground.fieldNodes, anisotropy);
  const kinksM = kind === 'spherical' ? [effectiveRangeM] : [];
  const held = new Map<string, { cov: SampleCovariance; target: Target }>();
  return {
    kind,
    effectiveRangeM,
    structured,
    ownBlock: blockVariance(structured, blockPoints(blockM), kinksM, anisotropy),
    ownField: meanCovariance(fieldNodes, structured),
    blockWithField: Float64Array.from({ length: blocks.length / 2 }, (_, p) =>
      meanTo(fieldNodes, blocks[2 * p], blocks[2 * p + 1], structured),
    ),
    stops: (radiusM, cores) => {
      const key = `${radiusM} ${cores}`;
      const known = held.get(key);
      if (known) return known;
      const cov = compositeSamples(kind, effectiveRangeM, 1, {
        radiusM,
        cores,
        coreVariance: 0,
        labVariance: 0,
      });
      const made = { cov, target: targetOf(cov, blockM, anisotropy) };
      held.set(key, made);
      return made;
    },
  };
}

/** {@link mapErrorsOf} for one model and range. */
export function mapErrors(
  samples: MapSamples,
  ground: MapGround,
  kind: ModelKind,
  effectiveRangeM: number,
): MapErrors {
  return mapErrorsOf(samples, ground)(groundShape(ground, kind, effectiveRangeM));
}

/**
 * Errors of mapping blocks from composites by ordinary kriging (or with the value of the block's own, nearest sample),
 * under a structured correlation of unit variance. The samples' covariance is reduced to tridiagonal form once,
 * so every further noise ratio costs O(samples) a block.
 *
 * With w the weights, C_F the covariance with the field's mean and σ²_B, σ²_F the variances of a block and of that
 * mean: squared error σ²_B − 2wᵀc + wᵀKw, and cov(estimate, truth) = wᵀc − wᵀc_F − C_BF + σ²_F.
 */
export function mapErrorsOf(samples: MapSamples, ground: MapGround): (shape: GroundShape) => MapErrors {
  const at = stretched(samples.xy, ground.anisotropy);
  const blocks = stretched(ground.blocks, ground.anisotropy);
  const fieldNodes = stretched(ground.fieldNodes, ground.anisotropy);
  const n = at.length / 2;
  const whole = n <= WHOLE_UP_TO;
  const m = Math.min(blocks.length / 2, whole ? Infinity : MANY_STOPS_BLOCKS);
  const tree = indexSamples(at);
  const distance2 = new Float64Array(NEAREST);
  const nearestOf = (p: number, count: number) => {
    const index = new Uint32Array(count);
    nearestInto(tree, blocks[2 * p], blocks[2 * p + 1], count, Infinity, index, distance2);
    return index;
  };
  const nearestSample = Int32Array.from({ length: m }, (_, p) => nearestOf(p, 1)[0]);
  const groups = whole
    ? [
        {
          index: Uint32Array.from({ length: n }, (_, i) => i),
          blockIndex: Uint32Array.from({ length: m }, (_, p) => p),
        },
      ]
    : Array.from({ length: m }, (_, p) => ({
        index: nearestOf(p, NEAREST),
        blockIndex: Uint32Array.of(p),
      }));
  const coresOf = samples.kind === 'cells' ? samples.coresOf.map((c) => stretched(c, ground.anisotropy)) : [];
  const matrix = new Float64Array(groups[0].index.length ** 2);
  return (shape) => {
    const { ownBlock, ownField, blockWithField } = shape;
    const support =
      samples.kind === 'stops'
        ? stopSupport(at, samples, shape)
        : cellSupport(at, coresOf, ground, shape.structured);
    const withField = Float64Array.from({ length: n }, (_, i) => support.toField(i, fieldNodes));
    const toBlock = (i: number, p: number) => support.toBlock(i, blocks[2 * p], blocks[2 * p + 1]);
    const systems = groups.map((g) => systemOf(g.index, g.blockIndex, support, toBlock, withField, matrix));
    const toOwn = Float64Array.from(nearestSample, (i, p) => toBlock(i, p));
    return atNoise(systems, { ownBlock, ownField, blockWithField, withField, nearestSample, toOwn, support });
  };
}

/** What {@link atNoise} needs besides the systems. */
interface Parts {
  readonly ownBlock: number;
  readonly ownField: number;
  readonly blockWithField: Float64Array;
  readonly withField: Float64Array;
  readonly nearestSample: Int32Array;
  readonly toOwn: Float64Array;
  readonly support: Support;
}

function atNoise(systems: readonly System[], parts: Parts): MapErrors {
  const { ownBlock, ownField, blockWithField, withField, nearestSample, toOwn, support } = parts;
  const m = nearestSample.length;
  const squared = new Float64Array(m);
  // All systems are of one size.
  const size = systems[0].t.n;
  const make = () => new Float64Array(size);
  const [lower, pivots, u1, uf] = [make(), make(), make(), make()];
  const summary = (covariance: number): MapError => {
    const sorted = squared.slice().sort();
    return {
      meanSquaredError: squared.reduce((s, v) => s + v, 0) / m,
      median: sorted[m >> 1],
      p90: sorted[Math.floor(0.9 * (m - 1))],
      covariance: covariance / m,
    };
  };
  return (noiseRatio, use) => {
    let covariance = 0;
    if (use === 'own cell') {
      for (let p = 0; p < m; p++) {
        squared[p] = ownBlock - 2 * toOwn[p] + support.variance(nearestSample[p]) + noiseRatio;
        covariance += toOwn[p] - withField[nearestSample[p]] - blockWithField[p] + ownField;
      }
      return summary(covariance);
    }
    for (const { t, ones, field, ofBlocks, blockIndex } of systems) {
      factorTridiagonal(t, 1, noiseRatio, lower, pivots);
      u1.set(ones);
      uf.set(field);
      solveTridiagonalLower(lower, u1);
      solveTridiagonalLower(lower, uf);
      let [oneKone, oneKf] = [0, 0];
      for (let i = 0; i < size; i++) {
        const w = u1[i] / pivots[i];
        oneKone += w * u1[i];
        oneKf += w * uf[i];
      }
      for (let k = 0; k < blockIndex.length; k++) {
        const p = blockIndex[k];
        const ofBlock = ofBlocks[k];
        let [cKc, oneKc, fKc, before] = [0, 0, 0, 0];
        for (let i = 0; i < size; i++) {
          before = ofBlock[i] - lower[i] * before;
          const w = before / pivots[i];
          cKc += w * before;
          oneKc += w * u1[i];
          fKc += w * uf[i];
        }
        const lagrange = (1 - oneKc) / oneKone;
        squared[p] = Math.max(0, ownBlock - cKc + lagrange * (1 - oneKc));
        covariance += cKc + lagrange * oneKc - fKc - lagrange * oneKf - blockWithField[p] + ownField;
      }
    }
    return summary(covariance);
  };
}

/** A kriging system reduced, with the blocks that use it. */
interface System {
  readonly t: ReturnType<typeof tridiagonalise>;
  readonly ones: Float64Array;
  readonly field: Float64Array;
  readonly ofBlocks: readonly Float64Array[];
  readonly blockIndex: Uint32Array;
}

/** Covariances of the samples with one another and with points of the ground, noise left out. */
interface Support {
  readonly variance: (i: number) => number;
  readonly between: (i: number, j: number) => number;
  /** Mean over nodes that stand for the field. */
  readonly toField: (i: number, nodes: FlatPositions) => number;
  /** With a block by its centre. */
  readonly toBlock: (i: number, x: number, y: number) => number;
}

function stopSupport(
  at: FlatPositions,
  { radiusM, cores }: { readonly radiusM: number; readonly cores: number },
  shape: GroundShape,
): Support {
  const { cov, target } = shape.stops(radiusM, cores);
  return {
    variance: () => cov.variance,
    between: (i, j) => {
      const dx = at[2 * i] - at[2 * j];
      const dy = at[2 * i + 1] - at[2 * j + 1];
      return cov.between(Math.sqrt(dx * dx + dy * dy));
    },
    toField: (i, nodes) => meanTo(nodes, at[2 * i], at[2 * i + 1], cov.toPoint),
    toBlock: (i, x, y) => target.withSample(x - at[2 * i], y - at[2 * i + 1]),
  };
}

/** Cells sampled by cores at stated places: covariances are averaged over the cores, a core with itself at its full variance. */
function cellSupport(
  at: FlatPositions,
  coresOf: readonly FlatPositions[],
  { blockM, anisotropy }: MapGround,
  structured: (h: number) => number,
): Support {
  const between = (i: number, j: number) => meanOfBoth(coresOf[i], coresOf[j], structured);
  const own = coresOf.map((_, i) => between(i, i));
  const near = blockOffsets(4, blockM, anisotropy);
  const far = blockOffsets(2, blockM, anisotropy);
  const farSquared = 16 * blockM * blockM;
  return {
    variance: (i) => own[i],
    between,
    toField: (i, nodes) => meanOfBoth(coresOf[i], nodes, structured),
    toBlock: (i, x, y) => {
      const { dx, dy, weight } = (x - at[2 * i]) ** 2 + (y - at[2 * i + 1]) ** 2 > farSquared ? far : near;
      let sum = 0;
      for (let k = 0; k < dx.length; k++)
        sum += weight[k] * meanTo(coresOf[i], x + dx[k], y + dy[k], structured);
      return sum;
    },
  };
}

/** The kriging system of some samples, reduced, with the blocks that use it. @param k scratch, samples × samples */
function systemOf(
  index: Uint32Array,
  blockIndex: Uint32Array,
  support: Support,
  toBlock: (i: number, p: number) => number,
  withField: Float64Array,
  k: Float64Array,
): System {
  const size = index.length;
  for (let i = 0; i < size; i++) {
    for (let j = 0; j < i; j++) k[i * size + j] = support.between(index[i], index[j]);
    k[i * size + i] = support.variance(index[i]);
  }
  const make = () => new Float64Array(size);
  const ones = make().fill(1);
  const field = make();
  for (let i = 0; i < size; i++) field[i] = withField[index[i]];
  const ofBlocks = Array.from(blockIndex, (p) => {
    const c = make();
    for (let i = 0; i < size; i++) c[i] = toBlock(index[i], p);
    return c;
  });
  const t = tridiagonalise(k, size, [ones, field, ...ofBlocks]);
  return { t, ones, field, ofBlocks, blockIndex };
}

function meanTo(nodes: FlatPositions, x: number, y: number, f: (h: number) => number): number {
  let sum = 0;
  for (let i = 0; i < nodes.length; i += 2) {
    const dx = nodes[i] - x;
    const dy = nodes[i + 1] - y;
    sum += f(Math.sqrt(dx * dx + dy * dy));
  }
  return sum / (nodes.length / 2);
}

function meanOfBoth(a: FlatPositions, b: FlatPositions, f: (h: number) => number): number {
  let sum = 0;
  for (let k = 0; k < a.length; k += 2) sum += meanTo(b, a[k], a[k + 1], f);
  return sum / (a.length / 2);
}
