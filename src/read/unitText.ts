/**
 * Units as people write them in headers and behind numbers, each to one spelling.
 * The order matters: a longer unit comes before one it contains (kg/ha before mg/kg before g/kg).
 */
const JOIN = String.raw`(?:\s*(?:\/|per)\s*|[\s_.]*)`;

const UNITS: readonly (readonly [unit: string, pattern: RegExp])[] = [
  ['lb/ac', new RegExp(String.raw`(?<![a-z])(?:lbs?|pounds?)\.?${JOIN}(?:acre|ac|a)(?:\^?-1)?(?![a-z])`)],
  ['kg/ha', new RegExp(String.raw`(?<![a-z])kg${JOIN}ha(?:\^?-1)?(?![a-z])`)],
  ['mg/100 g', new RegExp(String.raw`(?<![a-z])mg${JOIN}100\s*_?g(?![a-z])`)],
  ['mg/kg', new RegExp(String.raw`(?<![a-z])mg${JOIN}kg(?:\^?-1)?(?![a-z])`)],
  ['mg/L', /(?<![a-z])mg\s*\/\s*(?:l|dm3)(?![a-z])/],
  ['mg/kg', /(?<![a-z])[uµμ]g\s*\/\s*g(?![a-z])/],
  ['mmol(+)/kg', new RegExp(String.raw`(?<![a-z])mmol\s*(?:\(?[c+]+\)?)?${JOIN}kg(?:\^?-1)?(?![a-z])`)],
  ['cmol(+)/kg', new RegExp(String.raw`(?<![a-z])cmol\s*(?:\(?[c+]+\)?)?${JOIN}kg(?:\^?-1)?(?![a-z])`)],
  ['meq/100 g', new RegExp(String.raw`(?<![a-z])m(?:illi)?eq(?:${JOIN}100\s*_?(?:g|gm|grams?)?)?(?![a-z])`)],
  ['g/kg', /(?<![a-z])g(?:\s*\/\s*|\s+|_)kg(?:\^?-1)?(?![a-z])/],
  ['ppm', /ppm(?![a-z])/],
  ['%', /%|(?<![a-z])(?:pct|percent|perc)(?![a-z])/],
];

/** An oxide the value is expressed as, in the trade's spelling. */
export type Oxide = 'P2O5' | 'K2O' | 'CaO' | 'MgO';

const OXIDES: readonly (readonly [Oxide, RegExp])[] = [
  ['P2O5', /(?<![a-z])p2o5(?![a-z0-9])/],
  ['K2O', /(?<![a-z])k2o(?![a-z0-9])/],
  ['CaO', /(?<![a-z])cao(?![a-z0-9])/],
  ['MgO', /(?<![a-z])mgo(?![a-z0-9])/],
];

/** Lower case, plain digits for subscripts, plain spaces: what the patterns expect. */
export function plainText(text: string): string {
  return text
    .replace(/[₀-₉]/g, (d) => String(d.charCodeAt(0) - 0x2080))
    .replace(/⁻¹/g, '-1')
    .replace(/[\u00a0\u2007\u2009\u202f]/g, ' ')
    .toLowerCase()
    .trim();
}

/** A text with the unit and oxide taken out of it. */
export interface UnitFound {
  /** `ppm`, `lb/ac`, `meq/100 g`, …; absent when none is named. */
  readonly unit?: string;
  readonly oxide?: Oxide;
  /** What is left, in {@link plainText}. */
  readonly rest: string;
}

/** Finds the unit and the oxide named in a header, a cell's tail or a user's choice. */
export function findUnit(text: string): UnitFound {
  let rest = plainText(text);
  const oxide = OXIDES.find(([, pattern]) => pattern.test(rest));
  if (oxide) rest = rest.replace(oxide[1], ' ');
  const unit = UNITS.find(([, pattern]) => pattern.test(rest));
  if (unit) rest = rest.replace(unit[1], ' ');
  return { unit: unit?.[0], oxide: oxide?.[0], rest: rest.trim() };
}

/** `lb/ac` with `P2O5` to `lb/ac P2O5`: how a unit is shown and chosen. */
export const unitLabel = (unit: string, oxide?: Oxide): string => (oxide ? `${unit} ${oxide}` : unit);
