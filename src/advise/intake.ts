import { seededRandom } from '../describe/index.ts';
import { averageByPlace, checkPoints, cleanYield, substituteBelowDetection } from '../clean/index.ts';
import {
  readBoundary,
  readKeepOut,
  readPoints,
  readSoilUnits,
  readYield,
  type BoundaryLayer,
  type ColumnUse,
  type PointTable,
  type Problem,
  type Read,
  type SoilUnitLayer,
  type YieldTable,
} from '../read/index.ts';
import type { Guidance } from '../value/index.ts';
import type { InputReport } from './advice.ts';
import { chooseElevation, withNotes, type GivenElevation } from './elevationLayer.ts';
import type { FieldInput } from './fieldInput.ts';
import { looksLikeGuidance, readGuidance } from './guidanceFile.ts';
import { placeKeepOut } from './keepOutLayer.ts';
import { flatToLocal, groundOf, regionToLocal, type Ground } from './places.ts';
import type { AdviceRequest, FileRole, GivenFile } from './request.ts';

const looksBinary = (name: string) => /\.(zip|shp|kmz)$/i.test(name);

/**
 * What a file is likely to be, from its name and first bytes: a guess that the user can correct.
 */
export function guessRole(name: string, bytes: Uint8Array): FileRole {
  if (looksLikeGuidance(name, bytes)) return 'guidance';
  const lower = name.toLowerCase();
  const start = new TextDecoder().decode(bytes.subarray(0, 4000)).trimStart();
  const polygons = /"(Multi)?Polygon"/.test(start);
  const gis = looksBinary(lower) || start.startsWith('<') || polygons;
  const lines = !polygons && /"(Multi)?LineString"/.test(start);
  const named = KEEP_OUT_NAME.test(lower) && (gis || start.startsWith('{'));
  if ((named || lines) && !/bound/.test(lower)) return 'keepOut';
  if (lines) return 'boundary';
  if (gis) return /soil|unit|zone|series|ssurgo|map/.test(lower) ? 'soilUnits' : 'boundary';
  const header = start.split(/\r?\n/, 1)[0].toLowerCase();
  return /yield|yld|harvest/.test(lower) || /\byield|yld|bu\/ac|moisture/.test(header) ? 'yield' : 'points';
}

/** Words by which people name what no sample should come from. */
const KEEP_OUT_NAME =
  /(^|[^a-z])(keep[-_ ]?outs?|no[-_ ]?sampl\w*|exclu\w*|waterways?|terraces?|fences?|fence[-_ ]?lines?|farmsteads?|drains?|drainage|tiles?|tile[-_ ]?lines?|wells?|inlets?)([^a-z]|$)/;

