import { KG_PER_HA_PER_LB_PER_AC } from './rate.ts';

/**
 * Depth of the furrow slice in inches: 6 2/3 in of soil is taken to weigh two million pounds an acre.
 * Common practice, no source; it amounts to a bulk density near 1.32 g/cm3.
 */
export const FURROW_SLICE_IN = 20 / 3;

/** Pounds of soil in an acre's furrow slice. Common practice, no source. */
export const FURROW_SLICE_LB_PER_AC = 2_000_000;

/** Pounds an acre of a nutrient for each ppm, for a slice of the given depth in inches: 2 for the furrow slice. */
const lbPerAcPerPpm = (depthIn: number): number =>
  (FURROW_SLICE_LB_PER_AC / 1e6) * (depthIn / FURROW_SLICE_IN);

/** Soil test in ppm (mg/kg) to pounds an acre, for a slice of `depthIn` inches. */
export const ppmToLbPerAc = (ppm: number, depthIn = FURROW_SLICE_IN): number => ppm * lbPerAcPerPpm(depthIn);

/** Soil test in pounds an acre to ppm (mg/kg), for a slice of `depthIn` inches. */
export const lbPerAcToPpm = (lbPerAc: number, depthIn = FURROW_SLICE_IN): number =>
  lbPerAc / lbPerAcPerPpm(depthIn);

/** Soil test in ppm (mg/kg) to kilograms a hectare, for a slice of `depthIn` inches. */
export const ppmToKgPerHa = (ppm: number, depthIn = FURROW_SLICE_IN): number =>
  ppmToLbPerAc(ppm, depthIn) * KG_PER_HA_PER_LB_PER_AC;

/** Soil test in kilograms a hectare to ppm (mg/kg), for a slice of `depthIn` inches. */
export const kgPerHaToPpm = (kgPerHa: number, depthIn = FURROW_SLICE_IN): number =>
  lbPerAcToPpm(kgPerHa / KG_PER_HA_PER_LB_PER_AC, depthIn);
