import type { RateCase } from './rateCase.ts';

/** What a surplus would replace later than this is not counted: no one plans so far. Judgement of this project. */
export const HORIZON_YEARS = 30;

/**
 * Highest test at which something is spread: from above it a field comes down to this before it calls for input again.
 * @returns Infinity where the rate never ends, −Infinity where it never starts
 */
export function startOfRate({ annualRate, bends }: Pick<RateCase, 'annualRate' | 'bends'>): number {
  const sorted = [...bends].sort((a, b) => a - b);
  const top = sorted.length > 0 ? sorted[sorted.length - 1] : 0;
  if (annualRate(top + Math.max(1, Math.abs(top))) > 0) return Infinity;
  // The rate bends where it ends, so from the last bend it falls to 0 at, it was above 0 just below.
  for (let i = sorted.length - 1; i >= 0; i--) {
    const below = sorted[i] - 1e-6 * Math.max(1, Math.abs(sorted[i]));
    if (annualRate(below) > 0) return sorted[i];
  }
  return -Infinity;
}

/**
 * Share of a surplus' price that comes back: the surplus builds the test, and each kilogram of it replaces one bought
 * later, when the field has come down to where it calls for input (compound discounting; the scheme is this project's
 * judgement). Spread in equal parts over the years until the next sampling, a kilogram waits (years + 1)/2 years for
 * that sampling to find it, and then as long as crops take at `keepingKgHa` a year to draw the test down to {@link
 * startOfRate}. Of S kilograms in all, with b the test where the right rate would have brought it, the s-th has the
 * worth
 *
 * availableShare · (1 + discountRate)^−w(s),
 * w(s) = (years + 1)/2 + max(0, b + s/kgHaPerUnit − start)·kgHaPerUnit/keepingKgHa,
 *
 * and none beyond {@link HORIZON_YEARS} or where it lifts the test above the cap. The mean over s in closed form.
 * @param years between samplings, at least 1
 * @returns share of the price, 0 to 1, for a true test and a surplus in kg/ha and year above 0
 */
export function residualShare(
  c: RateCase,
  years: number,
): (truth: number, surplusKgHaYear: number) => number {
  const { toStart, room, share } = residualOf(c, years);
  return (truth, surplusKgHaYear) => {
    const right = c.annualRate(truth);
    return share(toStart(truth, right), room(truth, right), surplusKgHaYear);
  };
}

/** {@link residualShare} in two steps, for loops over truths and rates: what of it depends on the truth, and the rest. */
export interface Residual {
  /** kg/ha that the test is short of {@link startOfRate} after the right rate, kg/ha and year; below 0 beyond it. */
  readonly toStart: (truth: number, right: number) => number;
  /** kg/ha that then lift it to the cap; 0 or less where there is no room. */
  readonly room: (truth: number, right: number) => number;
  readonly share: (toStart: number, room: number, surplusKgHaYear: number) => number;
}

export function residualOf(c: RateCase, years: number): Residual {
  const { keepingKgHa, kgHaPerUnit, cap = Infinity, availableShare } = c;
  const start = startOfRate(c);
  const rho = Math.log1p(c.discountRate);
  const found = (years + 1) / 2;
  const atOnce = availableShare * Math.exp(-rho * found);
  const longestKgHa = keepingKgHa * Math.max(0, HORIZON_YEARS - found);
  const endOf = (truth: number, right: number) => truth + ((right - keepingKgHa) * years) / kgHaPerUnit;
  return {
    toStart: (truth, right) => (start - endOf(truth, right)) * kgHaPerUnit,
    room: (truth, right) => (cap - Math.max(truth, endOf(truth, right))) * kgHaPerUnit,
    share: (toStart, room, surplusKgHaYear) => {
      const all = surplusKgHaYear * years;
      const useful = Math.min(all, room, toStart + longestKgHa);
      if (useful <= 0) return 0;
      const prompt = Math.min(useful, Math.max(0, toStart));
      let worth = prompt;
      if (useful > prompt)
        worth +=
          rho > 0
            ? (keepingKgHa / rho) *
              (Math.exp((-rho * (prompt - toStart)) / keepingKgHa) -
                Math.exp((-rho * (useful - toStart)) / keepingKgHa))
            : useful - prompt;
      return (atOnce * worth) / all;
    },
  };
}
