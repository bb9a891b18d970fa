/** The `lagstep` command line: the same core as the pages, in a terminal. */
import { existsSync, readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs, type ParseArgsConfig } from 'node:util';
import {
  adviceOptionsSchema,
  optionProblems,
  adviseFromFiles,
  LEAST_FOR_MODELS,
  prepareField,
  studyModels,
  VERSION,
  type Advice,
  type AdviceRequest,
  type FileRole,
  type GivenFile,
} from '../src/advise/index.ts';
import { parseAnswers } from '../src/prior/index.ts';
import { stopsToGeoJSON } from '../src/plan/index.ts';
import { sayProblem, type ColumnChoice, type Problem } from '../src/read/index.ts';
import { cellsChoices, meanChoices, scaleWords } from '../views/models/choiceOptions.ts';
import { ALL_CANDIDATES, type Estimator } from '../src/variogram/index.ts';
import { findGuidance, guidanceTables } from '../src/value/index.ts';
import { adviceText } from './adviceText.ts';
import { farmCommand } from './farmCommand.ts';
import { standingAdvisers } from './farmWorkers.ts';
import { guidanceJson, guidanceList } from './guidanceText.ts';
import { variogramText } from './variogramText.ts';

type Options = NonNullable<ParseArgsConfig['options']>;

const ESTIMATORS: readonly Estimator[] = ['classical', 'cressieHawkins', 'dowd', 'genton'];

const demoFolder = fileURLToPath(new URL('../demo-data/', import.meta.url));

const help = `lagstep ${VERSION}: how densely a field is worth sampling, and where to stop.

Usage
  lagstep advise [--points FILE] [--boundary FILE] [--soil-units FILE] [--yield FILE]...
                 [--guidance FILE] [--keep-out FILE]... [--answers FILE] [--column "HEADER=ANALYTE:UNIT"]... [--set NAME=VALUE]...
                 [--stops FILE] [--json]
  lagstep demo [FIELD] [--json]
  lagstep farm LIST [--budget N] [--samples N] [--year YYYY] [--years N] [--set NAME=VALUE]... [--json]
  lagstep variogram --points FILE [--analyte ID]... [--estimator NAME] [--lags M,M,...]
                 [--direction DEG [--tolerance DEG] [--bandwidth M]] [--models MODEL,...]
                 [--boundary FILE] [--column ...] [--set ...] [--json]
  lagstep guidance [ID]

Files
  --points      test points, CSV or TSV: coordinates (longitude and latitude, or easting and northing in
                metres) and any soil-test columns
  --boundary    the field's outline: GeoJSON, KML, or a zipped shapefile
  --soil-units  soil-map polygons: GeoJSON, KML, or a zipped shapefile
  --yield       yield points, CSV; may be given for several years
  --keep-out    waterways, wells, yards, old fence lines that stops keep off: GeoJSON, KML, zipped shapefile
  --guidance    rates of your own region, JSON: start from the text of lagstep guidance ID; goes before
                any table that an option names
  --answers     JSON with answers of the questionnaire, such as {"areaHa": 65, "slope": "rolling"}
  --stops       where to write the stops (GeoJSON); default: FIELD-stops.geojson in this folder
  --column      corrects a column: --column "Colwell=P:ppm", --column "Zone=ignored", --column "H=elevation:ft"
  --set         an option: ${Object.keys(adviceOptionsSchema.shape).join(', ')}
                cells: ${cellsChoices.map((c) => c.value).join(', ')}; reuseOldPoints: yes, no;
                mean (constant, or a linear trend): ${meanChoices.map((c) => c.value).join(', ')};
                scales: "P=log K=raw" (${Object.keys(scaleWords).join(', ')}); setAside: "P:17 K:40", property and row
  --json        the whole answer as JSON on standard output

Variogram: models of how a property varies, compared by AICc, with intervals and a leave-one-out check
  --analyte     a property's id, such as P; may be given several times; default: all
  --estimator   ${ESTIMATORS.join(', ')}
  --lags        upper ends of the lag classes in metres; default: from the points' spacing
  --direction   degrees clockwise from north, with --tolerance (22.5) and --bandwidth in metres
  --models      some of: ${ALL_CANDIDATES.join(', ')}

Farm: advice for every field of a list, one budget over all of them, and which fields in which year
  LIST          CSV, a row for each field: name, area ("65 ac", "26 ha"), and what is known: columns of the
                questionnaire's answers, files (points, boundary, soils, yield; paths from the list's folder),
                last_sampled (a year), fixed (sample, leave out)
  --budget      most money for sampling in a year; --samples: most samples in a year
  --year        the autumn planned for; --years: how many years have that budget each, 1 to 6 (4); with 1 the budget
                is divided over this autumn alone, with the price of further money

Guidance: tables of rates that come with the tool
  ID            prints that table as JSON, to start one's own from; without it the tables are listed

Examples
  lagstep demo
  lagstep farm demo-data/farm.csv --budget 3000
  lagstep demo long-reach
  lagstep advise --points points.csv --boundary field.geojson
  lagstep variogram --points points.csv --analyte P --estimator genton
  lagstep advise --points last-year.csv --boundary field.zip --soil-units soils.zip --yield 2024.csv --yield 2025.csv
  lagstep guidance tri-state-2020 > my-region.json
  lagstep advise --points points.csv --guidance my-region.json
  lagstep advise --answers answers.json --set unitSystem=metric --set labPrice=22 --json

Exit codes: 0 an answer was given; 2 something in the input has to be put right.
`;

