import { cmToInches } from '../units/index.ts';

/** Units a person reads: inches, feet and acres, or centimetres, metres and hectares. */
export type UnitSystem = 'us' | 'metric';

/** A core's depth as the trade says it: `6 in`, `15 cm`; inches to the nearest half. */
export function sayDepth(depthCm: number, unitSystem: UnitSystem): string {
  return unitSystem === 'us'
    ? `${Math.round(2 * cmToInches(depthCm)) / 2} in`
    : `${Number(depthCm.toFixed(1))} cm`;
}

/** The slice a core takes, from the surface: `0-6 in`. */
export const saySlice = (depthCm: number, unitSystem: UnitSystem): string =>
  `0-${sayDepth(depthCm, unitSystem)}`;
