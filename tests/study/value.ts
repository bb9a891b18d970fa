/**
 * Brute-force check of the expected loss (`npm run study:value`): fields are drawn from a known variogram at points,
 * blocks averaged from points, composites pulled core by core, mapped by kriging; the rate is set by each design's
 * best entry and the loss counted at the true block. Held against the loss worked out without any field, from the
 * design's accuracy. Only the correlation function is common to both ways. Prints a Markdown table.
 */
import {
  blockVarianceInField,
  gridStops,
  groundShape,
  mapAccuracy,
  mapErrorsOf,
  noiseRatio,
  splitNugget,
  zoneAccuracy,
  zoneExtents,
  type DesignAccuracy,
  type MapGround,
  type SamplingOptions,
} from '../../src/design/index.ts';
import { randomNormal, seededRandom, type Random } from '../../src/describe/index.ts';
import { spreadNodes, squareOfArea } from '../../src/field/index.ts';
import { compositeSamples, ordinaryKriging } from '../../src/krige/index.ts';
import type { Member } from '../../src/prior/index.ts';
import { choleskyInPlace, correlationOf } from '../../src/variogram/index.ts';
import {
  afterEstimate,
  bestEntry,
  expectedLossBy,
  tableLeastLoss,
  type JointAccuracy,
} from '../../src/value/expectedLoss.ts';
import { lossOfRate, type LossOfRate } from '../../src/value/lossOfRate.ts';
import type { RateCase } from '../../src/value/rateCase.ts';
import { limeCase, phosphorusCase, potassiumCase } from '../value/madeCases.ts';

const YEARS = 4;
const BLOCK_M = 18;
const RADIUS_M = 5;
/** Points that stand for a block, a side. */
const POINTS_PER_SIDE = 4;
const WHOLE_CORES = 20;
const STOP_CORES = 8;

/** One property of a field whose variogram is known. */
export interface ValueCase {
  readonly name: string;
  readonly rateCase: RateCase;
  readonly toUser: (y: number) => number;
  readonly member: Member;
  readonly labVariance: number;
}

export interface ValueStudy {
  readonly areaHa: number;
  readonly blocks: number;
  readonly fieldNodes: number;
  /** Stops of the grids; 1 is the whole-field composite. */
  readonly designs: readonly number[];
  /** Fresh places of all cores, and fields drawn at each. */
  readonly placings: number;
  readonly fieldsPerPlacing: number;
}

export interface ValueRow {
  readonly name: string;
  readonly stops: number;
  /** Expected loss, money per ha and year. */
  readonly analytic: number;
  readonly simulated: number;
  readonly standardError: number;
  /** Mean squared error of the estimates on the working scale, foretold and found. */
  readonly meanSquaredError: number;
  readonly squaredErrorFound: number;
}

const member = (
  kind: 'spherical' | 'exponential',
  effectiveRangeM: number,
  nuggetShare: number,
  sd: number,
  mean: number,
  meanSd: number,
): Member => ({ kind, effectiveRangeM, nuggetShare, sill: sd * sd, mean, meanSd, cv: sd });

export const VALUE_CASES: readonly ValueCase[] = [
  {
    name: 'P, spherical 150 m',
    rateCase: phosphorusCase,
    toUser: Math.exp,
    member: member('spherical', 150, 0.25, 0.5, Math.log(22), 0.1),
    labVariance: 0.01,
  },
  {
    name: 'P, exponential 400 m, high',
    rateCase: phosphorusCase,
    toUser: Math.exp,
    member: member('exponential', 400, 0.15, 0.6, Math.log(38), 0.25),
    labVariance: 0.01,
  },
  {
    name: 'K, exponential 250 m',
    rateCase: potassiumCase,
    toUser: Math.exp,
    member: member('exponential', 250, 0.3, 0.35, Math.log(140), 0.1),
    labVariance: 0.004,
  },
  {
    name: 'pH, spherical 250 m',
    rateCase: limeCase,
    toUser: (y) => y,
    member: member('spherical', 250, 0.25, 0.4, 6.3, 0.1),
    labVariance: 0.005,
  },
];

/** A design as it is laid out, and what is foretold of it. */
interface Laid {
  readonly stops: number;
  /** 2n metres; none for the whole-field composite. */
  readonly xy: Float64Array | undefined;
  readonly cores: number;
  readonly accuracy: DesignAccuracy;
  readonly joint: JointAccuracy;
}