/** A word on bad input, and exit code 2. */
class BadInput extends Error {
  constructor(readonly problems: readonly Problem[]) {
    super('bad input');
  }
}

const bad = (file: string, problem: string, remedy: string) => new BadInput([{ file, problem, remedy }]);

// Worker threads of the farm command load this same module.
export { serveAdvice } from './farmWorkers.ts';

/**
 * Runs the command line. @returns the exit code
 */
export async function main(args: readonly string[]): Promise<number> {
  try {
    const [command, ...rest] = args;
    if (command === undefined || command === 'help' || args.includes('--help') || args.includes('-h')) {
      process.stdout.write(help);
      return 0;
    }
    if (command === '--version') process.stdout.write(`${VERSION}\n`);
    else if (command === 'advise') await runAdvise(rest);
    else if (command === 'demo') await runDemo(rest);
    else if (command === 'variogram') await runVariogram(rest);
    else if (command === 'farm') await runFarm(rest);
    else if (command === 'guidance') printGuidance(rest);
    else throw bad('lagstep', `There is no command “${command}”.`, 'Try lagstep --help.');
    return 0;
  } catch (error) {
    if (!(error instanceof BadInput)) throw error;
    for (const p of error.problems) process.stderr.write(`${sayProblem(p)}\n`);
    return 2;
  }
}

async function runAdvise(args: readonly string[]): Promise<void> {
  const values = parseOptions(args, 'lagstep advise', {
    guidance: { type: 'string', multiple: true },
    'keep-out': { type: 'string', multiple: true },
  });
  const files: GivenFile[] = [];
  const columns = columnChoices(values.column ?? []);
  const add = (role: FileRole, name: string | undefined) => {
    if (name !== undefined) files.push({ role, name: path.basename(name), bytes: readGiven(name), columns });
  };
  add('points', values.points);
  add('boundary', values.boundary);
  add('soilUnits', values['soil-units']);
  for (const name of values.yield ?? []) add('yield', name);
  for (const name of values.guidance ?? []) add('guidance', name);
  for (const name of values['keep-out'] ?? []) add('keepOut', name);
  // A table of rates says nothing of the field itself.
  if (files.every((f) => f.role === 'guidance' || f.role === 'keepOut') && values.answers === undefined)
    throw bad(
      'lagstep advise',
      'Neither a file of the field nor answers were given.',
      'Give --points, --boundary or --answers; see --help.',
    );
  const options = setOptions(values.set ?? []);
  if (values.guidance !== undefined && 'guidance' in options)
    throw bad(
      '--guidance',
      `A file of guidance was given, and “${options.guidance}” by --set guidance.`,
      'Give one of the two.',
    );
  await answer(
    {
      files,
      answers: values.answers === undefined ? undefined : readAnswers(values.answers),
      options,
    },
    values.json ?? false,
    values.stops,
  );
}

