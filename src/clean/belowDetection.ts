import type { Problem } from '../read/problem.ts';
import { censoredLog, type CensoredLog } from './censoredLog.ts';

/** A value below detection is taken as the limit over √2 (Hornung & Reed 1990, Applied Occupational and Environmental Hygiene 5: 46-51). */
export const BELOW_DETECTION_FACTOR = Math.SQRT1_2;

/** Above this share below detection the spread can't be told from substituted values: judgement of this project. */
const NOTABLE_SHARE = 0.2;

export interface Substituted {
  /** Values with those below detection replaced; NaN stays NaN. */
  readonly values: Float64Array;
  /** Share of the values present that are below detection. */
  readonly share: number;
  /** With more than 20 % below detection: the logarithms' mean and spread by maximum likelihood, where it can be had. */
  readonly censoredLog?: CensoredLog;
  readonly notes: readonly Problem[];
}

/**
 * Replaces values below detection (which hold the limit) by limit/√2. With more than 20 % of them a note says so, with
 * the spread by maximum likelihood: a substituted heap at one value distorts it either way (Helsel 2012).
 *
 * @param flags 1 where the value is below detection
 * @param where file and column for the note
 */
export function substituteBelowDetection(
  values: Float64Array,
  flags: Uint8Array,
  where: { readonly file: string; readonly column?: string } = { file: '' },
): Substituted {
  let [present, below] = [0, 0];
  const substituted = values.map((v, i) => {
    if (Number.isNaN(v)) return v;
    present++;
    if (!flags[i]) return v;
    below++;
    return v * BELOW_DETECTION_FACTOR;
  });
  const share = present === 0 ? 0 : below / present;
  if (!(share > NOTABLE_SHARE)) return { values: substituted, share, notes: [] };
  const fit = censoredLog(values, flags);
  const note: Problem = {
    ...where,
    problem: `${Math.round(100 * share)} % of the values are below detection; ${
      fit
        ? `with them taken as limit/√2 the CV is only rough. By maximum likelihood for a censored lognormal distribution (Helsel 2012) the middle is ${Number(Math.exp(fit.mean).toPrecision(3))} and the CV ${Math.round(100 * Math.sqrt(Math.expm1(fit.sd ** 2)))} %.`
        : 'the CV is a lower bound.'
    }`,
    remedy: 'Ask the laboratory for a method with a lower limit if this analyte is to decide.',
  };
  return { values: substituted, share, censoredLog: fit, notes: [note] };
}
