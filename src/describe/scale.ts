import { moments } from './moments.ts';

export type Scale = 'raw' | 'log';

/** As {@link Scale}, with normal scores for values that neither makes near symmetrical. */
export type WorkingScale = Scale | 'normalScore';

export interface ScaleChoice {
  readonly scale: Scale;
  readonly why: string;
}

/** Points from which the data's own skewness decides; below, what is usual for the analyte. Judgement of this project. */
export const SKEWNESS_DECIDES_FROM = 20;

/**
 * Raw or logarithm. With few values, the analyte's usual scale. With enough: the logarithm where it brings the skewness
 * nearer to 0 and either is usual for the analyte or the skewness is above 1 (Webster & Oliver 2007, ch. 2; from memory).
 */
export function chooseScale(values: readonly number[], usual: Scale): ScaleChoice {
  if (usual === 'log' && values.some((v) => v <= 0))
    return { scale: 'raw', why: 'Values at or below zero have no logarithm.' };
  if (values.length < SKEWNESS_DECIDES_FROM) {
    const why =
      usual === 'log'
        ? 'This property is usually skewed with a long upper tail, so its logarithm is used.'
        : 'This property is usually near symmetrical, so it is used as it is.';
    return { scale: usual, why };
  }
  const raw = moments(values).skewness;
  if ((raw > 1 || usual === 'log') && values.every((v) => v > 0)) {
    const log = moments(values.map(Math.log)).skewness;
    if (Math.abs(log) < Math.abs(raw))
      return {
        scale: 'log',
        why: `Skewness is ${raw.toFixed(2)} as measured and ${log.toFixed(2)} as logarithm.`,
      };
    return {
      scale: 'raw',
      why: `Skewness is ${raw.toFixed(2)} as measured and no nearer to 0 as logarithm (${log.toFixed(2)}).`,
    };
  }
  return { scale: 'raw', why: `Skewness is ${raw.toFixed(2)}, too small to need a logarithm.` };
}

/** Skewness up to which values are taken as near symmetrical (Webster & Oliver 2007, ch. 2: logarithms above 1; from memory). */
export const SKEWNESS_ALLOWED = 1;

/** Values from which normal scores are offered: fewer give the tails no shape. Judgement of this project. */
export const NORMAL_SCORE_FROM = 50;

/** Share of the values that may be alike for normal scores: a heap at one value stays a heap. Judgement of this project. */
const MOST_ALIKE = 0.2;

export interface WorkingScaleChoice {
  readonly scale: WorkingScale;
  readonly why: string;
  /** Why the scale asked for could not be had; the choice is then by the rule. */
  readonly refused?: string;
}

/**
 * Raw, logarithm or normal scores. A scale asked for wins, unless the values don't allow it. With fewer than
 * {@link SKEWNESS_DECIDES_FROM} values, what is usual. Otherwise: the usual logarithm where it brings the skewness nearer to
 * 0, to 1 or less; raw up to a skewness of 1 either way; the logarithm likewise; with {@link NORMAL_SCORE_FROM} values
 * of which no more than a fifth are alike, normal scores; else the one of raw and logarithm with the lesser skewness.
 */
export function chooseWorkingScale(
  values: readonly number[],
  usual: Scale,
  override?: WorkingScale,
): WorkingScaleChoice {
  if (override === undefined) return byRule(values, usual);
  const refused = whyNot(values, override);
  return refused === undefined
    ? { scale: override, why: 'Chosen by you.' }
    : { ...byRule(values, usual), refused };
}

function whyNot(values: readonly number[], scale: WorkingScale): string | undefined {
  if (scale === 'log') {
    const count = values.filter((v) => !(v > 0)).length;
    if (count > 0)
      return `The logarithm cannot be used: ${count} of ${values.length} values ${count === 1 ? 'is' : 'are'} zero or below.`;
  }
  if (scale === 'normalScore' && values.length < NORMAL_SCORE_FROM)
    return `Normal scores need ${NORMAL_SCORE_FROM} values; there are ${values.length}.`;
  if (scale === 'normalScore' && mostAlike(values) === values.length)
    return 'Normal scores cannot be used: all values are alike.';
  return undefined;
}

function byRule(values: readonly number[], usual: Scale): WorkingScaleChoice {
  if (values.length < SKEWNESS_DECIDES_FROM) return chooseScale(values, usual);
  const raw = moments(values).skewness;
  const log = values.every((v) => v > 0) ? moments(values.map(Math.log)).skewness : undefined;
  const asMeasured = `Skewness is ${raw.toFixed(2)} as measured`;
  const asLog =
    log === undefined ? 'values at or below zero have no logarithm' : `${log.toFixed(2)} as logarithm`;
  const logNearer = log !== undefined && Math.abs(log) < Math.abs(raw);
  const logServes = logNearer && Math.abs(log) <= SKEWNESS_ALLOWED;
  const rawServes = Math.abs(raw) <= SKEWNESS_ALLOWED;
  if (logServes && (usual === 'log' || !rawServes))
    return { scale: 'log', why: `${asMeasured} and ${asLog}.` };
  if (rawServes) return { scale: 'raw', why: `${asMeasured}, too small to need another scale.` };
  const neither = `${asMeasured}; ${asLog}`;
  if (values.length >= NORMAL_SCORE_FROM && mostAlike(values) <= MOST_ALIKE * values.length)
    return { scale: 'normalScore', why: `${neither}: normal scores are used.` };
  const reason =
    values.length < NORMAL_SCORE_FROM
      ? `normal scores need ${NORMAL_SCORE_FROM} values`
      : 'too many values are alike for normal scores';
  return { scale: logNearer ? 'log' : 'raw', why: `${neither}; ${reason}, so the less skewed is used.` };
}

/** How often the commonest value occurs. */
function mostAlike(values: readonly number[]): number {
  const counts = new Map<number, number>();
  let most = 0;
  for (const v of values) {
    const count = (counts.get(v) ?? 0) + 1;
    counts.set(v, count);
    most = Math.max(most, count);
  }
  return most;
}