function printGuidance(args: readonly string[]): void {
  const strange = args.find((a) => a.startsWith('-'));
  if (strange !== undefined)
    throw bad('lagstep guidance', `It has no option ${strange}.`, 'It takes the id of a table, or nothing.');
  if (args.length > 1)
    throw bad('lagstep guidance', `${args.length} tables were asked for.`, 'Give the id of one.');
  const [id] = args;
  const table = id === undefined ? undefined : findGuidance(id);
  if (id !== undefined && !table)
    throw bad(
      'lagstep guidance',
      `No table “${id}” comes with the tool.`,
      `Choose one of ${guidanceTables.map((g) => g.id).join(', ')}.`,
    );
  process.stdout.write(table ? guidanceJson(table) : guidanceList(guidanceTables));
}

async function runVariogram(args: readonly string[]): Promise<void> {
  const values = parseOptions(args, 'lagstep variogram', {
    analyte: { type: 'string', multiple: true },
    estimator: { type: 'string' },
    lags: { type: 'string' },
    direction: { type: 'string' },
    tolerance: { type: 'string' },
    bandwidth: { type: 'string' },
    models: { type: 'string' },
  });
  if (values.points === undefined)
    throw bad('lagstep variogram', 'No test points were given.', 'Give --points FILE; see --help.');
  const columns = columnChoices(values.column ?? []);
  const files: GivenFile[] = [
    ['points', values.points] as const,
    ['boundary', values.boundary] as const,
  ].flatMap(([role, name]) =>
    name === undefined ? [] : [{ role, name: path.basename(name), bytes: readGiven(name), columns }],
  );
  const set = setOptions(values.set ?? []);
  const options = adviceOptionsSchema.safeParse(set);
  if (!options.success) throw new BadInput(optionProblems(options.error, set));
  const field = await prepareField({ files });
  if (!field.ok) throw new BadInput(field.problems);
  const { series } = field.value.tests!;
  const strange = (values.analyte ?? []).find((id) => !series.some((s) => s.id === id));
  if (strange !== undefined)
    throw bad(
      path.basename(values.points),
      `There is no property “${strange}” in it.`,
      `Choose among ${series.map((s) => s.id).join(', ')}.`,
    );
  const studies = studyModels(field.value, options.data, {
    analytes: values.analyte,
    estimator: oneOf('--estimator', values.estimator, ESTIMATORS),
    boundariesM: values.lags?.split(',').map((v) => metres('--lags', v)),
    directionDeg: values.direction === undefined ? undefined : degrees('--direction', values.direction),
    toleranceDeg: values.tolerance === undefined ? undefined : degrees('--tolerance', values.tolerance),
    bandwidthM: values.bandwidth === undefined ? undefined : metres('--bandwidth', values.bandwidth),
    candidates: values.models?.split(',').map((m) => oneOf('--models', m.trim(), ALL_CANDIDATES)!),
  });
  if (studies.length === 0)
    throw bad(
      path.basename(values.points),
      `No property has ${LEAST_FOR_MODELS} values that vary.`,
      'Fewer say too little to compare models by; lagstep advise still uses them.',
    );
  process.stdout.write(
    values.json
      ? `${JSON.stringify(studies, (_, v: unknown) => (v instanceof Float64Array ? [...v] : v), 1)}\n`
      : `${studies.map(variogramText).join('\n\n\n')}\n`,
  );
}

