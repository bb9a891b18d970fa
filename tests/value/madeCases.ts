import type { RateCase } from '../../src/value/rateCase.ts';

// Invented decisions for tests, in round figures near common practice: never advice.

/** Builds up below 20, keeps to 40, none above; a response that levels off. Rates in kg P2O5/ha. */
export const phosphorusCase: RateCase = {
  analyte: 'P',
  input: 'P2O5',
  annualRate: (test) => (test > 40 ? 0 : 60 + Math.max(0, 20 - test) * 5.5),
  keepingKgHa: 60,
  kgHaPerUnit: 22,
  relativeYield: (test) => 1 - Math.pow(0.03, test / 20),
  pricePerKg: 1.3,
  cropWorthPerHa: 1700,
  availableShare: 0.8,
  discountRate: 0.06,
  cap: 60,
  bends: [20, 40],
  classes: [
    { label: 'low', below: 10 },
    { label: 'medium', below: 20 },
    { label: 'high', below: 40 },
    { label: 'very high', below: Infinity },
  ],
  source: 'invented for tests',
};

/** The rate falls in a straight line to 0 at 200: no step anywhere, and no cap. Rates in kg K2O/ha. */
export const potassiumCase: RateCase = {
  analyte: 'K',
  input: 'K2O',
  annualRate: (test) => Math.max(0, 1.25 * (200 - test)),
  keepingKgHa: 75,
  kgHaPerUnit: 8,
  relativeYield: (test) => Math.min(1, 0.6 + 0.4 * (test / 150)),
  pricePerKg: 0.9,
  cropWorthPerHa: 1700,
  availableShare: 0.7,
  discountRate: 0.06,
  bends: [200],
  classes: [
    { label: 'low', below: 100 },
    { label: 'medium', below: 150 },
    { label: 'high', below: Infinity },
  ],
  source: 'invented for tests',
};

/** Lime to pH 6.5 over four years; yield falls on both sides of 6.6. Rates in kg/ha. */
export const limeCase: RateCase = {
  analyte: 'pH',
  input: 'lime',
  annualRate: (test) => (test >= 6.5 ? 0 : 300 + (6.5 - test) * 1250),
  keepingKgHa: 300,
  kgHaPerUnit: 5000,
  relativeYield: (test) => Math.max(0, 1 - 0.08 * (test - 6.6) ** 2),
  pricePerKg: 0.04,
  cropWorthPerHa: 1700,
  availableShare: 0.9,
  discountRate: 0.06,
  bends: [6.5],
  classes: [
    { label: 'acid', below: 6 },
    { label: 'right', below: 7 },
    { label: 'alkaline', below: Infinity },
  ],
  source: 'invented for tests',
};

export const madeCases: readonly RateCase[] = [phosphorusCase, potassiumCase, limeCase];
