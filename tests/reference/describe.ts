/** Base R's values for the tests of `describe` and `clean`; `describe.R` beside this file made the JSON. */
import values from './describe.json';

interface Censored {
  readonly mean: number;
  readonly sd: number;
  readonly logLik: number;
  readonly below: number;
}

interface DescribeReference {
  /** Normal scores of oxford columns, in the order of the rows. */
  readonly scores: Readonly<Record<'POT1' | 'PHOS1', readonly number[]>>;
  readonly qqnorm: { readonly x: readonly number[]; readonly score: readonly number[] };
  /** E[inverse(Y)] of oxford POT1 for normal scores Y. */
  readonly backMean: readonly { readonly mean: number; readonly variance: number; readonly value: number }[];
  readonly backEnds: { readonly bottom: number; readonly top: number };
  /** oxford PHOS1: below one limit; and below it in even rows, below half of it in odd ones. */
  readonly censored: { readonly limit: number; readonly one: Censored; readonly two: Censored };
  /** meuse log zinc. */
  readonly moran: { readonly i: number; readonly expected: number };
  readonly outliers: { readonly meuseMarginal: readonly number[]; readonly meuseLocal: readonly number[] };
}

export const describeReference: DescribeReference = values;
