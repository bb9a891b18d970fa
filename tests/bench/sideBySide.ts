/**
 * Times of this project beside those of R's gstat on the same numbers, one thread each, in CPU time (user and system, all of
 * a process's threads). What both compute is held against each other first: a time for something else would be no comparison.
 * Run by `npm run bench` through run.mjs: `node sideBySide.mjs ROOT WORK`. Without R or gstat our times stand alone.
 */
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { cpus } from 'node:os';
import path from 'node:path';
import {
  adviseFromFiles,
  adviceOptionsSchema,
  prepareField,
  type Advice,
  type AdviceRequest,
} from '../../src/advise/index.ts';
import { seededRandom } from '../../src/describe/index.ts';
import { gridCandidates, gridStops } from '../../src/design/index.ts';
import { areaHa, spreadNodes } from '../../src/field/index.ts';
import { ordinaryKriging, pointSamples, simulateField, type Kriged } from '../../src/krige/index.ts';
import { experimentalVariogram, type VariogramBin, type VariogramModel } from '../../src/variogram/index.ts';

const [, , root, work] = process.argv;
const RUNS = 3;
const NODES = 100_000;

interface Points {
  readonly xy: Float64Array;
  readonly z: Float64Array;
}

/** One line of the table: CPU seconds of each run. */
interface Row {
  readonly label: string;
  readonly ours: readonly number[];
  readonly theirs?: readonly number[];
}

/** What side_by_side.R writes. */
interface Theirs {
  readonly version: string;
  readonly times: Readonly<Record<string, readonly number[]>>;
  readonly bins: Readonly<
    Record<string, { readonly points: number; readonly pairs: number[]; readonly gamma: number[] }>
  >;
}

const say = (text: string) => process.stderr.write(`  ${text}\n`);
const print = (text: string) => process.stdout.write(`${text}\n`);

/** Runs once to warm up and then {@link RUNS} times. */
async function timed<T>(
  label: string,
  run: () => T | Promise<T>,
): Promise<{ readonly value: T; readonly seconds: readonly number[] }> {
  say(`ours: ${label}`);
  let value = await run();
  const seconds: number[] = [];
  for (let i = 0; i < RUNS; i++) {
    const before = process.cpuUsage();
    value = await run();
    const { user, system } = process.cpuUsage(before);
    seconds.push((user + system) / 1e6);
  }
  return { value, seconds };
}

const least = (values: readonly number[]) => Math.min(...values);
const median = (values: readonly number[]) => [...values].sort((a, b) => a - b)[values.length >> 1];

// Numbers ------------------------------------------------------------------------------------------------------------

/** To the millimetre, so that a text file holds the same numbers as memory. */
const toMm = (v: number) => Math.round(1000 * v) / 1000;

/** Points over a square with values that are smooth and noisy; the seed is their number. */
function scatter(n: number, sideM: number): Points {
  const random = seededRandom(n);
  const xy = Float64Array.from({ length: 2 * n }, () => toMm(sideM * random()));
  const z = Float64Array.from({ length: n }, (_, i) =>
    toMm(Math.sin(xy[2 * i] / 150) + Math.cos(xy[2 * i + 1] / 200) + random()),
  );
  return { xy, z };
}

/** 316 columns of nodes, by rows; none on a sample, where gstat would give back its value. */
function raster(x0: number, y0: number, dx: number, dy: number): Float64Array {
  return Float64Array.from({ length: 2 * NODES }, (_, i) => {
    const k = i >> 1;
    return toMm(i % 2 ? y0 + dy * Math.floor(k / 316) : x0 + dx * (k % 316));
  });
}

/** Columns of a CSV file of tests/reference, by header; text comes out as NaN. */
function referenceColumns(name: string): (header: string) => number[] {
  const rows = readFileSync(path.join(root, 'tests', 'reference', name), 'utf8')
    .trim()
    .split('\n')
    .map((line) => line.replaceAll('"', '').split(','));
  return (header) => {
    const at = rows[0].indexOf(header);
    if (at < 0) throw new Error(`${name} has no column ${header}.`);
    return rows.slice(1).map((row) => Number(row[at]));
  };
}