/** Foretold and found losses of several designs of one property. */
export function compareLosses(of: ValueCase, study: ValueStudy, seed: number): readonly ValueRow[] {
  const { member: m, toUser, labVariance } = of;
  const region = squareOfArea(study.areaHa);
  const ground: MapGround = {
    blocks: spreadNodes(region, study.blocks),
    fieldNodes: spreadNodes(region, study.fieldNodes),
    blockM: BLOCK_M,
  };
  const samplingOf = (cores: number): SamplingOptions => ({
    blockM: BLOCK_M,
    stopRadiusM: RADIUS_M,
    cores,
    coresLearnt: STOP_CORES,
    labVariance,
  });
  const shape = groundShape(ground, m.kind, m.effectiveRangeM);
  const truthVariance = blockVarianceInField(m, ground.fieldNodes, BLOCK_M);
  const laid = study.designs.map((stops): Laid => {
    const cores = stops === 1 ? WHOLE_CORES : STOP_CORES;
    const own = samplingOf(cores);
    const xy = stops === 1 ? undefined : gridStops(region, stops).xy;
    let accuracy: DesignAccuracy;
    if (xy) {
      const errors = mapErrorsOf({ kind: 'stops', xy, radiusM: RADIUS_M, cores }, ground)(shape);
      accuracy = mapAccuracy(m, errors(noiseRatio(m, own), 'interpolated'), truthVariance);
    } else {
      const labels = new Uint8Array(study.fieldNodes);
      const extents = zoneExtents(ground.fieldNodes, labels, 1, shape.structured);
      accuracy = zoneAccuracy(m, extents, shape.ownBlock, 1, truthVariance, own);
    }
    return { stops, xy, cores, accuracy, joint: withMean(accuracy, m.meanSd ** 2) };
  });

  const decision = lossOfRate(of.rateCase, YEARS);
  const sd = Math.sqrt(truthVariance + m.meanSd ** 2);
  const least = tableLeastLoss(decision, toUser, [m.mean - 2.4 * sd, m.mean + 2.4 * sd], sd);
  const analytic = laid.map((d) => expectedLossBy(least, m.mean, d.joint));

  const entries = laid.map((d) => entriesOf(decision, of, d.joint, 0.01 * sd));
  const random = seededRandom(seed);
  const { coreVariance } = splitNugget(m, samplingOf(STOP_CORES));
  const sums = laid.map(() => ({ loss: 0, squared: 0, error: 0 }));
  for (let p = 0; p < study.placings; p++) {
    const placing = placingOf(laid, ground, study.areaHa, random);
    const draw = fieldsOf(m, placing.xy, random);
    const covariances = laid.map((d) =>
      compositeSamples(m.kind, m.effectiveRangeM, m.sill * (1 - m.nuggetShare), {
        radiusM: RADIUS_M,
        cores: d.cores,
        coreVariance,
        labVariance,
      }),
    );
    for (let f = 0; f < study.fieldsPerPlacing; f++) {
      const z = draw();
      // The belief knows the field's own mean to within meanSd, and variation about it from the variogram.
      const shift = m.mean + m.meanSd * randomNormal(random) - meanOf(z, placing.fieldFrom, study.fieldNodes);
      const perBlock = POINTS_PER_SIDE ** 2;
      const truths = Float64Array.from(
        { length: study.blocks },
        (_, b) => shift + meanOf(z, b * perBlock, perBlock),
      );
      laid.forEach((d, k) => {
        const values = Float64Array.from({ length: d.stops }, (_, s) => {
          const cores = meanOf(z, placing.coresFrom[k] + s * d.cores, d.cores);
          const noise = Math.sqrt(coreVariance / d.cores + labVariance);
          return shift + cores + noise * randomNormal(random);
        });
        const estimates = d.xy
          ? ordinaryKriging(d.xy, values, ground.blocks, covariances[k], { blockM: BLOCK_M }).predictions
          : new Float64Array(study.blocks).fill(values[0]);
        let [loss, error] = [0, 0];
        for (let b = 0; b < study.blocks; b++) {
          loss += decision.loss(entries[k](estimates[b]), toUser(truths[b])) / study.blocks;
          error += (estimates[b] - truths[b]) ** 2 / study.blocks;
        }
        sums[k].loss += loss;
        sums[k].squared += loss * loss;
        sums[k].error += error;
      });
    }
  }
  const fields = study.placings * study.fieldsPerPlacing;
  return laid.map((d, k) => {
    const simulated = sums[k].loss / fields;
    return {
      name: of.name,
      stops: d.stops,
      analytic: analytic[k],
      simulated,
      standardError: Math.sqrt(Math.max(0, sums[k].squared / fields - simulated ** 2) / (fields - 1)),
      meanSquaredError: d.accuracy.meanSquaredError,
      squaredErrorFound: sums[k].error / fields,
    };
  });
}

