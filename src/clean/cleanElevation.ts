import type { FlatPositions } from '../field/geometry.ts';
import { cleanYield } from './cleanYield.ts';

/**
 * Which elevations to keep: those that are not unlike their neighbours, by the local screen of {@link cleanYield}. No screen
 * against the whole field: a terrace or a river bank may lie far from its middle.
 *
 * Takes out single jumps of a receiver. Not its drift: heights of a combine's receiver wander by decimetres, and without
 * correction signals by metres, between passes and days (common knowledge of the trade, no source), so that an elevation
 * surface holds stripes along the passes which are not the ground's.
 * @param localXY x0, y0, x1, y1, … in metres
 * @param elevations one for each point, m; what is not finite is left out
 * @returns indices of the points kept, rising
 */
export function cleanElevation(localXY: FlatPositions, elevations: Float64Array): Uint32Array {
  let lowest = Infinity;
  for (const v of elevations) if (v < lowest) lowest = v;
  // The screens take values above 0.
  const raised = elevations.map((v) => v - lowest + 1);
  return cleanYield(localXY, raised, { preScreenSd: Infinity, globalSd: Infinity }).kept;
}
