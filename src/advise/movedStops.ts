import { quantile } from 'simple-statistics';
import { groundShape, mapErrorsOf, noiseRatio, type MapGround, type MapSamples } from '../design/index.ts';
import type { Member } from '../prior/index.ts';
import type { AnalyteStudy } from './analyte.ts';
import type { Candidate } from './candidates.ts';
import { isMap } from './candidates.ts';
import { errorOnScreen, samplingOf } from './judge.ts';
import type { AdviceOptions } from './options.ts';
import type { LaidStops } from './stops.ts';
import { inSentence, sayDistance } from './words.ts';

/** What keeping off headlands and other forbidden ground did to the stops of the chosen design. */
export interface StopsMoved {
  readonly moved: number;
  /** All stops of the design. */
  readonly of: number;
  /** Of those moved; 0 when none was. */
  readonly medianM: number;
  readonly greatestM: number;
  /** Stops with no clear ground near: they stand on it still. */
  readonly noClearGround: number;
  /**
   * Typical error of the property that leads with the stops as moved over that with the stops as designed, under the
   * middle of the belief; absent where no stop of a map was moved.
   */
  readonly errorRatio?: number;
  readonly sentence: string;
}

/** Whose error a move is judged by. */
export interface MovedUnder {
  readonly study: AnalyteStudy;
  readonly member: Member;
  readonly ground: MapGround;
}

/** @returns undefined where every stop stands as designed on clear ground */
export function stopsMoved(
  laid: LaidStops,
  candidate: Candidate,
  under: MovedUnder,
  options: AdviceOptions,
): StopsMoved | undefined {
  const ways = laid.stops.flatMap((s) => (s.movedM === undefined ? [] : [s.movedM]));
  const noClearGround = laid.stops.filter((s) => s.noClearGround).length;
  if (ways.length + noClearGround === 0) return undefined;
  const counts = {
    moved: ways.length,
    of: laid.stops.filter((s) => s.pairOf === undefined).length,
    medianM: ways.length > 0 ? quantile(ways, 0.5) : 0,
    greatestM: ways.reduce((most, m) => Math.max(most, m), 0),
    noClearGround,
  };
  // Where last time's places are taken, they are what the change of error is told of.
  const asDesigned = laid.taken === undefined;
  const errorRatio =
    ways.length > 0 && asDesigned ? ratioOfErrors(laid, candidate, under, options) : undefined;
  return { ...counts, errorRatio, sentence: sayMoved({ ...counts, errorRatio }, candidate, under, options) };
}

/** Typical error of the property that leads at the places laid over that at those designed. */
export function ratioOfErrors(
  { placed }: LaidStops,
  candidate: Candidate,
  { study, member, ground }: MovedUnder,
  options: AdviceOptions,
): number | undefined {
  if (!isMap(candidate) || placed === undefined) return undefined;
  const { pulled } = candidate;
  const kept = pulled.xy.length - candidate.grid.xy.length;
  const moved = withPlaces(pulled, placed, kept);
  const shape = groundShape(ground, member.kind, member.effectiveRangeM);
  const noise = noiseRatio(member, samplingOf(study.belief.labVariance, options)(candidate.cores));
  const onScreen = errorOnScreen(study);
  const structured = member.sill * (1 - member.nuggetShare);
  const [before, after] = [pulled, moved].map((samples) =>
    onScreen(structured * mapErrorsOf(samples, ground)(shape)(noise, 'interpolated').median),
  );
  return before > 0 ? after / before : undefined;
}

/** The samples with new places for the stops; last time's points, which come first, stay. */
function withPlaces(pulled: MapSamples, placed: NonNullable<LaidStops['placed']>, kept: number): MapSamples {
  if (pulled.kind === 'cells')
    return placed instanceof Float64Array
      ? { ...pulled, xy: placed }
      : { ...pulled, coresOf: placed as readonly Float64Array[] };
  if (!(placed instanceof Float64Array)) return pulled;
  return { ...pulled, xy: Float64Array.of(...pulled.xy.subarray(0, kept), ...placed) };
}

function sayMoved(
  { moved, of, medianM, greatestM, noClearGround, errorRatio }: Omit<StopsMoved, 'sentence'>,
  candidate: Candidate,
  { study }: MovedUnder,
  o: AdviceOptions,
): string {
  const what = isMap(candidate) && candidate.pulled.kind === 'stops' ? 'stop' : 'core';
  const were = (n: number) => (n === 1 ? `${what} was` : `${what}s were`);
  const said: string[] = [];
  if (moved > 0) {
    const way =
      moved === 1
        ? `by ${sayDistance(greatestM, o)}`
        : `by ${sayDistance(medianM, o)} in the middle of them and ${sayDistance(greatestM, o)} at most`;
    said.push(
      `${moved} of ${of} ${were(moved)} moved off the headland or other ground to keep out of, ${way}.`,
    );
  }
  if (errorRatio !== undefined) said.push(sayRatio(errorRatio, inSentence(study.advice.label)));
  if (noClearGround > 0)
    said.push(
      `For ${noClearGround} ${noClearGround === 1 ? what : `${what}s`} there is no clear ground near: look there before you pull, or leave ${noClearGround === 1 ? 'it' : 'them'} out.`,
    );
  return said.join(' ');
}

function sayRatio(ratio: number, property: string): string {
  const percent = Math.abs(100 * (ratio - 1));
  const tells = 'The errors stated are those of the stops as designed';
  if (percent < 0.5)
    return `${tells}; moving them changes the typical error of ${property} by less than half a per cent.`;
  const size = percent < 10 ? percent.toFixed(1) : percent.toFixed(0);
  return `${tells}; as moved, the typical error of ${property} is ${size} % ${ratio > 1 ? 'larger' : 'smaller'}.`;
}
