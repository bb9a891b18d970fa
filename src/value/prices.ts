import type { FieldInputKind } from './rateCase.ts';
import type { WeightUnit } from './rateUnits.ts';

export interface Price {
  /** Money in the user's currency. */
  readonly value: number;
  readonly per: Exclude<WeightUnit, 'bu'>;
  readonly source: string;
}

export interface Share {
  readonly value: number;
  readonly source: string;
}

/** What inputs cost and what money spent too early is worth; money in the user's currency. */
export interface Prices {
  /** Of the input as counted: P2O5, K2O and Zn in the fertiliser; lime as the material that is spread. */
  readonly inputs: Readonly<Record<FieldInputKind, Price>>;
  /** Share of a surplus that a later crop can still use. */
  readonly availableShare: Readonly<Record<FieldInputKind, Share>>;
  /** Interest, a fraction a year. */
  readonly discountRate: Share;
}

const judgement = 'judgement of this project';

/** Prices in USD unless the user gives others. */
export const usualPrices: Prices = {
  inputs: {
    P2O5: { value: 0.6, per: 'lb', source: judgement },
    K2O: { value: 0.42, per: 'lb', source: judgement },
    lime: { value: 32, per: 'ton', source: `spread, of 25 to 40 a ton: ${judgement}` },
    Zn: { value: 2.5, per: 'lb', source: `zinc sulfate of 36 % at 0.90 a lb: ${judgement}` },
  },
  availableShare: {
    P2O5: { value: 0.5, source: judgement },
    K2O: { value: 0.5, source: judgement },
    lime: { value: 0.5, source: judgement },
    Zn: { value: 0.5, source: judgement },
  },
  discountRate: { value: 0.05, source: judgement },
};
