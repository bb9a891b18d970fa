import { moments } from './moments.ts';

export type Scale = 'raw' | 'log';

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
