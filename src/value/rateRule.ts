import type { GrownCrop } from './crops.ts';
import type { FigureLedger } from './editableFigure.ts';
import type { EquationOf, Equation, GuidanceRow, Level } from './guidanceSchema.ts';
import type { TestClass } from './rateCase.ts';

/** A crop of the plan with the row of guidance that holds for it. */
export interface Member<E extends Equation = Equation> {
  readonly crop: GrownCrop;
  readonly row: GuidanceRow & { readonly equation: E };
  /** Share of the plan's years, among the crops that have a row. */
  readonly share: number;
  /** Taken away with the harvest in a year of this crop, in the row's rate unit and form; 0 where nothing is held. */
  readonly removal: number;
}

/** What a rule is made from: crops with rows of one kind, the same units and the same classes. */
export interface RuleGround<E extends Equation = Equation> {
  readonly analyte: GuidanceRow['analyte'];
  readonly members: readonly Member<E>[];
  /** meq/100 g */
  readonly cec: number;
  readonly pH?: number;
  readonly ledger: FigureLedger;
}

/** A rate in the units of its guidance: `test` in the row's unit, rates in the row's rate unit and form. */
export interface RateRule {
  readonly annualRate: (test: number) => number;
  /** A year's rate that keeps the test. */
  readonly keeping: number;
  /** Rate in all that lifts the test by 1. */
  readonly perUnit: number;
  /** Critical level of each member's own response. */
  readonly criticals: readonly number[];
  readonly bends: readonly number[];
  readonly classes: readonly TestClass[];
  /** Where the response goes by another test (pH for buffer pH): to it, and back. */
  readonly response?: {
    readonly of: (test: number) => number;
    readonly back: (other: number) => number;
  };
  readonly assumptions: readonly string[];
}

/** How figures of a row are written for the user. */
export interface UnitWords {
  readonly test: string;
  /** `lb P2O5/ac` */
  readonly rate: string;
  /** `lb P2O5/ac per ppm` */
  readonly perUnit: string;
}

export function unitWords({ test, rate: { of, unit } }: GuidanceRow): UnitWords {
  const [mass, area] = unit.split('/');
  const rate = `${mass} ${of}/${area}`;
  return { test: test === 'pH' ? '' : test, rate, perUnit: `${rate} per ${test === 'pH' ? 'unit' : test}` };
}

/** A level at a cation exchange capacity. */
export const levelAt = ({ value, perCec = 0 }: Level, cec: number): number => value + perCec * cec;

/** A level's source, with the capacity it was taken at. */
export const levelSource = ({ perCec, source }: Level, cec: number): string =>
  perCec ? `${source}; at a CEC of ${cec} meq/100 g` : source;

/** What lifts the test by 1, as a figure that the user may change. */
export const takePerUnit = (
  { analyte, ledger, cec }: Pick<RuleGround, 'analyte' | 'ledger' | 'cec'>,
  perUnit: Level,
  units: UnitWords,
): number =>
  ledger.take({
    key: `${analyte}.perUnit`,
    label: `What lifts ${analyte} by 1 ${units.test}`,
    value: levelAt(perUnit, cec),
    unit: units.perUnit,
    source: levelSource(perUnit, cec),
    above: 0,
  });

/** The member that asks most of the soil by some measure, the first among equals. */
export function mostDemanding<E extends Equation>(
  members: readonly Member<E>[],
  of: (m: Member<E>) => number,
): Member<E> {
  return members.reduce((most, m) => (of(m) > of(most) ? m : most));
}

/** Mean over the plan's years. */
export function meanOf<E extends Equation>(
  members: readonly Member<E>[],
  of: (m: Member<E>, i: number) => number,
): number {
  return members.reduce((sum, m, i) => sum + m.share * of(m, i), 0);
}

export type GroundOf<K extends Equation['kind']> = RuleGround<EquationOf<K>>;
