import { clearGroundTest } from '../design/clearStops.ts';
import { insideTest } from '../field/inside.ts';
import type { Candidate } from './candidates.ts';
import { pairDistanceM } from './closePairs.ts';
import type { FieldInput } from './fieldInput.ts';
import { placesOfLastTime } from './lastPositions.ts';
import type { AdviceOptions } from './options.ts';
import { startPlace } from './startPlace.ts';
import type { LayOptions } from './stops.ts';

/** How stops are laid in a field by the options: from where one comes in, off its headland and ground to keep out of. */
export function layingIn(field: FieldInput, options: AdviceOptions, candidate?: Candidate): LayOptions {
  const { region, frame, keepOut, soilUnits, tests } = field;
  // A square that stands in for a field has no headland.
  const setbackM = field.boundarySource === 'a square of the stated area' ? 0 : options.setbackM;
  const units = options.stayInSoilUnit ? soilUnits.map((u) => insideTest(u.region)) : undefined;
  const clear = clearGroundTest(region, { setbackM, keepOut, keepOutSetbackM: options.keepOutSetbackM });
  return {
    startAt: startPlace(options.startAt, region, frame),
    clear,
    taken: candidate && placesOfLastTime(candidate, tests, region, options.lastPositions, clear),
    ...(options.closePairs > 0 && {
      closePairs: { pairs: options.closePairs, distanceM: pairDistanceM(options) },
    }),
    ...(units && { soilUnitAt: (x: number, y: number) => units.findIndex((inside) => inside(x, y)) }),
  };
}