/** The test value to enter for an estimate, by steps of the truth it leads to expect. */
function entriesOf(
  decision: LossOfRate,
  { member: m, toUser }: ValueCase,
  joint: JointAccuracy,
  step: number,
): (estimate: number) => number {
  const { slope, left } = afterEstimate(joint);
  const held = new Map<number, number>();
  return (estimate) => {
    const steps = Math.round((slope * (estimate - m.mean)) / step);
    const known = held.get(steps) ?? bestEntry(decision, toUser, m.mean + steps * step, left).entered;
    held.set(steps, known);
    return known;
  };
}

/** What is not known of the field's mean is shared by truth and estimate. */
function withMean(a: DesignAccuracy, meanVariance: number): JointAccuracy {
  return {
    truthVariance: a.truthVariance + meanVariance,
    estimateVariance: a.estimateVariance + meanVariance,
    covariance: a.covariance + meanVariance,
  };
}

/** All places a field is drawn at: block by block, nodes of the field, then each design's cores, stop by stop. */
interface Placing {
  readonly xy: Float64Array;
  readonly fieldFrom: number;
  readonly coresFrom: readonly number[];
}

function placingOf(designs: readonly Laid[], ground: MapGround, areaHa: number, random: Random): Placing {
  const xy: number[] = [];
  for (let b = 0; b < ground.blocks.length; b += 2)
    for (let i = 0; i < POINTS_PER_SIDE; i++)
      for (let j = 0; j < POINTS_PER_SIDE; j++)
        // Strewn within each sixteenth of the block, so that no regular pattern meets another.
        xy.push(
          ground.blocks[b] + ((i + random()) / POINTS_PER_SIDE - 0.5) * BLOCK_M,
          ground.blocks[b + 1] + ((j + random()) / POINTS_PER_SIDE - 0.5) * BLOCK_M,
        );
  const fieldFrom = xy.length / 2;
  xy.push(...ground.fieldNodes);
  const side = Math.sqrt(areaHa * 10_000);
  const coresFrom = designs.map((d) => {
    const from = xy.length / 2;
    for (let s = 0; s < d.stops; s++)
      for (let c = 0; c < d.cores; c++)
        if (d.xy) {
          const [r, a] = [RADIUS_M * Math.sqrt(random()), 2 * Math.PI * random()];
          xy.push(d.xy[2 * s] + r * Math.cos(a), d.xy[2 * s + 1] + r * Math.sin(a));
        } else xy.push((random() - 0.5) * side, (random() - 0.5) * side);
    return from;
  });
  return { xy: Float64Array.from(xy), fieldFrom, coresFrom };
}

/**
 * Structured parts at places by the Cholesky factor of their covariances: exact, and any number of fields from one
 * factor.
 */
function fieldsOf(m: Member, xy: Float64Array, random: Random): () => Float64Array {
  const n = xy.length / 2;
  const rho = correlationOf(m);
  const partialSill = m.sill * (1 - m.nuggetShare);
  const l = new Float64Array(n * n);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++)
      l[i * n + j] = partialSill * rho(Math.hypot(xy[2 * i] - xy[2 * j], xy[2 * i + 1] - xy[2 * j + 1]));
    l[i * n + i] = partialSill;
  }
  if (!choleskyInPlace(l, n)) throw new RangeError('Two places to simulate lie too near one another.');
  const e = new Float64Array(n);
  return () => {
    for (let i = 0; i < n; i++) e[i] = randomNormal(random);
    const z = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let j = 0, at = i * n; j <= i; j++, at++) sum += l[at] * e[j];
      z[i] = sum;
    }
    return z;
  };
}

function meanOf(values: Float64Array, from: number, count: number): number {
  let sum = 0;
  for (let i = from; i < from + count; i++) sum += values[i];
  return sum / count;
}

/** The table as it stands in DEVELOPERS.md. */
export function valueTable(rows: readonly ValueRow[]): string {
  const head = [
    'property',
    'stops',
    'worked out',
    'simulated',
    'standard error',
    'ratio',
    'squared error: found / foretold',
  ];
  const body = rows.map((r) => [
    r.name,
    r.stops === 1 ? 'whole field' : String(r.stops),
    r.analytic.toFixed(2),
    r.simulated.toFixed(2),
    r.standardError.toFixed(2),
    (r.simulated / r.analytic).toFixed(3),
    (r.squaredErrorFound / r.meanSquaredError).toFixed(3),
  ]);
  return [head, head.map(() => '---'), ...body].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
}
