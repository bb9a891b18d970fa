import {
  findAnalyte,
  analyteCatalogue,
  otherSoilMeasures,
  type CatalogueAnalyte,
} from './analyteCatalogue.ts';
import { parseHeader, type HeaderParts } from './header.ts';
import { findUnit, unitLabel, type Oxide } from './unitText.ts';

/** A column taken for a soil measure. */
export interface RecognisedAnalyte {
  readonly kind: 'analyte';
  /** Catalogue id, or the header itself for a measure the catalogue doesn't know. */
  readonly id: string;
  readonly label: string;
  /** Unit after conversion. */
  readonly unit: string;
  /** Unit in the file; empty when unknown. */
  readonly fileUnit: string;
  /** Whether the header (or the user) named the unit. */
  readonly unitNamed: boolean;
  /** File unit to `unit`. */
  readonly factor: number;
  readonly plausible: readonly [low: number, high: number];
  readonly extractant?: string;
  readonly why: string;
}

export interface NotAnAnalyte {
  readonly kind: 'ignored';
  readonly why: string;
}

/** Words that tell what a column is when it is not a measurement, with the reason given to the user. */
const NEVER: readonly (readonly [why: string, words: ReadonlySet<string>])[] = [
  [
    'a rate or a recommendation, not a measurement',
    wordSet(
      'rec recs recommendation recommended rate apply applied application removal goal target need requirement req price cost',
    ),
  ],
  ['a share of the exchange capacity, not an amount', wordSet('sat saturation bs basesat')],
  ['a ratio of other measurements', wordSet('ratio')],
  ['a class or code, not a measurement', wordSet('rating class code category rank index interp group')],
];

/** As {@link NEVER}, but only once the name has not been found among the measures. */
const OTHERWISE: readonly (readonly [why: string, words: ReadonlySet<string>])[] = [
  [
    'the lie of the land, not a soil test',
    wordSet('elev elevation altitude alt height z slope aspect curvature twi'),
  ],
  ['a depth or a distance, not a soil test', wordSet('depth depthcm depthin dep dist distance')],
  [
    'a class or code, not a measurement',
    wordSet(
      'val chr hue munsell lime mapclass profclass landuse ffreq flooding soil texture type zone unit musym mukey colour color',
    ),
  ],
  [
    'a label, not a measurement',
    wordSet(
      'id fid oid objectid sample sampleid bag point profile site station plot no number labno name row record',
    ),
  ],
  [
    'about the field or the day, not a soil test',
    wordSet('date time year day month crop area acres ha field farm grower client comment comments notes'),
  ],
];

/** Units that only a chemical measure has: a column with one of these is taken even when its name is not known. */
const CHEMICAL_UNITS = new Set([
  'ppm',
  'mg/kg',
  'mg/L',
  'mg/100 g',
  'meq/100 g',
  'cmol(+)/kg',
  'mmol(+)/kg',
  'g/kg',
]);

/**
 * What soil measure a header names, in which unit and by which extractant; or why it is none.
 *
 * @example recogniseAnalyte('K (lb/ac)') // { kind: 'analyte', id: 'K', fileUnit: 'lb/ac', factor: 0.5, … }
 */
export function recogniseAnalyte(header: string): RecognisedAnalyte | NotAnAnalyte {
  const parts = parseHeader(header);
  const never = NEVER.find(([, words]) => parts.words.some((w) => words.has(w)));
  if (never) return { kind: 'ignored', why: never[0] };
  const known = knownAnalyte(parts);
  if (known) return fromCatalogue(known, header, parts);
  if (otherSoilMeasures.has(parts.key)) return unknownMeasure(header, parts, `header names a soil measure`);
  const otherwise = OTHERWISE.find(
    ([, words]) => parts.words.some((w) => words.has(w)) || words.has(parts.key),
  );
  if (otherwise) return { kind: 'ignored', why: otherwise[0] };
  if (parts.unit && CHEMICAL_UNITS.has(parts.unit) && parts.key !== '')
    return unknownMeasure(header, parts, `header has a chemical unit, ${parts.unit}`);
  return { kind: 'ignored', why: 'not a name known as a soil measurement' };
}