const flat = (x: readonly number[], y: readonly number[]) =>
  Float64Array.from(x.flatMap((v, i) => [v, y[i]]));

/** Writes positions, and values where there are any, for R; gives the file's name. */
function forR(name: string, xy: Float64Array, z: Float64Array = new Float64Array(xy.length / 2)): string {
  const rows = Array.from(z, (v, i) => `${xy[2 * i]},${xy[2 * i + 1]},${v}`);
  writeFileSync(path.join(work, name), `x,y,z\n${rows.join('\n')}\n`);
  return name;
}

// Cases --------------------------------------------------------------------------------------------------------------

interface VariogramCase {
  readonly id: string;
  readonly label: string;
  readonly points: Points;
  readonly cutoffM: number;
}

interface KrigingCase {
  readonly id: string;
  readonly label: string;
  readonly points: Points;
  readonly nodes: Float64Array;
  readonly model: VariogramModel;
  readonly neighbours?: number;
}

const SIDE_M = 3000;
const DIAGONAL_M = SIDE_M * Math.SQRT2;

const variogramCases: readonly VariogramCase[] = [
  {
    id: 'variogram-5000',
    label: 'variogram, 5,000 points, to a third of the diagonal',
    points: scatter(5000, SIDE_M),
    cutoffM: DIAGONAL_M / 3,
  },
  {
    id: 'variogram-100000',
    label: 'variogram, 100,000 points, to a thirtieth of the diagonal',
    points: scatter(100_000, SIDE_M),
    cutoffM: DIAGONAL_M / 30,
  },
];

const meuse = referenceColumns('meuse.csv');
const zinc: Points = {
  xy: flat(meuse('x'), meuse('y')),
  z: Float64Array.from(meuse('zinc'), Math.log),
};
const many = scatter(10_000, SIDE_M);

const krigingCases: readonly KrigingCase[] = (['spherical', 'exponential'] as const).flatMap((kind) => [
  {
    id: `kriging-155-${kind}`,
    label: `kriging, 155 points, all, to 100,000 nodes, ${kind}`,
    points: zinc,
    nodes: raster(178_500.05, 329_700.05, 9, 12.7),
    model: { kind, nugget: 0.06, partialSill: 0.59, effectiveRangeM: 942 },
  },
  {
    id: `kriging-10000-${kind}`,
    label: `kriging, 10,000 points, nearest 32, to 100,000 nodes, ${kind}`,
    points: many,
    nodes: raster(0, 0, 9.4, 9.4),
    model: { kind, nugget: 0.2, partialSill: 0.8, effectiveRangeM: 300 },
    neighbours: 32,
  },
]);
const byPoints = [...krigingCases].sort((a, b) => a.points.z.length - b.points.z.length);

/** gstat's exponential range is the distance parameter, a third of the effective range. */
const asGstat = ({ kind, nugget, partialSill, effectiveRangeM }: VariogramModel) =>
  kind === 'spherical'
    ? { model: 'Sph', nugget, psill: partialSill, range: effectiveRangeM }
    : { model: 'Exp', nugget, psill: partialSill, range: effectiveRangeM / 3 };

/** The 126 profiles with P, K, pH, Mg, organic matter and CEC. */
const OXFORD = ['PHOS1', 'POT1', 'PH1', 'MG1', 'OM1', 'CEC1'];
const IDS = ['P', 'K', 'pH', 'Mg', 'OM', 'CEC'];
const oxfordRequest: AdviceRequest = {
  files: [
    {
      role: 'points',
      name: 'oxford.csv',
      bytes: readFileSync(path.join(root, 'tests', 'reference', 'oxford.csv')),
      columns: { PCLAY1: { role: 'ignored' }, PCLAY2: { role: 'ignored' } },
    },
  ],
};

