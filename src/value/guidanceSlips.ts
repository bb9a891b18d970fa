import type { Equation, EquationOf, Guidance, GuidanceRow, Level } from './guidanceSchema.ts';
import type { RateForm } from './rateUnits.ts';

/** Capacities outside are taken at the nearer end, meq/100 g: rates are given for mineral soils. Judgement of this project. */
export const CEC_BETWEEN = [1, 60] as const;

/** Something that does not fit together in a table whose parts are each well formed: the place, and the rest of a sentence on it. */
export interface Slip {
  readonly path: readonly (string | number)[];
  readonly message: string;
}

/** All that does not fit together in a guidance table, from the top down. */
export function slipsOf(guidance: Guidance): readonly Slip[] {
  const tables = guidance.responses.flatMap(({ form }, i) =>
    form.kind === 'table' && !isRising(form.points.map(([x]) => x))
      ? [slip('has to rise from point to point in its first number', 'responses', i, 'form', 'points')]
      : [],
  );
  const rows = guidance.rows.flatMap((row, i) =>
    [
      ...unitSlips(row),
      ...equationSlips(row.equation),
      ...row.crops.flatMap((crop, c) => [...cropSlips(guidance, row, crop, c)]),
      ...besideOthers(guidance, row),
    ].map(({ path, message }) => ({ message, path: ['rows', i, ...path] })),
  );
  return [...tables, ...rows];
}

const slip = (message: string, ...path: (string | number)[]): Slip => ({ message, path });

const formsOf: Readonly<Record<GuidanceRow['analyte'], readonly RateForm[]>> = {
  P: ['P2O5', 'P'],
  K: ['K2O', 'K'],
  pH: ['limestone', 'ECCE'],
  bufferPH: ['limestone', 'ECCE'],
  Zn: ['Zn'],
};

function* unitSlips({ analyte, rate, test, equation: { kind } }: GuidanceRow): Iterable<Slip> {
  const forms = formsOf[analyte];
  if (!forms.includes(rate.of)) yield slip(`has to be ${forms.join(' or ')} for ${analyte}`, 'rate', 'of');
  if ((test === 'pH') !== (analyte === 'pH' || analyte === 'bufferPH'))
    yield slip('has to be pH for pH and bufferPH, and an amount for the others', 'test');
  if ((kind === 'lime-pH') !== (analyte === 'pH') || (kind === 'lime-buffer') !== (analyte === 'bufferPH'))
    yield slip(
      'has to be lime-pH for pH, lime-buffer for bufferPH and another for the others',
      'equation',
      'kind',
    );
}

function* equationSlips(e: Equation): Iterable<Slip> {
  for (const [key, level] of levelsOf(e))
    if (!(level.value + Math.min(...CEC_BETWEEN.map((cec) => (level.perCec ?? 0) * cec)) > 0))
      yield slip(
        `has to be above 0 at every cation exchange capacity from ${CEC_BETWEEN.join(' to ')}`,
        'equation',
        key,
      );
  if (e.kind === 'class-table') yield* classSlips(e);
  if (e.kind === 'lime-buffer' && !isRising(e.lines.map((l) => l.target)))
    yield slip('has to rise from line to line in `target`', 'equation', 'lines');
}

/** Levels of an equation that have to be above 0. */
export function levelsOf(e: Equation): readonly (readonly [key: string, level: Level])[] {
  return [
    ...('critical' in e ? [['critical', e.critical] as const] : []),
    ...('perUnit' in e ? [['perUnit', e.perUnit] as const] : []),
  ];
}

function* classSlips({ classes, sufficientFrom }: EquationOf<'class-table'>): Iterable<Slip> {
  const last = classes.length - 1;
  const bounds = classes.slice(0, last).map((c) => c.below);
  if (bounds.includes(null) || !isRising(bounds.map(Number)))
    yield slip('has to rise from class to class in `below`, null only in the last', 'equation', 'classes');
  if (classes[last].below !== null)
    yield slip('has to be null in the last class', 'equation', 'classes', last, 'below');
  if (!classes.slice(1).some((c) => c.label === sufficientFrom))
    yield slip('has to be the label of a class but the lowest', 'equation', 'sufficientFrom');
  if (new Set(classes.map((c) => c.label)).size < classes.length)
    yield slip('has to have a label of its own for each class', 'equation', 'classes');
}

/** What a row needs elsewhere in the table for one of its crops. */
function* cropSlips(g: Guidance, row: GuidanceRow, crop: string, c: number): Iterable<Slip> {
  const { analyte, equation: e } = row;
  if (e.kind === 'lime-pH' && !Object.hasOwn(e.targets, crop))
    yield slip(`needs a target for ${crop}`, 'equation', 'targets');
  if (e.kind === 'lime-buffer' && !rowForPH(g)?.crops.includes(crop))
    yield slip(`needs ${crop} in the row for pH too, which holds its target`, 'crops', c);
  const response = analyte === 'bufferPH' ? 'pH' : analyte;
  if (!g.responses.some((r) => r.analyte === response && r.crops.includes(crop)))
    yield slip(`needs a response of ${crop} to ${response} under \`responses\``, 'crops', c);
  const byRemoval = e.kind === 'buildup-maintenance' || (e.kind === 'class-table' && !e.keeping);
  if (byRemoval && !g.removal.some((r) => r.crop === crop && formsOf[analyte].includes(r.nutrient)))
    yield slip(`needs what ${crop} takes away of ${formsOf[analyte][0]} under \`removal\``, 'crops', c);
}

function* besideOthers(g: Guidance, row: GuidanceRow): Iterable<Slip> {
  const { analyte, extractants } = row;
  const byPH = rowForPH(g);
  if (analyte === 'pH' && byPH !== row)
    yield slip('is a second row for pH: one holds all targets', 'analyte');
  if (analyte === 'bufferPH' && byPH && !isSame(byPH.rate, row.rate))
    yield slip('has to be the same as in the row for pH, whose figures it uses', 'rate');
  const alike = g.rows.find(
    (o) => o.analyte === analyte && o.extractants.some((x) => extractants.includes(x)),
  );
  if (alike && !isSame(shapeOf(alike), shapeOf(row)))
    yield slip(
      'has to be of the same kind, units and classes as the other rows of this test and extractant',
      'equation',
    );
}

/** The row that holds the figures of liming, for buffer pH too. */
export const rowForPH = (g: Guidance): GuidanceRow | undefined => g.rows.find((r) => r.analyte === 'pH');

/** What rows have to share so that the crops of a rotation can be taken together. */
function shapeOf({ equation: e, test, rate }: GuidanceRow): readonly unknown[] {
  return [e.kind, test, rate, e.kind === 'class-table' ? e.classes.map((c) => c.label) : []];
}

const isSame = (a: unknown, b: unknown) => JSON.stringify(a) === JSON.stringify(b);
const isRising = (values: readonly number[]) => values.every((v, i) => i === 0 || v > values[i - 1]);