function oneOf<T extends string>(
  option: string,
  value: string | undefined,
  known: readonly T[],
): T | undefined {
  if (value === undefined) return undefined;
  const found = known.find((k) => k === value);
  if (found === undefined) throw bad(option, `“${value}” is not known.`, `Choose among ${known.join(', ')}.`);
  return found;
}

function numberOf(option: string, text: string, least: number, remedy: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value) || value < least)
    throw bad(option, `“${text}” will not do.`, remedy);
  return value;
}

const metres = (option: string, text: string) =>
  numberOf(option, text, 0.001, 'Give metres above 0, such as 120.');
const degrees = (option: string, text: string) =>
  numberOf(option, text, 0, 'Give degrees from 0, such as 45.');

async function runDemo(args: readonly string[]): Promise<void> {
  const [wanted] = args.filter((a) => !a.startsWith('-'));
  const strange = args.find((a) => a.startsWith('-') && a !== '--json');
  if (strange !== undefined)
    throw bad('lagstep demo', `The demo has no option ${strange}.`, 'It takes a field’s name and --json.');
  const fields = readdirSync(demoFolder, { withFileTypes: true })
    .filter((e) => e.isDirectory() && existsSync(path.join(demoFolder, e.name, 'field.json')))
    .map((e) => e.name);
  if (wanted !== undefined && !fields.includes(wanted))
    throw bad('lagstep demo', `There is no demo field “${wanted}”.`, `Choose one of ${fields.join(', ')}.`);
  for (const field of wanted === undefined ? fields : [wanted]) {
    const folder = path.join(demoFolder, field);
    const files: GivenFile[] = readdirSync(folder)
      .map((name) => ({ name, role: demoRole(name) }))
      .filter((f): f is { name: string; role: FileRole } => f.role !== undefined)
      .map((f) => ({ ...f, bytes: readFileSync(path.join(folder, f.name)) }));
    const about = JSON.parse(readFileSync(path.join(folder, 'field.json'), 'utf8')) as {
      name: string;
      blurb: string;
    };
    if (!args.includes('--json')) process.stdout.write(`${about.blurb}\n`);
    await answer({ fieldName: about.name, files, options: {} }, args.includes('--json'), undefined);
  }
}

async function runFarm(args: readonly string[]): Promise<void> {
  const bar = !args.includes('--json') && process.stderr.isTTY;
  const most = availableParallelism();
  const advisers = standingAdvisers(import.meta.url, most);
  const reply = await farmCommand(args, {
    advise: advisers.advise,
    most,
    setOptions,
    progress: (line) => void (bar && process.stderr.write(`\r${line}`.slice(0, 78).padEnd(78))),
    thisYear: new Date().getFullYear(),
  }).finally(advisers.close);
  if (bar) process.stderr.write('\r'.padEnd(79) + '\r');
  if (!reply.ok) throw new BadInput(reply.problems);
  for (const p of reply.problems) process.stderr.write(`${sayProblem(p)}\n`);
  process.stdout.write(reply.text);
}

function demoRole(name: string): FileRole | undefined {
  if (name === 'points.csv') return 'points';
  if (name === 'boundary.geojson') return 'boundary';
  if (name === 'soil-units.geojson') return 'soilUnits';
  return name.startsWith('yield') ? 'yield' : undefined;
}