/** 300 points on a jittered grid over a field of 160 acres, six properties simulated each on its own. */
function simulatedRequest(): AdviceRequest {
  const random = seededRandom(300);
  const step = 805 / 20;
  const xy = Float64Array.from({ length: 600 }, (_, i) => {
    const k = i >> 1;
    const cell = i % 2 ? Math.floor(k / 20) * (805 / 15) : (k % 20) * step;
    return toMm(5000 + cell + step * random());
  });
  const draw = (effectiveRangeM: number, nugget: number) =>
    simulateField(xy, { kind: 'exponential', nugget, partialSill: 1 - nugget, effectiveRangeM }, random);
  const columns: readonly (readonly [string, Float64Array])[] = [
    ['P (ppm)', draw(180, 0.3).map((v) => 25 * Math.exp(0.5 * v))],
    ['K (ppm)', draw(240, 0.3).map((v) => 150 * Math.exp(0.35 * v))],
    ['pH', draw(300, 0.2).map((v) => 6.4 + 0.4 * v)],
    ['Mg (ppm)', draw(260, 0.25).map((v) => 200 * Math.exp(0.3 * v))],
    ['OM (%)', draw(350, 0.2).map((v) => 3.2 + 0.5 * v)],
    ['CEC', draw(400, 0.2).map((v) => 16 + 2.5 * v)],
  ];
  const rows = Array.from({ length: 300 }, (_, i) =>
    [xy[2 * i], xy[2 * i + 1], ...columns.map(([, z]) => z[i].toFixed(2))].join(','),
  );
  const text = [['Easting', 'Northing', ...columns.map(([name]) => name)].join(','), ...rows].join('\n');
  return { files: [{ role: 'points', name: 'simulated.csv', bytes: new TextEncoder().encode(text) }] };
}

async function adviceOn(request: AdviceRequest): Promise<Advice> {
  const reply = await adviseFromFiles(request);
  if (!reply.ok) throw new Error(reply.problems.map((p) => p.problem).join(' '));
  const found = reply.advice.analytes.filter((a) => a.summary !== undefined).map((a) => a.id);
  if (!IDS.every((id) => found.includes(id)) || found.length !== IDS.length)
    throw new Error(`The advice is on ${found.join(', ')}, not on ${IDS.join(', ')}.`);
  return reply.advice;
}

// Agreement ----------------------------------------------------------------------------------------------------------

function mustAgree(what: string, ours: ArrayLike<number>, theirs: ArrayLike<number>, within: number): void {
  if (ours.length !== theirs.length)
    throw new Error(`${what}: ${ours.length} values of ours, ${theirs.length} of gstat's.`);
  for (let i = 0; i < ours.length; i++)
    if (!(Math.abs(ours[i] - theirs[i]) <= within))
      throw new Error(`${what}, value ${i}: ours is ${ours[i]}, gstat's is ${theirs[i]}.`);
}

function variogramsMustAgree(c: VariogramCase, bins: readonly VariogramBin[], theirs: Theirs): void {
  const { pairs, gamma } = theirs.bins[c.id];
  mustAgree(
    `${c.label}, pairs`,
    bins.map((b) => b.pairs),
    pairs,
    0,
  );
  mustAgree(
    `${c.label}, semivariance`,
    bins.map((b) => b.gamma),
    gamma,
    1e-9,
  );
}

/** To a millionth. Ours predicts the ground without its nugget, gstat a further point with it: the nugget is added. */
function krigingMustAgree(c: KrigingCase, ours: Kriged): void {
  const bytes = readFileSync(path.join(work, `${c.id}.bin`));
  const theirs = new Float64Array(new Uint8Array(bytes).buffer);
  const variances = ours.variances.map((v) => v + c.model.nugget);
  mustAgree(`${c.label}, predictions`, ours.predictions, theirs.subarray(0, NODES), 1e-6);
  mustAgree(`${c.label}, variances`, variances, theirs.subarray(NODES), 1e-6);
}