/** Reads, checks and places everything one field's request brings. */
export async function prepareField(request: AdviceRequest): Promise<Read<FieldInput>> {
  const problems: Problem[] = [];
  const inputs: InputReport[] = [];
  const take = <T>(read: Read<T>): T | undefined => {
    if (read.ok) return read.value;
    problems.push(...read.problems);
    return undefined;
  };

  const boundaryFile = request.files.find((f) => f.role === 'boundary');
  const boundaryRead = boundaryFile && (await readBoundary(boundaryFile.name, boundaryFile.bytes));
  const boundary: BoundaryLayer | undefined = boundaryRead && take(boundaryRead);
  const pointFiles = request.files.filter((f) => f.role === 'points');
  if (pointFiles.length > 1)
    problems.push(onlyOne(pointFiles[1], 'test points', 'Put all points of the field in one file.'));
  const pointRead = pointFiles[0] && readPoints(pointFiles[0].name, pointFiles[0].bytes, pointFiles[0]);
  const points: PointTable | undefined = pointRead && take(pointRead);
  const soilFile = request.files.find((f) => f.role === 'soilUnits');
  const soilRead = soilFile && (await readSoilUnits(soilFile.name, soilFile.bytes));
  const soil: SoilUnitLayer | undefined = soilRead && take(soilRead);
  const yieldReads = request.files
    .filter((f) => f.role === 'yield')
    .map((f) => readYield(f.name, f.bytes, f))
    .map((read) => ({ read, table: take(read) }));
  const guidanceFiles = request.files.filter((f) => f.role === 'guidance');
  if (guidanceFiles.length > 1)
    problems.push(
      onlyOne(guidanceFiles[1], 'guidance', 'Give the one table that rates are to be taken from.'),
    );
  const keepOutReads = await Promise.all(
    request.files
      .filter((f) => f.role === 'keepOut')
      .map(async (f) => {
        const read = await readKeepOut(f.name, f.bytes);
        return { read, layer: take(read) };
      }),
  );
  const guidanceRead = guidanceFiles[0] && readGuidance(guidanceFiles[0]);
  const guidance: Guidance | undefined = guidanceRead && take(guidanceRead);
  if (problems.length > 0) return { ok: false, problems };

  const groundRead = groundOf(boundary, points, request.answers?.areaHa);
  if (!groundRead.ok) return groundRead;
  const ground = groundRead.value;
  if (boundary && boundaryRead?.ok)
    inputs.push(report(boundary.file, 'boundary', boundary.polygons.length, 0, [], boundaryRead.notes));

  const mismatch = [soil, ...yieldReads.map((y) => y.table), ...keepOutReads.map((k) => k.layer)]
    .filter((layer) => layer !== undefined)
    .find((layer) => (layer.kind === 'lonlat') !== (ground.frame.kind === 'geographic'));
  if (mismatch)
    return {
      ok: false,
      problems: [
        {
          file: mismatch.file,
          problem: `This file is in ${mismatch.kind === 'lonlat' ? 'degrees' : 'metres of a map projection'}, the field is not.`,
          remedy: 'Export all files in the same coordinates; longitude and latitude (WGS 84) are best.',
        },
      ],
    };

  const tests = ground.points && placeTests(ground.points, ground);
  if (tests && !tests.ok) return tests;
  if (ground.points && pointRead?.ok && tests?.ok)
    inputs.push(
      report(
        ground.points.file,
        'test points',
        ground.points.rows.length,
        ground.points.rows.length - tests.value.tests.places,
        ground.points.columns,
        [...pointRead.notes, ...ground.notes, ...tests.notes],
      ),
    );
  if (soil && soilRead?.ok)
    inputs.push(report(soil.file, 'soil units', soil.units.length, 0, [], soilRead.notes));
  const elevations: GivenElevation[] = [];
  const yields = yieldReads.map(({ read, table }) =>
    placeYield(table!, read.ok ? read.notes : [], ground, inputs, elevations),
  );
  if (tests?.value.elevation) elevations.push(tests.value.elevation);
  if (guidance && guidanceRead.ok)
    inputs.push(report(guidanceFiles[0].name, 'guidance', guidance.rows.length, 0, [], guidanceRead.notes));
  const keepOut = keepOutReads.flatMap(({ read, layer }) => {
    const placed = placeKeepOut(layer!, ground.frame, ground.region);
    const count = layer!.shapes.length;
    const notes = [...(read.ok ? read.notes : []), ...placed.notes];
    inputs.push(
      report(layer!.file, 'ground to keep out of', count, count - placed.keepOut.length, [], notes),
    );
    return placed.keepOut;
  });
  const { elevation, notes } = chooseElevation(elevations);

  return {
    ok: true,
    notes: [],
    value: {
      name: request.fieldName ?? boundary?.name ?? nameFromFile(request.files) ?? 'Field',
      frame: ground.frame,
      region: ground.region,
      boundarySource: ground.boundarySource,
      soilUnits: soil
        ? soil.units.map((u) => ({ label: u.label, region: regionToLocal(ground.frame, u.polygons) }))
        : [],
      keepOut,
      tests: tests?.value.tests,
      yields,
      elevation,
      guidance,
      answers: request.answers ?? {},
      inputs: withNotes(inputs, notes),
    },
  };
}

/** Test points that are studied at most: more would only take longer. Judgement of this project. */
const MOST_POINTS = 400;

/** Indices of at most `MOST_POINTS` of n points, drawn evenly by chance with a fixed seed, in file order. */
function pointsStudied(n: number): Uint32Array {
  const all = Uint32Array.from({ length: n }, (_, i) => i);
  if (n <= MOST_POINTS) return all;
  const random = seededRandom(n);
  for (let i = 0; i < MOST_POINTS; i++) {
    const j = i + Math.floor(random() * (n - i));
    [all[i], all[j]] = [all[j], all[i]];
  }
  return all.slice(0, MOST_POINTS).sort();
}

