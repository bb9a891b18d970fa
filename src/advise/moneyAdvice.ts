/** What the answer says of money beyond the designs' own figures. Money per hectare and year unless said otherwise. */
import type { Interval } from './advice.ts';

/** A number behind a rate that the user may change, in the unit it is shown in. */
export interface RateFigure {
  /** Named as in the option `rates`: `P.critical`, `P2O5.price`, `corn.yield`. */
  readonly key: string;
  readonly label: string;
  readonly value: number;
  readonly unit: string;
  readonly source: string;
  /** Whether the user set it. */
  readonly own: boolean;
}

/** One input's decision: what the rate rests on and what tests are worth for it. */
export interface DecisionAdvice {
  /** Property tested. */
  readonly analyte: string;
  readonly label: string;
  /** "phosphate (P2O5)", "lime". */
  readonly input: string;
  readonly source: string;
  readonly assumptions: readonly string[];
  readonly figures: readonly RateFigure[];
  /** Interpretation classes, lowest first; the last has no `below`. */
  readonly classes: readonly { readonly label: string; readonly below?: number }[];
  /** Expected loss of the one rate set without tests, and of the best one if the field's distribution were known. */
  readonly noSampling: Interval;
  readonly singleRate: Interval;
  /** Chance that a block's value falls in its right class, by design id. */
  readonly rightClass: Readonly<Record<string, Interval>>;
}

/** What tells the advised design from its rival, level by level: money gained by the rival. */
export interface SensitivityAdvice {
  readonly rivalId: string;
  readonly rivalLabel: string;
  readonly gainNow: number;
  /** Widest first. */
  readonly factors: readonly {
    readonly id: string;
    readonly label: string;
    /** Unit of the levels as data: `money`, `%`, `m`, `years`, `share`. */
    readonly unit: string;
    readonly now: number;
    readonly low: number;
    readonly high: number;
    readonly gainAtLow: number;
    readonly gainAtHigh: number;
    readonly breakEven?: number;
  }[];
  readonly sentences: readonly string[];
}

/** How often to sample, as a decision. */
export interface HowOftenAdvice {
  /** Years of correcting before the tests are where they should be; 0 when they are. */
  readonly correctingYears: number;
  readonly everyWhileCorrecting: number;
  readonly everyAfter: number;
  readonly choices: readonly {
    readonly years: number;
    readonly sampling: number;
    readonly loss: number;
    readonly total: number;
    readonly nearBest: boolean;
  }[];
  readonly sentences: readonly string[];
  readonly assumptions: readonly string[];
}

export interface MoneyAdvice {
  readonly guidance: { readonly id: string; readonly title: string; readonly region: string };
  readonly crop: string;
  readonly decisions: readonly DecisionAdvice[];
  /** Properties without a decision, a sentence each. */
  readonly missing: readonly string[];
  /** Expected loss of all decisions when nothing is sampled. */
  readonly noSampling: Interval;
  readonly sensitivity?: SensitivityAdvice;
  readonly howOften?: HowOftenAdvice;
}
