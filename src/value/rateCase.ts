/** What is spread on the strength of a test. */
export type FieldInputKind = 'P2O5' | 'K2O' | 'lime' | 'Zn';

/** A class of test values: from the class before up to, not including, `below`; the last one's is Infinity. */
export interface TestClass {
  readonly label: string;
  readonly below: number;
}

/**
 * One decision that a soil test serves: how much of an input to spread where the test has a value, what that does to the
 * test and to yield, and what it is worth. In SI: test values in the catalogue's unit (mg/kg, pH), inputs in kg/ha, money
 * per kg and per ha. Made from a guidance table, a crop plan and prices; for comparing sampling designs, never a prescription.
 */
export interface RateCase {
  /** Catalogue id of the property tested: `P`, `K`, `pH`, `bufferPH`, `Zn`. */
  readonly analyte: string;
  readonly input: FieldInputKind;
  /** Rate advised at a test value, kg/ha and year; finite and at least 0 for every finite test value. */
  readonly annualRate: (test: number) => number;
  /** kg/ha and year at which the test stays where it is (removal by the crop, yearly acidification). */
  readonly keepingKgHa: number;
  /** kg/ha beyond that which lifts the test by 1 of its unit. */
  readonly kgHaPerUnit: number;
  /** Yield without fresh input over the most attainable, 0 to 1. */
  readonly relativeYield: (test: number) => number;
  readonly pricePerKg: number;
  /** Gross worth of a full crop, money per ha and year. */
  readonly cropWorthPerHa: number;
  /** Share of a surplus that a later crop can still use. */
  readonly availableShare: number;
  /** Interest on money spent too early, a fraction a year. */
  readonly discountRate: number;
  /** Test above which nothing is spread for the sake of water or health, and a surplus is all lost. */
  readonly cap?: number;
  /** Test values at which the rate or the response bends: worth trying as the value to enter. */
  readonly bends: readonly number[];
  /** Interpretation classes, lowest first. */
  readonly classes: readonly TestClass[];
  /** Guidance, region, extractant, crop and prices, in words. */
  readonly source: string;
}