interface PlacedTests {
  readonly tests: NonNullable<FieldInput['tests']>;
  /** At all places, studied or not. */
  readonly elevation?: GivenElevation;
}

function placeTests(table: PointTable, ground: Ground): Read<PlacedTests> {
  const checked = checkPoints(flatToLocal(ground.frame, table.world), table.rows, table.file, ground.region);
  if (!checked.ok) return checked;
  const notes: Problem[] = [...checked.notes];
  const places = checked.value.xy.length / 2;
  const studied = pointsStudied(places);
  if (studied.length < places)
    notes.push({
      file: table.file,
      problem: `Of ${places.toLocaleString('en')} places, ${MOST_POINTS} drawn evenly by chance are studied.`,
      remedy: 'That is plenty for one field; give fewer points to choose them yourself.',
    });
  const series = table.analytes.map((column) => {
    const mean = averageByPlace(column, checked.value);
    const substituted = substituteBelowDetection(mean.values, mean.belowDetection, {
      file: table.file,
      column: table.columns.find((c) => c.analyte === column.id)?.header ?? column.id,
    });
    notes.push(...substituted.notes);
    return {
      id: column.id,
      label: column.label,
      unit: column.unit,
      extractant: column.extractant,
      values: Float64Array.from(studied, (i) => substituted.values[i]),
      belowDetection: studied.reduce((s, i) => s + mean.belowDetection[i], 0),
    };
  });
  return {
    ok: true,
    value: {
      tests: {
        xy: Float64Array.from(
          Array.from(studied).flatMap((i) => [checked.value.xy[2 * i], checked.value.xy[2 * i + 1]]),
        ),
        rows: Uint32Array.from(studied, (i) => checked.value.rows[i]),
        series,
        places,
      },
      elevation: table.elevations && {
        file: table.file,
        xy: checked.value.xy,
        values: averageByPlace(
          {
            id: 'elevation',
            label: 'Elevation',
            unit: 'm',
            values: table.elevations,
            belowDetection: new Uint8Array(table.rows.length),
          },
          checked.value,
        ).values,
      },
    },
    notes,
  };
}

function placeYield(
  table: YieldTable,
  notes: readonly Problem[],
  ground: Ground,
  inputs: InputReport[],
  elevations: GivenElevation[],
): FieldInput['yields'][number] {
  const xy = flatToLocal(ground.frame, table.world);
  const cleaned = cleanYield(xy, table.yields, { file: table.file });
  const steps = cleaned.steps
    .filter((s) => s.dropped > 0)
    .map((s) => ({ file: table.file, problem: `${s.dropped} points set aside: ${s.name}.`, remedy: '' }));
  inputs.push(
    report(
      table.file,
      'yield',
      table.yields.length,
      table.yields.length - cleaned.kept.length,
      table.columns,
      [...notes, ...cleaned.notes, ...steps],
    ),
  );
  const out = new Float64Array(2 * cleaned.kept.length);
  cleaned.kept.forEach((i, k) => {
    out[2 * k] = xy[2 * i];
    out[2 * k + 1] = xy[2 * i + 1];
  });
  if (table.elevations) {
    const { elevations: all } = table;
    elevations.push({
      file: table.file,
      xy: out,
      values: Float64Array.from(cleaned.kept, (i) => all[i]),
    });
  }
  return { file: table.file, xy: out, values: Float64Array.from(cleaned.kept, (i) => table.yields[i]) };
}

function report(
  file: string,
  what: InputReport['what'],
  read: number,
  setAside: number,
  columns: readonly ColumnUse[],
  notes: readonly Problem[],
): InputReport {
  return { file, what, read, setAside, columns, notes };
}

/** The boundary's or the points' file name without its ending. */
function nameFromFile(files: readonly GivenFile[]): string | undefined {
  const file =
    files.find((f) => f.role === 'boundary') ??
    files.find((f) => f.role !== 'guidance' && f.role !== 'keepOut');
  return file?.name.replace(/\.[^.]+$/, '');
}

const onlyOne = (file: GivenFile, what: string, remedy: string): Problem => ({
  file: file.name,
  problem: `A second file of ${what} was given.`,
  remedy,
});