async function answer(request: AdviceRequest, json: boolean, stopsFile: string | undefined): Promise<void> {
  const bar = !json && process.stderr.isTTY;
  const reply = await adviseFromFiles(request, (share, doing) => {
    if (bar) process.stderr.write(`\r${Math.round(100 * share)} % ${doing}`.padEnd(50));
  });
  if (bar) process.stderr.write('\r'.padEnd(51) + '\r');
  if (!reply.ok) throw new BadInput(reply.problems);
  const name = stopsFile ?? `${fileName(reply.advice)}-stops.geojson`;
  writeGiven(name, JSON.stringify(stopsToGeoJSON(reply.advice), null, 1) + '\n');
  if (json) process.stdout.write(JSON.stringify(reply.advice, null, 1) + '\n');
  else process.stdout.write(`${adviceText(reply.advice)}\nStops written to ${name}.\n\n`);
}

const fileName = (advice: Advice) =>
  advice.field.name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '') || 'field';

function parseOptions<Extra extends Options = Record<never, never>>(
  args: readonly string[],
  command = 'lagstep advise',
  extra: Extra = {} as Extra,
) {
  try {
    return parseArgs({
      args: [...args],
      options: {
        points: { type: 'string' },
        boundary: { type: 'string' },
        'soil-units': { type: 'string' },
        yield: { type: 'string', multiple: true },
        answers: { type: 'string' },
        column: { type: 'string', multiple: true },
        set: { type: 'string', multiple: true },
        stops: { type: 'string' },
        json: { type: 'boolean' },
        ...extra,
      },
    }).values;
  } catch (error) {
    throw bad(command, `${(error as Error).message.split('. ')[0]}.`, 'See lagstep --help.');
  }
}

function readGiven(name: string): Uint8Array {
  try {
    return readFileSync(name);
  } catch (error) {
    const code = (error as NodeJS.ErrnoException).code;
    const problem =
      code === 'ENOENT'
        ? 'There is no such file.'
        : code === 'EISDIR'
          ? 'This is a folder, not a file.'
          : 'The file could not be read.';
    throw bad(name, problem, 'Check the path and the right to read it.');
  }
}

function writeGiven(name: string, text: string): void {
  try {
    writeFileSync(name, text);
  } catch {
    throw bad(name, 'The stops could not be written there.', 'Name another place with --stops.');
  }
}

function readAnswers(name: string) {
  let raw: unknown;
  try {
    raw = JSON.parse(new TextDecoder().decode(readGiven(name)));
  } catch (error) {
    if (error instanceof BadInput) throw error;
    throw bad(name, 'The answers are not valid JSON.', 'See the example in lagstep --help.');
  }
  const parsed = parseAnswers(name, raw);
  if (!parsed.ok) throw new BadInput(parsed.problems);
  return parsed.value;
}

function setOptions(pairs: readonly string[]): Record<string, string> {
  const out: Record<string, string> = {};
  for (const pair of pairs) {
    const [name, ...value] = pair.split('=');
    const names = Object.keys(adviceOptionsSchema.shape);
    const meant = names.find((n) => n !== name && n.toLowerCase() === name.trim().toLowerCase());
    if (value.join('') === '' || !names.includes(name))
      throw bad(
        '--set',
        `“${pair}” is not an option with its value.`,
        meant === undefined
          ? 'Write --set NAME=VALUE; --help lists the names.'
          : `Write --set ${meant}=${value.join('=') || 'VALUE'}.`,
      );
    out[name] = value.join('=');
  }
  return out;
}

function columnChoices(texts: readonly string[]): Record<string, ColumnChoice> {
  const out: Record<string, ColumnChoice> = {};
  const roles = ['x', 'y', 'label', 'yield', 'moisture', 'speed', 'time', 'elevation', 'ignored'] as const;
  for (const text of texts) {
    const at = text.lastIndexOf('=');
    if (at < 1) throw bad('--column', `“${text}” names no analyte.`, 'Write --column "HEADER=ANALYTE:UNIT".');
    const [what, unit] = text.slice(at + 1).split(':');
    const role = roles.find((r) => r === what);
    out[text.slice(0, at)] = role
      ? { role, unit: role === 'elevation' ? unit : undefined }
      : { role: 'analyte', analyte: what, unit };
  }
  return out;
}
