import type { RateCase } from './rateCase.ts';
import { residualOf, startOfRate } from './residualValue.ts';

/** What a wrong rate costs, and which test values are worth trying as the one to enter. */
export interface LossOfRate {
  /**
   * Money lost per ha and year when the rate is entered at one test value where the test is another: at least 0, and
   * 0 where they are the same.
   */
  readonly loss: (entered: number, truth: number) => number;
  /**
   * Rate for a test value. For loops over truths and entries, loss(entered, truth) is
   * against(truth)(rateOf(entered)).
   */
  readonly rateOf: (entered: number) => number;
  /** Loss at one truth by the rate spread; what depends on the truth alone is worked out once. */
  readonly against: (truth: number) => (rate: number) => number;
  /**
   * The same over many truths: their summed loss by the rate spread, or, once that reaches `enough`, at least that. The
   * outermost truths lose most and are summed first. Good until truths are given again.
   */
  readonly over?: (truths: Float64Array) => SummedLoss;
  /** Test values worth trying as the one to enter, whatever the belief. */
  readonly tried: readonly number[];
}

/** Numbers held of a truth: test, right rate, yield due, and what its surplus' later worth depends on. */
const TERMS = 5;

/** Summed loss by a rate, or at least `enough`. */
export type SummedLoss = (rate: number, enough: number) => number;

/**
 * Money lost per ha and year when the rate is set for `entered` where the test is `truth`, over the years it is kept,
 * against the rate advised at the truth (this project's model). Two parts:
 *
 * - a surplus costs its price less what it is worth later ({@link residualShare});
 * - wherever the test, moved by what is applied, yields less than where the right rate would have brought it, the
 *   crop's worth of the difference: too little leaves it low, and too much may lift it beyond the response's top
 *   (lime).
 *
 * In year t the test stands at truth + t·(rate − keeping)/kgHaPerUnit, and the yields are averaged over years 1 …
 * `years`, each taken by itself: a response falls off too fast for the middle year to stand for all. Yield above that
 * of the right rate is no gain, and input not bought is not counted as saved: it has to be bought later.
 * @param years between samplings, at least 1
 */
export function lossOfRate(c: RateCase, years: number): LossOfRate {
  const { annualRate, relativeYield, keepingKgHa, kgHaPerUnit, pricePerKg, cropWorthPerHa } = c;
  const { toStart, room, share } = residualOf(c, years);
  /** Mean relative yield over the years at a rate this much beyond keeping; a part of a year counts as such. */
  const yieldWith = (test: number, beyondKeeping: number) => {
    const step = beyondKeeping / kgHaPerUnit;
    let sum = 0;
    for (let t = 1; t < years + 1; t++)
      sum += Math.min(1, years + 1 - t) * relativeYield(Math.max(0, test + step * t));
    return sum / years;
  };
  const rateOf = (test: number) => annualRate(Math.max(0, test));
  const against = (truth: number) => {
    const test = Math.max(0, truth);
    const right = annualRate(test);
    const beyondKeeping = right - keepingKgHa;
    const due = yieldWith(test, beyondKeeping);
    return (rate: number) => {
      const off = rate - right;
      if (off === 0) return 0;
      const lost = cropWorthPerHa * Math.max(0, due - yieldWith(test, beyondKeeping + off));
      return off > 0
        ? lost + off * pricePerKg * (1 - share(toStart(test, right), room(test, right), off))
        : lost;
    };
  };
  let held = new Float64Array(0);
  const over = (truths: Float64Array): SummedLoss => {
    const n = truths.length;
    if (held.length < TERMS * n) held = new Float64Array(TERMS * n);
    const terms = held;
    for (let i = 0; i < n; i++) {
      // The first, the last, the second, the last but one, …
      const test = Math.max(0, truths[i & 1 ? n - 1 - (i >> 1) : i >> 1]);
      const right = annualRate(test);
      const at = TERMS * i;
      terms[at] = test;
      terms[at + 1] = right;
      terms[at + 2] = yieldWith(test, right - keepingKgHa);
      terms[at + 3] = toStart(test, right);
      terms[at + 4] = room(test, right);
    }
    return (rate, enough) => {
      let sum = 0;
      // No loss is below 0, so a sum can only grow.
      for (let at = 0; at < TERMS * n && sum < enough; at += TERMS) {
        const off = rate - terms[at + 1];
        if (off === 0) continue;
        sum += cropWorthPerHa * Math.max(0, terms[at + 2] - yieldWith(terms[at], rate - keepingKgHa));
        if (off > 0) sum += off * pricePerKg * (1 - share(terms[at + 3], terms[at + 4], off));
      }
      return sum;
    };
  };
  return {
    loss: (entered, truth) => against(truth)(rateOf(entered)),
    rateOf,
    against,
    over,
    tried: valuesWorthTrying(c, rateOf),
  };
}

/**
 * Test values just below and above each bend and along the ramp, if there is one, that the rate comes down by to
 * nothing, which is too short for quantiles of the truths to meet; one for each rate.
 */
function valuesWorthTrying(c: RateCase, rateOf: (test: number) => number): readonly number[] {
  const values = c.bends.flatMap((bend) => {
    const step = 1e-6 * Math.max(1, Math.abs(bend));
    return [bend - step, bend + step];
  });
  const end = startOfRate(c);
  const from = Math.max(...c.bends.filter((bend) => bend < end));
  if (Number.isFinite(end) && Number.isFinite(from))
    values.push(...[0.25, 0.5, 0.75].map((share) => from + share * (end - from)));
  const tried = values.map((test) => ({ test, rate: rateOf(test) }));
  const most = tried.reduce((m, b) => Math.max(m, b.rate), 0);
  const kept: { readonly test: number; readonly rate: number }[] = [];
  for (const t of tried)
    // Either side of a mere kink has all but the same rate.
    if (!kept.some((k) => Math.abs(k.rate - t.rate) <= 1e-3 * most)) kept.push(t);
  return kept.map((k) => k.test);
}