// gstat --------------------------------------------------------------------------------------------------------------

/** As `src/design/mapErrors.ts` has it: up to 64 stops all are used at a block, beyond them the nearest 32. */
const WHOLE_UP_TO = 64;
const NEAREST = 32;
const ERROR_NODES = 110;
/** As `src/advise/advise.ts` has it: variograms a property is judged under, with a rate and without. */
const MEMBERS = { money: 48, other: 24 };

/** Writes what R needs; gives the number of grid sizes of the advice. */
async function writeCases(advice: Advice): Promise<number> {
  const field = await prepareField(oxfordRequest);
  if (!field.ok) throw new Error(field.problems[0].problem);
  const { region, tests } = field.value;
  const { blockM, stopRadiusM } = adviceOptionsSchema.parse({});
  const grids = gridCandidates(areaHa(region), 'us').map((c) =>
    forR(`${c.id}.csv`, gridStops(region, c.stops, { insetM: stopRadiusM }).xy),
  );
  const cases = {
    variograms: variogramCases.map((c) => ({
      id: c.id,
      points: forR(`${c.id}.csv`, c.points.xy, c.points.z),
      cutoff: c.cutoffM,
      width: c.cutoffM / 15,
    })),
    krigings: byPoints.map((c) => ({
      id: c.id,
      points: forR(`${c.id}.csv`, c.points.xy, c.points.z),
      nodes: forR(`${c.id}-nodes.csv`, c.nodes),
      model: asGstat(c.model),
      neighbours: c.neighbours,
    })),
    advice: {
      analytes: OXFORD.map((header, i) => ({
        points: forR(
          `oxford-${header}.csv`,
          tests!.xy,
          Float64Array.from(referenceColumns('oxford.csv')(header)),
        ),
        members:
          advice.analytes.find((a) => a.id === IDS[i])?.rateSource === undefined
            ? MEMBERS.other
            : MEMBERS.money,
      })),
      grids,
      nodes: forR('error-nodes.csv', spreadNodes(region, ERROR_NODES)),
      block: blockM,
      wholeUpTo: WHOLE_UP_TO,
      nearest: NEAREST,
    },
  };
  writeFileSync(path.join(work, 'cases.json'), JSON.stringify(cases));
  return grids.length;
}

/** Runs all cases in one R; a sentence where that cannot be. */
function runR(): Theirs | string {
  const one = { OMP_NUM_THREADS: '1', OPENBLAS_NUM_THREADS: '1', MKL_NUM_THREADS: '1' };
  const script = path.join(root, 'tests', 'bench', 'side_by_side.R');
  const { status, error, stdout } = spawnSync('Rscript', [script, work], {
    env: { ...process.env, ...one },
    stdio: ['ignore', 'pipe', 'inherit'],
    encoding: 'utf8',
  });
  if (error) return 'Rscript is not installed, so these are our times only.';
  if (status === 3) return `R's package ${stdout.trim()} is not installed, so these are our times only.`;
  if (status !== 0) throw new Error(`side_by_side.R ended with ${status}.`);
  return JSON.parse(readFileSync(path.join(work, 'timings.json'), 'utf8')) as Theirs;
}

// The table ----------------------------------------------------------------------------------------------------------

function table(rows: readonly Row[]): string {
  const seconds = (v: number) => v.toFixed(v < 1 ? 3 : 2);
  const pair = (times: readonly number[] | undefined) =>
    times ? `${seconds(least(times))} / ${seconds(median(times))}${times.length === 1 ? ' *' : ''}` : '-';
  const cells = [
    ['CPU seconds, least / median', 'ours', 'gstat', 'gstat over ours'],
    ...rows.map((r) => [
      r.label,
      pair(r.ours),
      pair(r.theirs),
      r.theirs ? (median(r.theirs) / median(r.ours)).toFixed(1) : '-',
    ]),
  ];
  const widths = cells[0].map((_, c) => Math.max(...cells.map((row) => row[c].length)));
  const lines = cells.map((row) =>
    row.map((cell, c) => (c === 0 ? cell.padEnd(widths[c]) : cell.padStart(widths[c]))).join('  '),
  );
  return [lines[0], '-'.repeat(lines[0].length), ...lines.slice(1)].join('\n');
}

