/**
 * Calibration study (`npm run study:calibration`): fields are simulated from known truths, sampled, and the 80 % intervals of
 * the belief held against those truths. A Bayesian interval holds the truth as often as it says when truths are drawn
 * from the prior (Cook, Gelman & Rubin 2006, J. Comput. Graph. Stat. 15: 675-692; from memory). The error of a grid is the one
 * that the true variogram gives for the same stops. Prints a Markdown table.
 */
import {
  gridStops,
  groundShape,
  mapAccuracy,
  mapErrorsOf,
  noiseRatio,
  type MapGround,
  type SamplingOptions,
} from '../../src/design/index.ts';
import { randomNormal, seededRandom, weightedQuantile, type Scale } from '../../src/describe/index.ts';
import { spreadNodes, squareOfArea } from '../../src/field/index.ts';
import { simulateField } from '../../src/krige/index.ts';
import {
  makePrior,
  overMembers,
  sillOfCv,
  thin,
  updateBelief,
  type Member,
  type Normal,
} from '../../src/prior/index.ts';

const AREA_HA = 32;
const STOPS = 16;
const MEMBERS = 80;

export interface CalibrationRow {
  readonly analyte: string;
  readonly points: number;
  readonly fields: number;
  /** Shares of fields whose 80 % interval holds the truth. */
  readonly cv: number;
  readonly range: number;
  readonly nugget: number;
  readonly gridError: number;
  /** Median width of the interval of the grid's error, upper end over lower. */
  readonly gridErrorWidth: number;
  readonly meanEffective: number;
}

const region = squareOfArea(AREA_HA);
const ground: MapGround = {
  blocks: spreadNodes(region, 60),
  fieldNodes: spreadNodes(region, 120),
  blockM: 18,
};
const errorsOf = mapErrorsOf(
  { kind: 'stops', xy: gridStops(region, STOPS).xy, radiusM: 5, cores: 10 },
  ground,
);

/** One property at one number of points. */
export function calibrate(analyte: string, scale: Scale, points: number, fields: number): CalibrationRow {
  const prior = makePrior(analyte, scale, {});
  const random = seededRandom(1000 * points + analyte.charCodeAt(0));
  const draw = ({ mean, sd }: Normal) => mean + sd * randomNormal(random);
  const side = Math.sqrt(AREA_HA * 10_000);
  const own: SamplingOptions = {
    blockM: 18,
    stopRadiusM: 5,
    cores: 10,
    coresLearnt: 10,
    labVariance: prior.labVariance,
  };
  const gridError = (m: Member) => {
    const errors = errorsOf(groundShape(ground, m.kind, m.effectiveRangeM));
    return Math.sqrt(mapAccuracy(m, errors(noiseRatio(m, own), 'interpolated'), 0).meanSquaredError);
  };
  const held = { cv: 0, range: 0, nugget: 0, gridError: 0 };
  const widths: number[] = [];
  let effective = 0;
  for (let k = 0; k < fields; k++) {
    const xy = Float64Array.from({ length: 2 * points }, () => (random() - 0.5) * side);
    const cv = Math.exp(draw(prior.logCv));
    const mean = draw(prior.mean);
    const truth: Member = {
      kind: k % 2 ? 'exponential' : 'spherical',
      effectiveRangeM: Math.exp(draw(prior.logRangeM)),
      nuggetShare: 1 / (1 + Math.exp(-draw(prior.logitNugget))),
      sill: sillOfCv(cv, scale, mean),
      mean,
      meanSd: 0,
      cv,
    };
    const z = simulateField(
      xy,
      {
        kind: truth.kind,
        effectiveRangeM: truth.effectiveRangeM,
        nugget: truth.sill * truth.nuggetShare,
        partialSill: truth.sill * (1 - truth.nuggetShare),
      },
      random,
      { neighbours: Math.min(points, 120) },
    ).map((v) => v + mean);
    const belief = updateBelief(prior, scale, { xy, z }, { seed: k + 1 });
    effective += belief.effectiveSampleSize / fields;
    const holds = (value: number, of: (m: Member) => number) => {
      const { low, high } = overMembers(belief, of);
      return low <= value && value <= high ? 1 : 0;
    };
    held.cv += holds(cv, (m) => m.cv);
    held.range += holds(truth.effectiveRangeM, (m) => m.effectiveRangeM);
    held.nugget += holds(truth.nuggetShare, (m) => m.nuggetShare);
    const errors = thin(belief, MEMBERS).map(gridError);
    const even = errors.map(() => 1);
    const [low, high] = [weightedQuantile(errors, even, 0.1), weightedQuantile(errors, even, 0.9)];
    const own1 = gridError(truth);
    if (low <= own1 && own1 <= high) held.gridError++;
    widths.push(high / low);
  }
  return {
    analyte,
    points,
    fields,
    cv: held.cv / fields,
    range: held.range / fields,
    nugget: held.nugget / fields,
    gridError: held.gridError / fields,
    gridErrorWidth: weightedQuantile(
      widths,
      widths.map(() => 1),
      0.5,
    ),
    meanEffective: effective,
  };
}

export const STUDIED: readonly (readonly [string, Scale])[] = [
  ['P', 'log'],
  ['K', 'log'],
  ['pH', 'raw'],
  ['OM', 'raw'],
];

/** The table as it stands in DEVELOPERS.md. */
export function calibrationTable(rows: readonly CalibrationRow[]): string {
  const percent = (share: number) => `${Math.round(100 * share)} %`;
  const head = [
    'property',
    'points',
    'fields',
    'CV',
    'range',
    'nugget share',
    'error of a grid',
    'its width',
    'effective draws',
  ];
  const body = rows.map((r) => [
    r.analyte,
    String(r.points),
    String(r.fields),
    ...[r.cv, r.range, r.nugget, r.gridError].map(percent),
    `× ${r.gridErrorWidth.toFixed(2)}`,
    String(Math.round(r.meanEffective)),
  ]);
  return [head, head.map(() => '---'), ...body].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
}