/** An analyte as the user chose it for a column; a string is the sentence that says why the choice can't be. */
export function chosenAnalyte(
  header: string,
  id: string | undefined,
  unit: string | undefined,
): RecognisedAnalyte | string {
  const parts = parseHeader(header);
  const named = unit === undefined ? { unit: parts.unit, oxide: parts.oxide, rest: '' } : findUnit(unit);
  const known = id === undefined ? knownAnalyte(parts) : findAnalyte(id);
  const why = 'chosen by you';
  if (!known) {
    const factor = toInsideMass(named.unit);
    return unknownMeasure(id ?? header, { ...parts, unit: named.unit ?? unit }, why, factor);
  }
  if (
    unit !== undefined &&
    named.unit === undefined &&
    unit.trim().toLowerCase() !== known.assumedUnit.toLowerCase()
  )
    return `The unit “${unit}” is not known; ${known.label} can be in ${Object.keys(known.units).join(', ')}.`;
  const found = withUnit(known, parts.extractant, named.unit, named.oxide, why);
  return (
    found ??
    `${known.label} can't be in ${unit ?? named.unit}; it can be in ${Object.keys(known.units).join(', ')}.`
  );
}

/** Factor from a unit found behind a number to the analyte's inside unit; undefined when it doesn't fit. */
export function unitFactor(id: string, unit: string, oxide?: Oxide): number | undefined {
  const known = findAnalyte(id);
  return known ? known.units[unitLabel(unit, oxide)] : toInsideMass(unit);
}

function knownAnalyte(parts: HeaderParts): CatalogueAnalyte | undefined {
  if (parts.key !== '') return analyteCatalogue.find((a) => a.names.includes(parts.key));
  if (parts.oxide) return findAnalyte({ P2O5: 'P', K2O: 'K', CaO: 'Ca', MgO: 'Mg' }[parts.oxide]);
  // A bare extractant that only phosphorus is reported by.
  return parts.extractant && /^(?:Bray|Olsen)/.test(parts.extractant) ? findAnalyte('P') : undefined;
}

function fromCatalogue(
  known: CatalogueAnalyte,
  header: string,
  parts: HeaderParts,
): RecognisedAnalyte | NotAnAnalyte {
  const how = [parts.extractant, parts.unit && `in ${unitLabel(parts.unit, parts.oxide)}`]
    .filter(Boolean)
    .join(' ');
  const assumed =
    known.unit === 'pH' ? '' : `, no unit named: taken as ${unitLabel(known.assumedUnit, parts.oxide)}`;
  const why = `header says ${known.label}${how ? `, ${how}` : ''}${parts.unit ? '' : assumed}`;
  const found = withUnit(known, parts.extractant, parts.unit, parts.oxide, why);
  if (found) return found;
  if (parts.unit === '%') return { kind: 'ignored', why: 'a share of the exchange capacity, not an amount' };
  return {
    kind: 'ignored',
    why: `${known.label} can't be in ${parts.unit ?? header}; choose its unit by hand`,
  };
}

function withUnit(
  known: CatalogueAnalyte,
  extractant: string | undefined,
  unit: string | undefined,
  oxide: Oxide | undefined,
  why: string,
): RecognisedAnalyte | undefined {
  const fileUnit = unitLabel(unit ?? known.assumedUnit, oxide);
  const factor = known.units[fileUnit];
  if (factor === undefined) return undefined;
  return {
    kind: 'analyte',
    id: known.id,
    label: known.label,
    unit: known.unit,
    fileUnit,
    unitNamed: unit !== undefined,
    factor,
    plausible: known.plausible,
    extractant,
    why,
  };
}

function unknownMeasure(
  id: string,
  parts: HeaderParts,
  why: string,
  chosenFactor?: number,
): RecognisedAnalyte {
  const factor = chosenFactor ?? toInsideMass(parts.unit);
  return {
    kind: 'analyte',
    id,
    label: id,
    unit: factor === undefined ? (parts.unit ?? '') : 'mg/kg',
    fileUnit: parts.unit ?? '',
    unitNamed: parts.unit !== undefined,
    factor: factor ?? 1,
    plausible: [0, Infinity],
    extractant: parts.extractant,
    why,
  };
}

/** Units of mass share that any element may be converted from; others stay as they are in the file. */
function toInsideMass(unit: string | undefined): number | undefined {
  const factors: Readonly<Record<string, number>> = { ppm: 1, 'mg/kg': 1, 'mg/L': 1, 'mg/100 g': 10 };
  return unit === undefined ? undefined : factors[unit];
}

function wordSet(words: string): ReadonlySet<string> {
  return new Set(words.split(' '));
}
