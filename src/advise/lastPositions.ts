import { mainDirection } from '../design/index.ts';
import type { FlatPositions, Region } from '../field/index.ts';
import type { Candidate } from './candidates.ts';
import type { FieldInput } from './fieldInput.ts';
import { ratioOfErrors, type MovedUnder } from './movedStops.ts';
import type { AdviceOptions } from './options.ts';
import type { LaidStops } from './stops.ts';
import { inSentence } from './words.ts';

/** Whether last time's places are taken for a grid's stops, and what that does. */
export interface LastPositions {
  readonly taken: boolean;
  /** Typical error of the property that leads at these places over that of the stops as designed. */
  readonly errorRatio?: number;
  readonly sentence: string;
}

/** Last time's number of places may differ from the design's by this share. Judgement of this project. */
const NEAR = 0.25;

/**
 * Places of last time's tests to take for a grid's stops: the same, so that changes since then show free of place, or half
 * a spacing aside both along the field and across, so that two years' tests together lie twice as dense.
 * @returns undefined where new ones are wanted, the design is no grid, or its number is not near last time's
 */
export function placesOfLastTime(
  candidate: Candidate,
  tests: FieldInput['tests'],
  region: Region,
  how: AdviceOptions['lastPositions'],
  clear: (x: number, y: number) => boolean,
): FlatPositions | undefined {
  if (how === 'new' || candidate.kind !== 'grid' || !tests) return undefined;
  const places = tests.xy.length / 2;
  if (places !== tests.places || Math.abs(places / candidate.samples - 1) > NEAR) return undefined;
  return how === 'same'
    ? tests.xy
    : setAside(tests.xy, candidate.grid.spacingM, mainDirection(region), clear);
}

/**
 * Each place half a spacing along and across from where it was: the same way for all where the ground is clear there and no
 * other stop is near, else another of the four ways; one with none stays.
 */
function setAside(
  xy: FlatPositions,
  spacingM: number,
  angle: number,
  clear: (x: number, y: number) => boolean,
): FlatPositions {
  const half = spacingM / Math.SQRT2;
  const ways = [0.25, 0.75, -0.25, -0.75].map((turn) => {
    const direction = angle + turn * Math.PI;
    return [half * Math.cos(direction), half * Math.sin(direction)] as const;
  });
  const out = xy.slice();
  for (let i = 0; i < xy.length; i += 2)
    for (const [dx, dy] of ways) {
      const [x, y] = [xy[i] + dx, xy[i + 1] + dy];
      if (!clear(x, y) || anyNear(out, i, x, y, spacingM / 2)) continue;
      [out[i], out[i + 1]] = [x, y];
      break;
    }
  return out;
}

/** Whether one of the places before `end` lies nearer. */
function anyNear(xy: FlatPositions, end: number, x: number, y: number, leastM: number): boolean {
  for (let j = 0; j < end; j += 2) if (Math.hypot(xy[j] - x, xy[j + 1] - y) < leastM) return true;
  return false;
}

/** What is said of it; undefined where new places are wanted anyway or there are none of last time. */
export function lastPositions(
  laid: LaidStops,
  taken: FlatPositions | undefined,
  candidate: Candidate,
  tests: FieldInput['tests'],
  under: MovedUnder,
  options: AdviceOptions,
): LastPositions | undefined {
  const { lastPositions: how } = options;
  if (how === 'new' || !tests) return undefined;
  if (!taken)
    return {
      taken: false,
      sentence: `Last time’s places are not taken again: ${whyNot(candidate, tests.places)}.`,
    };
  const errorRatio = ratioOfErrors(laid, candidate, under, options);
  const places = `Last time’s ${taken.length / 2} places are taken again${how === 'same' ? '' : ', half a spacing aside'}`;
  const property = inSentence(under.study.advice.label);
  const percent = errorRatio === undefined ? 0 : 100 * (errorRatio - 1);
  const change =
    Math.abs(percent) < 0.5
      ? `the typical error of ${property} is the same to within half a per cent`
      : `the typical error of ${property} is ${Math.abs(percent).toFixed(0)} % ${percent > 0 ? 'larger' : 'smaller'}`;
  return {
    taken: true,
    errorRatio,
    sentence: `${places}. The errors stated are those of the ${candidate.samples} stops as designed; at these places ${change}.`,
  };
}

const whyNot = (candidate: Candidate, places: number): string =>
  candidate.kind === 'grid'
    ? `there were ${places}, and this design has ${candidate.samples} stops`
    : 'this design is no grid of new stops';
