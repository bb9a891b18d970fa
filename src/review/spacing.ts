export interface SpacingCall {
  readonly call: 'tighten' | 'keep' | 'relax';
  readonly lastHaPerSample: number;
  readonly advisedHaPerSample: number;
}

/**
 * Last time's spacing held against the advised one: keep while the last spacing belongs to the designs that
 * cost about the same as the best, otherwise tighten or relax towards it.
 * @param nearBestHaPerSample area per sample of every design within the tolerance of the best
 */
export function reviewSpacing(
  lastHaPerSample: number,
  advisedHaPerSample: number,
  nearBestHaPerSample: readonly number[],
): SpacingCall {
  const least = Math.min(advisedHaPerSample, ...nearBestHaPerSample);
  const most = Math.max(advisedHaPerSample, ...nearBestHaPerSample);
  // A tenth either way is the same grid: stops never fall exactly on the nominal area.
  const call = lastHaPerSample > most * 1.1 ? 'tighten' : lastHaPerSample < least / 1.1 ? 'relax' : 'keep';
  return { call, lastHaPerSample, advisedHaPerSample };
}