async function main(): Promise<void> {
  const oxford = await timed("advice on oxford's six properties", () => adviceOn(oxfordRequest));
  const simulated = simulatedRequest();
  const on300 = await timed('advice on 300 points', () => adviceOn(simulated));
  const sizes = await writeCases(oxford.value);
  const theirs = runR();
  const known = typeof theirs === 'string' ? undefined : theirs;
  const rows: Row[] = [];

  for (const c of variogramCases) {
    // gstat may have been given the first of the points only.
    const count = known?.bins[c.id].points ?? c.points.z.length;
    const [xy, z] = [c.points.xy.subarray(0, 2 * count), c.points.z.subarray(0, count)];
    const lags = { cutoffM: c.cutoffM, widthM: c.cutoffM / 15 };
    const { value, seconds } = await timed(c.label, () => experimentalVariogram(xy, z, lags));
    if (known) variogramsMustAgree(c, value, known);
    const label =
      count < c.points.z.length
        ? `${c.label}: the first ${count.toLocaleString('en')}, for all take gstat over a minute`
        : c.label;
    rows.push({ label, ours: seconds, theirs: known?.times[c.id] });
  }
  for (const c of byPoints) {
    const { xy, z } = c.points;
    const samples = pointSamples(c.model);
    const { value, seconds } = await timed(c.label, () =>
      ordinaryKriging(xy, z, c.nodes, samples, { neighbours: c.neighbours }),
    );
    if (known) krigingMustAgree(c, value);
    rows.push({ label: c.label, ours: seconds, theirs: known?.times[c.id] });
  }
  rows.push(
    {
      label: `the whole advice, oxford, 126 points, six properties${known ? ' (1)' : ''}`,
      ours: oxford.seconds,
      theirs: known?.times.advice,
    },
    { label: 'the whole advice, 300 points, six properties', ours: on300.seconds },
  );

  print('');
  if (typeof theirs === 'string') print(theirs);
  else
    print(
      `gstat ${theirs.version} in R; ours in Node ${process.version}; one thread each; ${cpus()[0]?.model ?? ''}.`,
    );
  print('');
  print(table(rows));
  const note = [
    '',
    `Ours: ${RUNS} runs after one to warm up.${known ? ' gstat: three runs, or one (*) where that took over 8 s.' : ''}`,
  ];
  if (known)
    note.push(
      'Pairs agree exactly, semivariances to 1e-9, predictions and variances at all nodes to 1e-6.',
      'For a variogram gstat looks at every pair of points, ours only at those near each other.',
      '(1) gstat has no advice. Its time is that of the steps the advice rests on, for each property: variogram,',
      '    fit.variogram, krige.cv (leave one out), and the block kriging variance at',
      `    ${ERROR_NODES} nodes for each of ${sizes} grid sizes under each of ${MEMBERS.money} variograms drawn about the fit (${MEMBERS.other} for a property`,
      '    without a rate). Ours does more (likelihoods of the belief, several placements of each size, cells,',
      '    zones, losses, words) and gets the errors by a shorter way: they are tabled over range and noise once for all',
      '    properties and read off, so that the ratio is one of methods, not only of code.',
    );
  const seconds = median(on300.seconds);
  note.push(
    `The aim for 300 points and six properties is under 2 s: ${seconds.toFixed(2)} s of CPU time, ${seconds < 2 ? 'met' : 'not met'}.`,
  );
  print(note.join('\n'));
}

await main();
